"""A block's sheet: its kind's drawing with border, title block and a description in words."""

from __future__ import annotations

from dataclasses import replace

from generator.circuit.block import Block
from generator.circuit.param import Lines
from generator.drawing.frame import TitleBlock, framed
from generator.drawing.sheet import Sheet
from generator.language import _, value_name
from generator.notation.quantity import format_value


def draw(block: Block, title_block: TitleBlock, *, zigzag: bool = False) -> str:
    """The sheet of a block as SVG text. The title block's description is filled in from parts and values."""
    if zigzag not in block.drawings:
        sheet = Sheet(zigzag=zigzag)
        block.kind.draw(block, sheet)
        block.drawings[zigzag] = sheet.drawn()
    return framed(*block.drawings[zigzag], replace(title_block, description=description(block)))


def description(block: Block) -> str:
    """The drawing in words: what it is, its parts, what stands at its nodes."""
    parts = [
        f"{p.designator or ('' if p.part_class == 'any' else _(p.part_class))} {p.label}".strip()
        for p in block.parts
    ]
    values = [
        f"{value_name(r.name)} {format_value(r.value, r.unit)}"
        for r in block.values.values()
        if r.value is not None
    ]
    words = [f"{_(block.kind.title)} {block.name}."]
    if parts:
        words.append(_("Parts: %(list)s.") % {"list": ", ".join(parts)})
    for param in block.kind.params:
        if isinstance(param, Lines) and block.inputs.get(param.name):
            words.append(f"{_(param.name.capitalize())}: " + ", ".join(block.inputs[param.name]) + ".")
    if values:
        words.append(_("Values: %(list)s.") % {"list": ", ".join(values)})
    return " ".join(words)
