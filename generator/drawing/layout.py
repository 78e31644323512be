"""Positions of all that stands on a sheet: every column and row gets the room that its symbols and labels need."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from html import escape

from generator.circuit.sheet import At, Line, Place, shortened
from generator.drawing import items, symbols
from generator.drawing.lettering import fitted, width
from generator.drawing.symbols import Symbol


class Layout:
    """Positions of columns and rows from what stands in them."""

    def __init__(self, sheet: items.Placed) -> None:
        self.sheet = sheet
        places = [p for wire in sheet.wires for p in wire] + sheet.dots
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
        self.left = dict.fromkeys(self.columns, 8.0)
        self.right = dict.fromkeys(self.columns, 8.0)
        self.above = dict.fromkeys(self.rows, 4.0)
        self.below = dict.fromkeys(self.rows, 4.0)
        self._sides()
        self.x = self._solve_columns()
        self.y = self._solve_rows()
        self.text: list[str] = []
        self.rings: list[str] = []  # around what has failed
        self.edges = [0.0, 0.0, 0.0, 0.0]  # left, top, right, bottom of all that is drawn

    def _sides(self) -> None:
        """The room that each column needs to its left and right, each row above and below."""
        for v in self.sheet.verticals:
            room = items.widest(v.lines) + items.GAP if v.lines else 0.0
            self._beside(
                v.column,
                -v.symbol.box[0] + (room if v.left else 0),
                v.symbol.box[2] + (0 if v.left else room),
            )
        for d in self.sheet.devices:
            self._room_for_device(d)
        for b in self.sheet.boxes:
            self._room_for_box(b)
        for h in self.sheet.horizontals:
            top, bottom = -h.symbol.box[1], h.symbol.box[3]
            label = len(h.lines) * items.LINE + 6
            self._over_and_under(h.row, top + (0 if h.below else label), bottom + (label if h.below else 0))
        for p in self.sheet.ports:
            half = len(p.lines) * items.LINE / 2
            self._over_and_under(
                p.row, half, half + (LIVE if any(line.style in "xe" for line in p.lines) else 0)
            )
            room = _beyond(p) + items.widest(p.lines)
            self._beside(p.column, 0.0 if p.right else room, room if p.right else 0.0)

    def _room_for_device(self, d: items.Device) -> None:
        label = items.widest(d.lines)
        left, right = d.symbol.box[0] + d.origin[0], d.symbol.box[2] + d.origin[0]
        top, bottom = d.symbol.box[1] + d.origin[1], d.symbol.box[3] + d.origin[1]
        beside, lines = label + items.GAP, len(d.lines) * items.LINE
        self._beside(
            d.column,
            -left + (beside if d.label_at == "left" else 0),
            right + (beside if d.label_at == "right" else 0),
        )
        if d.label_at in ("above", "below"):
            middle, height = (left + right) / 2, lines + 4
            self._beside(d.column, label / 2 - middle, label / 2 + middle)
            self._over_and_under(
                d.row,
                -top + (height if d.label_at == "above" else 0),
                bottom + (height if d.label_at == "below" else 0),
            )
        else:
            self._over_and_under(d.row, max(-top, lines / 2), max(bottom, lines / 2))

    def _room_for_box(self, b: items.Box) -> None:
        number = max((width(text) for text in b.numbers.values()), default=0.0)
        half = b.half + items.LEAD + number
        self._beside(b.column, half, half)
        for row in {**b.left, **b.right}:
            self._over_and_under(row, items.LINE if number else 0.0, 0.0)
        self._over_and_under(b.first, items.BOX_PAD + items.LINE * (1 if b.top else 0.3), 0.0)
        self._over_and_under(b.last, 0.0, items.BOX_PAD + items.LINE * (1 if b.bottom else 0.3))

    def _beside(self, column: int, left: float, right: float) -> None:
        self.left[column], self.right[column] = max(self.left[column], left), max(self.right[column], right)

    def _over_and_under(self, row: int, above: float, below: float) -> None:
        self.above[row], self.below[row] = max(self.above[row], above), max(self.below[row], below)

    def _solve_columns(self) -> dict[int, float]:
        least: list[tuple[int, int, float]] = []
        for a, b in zip(self.columns, self.columns[1:]):
            least.append((a, b, self.right[a] + self.left[b] + items.GAP))
        for h in self.sheet.horizontals:
            a, b = min(h.first, h.last), max(h.first, h.last)
            least.append(
                (a, b, max(symbols.LENGTH * symbols.UNIT, items.widest(h.lines) + 2 * items.LEAD) + h.short)
            )
        tags = sorted(self.sheet.tags, key=lambda t: t[0])
        for (a, first), (b, second) in zip(tags, tags[1:]):
            least.append((a, b, (items.widest(first) + items.widest(second)) / 2 + 2 * items.GAP))
        return _spread(self.columns, least)

    def _solve_rows(self) -> dict[int, float]:
        least: list[tuple[int, int, float]] = []
        for a, b in zip(self.rows, self.rows[1:]):
            least.append((a, b, self.below[a] + self.above[b] + 6))
        for box in self.sheet.boxes:
            names = items.LINE + 6 if box.top or box.bottom else 4.0
            if box.first != box.last:
                least.append(
                    (box.first, box.last, len(box.title) * items.LINE + 2 * names - 2 * items.BOX_PAD)
                )
        for v in self.sheet.verticals:
            a, b = v.segment
            label = len(v.lines) * items.LINE
            clear = max(self.above[b], self.below[a])
            # the label stands at the middle of the segment, clear of what hangs above the row below and the other way
            least.append((a, b, max(symbols.LENGTH * symbols.UNIT, label + 2 * clear + 8)))
        return _spread(self.rows, least)

    # --- drawing -----------------------------------------------------------------------------------------------

    def point(self, place: Place) -> tuple[float, float]:
        """(x, y) of a place, in pixels from the first column and row."""
        if isinstance(place, At):
            return self.x[place.column] + place.dx, self.y[place.row] + place.dy
        return self.x[place[0]], self.y[place[1]]

    def drawing(self) -> str:
        """All that stands on the sheet, as SVG elements; lines first, texts over them."""
        shapes: list[str] = []
        for wire in self.sheet.wires:
            shapes.append(self._wire([self.point(p) for p in wire]))
        for v in self.sheet.verticals:
            shapes.append(self._vertical(v))
        for h in self.sheet.horizontals:
            shapes.append(self._horizontal(h))
        for d in self.sheet.devices:
            shapes.append(self._device(d))
        for b in self.sheet.boxes:
            shapes.append(self._box(b))
        for place in self.sheet.dots:
            x, y = self.point(place)
            shapes.append(f'<circle cx="{_n(x)}" cy="{_n(y)}" r="2.6"/>')
        for p in self.sheet.ports:
            shapes.append(self._port(p))
        for column, lines in self.sheet.tags:
            shapes.append(self._tag(column, lines))
        rings = f'<g class="failed">{"".join(self.rings)}</g>' if self.rings else ""
        return f'<g class="lines">{_merged("".join(shapes))}</g>{rings}{"".join(self.text)}'

    def extent(self) -> tuple[float, float, float, float]:
        """(left, top, right, bottom) of what drawing() has drawn, in pixels."""
        return tuple(self.edges)  # type: ignore[return-value]

    def _reach(self, left: float, top: float, right: float, bottom: float) -> None:
        e = self.edges
        e[0], e[1], e[2], e[3] = min(e[0], left), min(e[1], top), max(e[2], right), max(e[3], bottom)

    def _wire(self, points: list[tuple[float, float]]) -> str:
        path = [points[0]]
        for x, y in points[1:]:
            if abs(x - path[-1][0]) <= 0.01 and abs(y - path[-1][1]) <= 0.01:
                continue
            if abs(x - path[-1][0]) > 0.01 and abs(y - path[-1][1]) > 0.01:
                path.append((x, path[-1][1]))
            path.append((x, y))
        for x, y in path:
            self._reach(x, y, x, y)
        if len(path) < 2:
            return ""
        return f'<path d="{_traced(path)}"/>'

    def _put(self, symbol: Symbol, x: float, y: float) -> str:
        left, top, right, bottom = symbol.box
        self._reach(x + left, y + top, x + right, y + bottom)
        return f'<g transform="translate({_n(x)},{_n(y)})">{symbol.svg}</g>'

    def _ring(self, lines: list[Line], left: float, top: float, right: float, bottom: float) -> None:
        """A ring around a part that failed and a stroke through it, where the note says that it did."""
        if any(line.style == "d" and (line.of or line.text) in self.sheet.marks.failed for line in lines):
            width, height = right - left, bottom - top
            self.rings.append(
                f'<rect x="{_n(left)}" y="{_n(top)}" width="{_n(width)}" height="{_n(height)}" rx="12"/>'
                f'<path d="M{_n(left + 3)},{_n(bottom - 3)}L{_n(right - 3)},{_n(top + 3)}"/>'
            )
            self._reach(left, top, right, bottom)

    def _vertical(self, v: items.Vertical) -> str:
        x, top, bottom = self.x[v.column], self.y[v.first], self.y[v.last]
        middle = (self.y[v.segment[0]] + self.y[v.segment[1]]) / 2
        half = symbols.LENGTH * symbols.UNIT / 2
        origin = middle + half if v.symbol.box[1] < -1 else middle - half
        wires = self._wire([(x, top), (x, middle - half)]) + self._wire([(x, middle + half), (x, bottom)])
        side = v.symbol.box[0] - items.GAP if v.left else v.symbol.box[2] + items.GAP
        self._label(v.lines, x + side, middle - len(v.lines) * items.LINE / 2, "end" if v.left else "start")
        self._ring(v.lines, x + v.symbol.box[0] - 6, middle - 22, x + v.symbol.box[2] + 6, middle + 22)
        if _flows(v.lines):
            wires += _arrow(x, middle + half - 9, down=True)
        return wires + self._put(v.symbol, x, origin)

    def _horizontal(self, h: items.Horizontal) -> str:
        y, first, last = self.y[h.row], self.x[h.first], self.x[h.last] - h.short
        middle = (first + last) / 2
        half = symbols.LENGTH * symbols.UNIT / 2
        origin = middle + half if h.symbol.box[0] < -1 else middle - half
        wires = self._wire([(first, y), (middle - half, y)]) + self._wire([(middle + half, y), (last, y)])
        top = y + h.symbol.box[3] + 4 if h.below else y + h.symbol.box[1] - len(h.lines) * items.LINE - 4
        self._label(h.lines, middle, top, "middle")
        self._ring(h.lines, middle - 22, y + h.symbol.box[1] - 4, middle + 22, y + h.symbol.box[3] + 4)
        if _flows(h.lines) and h.symbol.box[3] - h.symbol.box[1] > 11:
            wires += _arrow(middle + half - 9, y)
        return wires + self._put(h.symbol, origin, y)

    def _device(self, d: items.Device) -> str:
        x, y = self.x[d.column] + d.origin[0], self.y[d.row] + d.origin[1]
        left, top, right, bottom = d.symbol.box
        height = len(d.lines) * items.LINE
        self._ring(d.lines, x + left - 3, y + top - 3, x + right + 3, y + bottom + 3)
        if d.label_at == "right":
            self._label(d.lines, x + right + items.GAP, y + (top + bottom) / 2 - height / 2, "start")
        elif d.label_at == "left":
            self._label(d.lines, x + left - items.GAP, y + (top + bottom) / 2 - height / 2, "end")
        elif d.label_at == "above":
            self._label(d.lines, x + (left + right) / 2, y + top - height - 4, "middle")
        else:
            self._label(d.lines, x + (left + right) / 2, y + bottom + 4, "middle")
        for text, dx, dy, anchor in d.symbol.texts:
            self._label([Line(text, "r")], x + dx, y + dy - 11.5, anchor)
        return self._put(d.symbol, x, y)

    def _box(self, b: items.Box) -> str:
        x, top, bottom = self.x[b.column], self.y[b.first] - items.BOX_PAD, self.y[b.last] + items.BOX_PAD
        if b.top:
            self._label([Line(shortened(b.top, 14))], x, top + 2, "middle")
        if b.bottom:
            self._label([Line(shortened(b.bottom, 14))], x, bottom - items.LINE - 1, "middle")
        height = len(b.title) * items.LINE
        self._label(b.title, x, (top + bottom) / 2 - height / 2, "middle")
        for pins, side, anchor in ((b.left, -b.half + 5, "start"), (b.right, b.half - 5, "end")):
            for row, name in pins.items():
                self._label([Line(shortened(name, 14))], x + side, self.y[row] - items.LINE / 2, anchor)
        for pin, number in b.numbers.items():
            where, _, pin_row = pin.partition(" ")
            if where in ("top", "bottom"):
                self._label(
                    [Line(number, "r")], x + 4, top - items.LINE if where == "top" else bottom, "start"
                )
            else:
                edge, anchor = (x - b.half - 4, "end") if where == "left" else (x + b.half + 4, "start")
                self._label([Line(number, "r")], edge, self.y[int(pin_row)] - items.LINE, anchor)
        self._reach(x - b.half, top, x + b.half, bottom)
        return (
            f'<rect x="{_n(x - b.half)}" y="{_n(top)}" width="{_n(2 * b.half)}" height="{_n(bottom - top)}"/>'
        )

    def _port(self, p: items.Port) -> str:
        x, y = self.x[p.column], self.y[p.row]
        side = _beyond(p) if p.right else -_beyond(p)
        self._label(p.lines, x + side, y - len(p.lines) * items.LINE / 2, "start" if p.right else "end")
        self._reach(x - items.TERMINAL, y - items.TERMINAL, x + items.TERMINAL, y + items.TERMINAL)
        mark = ""
        if any(
            line.style == "x" for line in p.lines
        ):  # the sign of dangerous voltage (IEC 60417-5036) in a triangle
            self._reach(x - 11, y, x + 11, y + LIVE)
            mark = (
                f'<path class="lead" d="M{_n(x)},{_n(y + items.TERMINAL)}v3l-10,15h20l-10,-15"/>'
                f'<path class="solid" d="M{_n(x + 1.5)},{_n(y + 9)}l-4.5,6h3l-1.5,5l4.5,-6.5h-3z"/>'
            )
        if any(line.style == "e" for line in p.lines):  # protective earth (IEC 60417-5019)
            self._reach(x - 11, y, x + 11, y + LIVE + 2)
            mark = (
                f'<path class="lead" d="M{_n(x)},{_n(y + items.TERMINAL)}v8m-6,0h12m-10,3.5h8m-6,3.5h4"/>'
                f'<circle class="thin" cx="{_n(x)}" cy="{_n(y + 14)}" r="9.5"/>'
            )
        if _flows(p.lines) and not any(line.style == "e" for line in p.lines):
            mark += _arrow(x + (-9 if p.right else 9), y)
        if not p.terminal:
            return mark
        return f'{mark}<circle class="terminal" cx="{_n(x)}" cy="{_n(y)}" r="{items.TERMINAL:g}"/>'

    def _tag(self, column: int, lines: list[Line]) -> str:
        x, y = self.x[column], self.y[0]
        bottom = y - self.above[0] - 6
        self._label(lines, x, bottom - len(lines) * items.LINE, "middle")
        leader = f'<path class="leader" d="M{_n(x)},{_n(y)} L{_n(x)},{_n(bottom)}"/>'
        return leader + (_arrow(x - 12, y) if _flows(lines) else "")

    def _label(self, lines: list[Line], x: float, top: float, anchor: str) -> None:
        for position, line in enumerate(lines):
            baseline = round(top + position * items.LINE + 11.5)
            size = width(line.text)
            left = {"start": x, "middle": x - size / 2, "end": x - size}[anchor]
            self._reach(left, top + position * items.LINE, left + size, top + (position + 1) * items.LINE)
            where = f'x="{_n(x)}" y="{_n(baseline)}"{fitted(line.text)}'
            if anchor != "start":
                where += f' text-anchor="{anchor}"'
            text = escape(line.text)
            reference = f' data-ref="{escape(line.of or line.text, quote=True)}"' if line.style == "d" else ""
            self.text.append(
                f'<text class="{"ref d" if reference else line.style}"{reference} {where}>{text}</text>'
            )


LIVE = 22.0  # pixels below a terminal for the sign of a rail at mains potential


def _beyond(p: items.Port) -> float:
    """From a terminal to its label; past the sign of earth, where the label has lines beside that."""
    return items.TERMINAL + (14.0 if len(p.lines) > 1 and any(line.style == "e" for line in p.lines) else 6.0)


def _flows(lines: list[Line]) -> bool:
    """Whether a label tells the current of the branch that it stands at."""
    return any(line.flows for line in lines)


def _arrow(x: float, y: float, *, down: bool = False) -> str:
    """The arrow of a current on its wire."""
    head = f"M{_n(x)},{_n(y + 5)}l-3.6,-9h7.2z" if down else f"M{_n(x + 5)},{_n(y)}l-9,-3.6v7.2z"
    return f'<path class="solid" d="{head}"/>'


def _traced(points: Sequence[tuple[float, float]]) -> str:
    """A line of level and upright pieces as SVG has it."""
    found = f"M{_n(points[0][0])},{_n(points[0][1])}"
    for (ax, ay), (bx, by) in zip(points, points[1:]):
        found += f"H{_n(bx)}" if ay == by else f"V{_n(by)}" if ax == bx else f"L{_n(bx)},{_n(by)}"
    return found


_PLAIN = re.compile(r'(?:<path d="[^"]*"/>){2,}')


def _merged(shapes: str) -> str:
    """Plain paths that follow each other as one: they look alike, and a page has hundreds of them."""
    return _PLAIN.sub(lambda found: found[0].replace('"/><path d="', ""), shapes)


def _n(value: float) -> str:
    """A length as SVG has it: a tenth of a pixel is more than enough."""
    text = f"{value:.1f}"
    return text[:-2] if text.endswith(".0") else text


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
