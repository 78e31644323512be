"""Mains rectified straight onto a bulk capacitor: the front end of every switching supply, flash and drive."""

from __future__ import annotations

import math
from dataclasses import replace

from generator.circuit import curves, param
from generator.circuit.block import Block, Check, ExtraPart, Kind, Point, Value, Variant
from generator.circuit.formula import STATED, Formula, Found
from generator.circuit.kinds import _rectifier_drawing as drawing
from generator.circuit.kinds import _rectifier_rail as steady
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.element import exact, fixed
from generator.circuit.network.passive import Capacitor, Contact, Drain, Resistor
from generator.circuit.network.sources import Load, Rail
from generator.circuit.placing import across
from generator.circuit.rails import DIODE_DROP, DIODES_IN_PATH, DRAINS
from generator.circuit.ratings import load_ratings, rating
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet

PEAK = "peak rectifier: the capacitor charges to the crest less the diodes"
STEADY = "periodic steady state of ideal source, diodes, capacitor and load, solved"


def _dead(x: Point) -> bool:
    """Whether nothing reaches the rail: a fuse blown by a short, or the only way in open."""
    shorted = "short" in (x.failed("bulk"), x.failed("diodes"))
    cut = x.failed("diodes") == "open" and x.rectifier == "half-wave"
    return shorted or cut or x.failed("inrush") == "open"


def _highest_current(block: Block) -> float:
    """Mean amperes drawn, at the most. The RMS in the mains pulses is higher by about 1.6 to 2 (common practice)."""
    load = block.quantity("load")
    if load is None:
        return 0.0
    if block.point.load_is == "A":
        return load.high
    volts = block.high("mean") if block.point.load_is == "ohm" else max(block.low("mean"), 1e-9)
    return volts / load.low if block.point.load_is == "ohm" else load.high / volts


_BULK = "across the bulk capacitor"


def _wire_halves(w: Wiring, fed: tuple[str, str, float], frequency: float) -> None:
    """A doubler's two half-wave rectifiers in series. Its middle is the neutral, which stands apart from the direct current.

    What opens is in the upper one: without its capacitor the mains' own mean of 0 V stands there, without its diode nothing
    passes. What blows the fuse, and what dries out, does so in both.
    """
    upper = w.rectified(
        "rectifier", "plus", "middle", fed=fed, secondary="supply", drop="diode_drop", frequency=frequency, diodes=1,
        full_wave=False, smoothing="bulk", below="common",
    )  # fmt: skip
    assert isinstance(upper, Rail)
    both = {key: (called, {m: modes[m] for m in ("short", "low") if m in modes})
            for key, (called, modes) in upper.wear.items()}  # fmt: skip
    opens = {"bulk": fixed(share=0.0), "diodes": fixed(resistance=math.inf)}
    upper_wear = {key: (called, {**modes, "open": opens.get(key, modes["open"])})
                  for key, (called, modes) in upper.wear.items()}  # fmt: skip
    lower = replace(upper, name=f"{upper.name} below", called="", wear=both, below="")
    w.wired.elements[-1] = replace(upper, wear=upper_wear)
    w.wired.elements.append(replace(lower, plus=w.net("middle"), minus=w.net("common")))
    link = {**w.who("middle", ()), "called": ""}
    w.add(Resistor(**link, a="neutral", b="middle", ohms=exact(0.0), ac=True))


class MainsRectifier(Kind):
    title = "Mains rectifier"
    group = "Power"
    by_regime = True
    what = "The mains rectified straight onto a bulk capacitor: the front end of switching supplies, flashes and drives."
    assumes = (
        "The mains is an ideal source and each diode drops the same at any current, so that under load the rail really "
        "lies a little lower. A load in watts draws load/voltage. The inrush limiter counts as hot or bridged."
    )
    terminals = ("live", "neutral", "plus", "common", "middle")
    cautions = ("mains", "charge")

    supply = param.MainsVoltage("the mains")
    rectifier = param.Choice(
        ("bridge", "half-wave", "doubler"),
        "how it is rectified",
        default="bridge",
        role="rectifier diode",
        part="diode",
    )
    diode_drop = DIODE_DROP
    bulk = param.Part("capacitor", "the bulk capacitor (doubler: each of two)", role="bulk capacitor")
    bleeder = param.Part("resistor", "the resistor across it (doubler: across each)", default=None)
    load = param.Load(
        "what draws from the rail: a power, a current or a resistor", default=None, modes=(), power=True
    )
    inrush = param.Part(
        "thermistor",
        "the thermistor or resistor that limits the surge, cold",
        default=None,
        role="inrush limiter",
    )
    bypass = param.Part(
        "contact", "the relay contact that bridges it when charged", default=None, role="bypass contact"
    )
    f = param.Quantity("Hz", "mains frequency", default=param.FREQUENCY)

    values = (
        Value("peak", "V", "DC on the bulk, nothing drawn", "supply·√2 − n·diode_drop", PEAK, at=_BULK + ", load off", hazard="mains", wave="dc"),
        Value("high_mains_peak", "V", "the same at the top of the mains band", "supply_top·√2 − n·diode_drop", PEAK),
        Value("ripple", "V", "peak-to-peak ripple under load", "v_top − trough", STEADY,
              at=_BULK + ", oscilloscope with an isolated probe", hazard="mains", wave="peak to peak"),
        Value("trough", "V", "lowest voltage between two crests", "v_off − load·t_off/bulk", STEADY,
              at=_BULK + ", oscilloscope with an isolated probe", hazard="mains", wave="dc"),
        Value("mean", "V", "what a DC meter shows under load", "area·ripple_frequency", STEADY, at=_BULK + ", under load",
              hazard="mains", wave="dc"),
        Value("ripple_frequency", "Hz", "frequency of the ripple", "2·f", "two crests a period, or one with half-wave",
              at=_BULK + ", frequency range", hazard="mains"),
        Value("surge_current", "A", "plugged in at the crest, cold", "supply·√2/inrush", "Ohm's law"),
        Value("bleeder_power", "W", "heat in the bleeder (each)", "peak²/bleeder", "Joule's law"),
        Value("discharge_time_34v", "s", "down to 34 V with the plug out and the load off", "bleeder·bulk·ln(peak/34)",
              "exponential discharge of a capacitor", at=_BULK + ", plug out", cold=True, hazard="charged"),
    )  # fmt: skip
    helper_units = {
        "v_off": "V", "v_top": "V", "t_off": "s", "area": "Vs", "R": "ohm", "n": "", "k": "",
        "supply_top": "V", "v_upper": "V", "v_lower": "V",
    }  # fmt: skip
    extra_parts = (ExtraPart("diodes", "diode", "rectifier diode", named_by="rectifier"),)
    remarks = {
    ("bulk", "short"): "blows the fuse",
    ("diodes", "short"): "blows the fuse",
    ("bulk", "open"): "the rail follows the mains: what it feeds starts and stops a hundred times a second, or not at all",
    ("bulk", "low"): "more ripple: what it feeds drops out at the troughs",
    ("inrush", "open"): "nothing reaches the rectifier",
    ("inrush", "short"): "works, but each plugging-in strains switch, diodes and fuse",
    ("bypass", "open"): "works on, but the inrush limiter stays in the way and gets very hot",
    ("bypass", "short"): "works, but the inrush limiter is bridged as it is plugged in: the fuse may blow",
    ("bleeder", "open"): "works as before, but the charge stays after the plug is pulled",
}  # fmt: skip
    example = {
        "rectifier": "D1-D4 bridge", "bulk": "C1 120u 400V", "bleeder": "R1 220k 1W", "load": "45 W", "inrush": "NTC1 10",
        "bypass": "RL1 5A",
    }  # fmt: skip
    variants = (
        Variant("half-wave, for a small drive", {"rectifier": "half-wave D1", "bulk": "C1 10u 400V",
            "load": "20 mA", "inrush": "", "bypass": ""}),
        Variant("doubler for 120 V", {"rectifier": "doubler D1-D2", "bulk": "C1 470u 200V", "supply": "120 V",
            "f": "60 Hz", "bypass": ""}),
        Variant("a resistor as load, no inrush limiter", {"load": "R9 2k2 100W", "inrush": "", "bypass": ""}),
    )  # fmt: skip

    def solve(self, x: Point) -> Found:
        n, k = DIODES_IN_PATH[x.rectifier], steady.halves(x.rectifier)
        names: Found = {"n": n, "k": k}
        if _dead(x):
            none = ("peak", "high_mains_peak", "discharge_time_34v")
            loaded = ("ripple", "trough", "mean") if x.load is not None else ()
            return {**names, **dict.fromkeys((*none, *loaded), 0.0)}
        if x.bulk == 0:
            return {**names, **steady.without_bulk(x, n)}
        if x.rectifier == "doubler" and x.failed("diodes") == "open":
            return {**names, **steady.half_a_doubler(x)}
        found: Found = {
            "peak": Formula("k·supply·√2 − n·diode_drop") if k == 2 else STATED,
            "high_mains_peak": Formula("k·supply_top·√2 − n·diode_drop") if k == 2 else STATED,
        }
        peak = k * x.supply * math.sqrt(2) - n * x.diode_drop
        if peak <= 0:  # the diodes' drops are all there is
            found |= {
                "peak": 0.0,
                "high_mains_peak": max(0.0, k * x.supply_top * math.sqrt(2) - n * x.diode_drop),
            }
            peak = 0.0
        if x.inrush:
            found["surge_current"] = STATED
        if x.bleeder is not None:
            found["bleeder_power"] = Formula("(peak/k)²/bleeder") if k == 2 else STATED
        found["discharge_time_34v"] = steady.discharge(x, peak)
        if x.load is not None:
            found |= steady.under_load(x)
        return {**names, **found}

    def checks(self, block: Block) -> list[Check]:
        k = steady.halves(block.point.rectifier)
        each = block.high("high_mains_peak") / k
        found = rating(block, "bulk", "V", each, "sees, unloaded, at maximum mains,")
        bleeder = block.quantity("bleeder")
        if bleeder is not None:
            found += rating(block, "bleeder", "W", each * each / bleeder.low, "dissipates, at maximum mains,")
            found += rating(block, "bleeder", "V", each, "sees, unloaded, at maximum mains,")
        else:
            text = _("none: with the load off %(volts)s stays on the capacitor, enough to kill") % {
                "volts": measured(block.high("high_mains_peak"), "V")
            }
            found.append(Check("bleeder", text, False))
        top = block.mains_top() * math.sqrt(2)
        if not block.has("inrush") and block.part("bypass") is not None:
            found.append(
                Check(block.label("bypass"), "no inrush limiter is stated that it could bypass", False)
            )
        inrush = block.quantity("inrush")
        if inrush is not None and inrush.low > 0:
            found += rating(block, "inrush", "A", top / inrush.low, "takes, plugged in at the crest,")
        if block.point.load is not None:
            drawn = _highest_current(block)
            found += rating(block, "bypass", "A", drawn, "carries")
            found += load_ratings(block, block.high("mean"), block.high("high_mains_peak"))
        return found

    def remark(self, x: Point, key: str, mode: str) -> str:
        if (key, mode) == ("bulk", "open") and x.rectifier == "doubler":
            return "one of the two: the rail swings between nothing and twice the crest, once each period"
        if (key, mode) == ("diodes", "open"):
            words = {
                "bridge": "half-wave: every second crest is missing, through the same two diodes",
                "doubler": "half of it gets no charge; under load its capacitor is driven backwards and may burst",
                "half-wave": "nothing reaches the capacitor",
            }
            return words[x.rectifier]
        return super().remark(x, key, mode)

    def wire(self, block: Block, w: Wiring) -> None:
        """From the mains through the inrush limiter into the rectifier; the rail by its solved steady state."""
        x = block.point
        w.supply("supply", "live", "neutral", ac=True)
        w.common("neutral", mains=True)
        w.common("common", mains=True)
        entry = "live"
        if w.has("inrush"):
            entry = "_limited"
            w.fuse("inrush", "live", entry, ac=True)
            w.add(Drain(**{**w.who("entry", ()), "called": ""}, a=entry, b="neutral", ohms=exact(DRAINS)))
            if w.has("bypass"):
                w.add(Contact(**w.who("bypass"), a="live", b=entry, closed=exact(0.0), ac=True))
        fed = (entry, "neutral", x.supply)
        if x.rectifier == "doubler":
            _wire_halves(w, fed, x.f)
        else:
            w.rectified(
                "rectifier", "plus", "common", fed=fed, secondary="supply", drop="diode_drop", frequency=x.f,
                diodes=DIODES_IN_PATH[x.rectifier], full_wave=x.rectifier != "half-wave", smoothing="bulk",
            )  # fmt: skip
        self._wire_parts(block, w, entry)
        # at the crest: a current that the rail's own fall hardly changes
        if x.load is not None and x.load_is == "W":
            crest = math.sqrt(2) * steady.halves(x.rectifier)
            amperes = w.number(lambda at: at.load / (crest * at.supply), "load")
            w.add(Load(**w.who("load"), a="plus", b="common", amperes=amperes))
            w.wired.loads["load"] = (w.net("plus"), w.net("common"))
        else:
            w.load("load", "plus")
        w.volts("mean", "plus")
        if x.rectifier != "doubler":
            for figure in ("trough", "peak"):
                w.of_rail(figure, "rectifier", figure)

    def _wire_parts(self, block: Block, w: Wiring, entry: str) -> None:
        """The diodes as a meter finds them with the plug out, the bulk capacitors, the bleeders across them."""
        rectifier = block.point.rectifier
        ends = [(entry, "plus")]
        if rectifier == "half-wave":
            w.same("neutral", "common")
        else:
            ends += [("neutral", "plus")] if rectifier == "bridge" else []
            ends.append(("common", entry))
            ends += [("common", "neutral")] if rectifier == "bridge" else []
        for copy, (anode, cathode) in enumerate(ends):
            w.diode("diodes", anode, cathode, forward="diode_drop", spread="rectifier", ac=True, copy=copy)
        middle = "middle" if rectifier == "doubler" else "common"
        w.capacitor("bulk", "plus", middle)
        w.resistor("bleeder", "plus", middle)
        if rectifier != "doubler":
            return
        lower = {"modes": (), "called": ""}
        w.add(
            Capacitor(
                **{**w.who("bulk"), **lower, "name": w.net("bulk#1")},
                a=middle,
                b="common",
                farads=w.number("bulk"),
            )
        )
        if w.has("bleeder"):
            own = {**w.who("bleeder"), **lower, "name": w.net("bleeder#1")}
            w.add(Resistor(**own, a=middle, b="common", ohms=w.number("bleeder")))

    def plot(self, block: Block) -> curves.Diagram | None:
        """Mains and bulk capacitor over two mains periods (s, V), in the steady state under load."""
        x, solved = block.point, block.solved
        if x.rectifier == "doubler" or x.load is None or not solved.get("trough") or not solved.get("ripple"):
            return None
        emf, drop = x.supply * math.sqrt(2), DIODES_IN_PATH[x.rectifier] * x.diode_drop
        omega, full = 2 * math.pi * x.f, x.rectifier == "bridge"
        period = 1 / (2 * x.f if full else x.f)
        off = math.acos(min(1.0, (solved["v_off"] + drop) / emf)) / omega  # after the crest

        def source(t: float) -> float:
            wave = math.sin(omega * t)
            return float(max(0.0, emf * (abs(wave) if full else wave) - drop))

        def rail(t: float) -> float:
            since = (t - 1 / (4 * x.f) - off) % period  # from where the diodes let go
            return (
                steady.drain_of(x).left(solved["v_off"], since, x.bulk)
                if since < solved["t_off"]
                else source(t)
            )

        lowest = 1 / (4 * x.f) + off + solved["t_off"]
        return curves.rail_diagram(
            source, rail, f=x.f, crest=emf - drop, top=solved["v_top"], mean=solved["mean"], trough=(lowest, solved["trough"])
        )  # fmt: skip

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Mains on the left, the inrush limiter in the live line, the rectifier, bulk capacitor and drains to the right."""
        entry = -1 if block.has("bypass") else 0  # room for the node before the bypass
        sheet.port(entry, 1, [Line("L", "r"), *computed(block, "supply")])
        sheet.port(entry, 2, [Line("N", "r")])
        for row in (1, 2):
            sheet.wire((entry, row), (0, row))
        if block.has("inrush"):
            inrush = [*part_label(block, "inrush"), *named(block, "surge_current", "surge")]
            sheet.across("thermistor across", 1, 0, 1, inrush, below=True)
            if block.has("bypass"):
                sheet.wire((0, 1), (0, 0))
                across(block, sheet, "bypass", 0, 0, 1)
                sheet.wire((1, 0), (1, 1))
                sheet.dot((0, 1), (1, 1))
        else:
            sheet.wire((0, 1), (1, 1))
        drawing.RECTIFIERS[block.point.rectifier](block, sheet)
