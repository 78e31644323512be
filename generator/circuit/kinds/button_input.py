"""A button or contact to the common rail with a pull-up: how a controller sees a press."""

from __future__ import annotations

import math
from typing import Any

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Kind, Point, Value, Variant
from generator.circuit.formula import Formula, Solved, parallel
from generator.circuit.labels import computed, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.element import exact
from generator.circuit.network.passive import Contact
from generator.circuit.placing import across, down
from generator.circuit.ratings import rating, worth_saying
from generator.circuit.says import _
from generator.circuit.sheet import Line, Sheet

# A; below it plain silver contacts may not break their own film; common practice, no source
WETTING_CURRENT = 100e-6
SURGE_FROM = 1e-6  # F without a series resistor; common practice, no source


def _idle(x: Point) -> float | None:
    """At the pin, button released, where that is not the supply. An open pull-up or series resistor leaves the pin to the
    meter, which pulls it to 0.
    """
    dead = x.failed("capacitor") == "short" or x.failed("contact") == "short"
    if dead or math.isinf(x.series) or math.isinf(x.pull_up):
        return 0.0
    return None


def _press(x: Point) -> float:
    """Through the pressed contact, in A, with contact or capacitor failed. A worn contact is taken to have grown to the
    pull-up's own resistance; with the capacitor shorted, the series resistor (or nothing) hangs beside the contact.
    """
    beside = x.series if x.failed("capacitor") == "short" else math.inf
    if x.failed("contact") == "open" or math.isinf(x.pull_up) or beside == 0:
        return 0.0
    worn = x.pull_up if x.failed("contact") == "high resistance" else 0.0
    total: float = x.supply / (x.pull_up + parallel(worn, beside))
    return total if math.isinf(beside) else total * beside / (worn + beside)


class ButtonInput(Kind):
    title = "Button input"
    group = "Sensing"
    what = (
        "A button, door switch or other contact that pulls a controller's pin down, with a pull-up that "
        "holds it high."
    )
    assumes = (
        "The controller's pin draws no current of its own and has no pull-up inside; the pressed contact is "
        "taken as 0 Ω."
    )
    terminals = ("supply", "pin", "common")

    supply = param.Quantity("V", "the voltage above the pull-up")
    pull_up = param.Part("resistor", "the resistor that holds the pin high", role="pull-up")
    series = param.Part(
        "resistor",
        "the resistor from button and pull-up to the pin",
        default="0",
        role="series resistor",
        zero=True,
    )
    capacitor = param.Part(
        "capacitor",
        "the capacitor from the pin to 0 V that hides contact bounce",
        default=None,
        role="debouncing capacitor",
    )
    button = param.Part("switch", "the button, such as S1 50mA", default=None, modes=())
    logic_low = param.Quantity(
        "", "the voltage below which the pin reads low, as a share of the supply", default="0.3"
    )

    values = (
        Value("idle_voltage", "V", "at the pin with the button released", "supply",
              "no current flows: no drop across the pull-up",
              at="from the controller's pin to 0 V, button released"),
        Value("press_current", "A", "through the pressed button", "supply/pull_up", "Ohm's law",
              at="in series with the button, pressed"),
        Value("contact_limit", "ohm", "contact resistance above which a press is no longer seen",
              "pull_up·logic_low/(1 − logic_low)", "divider of pull-up and contact"),
        Value("release_time_constant", "s", "how slowly the pin rises after release",
              "(pull_up + series)·capacitor", "time constant of a resistor and a capacitor",
              at="at the pin, oscilloscope: time to 63 % of the supply", impedance="pull_up + series"),
    )  # fmt: skip
    extra_parts = (ExtraPart("contact", "contact", "button", named_by="button"),)
    remarks = {
        ("pull_up", "open"): "the pin floats: presses come and go by themselves",
        ("series", "open"): "the pin floats, whatever the button does",
        ("contact", "short"): "the controller sees the button held down",
        ("contact", "high resistance"): "taken as grown to the pull-up's value: pressed, the pin stays at half the supply",
        ("capacitor", "short"): "the controller sees the button held down",
        ("capacitor", ""): "one press may count as several",
    }  # fmt: skip
    example = {"supply": "5 V", "pull_up": "R12 10k", "series": "R13 1k", "capacitor": "C9 100n"}
    variants = (
        Variant("button and pull-up alone", {"series": "", "capacitor": ""}),
        Variant("without a series resistor", {"series": ""}),
        Variant("without a capacitor", {"capacitor": ""}),
        Variant("with an electrolytic", {"capacitor": "C9 1u 16V"}),
    )

    def solve(self, x: Point) -> Solved:
        found: dict[str, float | Formula | None] = {}
        idle = _idle(x)
        if idle is not None:
            found["idle_voltage"] = idle
        if x.failed("contact") or x.failed("capacitor") == "short":
            found["press_current"] = _press(x)
        if x.failed("capacitor") == "short":
            return {**found, "contact_limit": math.inf, "release_time_constant": None}
        if x.capacitor == 0:
            found["release_time_constant"] = 0.0
        elif x.capacitor is not None and not x.series:
            found["release_time_constant"] = Formula("pull_up·capacitor")
        return found

    def checks(self, block: Block) -> list[Check]:
        supply, pull_up = block.given("supply"), block.given("pull_up")
        found = rating(block, "capacitor", "V", supply.high, "sees")
        found += rating(block, "pull_up", "W", supply.high**2 / pull_up.low, "dissipates, while pressed,")
        found += rating(block, "button", "A", block.high("press_current"), "carries")
        found += rating(block, "button", "V", supply.high, "breaks")
        if block.low("press_current") < WETTING_CURRENT:
            found.append(
                worth_saying(
                    "button",
                    "little current to keep a silver contact clean; gold or carbon contacts do not mind",
                )
            )
        capacitor = block.quantity("capacitor")
        if capacitor is not None and capacitor.high >= SURGE_FROM and not block.point.series:
            text = _(
                "discharges straight through the contact at each press, which pits it; a series resistor would limit that"
            )
            found.append(worth_saying(block.label("capacitor"), text))
        return found

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        share = inputs["logic_low"]
        if not share.high < 1:
            return [("logic_low", f"{share.text} is not below 1", "a share of the supply, such as 0.3")]
        return []

    def wire(self, block: Block, w: Wiring) -> None:
        """The pull-up and the contact meet at a node of their own, from which the series resistor goes to the pin."""
        w.supply("supply", "supply")
        if block.point.series:
            w.resistor("series", "_button", "pin")
        else:
            w.same("pin", "_button")
        w.resistor("pull_up", "supply", "_button")
        w.add(Contact(**w.who("contact"), a="_button", b="common", closed=exact(0.0)))
        w.capacitor("capacitor", "pin", "common")
        w.volts("idle_voltage", "pin")
        w.amps("press_current", "pull_up", failed=(("contact", "short"),))

    def draw(self, block: Block, sheet: Sheet) -> None:
        sheet.wire((0, 0), (1, 0))
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        down(block, sheet, "pull_up", 1, 0, 1)
        sheet.down(
            "button", 1, 1, 2, part_label(block, "button") if block.part("button") else [Line("button", "r")]
        )
        sheet.dot((1, 1))
        column = 1
        if block.point.series:
            column = 2
            across(block, sheet, "series", 1, 1, 2)
        if block.has("capacitor"):
            if column == 1:
                column = 2
                sheet.wire((1, 1), (2, 1))
            down(block, sheet, "capacitor", column, 1, 2)
            sheet.dot((column, 1))
            sheet.wire((1, 2), (2, 2))
            sheet.dot((1, 2))
        sheet.wire((0, 2), (1, 2))
        sheet.port(0, 2, [Line("0 V", "r")])
        sheet.wire((column, 1), (column + 1, 1))
        sheet.port(
            column + 1, 1, [Line("to the controller", "r"), *computed(block, "idle_voltage")], right=True
        )
