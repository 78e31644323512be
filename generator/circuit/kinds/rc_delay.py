"""A resistor and a capacitor that make something wait."""

from __future__ import annotations

import math

from generator.circuit.block import Block, Check, Kind, Param, Point, Value, Wear
from generator.circuit.kind import LEAK
from generator.circuit.labels import computed, part_label
from generator.circuit.ratings import margin, rating
from generator.circuit.sheet import Line, Sheet
from generator.circuit.working import parallel
from generator.language import _
from generator.notation.parts import tolerance_class
from generator.notation.quantity import format_value

EXPONENTIAL = "exponential charge and discharge of a capacitor through a resistor"
LATE = (
    0.9  # share of the supply beyond which leakage and tolerances rule the delay; common practice, no source
)


def charge_delay(*, time_constant: float, supply: float, threshold: float) -> float:
    """From 0 V up to the threshold, in s: RC·ln(supply/(supply − threshold)); inf where it is never reached.

    time_constant: s; supply, threshold: V. Source: exponential charge of a capacitor.
    """
    if threshold >= supply:
        return math.inf
    return time_constant * math.log(supply / (supply - threshold)) if time_constant else 0.0


def discharge_delay(*, time_constant: float, supply: float, threshold: float) -> float:
    """From the supply down to the threshold, in s: RC·ln(supply/threshold); 0 where it starts below it."""
    if threshold >= supply or time_constant == 0:
        return 0.0
    return time_constant * math.log(supply / threshold)


def solve(x: Point) -> dict[str, float]:
    charging = x.direction == "charge"
    if x.failed("capacitor") == "short":
        return {"delay": math.inf if charging else 0.0}
    leak = x.__dict__.get("capacitor_leak", math.inf)
    # What leaks, divides the supply with the resistor, and the capacitor charges through both side by side.
    resistor = parallel(x.resistor, leak) if leak < math.inf else x.resistor
    towards = x.supply * leak / (x.resistor + leak) if charging and leak < math.inf else x.supply
    time_constant = 0.0 if x.capacitor == 0 else resistor * x.capacitor
    values = {"time_constant": time_constant}
    if time_constant:
        values["cutoff"] = 1 / (2 * math.pi * time_constant)
    delay = charge_delay if charging else discharge_delay
    values["delay"] = delay(time_constant=time_constant, supply=towards, threshold=x.threshold)
    return values


def formulas(x: Point, solved: dict[str, float]) -> dict[str, str]:
    if x.direction == "charge":
        return {}
    return {"delay": "time_constant·ln(supply/threshold)" if x.threshold < x.supply else "0"}


def checks(block: Block) -> list[Check]:
    supply, threshold = block.quantity("supply"), block.quantity("threshold")
    assert supply is not None and threshold is not None
    charging = block.point.direction == "charge"
    found = rating(block, "capacitor", "V", supply.high, "sees")
    called = block.label("capacitor")
    values = {"threshold": format_value(threshold.high, "V"), "supply": format_value(supply.low, "V")}
    if threshold.high >= supply.low:
        always = threshold.low >= supply.high
        if charging and always:
            what = _("never reaches its threshold (threshold %(threshold)s, supply %(supply)s)")
        elif charging:
            what = _(
                "may never reach its threshold, at the bad end of the band (threshold %(threshold)s, supply %(supply)s)"
            )
        elif always:
            what = _(
                "starts below its threshold: no delay at all (threshold %(threshold)s, supply %(supply)s)"
            )
        else:
            what = _(
                "may start below its threshold, at the bad end of the band: no delay at all (threshold %(threshold)s, supply %(supply)s)"
            )
        found.append(Check(called, what % values, False, margin(supply.low, threshold.high)))
    elif (
        charging
        and threshold.high > LATE * supply.low
        or not charging
        and threshold.low < (1 - LATE) * supply.high
    ):
        text = _("the threshold lies so late on the curve that leakage and small drifts rule the delay")
        found.append(Check(called, text, True, None, True))
    return found


def fail(point: Point, key: str, mode: str) -> tuple[Point, str]:
    if (key, mode) == ("capacitor", "short"):
        return (
            point,
            "the voltage stays at 0"
            if point.direction == "charge"
            else "shorts the supply while it is meant to fill",
        )
    if (key, mode) == ("resistor", "open"):
        return point, "nothing but leakage moves the capacitor"
    if (key, mode) == ("capacitor", "open"):
        return point, "no delay is left but that of stray capacitance"
    return point, ""


def draw(block: Block, sheet: Sheet) -> None:
    part = block.part("capacitor")
    polar = (
        part is not None
        and part.value is not None
        and tolerance_class("capacitor", part.value, part.words) == "electrolytic"
    )
    capacitor = "electrolytic" if polar else "capacitor"
    sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
    if block.point.direction == "charge":
        sheet.across("resistor", 0, 0, 1, part_label(block, "resistor"))
        sheet.down(capacitor, 1, 0, 1, part_label(block, "capacitor"))
        last = 1
    else:
        sheet.across("switch", 0, 0, 1, [Line("let go", "r")])
        sheet.down(capacitor, 1, 0, 1, part_label(block, "capacitor"))
        sheet.wire((1, 0), (2, 0))
        sheet.down("resistor", 2, 0, 1, part_label(block, "resistor"))
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
    at_end = [Line("output", "r"), Line(after % {"volts": threshold, "delay": format_value(delay, "s")}, "n")]
    sheet.port(last + 1, 0, at_end, right=True)


KIND = Kind(
    name="rc-delay",
    title="RC delay",
    group="Timing",
    what="A capacitor that fills (or empties) through a resistor, so that something happens later.",
    wear=(Wear("capacitor", "leaky", *LEAK, lambda x, leak: x.changed(capacitor_leak=leak)),),
    assumes="What watches the voltage draws no current, and the capacitor does not leak. It starts empty (charge) or "
            "filled to the supply (discharge).",
    params=(
        Param("resistor", "the resistor", shape="part", part="resistor"),
        Param("capacitor", "the capacitor", shape="part", part="capacitor"),
        Param("supply", "what it charges to, or starts from", "V"),
        Param("threshold", "the voltage at which something happens", "V"),
        Param("direction", "whether the capacitor fills or empties", shape="choice", default="charge", choices=("charge", "discharge")),
    ),
    values=(
        Value("time_constant", "s", "time to 63 % of the way", "resistor·capacitor", EXPONENTIAL,
              at="across the capacitor, oscilloscope: time to 63 % of the way", impedance="resistor"),
        Value("delay", "s", "until the threshold is reached", "time_constant·ln(supply/(supply − threshold))", EXPONENTIAL,
              at="across the capacitor, oscilloscope or stopwatch: time to the threshold"),
        Value("cutoff", "Hz", "frequency above which it swallows a signal (−3 dB)", "1/(2·π·time_constant)",
              "first-order low-pass filter", measurable=False),
    ),
    solve=solve,
    formulas=formulas,
    checks=checks,
    fail=fail,
    draw=draw,
    variants=({"direction": "discharge"}, {"capacitor": "C10 22n"}, {"direction": "discharge", "capacitor": "C10 22n"}),
    example={"resistor": "R21 10k", "capacitor": "C10 1u", "supply": "5 V", "threshold": "3.5 V"},
)  # fmt: skip
