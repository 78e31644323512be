"""A transistor as emitter follower on a zener: the simplest regulated supply of more than a few milliamperes."""

from __future__ import annotations

from typing import Any

from generator.circuit import param
from generator.circuit.block import STATED, Block, Check, Formula, Found, Kind, Point, Value, Variant
from generator.circuit.labels import computed, named
from generator.circuit.network import Wiring
from generator.circuit.placing import down, standing
from generator.circuit.ratings import load_ratings, rating
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet
from generator.circuit.switching import transistor_label, vet_extras

FOLLOWER = "the emitter follower: the emitter lies vbe below the base, the base takes load/(hfe + 1)"


def follower_output(
    *, input: float, series: float, zener: float, hfe: float, vbe: float, load: float, load_is_ohm: bool
) -> tuple[float, bool]:
    """Volts at the emitter, at least 0, and whether the zener conducts.

    input, zener (inf: none), vbe: V; series: ohm, from the input to zener and base; hfe: current gain; load: A, or ohm where
    load_is_ohm. While the zener conducts zener − vbe, else input − series·base_current − vbe with base_current =
    load/(hfe + 1). Source: emitter follower, Kirchhoff's laws.
    """
    regulated = max(0.0, zener - vbe)
    base = (regulated / load if load_is_ohm else load) / (hfe + 1)
    if (input - zener) / series > base:
        return regulated, True
    if load_is_ohm:
        return max(0.0, input - vbe) / (1 + series / ((hfe + 1) * load)), False
    return max(0.0, input - series * load / (hfe + 1) - vbe), False


def _at(x: Point, volts: float) -> tuple[float, bool]:
    zener = {"open": float("inf"), "short": 0.0}.get(x.failed("zener"), x.zener)
    load = {"load": x.load, "load_is_ohm": x.load_is == "ohm"}
    return follower_output(input=volts, series=x.series, zener=zener, hfe=x.transistor_hfe, vbe=x.vbe, **load)


def _heat(x: Point, high: float, regulates: bool) -> Found:
    """Heat in the transistor at the highest input, where it is in regulation sooner than at the lowest.

    Dragged down to 0 V it carries what its base gets through the series resistor, with the whole input across it.
    """
    drawn = high / x.load if x.load_is == "ohm" else x.load
    if high <= 0:
        most = (x.transistor_hfe + 1) * max(0.0, x.input_high - x.vbe) / x.series
        drawn = min(x.load, most) if x.load_is == "A" else 0.0
    return {
        "output_high": high, "I": drawn, "base_high": Formula("I/(transistor_hfe + 1)"),
        "dissipation": STATED,
    }  # fmt: skip


class SeriesPass(Kind):
    title = "Series-pass regulator"
    group = "Power"
    by_regime = True
    what = "A transistor as emitter follower on a zener: a regulated supply in old amplifiers, radios, battery eliminators."
    assumes = (
        "The base-emitter voltage is the same at any current, and the zener's too: a real zener gives a few tenths less as it "
        "is left little current."
    )
    terminals = ("in", "out", "common")

    input = param.Quantity("V", "the lowest voltage that comes in")
    input_high = param.Quantity("V", "the highest voltage that comes in", default=input)
    series = param.Part("resistor", "the resistor from the input to zener and base", role="series resistor")
    zener = param.Part("zener", "the zener at the base, such as ZD1 12V 1W")
    transistor = param.Part("transistor", "the transistor with its current gain, such as Q1 hfe50 3A 60V")
    vbe = param.Quantity("V", "base-emitter voltage", default="0.7 V", spread="silicon junction")
    load = param.Load("what draws from the output: a current or a resistor", modes=())
    capacitor = param.Part(
        "capacitor", "the output capacitor", default=None, role="output capacitor", exact=True
    )

    values = (
        Value("output_voltage", "V", "DC at the output, at the lowest input", "max(zener − vbe, 0)", FOLLOWER, at="emitter to common"),
        Value("base_current", "A", "into the base", "load/(transistor_hfe + 1)", FOLLOWER),
        Value("zener_current", "A", "through the zener, at the lowest input", "(input − zener)/series − base_current", "Kirchhoff's laws",
              at="volts across the series resistor divided by its ohms, less the base current"),
        Value("max_load", "A", "the load at which the zener lets go, at the lowest input",
              "(transistor_hfe + 1)·max(input − zener, 0)/series", FOLLOWER),
        Value("zener_power_no_load", "W", "heat in the zener unloaded, at the highest input", "zener·max(input_high − zener, 0)/series",
              "Joule's law", interior=True),
        Value("dissipation", "W", "heat in the transistor, at the highest input",
              "(input_high − output_high)·(I − base_high) + vbe·base_high", "Joule's law", interior=True),
    )  # fmt: skip
    helper_units = {"I": "A", "base_high": "A", "output_high": "V"}
    danger = {("zener", "open"), ("transistor", "short")}
    remarks = {
    ("zener", "open"): "the output rises towards the input and destroys what it feeds",
    ("zener", "short"): "the base is held at 0 V: nothing comes out",
    ("transistor", "short"): "the whole input goes to the output and destroys what it feeds",
    ("transistor", "open"): "nothing comes out",
    ("series", "open"): "neither zener nor base gets current: nothing comes out",
    ("series", "high"): "the zener gets less: under load the output sinks",
    ("capacitor", "short"): "the transistor burns unless a fuse blows",
}  # fmt: skip
    example = {
        "input": "16 V", "input_high": "21 V", "series": "R1 330 0.5W", "zener": "ZD1 12V 1W", "transistor": "Q1 hfe100 3A 60V",
        "load": "300 mA", "capacitor": "C2 100u 25V",
    }  # fmt: skip
    variants = (Variant("a resistor as load", {"load": "R9 47", "transistor": "Q1 hfe80"}),)

    def solve(self, x: Point) -> Found:
        if x.failed("transistor") == "short":
            return {"output_voltage": Formula("input")}
        no_zener = x.failed("zener") == "open"
        found: Found = {}
        if x.failed("capacitor") == "short" or x.failed("zener") == "short" or x.series == float("inf"):
            shorted = x.failed("zener") == "short" and x.series < float("inf")
            zener = Formula("input/series") if shorted else 0.0
            return {"output_voltage": 0.0, "base_current": 0.0, "zener_current": zener}
        if x.failed("transistor") == "open":
            found = {"output_voltage": 0.0, "base_current": 0.0}
            return {**found, "zener_current": Formula("(input − zener)/series") if x.input > x.zener else 0.0}
        output, regulates = _at(x, x.input)
        high, regulates_high = _at(x, x.input_high)
        dry = x.load_is == "ohm" and not regulates
        if dry:
            found["output_voltage"] = Formula("max(input − vbe, 0)/(1 + series/((transistor_hfe + 1)·load))")
            found["base_current"] = Formula("output_voltage/load/(transistor_hfe + 1)")
        elif x.load_is == "ohm":
            found["output_voltage"] = STATED
            found["base_current"] = Formula("output_voltage/load/(transistor_hfe + 1)")
        else:
            found["base_current"] = STATED
            follows = Formula("max(input − series·base_current − vbe, 0)")
            found["output_voltage"] = STATED if regulates else follows
        found["zener_current"] = STATED if regulates and not no_zener else 0.0
        if no_zener:
            return found
        found["max_load"] = STATED
        found["zener_power_no_load"] = STATED
        found |= _heat(x, high, regulates_high)
        return found

    def checks(self, block: Block) -> list[Check]:
        called = block.label("zener")
        found = []
        if block.low("zener_current") <= 0:
            text = _(
                "does not conduct: the base takes all that the series resistor passes, and the output sags to %(volts)s"
            )
            found.append(Check(called, text % {"volts": measured(block.low("output_voltage"), "V")}, False))
        load, given, series = block.given("load"), block.given("input_high"), block.given("series")
        drawn = (
            load.high if block.point.load_is == "A" else block.high("output_voltage") / max(load.low, 1e-12)
        )
        part = block.part("transistor")
        zener = block.quantity("zener")
        across = given.high - (zener.low if zener else 0.0)
        return [
            *found,
            *rating(block, "zener", "W", block.high("zener_power_no_load"), "dissipates, unloaded,"),
            *rating(block, "series", "W", max(0.0, across) ** 2 / series.low, "dissipates"),
            *rating(block, "transistor", "A", drawn, "carries"),
            *(
                rating(block, "transistor", "V", given.high, "has to hold, with the output shorted,")
                if part
                else []
            ),
            *rating(block, "transistor", "W", block.high("dissipation"), "dissipates"),
            *rating(block, "capacitor", "V", block.high("output_voltage"), "sees"),
            *load_ratings(block, block.high("output_voltage")),
        ]

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        found = vet_extras(inputs, "transistor", ("hfe", "Q1 hfe50 3A 60V"))
        load = inputs["load"]
        if getattr(load, "unit", "") == "A" and load.low < 0:
            found.append(("load", "below zero", "a current such as 300 mA"))
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """The series resistor from the input to zener and base, the transistor from the input to the output."""
        w.supply("input", "in")
        w.resistor("series", "in", "_base")
        w.diode("zener", "common", "_base", sort="zener", breakdown="zener")
        at = block.solved["base_current"]
        w.transistor("transistor", "_base", "in", "out", hfe="transistor_hfe", vbe="vbe", at=at)
        w.capacitor("capacitor", "out", "common")
        w.load("load", "out")
        w.volts("output_voltage", "out")
        w.amps("zener_current", "zener", times=-1.0)

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Input on the left, series resistor down to the base and the zener, the transistor in the line to the output."""
        sheet.port(0, 0, [Line("input", "r"), *computed(block, "input")])
        sheet.port(0, 3, [Line("0 V", "r")])
        down(block, sheet, "series", 1, 0, 1, left=True)
        down(block, sheet, "zener", 1, 2, 3, *computed(block, "zener_current"), left=True, reverse=True)
        at = sheet.device("npn", 2, 1, "collector", transistor_label(block), also="base")
        sheet.wire((0, 0), (2, 0), at["collector"])
        sheet.wire((1, 1), at["base"])
        sheet.wire((1, 1), (1, 2))
        sheet.dot((1, 0), (1, 1), (1, 3))
        sheet.wire(at["emitter"], (2, 2), (3, 2))
        sheet.wire((0, 3), (3, 3))
        column = standing(block, sheet, 3, (2, 3), ("capacitor", "load"))
        sheet.port(column, 2, [Line("output", "r"), *named(block, "output_voltage")], right=True)
        sheet.port(column, 3, [Line("0 V", "r")], right=True)
