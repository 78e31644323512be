"""What the switching converters share: loads in amperes or ohm, and what their remarks and checks say of the regime."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from generator.circuit import curves
from generator.circuit.block import Block, Check
from generator.circuit.labels import part_label
from generator.circuit.network.element import exact
from generator.circuit.network.passive import Resistor
from generator.circuit.network.sources import Load, Source
from generator.circuit.point import Point
from generator.circuit.ratings import rating
from generator.circuit.says import _, measured, phrase
from generator.circuit.sheet import Line, Sheet

if TYPE_CHECKING:
    from generator.circuit.network.wiring import Wiring

LINK = 0.01  # ohm: the least that the network tells from none
IDEAL = "volt-second balance of the inductor, charge balance of the capacitor (ideal switch, constant drops)"
TRIANGLE = "the current's triangle over the capacitor: charge over capacitance"


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
        text = _("discontinuous current, which is no fault: %(load)s is below the boundary of %(boundary)s")
    return [Check(called, text % words, True, None, True)]


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


def draw_output(block: Block, sheet: Sheet, column: int, last: int) -> None:
    """Capacitor and load between the output and common from a column on, then the ports."""
    if block.inputs.get("capacitor") is not None:
        label = part_label(block, "capacitor")
        if "esr" in block.inputs and (esr := block.quantity("esr")):
            label.append(Line(phrase("ESR", measured(esr.middle, "ohm", trim=True))))
        sheet.down("electrolytic", column, 0, last, label, segment=(0, 1))
        sheet.dot((column, 0), (column, last))
    for row in (0, last):
        sheet.wire((column, row), (column + 2, row))
    symbol = "load current" if block.point.load_is == "A" else "resistor"
    sheet.down(symbol, column + 1, 0, last, part_label(block, "load"), segment=(0, 1))
    sheet.dot((column + 1, 0), (column + 1, last))
    sheet.port(column + 2, 0, [Line("output", "r")], right=True)
    sheet.port(column + 2, last, [Line("0 V", "r")], right=True)


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
    return curves.Diagram(
        "inductor current over two periods",
        ("time", "s", 0.0, span),
        ("current", "A", 0.0, peak),
        (curve,),
        (mark,),
    )


@dataclass(frozen=True, kw_only=True)
class Link(Resistor):
    """Something without which a converter gives nothing: as it fails, open or short, the way to the output is open."""

    cuts: tuple[str, ...] = ("open", "short")

    def failed(self, p: Mapping[str, float], mode: str, size: float | None = None) -> dict[str, float]:
        return {**p, "ohms": math.inf if mode in self.cuts else p["ohms"]}


def wire_converted(block: Block, w: Wiring, links: tuple[str, ...], drawn: str) -> None:
    """The regulated output as a source behind the parts that it takes, and what it draws at the input as a current.

    links: keys of those parts; drawn: the value, or helper, that is the input's mean current. The switching itself is
    solved by `solve` alone, so the source and the current are what it gives.
    """
    kind = block.kind
    links = (*links, "capacitor") if w.has("capacitor") else links
    lost = LINK * (len(links) + 1)  # ohm on the way, which the regulation makes up for

    def volts(x: Point) -> float:
        found = kind.values_at(x)
        return found.get("output_voltage", 0.0) + lost * found.get("I", 0.0)

    def amperes(x: Point) -> float:
        return kind.values_at(x).get(drawn, 0.0)

    w.add(
        Source(
            **w.who("converter", ()), plus="_made", minus="common", volts=w.number(volts), ohms=exact(LINK)
        )
    )
    last = "_made"
    for position, key in enumerate(links):
        there = "out" if position == len(links) - 1 else f"_link{position}"
        who, cuts = w.who(key), ("short",) if key == "capacitor" else ("open", "short")
        w.add(Link(**{**who, "name": f"{who['name']} link"}, a=last, b=there, ohms=exact(0.0), cuts=cuts))
        last = there
    w.capacitor("capacitor", "out", "common")
    w.load("load", "out")
    plus, minus = ("in", "in_common") if "in_common" in kind.terminals else ("in", "common")
    if amperes(block.point) > 0:
        w.add(Load(**w.who("draws", ()), a=plus, b=minus, amperes=w.number(amperes)))
    w.volts("output_voltage", "out")
