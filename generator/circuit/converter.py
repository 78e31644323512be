"""What the switching converters share: their parameters, loads in amperes or ohm, what their remarks say of the regime."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from generator.circuit import curves, param
from generator.circuit.block import STATED, Block, Check, ExtraPart, Formula, Found, Kind
from generator.circuit.diodes import sort_of
from generator.circuit.formula import evaluate
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.converted import Converted
from generator.circuit.network.element import Number, exact
from generator.circuit.network.passive import Resistor, Resting
from generator.circuit.placing import down
from generator.circuit.point import Point
from generator.circuit.ratings import rating, worth_saying
from generator.circuit.says import _, measured, phrase
from generator.circuit.sheet import Line, Sheet
from generator.circuit.spread import SPREADS

DEAD = ("output_voltage", "ripple_current", "peak_current", "input_current", "ripple", "esr_ripple")
SCOPE = "switch pin to common, oscilloscope"
LINK = 0.01  # ohm: the least that the network tells from none
SHORTED = 0.2  # ohm of a load that is none any more
COPPER = 1.0  # ohm of a choke whose sort is not known
IDEAL = "volt-second balance of the inductor, charge balance of the capacitor (ideal switch, constant drops)"
TRIANGLE = "the current's triangle over the capacitor: charge over capacitance"


def diode_word(block: Block) -> str:
    """The word for the diode's symbol, by what it drops."""
    return "schottky" if sort_of(block.point.diode_drop) == "schottky" else "diode"


def amperes(x: Point, volts: float) -> float:
    """What the load draws at volts; a load in ohm draws in proportion, one in amperes its current while there is voltage."""
    if volts <= 0:
        return 0.0
    return float(volts / x.load if x.load_is == "ohm" else x.load)


def regime_remark(block: Block, called: str) -> list[Check]:
    """Whether the inductor's current reaches zero in each period, said as a remark: neither is a fault."""
    boundary, drawn = block.values.get("boundary_load"), block.solved.get("I", 0.0)
    if boundary is None or boundary.value is None:
        return []
    words = {"load": measured(drawn, "A"), "boundary": measured(boundary.value, "A")}
    text = _("continuous current: %(load)s is above the boundary of %(boundary)s")
    if drawn < boundary.value:
        text = _("discontinuous current, which is normal: %(load)s is below the boundary of %(boundary)s")
    return [worth_saying(called, text % words)]


def converter_ratings(block: Block, *, switch: float, diode: float) -> list[Check]:
    """Stated ratings of chip, diode, inductor and capacitor; switch, diode: volts that they hold off at the most."""
    load = block.quantity("load")
    drawn = 0.0
    if load is not None:
        drawn = (
            load.high if block.point.load_is == "A" else block.high("output_voltage") / max(load.low, 1e-12)
        )
    return [
        *rating(block, "chip", "V", switch, "holds off"),
        *rating(block, "chip", "A", block.high("peak_current"), "switches, at the peak,"),
        *rating(block, "inductor", "A", block.high("peak_current"), "carries, at the peak,"),
        *rating(block, "diode", "V", diode, "holds off"),
        *rating(block, "diode", "A", drawn, "carries at most"),
        *rating(block, "capacitor", "V", block.high("output_voltage"), "sees"),
    ]


def draw_output(
    block: Block, sheet: Sheet, column: int, rows: tuple[int, int], *, segment: tuple[int, int]
) -> None:
    """Capacitor and load between output and common (rows) from a column on, then the ports.

    segment: the rows between which the symbols lie.
    """
    first, last = rows
    at = column
    if block.has("capacitor"):
        esr = block.quantity("esr")
        more = [Line(phrase("ESR", measured(esr.middle, "ohm", trim=True)))] if esr else []
        down(block, sheet, "capacitor", column, first, last, *more, segment=segment)
        sheet.dot((column, first), (column, last))
        column += 1
    for row in rows:
        sheet.wire((at, row), (column + 1, row))
    down(block, sheet, "load", column, first, last, segment=segment)
    sheet.dot((column, first), (column, last))
    sheet.port(column + 1, first, [Line("output", "r"), *named(block, "output_voltage")], right=True)
    sheet.port(column + 1, last, [Line("0 V", "r")], right=True)


@dataclass(frozen=True, kw_only=True)
class Link(Resistor):
    """Something without which a converter gives nothing: as it fails, open or short, the way to the output is open."""

    ON_BOARD: ClassVar[bool] = False

    cuts: tuple[str, ...] = ("open", "short")

    def failed(self, p: Mapping[str, float], mode: str, size: float | None = None) -> dict[str, float]:
        return {**p, "ohms": math.inf if mode in self.cuts else p["ohms"]}


def _rated(block: Block, x: Point) -> float:
    """A that the chip is rated for, as they are at the output; 0 where nobody states it."""
    part = block.part("chip") if block.has("chip") else None
    return part.ratings.get("A", 0.0) * min(1.0, x.input / x.output) if part is not None else 0.0


def wire_inductor(w: Wiring, a: str, b: str) -> None:
    """The inductor: the regulation makes up for its copper, which an ohmmeter meets."""
    low, high = SPREADS["choke"].ends(COPPER)
    w.add(
        Resting(
            **w.who("inductor"),
            a=a,
            b=b,
            ohms=exact(LINK),
            at_rest=Number(COPPER, ((w.net("copper"), low, high),)),
        )
    )


def wire_converted(block: Block, w: Wiring, links: tuple[str, ...], drawn: str) -> None:
    """The regulated output as a source behind the parts that it takes, and what it draws at the input as a current.

    links: keys of those parts; drawn: the value, or helper, that is the input's mean current. The switching itself is
    solved by `solve` alone, so the volts, and the power at the input for that at the output, are what it gives.
    """
    kind, x = block.kind, block.point
    links = (*links, "capacitor") if w.has("capacitor") else links
    lost = LINK * (len(links) + 1)  # ohm on the way, which the regulation makes up for

    def volts(x: Point) -> float:
        found = kind.values_at(x)
        return found.get("output_voltage", 0.0) + lost * found.get("I", 0.0)

    def takes(x: Point) -> float:
        found = kind.values_at(x)
        given = volts(x) * found.get("I", 0.0)
        return found.get(drawn, 0.0) * x.input / given if given else 1.0

    lossy = w.number(takes)
    if block.quantity("efficiency") is None:
        most = lossy.value * (1 + SPREADS["switching losses"].above)
        lossy = Number(lossy.value, (*lossy.ends, (w.net("losses"), lossy.value, most)))

    # the chip, where there is one, is what makes it: a dead converter and a dead chip are one thing
    who = {**w.who("chip" if w.has("chip") else "converter", ()), "name": w.net("converter")}
    back = "in_common" if "in_common" in kind.terminals else "common"
    w.add(
        Converted(
            **who, plus="_made", minus="common", volts=w.number(volts), ohms=exact(LINK), fed="in", back=back,
            takes=lossy, input=exact(x.input), limit=exact(kind.values_at(x).get("max_load") or _rated(block, x) or volts(x) / SHORTED),
        )
    )  # fmt: skip
    last = "_made"
    for position, key in enumerate(links):
        there = "out" if position == len(links) - 1 else f"_link{position}"
        who, cuts = w.who(key), ("short",) if key == "capacitor" else ("open", "short")
        w.add(Link(**{**who, "name": f"{who['name']} link"}, a=last, b=there, ohms=exact(0.0), cuts=cuts))
        last = there
    w.capacitor("capacitor", "out", "common")
    w.load("load", "out")
    w.volts("output_voltage", "out")


def inductor_current(block: Block) -> curves.Diagram | None:
    """The inductor's current over two switching periods (s, A), with the load that it feeds."""
    duty, swing, peak = (block.solved.get(name) for name in ("duty", "ripple_current", "peak_current"))
    u, w = block.solved.get("u"), block.solved.get("w")
    if not duty or not swing or not peak or not u or not w:
        return None
    falls = duty * u / w  # as a share of the period: how long it takes to lose what it gained
    period, lowest = 1 / block.point.frequency, peak - swing

    def amperes(t: float) -> float:
        share = t / period % 1.0
        if share < duty:
            return float(lowest + swing * share / duty)
        return float(max(lowest, peak - swing * (share - duty) / falls))

    span = 2 * period
    mark = curves.Mark("load", 0.0, block.solved["I"], level=True)
    curve = curves.Curve("current", curves.points(amperes, curves.spaced(0.0, span)))
    called = "inductor current over two periods"
    return curves.Diagram(called, ("time", "s", 0.0, span), ("current", "A", 0.0, peak), (curve,), (mark,))


def switch_title(block: Block) -> list[Line]:
    """What stands in the box of the switch."""
    chip = block.part("chip")
    first = Line(chip.designator, "d") if chip and chip.designator else Line("switch", "r")
    ratings = [Line(chip.ratings_label)] if chip else []
    return [first, *ratings, *computed(block, "frequency"), *computed(block, "duty")]


def input_port(block: Block, sheet: Sheet) -> None:
    """The input on the left, with what it gives."""
    sheet.port(0, 0, [Line("input", "r"), *computed(block, "input"), *named(block, "input_current", "takes")])


def inductor_label(block: Block) -> list[Line]:
    """The inductor with the peak of its current."""
    return [*part_label(block, "inductor"), *named(block, "peak_current", "peak")]


class Converter(Kind):
    """What step-down and step-up converters share: one inductor whose current rises at u volts and falls at w volts."""

    group = "Power"
    by_regime = True
    assumes = (
        "Switch and diode drop the same at any current, and the chip's own consumption and switching losses are left out, so "
        "that the real input current is a little higher. In a device it takes the power of what is joined "
        "to its output, and stops where its input has gone. Inductance, frequency and the regulated output are exact unless "
        "they state a tolerance."
    )
    terminals = ("in", "out", "common")

    input = param.Quantity("V", "what comes in")
    output = param.Quantity("V", "the voltage that it regulates to", spread="regulator")
    load = param.Load("what draws from the output: a current or a resistor", modes=())
    inductor = param.Part("inductor", "the inductor, such as L1 47u 3A")
    frequency = param.Quantity("Hz", "at which it switches")
    diode_drop = param.Quantity(
        "V",
        "forward voltage of the diode; 0 for a synchronous switch",
        default="0.5 V",
        zero=True,
        spread="schottky",
    )
    switch_drop = param.Quantity("V", "what the closed switch drops", default="0 V", zero=True)
    capacitor = param.Part("capacitor", "the output capacitor", default=None, role="output capacitor")
    esr = param.Quantity("ohm", "its series resistance", default=None, zero=True)
    chip = param.Part(
        "chip", "the chip with the switch in it, such as U3 40V 3A", default=None, role="switch", modes=()
    )
    diode = param.Part("diode", "the diode", default=None, role="diode", modes=())

    helper_units = {"u": "V", "w": "V", "LF": "ohm", "I": "A"}
    extra_parts = (
        ExtraPart("chip", "chip", "switch", named_by="chip"),
        ExtraPart("diode", "diode", "diode", named_by="diode"),
    )

    rises: ClassVar[Formula]  # u: across the inductor while the switch is closed
    falls: ClassVar[Formula]  # w: across it while the diode conducts
    runs_empty: ClassVar[Found]  # duty and input current where the current reaches zero in each period
    fatal: ClassVar[str]  # the failure of the switch after which nothing comes out

    def straight_through(self, x: Point) -> Found:
        """Output and duty where the input reaches the output without any switching; nothing where it switches."""
        raise NotImplementedError

    def further(self, x: Point, drawn: float, continuous: bool) -> Found:
        """What a kind has besides while it switches; drawn: A, by the load."""
        return {}

    def solve(self, x: Point) -> Found:
        found = self._found(x)
        if not x.capacitor:
            found.pop("ripple", None)
        if x.esr is None:
            found.pop("esr_ripple", None)
        return found

    def _found(self, x: Point) -> Found:
        nothing: Found = dict.fromkeys(DEAD, 0.0)
        broken = x.failed("inductor") == "open" or x.failed("diode") or x.failed("capacitor") == "short"
        if broken or x.failed("chip") == self.fatal:
            return nothing
        if passed := self.straight_through(x):
            output = passed["output_voltage"]
            assert isinstance(output, Formula)
            drawn = amperes(x, output.of(x))
            return {
                **nothing,
                "I": drawn,
                **dict.fromkeys(("peak_current", "input_current"), Formula("I")),
                **passed,
            }
        named = {"u": self.rises, "w": self.falls, "LF": Formula("inductor·frequency")}
        helpers = {name: formula.of(x) for name, formula in named.items()}
        if helpers["u"] <= 0:
            return nothing
        drawn = amperes(x, x.output)
        continuous = drawn >= evaluate(self.formula("boundary_load"), helpers)
        found: Found = {**named, "I": drawn, **dict.fromkeys((*DEAD, "boundary_load", "duty"), STATED)}
        if not continuous:
            found |= {**self.runs_empty, "peak_current": Formula("ripple_current")}
        return found | self.further(x, drawn, continuous)

    def plot(self, block: Block) -> curves.Diagram | None:
        return inductor_current(block)
