"""What kinds with two resistances in series share: the voltage at their tap, and which resistance gives a voltage."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from generator.circuit import param
from generator.circuit.block import Block, Check, Formula, Found, Kind, Point
from generator.circuit.labels import computed, part_label
from generator.circuit.placing import across, down
from generator.circuit.ratings import rating
from generator.circuit.sheet import Line, Sheet
from generator.notation.quantity import Quantity

if TYPE_CHECKING:
    from generator.circuit.network.wiring import Given, Wiring

OHMS_LAW = "voltage divider: Ohm's law"
PIN_FILTER = "RC low-pass: the pin sees both resistors side by side through its own"

REMARKS = {  # of the parts between tap and pin
    ("series", "open"): "the pin floats: it reads anything",
    ("capacitor", "open"): "works as before, with more noise at the pin",
    ("capacitor", "short"): "the pin is held at 0 V",
}
SERIES = param.Part(
    "resistor",
    "the resistor from the tap to the chip's pin",
    default="0 ohm",
    role="series resistor",
    zero=True,
)
CAPACITOR = param.Part("capacitor", "the capacitor from the pin to 0 V", default=None, role="pin capacitor")


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


def upper_and_lower(side: str, fixed: Any, sensor: Any) -> tuple[Any, Any]:
    """What stands above the tap and what below it, with the sensor on `side` ("upper" or "lower")."""
    return (fixed, sensor) if side == "lower" else (sensor, fixed)


def sensor_tap(x: Point, side: str, name: str, sensor: float) -> Formula:
    """tap_formula of the fixed resistor and a sensor of so many ohm, which the formula calls name."""
    above, below = upper_and_lower(side, ("fixed", x.fixed), (name, sensor))
    return tap_formula(*above, *below)


def sensor_tap_voltage(x: Point, side: str, sensor: float) -> float:
    """tap_voltage of the same, in V."""
    upper, lower = upper_and_lower(side, x.fixed, sensor)
    return tap_voltage(supply=x.supply, upper=upper, lower=lower)


def cut_results(x: Point, cut: Callable[[Point, str, float], Mapping[str, Any]]) -> Found:
    """The values of all cut points; cut: those of one, from the key that is given and its number."""
    return {
        f"{name}.{value}": found
        for name, key in x.cuts.items()
        for value, found in cut(x, key, x.__dict__[f"cut:{name}"]).items()
    }


def vet_tap(name: str, given: Quantity, supply: Quantity) -> list[tuple[str, str, str]]:
    """A cut point's voltage has to be one that the tap can have."""
    if 0 < given.low <= given.high < supply.middle:
        return []
    between = f"it lies between 0 and {supply.text}"
    return [("cut_points", f"{name}: the tap never comes to {given.text}", between)]


def at_pin(kind: Kind, x: Point, found: Found, outputs: Iterable[str]) -> Found:
    """The values of a divider's kind with its outputs as they stand at the pin: none behind an open resistor, 0 V with the capacitor shorted.

    A cut point that is stated at the pin is then never reached; one stated at the sensor is where it was.
    """
    if not x.series and x.capacitor:
        found["pin_time_constant"] = Formula(kind.formula("pin_time_constant").replace("series + ", ""))
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


def pin_checks(block: Block, volts: float) -> list[Check]:
    """The stated voltage of the capacitor at the pin against what it sees at most."""
    return rating(block, "capacitor", "V", volts, "sees at most")


def draw_pin(block: Block, sheet: Sheet, column: int, label: list[Line]) -> None:
    """From the tap at (column, 1) through the resistor to the pin, its capacitor to common, and the pin itself."""
    first = column
    if block.part("series"):
        across(block, sheet, "series", 1, column, column + 1)
        column += 1
    if block.has("capacitor"):
        if column == first:
            sheet.wire((column, 1), (column + 1, 1))
            column += 1
        down(block, sheet, "capacitor", column, 1, 2)
        sheet.wire((first, 2), (column, 2))
        sheet.dot((column, 1), (first, 2))
    sheet.wire((column, 1), (column + 1, 1))
    sheet.port(column + 1, 1, label, right=True)


def wire_sensor_divider(w: Wiring, side: str, sensor: str, ohms: Given) -> None:
    """Sensor and fixed resistor from the supply to common, the tap between them, the pin behind it."""
    w.supply("supply", "supply")
    for (key, given), (a, b) in zip(
        upper_and_lower(side, ("fixed", None), (sensor, ohms)), (("supply", "tap"), ("tap", "common"))
    ):
        w.resistor(key, a, b, given)
    w.pin_behind("tap")


def draw_sensor_divider(
    block: Block, sheet: Sheet, sensor: str, symbol: str, side: str, at_tap: list[Line]
) -> None:
    """The supply above, the sensor and the fixed resistor in series, the tap to the right."""
    upper, lower = upper_and_lower(side, ("fixed", "resistor"), (sensor, symbol))
    sheet.down(upper[1], 1, 0, 1, part_label(block, upper[0]))
    sheet.down(lower[1], 1, 1, 2, part_label(block, lower[0]))
    sheet.wire((0, 0), (1, 0))
    sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
    sheet.dot((1, 1))
    draw_pin(block, sheet, 1, [Line("output", "r"), *at_tap])
    sheet.wire((0, 2), (1, 2))
    sheet.port(0, 2, [Line("0 V", "r")])
