"""A sensor that switches to common as something turns past it: Hall sensors, reeds, tachometers, flow meters."""

from __future__ import annotations

import math
from typing import Any

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Kind, Point, Value, Variant
from generator.circuit.formula import STATED, Formula, Found
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.element import Number, exact
from generator.circuit.network.passive import CONTACT, Contact
from generator.circuit.network.sources import Load
from generator.circuit.placing import down
from generator.circuit.ratings import at_least, rating, within
from generator.circuit.sheet import Line, Sheet
from generator.notation.parts import Part

OHM = "Ohm's law"
RISE = "RC circuit: the capacitor charges through the pull-up alone"


def rise_time(*, pull_up: float, capacitance: float, high: float, low: float, to: float) -> float:
    """Seconds from low up to a level through the pull-up: pull_up·C·ln((high − low)/(high − to)).

    pull_up: ohm; capacitance: F; high: V, where it would end; low: V, where it starts; to: V. 0 where it starts above; inf
    where it never comes there. Source: charging of a capacitor through a resistor.
    """
    if to <= low or capacitance == 0:
        return 0.0
    if to >= high or math.isinf(pull_up):
        return math.inf
    return pull_up * capacitance * math.log((high - low) / (high - to))


class PulseSensor(Kind):
    title = "Pulse sensor"
    group = "Sensing"
    by_regime = True
    what = "A Hall sensor, reed or other switch to common, with its pull-up, that gives pulses as something turns past it."
    assumes = (
        "An open-collector output or a contact. The capacitor discharges through the sensor at once and charges through the "
        "pull-up; contact bounce is left out."
    )
    terminals = ("supply", "pin", "common")

    supply = param.Quantity("V", "what the pull-up hangs on")
    pull_up = param.Part("resistor", "the resistor to the supply", role="pull-up")
    sensor = param.Part("chip", "the sensor, such as U4 hall or S2 reed", default=None, modes=())
    low = param.Quantity(
        "V",
        "the output while the sensor conducts",
        default=param.Unstated("0.2 V", "open collector"),
        zero=True,
    )
    leakage = param.Quantity("A", "what it takes while it does not conduct", default="0 A", zero=True)
    capacitor = param.Part("capacitor", "the capacitor at the output", default=None)
    pulses = param.Quantity("", "pulses for one turn", default="1")
    speed = param.Quantity("rpm", "at which it turns", default=None, zero=True)
    frequency = param.Quantity("Hz", "of the pulses, in place of the speed", default=None, zero=True)
    low_share = param.Quantity(
        "", "share of the time in which it conducts", default=param.Unstated("0.5", "share of a turn")
    )
    logic_low = param.Quantity("", "share of the supply below which the input reads low", default="0.3")
    logic_high = param.Quantity("", "share of the supply above which it reads high", default="0.7")

    values = (
        Value("high_level", "V", "at the output while the sensor does not conduct", "supply − leakage·pull_up", OHM,
              at="output to common, magnet away"),
        Value("sink_current", "A", "what the sensor takes while it conducts", "(supply − low)/pull_up", OHM,
              at="volts across the pull-up divided by its ohms, magnet at the sensor"),
        Value("pulse_frequency", "Hz", "of the pulses", "speed·pulses/60", "definition", at="output to common, frequency range"),
        Value("shaft_speed", "rpm", "of what turns", "frequency·60/pulses", "definition", at="tachometer"),
        Value("mean_level", "V", "what a DC range shows while it turns", "low_share·low + (1 − low_share)·high_level",
              "mean of a rectangular wave", at="output to common, DC range, turning", interior=True),
        Value("rise_time", "s", "from low until the input reads high",
              "pull_up·capacitor·ln((high_level − low)/(high_level − logic_high·supply))", RISE,
              at="output to common, oscilloscope", interior=True),
        Value("highest_frequency", "Hz", "the fastest pulses that still reach high", "(1 − low_share)/rise_time", RISE, interior=True),
    )  # fmt: skip
    extra_parts = (ExtraPart("sensor", "chip", "sensor", named_by="sensor"),)
    remarks = {
        ("sensor", "open"): "never conducts: no pulses, the device reports that nothing turns",
        ("sensor", "short"): "always conducts: no pulses",
        ("capacitor", "short"): "the output is held at 0 V: no pulses",
        ("capacitor", "open"): "more noise at the input; extra counts",
        ("pull_up", "open"): "nothing lifts the output: no pulses",
        ("pull_up", "high"): "the edges become slow, fast pulses are lost",
    }
    example = {
        "supply": "5 V", "pull_up": "R12 10k", "sensor": "U4 hall", "leakage": "1 uA", "capacitor": "C7 1n", "pulses": "2",
        "speed": "3000 rpm",
    }  # fmt: skip
    variants = (
        Variant("a reed, read by its frequency", {"sensor": "S2 reed", "speed": "", "frequency": "25 Hz",
            "pulses": "1", "low": "0"}),
        Variant("without a capacitor", {"capacitor": "", "sensor": "", "leakage": ""}),
    )  # fmt: skip

    def solve(self, x: Point) -> Found:
        held = x.failed("sensor") == "short" or x.failed("capacitor") == "short" or math.isinf(x.pull_up)
        still = bool(held or x.failed("sensor"))
        found: Found = {}
        high = 0.0 if held else max(0.0, x.supply - x.leakage * x.pull_up)
        found["high_level"] = STATED if high > 0 else 0.0
        if x.failed("sensor") == "open" or math.isinf(x.pull_up):
            found["sink_current"] = 0.0
        else:
            found["sink_current"] = (
                Formula("max(supply − low, 0)/pull_up") if not held else Formula("supply/pull_up")
            )
        found |= _turning(x, still)
        if held:
            return {**found, "mean_level": 0.0}
        if still:
            return {**found, "mean_level": Formula("high_level")}
        found["mean_level"] = STATED
        if x.capacitor is not None:
            to = x.logic_high * x.supply
            rise = rise_time(pull_up=x.pull_up, capacitance=x.capacitor, high=high, low=x.low, to=to)
            reaches = math.isfinite(rise) and rise > 0
            found["rise_time"] = STATED if reaches else rise
            if math.isinf(rise):
                found["highest_frequency"] = 0.0
            elif rise > 0:
                found["highest_frequency"] = STATED
        return found

    def checks(self, block: Block) -> list[Check]:
        supply, low = block.given("supply"), block.given("low")
        reads_low, reads_high = block.given("logic_low"), block.given("logic_high")
        called = block.label("sensor")
        least, reached = reads_high.high * supply.middle, block.low("high_level")
        found = [
            within(called, reads_low.low * supply.low, low.high, "V", "pulls down to", "read as low up to"),
            at_least(called, least, reached, "V", "lets the pull-up lift it to", "read as high from"),
        ]
        if "highest_frequency" in block.values and "pulse_frequency" in block.values:
            most = block.low("highest_frequency")
            if most <= 0:
                found.append(Check(called, "the pull-up never lifts the output high enough", False))
            else:
                found.append(
                    within(called, most, block.high("pulse_frequency"), "Hz", "gives", "reaches high up to")
                )
        found += rating(block, "sensor", "V", supply.high, "holds off")
        found += rating(block, "sensor", "A", block.high("sink_current"), "takes")
        return found + rating(block, "capacitor", "V", supply.high, "sees")

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        found = []
        for name in ("low_share", "logic_low", "logic_high"):
            if inputs[name].high >= 1:
                found.append(
                    (name, f"{inputs[name].text} is not below the whole", "a share below 1, such as 0.5")
                )
        if inputs["speed"] is not None and inputs["frequency"] is not None:
            found.append(("frequency", "stands beside a speed", "one of them: the other follows"))
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """The pull-up above the pin, the sensor below it, here not conducting; its leakage all the same. Nobody knows where what
        turns has stopped, or whether it turns: then a DC range shows the mean, as behind so many ohms."""
        x = block.point
        w.supply("supply", "supply")
        w.resistor("pull_up", "supply", "pin")
        w.capacitor("capacitor", "pin", "common")
        conducting = exact(_seen_as(x, 1.0))
        w.add(Contact(**w.who("sensor"), a="pin", b="common", ohms=conducting, closed=exact(0.0), free=True))
        share, turning = block.given("low_share"), {**w.who("turning", ()), "called": ""}
        ends = ((w.net("share of a turn"), _seen_as(x, share.low), _seen_as(x, share.high)),)
        mean = Number(_seen_as(x, share.middle), ends)
        w.add(Contact(**turning, a="pin", b="common", ohms=mean, closed=exact(0.0), free=True))
        if x.leakage:
            w.add(Load(**w.who("leakage", ()), a="pin", b="common", amperes=w.number("leakage")))
        w.volts("high_level", "pin")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """The pull-up above the output, a contact below it or a sensor with its own supply at its left, the output right."""
        contact = _is_contact(block.part("sensor"))
        sensor = part_label(block, "sensor")
        takes = named(block, "sink_current", "takes")
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        sheet.port(0, 3, [Line("0 V", "r")])
        column = 1
        if contact:
            sheet.down("switch", 1, 1, 3, [*sensor, *takes], segment=(1, 3))
        else:
            column = 2
            pins = sheet.box(1, 1, 2, sensor, right={1: "out"}, top="+", bottom="−")
            sheet.wire((1, 0), pins["top"])
            sheet.wire(pins["bottom"], (1, 3))
            sheet.wire(pins["right 1"], (2, 1))
            sheet.dot((1, 0))
        sheet.wire((0, 0), (column, 0))
        # what a chip takes comes through the pull-up
        pull_up = [*part_label(block, "pull_up"), *([] if contact else takes)]
        sheet.down("resistor", column, 0, 1, pull_up)
        sheet.dot((column, 1))
        foot = 1  # the column in which the common rail ends
        if block.has("capacitor"):
            column += 1
            sheet.wire((column - 1, 1), (column, 1))
            down(block, sheet, "capacitor", column, 1, 3, segment=(1, 3))
            sheet.dot((column, 1), (1, 3))
            foot = column
        sheet.wire((column, 1), (column + 1, 1))
        shown = [Line("output", "r"), *named(block, "mean_level", "mean"), *named(block, "pulse_frequency")]
        sheet.port(column + 1, 1, shown, right=True)
        sheet.wire((0, 3), (foot, 3))


def _is_contact(sensor: Part | None) -> bool:
    """Whether it is a reed or another contact, with two leads; a Hall sensor has three."""
    if sensor is None:
        return True
    words = {word.lower() for word in sensor.words}
    return bool(words & {"reed", "switch", "contact"}) or sensor.designator.startswith(("S", "K", "RL"))


def _seen_as(x: Point, share: float) -> float:
    """The ohms that leave at the pin what a DC range shows while the sensor conducts for such a share of the time."""
    level = share * x.low + (1 - share) * x.supply
    return max(CONTACT, float(level * x.pull_up / max(x.supply - level, 1e-9)))


def _turning(x: Point, still: bool) -> Found:
    """Pulses and speed, each from the other; none where no pulse comes."""
    if x.frequency is not None:
        if still:
            return {"pulse_frequency": 0.0}
        return {"pulse_frequency": Formula("frequency"), "shaft_speed": STATED}
    if x.speed is not None:
        return {"pulse_frequency": 0.0 if still else STATED, "shaft_speed": Formula("speed")}
    return {}
