"""A block's parts on its sheet: each with the symbol and the label that follow from what its parameter states."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from generator.circuit.block import Block
from generator.circuit.labels import capacitor_word, diode_symbol, part_label
from generator.circuit.param import Load, Quantity
from generator.circuit.sheet import Line, Sheet

# class of part -> the word for its symbol, where that is another
_SYMBOLS = {"potentiometer": "variable resistor", "contact": "switch", "winding": "inductor"}


def symbol(block: Block, name: str) -> str:
    """The word for the symbol of the part or load behind a parameter."""
    param = block.kind.param(name)
    if isinstance(param, (Load, Quantity)):
        return "resistor" if getattr(block.point, f"{name}_is", "A") == "ohm" else "load current"
    part_class = getattr(param, "part", "")
    if part_class == "capacitor":
        return capacitor_word(block, name)
    return diode_symbol(block.part(name)) if part_class == "diode" else _SYMBOLS.get(part_class, part_class)


def down(
    block: Block, sheet: Sheet, name: str, column: int, first: int, last: int, *more: Line, **how: Any
) -> None:
    """The part behind a parameter down a column, from row first to last. more: further lines of its label."""
    label = [*part_label(block, name), *more]
    sheet.down(symbol(block, name), column, first, last, label, **how)


def across(
    block: Block, sheet: Sheet, name: str, row: int, first: int, last: int, *more: Line, **how: Any
) -> None:
    """The same along a row, from column first to last."""
    label = [*part_label(block, name), *more]
    sheet.across(symbol(block, name), row, first, last, label, **how)


def standing(
    block: Block, sheet: Sheet, column: int, rows: tuple[int, int], names: Sequence[str], **how: Any
) -> int:
    """Those of the named parts that there are, side by side between two rows; the column to the right of the last."""
    for name in filter(block.has, names):
        down(block, sheet, name, column, *rows, **how)
        for row in rows:
            sheet.dot((column, row))
            sheet.wire((column, row), (column + 1, row))
        column += 1
    return column
