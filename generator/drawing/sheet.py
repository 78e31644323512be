"""What drawings share: a grid of columns and rows, labels placed by rule, rails, ports, border and title block.

A kind puts symbols between grid points (column, row); rows run downwards, row 0 is the supply, the last row the
common rail. Nothing has a size until render(): then every column and row gets the room that the symbols and
labels in it need, so that no text meets another text or a symbol, however long the labels are.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from generator.circuit.sheet import At, Line, Place, shortened
from generator.drawing import symbols
from generator.drawing.ink import Ink
from generator.drawing.items import (
    BOX_PAD,
    GAP,
    Box,
    Device,
    Horizontal,
    Marks,
    Placed,
    Port,
    Vertical,
    flagged,
    lines_of,
    widest,
)
from generator.drawing.lettering import width
from generator.drawing.symbols import Symbol

_ADJUSTABLE = re.compile(r"(?:VR|RP|POT|P)\d")  # what variable resistors are called

__all__ = ["At", "Line", "Marks", "Place", "Sheet", "lines_of", "shortened", "width"]


class Sheet(Placed):
    """One drawing under construction."""

    # --- what a kind calls -------------------------------------------------------------------------------------

    def across(self, word: str, row: int, first: int, last: int | At, label: Sequence[str | Line] = (), *,
               below: bool = False, reverse: bool = False) -> None:  # fmt: skip
        """A two-terminal symbol along a row from one column to another, or to a terminal before it (last, whose row is
        this one), its label above (or below) it."""
        symbol = self._two(word, "left" if reverse else "right", label)
        end, short = (last.column, -last.dx) if isinstance(last, At) else (last, 0.0)
        self.horizontals.append(Horizontal(symbol, first, end, row, self._lines(label), below, short))

    def down(self, word: str, column: int, first: int, last: int, label: Sequence[str | Line] = (), *,
             left: bool = False, reverse: bool = False, segment: tuple[int, int] | None = None) -> None:  # fmt: skip
        """A two-terminal symbol down a column from one row to another, its label to its right (or left).

        segment: the two neighbouring rows between which the symbol itself stands, where the column spans more.
        """
        symbol = self._two(word, "up" if reverse else "down", label)
        self.verticals.append(
            Vertical(symbol, column, first, last, self._lines(label), left, segment or (first, first + 1))
        )

    def device(self, word: str, column: int, row: int, on: str, label: Sequence[str | Line] = (), *,
               also: str = "", flip: bool = False, reverse: bool = False, label_above: bool = False) -> dict[str, At]:  # fmt: skip
        """A symbol with several terminals, set so that its terminal `on` lies on the column and `also` on the row.

        Returns each terminal's place, to which wires can be led. also defaults to `on`.
        """
        symbol = symbols.device(word, flip, reverse)
        x, y = symbol.anchors[on][0], symbol.anchors[also or on][1]
        self.devices.append(Device(symbol, column, row, (-x, -y), self._lines(label), label_above))
        return {name: At(column, row, ax - x, ay - y) for name, (ax, ay) in symbol.anchors.items()}

    def box(self, column: int, first: int, last: int, title: Sequence[str | Line], *, left: dict[int, str] | None = None,
            right: dict[int, str] | None = None, top: str = "", bottom: str = "",
            numbers: dict[str, str] | None = None) -> dict[str, At]:  # fmt: skip
        """A chip around a column from row first to row last, pins on its sides by row, one on top and bottom.

        numbers: the pin number written on the wire of "left 0", "right 0", "top", "bottom".
        Returns the places of its pins under the same names.
        """
        lines = self._lines(title)
        left, right = left or {}, right or {}
        box = Box(column, first, last, 30.0, lines, left, right, top, bottom, numbers or {})
        names = max((width(shortened(name, 14)) for name in (*left.values(), *right.values())), default=0.0)
        ends = max(width(shortened(name, 14)) for name in (top, bottom))
        beside = max(ends, 0.0 if box.pins_at_ends else widest(lines))
        half = box.half = max(30.0, widest(lines) / 2 + GAP, beside / 2 + names + GAP * 1.5)
        self.boxes.append(box)
        pins = {f"left {row}": At(column, row, -half) for row in left}
        pins |= {f"right {row}": At(column, row, half) for row in right}
        pins |= {"top": At(column, first, 0, -BOX_PAD), "bottom": At(column, last, 0, BOX_PAD)}
        return pins

    def wire(self, *places: Place) -> None:
        """A wire through places; between two that are not in line it runs along the row first, then the column."""
        self.wires.append(places)

    def dot(self, *places: Place) -> None:
        """Junctions."""
        self.dots |= dict.fromkeys(places)

    def tag(self, column: int, *label: str | Line) -> None:
        """A name or computed value above a node of row 0, joined to it by a thin line."""
        if lines := self._lines(label):
            self.tags.append((column, lines))

    def port(
        self,
        column: int,
        row: int,
        label: Sequence[str | Line],
        *,
        right: bool = False,
        terminal: bool = True,
    ) -> None:
        """Where the drawing ends: a terminal with its name beyond it. Only at the outermost columns of its row."""
        lines = [part for line in self._lines(label) for part in _folded(line)]
        self.ports.append(Port(column, row, right, lines, terminal))

    def _lines(self, label: Sequence[str | Line]) -> list[Line]:
        return flagged(lines_of(label), self.marks)

    def _two(self, word: str, direction: str, label: Sequence[str | Line] = ()) -> Symbol:
        if word == "resistor" and label and _ADJUSTABLE.match(getattr(label[0], "text", "")):
            word = "variable resistor"
        if word == "resistor" and self.zigzag:
            word = "zig-zag resistor"
        return symbols.two_terminal(word, direction)

    # --- layout ------------------------------------------------------------------------------------------------

    def drawn(self) -> tuple[str, tuple[float, float, float, float]]:
        """The drawing as SVG text, and its extent (left, top, right, bottom)."""
        ink = Ink(self)
        return ink.drawing(), ink.extent()


def _folded(line: Line) -> list[Line]:
    """What is said of a rail at mains potential, as two lines: it stands at the edge, where it makes a drawing wide."""
    words = line.text.split()
    if line.style != "x" or len(words) < 2:
        return [line]
    cuts = range(1, len(words))
    cut = min(cuts, key=lambda n: max(len(" ".join(words[:n])), len(" ".join(words[n:]))))
    return [replace(line, text=" ".join(half)) for half in (words[:cut], words[cut:])]
