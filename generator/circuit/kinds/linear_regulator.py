"""Linear three-terminal regulator, with the resistor that some supplies put before it to share the heat."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import computed, named
from generator.circuit.network import Wiring
from generator.circuit.placing import across, down, standing
from generator.circuit.ratings import highest, load_ratings, rating, within
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet

DECAYED = 1.0  # V; down to where decay_time counts
# °C; the usual operating limit of silicon regulators in their data sheets, from memory
HOTTEST_JUNCTION = 125.0

KIRCHHOFF = "Kirchhoff's voltage law"
DROPOUT = "the definition of dropout voltage in regulator data sheets"
THERMAL = "thermal resistance junction to ambient, as in regulator data sheets"


@dataclass(frozen=True)
class Operating:
    """What a regulator does at one supply voltage: volts to common at its two pins, amperes, and its regime.

    regime: "regulated", "dropout" (the output follows the input), "dry" (0 V at the output), "open", "short".
    """

    regime: str
    chip_input: float
    output: float
    load: float
    quiescent: float

    @property
    def current(self) -> float:
        return self.load + self.quiescent

    @property
    def dissipation(self) -> float:
        """Watts in the chip: what stands across it times the load, and what its own current takes."""
        return max(0.0, (self.chip_input - self.output) * self.load + self.chip_input * self.quiescent)


def operating_point(
    *,
    supply: float,
    series: float,
    output: float,
    dropout: float,
    load: float,
    load_is: str,
    quiescent: float,
    bleeder: float = math.inf,
    failed: str = "",
) -> Operating:
    """A regulator behind a series resistor, at one supply voltage.

    supply, output, dropout in V; series in ohm (0 to inf); load in A where load_is is "A", else in ohm; quiescent in A; bleeder:
    ohm across the output, inf for none.
    Above output + dropout at its input it holds output. Below, output = input − dropout. The load of a rail that has
    run dry draws only what the resistor lets through. failed: "open" (draws nothing) or "short" (output = input).
    Source: Ohm's and Kirchhoff's laws; the definition of dropout voltage.
    """
    if load_is == "ohm" and math.isinf(load):  # the load resistor open
        load, load_is = 0.0, "A"
    by_current = load_is == "A"
    if failed == "open" or math.isinf(series):
        return Operating("open", supply if failed == "open" else 0.0, 0.0, 0.0, 0.0)
    least_drop = 0.0 if failed == "short" else dropout
    if not failed:
        wanted = (load if by_current else output / load) + output / bleeder
        chip_input = supply - (wanted + quiescent) * series
        if chip_input >= output + dropout:
            return Operating("regulated", chip_input, output, wanted, quiescent)
    steady, conductance = (load, 1 / bleeder) if by_current else (0.0, 1 / load + 1 / bleeder)
    reached = (supply - (steady + quiescent) * series - least_drop) / (1 + conductance * series)
    drawn = steady + conductance * reached
    if reached >= 0:
        return Operating("short" if failed else "dropout", reached + least_drop, reached, drawn, quiescent)
    if series == 0:
        return Operating("dry", supply, 0.0, 0.0, quiescent)
    drawn = max(0.0, (supply - least_drop) / series - quiescent)
    own = min(quiescent, supply / series)
    return Operating("dry", supply - (drawn + own) * series, 0.0, drawn, own)


def _at(x: Point, supply: float) -> Operating:
    return operating_point(
        supply=supply, series=x.series or 0.0, output=x.output, dropout=x.dropout, load=x.load, load_is=x.load_is,
        quiescent=x.quiescent, bleeder=math.inf if x.bleeder is None else x.bleeder, failed=x.failed("regulator"),
    )  # fmt: skip


def _most_drawn(block: Block) -> float:
    """The most that load and bleeder draw together, in A."""
    load, bleeder, output = (block.quantity(name) for name in ("load", "bleeder", "output"))
    if load is None or output is None:
        return 0.0
    drawn = load.high if block.point.load_is == "A" else output.high / max(load.low, 1e-12)
    return drawn + (output.high / bleeder.low if bleeder else 0.0)


def _failed(x: Point, low: Operating, high: Operating) -> dict[str, float | Formula]:
    """The values with the regulator or the series resistor failed."""
    broken = math.isinf(x.series or 0.0)
    drop = x.input if broken else low.current * (x.series or 0.0)
    found: dict[str, float | Formula] = {
        "headroom": x.input - drop - x.output, "output_voltage": low.output, "dissipation": high.dissipation,
    }  # fmt: skip
    if x.series is not None:
        found |= {"series_drop": drop, "series_power": 0.0 if broken else high.current**2 * x.series}
    return found


class LinearRegulator(Kind):
    title = "Linear regulator"
    group = "Power"
    what = "A three-terminal regulator: a steady voltage from a higher one, the difference turned into heat."
    assumes = (
        "Below its dropout the output follows the input, dropout lower. A current load draws its current "
        "until the rail is at 0 V. The dropout is exact unless it states a tolerance."
    )
    terminals = ("in", "out", "common")

    input = param.Quantity("V", "the lowest voltage that comes in")
    input_high = param.Quantity("V", "the highest voltage that comes in", default=input)
    series = param.Part(
        "resistor", "a resistor before the regulator", default=None, role="series resistor", zero=True
    )
    output = param.Quantity("V", "the regulated voltage", spread="regulator")
    dropout = param.Quantity(
        "V", "the least voltage that the regulator needs across itself", default="2 V", zero=True
    )
    load = param.Load("what draws from the output: a current or a resistor", modes=())
    quiescent = param.Quantity(
        "A", "the regulator's own current", default="5 mA", zero=True, spread="quiescent"
    )
    theta_ja = param.Quantity("K/W", "thermal resistance from junction to ambient", default=None)
    regulator = param.Part("chip", "the regulator, such as U2 35V 1A", default=None, modes=())
    input_capacitor = param.Part("capacitor", "at its input", default=None)
    output_capacitor = param.Part("capacitor", "at its output", default=None)
    bleeder = param.Part("resistor", "across its output", default=None)
    ambient = param.Quantity("°C", "air around the regulator", default="25 C")

    values = (
        Value("series_drop", "V", "across the series resistor", "(load + quiescent)·series", "Ohm's law",
              at="across the series resistor"),
        Value("headroom", "V",
              "what is left for the regulator at the lowest input; below dropout it no longer regulates",
              "input − series_drop − output", KIRCHHOFF),
        Value("output_voltage", "V", "what the output really is at the lowest input", "output", DROPOUT,
              at="output pin to common, under load"),
        Value("bleeder_power", "W", "heat in the bleeder", "output²/bleeder", "Joule's law"),
        Value("decay_time", "s", "from the output down to 1 V, input and load off",
              "bleeder·output_capacitor·ln(output/1)", "exponential discharge of a capacitor",
              at="output pin to common, after switching off"),
        Value("dissipation", "W", "heat in the regulator at the highest input",
              "(input_high − series_drop − output)·load + (input_high − series_drop)·quiescent",
              "Joule's law", interior=True),
        Value("series_power", "W", "heat in the series resistor at the highest input",
              "(load + quiescent)²·series", "Joule's law", interior=True),
        Value("junction_temperature", "°C", "how hot the silicon gets at the highest input",
              "ambient + theta_ja·dissipation", THERMAL, interior=True),
    )  # fmt: skip
    helper_units = {
        "load_current": "A", "load_current_high": "A", "chip_input_high": "V", "chip_output_high": "V",
        "own_current_high": "A",
    }  # fmt: skip
    extra_parts = (ExtraPart("regulator", "chip", "regulator", named_by="regulator"),)
    remarks = {
        ("regulator", "short"): "the rail rises to the input; what it feeds may not survive that",
        ("regulator", "open"): "no output, and nothing is drawn",
        ("series", "open"): "nothing reaches the regulator",
        ("output_capacitor", "short"): "the regulator limits its current and gets very hot",
        ("input_capacitor", "short"): "blows the fuse, or burns what feeds it",
        ("input_capacitor", ""): "the regulator may oscillate: a DC range shows little of that",
        ("output_capacitor", ""): "the regulator may oscillate: a DC range shows little of that",
    }
    danger = {("regulator", "short")}
    example = {
        "input": "10 V", "input_high": "16 V", "series": "R2 10 1W", "output": "5 V", "load": "120 mA",
        "theta_ja": "50 K/W", "ambient": "35 C",
    }  # fmt: skip
    variants = (
        Variant("without a series resistor", {"series": "", "ambient": "25 C"}),
        Variant("feeding a resistor", {"load": "R7 240", "theta_ja": ""}),
    )

    def solve(self, x: Point) -> Solved:
        """What is printed follows the regime at the lowest input, and at the highest one."""
        low, high = _at(x, x.input), _at(x, x.input_high)
        found: dict[str, float | Formula] = {
            "load_current": low.load, "load_current_high": high.load, "chip_input_high": high.chip_input,
            "chip_output_high": high.output, "own_current_high": high.quiescent,
        }  # fmt: skip
        if x.output_capacitor is not None:
            if x.bleeder is None or math.isinf(x.bleeder):
                found["decay_time"] = math.inf
            elif x.output <= DECAYED or x.output_capacitor == 0:
                found["decay_time"] = 0.0
        if "short" in (x.failed("input_capacitor"), x.failed("output_capacitor")):
            nothing = dict.fromkeys((value.name for value in self.values), None)
            return {**found, **nothing, "output_voltage": 0.0, "decay_time": 0.0}
        if x.failed("regulator") or math.isinf(x.series or 0.0):
            return found | _failed(x, low, high)
        drop = " − series_drop" if x.series is not None else ""
        load = "load" if x.load_is == "A" and x.bleeder is None else "load_current"
        found |= {
            "headroom": Formula(f"input{drop} − output"),
            "series_drop": Formula(f"({load} + quiescent)·series"),
        }
        if low.regime == "dropout":
            found["output_voltage"] = Formula(f"input{drop} − dropout")
        elif low.regime == "dry":
            found["output_voltage"] = Formula("0")
            if x.series is not None:
                found["series_drop"] = Formula(
                    "(load_current + quiescent)·series" if low.chip_input > 0 else "input"
                )
        if high.regime != "regulated":
            heat = "(chip_input_high − chip_output_high)·load_current_high + chip_input_high·own_current_high"
            found["series_power"] = Formula("(load_current_high + own_current_high)²·series")
        else:
            load = "load" if x.load_is == "A" and x.bleeder is None else "load_current_high"
            found["series_power"] = Formula(f"({load} + quiescent)²·series")
            if low.current == high.current or not drop:
                own = f"(input_high{drop})" if drop else "input_high"
                heat = f"(input_high{drop} − output)·{load} + {own}·quiescent"
            else:
                heat = "(chip_input_high − output)·load_current_high + chip_input_high·quiescent"
        return {**found, "dissipation": Formula(heat if high.dissipation > 0 else f"max({heat}, 0)")}

    def checks(self, block: Block) -> list[Check]:
        needed, left = highest(block, "dropout"), block.low("headroom")
        values = {"left": measured(left, "V"), "needed": measured(needed, "V", trim=True)}
        text = _("headroom %(left)s at the lowest input, needs %(needed)s") % values
        if left < needed:
            falls_to = {"volts": measured(block.low("output_voltage"), "V")}
            text += "; " + _("out of regulation, the output falls to %(volts)s") % falls_to
        found = [
            Check("regulator", text, left >= needed, (left - needed) / needed if needed else None, least=True)
        ]
        if "junction_temperature" in block.values:
            hottest = block.high("junction_temperature")
            found.append(within("regulator", HOTTEST_JUNCTION, hottest, "°C", "junction reaches", "limit"))
        series = block.quantity("series")
        if series is not None:
            found += rating(block, "series", "W", block.high("series_power"), "dissipates")
            found += rating(block, "series", "V", math.sqrt(block.high("series_power") * series.high), "sees")
        most = highest(block, "input_high")
        found += rating(block, "regulator", "V", most, "sees at its input")
        found += rating(block, "regulator", "A", _most_drawn(block), "carries")
        found += rating(block, "input_capacitor", "V", most, "sees")
        found += rating(block, "output_capacitor", "V", block.high("output_voltage"), "sees")
        found += rating(block, "bleeder", "W", block.high("bleeder_power"), "dissipates")
        return found + load_ratings(block, block.high("output_voltage"))

    def vet(self, given: dict[str, Any]) -> list[tuple[str, str, str]]:
        low, high = given.get("input"), given.get("input_high")
        if low is not None and high is not None and high.middle < low.middle:
            what = f"{measured(high.middle, 'V', trim=True)} is below the input of {measured(low.middle, 'V', trim=True)}"
            return [("input_high", what, "input is the lowest voltage that comes in, input_high the highest")]
        return []

    def wire(self, block: Block, w: Wiring) -> None:
        """In through the series resistor, if there is one, to the regulator, and out to the load."""
        w.supply("input", "in")
        chip = "_chip" if w.has("series") else "in"
        w.resistor("series", "in", chip)
        w.capacitor("input_capacitor", chip, "common")
        w.regulator(
            "regulator", chip, "out", "common", volts="output", dropout="dropout", quiescent="quiescent"
        )
        w.capacitor("output_capacitor", "out", "common")
        w.resistor("bleeder", "out", "common")
        w.load("load", "out")
        w.volts("output_voltage", "out")
        w.volts("series_drop", "in", chip)

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Input on the left, the series resistor where there is one, the chip, the load on the right."""
        low, high = block.quantity("input"), block.quantity("input_high")
        rises = high is not None and low is not None and high.middle > low.middle
        highest = (
            [Line(_("up to %(volts)s") % {"volts": measured(high.middle, "V", trim=True)})]
            if high and rises
            else []
        )
        sheet.port(0, 0, [Line("input", "r"), *computed(block, "input"), *highest])
        if block.part("series"):
            across(block, sheet, "series", 0, 0, 1)
        else:
            sheet.wire((0, 0), (1, 0))
        chip = block.part("regulator")
        title = [Line(chip.designator, "d") if chip and chip.designator else Line("regulator", "r")]
        title += [Line(chip.ratings_label)] if chip else []
        title += computed(block, "output", "headroom", "dissipation")
        column = 1
        if block.has("input_capacitor"):
            down(block, sheet, "input_capacitor", 1, 0, 2, segment=(0, 1))
            sheet.dot((1, 0), (1, 2))
        pins = sheet.box(2, 0, 1, title, left={0: "in"}, right={0: "out"}, bottom="common")
        sheet.wire((column, 0), pins["left 0"])
        sheet.wire(pins["right 0"], (3, 0))
        sheet.wire(pins["bottom"], (2, 2))
        sheet.dot((2, 2))
        rail = ("output_capacitor", "bleeder", "load")
        column = standing(block, sheet, 3, (0, 2), rail, segment=(0, 1))
        sheet.wire((0, 2), (3, 2))
        sheet.port(0, 2, [Line("0 V", "r")])
        sheet.port(column, 0, [Line("output", "r"), *named(block, "output_voltage")], right=True)
        sheet.port(column, 2, [Line("0 V", "r")], right=True)
