"""A resistor and a capacitor that make something wait."""

from __future__ import annotations

import math

from generator.circuit import curves, param
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import capacitor_word, computed, part_label
from generator.circuit.network import Wiring
from generator.circuit.placing import across, down
from generator.circuit.ratings import margin, rating, worth_saying
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet

TIME_CONSTANTS = 5.0  # that the diagram shows: what is left of the way is under 1 %
EXPONENTIAL = "exponential charge and discharge of a capacitor through a resistor"
# share of the supply beyond which leakage and tolerances rule the delay; common practice, no source
LATE = 0.9


class RcDelay(Kind):
    title = "RC delay"
    group = "Timing"
    what = "A capacitor that fills (or empties) through a resistor, so that something happens later."
    assumes = (
        "What watches the voltage draws no current, and the capacitor does not leak. It starts empty "
        "(charge) or filled to the supply (discharge)."
    )
    terminals = ("supply", "out", "common")

    resistor = param.Part("resistor", "the resistor")
    capacitor = param.Part("capacitor", "the capacitor")
    supply = param.Quantity("V", "what it charges to, or starts from")
    threshold = param.Quantity("V", "the voltage at which something happens")
    direction = param.Choice(
        ("charge", "discharge"), "whether the capacitor fills or empties", default="charge"
    )

    values = (
        Value("time_constant", "s", "time to 63 % of the way", "resistor·capacitor", EXPONENTIAL,
              at="across the capacitor, oscilloscope: time to 63 % of the way", impedance="resistor"),
        Value("delay", "s", "until the threshold is reached", "time_constant·ln(supply/(supply − threshold))",
              EXPONENTIAL, at="across the capacitor, oscilloscope or stopwatch: time to the threshold"),
        Value("cutoff", "Hz", "frequency above which it swallows a signal (−3 dB)", "1/(2·π·time_constant)",
              "first-order low-pass filter"),
    )  # fmt: skip
    example = {"resistor": "R21 10k", "capacitor": "C10 1u", "supply": "5 V", "threshold": "3.5 V"}
    variants = (
        Variant("emptying", {"direction": "discharge"}),
        Variant("with a film capacitor", {"capacitor": "C10 22n"}),
    )

    def solve(self, x: Point) -> Solved:
        charging = x.direction == "charge"
        found: dict[str, float | Formula | None] = {}
        if x.failed("capacitor") == "short":
            return {"delay": math.inf if charging else 0.0, "time_constant": None, "cutoff": None}
        if x.capacitor == 0:
            found |= {"time_constant": 0.0, "cutoff": None, "delay": 0.0}
        if x.threshold >= x.supply:
            found["delay"] = math.inf if charging else Formula("0")
        elif not charging and x.capacitor:
            found["delay"] = Formula("time_constant·ln(supply/threshold)")
        return found

    def checks(self, block: Block) -> list[Check]:
        supply, threshold = block.given("supply"), block.given("threshold")
        charging = block.point.direction == "charge"
        found = rating(block, "capacitor", "V", supply.high, "sees")
        called = block.label("capacitor")
        values = {"threshold": measured(threshold.high, "V"), "supply": measured(supply.low, "V")}
        if threshold.high >= supply.low:
            always = threshold.low >= supply.high
            if charging and always:
                what = _("never reaches its threshold (threshold %(threshold)s, supply %(supply)s)")
            elif charging:
                what = _(
                    "may never reach its threshold in the worst case (threshold %(threshold)s, supply %(supply)s)"
                )
            elif always:
                what = _(
                    "starts below its threshold: no delay at all (threshold %(threshold)s, supply %(supply)s)"
                )
            else:
                what = _(
                    "may start below its threshold in the worst case: no delay at all (threshold %(threshold)s, supply %(supply)s)"
                )
            found.append(Check(called, what % values, False, margin(supply.low, threshold.high)))
        elif (
            charging
            and threshold.high > LATE * supply.low
            or not charging
            and threshold.low < (1 - LATE) * supply.high
        ):
            text = _(
                "the threshold is so near the final voltage that leakage and small drifts dominate the delay"
            )
            found.append(worth_saying(called, text))
        return found

    def remark(self, x: Point, key: str, mode: str) -> str:
        if (key, mode) == ("capacitor", "short"):
            return (
                "the voltage stays at 0"
                if x.direction == "charge"
                else "shorts the supply while it is meant to fill"
            )
        if (key, mode) == ("resistor", "open"):
            return "nothing but leakage moves the capacitor"
        if (key, mode) == ("capacitor", "open"):
            return "no delay is left but that of stray capacitance"
        return ""

    def wire(self, block: Block, w: Wiring) -> None:
        """Charging, the resistor comes from the supply; discharging, it lies beside the capacitor."""
        w.supply("supply", "supply")
        w.resistor("resistor", "supply" if block.point.direction == "charge" else "common", "out")
        w.capacitor("capacitor", "out", "common")

    def draw(self, block: Block, sheet: Sheet) -> None:
        capacitor = capacitor_word(block, "capacitor")
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        if block.point.direction == "charge":
            across(block, sheet, "resistor", 0, 0, 1)
            sheet.down(capacitor, 1, 0, 1, part_label(block, "capacitor"))
            last = 1
        else:
            sheet.across("switch", 0, 0, 1, [Line("let go", "r")])
            sheet.down(capacitor, 1, 0, 1, part_label(block, "capacitor"))
            sheet.wire((1, 0), (2, 0))
            down(block, sheet, "resistor", 2, 0, 1)
            sheet.wire((1, 1), (2, 1))
            sheet.dot((2, 0), (1, 1))
            last = 2
        sheet.dot((1, 0))
        sheet.wire((0, 1), (1, 1))
        sheet.port(0, 1, [Line("0 V", "r")])
        sheet.wire((last, 0), (last + 1, 0))
        threshold, result = computed(block, "threshold")[0].text, block.values["delay"]
        delay = result.high if result.value is None else result.value
        after = _("%(volts)s never") if math.isinf(delay) else _("%(volts)s after %(delay)s")
        at_end = [Line("output", "r"), Line(after % {"volts": threshold, "delay": measured(delay, "s")}, "n")]
        sheet.port(last + 1, 0, at_end, right=True)

    def plot(self, block: Block) -> curves.Diagram | None:
        """An RC's capacitor while it charges or discharges (s, V), with the threshold."""
        x = block.point
        constant, delay = block.solved.get("time_constant"), block.values.get("delay")
        if not constant or delay is None:
            return None
        when = delay.value if delay.value is not None and math.isfinite(delay.value) else None
        span = max(TIME_CONSTANTS * constant, 0.0 if when is None else when * (1 + curves.ROOM))

        def voltage(t: float) -> float:
            left = math.exp(-t / constant)
            return float(x.supply * (1 - left if x.direction == "charge" else left))

        marks = [curves.Mark("threshold", 0.0, x.threshold, level=True)]
        if when is not None:
            marks.append(curves.Mark("delay", when, x.threshold))
        curve = curves.Curve("capacitor", curves.points(voltage, curves.spaced(0.0, span)))
        top = max(x.supply, x.threshold)
        across, up = ("time", "s", 0.0, span), ("voltage", "V", 0.0, top)
        return curves.Diagram("capacitor over time", across, up, (curve,), tuple(marks))
