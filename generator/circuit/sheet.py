"""What drawings share: a grid of columns and rows, labels placed by rule, rails, ports, border and title block.

A kind puts symbols between grid points (column, row); rows run downwards, row 0 is the supply, the last row the
common rail. Nothing has a size until render(): then every column and row gets the room that the symbols and
labels in it need, so that no text meets another text or a symbol, however long the labels are. Letters are of one
width (a monospaced face), so that text can be measured without a screen.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape

from generator.circuit import symbols
from generator.circuit.frame import TitleBlock, framed
from generator.circuit.symbols import Symbol

CHARACTER = 7.3  # pixels a letter at 12 px, monospaced, with a little in hand
LINE = 15.0  # pixels from line to line
GAP = 10.0  # pixels kept free between a label and what is beside it
LEAD = 12.0  # least wire on each side of a symbol
TERMINAL = 3.0  # radius of a terminal
LONGEST_LINE = 22  # letters of a label on a drawing; the table beside it has the whole text
LONGEST_VALUE = 34  # letters of a computed value, which is never cut off in its figures


@dataclass(frozen=True)
class At:
    """A place on the sheet: a grid point moved by pixels."""

    column: int
    row: int
    dx: float = 0.0
    dy: float = 0.0


Place = tuple[int, int] | At


@dataclass(frozen=True)
class Line:
    """A line of a label. style: "d" designator, "v" value, "n" computed value at a node, "r" rail or port name."""

    text: str
    style: str = "v"


def width(text: str) -> float:
    """Pixels that a text takes; East Asian wide letters count twice."""
    letters = sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)
    return letters * CHARACTER


def shortened(text: str, letters: int = LONGEST_LINE) -> str:
    return text if len(text) <= letters else text[: letters - 1].rstrip() + "…"


def lines_of(label: Sequence[str | Line]) -> list[Line]:
    """A label as lines; plain text is a value. Empty lines are left out, long ones shortened."""
    lines = [entry if isinstance(entry, Line) else Line(entry) for entry in label]
    return [
        Line(shortened(line.text, LONGEST_VALUE if line.style == "n" else LONGEST_LINE), line.style)
        for line in lines
        if line.text
    ]


@dataclass
class _Horizontal:
    symbol: Symbol
    first: int
    last: int
    row: int
    lines: list[Line]
    below: bool


@dataclass
class _Vertical:
    symbol: Symbol
    column: int
    first: int
    last: int
    lines: list[Line]
    left: bool
    segment: tuple[int, int]


@dataclass
class _Device:
    symbol: Symbol
    column: int
    row: int
    origin: tuple[float, float]  # of the symbol, from the grid point
    lines: list[Line]
    label_at: str  # "right", "left", "below" or "above"


@dataclass
class _Box:
    column: int
    first: int
    last: int
    half: float
    title: list[Line]
    left: dict[int, str]
    right: dict[int, str]
    top: str
    bottom: str
    numbers: dict[str, str]


@dataclass
class _Port:
    column: int
    row: int
    right: bool
    lines: list[Line]
    terminal: bool


@dataclass
class Sheet:
    """One drawing under construction. zigzag asks for the zig-zag resistor instead of the box."""

    zigzag: bool = False
    _horizontals: list[_Horizontal] = field(default_factory=list)
    _verticals: list[_Vertical] = field(default_factory=list)
    _devices: list[_Device] = field(default_factory=list)
    _boxes: list[_Box] = field(default_factory=list)
    _ports: list[_Port] = field(default_factory=list)
    _wires: list[tuple[Place, ...]] = field(default_factory=list)
    _dots: list[Place] = field(default_factory=list)
    _tags: list[tuple[int, list[Line]]] = field(default_factory=list)

    # --- what a kind calls -------------------------------------------------------------------------------------

    def across(self, word: str, row: int, first: int, last: int, label: Sequence[str | Line] = (), *,
               below: bool = False, reverse: bool = False) -> None:  # fmt: skip
        """A two-terminal symbol along a row from one column to another, its label above (or below) it."""
        direction = "left" if reverse else "right"
        self._horizontals.append(_Horizontal(self._two(word, direction), first, last, row, lines_of(label), below))

    def down(self, word: str, column: int, first: int, last: int, label: Sequence[str | Line] = (), *,
             left: bool = False, reverse: bool = False, segment: tuple[int, int] | None = None) -> None:  # fmt: skip
        """A two-terminal symbol down a column from one row to another, its label to its right (or left).

        segment: the two neighbouring rows between which the symbol itself stands, where the column spans more.
        """
        symbol = self._two(word, "up" if reverse else "down")
        self._verticals.append(
            _Vertical(symbol, column, first, last, lines_of(label), left, segment or (first, first + 1))
        )

    def device(self, word: str, column: int, row: int, on: str, label: Sequence[str | Line] = (), *,
               also: str = "", flip: bool = False, reverse: bool = False, label_at: str = "right") -> dict[str, At]:  # fmt: skip
        """A symbol with several terminals, set so that its terminal `on` lies on the column and `also` on the row.

        Returns each terminal's place, to which wires can be led. also defaults to `on`.
        """
        symbol = symbols.device(word, flip, reverse)
        x, y = symbol.anchors[on][0], symbol.anchors[also or on][1]
        self._devices.append(_Device(symbol, column, row, (-x, -y), lines_of(label), label_at))
        return {name: At(column, row, ax - x, ay - y) for name, (ax, ay) in symbol.anchors.items()}

    def box(self, column: int, first: int, last: int, title: Sequence[str | Line], *, left: dict[int, str] | None = None,
            right: dict[int, str] | None = None, top: str = "", bottom: str = "",
            numbers: dict[str, str] | None = None) -> dict[str, At]:  # fmt: skip
        """A chip around a column from row first to row last, pins on its sides by row, one on top and bottom.

        numbers: the pin number written on the wire of "left 0", "right 0", "top", "bottom".
        Returns the places of its pins under the same names.
        """
        lines = lines_of(title)
        left, right = left or {}, right or {}
        names = [width(shortened(n, 14)) for n in left.values()] + [0.0], [width(shortened(n, 14)) for n in right.values()] + [0.0]
        inner = max(width(line) for line in ("", *(entry.text for entry in lines), shortened(top, 14), shortened(bottom, 14)))
        half = max(30.0, inner / 2 + max(*names[0], *names[1]) + GAP * 1.5)
        self._boxes.append(_Box(column, first, last, half, lines, left, right, top, bottom, numbers or {}))
        pins = {f"left {row}": At(column, row, -half) for row in left}
        pins |= {f"right {row}": At(column, row, half) for row in right}
        pins |= {"top": At(column, first, 0, -_BOX_PAD), "bottom": At(column, last, 0, _BOX_PAD)}
        return pins

    def wire(self, *places: Place) -> None:
        """A wire through places; between two that are not in line it runs along the row first, then the column."""
        self._wires.append(places)

    def dot(self, *places: Place) -> None:
        """Junctions."""
        self._dots.extend(places)

    def tag(self, column: int, *label: str | Line) -> None:
        """A name or computed value above a node of row 0, joined to it by a thin line."""
        self._tags.append((column, lines_of(label)))

    def port(self, column: int, row: int, label: Sequence[str | Line], *, right: bool = False, terminal: bool = True) -> None:
        """Where the drawing ends: a terminal with its name beyond it. Only at the outermost columns of its row."""
        self._ports.append(_Port(column, row, right, lines_of(label), terminal))

    def _two(self, word: str, direction: str) -> Symbol:
        if word == "resistor" and self.zigzag:
            word = "zig-zag resistor"
        return symbols.two_terminal(word, direction)

    # --- layout ------------------------------------------------------------------------------------------------

    def render(self, block: TitleBlock) -> str:
        """The finished sheet as SVG text."""
        layout = _Layout(self)
        return framed(layout.drawing(), layout.extent(), block)


_BOX_PAD = 18.0  # from the outermost pin's row to the edge of a chip


class _Layout:
    """Positions of columns and rows from what stands in them."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        places = [p for wire in sheet._wires for p in wire] + sheet._dots
        columns = {_column(p) for p in places} | {v.column for v in sheet._verticals} | {d.column for d in sheet._devices}
        columns |= {c for h in sheet._horizontals for c in (h.first, h.last)} | {b.column for b in sheet._boxes}
        columns |= {p.column for p in sheet._ports} | {c for c, _ in sheet._tags}
        rows = {_row(p) for p in places} | {r for v in sheet._verticals for r in (v.first, v.last)} | {0}
        rows |= {h.row for h in sheet._horizontals} | {d.row for d in sheet._devices} | {p.row for p in sheet._ports}
        rows |= {r for b in sheet._boxes for r in (b.first, b.last)}
        self.columns, self.rows = sorted(columns), sorted(rows)
        self.left = dict.fromkeys(self.columns, 8.0)
        self.right = dict.fromkeys(self.columns, 8.0)
        self.above = dict.fromkeys(self.rows, 4.0)
        self.below = dict.fromkeys(self.rows, 4.0)
        self._sides()
        self.x = self._solve_columns()
        self.y = self._solve_rows()
        self.text: list[str] = []
        self.edges = [0.0, 0.0, 0.0, 0.0]  # left, top, right, bottom of all that is drawn

    def _sides(self) -> None:
        """The room that each column needs to its left and right, each row above and below."""
        for v in self.sheet._verticals:
            label = max((width(line.text) for line in v.lines), default=0.0)
            room = label + GAP if v.lines else 0.0
            self.left[v.column] = max(self.left[v.column], -v.symbol.box[0] + (room if v.left else 0))
            self.right[v.column] = max(self.right[v.column], v.symbol.box[2] + (0 if v.left else room))
        for d in self.sheet._devices:
            label = max((width(line.text) for line in d.lines), default=0.0)
            left, right = d.symbol.box[0] + d.origin[0], d.symbol.box[2] + d.origin[0]
            self.left[d.column] = max(self.left[d.column], -left + (label + GAP if d.label_at == "left" else 0))
            self.right[d.column] = max(self.right[d.column], right + (label + GAP if d.label_at == "right" else 0))
            if d.label_at in ("above", "below"):
                middle = (left + right) / 2
                self.left[d.column] = max(self.left[d.column], label / 2 - middle)
                self.right[d.column] = max(self.right[d.column], label / 2 + middle)
            extra = len(d.lines) * LINE + 4
            top, bottom = d.symbol.box[1] + d.origin[1], d.symbol.box[3] + d.origin[1]
            half_label = len(d.lines) * LINE / 2 if d.label_at in ("left", "right") else 0.0
            self.above[d.row] = max(self.above[d.row], -top + (extra if d.label_at == "above" else 0), half_label)
            self.below[d.row] = max(self.below[d.row], bottom + (extra if d.label_at == "below" else 0), half_label)
        for b in self.sheet._boxes:
            number = max((width(text) for text in b.numbers.values()), default=0.0)
            self.left[b.column] = max(self.left[b.column], b.half + LEAD + number)
            self.right[b.column] = max(self.right[b.column], b.half + LEAD + number)
            for row in {**b.left, **b.right}:
                self.above[row] = max(self.above[row], LINE if number else 0.0)
            self.above[b.first] = max(self.above[b.first], _BOX_PAD + LINE * (1 if b.top else 0.3))
            self.below[b.last] = max(self.below[b.last], _BOX_PAD + LINE * (1 if b.bottom else 0.3))
        for h in self.sheet._horizontals:
            side = self.below if h.below else self.above
            edge = h.symbol.box[3] if h.below else -h.symbol.box[1]
            other = self.above if h.below else self.below
            side[h.row] = max(side[h.row], edge + len(h.lines) * LINE + 6)
            other[h.row] = max(other[h.row], -h.symbol.box[1] if h.below else h.symbol.box[3])
        for p in self.sheet._ports:
            half = len(p.lines) * LINE / 2
            self.above[p.row] = max(self.above[p.row], half)
            self.below[p.row] = max(self.below[p.row], half)
            room = TERMINAL + 6 + max((width(line.text) for line in p.lines), default=0.0)
            side = self.right if p.right else self.left
            side[p.column] = max(side[p.column], room)

    def _solve_columns(self) -> dict[int, float]:
        least: list[tuple[int, int, float]] = []
        for a, b in zip(self.columns, self.columns[1:]):
            least.append((a, b, self.right[a] + self.left[b] + GAP))
        for h in self.sheet._horizontals:
            label = max((width(line.text) for line in h.lines), default=0.0)
            a, b = min(h.first, h.last), max(h.first, h.last)
            least.append((a, b, max(symbols.LENGTH * symbols.UNIT, label + 2 * LEAD)))
        tags = sorted(self.sheet._tags, key=lambda t: t[0])
        for (a, first), (b, second) in zip(tags, tags[1:]):
            half = (max(width(x.text) for x in first) + max(width(x.text) for x in second)) / 2
            least.append((a, b, half + 2 * GAP))
        return _spread(self.columns, least)

    def _solve_rows(self) -> dict[int, float]:
        least: list[tuple[int, int, float]] = []
        for a, b in zip(self.rows, self.rows[1:]):
            least.append((a, b, self.below[a] + self.above[b] + 6))
        for box in self.sheet._boxes:
            names = LINE + 6 if box.top or box.bottom else 4.0
            if box.first != box.last:
                least.append((box.first, box.last, len(box.title) * LINE + 2 * names - 2 * _BOX_PAD))
        for v in self.sheet._verticals:
            a, b = v.segment
            label = len(v.lines) * LINE
            clear = max(self.above[b], self.below[a])
            # the label stands at the middle of the segment, clear of what hangs above the row below and the other way
            least.append((a, b, max(symbols.LENGTH * symbols.UNIT, label + 2 * clear + 8)))
        return _spread(self.rows, least)

    # --- drawing -----------------------------------------------------------------------------------------------

    def point(self, place: Place) -> tuple[float, float]:
        if isinstance(place, At):
            return self.x[place.column] + place.dx, self.y[place.row] + place.dy
        return self.x[place[0]], self.y[place[1]]

    def drawing(self) -> str:
        shapes: list[str] = []
        for wire in self.sheet._wires:
            shapes.append(self._wire([self.point(p) for p in wire]))
        for v in self.sheet._verticals:
            shapes.append(self._vertical(v))
        for h in self.sheet._horizontals:
            shapes.append(self._horizontal(h))
        for d in self.sheet._devices:
            shapes.append(self._device(d))
        for b in self.sheet._boxes:
            shapes.append(self._box(b))
        for place in self.sheet._dots:
            x, y = self.point(place)
            shapes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.6" fill="currentColor"/>')
        for p in self.sheet._ports:
            shapes.append(self._port(p))
        for column, lines in self.sheet._tags:
            shapes.append(self._tag(column, lines))
        return f'<g class="lines">{"".join(shapes)}</g>{"".join(self.text)}'

    def extent(self) -> tuple[float, float, float, float]:
        return tuple(self.edges)  # type: ignore[return-value]

    def _reach(self, left: float, top: float, right: float, bottom: float) -> None:
        e = self.edges
        e[0], e[1], e[2], e[3] = min(e[0], left), min(e[1], top), max(e[2], right), max(e[3], bottom)

    def _wire(self, points: list[tuple[float, float]]) -> str:
        path = [points[0]]
        for x, y in points[1:]:
            if abs(x - path[-1][0]) > 0.01 and abs(y - path[-1][1]) > 0.01:
                path.append((x, path[-1][1]))
            path.append((x, y))
        for x, y in path:
            self._reach(x, y, x, y)
        return '<path d="M' + " L".join(f"{x:.1f},{y:.1f}" for x, y in path) + '"/>'

    def _put(self, symbol: Symbol, x: float, y: float) -> str:
        left, top, right, bottom = symbol.box
        self._reach(x + left, y + top, x + right, y + bottom)
        return f'<g transform="translate({x:.1f},{y:.1f})">{symbol.svg}</g>'

    def _vertical(self, v: _Vertical) -> str:
        x, top, bottom = self.x[v.column], self.y[v.first], self.y[v.last]
        middle = (self.y[v.segment[0]] + self.y[v.segment[1]]) / 2
        half = symbols.LENGTH * symbols.UNIT / 2
        origin = middle + half if v.symbol.box[1] < -1 else middle - half
        wires = self._wire([(x, top), (x, middle - half)]) + self._wire([(x, middle + half), (x, bottom)])
        side = v.symbol.box[0] - GAP if v.left else v.symbol.box[2] + GAP
        self._label(v.lines, x + side, middle - len(v.lines) * LINE / 2, "end" if v.left else "start")
        return wires + self._put(v.symbol, x, origin)

    def _horizontal(self, h: _Horizontal) -> str:
        y, first, last = self.y[h.row], self.x[h.first], self.x[h.last]
        middle = (first + last) / 2
        half = symbols.LENGTH * symbols.UNIT / 2
        origin = middle + half if h.symbol.box[0] < -1 else middle - half
        wires = self._wire([(first, y), (middle - half, y)]) + self._wire([(middle + half, y), (last, y)])
        top = y + h.symbol.box[3] + 4 if h.below else y + h.symbol.box[1] - len(h.lines) * LINE - 4
        self._label(h.lines, middle, top, "middle")
        return wires + self._put(h.symbol, origin, y)

    def _device(self, d: _Device) -> str:
        x, y = self.x[d.column] + d.origin[0], self.y[d.row] + d.origin[1]
        left, top, right, bottom = d.symbol.box
        height = len(d.lines) * LINE
        if d.label_at == "right":
            self._label(d.lines, x + right + GAP, y + (top + bottom) / 2 - height / 2, "start")
        elif d.label_at == "left":
            self._label(d.lines, x + left - GAP, y + (top + bottom) / 2 - height / 2, "end")
        elif d.label_at == "above":
            self._label(d.lines, x + (left + right) / 2, y + top - height - 4, "middle")
        else:
            self._label(d.lines, x + (left + right) / 2, y + bottom + 4, "middle")
        return self._put(d.symbol, x, y)

    def _box(self, b: _Box) -> str:
        x, top, bottom = self.x[b.column], self.y[b.first] - _BOX_PAD, self.y[b.last] + _BOX_PAD
        if b.top:
            top -= 0.0
            self._label([Line(shortened(b.top, 14))], x, top + 2, "middle")
        if b.bottom:
            self._label([Line(shortened(b.bottom, 14))], x, bottom - LINE - 1, "middle")
        height = len(b.title) * LINE
        self._label(b.title, x, (top + bottom) / 2 - height / 2, "middle")
        for pins, side, anchor in ((b.left, -b.half + 5, "start"), (b.right, b.half - 5, "end")):
            for row, name in pins.items():
                self._label([Line(shortened(name, 14))], x + side, self.y[row] - LINE / 2, anchor)
        for pin, number in b.numbers.items():
            where, _, pin_row = pin.partition(" ")
            if where in ("top", "bottom"):
                self._label([Line(number, "r")], x + 4, top - LINE if where == "top" else bottom, "start")
            else:
                edge, anchor = (x - b.half - 4, "end") if where == "left" else (x + b.half + 4, "start")
                self._label([Line(number, "r")], edge, self.y[int(pin_row)] - LINE, anchor)
        self._reach(x - b.half, top, x + b.half, bottom)
        return f'<rect x="{x - b.half:.1f}" y="{top:.1f}" width="{2 * b.half:.1f}" height="{bottom - top:.1f}"/>'

    def _port(self, p: _Port) -> str:
        x, y = self.x[p.column], self.y[p.row]
        side = TERMINAL + 6 if p.right else -TERMINAL - 6
        self._label(p.lines, x + side, y - len(p.lines) * LINE / 2, "start" if p.right else "end")
        self._reach(x - TERMINAL, y - TERMINAL, x + TERMINAL, y + TERMINAL)
        return f'<circle class="terminal" cx="{x:.1f}" cy="{y:.1f}" r="{TERMINAL:g}"/>' if p.terminal else ""

    def _tag(self, column: int, lines: list[Line]) -> str:
        x, y = self.x[column], self.y[0]
        bottom = y - self.above[0] - 6
        self._label(lines, x, bottom - len(lines) * LINE, "middle")
        return f'<path class="leader" d="M{x:.1f},{y:.1f} L{x:.1f},{bottom:.1f}"/>'

    def _label(self, lines: list[Line], x: float, top: float, anchor: str) -> None:
        for position, line in enumerate(lines):
            baseline = top + position * LINE + 11.5
            size = width(line.text)
            left = {"start": x, "middle": x - size / 2, "end": x - size}[anchor]
            self._reach(left, top + position * LINE, left + size, top + (position + 1) * LINE)
            where = f'x="{x:.1f}" y="{baseline:.1f}"' + ("" if anchor == "start" else f' text-anchor="{anchor}"')
            text = escape(line.text)
            reference = f' data-ref="{escape(line.text, quote=True)}"' if line.style == "d" else ""
            self.text.append(f'<text class="{"ref d" if reference else line.style}"{reference} {where}>{text}</text>')


def _column(place: Place) -> int:
    return place.column if isinstance(place, At) else place[0]


def _row(place: Place) -> int:
    return place.row if isinstance(place, At) else place[1]


def _spread(keys: list[int], least: list[tuple[int, int, float]]) -> dict[int, float]:
    """The smallest positions that keep every least distance, from the first key at 0."""
    position = {key: 0.0 for key in keys}
    for key in keys:
        for a, b, distance in least:
            if b == key:
                position[key] = max(position[key], position[a] + distance)
    return {key: round(value) for key, value in position.items()}
