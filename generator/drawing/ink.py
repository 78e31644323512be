"""A sheet as SVG: symbols, wires and labels where the layout has them; what is wire is thin, what is a part is heavy."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from html import escape
from itertools import pairwise

from generator.circuit.sheet import Line, shortened
from generator.drawing import symbols
from generator.drawing.items import (
    BOX_PAD,
    GAP,
    LINE,
    TERMINAL,
    Box,
    Device,
    Horizontal,
    Placed,
    Port,
    Vertical,
)
from generator.drawing.layout import LIVE, RING, Layout, beyond
from generator.drawing.lettering import fitted, width
from generator.drawing.symbols import Symbol

DOT = 2.6  # radius of a junction


class Ink(Layout):
    """A layout with all that is drawn on it."""

    def __init__(self, sheet: Placed) -> None:
        super().__init__(sheet)
        self.text: list[str] = []
        self.rings: list[str] = []  # around what has failed
        # left, top, right, bottom of all that is drawn
        self.edges = [math.inf, math.inf, -math.inf, -math.inf]

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
            self._reach(x - DOT, y - DOT, x + DOT, y + DOT)
            shapes.append(f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{DOT:g}"/>')
        for p in self.sheet.ports:
            shapes.append(self._port(p))
        for column, lines in self.sheet.tags:
            shapes.append(self._tag(column, lines))
        rings = f'<g class="failed">{"".join(self.rings)}</g>' if self.rings else ""
        return f'<g class="lines">{_merged("".join(shapes))}</g>{rings}{"".join(self.text)}'

    def extent(self) -> tuple[float, float, float, float]:
        """(left, top, right, bottom) of what drawing() has drawn, in pixels."""
        drawn = tuple(self.edges) if math.isfinite(self.edges[0]) else (0.0, 0.0, 0.0, 0.0)
        return drawn  # type: ignore[return-value]

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

    def _vertical(self, v: Vertical) -> str:
        x, top, bottom = self.x[v.column], self.y[v.first], self.y[v.last]
        middle = (self.y[v.segment[0]] + self.y[v.segment[1]]) / 2
        half = symbols.LENGTH * symbols.UNIT / 2
        origin = middle + half if v.symbol.turned else middle - half
        wires = self._wire([(x, top), (x, middle - half)]) + self._wire([(x, middle + half), (x, bottom)])
        side = v.symbol.box[0] - GAP if v.left else v.symbol.box[2] + GAP
        self._label(v.lines, x + side, middle - len(v.lines) * LINE / 2, "end" if v.left else "start")
        self._ring(v.lines, x + v.symbol.box[0] - 6, middle - RING, x + v.symbol.box[2] + 6, middle + RING)
        if _flows(v.lines):
            wires += _arrow(x, middle + half - 9, down=True)
        return wires + self._put(v.symbol, x, origin)

    def _horizontal(self, h: Horizontal) -> str:
        y, first, last = self.y[h.row], self.x[h.first], self.x[h.last] - h.short
        middle = (first + last) / 2
        half = symbols.LENGTH * symbols.UNIT / 2
        origin = middle + half if h.symbol.turned else middle - half
        wires = self._wire([(first, y), (middle - half, y)]) + self._wire([(middle + half, y), (last, y)])
        top = y + h.symbol.box[3] + 4 if h.below else y + h.symbol.box[1] - len(h.lines) * LINE - 4
        self._label(h.lines, middle, top, "middle")
        self._ring(h.lines, middle - RING, y + h.symbol.box[1] - 4, middle + RING, y + h.symbol.box[3] + 4)
        if _flows(h.lines) and h.symbol.box[3] - h.symbol.box[1] > 11:
            wires += _arrow(middle + half - 9, y)
        return wires + self._put(h.symbol, origin, y)

    def _device(self, d: Device) -> str:
        x, y = self.x[d.column] + d.origin[0], self.y[d.row] + d.origin[1]
        left, top, right, bottom = d.symbol.box
        height = len(d.lines) * LINE
        self._ring(d.lines, x + left - 3, y + top - 3, x + right + 3, y + bottom + 3)
        if d.label_above:
            self._label(d.lines, x + (left + right) / 2, y + top - height - 4, "middle")
        else:
            self._label(d.lines, x + right + GAP, y + (top + bottom) / 2 - height / 2, "start")
        for text, dx, dy, anchor in d.symbol.texts:
            self._label([Line(text, "r")], x + dx, y + dy - 11.5, anchor)
        return self._put(d.symbol, x, y)

    def _box(self, b: Box) -> str:
        x, top, bottom = self.x[b.column], self.y[b.first] - BOX_PAD, self.y[b.last] + BOX_PAD
        if b.top:
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
        return (
            f'<rect x="{_n(x - b.half)}" y="{_n(top)}" width="{_n(2 * b.half)}" height="{_n(bottom - top)}"/>'
        )

    def _port(self, p: Port) -> str:
        x, y = self.x[p.column], self.y[p.row]
        side = beyond(p) if p.right else -beyond(p)
        self._label(p.lines, x + side, y - len(p.lines) * LINE / 2, "start" if p.right else "end")
        mark = ""
        # the sign of dangerous voltage (IEC 60417-5036) in a triangle
        if any(line.style == "x" for line in p.lines):
            self._reach(x - 11, y, x + 11, y + LIVE)
            mark = (
                f'<path class="lead" d="M{_n(x)},{_n(y + TERMINAL)}v3l-10,15h20l-10,-15"/>'
                f'<path class="solid" d="M{_n(x + 1.5)},{_n(y + 9)}l-4.5,6h3l-1.5,5l4.5,-6.5h-3z"/>'
            )
        if any(line.style == "e" for line in p.lines):  # protective earth (IEC 60417-5019)
            self._reach(x - 11, y, x + 11, y + LIVE + 2)
            mark = (
                f'<path class="lead" d="M{_n(x)},{_n(y + TERMINAL)}v8m-6,0h12m-10,3.5h8m-6,3.5h4"/>'
                f'<circle class="thin" cx="{_n(x)}" cy="{_n(y + 14)}" r="9.5"/>'
            )
        if _flows(p.lines) and not any(line.style == "e" for line in p.lines):
            mark += _arrow(x + (-9 if p.right else 9), y)
        if not p.terminal:
            return mark
        return f'{mark}<circle class="terminal" cx="{_n(x)}" cy="{_n(y)}" r="{TERMINAL:g}"/>'

    def _tag(self, column: int, lines: list[Line]) -> str:
        x, y = self.x[column], self.y[0]
        bottom = y - self.above[0] - 6
        self._label(lines, x, bottom - len(lines) * LINE, "middle")
        leader = f'<path class="leader" d="M{_n(x)},{_n(y)} L{_n(x)},{_n(bottom)}"/>'
        return leader + (_arrow(x - 12, y) if _flows(lines) else "")

    def _label(self, lines: list[Line], x: float, top: float, anchor: str) -> None:
        for position, line in enumerate(lines):
            baseline = round(top + position * LINE + 11.5)
            size = width(line.text)
            left = {"start": x, "middle": x - size / 2, "end": x - size}[anchor]
            self._reach(left, top + position * LINE, left + size, top + (position + 1) * LINE)
            where = f'x="{_n(x)}" y="{_n(baseline)}"{fitted(line.text)}'
            if anchor != "start":
                where += f' text-anchor="{anchor}"'
            text = escape(line.text)
            reference = f' data-ref="{escape(line.of or line.text, quote=True)}"' if line.style == "d" else ""
            self.text.append(
                f'<text class="{"ref d" if reference else line.style}"{reference} {where}>{text}</text>'
            )


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
    for (ax, ay), (bx, by) in pairwise(points):
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
