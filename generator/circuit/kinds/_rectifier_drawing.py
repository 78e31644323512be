"""The drawing of a mains rectifier: its diodes, the bulk capacitors, what drains them."""

from __future__ import annotations

from generator.circuit.block import Block
from generator.circuit.labels import capacitor_word, computed, each_label
from generator.circuit.placing import down
from generator.circuit.says import _
from generator.circuit.sheet import Line, Sheet


def _diodes(block: Block) -> list[Line]:
    part = block.part("rectifier")
    return [Line(part.designator, "d")] if part else [Line("rectifier", "r")]


def _leg(sheet: Sheet, column: int, upper: list[Line], lower: list[Line]) -> None:
    """Two diodes in series, pointing up, the middle between them on row 1."""
    sheet.down("diode", column, 0, 1, upper, reverse=True)
    sheet.wire((column, 1), (column, 3))
    sheet.down("diode", column, 3, 4, lower, reverse=True)


def _bridge(block: Block, sheet: Sheet) -> None:
    names = each_label(block, "rectifier", 4, "rectifier")
    _leg(sheet, 2, names[0], names[2])
    _leg(sheet, 3, names[1], names[3])
    sheet.wire((1, 1), (2, 1))
    sheet.wire((0, 2), (3, 2))
    sheet.dot((2, 1), (3, 2), (3, 0), (3, 4))
    for row in (0, 4):
        sheet.wire((2, row), (4, row))
    down(block, sheet, "bulk", 4, 0, 4, segment=(2, 4))
    _drains(block, sheet, 4, "resistor")


def _half_wave(block: Block, sheet: Sheet) -> None:
    sheet.across("diode", 1, 1, 2, _diodes(block))
    sheet.wire((2, 1), (2, 0), (3, 0))
    sheet.wire((0, 2), (1, 2), (1, 4), (3, 4))
    down(block, sheet, "bulk", 3, 0, 4, segment=(2, 4))
    _drains(block, sheet, 3, "resistor")


def _doubler(block: Block, sheet: Sheet) -> None:
    """Live to the middle of the two diodes, neutral to the middle of the two capacitors."""
    _leg(sheet, 2, *each_label(block, "rectifier", 2, "rectifier"))
    sheet.wire((1, 1), (2, 1))
    sheet.dot((2, 1), (3, 2))
    for row in (0, 4):
        sheet.wire((2, row), (3, row))
    sheet.wire((0, 2), (3, 2))
    down(block, sheet, "bulk", 3, 0, 2, Line(_("each")), segment=(0, 1))
    sheet.down(capacitor_word(block, "bulk"), 3, 2, 4, segment=(3, 4))
    if block.has("bleeder"):
        sheet.wire((3, 2), (4, 2))
        down(block, sheet, "bleeder", 4, 0, 2, Line(_("each")), segment=(0, 1))
        sheet.down("resistor", 4, 2, 4, segment=(3, 4))
        sheet.dot((4, 2))
    _drains(block, sheet, 3, "")


def _drains(block: Block, sheet: Sheet, column: int, bleeder: str) -> None:
    """Bleeder (where it lies across the whole rail) and load, then the rails' names at the right end."""
    sheet.tag(column, *computed(block, "peak", "trough"))
    for name in ("bleeder", "load"):
        if not block.has(name):
            continue
        sheet.dot((column, 0), (column, 4))
        column += 1
        for row in (0, 4):
            sheet.wire((column - 1, row), (column, row))
        if name == "load" or bleeder:
            down(block, sheet, name, column, 0, 4, segment=(2, 4))
    sheet.dot((column, 0), (column, 4))
    for row, name in ((0, "+"), (4, "−")):
        sheet.wire((column, row), (column + 1, row))
        live = [Line("at mains potential", "x")] if row == 4 else []
        sheet.port(column + 1, row, [Line(name, "r"), *live], right=True)


RECTIFIERS = {"bridge": _bridge, "half-wave": _half_wave, "doubler": _doubler}
