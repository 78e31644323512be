"""A block's sheet: its kind's drawing with a description in words."""

from __future__ import annotations

from dataclasses import replace

from generator.circuit.block import Block
from generator.circuit.extras_sheet import draw_extras
from generator.circuit.param import Lines
from generator.drawing.frame import Drawing, TitleBlock, framed
from generator.drawing.items import Marks
from generator.drawing.sheet import Line, Sheet
from generator.language import _, code


def draw(
    block: Block, title_block: TitleBlock, *, zigzag: bool = False, marks: Marks | None = None
) -> Drawing:
    """The sheet of a block. The title block's description is filled in from the parts.

    marks: what a note has to say on it.
    """
    marks = marks or Marks()
    how = (code(), zigzag, marks.key(block.designators))
    if how not in block.drawings:
        sheet = Sheet(zigzag=zigzag, marks=marks)
        block.kind.draw(block, sheet)
        if block.extras and block.extras_key == "also":
            draw_extras([extra for _position, extra in block.extras], sheet, _below(sheet))
        if marks.earthed and block.kind.earthed and not _shows_earth(sheet):
            below = _below(sheet)
            sheet.port(0, below, [Line("PE", "e")])
            sheet.wire((0, below), (1, below))
            sheet.port(1, below, [Line(block.kind.earthed, "r")], right=True)
        block.drawings[how] = sheet.drawn()
    return framed(*block.drawings[how], replace(title_block, description=description(block)))


def _below(sheet: Sheet) -> int:
    """The first row below all that is drawn."""
    lasts = [
        *(port.row for port in sheet.ports),
        *(h.row for h in sheet.horizontals),
        *(v.last for v in sheet.verticals),
        *(b.last for b in sheet.boxes),
    ]
    return 1 + max(lasts)


def _shows_earth(sheet: Sheet) -> bool:
    return any(line.style == "e" for port in sheet.ports for line in port.lines)


def description(block: Block) -> str:
    """The drawing in words: what it is and its parts. Its values are in the table beside it."""
    parts = [
        f"{p.designator or ('' if p.part_class == 'any' else _(p.part_class))} {p.label}".strip()
        for p in [*block.parts, *(extra.part for _position, extra in block.extras)]
    ]
    words = [f"{_(block.kind.title)} {block.name}."]
    if parts:
        words.append(_("Parts: %(list)s.") % {"list": ", ".join(parts)})
    for param in block.kind.params:
        if isinstance(param, Lines) and block.inputs.get(param.name):
            words.append(f"{_(param.name.capitalize())}: " + ", ".join(block.inputs[param.name]) + ".")
    return " ".join(words)
