"""Zener diode behind a series resistor: the simplest steady voltage."""

from __future__ import annotations

import math

from generator.circuit import param
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import computed, named
from generator.circuit.network import Wiring
from generator.circuit.network.element import Number
from generator.circuit.network.junctions import BREAKDOWN_AT
from generator.circuit.placing import across, down
from generator.circuit.ratings import load_ratings, rating
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet
from generator.circuit.spread import SPREADS

OHM = "Ohm's law"
SHUNT = (
    "shunt regulator: the zener takes what the load leaves of the series current (Kirchhoff's current law)"
)
JOULE = "Joule's law"


def _unregulated(x: Point) -> Formula:
    """Volts at the output without a zener. A load that asks for more than the resistor lets through pulls it to 0 V; with
    the resistor open the output floats, and a meter's own resistance takes it there. Ohm's law.
    """
    if math.isinf(x.series):
        return Formula("0")
    if x.load_is == "A":
        return Formula("supply − load·series" if x.supply > x.load * x.series else "0")
    return Formula("supply" if math.isinf(x.load) else "supply·load/(load + series)")


def _spare(block: Block) -> float | None:
    """The share of the current that may be drawn that the load leaves over."""
    most, load = block.low("max_load"), block.quantity("load")
    if most <= 0 or load is None:
        return None
    zener = block.quantity("zener")
    drawn = load.high if load.unit == "A" else (zener.high if zener else 0.0) / load.low
    return (most - drawn) / most


class ZenerRegulator(Kind):
    title = "Zener regulator"
    group = "Power"
    what = "A zener diode behind a series resistor: a steady voltage for a small load."
    assumes = (
        "The zener holds its voltage at any current, without a resistance of its own; in a device it may stand higher by 15 Ω "
        "times what it takes above 5 mA. A current load "
        "draws its current until the output is at 0 V."
    )
    terminals = ("in", "out", "common")

    supply = param.Quantity("V", "the voltage before the resistor")
    series = param.Part("resistor", "the series resistor", role="series resistor")
    zener = param.Part("zener", "the zener diode: its voltage, and the power it is rated for")
    load = param.Load("what draws from the output: a current or a resistor", default="0 A", modes=())

    values = (
        Value("output", "V", "the zener's voltage while it conducts, else what the load leaves", "zener",
              SHUNT, at="across the zener"),
        Value("series_current", "A", "through the series resistor", "(supply − output)/series", OHM,
              at="across the series resistor, divided by its value"),
        Value("zener_current", "A", "what is left for the zener", "series_current − load", SHUNT,
              at="in the zener's lead"),
        Value("zener_power", "W", "heat in the zener, load on", "zener·zener_current", JOULE, interior=True),
        Value("zener_power_no_load", "W", "heat in the zener, load off", "zener·(supply − zener)/series",
              JOULE, interior=True),
        Value("series_power", "W", "heat in the series resistor", "(supply − output)·series_current", JOULE, interior=True),
        Value("max_load", "A", "the load at which the zener has nothing left", "(supply − zener)/series",
              SHUNT),
    )  # fmt: skip
    helper_units = {"load_current": "A", "conducts": ""}
    danger = {("zener", "open")}
    remarks = {
        ("zener", "open"): "nothing holds the output down; what it feeds may not survive that",
        ("zener", "short"): "the series resistor carries the whole supply and gets hot",
    }
    example = {"supply": "12 V", "series": "R2 220 0.5W", "zener": "ZD1 5V1 400mW", "load": "12 mA"}
    variants = (Variant("without a load", {"load": ""}), Variant("feeding a resistor", {"load": "R3 1k"}))

    def solve(self, x: Point) -> Solved:
        by_current, gone = x.load_is == "A", x.failed("zener")
        free = _unregulated(x)
        found: dict[str, float | Formula] = {"load_current": Formula("load" if by_current else "output/load")}
        if gone or free.of(x) <= x.zener:
            found |= {"output": free, "zener_current": Formula("0"), "zener_power": Formula("0")}
        elif not by_current:
            found["zener_current"] = Formula("series_current − output/load")
        if gone == "short":
            found |= {"output": 0.0, "zener_current": Formula("series_current")}
        if x.supply <= x.zener:
            found["max_load"] = Formula("0")
        if x.supply <= x.zener or gone:
            found["zener_power_no_load"] = Formula("0")
        return found

    def checks(self, block: Block) -> list[Check]:
        least = block.low("zener_current")
        text = _("%(current)s left in the zener in the worst case") % {"current": measured(least, "A")}
        if least <= 0:
            lost = _(
                "out of regulation: the load leaves no current for the zener, the output falls to %(volts)s"
            )
            if block.high("max_load") <= 0:
                lost = _(
                    "out of regulation: the supply is below the zener's voltage, the output falls to %(volts)s"
                )
            text = lost % {"volts": measured(block.low("output"), "V")}
        found = [Check(block.label("zener"), text, least > 0, _spare(block))]
        found += rating(
            block, "zener", "W", block.high("zener_power_no_load"), "dissipates, with the load off,"
        )
        supply = block.given("supply")
        found += rating(block, "series", "W", block.high("series_power"), "dissipates")
        found += rating(block, "series", "V", supply.high - block.low("output"), "sees")
        return found + load_ratings(block, block.high("output"))

    def wire(self, block: Block, w: Wiring) -> None:
        """The series resistor into the output, the zener across it."""
        w.supply("supply", "in")
        w.resistor("series", "in", "out")
        volts, beyond = w.number("zener", "zener", "zener"), block.solved["zener_current"] - BREAKDOWN_AT
        if beyond > 0 and not block.given("zener").toleranced:
            slope = SPREADS["zener's slope"]
            volts = Number(
                volts.value, (*volts.ends, (w.net("slope"), volts.value, volts.value + beyond * slope.above))
            )
        w.diode("zener", "common", "out", sort="zener", breakdown=volts)
        w.load("load", "out")
        w.volts("output", "out")
        w.amps("series_current", "series")
        w.amps("zener_current", "zener", times=-1.0)

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Supply, series resistor, zener to common pointing up, load on the right."""
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        across(block, sheet, "series", 0, 0, 1)
        down(block, sheet, "zener", 1, 0, 1, reverse=True)
        sheet.dot((1, 0), (1, 1))
        column = 1
        load = block.quantity("load")
        if load is not None and load.high > 0:
            column = 2
            down(block, sheet, "load", column, 0, 1)
            sheet.dot((column, 0), (column, 1))
            sheet.wire((1, 0), (column, 0))
        sheet.wire((0, 1), (column, 1), (column + 1, 1))
        sheet.wire((column, 0), (column + 1, 0))
        sheet.port(0, 1, [Line("0 V", "r")])
        sheet.port(column + 1, 0, [Line("output", "r"), *named(block, "output")], right=True)
        sheet.port(column + 1, 1, [Line("0 V", "r")], right=True)
