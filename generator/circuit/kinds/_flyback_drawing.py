"""How a flyback supply is drawn: the labels of its transformer and its switch, the marks of the windings, its output side."""

from __future__ import annotations

from generator.circuit.block import Block
from generator.circuit.converter import draw_output
from generator.circuit.labels import named
from generator.circuit.placing import across
from generator.circuit.says import measured, phrase
from generator.circuit.sheet import At, Line, Sheet


def phase(sheet: Sheet, end: At, dx: float, dy: float) -> None:
    """The mark of a winding's start, beside it: the two windings give their voltage in opposite senses."""
    sheet.dot(At(end.column, end.row, end.dx + dx, end.dy + dy))


def transformer_label(block: Block) -> list[Line]:
    """Ratio of turns and inductance of the primary."""
    ratio = block.quantity("turns_ratio")
    inductance = block.quantity("primary_inductance")
    lines = [Line(phrase(measured(ratio.middle, "", trim=True), ": 1"))] if ratio else []
    return lines + ([Line(measured(inductance.middle, "H", trim=True))] if inductance else [])


def transistor_label(block: Block) -> list[Line]:
    """The switch with its ratings and its peak current."""
    part = block.part("transistor")
    first = Line(part.designator, "d") if part and part.designator else Line("transistor", "r")
    return [first, *([Line(part.ratings_label)] if part else []), *named(block, "peak_current", "peak")]


def secondary(block: Block, sheet: Sheet, coil: dict[str, At]) -> None:
    """The output diode and what stands behind it. coil: the terminals of the transformer."""
    sheet.wire(coil["s1"], (3, 1))
    across(block, sheet, "diode", 1, 3, 4)
    sheet.wire(coil["s2"], At(3, coil["s2"].row, 0, coil["s2"].dy), (3, 3), (4, 3))
    draw_output(block, sheet, 4, (1, 3), segment=(1, 3))
