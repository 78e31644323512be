"""What kinds with two resistances in series share: the voltage at their tap, and which resistance gives a voltage."""

from __future__ import annotations

import math
from collections.abc import Iterable

from generator.circuit.block import Block, Check, Formula, Found, Point
from generator.circuit.labels import computed, part_label
from generator.circuit.ratings import rating
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


PIN_FILTER = "RC low-pass: the pin sees both resistors side by side through its own"


def at_pin(x: Point, found: Found, outputs: Iterable[str]) -> Found:
    """The outputs as they stand at the pin: none behind an open resistor, 0 V with the capacitor shorted.

    A cut point that is stated at the pin is then never reached; one stated at the sensor is where it was.
    """
    shorted = x.failed("capacitor") == "short"
    if not shorted and x.failed("series") != "open":
        return found
    reads = 0.0 if shorted else None
    found |= {**dict.fromkeys(outputs, reads), "pin_time_constant": None}
    for cut, key in x.cuts.items():
        found[f"{cut}.output"] = reads
        if key in ("output", "code"):
            found |= {
                f"{cut}.{name}": None
                for name in ("supply", "resistance", "temperature", "illuminance", "code")
            }
    return found


def pin_remark(key: str, mode: str) -> str:
    """What a failed part between tap and pin does besides its values."""
    remarks = {
        ("series", "open"): "the pin hangs in the air: it reads anything",
        ("capacitor", "open"): "works as before, with more noise at the pin",
        ("capacitor", "short"): "the pin is held at 0 V",
    }
    return remarks.get((key, mode), "")


def pin_checks(block: Block, volts: float) -> list[Check]:
    """The stated voltage of the capacitor at the pin against what it sees at most."""
    return rating(block, "capacitor", "V", volts, "sees at most")


def draw_pin(block: Block, sheet: Sheet, column: int, label: list[Line]) -> None:
    """From the tap at (column, 1) through the resistor to the pin, its capacitor to common, and the pin itself."""
    first = column
    if block.part("series"):
        sheet.across("resistor", 1, column, column + 1, part_label(block, "series"))
        column += 1
    if block.inputs.get("capacitor") is not None:
        if column == first:
            sheet.wire((column, 1), (column + 1, 1))
            column += 1
        sheet.down("capacitor", column, 1, 2, part_label(block, "capacitor"))
        sheet.wire((first, 2), (column, 2))
        sheet.dot((column, 1), (first, 2))
    sheet.wire((column, 1), (column + 1, 1))
    sheet.port(column + 1, 1, label, right=True)


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
    sheet.dot((1, 1))
    draw_pin(block, sheet, 1, [Line("output", "r"), *at_tap])
    sheet.wire((0, 2), (1, 2))
    sheet.port(0, 2, [Line("0 V", "r")])
