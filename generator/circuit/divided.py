"""What kinds with two resistances in series share: the voltage at their tap, and which resistance gives a voltage."""

from __future__ import annotations

import math

from generator.circuit.block import Block, Formula, Point
from generator.circuit.labels import computed, part_label
from generator.circuit.sheet import Line, Sheet

OHMS_LAW = "voltage divider: Ohm's law"


def tap_voltage(*, supply: float, upper: float, lower: float) -> float:
    """What a meter shows from the tap to the common rail, in V: supply·lower/(upper + lower).

    supply: V; upper, lower: ohm, each from 0 (shorted) to inf (open). A tap with nothing above it is pulled to 0 by
    what is below it, or by the meter itself. Source: voltage divider, Ohm's law.
    """
    if lower == 0 or math.isinf(upper):
        return 0.0
    if math.isinf(lower) or upper == 0:
        return supply
    return supply * lower / (upper + lower)


def tap_formula(upper: str, above: float, lower: str, below: float) -> Formula:
    """tap_voltage as a formula, by the names of the two resistances and what they come to in ohm."""
    if below == 0 or math.isinf(above):
        return Formula("0")
    if math.isinf(below) or above == 0:
        return Formula("supply")
    return Formula(f"supply·{lower}/({upper} + {lower})")


def sensor_for_tap(x: Point, output: float, side: str) -> Formula | float | None:
    """The resistance of the part on `side` ("upper" or "lower") that brings the tap to output, beside the other, fixed.

    A formula of output; inf where even an open part only just reaches it; None where no resistance does. Source: the
    divider's equation solved for one resistance.
    """
    across_sensor, across_fixed = (
        (output, x.supply - output) if side == "lower" else (x.supply - output, output)
    )
    if math.isinf(x.fixed) or across_sensor < 0:
        return None
    if across_fixed <= 0:
        return math.inf
    return Formula("fixed·output/(supply − output)" if side == "lower" else "fixed·(supply − output)/output")


def draw_sensor_divider(
    block: Block, sheet: Sheet, sensor: str, symbol: str, side: str, at_tap: list[Line]
) -> None:
    """The supply above, the sensor and the fixed resistor in series, the tap to the right."""
    upper, lower = (
        (("fixed", "resistor"), (sensor, symbol))
        if side == "lower"
        else ((sensor, symbol), ("fixed", "resistor"))
    )
    sheet.down(upper[1], 1, 0, 1, part_label(block, upper[0]))
    sheet.down(lower[1], 1, 1, 2, part_label(block, lower[0]))
    sheet.wire((0, 0), (1, 0))
    sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
    sheet.wire((1, 1), (2, 1))
    sheet.dot((1, 1))
    sheet.port(2, 1, [Line("output", "r"), *at_tap], right=True)
    sheet.wire((0, 2), (1, 2))
    sheet.port(0, 2, [Line("0 V", "r")])
