"""Start resistors from the rectified mains that charge the supply capacitor of a switching controller."""

from __future__ import annotations

import math
from dataclasses import replace

from generator.circuit import param
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import computed, label_of
from generator.circuit.network import Wiring
from generator.circuit.network.element import Number, exact
from generator.circuit.network.junctions import Diode
from generator.circuit.network.sources import Source
from generator.circuit.placing import down
from generator.circuit.ratings import at_least, rating, within, worth_saying
from generator.circuit.says import _, measured, phrase
from generator.circuit.sheet import Line, Sheet
from generator.notation.quantity import Quantity

# V; working voltage of common quarter-watt film resistors (typical data sheets, from memory)
PLAIN_FILM_VOLTAGE = 250.0
# of its start voltage: where a running chip's supply stands, from where it locks out to where it clamps; from memory, data
# sheets of off-line controllers
RUNS_AT = 0.55, 0.85, 1.2


def share_of_voltage(own: Quantity, others: float) -> float:
    """The largest share of a series string's voltage that one resistor takes, the others being `others` ohm at least."""
    return own.high / (own.high + others)


def share_of_power(own: Quantity, others: float) -> float:
    """The largest r/(r + others)² over a resistor's band, in 1/ohm: its power by the square of the string's voltage.

    It rises up to r = others and falls beyond.
    """
    worst = min(max(own.low, others), own.high)
    return worst / (worst + others) ** 2


def _starts_at_low_mains(block: Block, start: Quantity, current: Quantity) -> Check:
    given = block.given("mains")
    lowest = min(given.low, given.middle * (1 - block.mains.below)) * math.sqrt(2)
    resistance = sum(p.value.high for p in block.inputs["start_resistors"])
    available = max(0.0, lowest - start.high) / resistance
    if current.high > 0:
        return at_least(
            "start resistors", current.high, available, "A", "give, at minimum mains,", "start-up draws"
        )
    values = {"bus": measured(lowest, "V"), "start": measured(start.high, "V", trim=True)}
    what = _("see a bus of %(bus)s at minimum mains, start-up needs %(start)s") % values
    return Check("start resistors", what, available > 0, (lowest - start.high) / start.high, least=True)


def _named(block: Block, name: str, verb: str) -> list[Line]:
    given = block.quantity(name)
    return (
        [replace(line, text=phrase(_(verb), line.text)) for line in computed(block, name)]
        if given and given.high
        else []
    )


class OfflineStart(Kind):
    title = "Off-line start"
    group = "Power"
    what = (
        "Resistors from the rectified mains that charge a switching controller's supply capacitor until it "
        "starts."
    )
    assumes = "The bus stands at the crest of the mains; the chip draws a constant current until it starts."
    terminals = ("bus", "plus", "common")
    cautions = ("mains", "charge")

    mains = param.Quantity("V", "the mains", default=param.MAINS)
    start_resistors = param.Parts("resistor", "the resistors in series from the bus", role="start resistor")
    capacitor = param.Part("capacitor", "the chip's supply capacitor", role="supply capacitor")
    start_voltage = param.Quantity("V", "at which the chip starts")
    start_current = param.Quantity("A", "what the chip draws before it starts", default="0", zero=True)

    values = (
        Value("bus", "V", "the rectified mains, without load", "mains·√2",
              "peak rectifier, diode drops neglected", at="across the reservoir capacitor, DC",
              hazard="mains"),
        Value("start_current_available", "A", "through the start resistors when the chip is about to start",
              "(bus − start_voltage)/R", "Ohm's law", at="in series with the start resistors",
              hazard="mains"),
        Value("start_time", "s", "from plugging in until the chip starts",
              "R·capacitor·ln((bus − start_current·R)/(bus − start_current·R − start_voltage))",
              "charging of a capacitor through a resistor", at="across the supply capacitor, with a watch",
              hazard="mains"),
        Value("resistor_power", "W", "heat in the start resistors together, while running",
              "(bus − start_voltage)²/R", "Joule's law"),
    )  # fmt: skip
    helper_units = {"R": "ohm"}
    remarks = {
        ("start_resistors", "open"): "never starts; the bus stays charged after unplugging",
        ("capacitor", "open"): "starts at once and dies at once, over and over",
        ("capacitor", "low"): "starts, and dies before the winding takes over",
        ("capacitor", "short"): "never starts; the start resistors take the whole bus",
    }
    example = {
        "start_resistors": ["R1 330k 0.25W 350V", "R2 330k 0.25W 350V"], "capacitor": "C9 22u 35V",
        "start_voltage": "16 V", "start_current": "50 uA",
    }  # fmt: skip
    variants = (
        Variant("three resistors, film capacitor", {"start_resistors": ["R1 220k", "R2 220k", "R3 220k"],
            "capacitor": "C9 470n"}),
    )  # fmt: skip

    def solve(self, x: Point) -> Solved:
        bus, resistance = self.formula("bus").of(x), sum(x.each("start_resistors"))
        found: dict[str, float | Formula] = {"R": resistance}
        if x.failed("capacitor") == "short":
            return {**found, "start_voltage": 0.0, "start_time": math.inf}
        if x.start_voltage >= bus:
            found |= {"start_current_available": Formula("0"), "resistor_power": Formula("0")}
        # What the chip draws leaves the capacitor less to charge to than the bus.
        if math.isinf(resistance) or bus - x.start_current * resistance <= x.start_voltage:
            found["start_time"] = math.inf
        elif not x.start_current:
            found["start_time"] = Formula("R·capacitor·ln(bus/(bus − start_voltage))")
        return found

    def checks(self, block: Block) -> list[Check]:
        top = block.mains_top("mains") * math.sqrt(2)
        start, current = block.given("start_voltage"), block.given("start_current")
        states = (
            (max(0.0, top - start.low), _("dissipates, at maximum mains,"), _("sees, at maximum mains,")),
            (top, _("dissipates, at maximum mains with the capacitor shorted,"),
             _("sees, at maximum mains with the capacitor shorted,")),
        )  # fmt: skip
        parts = block.inputs["start_resistors"]
        found = rating(block, "capacitor", "V", start.high, "sees, when the chip starts,")
        for part in parts:
            name = part.name("start resistor")
            others = sum(p.value.low for p in parts if p is not part)
            for across, heats, sees in states:
                if "W" in part.ratings:
                    power = across * across * share_of_power(part.value, others)
                    found.append(within(name, part.ratings["W"], power, "W", heats))
                if "V" in part.ratings:
                    found.append(
                        within(
                            name, part.ratings["V"], across * share_of_voltage(part.value, others), "V", sees
                        )
                    )
            worst = top * share_of_voltage(part.value, others)
            if "V" not in part.ratings and worst > PLAIN_FILM_VOLTAGE:
                what = _(
                    "sees %(volts)s at maximum mains with the capacitor shorted; plain film resistors are made for about 250 V"
                )
                found.append(worth_saying(name, what % {"volts": f"{worst:.0f} V"}))
        return found + [_starts_at_low_mains(block, start, current)]

    def wire(self, block: Block, w: Wiring) -> None:
        """The start resistors from the bus to the chip's supply capacitor; what starts draws its current from there.

        On this board common is the negative end of the rectified mains. The chip never lets its supply rise far above where
        it starts: then it runs, and takes what comes.
        """
        w.common("common", mains=True)
        crest = w.number(lambda x: x.mains * math.sqrt(2))
        w.wired.feeds["mains"] = ("bus", "common")
        if "mains" not in w.fed:
            w.add(Source(**w.who("bus", ("dead",)), plus="bus", minus="common", volts=crest))
        count = int(block.point.start_resistors_count)
        nets = ["bus", *(f"_r{n}" for n in range(1, count)), "plus"]
        for n in range(count):
            w.resistor(f"start_resistors_{n}", nets[n], nets[n + 1])
        w.capacitor("capacitor", "plus", "common")
        if block.point.start_current:
            w.load("start_current", "plus")
        low, usual, high = (share * block.point.start_voltage for share in RUNS_AT)
        runs = Number(usual, ((w.net("chip"), low, high),))
        w.add(Diode(
            name=w.net("chip"), block=block.name, anode="common", cathode="plus", forward=exact(0.7),
            breakdown=runs,
        ))  # fmt: skip
        w.volts("bus", "bus")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """The bus on the left, the resistors along the rail, the capacitor down, the chip on the right."""
        sheet.port(0, 0, computed(block, "bus"))
        sheet.port(0, 1, [Line("0 V", "r")])
        column = 0
        for part in block.inputs["start_resistors"]:
            sheet.across("resistor", 0, column, column + 1, label_of(part, "start resistor"))
            column += 1
        sheet.wire((0, 1), (column, 1))
        down(block, sheet, "capacitor", column, 0, 1)
        sheet.dot((column, 0), (column, 1))
        available = measured(block.solved["start_current_available"], "A")
        sheet.tag(
            column,
            *computed(block, "start_time"),
            Line(_("available %(current)s") % {"current": available}, "n"),
        )
        lines = [
            Line("chip supply", "r"),
            *_named(block, "start_voltage", "starts at"),
            *_named(block, "start_current", "draws"),
        ]
        for row, label in ((0, lines), (1, [Line("0 V", "r"), Line("at mains potential", "x")])):
            sheet.wire((column, row), (column + 1, row))
            sheet.port(column + 1, row, label, right=True)

    def dangerous(self, x: Point) -> set[tuple[str, str]]:
        return {(f"start_resistors_{i}", "open") for i in range(x.start_resistors_count)}
