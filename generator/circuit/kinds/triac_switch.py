"""A triac that switches a mains load, with its snubber."""

from __future__ import annotations

import math

from generator.circuit import param
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.element import exact, fixed
from generator.circuit.network.junctions import Diode
from generator.circuit.network.mains import Triac
from generator.circuit.network.passive import Resistor
from generator.circuit.placing import across
from generator.circuit.ratings import alternating, rating, within
from generator.circuit.says import _
from generator.circuit.sheet import Line, Sheet

_AC_WORDS = {"x", "x1", "x2", "y", "y1", "y2", "ac", "~"}


def _capacitor_check(block: Block, top: float, peak: float) -> list[Check]:
    """X and Y capacitors are rated in RMS volts of the mains, others in DC volts for the crest."""
    part = block.part("snubber_capacitor")
    if part is None or "V" not in part.ratings:
        return []
    called, volts = block.label("snubber_capacitor"), part.ratings["V"]
    if any(word.lower() in _AC_WORDS for word in part.words):
        return [within(called, volts, top, "V", "sees, at maximum mains,", "rated AC")]
    return [within(called, volts, peak, "V", "sees, at the crest of maximum mains,", "rated DC")]


_AC = "AC circuit theory: resistor and capacitor in series"
_OFF = "in series with the load, triac off"
GATE_VOLTS, GATE_AMPERES = 0.8, 0.01  # V at A of a gate: data sheets of triacs of 1 to 8 A, from memory
GATE_OHMS = 100.0  # between gate and A1 inside the chip; common practice, no source


XC = Formula("1/(2·π·f·snubber_capacitor)")


def _snubber(x: Point) -> dict[str, float | Formula]:
    """What leaks through the snubber, and its capacitor's reactance."""
    if x.snubber_capacitor == 0:
        return {"snubber_current": 0.0}
    if x.failed("snubber_capacitor") == "short":
        load = x.supply**2 / x.load
        return {"Xc": XC, "snubber_current": x.supply / (load + (x.snubber_resistor or 0.0))}
    return {"Xc": XC, **({"snubber_current": Formula("supply/Xc")} if x.snubber_resistor is None else {})}


class TriacSwitch(Kind):
    title = "Triac switch"
    group = "Driving"
    what = "A triac that switches a load on the mains, with the snubber across it."
    assumes = (
        "The load takes its rated power anywhere in the mains band, so that its current is highest at the "
        "bottom of it; a plain resistance would take its most at the top, 1 % less than that. The load's "
        "own impedance is left out of the leakage. In a whole device the load lies between live and the terminal "
        "load, and the triac between that and neutral."
    )
    terminals = ("live", "load", "neutral", "gate")
    cautions = ("mains",)

    supply = param.Quantity("V", "the mains", default=param.MAINS)
    load = param.Part(
        "element",
        "rated power of what is switched, such as 45 W, LA1 60 W; left out where a block, or a part of a network, is joined at load, its other end at live",
    )
    triac = param.Part("triac", "the triac, such as TR1 4A 600V")
    snubber_resistor = param.Part("resistor", "resistor of the snubber", default=None)
    snubber_capacitor = param.Part("capacitor", "capacitor of the snubber", default=None)
    gate_resistor = param.Part("resistor", "resistor in the gate line", default=None)
    on_voltage = param.Quantity(
        "V", "what stands across the triac while it conducts", default=param.Unstated("1.2 V", "on-state")
    )
    f = param.Quantity("Hz", "mains frequency", default=param.FREQUENCY)

    values = (
        Value("load_current", "A", "RMS through the load, fully on", "load/supply", "power over voltage",
              at="clamp meter around one wire", hazard="mains"),
        Value("triac_power", "W", "heat in the triac, fully on", "on_voltage·load_current·2·√2/π",
              "mean of a rectified sine"),
        Value("snubber_current", "A", "RMS that leaks through the snubber when off",
              "supply/√(snubber_resistor² + Xc²)", _AC, at=_OFF, hazard="mains"),
        Value("snubber_surge", "A", "peak from the snubber into the triac, turned on at a crest",
              "supply·√2/snubber_resistor", "Ohm's law"),
    )  # fmt: skip
    helper_units = {"Xc": "ohm"}
    danger = {("triac", "short")}
    remarks = {
        ("triac", "short"): "the load is fully on all the time, whatever the gate does",
        ("gate_resistor", "open"): "the gate gets nothing: the load never comes on",
        ("gate_resistor", "high"): "less gate current: it may fire late, in one half-cycle only, or not at all",
        ("snubber_capacitor", "short"): "the load is partly on with the triac off, and the snubber resistor burns",
        ("snubber_capacitor", "open"): "an inductive load may keep the triac from turning off",
        ("snubber_resistor", "open"): "an inductive load may keep the triac from turning off",
    }  # fmt: skip
    example = {
        "load": "45 W", "triac": "TR1 1A 600V", "gate_resistor": "R7 470", "snubber_resistor": "R8 100 0.5W",
        "snubber_capacitor": "C6 10n X2 275V",
    }  # fmt: skip
    variants = (
        Variant("without a snubber", {"snubber_resistor": "", "snubber_capacitor": "", "gate_resistor": ""}),
    )

    def solve(self, x: Point) -> Solved:
        found: dict[str, float | Formula] = {}
        if x.snubber_capacitor is not None:
            found = _snubber(x)
        if x.failed("triac") == "open" or x.failed("gate_resistor") == "open":
            # Nothing but what leaks through load and snubber, the load counted as a resistance.
            resistance = x.supply**2 / x.load + (x.snubber_resistor or 0.0)
            leaks = x.snubber_capacitor and not math.isinf(resistance)
            reactance = XC.of(x) if leaks else math.inf
            return {**found, "load_current": x.supply / math.hypot(resistance, reactance), "triac_power": 0.0}
        if x.failed("triac") == "short":
            found["triac_power"] = 0.0
            # read in series with the load, which the triac no longer turns off
            if x.snubber_capacitor is not None:
                found["snubber_current"] = Formula("load_current")
        if x.failed("load") == "open":
            found |= dict.fromkeys(("load_current", "triac_power"), 0.0)
            if x.snubber_capacitor is not None:
                found["snubber_current"] = 0.0
        return found

    def checks(self, block: Block) -> list[Check]:
        top = block.mains_top()
        peak = top * math.sqrt(2)
        supply = block.given("supply")
        # also where the note states the mains exactly
        lowest = min(supply.low, supply.middle * (1 - block.mains.below))
        found = rating(block, "triac", "A", block.high("load_current") * supply.low / lowest, "carries")
        found += rating(block, "triac", "V", peak, "holds off, at the crest of maximum mains,")
        if not block.has("snubber_capacitor"):
            if block.has("snubber_resistor"):
                text = _(
                    "no snubber capacitor is stated: a resistor alone would feed the load past the triac"
                )
                found.append(Check(block.label("snubber_resistor"), text, False))
            return found
        found += _capacitor_check(block, top, peak) + alternating(block, "snubber_capacitor")
        capacitance = block.quantity("snubber_capacitor")
        if not block.has("snubber_resistor"):
            text = _("no snubber resistor: at turn-on the capacitor discharges straight through the triac")
            found.append(Check(block.label("triac"), text, False))
        elif capacitance:
            # Turned on at each crest, the resistor takes the capacitor's energy twice a period.
            heat = capacitance.high * peak * peak * block.point.f
            found += rating(
                block, "snubber_resistor", "W", heat, "dissipates, with the triac fired at each crest,"
            )
        return found

    def remark(self, x: Point, key: str, mode: str) -> str:
        if (key, mode) == ("triac", "open"):
            leaks = x.snubber_capacitor is not None
            return (
                "only what leaks through the snubber reaches the load" if leaks else "the load never comes on"
            )
        if (key, mode) == ("snubber_capacitor", "short") and x.snubber_resistor is None:
            return "bridges the triac: the load is fully on all the time"
        return super().remark(x, key, mode)

    def wire(self, block: Block, w: Wiring) -> None:
        """The load from live to the triac and through it to neutral, the snubber beside it, all at the mains frequency. Its
        gate circuit carries a current only where the note joins it to what drives it."""
        x = block.point
        w.supply("supply", "live", "neutral", ac=True)
        w.common("neutral", mains=True)
        w.watts("load", "load", "live", "supply")
        gate = w.part("gate_resistor")
        cut = (
            {"gate_resistor": (w.who("gate_resistor")["called"], {"open": fixed(alive=0.0)})} if gate else {}
        )
        ohms = w.number(lambda at: at.on_voltage * at.supply / at.load)
        triac = {**w.who("triac"), "wear": cut, "follows": "gate" in w.fed}
        inside = "_gate" if gate else "gate"
        w.add(Triac(**triac, gate=inside, a="load", b="neutral", ohms=ohms, frequency=x.f, ac=True))
        both = x.snubber_resistor is not None and x.snubber_capacitor is not None
        between = "_snubber" if both else "load"
        w.resistor("snubber_resistor", "load", "_snubber" if both else "neutral", ac=True)
        w.capacitor("snubber_capacitor", between, "neutral", ac=True)
        w.amps("load_current", "load" if w.there("load", None) else "triac")
        if w.has("snubber_capacitor"):
            w.amps("snubber_current", "load", put=(("triac", "driven", 0.0),))
        self._wire_gate(w, inside)

    def _wire_gate(self, w: Wiring, inside: str) -> None:
        w.wired.feeds["gate"] = ("gate", "neutral")
        w.wired.drive = "gate"
        joined = "gate" in w.fed
        w.resistor("gate_resistor", "gate", "_gate", ac=not joined)
        if not joined:
            return
        block, name = w.block.name, w.net("gate")
        w.add(
            Diode(
                name=name, block=block, anode=inside, cathode="neutral", forward=exact(GATE_VOLTS), at=GATE_AMPERES
            )
        )  # fmt: skip
        w.add(Resistor(name=f"{name} beside", block=block, a=inside, b="neutral", ohms=exact(GATE_OHMS)))

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Load from the line down to the triac, triac to neutral, gate from the left, snubber beside the triac."""
        triac = block.part("triac")
        label = [Line(triac.designator, "d") if triac and triac.designator else Line("triac", "r")]
        label += [Line(triac.ratings_label)] if triac else []
        terminals = sheet.device(
            "triac", 2, 2, "start", [*label, *named(block, "triac_power", "heat")], also="gate", flip=True
        )
        sheet.port(0, 0, [Line("L", "r"), *computed(block, "supply")])
        sheet.wire((0, 0), (2, 0))
        sheet.down("resistor", 2, 0, 1, [*part_label(block, "load"), *computed(block, "load_current")])
        sheet.wire((2, 1), terminals["start"])
        sheet.wire(terminals["end"], (2, 3))
        sheet.wire((0, 3), (2, 3))
        sheet.port(0, 3, [Line("N", "r")])
        sheet.port(0, 2, [Line("gate drive", "r")])
        if block.has("gate_resistor"):
            across(block, sheet, "gate_resistor", 2, 0, 1)
            sheet.wire((1, 2), terminals["gate"])
        else:
            sheet.wire((0, 2), terminals["gate"])
        has_resistor, has_capacitor = (block.has(n) for n in ("snubber_resistor", "snubber_capacitor"))
        if not has_resistor and not has_capacitor:
            return
        sheet.dot((2, 1), (2, 3))
        sheet.wire((2, 1), (3, 1))
        sheet.wire((2, 3), (3, 3))
        capacitor = [*part_label(block, "snubber_capacitor"), *named(block, "snubber_current", "leaks")]
        if not has_capacitor:
            capacitor.append(Line(_("not stated")))
        if has_resistor:
            resistor = [*part_label(block, "snubber_resistor"), *named(block, "snubber_surge", "surge")]
            sheet.down("resistor", 3, 1, 2, resistor)
            sheet.down("capacitor", 3, 2, 3, capacitor)
        else:
            sheet.down("capacitor", 3, 1, 3, capacitor, segment=(2, 3))
