"""Positions of all that stands on a sheet: rows get the room that their symbols and labels need, columns stand as near to
each other as what stands side by side in them allows."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

from generator.circuit.sheet import At, Line, Place
from generator.drawing import symbols
from generator.drawing.items import BOX_PAD, GAP, LEAD, LINE, TERMINAL, Placed, Port, widest
from generator.drawing.lettering import width


class Taken(NamedTuple):
    """A box that something takes on the sheet, in pixels; left and right from the middle of its column."""

    column: int
    left: float
    top: float
    right: float
    bottom: float


class Layout:
    """Positions of columns and rows from what stands in them."""

    def __init__(self, sheet: Placed) -> None:
        self.sheet = sheet
        places = [p for wire in sheet.wires for p in wire] + list(sheet.dots)
        columns = (
            {_column(p) for p in places}
            | {v.column for v in sheet.verticals}
            | {d.column for d in sheet.devices}
        )
        columns |= {c for h in sheet.horizontals for c in (h.first, h.last)} | {b.column for b in sheet.boxes}
        columns |= {p.column for p in sheet.ports} | {c for c, _ in sheet.tags}
        rows = {_row(p) for p in places} | {r for v in sheet.verticals for r in (v.first, v.last)} | {0}
        rows |= (
            {h.row for h in sheet.horizontals} | {d.row for d in sheet.devices} | {p.row for p in sheet.ports}
        )
        rows |= {r for b in sheet.boxes for r in (b.first, b.last)}
        self.columns, self.rows = sorted(columns), sorted(rows)
        self.above = dict.fromkeys(self.rows, 4.0)
        self.below = dict.fromkeys(self.rows, 4.0)
        self._heights()
        self.y = self._solve_rows()
        self.x = self._solve_columns(list(self._taken()))

    def _heights(self) -> None:
        """The room that each row needs above and below."""
        for d in self.sheet.devices:
            top, bottom = d.symbol.box[1] + d.origin[1], d.symbol.box[3] + d.origin[1]
            lines = len(d.lines) * LINE
            if d.label_above:
                self._over_and_under(d.row, -top + lines + 4, bottom)
            else:
                self._over_and_under(d.row, max(-top, lines / 2), max(bottom, lines / 2))
        for b in self.sheet.boxes:
            for row in {**b.left, **b.right}:
                self._over_and_under(row, LINE if b.numbers else 0.0, 0.0)
            self._over_and_under(b.first, BOX_PAD + LINE * (1 if b.top else 0.3), 0.0)
            self._over_and_under(b.last, 0.0, BOX_PAD + LINE * (1 if b.bottom else 0.3))
        for h in self.sheet.horizontals:
            label = len(h.lines) * LINE + 6
            top, bottom = -h.symbol.box[1], h.symbol.box[3]
            self._over_and_under(h.row, top + (0 if h.below else label), bottom + (label if h.below else 0))
        for p in self.sheet.ports:
            half = len(p.lines) * LINE / 2
            self._over_and_under(p.row, half, half + sign(p))

    def _over_and_under(self, row: int, above: float, below: float) -> None:
        self.above[row], self.below[row] = max(self.above[row], above), max(self.below[row], below)

    def _taken(self) -> Iterator[Taken]:
        """All that stands on the sheet, as boxes that another column's must not meet."""
        y = self.y
        for v in self.sheet.verticals:
            middle, (left, _top, right, _bottom) = (y[v.segment[0]] + y[v.segment[1]]) / 2, v.symbol.box
            yield Taken(v.column, 0, y[v.first], 0, y[v.last])
            yield Taken(v.column, left, middle - RING, right, middle + RING)
            yield from self._beside(
                v.column, v.lines, left if v.left else right, middle, "left" if v.left else "right"
            )
        for d in self.sheet.devices:
            dx, dy = d.origin
            left, top, right, bottom = d.symbol.box
            yield Taken(d.column, left + dx, y[d.row] + top + dy, right + dx, y[d.row] + bottom + dy)
            middle, at = y[d.row] + dy + (top + bottom) / 2, (left + right) / 2 + dx
            if d.label_above:
                height, half = len(d.lines) * LINE + 4, widest(d.lines) / 2
                edge = y[d.row] + dy + top - height
                yield Taken(d.column, at - half, edge, at + half, edge + height)
            else:
                yield from self._beside(d.column, d.lines, dx + right, middle, "right")
        for b in self.sheet.boxes:
            half = b.half + 4 + max((LEAD + width(text) for text in b.numbers.values()), default=0.0)
            yield Taken(b.column, -half, y[b.first] - BOX_PAD, half, y[b.last] + BOX_PAD)
        for h in self.sheet.horizontals:
            top, bottom = y[h.row] + h.symbol.box[1], y[h.row] + h.symbol.box[3]
            label = len(h.lines) * LINE + 4
            for column in (h.first, h.last):
                yield Taken(column, 0, top - (0 if h.below else label), 0, bottom + (label if h.below else 0))
        for p in self.sheet.ports:
            half, room = len(p.lines) * LINE / 2, beyond(p) + widest(p.lines)
            yield Taken(
                p.column, 0 if p.right else -room, y[p.row] - half, room if p.right else 0, y[p.row] + half
            )
            yield Taken(p.column, -TERMINAL, y[p.row] - TERMINAL, TERMINAL, y[p.row] + TERMINAL)
            if sign(p):
                yield Taken(p.column, -11, y[p.row], 11, y[p.row] + sign(p))
        for column, _lines in self.sheet.tags:
            yield Taken(column, 0, y[0] - self.above[0] - 6, 0, y[0])
        for wire in self.sheet.wires:
            places = [place if isinstance(place, At) else At(*place, 0, 0) for place in wire]
            for one, other in pairwise(places):
                level, end = y[one.row] + one.dy, y[other.row] + other.dy
                yield Taken(one.column, one.dx, level - 2, one.dx, level + 2)
                yield Taken(other.column, other.dx, min(level, end) - 2, other.dx, max(level, end) + 2)

    def _beside(
        self, column: int, lines: list[Line], edge: float, middle: float, side: str
    ) -> Iterator[Taken]:
        """A label beside a symbol whose edge is told."""
        room, half = widest(lines), len(lines) * LINE / 2
        left, right = (edge - GAP - room, edge) if side == "left" else (edge, edge + GAP + room)
        if lines:
            yield Taken(column, left, middle - half, right, middle + half)

    def _solve_columns(self, taken: list[Taken]) -> dict[int, float]:
        """Where the columns stand: as near to each other as what stands side by side in them allows."""
        least = [(a, b, 16 + GAP) for a, b in pairwise(self.columns)]
        for one in taken:
            for other in taken:
                if one.column < other.column and one.top < other.bottom and other.top < one.bottom:
                    least.append((one.column, other.column, one.right - other.left + GAP))
        for h in self.sheet.horizontals:
            a, b = min(h.first, h.last), max(h.first, h.last)
            least.append((a, b, max(symbols.LENGTH * symbols.UNIT, widest(h.lines) + 2 * LEAD) + h.short))
        tags = sorted(self.sheet.tags, key=lambda t: t[0])
        for (a, first), (b, second) in pairwise(tags):
            least.append((a, b, (widest(first) + widest(second)) / 2 + 2 * GAP))
        return _spread(self.columns, least)

    def _solve_rows(self) -> dict[int, float]:
        least: list[tuple[int, int, float]] = []
        for a, b in pairwise(self.rows):
            least.append((a, b, self.below[a] + self.above[b] + 6))
        for box in self.sheet.boxes:
            names = LINE + 13 if box.pins_at_ends else LINE + 6 if box.top or box.bottom else 4.0
            if box.first != box.last:
                least.append((box.first, box.last, len(box.title) * LINE + 2 * names - 2 * BOX_PAD))
        for v in self.sheet.verticals:
            a, b = v.segment
            label = len(v.lines) * LINE
            clear = max(self.above[b], self.below[a])
            # the label stands at the middle of the segment, clear of what hangs above the row below and the other way
            least.append((a, b, max(symbols.LENGTH * symbols.UNIT, label + 2 * clear + 8)))
        return _spread(self.rows, least)

    def point(self, place: Place) -> tuple[float, float]:
        """(x, y) of a place, in pixels from the first column and row."""
        if isinstance(place, At):
            return self.x[place.column] + place.dx, self.y[place.row] + place.dy
        return self.x[place[0]], self.y[place[1]]


LIVE = 22.0  # pixels below a terminal for the sign of a rail at mains potential
RING = 22.0  # pixels from the middle of a part to the end of the ring that says it failed


def sign(p: Port) -> float:
    """The pixels below a terminal that a sign at it takes, of mains potential or of earth."""
    return LIVE if any(line.style in "xe" for line in p.lines) else 0.0


def beyond(p: Port) -> float:
    """From a terminal to its label; past the sign at it, where the label has lines beside that."""
    return TERMINAL + (10.0 if len(p.lines) > 1 and sign(p) else 6.0)


def _column(place: Place) -> int:
    return place.column if isinstance(place, At) else place[0]


def _row(place: Place) -> int:
    return place.row if isinstance(place, At) else place[1]


def _spread(keys: list[int], least: list[tuple[int, int, float]]) -> dict[int, float]:
    """The smallest positions that keep every least distance, from the first key at 0; even, so that the middle between
    two of them is a whole number, too, and a drawing few bytes."""
    position = {key: 0.0 for key in keys}
    for key in keys:
        for a, b, distance in least:
            if b == key:
                position[key] = max(position[key], position[a] + distance)
    return {key: 2 * math.ceil(value / 2) for key, value in position.items()}
