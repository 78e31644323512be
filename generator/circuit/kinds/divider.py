"""Two resistors across a supply."""

from __future__ import annotations

import math
from typing import Any

from generator.circuit import divided, param
from generator.circuit.block import Block, Check, Formula, Found, Kind, Point, Solved, Value, Variant
from generator.circuit.formula import parallel
from generator.circuit.labels import at_tap_line, computed
from generator.circuit.network import Wiring
from generator.circuit.placing import down
from generator.circuit.ratings import load_ratings, rating
from generator.circuit.sheet import Line, Sheet
from generator.notation.parts import Part
from generator.notation.quantity import Quantity

JOULES_LAW = "Joule's law"
THEVENIN = "Thévenin's theorem"


class Divider(Kind):
    title = "Voltage divider"
    group = "Sensing"
    what = "Two resistors across a supply: the voltage between them is a fixed share of it."
    assumes = "The tap is loaded by the stated load only; an input that draws nothing needs none."
    terminals = ("supply", "tap", "pin", "common")

    supply = param.Quantity("V", "the voltage across both resistors")
    upper = param.Part(
        "resistor", "the resistor from the supply to the tap", role="upper resistor", zero=True
    )
    lower = param.Part("resistor", "the resistor from the tap to 0 V", role="lower resistor", zero=True)
    load = param.Load("what hangs on the tap: a resistor or a current", default=None, modes=())
    series = divided.SERIES
    capacitor = divided.CAPACITOR
    cut_points = param.CutPoints({"output": "V"}, "what the device switches at: {name: {output: V}}")

    values = (
        Value("output", "V", "at the tap, loaded", "supply·lower/(upper + lower)", divided.OHMS_LAW,
              at="from the tap to 0 V"),
        Value("unloaded_output", "V", "at the tap with nothing on it", "supply·lower/(upper + lower)",
              divided.OHMS_LAW, at="from the tap to 0 V, load off", impedance="series + (upper∥lower)"),
        Value("source_resistance", "ohm", "what the tap looks like to a load", "upper∥lower", THEVENIN),
        Value("pin_time_constant", "s", "how slowly the pin follows", "(series + upper∥lower)·capacitor", divided.PIN_FILTER),
        Value("current", "A", "through the upper resistor", "(supply − output)/upper", "Ohm's law",
              at="in series with the upper resistor"),
        Value("upper_power", "W", "heat in the upper resistor", "(supply − output)²/upper", JOULES_LAW, interior=True),
        Value("lower_power", "W", "heat in the lower resistor", "output²/lower", JOULES_LAW, interior=True),
    )  # fmt: skip
    cut_values = (
        Value("supply", "V", "the supply at which the tap comes to the stated voltage",
              "stated·(1 + upper/lower)", divided.OHMS_LAW, at="at the divider's top"),
    )  # fmt: skip
    helper_units = {"stated": "V"}
    remarks = {**divided.REMARKS, ("lower", "open"): "the whole supply reaches what is behind the tap"}
    danger = {("lower", "open")}
    example = {
        "supply": "12 V", "upper": "R5 33k 1%", "lower": "R6 10k 1%",
        "cut_points": {"let go": {"output": "1.63 V"}},
    }  # fmt: skip
    variants = (
        Variant("with a resistor on the tap", {"load": "R7 10k"}),
        Variant("with a current drawn from the tap", {"load": "20 uA", "cut_points": ""}),
    )

    def solve(self, x: Point) -> Solved:
        by_current = x.load is not None and x.load_is == "A"
        below = x.lower if x.load is None or by_current else parallel(x.lower, x.load)
        unloaded = divided.tap_formula("upper", x.upper, "lower", x.lower)
        output, needed = str(unloaded), "stated·(1 + upper/lower)"
        if by_current:
            output = "max(unloaded_output − load·source_resistance, 0)"
            needed = "stated + upper·(stated/lower + load)"
        elif x.load is not None:
            output, needed = "supply·(lower∥load)/(upper + lower∥load)", "stated·(1 + upper/(lower∥load))"
            if math.isinf(below):
                output = "supply"
            elif math.isinf(x.upper) or below == 0:
                output = "0"
        found: Found = {
            "output": Formula(output), "unloaded_output": unloaded,
        }  # fmt: skip
        if x.upper == 0:  # a link, to which nothing can be divided
            drawn = "" if x.load is None else " + load" if by_current else " + supply/load"
            found |= {"current": Formula(f"supply/lower{drawn}"), "upper_power": Formula("0")}
        if x.failed("capacitor") == "short" and x.series:  # the resistor to the pin loads the tap as well
            takes, shunt = (x.load if by_current else 0.0), parallel(below, x.series)
            tap = divided.tap_voltage(supply=x.supply, upper=x.upper, lower=shunt)
            tap -= takes * parallel(x.upper, shunt)
            found["current"] = takes + tap / shunt if tap >= 0 else x.supply / x.upper
        if x.lower == 0:
            found["lower_power"] = Formula("0")
        never = below == 0 or math.isinf(x.upper)
        for cut in x.cuts:
            found[f"{cut}.stated"] = x.__dict__[f"cut:{cut}"]
            found[f"{cut}.supply"] = math.inf if never else Formula(needed)
        return divided.at_pin(self, x, found, ("output", "unloaded_output"))

    def checks(self, block: Block) -> list[Check]:
        supply = block.given("supply")
        found = rating(block, "upper", "W", block.high("upper_power"), "dissipates")
        found += rating(block, "upper", "V", supply.high - block.low("output"), "sees")
        found += rating(block, "lower", "W", block.high("lower_power"), "dissipates")
        found += rating(block, "lower", "V", block.high("unloaded_output"), "sees, unloaded,")
        found += load_ratings(block, block.high("output"))
        found += divided.pin_checks(block, block.high("unloaded_output"))
        if block.point.load is not None and block.high("output") == 0:
            found.append(
                Check(
                    block.label("upper"),
                    "the load draws more than reaches the tap: nothing is left there",
                    False,
                )
            )
        return found

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        found = []
        if all(_is_link(inputs[name]) for name in ("upper", "lower")):
            found.append(
                ("lower", "both resistors are links, which short the supply", "one of them may be 0")
            )
        for name, (_, given) in (inputs["cut_points"] or {}).items():
            if given.low == 0:
                found.append(
                    ("cut_points", f"{name}: {given.text} is zero", "a voltage at the tap above zero")
                )
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """Upper and lower resistor from the supply to common, the tap between them, the pin behind it."""
        w.supply("supply", "supply")
        w.resistor("upper", "supply", "tap")
        w.resistor("lower", "tap", "common")
        w.load("load", "tap")
        w.pin_behind("tap")
        w.volts("output", "pin")
        w.amps("current", "upper")

    def draw(self, block: Block, sheet: Sheet) -> None:
        down(block, sheet, "upper", 1, 0, 1)
        down(block, sheet, "lower", 1, 1, 2)
        sheet.wire((0, 0), (1, 0))
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        sheet.wire((0, 2), (1, 2))
        sheet.port(0, 2, [Line("0 V", "r")])
        sheet.dot((1, 1))
        column = 1
        if isinstance(load := block.inputs.get("load"), Quantity) and load.middle == 0:
            load = None
        if load is not None:
            column = 2
            sheet.wire((1, 1), (2, 1))
            sheet.wire((1, 2), (2, 2))
            down(block, sheet, "load", 2, 1, 2)
            sheet.dot((2, 1), (1, 2))
        divided.draw_pin(block, sheet, column, [Line("output", "r"), *at_tap_line(block, "output", "")])


def _is_link(given: Any) -> bool:
    """Whether a resistor is a link of 0 ohm: a part, or a bare value."""
    value = given.value if isinstance(given, Part) else given
    return value is not None and value.middle == 0
