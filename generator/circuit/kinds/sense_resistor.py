"""A low resistor in the path of a current: its drop tells how much flows, and trips a limit."""

from __future__ import annotations

import math

from generator.circuit import param
from generator.circuit.block import Block, Check, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import computed
from generator.circuit.network import Wiring
from generator.circuit.placing import down
from generator.circuit.ratings import rating, within, worth_saying
from generator.circuit.says import _, measured, phrase
from generator.circuit.sheet import Line, Sheet

OHM = "Ohm's law"


class SenseResistor(Kind):
    title = "Sense resistor"
    group = "Sensing"
    what = "A low resistor in a current's path, whose drop says how much flows and trips a limit."
    assumes = (
        "The amplifier draws no current and has no offset. Gain and limit are exact unless they state a "
        "tolerance."
    )
    terminals = ("top", "common")

    shunt = param.Part("resistor", "the resistor that the current passes")
    gain = param.Quantity("", "of the amplifier behind it", default="1")
    limit = param.Quantity(
        "V", "the voltage at the amplifier's output at which the limit trips", default=None
    )
    load = param.Quantity("A", "the current that is to be sensed", default=None, spread="load")

    values = (
        Value("limit_current", "A", "the current at which the limit trips", "limit/(gain·shunt)", OHM,
              at="in the load's path, as the limit trips"),
        Value("shunt_power", "W", "heat in the shunt at the limit", "limit_current²·shunt", "Joule's law"),
        Value("drop", "V", "across the shunt", "load·shunt", OHM, at="across the shunt"),
        Value("amplified", "V", "behind the amplifier", "gain·drop", "definition of gain",
              at="at the amplifier's output"),
    )  # fmt: skip
    example = {"shunt": "R20 0R1 1W 1%", "gain": "20", "limit": "4 V", "load": "1.2 A"}
    variants = (
        Variant("without an amplifier", {"gain": "", "limit": "200 mV"}),
        Variant("no limit stated", {"limit": ""}),
        Variant("no current stated", {"load": ""}),
        Variant("the resistor alone", {"gain": "", "limit": "", "load": "2 A"}),
    )

    def solve(self, x: Point) -> Solved:
        return {"shunt_power": 0.0} if math.isinf(x.shunt) and x.limit is not None else {}

    def checks(self, block: Block) -> list[Check]:
        found = []
        shunt, load = block.quantity("shunt"), block.quantity("load")
        if load is None and block.quantity("limit") is None:
            return [
                worth_saying(
                    block.label("shunt"),
                    "neither limit nor load is stated, so that there is nothing to work out",
                )
            ]
        if "limit_current" in block.values:
            found += rating(block, "shunt", "W", block.high("shunt_power"), "dissipates, at the limit,")
            if load is not None:
                found.append(
                    within("limit", block.low("limit_current"), load.high, "A", "carries", "trips from")
                )
        elif shunt is not None and load is not None:
            found += rating(block, "shunt", "W", load.high**2 * shunt.high, "dissipates")
        return found

    def remark(self, x: Point, key: str, mode: str) -> str:
        if key == "shunt" and mode == "open":
            return "no current flows; what was the load's voltage now stands across the shunt"
        if key == "shunt" and mode == "high" and x.limit is not None:
            return "the limit trips at half the current"
        return ""

    def wire(self, block: Block, w: Wiring) -> None:
        """The load's current comes in on top, from a supply that the block does not know, and leaves by the shunt."""
        w.resistor("shunt", "top", "common")
        w.feed_current("load", "top")
        w.volts("drop", "top")
        w.volts("amplified", "top", times=block.point.gain)

    def draw(self, block: Block, sheet: Sheet) -> None:
        """The load's current comes in on top and leaves through the shunt; its drop goes to the right."""
        sheet.port(0, 0, [Line("load current", "r"), *computed(block, "load")])
        sheet.wire((0, 0), (1, 0))
        down(block, sheet, "shunt", 1, 0, 2, left=True, segment=(0, 2))
        sheet.dot((1, 0), (1, 2))
        if "drop" in block.values:
            sheet.tag(1, *computed(block, "drop"))
        sheet.wire((0, 2), (1, 2), (3, 2))
        sheet.port(0, 2, [Line("0 V", "r")])
        sheet.port(3, 2, [Line("0 V", "r")], right=True)
        sensed = [Line("sensed", "r")]
        gain, limit = block.quantity("gain"), block.quantity("limit")
        amplifier = gain is not None and gain.middle != 1
        if amplifier:
            sensed += computed(block, "amplified")
        if limit is not None:
            sensed += [
                Line(_("limit %(volts)s") % {"volts": measured(limit.middle, "V", trim=True)}),
                *computed(block, "limit_current"),
            ]
        if gain is not None and amplifier:
            title = [Line("amplifier", "r"), Line(phrase("×", measured(gain.middle, "", trim=True)))]
            pins = sheet.box(2, 0, 1, title, left={0: "in"}, right={0: "out"})
            sheet.wire((1, 0), pins["left 0"])
            sheet.wire(pins["right 0"], (3, 0))
            sheet.wire(pins["bottom"], (2, 2))
            sheet.dot((2, 2))
        else:
            sheet.wire((1, 0), (3, 0))
        sheet.port(3, 0, sensed, right=True)
