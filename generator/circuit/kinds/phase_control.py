"""A dimmer's phase control: pot and capacitor delay the mains, a diac fires the triac."""

from __future__ import annotations

import math
from typing import Any

from generator.circuit import curves, param
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.element import exact
from generator.circuit.network.mains import Diac, Pot
from generator.circuit.phase_cut import firing_angle, firing_angle_without_capacitor
from generator.circuit.placing import down
from generator.circuit.ratings import alternating, rating, worth_saying
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet
from generator.notation.parts import Part
from generator.notation.quantity import Quantity


def _angle(x: Point, resistance: float) -> float | None:
    peak = x.supply * math.sqrt(2)
    if x.failed("breakover") == "open" or x.failed("capacitor") == "short":
        return None
    if x.failed("breakover") == "short":
        return firing_angle_without_capacitor(peak=peak, resistance=resistance, drop=0.0, least=0.0)
    if x.capacitor == 0:
        drop = max(0.0, x.breakover - x.breakback)
        return firing_angle_without_capacitor(peak=peak, resistance=resistance, drop=drop, least=x.breakover)
    return firing_angle(
        peak=peak,
        resistance=resistance,
        capacitance=x.capacitor,
        breakover=x.breakover,
        breakback=min(x.breakback, x.breakover),
        frequency=x.f,
    )


_STEADY = "periodic steady state of mains, RC and diac, solved by Cauchy's method to 1e-9 degrees"
_SHARE = "mean square of a sine from the firing angle to its zero crossing, resistive load"
_SCOPE = "across the load, oscilloscope with an isolating probe"


class PhaseControl(Kind):
    title = "Phase control"
    group = "Timing"
    what = "A dimmer's timing: pot and capacitor delay the mains until the diac fires the triac."
    assumes = (
        "The usual two-wire dimmer: resistors and capacitor sit across the triac, so that they see the "
        "mains until it fires and about 0 V after that. A resistive load, small beside the resistors; a "
        "symmetric diac. Without the timing capacitor or with the diac shorted, the gate is taken to need "
        "10 mA. In a device the pot stands at zero, and the load joined to the triac says when its current dies: what "
        "charges the capacitor begins there. Its current is that of a sine of the same volts."
    )
    terminals = ("live", "load", "neutral", "gate")
    cautions = ("mains",)

    supply = param.Quantity("V", "the mains", default=param.MAINS)
    fixed = param.Part("resistor", "the resistor in series with the pot", default=None, role="fixed resistor")
    pot = param.Part("potentiometer", "the pot's resistance, turned down all the way")
    capacitor = param.Part("capacitor", "the timing capacitor", role="timing capacitor")
    breakover = param.Part("diac", "the diac's breakover voltage", default="32 V", role="diac")
    breakback = param.Quantity(
        "V",
        "what the diac takes off the capacitor when it fires",
        default=param.Unstated("10 V", "breakback"),
    )
    f = param.Quantity("Hz", "mains frequency", default=param.FREQUENCY)

    values = (
        Value("firing_angle_min", "degree", "into the half-cycle, pot at zero; later with a motor, whose current lasts", "360·f·t_min", _STEADY,
              at=_SCOPE, hazard="mains"),
        Value("firing_angle_max", "degree", "into the half-cycle, pot turned down all the way; with a motor later still", "360·f·t_max",
              _STEADY, at=_SCOPE, hazard="mains"),
        Value("power_share_max", "", "share of full power, pot at zero",
              "1 − firing_angle_min/180 + sin(firing_angle_min·π/90)/(2·π)", _SHARE,
              at="power meter at the plug, against the load without the dimmer"),
        Value("power_share_min", "", "share of full power, pot turned down",
              "1 − firing_angle_max/180 + sin(firing_angle_max·π/90)/(2·π)", _SHARE,
              at="power meter at the plug, against the load without the dimmer"),
    )  # fmt: skip
    helper_units = {"t_min": "s", "t_max": "s"}
    remarks = {
        ("fixed", "open"): "the load stays off",
        ("pot", "open"): "the load stays off; a worn pot often opens at one place only",
        ("capacitor", "short"): "the load stays off; fixed resistor and pot burn when turned up",
        ("capacitor", "open"): "no charge to fire with: full on near one end of the knob, off over the rest",
        ("breakover", "open"): "the load stays off",
        ("breakover", "short"): "no charge gathers to fire with: full on near one end of the knob, off over the rest",
    }  # fmt: skip
    example = {
        "fixed": "R1 4k7", "pot": "VR1 470k", "capacitor": "C2 68n", "breakover": "32 V", "breakback": "10 V",
    }  # fmt: skip
    variants = (Variant("pot and capacitor alone", {"fixed": ""}),)

    def solve(self, x: Point) -> Solved:
        found: dict[str, float | Formula] = {}
        fixed = 0.0 if x.fixed is None else x.fixed
        # A pot that is open lets nothing through, wherever it stands.
        ends = {"min": math.inf if math.isinf(x.pot) else fixed, "max": fixed + x.pot}
        for end, share in (("min", "power_share_max"), ("max", "power_share_min")):
            angle = _angle(x, ends[end])
            if angle is None:
                found[share] = Formula("0·supply")
            else:
                found[f"t_{end}"] = angle / (2 * math.pi * x.f)
        return found

    def checks(self, block: Block) -> list[Check]:
        found: list[Check] = []
        pot, breakover = block.label("pot"), block.quantity("breakover")
        if "firing_angle_min" not in block.values:
            found.append(Check(pot, "never fires, wherever it stands", False))
        elif block.low("power_share_max") == 0:
            found.append(Check(pot, "may never fire, wherever it stands, in the worst case", False))
        elif block.low("power_share_min") == 0:
            text = _("turned down all the way, it does not fire: off, and it comes on with a jump")
            if block.high("power_share_min") > 0:
                text = _(
                    "turned down all the way, it does not fire at some corners of the band: off, and it comes on with a jump"
                )
            found.append(worth_saying(pot, text))
        found += rating(block, "capacitor", "V", breakover.high if breakover else 0.0, "is charged to")
        return found + alternating(block, "capacitor")

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        diac, back = inputs.get("breakover"), inputs.get("breakback")
        value = diac.value if isinstance(diac, Part) else None
        if value is not None and isinstance(back, Quantity) and back.middle > value.middle:
            hint = "what it takes off the capacitor, such as 10 V"
            return [("breakback", f"{back.text} is more than the diac's breakover", hint)]
        return []

    def wire(self, block: Block, w: Wiring) -> None:
        """Resistors and capacitor across the triac as the drawing has them, the pot at zero while the device runs; when the
        diac fires a triac follows from what they let reach the capacitor."""
        w.supply("supply", "live", "neutral", ac=True)
        w.common("neutral", mains=True)
        if w.has("fixed"):
            w.resistor("fixed", "load", "_pot", ac=True)
        track, top = w.number("pot"), "_pot" if w.has("fixed") else "load"
        w.add(Pot(
            **w.who("pot"), a=top, b="_charge", ohms=track, turned=exact(min(1.0, w.left / block.point.pot)),
            ac=True,
        ))  # fmt: skip
        w.capacitor("capacitor", "_charge", "neutral", ac=True)
        path = w.number("fixed") if w.has("fixed") else exact(0.0)
        over, back = w.number("breakover"), w.number("breakback")
        w.add(Diac(
            **w.who("breakover"), a="_charge", b="gate", breakover=over, breakback=back, path=path, ac=True,
        ))  # fmt: skip

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Fixed resistor and pot beside the triac down to the capacitor, the diac from there to the triac's gate."""
        sheet.port(0, 0, [Line("L, through load", "r"), *computed(block, "supply")])
        sheet.wire((0, 0), (1, 0), (2, 0))
        if block.has("fixed"):
            down(block, sheet, "fixed", 1, 0, 1, left=True)
        else:
            sheet.wire((1, 0), (1, 1))
        down(block, sheet, "pot", 1, 1, 2, left=True)
        sheet.dot((1, 0), (1, 2), (1, 3))
        sheet.down("capacitor", 1, 2, 3, part_label(block, "capacitor"))
        sheet.wire((0, 3), (1, 3), (2, 3))
        sheet.port(0, 3, [Line("N", "r")])
        back = block.quantity("breakback")
        label = part_label(block, "breakover")
        if back:
            label.append(Line(_("back %(volts)s") % {"volts": measured(back.middle, "V", trim=True)}))
        fires = named(block, "firing_angle_min", "fires at") or [Line(_("never fires"), "n")]
        if "firing_angle_min" in block.values:
            fires += named(block, "firing_angle_max", "to") or [Line(_("to never"), "n")]
        shares = [*named(block, "power_share_max", "power share"), *named(block, "power_share_min", "to")]
        told = [Line("triac", "r"), *fires, *shares]
        triac = sheet.device("triac", 2, 2, "start", told, also="gate", flip=True)
        sheet.across("diac", 2, 1, triac["gate"], label)
        sheet.wire((2, 0), triac["start"])
        sheet.wire(triac["end"], (2, 3))

    def plot(self, block: Block) -> curves.Diagram | None:
        """Half a mains period (degrees, V) and what of it reaches the load at both ends of the knob."""
        peak = block.point.supply * math.sqrt(2)

        def mains(angle: float) -> float:
            return float(peak * math.sin(math.radians(angle)))

        lines = [curves.Curve("mains", curves.points(mains, curves.spaced(0.0, 180.0)), aside=True)]
        marks = []
        for name, value in (("knob up", "firing_angle_min"), ("knob down", "firing_angle_max")):
            result = block.values.get(value)
            if result is None or result.value is None or result.value >= 180:
                continue
            angle = result.value
            lines.append(
                curves.Curve(
                    name,
                    curves.points(mains, curves.spaced(angle, 180.0)),
                    aside=name == "knob up",
                    area=True,
                )
            )
            marks.append(curves.Mark(name, angle, mains(angle)))
        if not marks:
            return None
        across, up = ("angle", "degree", 0.0, 180.0), ("voltage", "V", 0.0, peak)
        return curves.Diagram("half a mains period at the load", across, up, tuple(lines), tuple(marks))
