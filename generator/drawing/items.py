"""What stands on a sheet before it has a size: symbols and labels at grid points, and how wide a text is."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from generator.circuit.sheet import LONGEST_LINE, Line, shortened
from generator.drawing.symbols import Symbol
from generator.language import _

CHARACTER = 7.3  # pixels a letter at 12 px, monospaced, with a little in hand
LINE = 15.0  # pixels from line to line
GAP = 10.0  # pixels kept free between a label and what is beside it
LEAD = 12.0  # least wire on each side of a symbol
TERMINAL = 3.0  # radius of a terminal
LONGEST_VALUE = 34  # letters of a computed value, which is never cut off in its figures


def width(text: str) -> float:
    """Pixels that a text takes; East Asian wide letters count twice."""
    letters = sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)
    return letters * CHARACTER


def widest(lines: Sequence[Line]) -> float:
    """Pixels that the widest of some lines takes; 0 where there are none."""
    return max((width(line.text) for line in lines), default=0.0)


def lines_of(label: Sequence[str | Line]) -> list[Line]:
    """A label as lines; plain text is a value. Roles are put in words, empty lines left out, long ones shortened."""
    lines = [entry if isinstance(entry, Line) else Line(entry) for entry in label]
    lines = [Line(_(line.text), line.style) if line.style == "r" else line for line in lines]
    return [
        Line(shortened(line.text, LONGEST_VALUE if line.style == "n" else LONGEST_LINE), line.style)
        for line in lines
        if line.text
    ]


@dataclass
class Horizontal:
    """A symbol along a row, between two columns; its label above or below."""

    symbol: Symbol
    first: int
    last: int
    row: int
    lines: list[Line]
    below: bool


@dataclass
class Vertical:
    """A symbol along a column, from the row first to the row last; its label to the right or left.

    segment: the two neighbouring rows between which the symbol itself stands.
    """

    symbol: Symbol
    column: int
    first: int
    last: int
    lines: list[Line]
    left: bool
    segment: tuple[int, int]


@dataclass
class Device:
    """A symbol with more than two ends, put at one grid point."""

    symbol: Symbol
    column: int
    row: int
    origin: tuple[float, float]  # of the symbol, from the grid point
    lines: list[Line]
    label_at: str  # "right", "left", "below" or "above"


@dataclass
class Box:
    """A chip drawn as a box around a column, half pixels to each side. left, right: row -> name of the pin there.

    numbers: "left 2", "right 0" (side and row), "top" or "bottom" -> the number of the pin there, written outside.
    """

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
class Port:
    """Where the circuit goes on: a terminal or a bare end, with a label to its right or left."""

    column: int
    row: int
    right: bool
    lines: list[Line]
    terminal: bool


BOX_PAD = 18.0  # from the outermost pin's row to the edge of a chip
