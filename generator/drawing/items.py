"""What stands on a sheet before it has a size: symbols and labels at grid points, and what is marked on it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from generator.circuit.sheet import LONGEST_LINE, Line, Place, shortened
from generator.drawing.lettering import width
from generator.drawing.symbols import Symbol
from generator.language import _, words

LINE = 15.0  # pixels from line to line
GAP = 10.0  # pixels kept free between a label and what is beside it
LEAD = 12.0  # least wire on each side of a symbol
TERMINAL = 3.0  # radius of a terminal
LONGEST_VALUE = 34  # letters of a computed value, which is never cut off in its figures


def widest(lines: Sequence[Line]) -> float:
    """Pixels that the widest of some lines takes; 0 where there are none."""
    return max((width(line.text) for line in lines), default=0.0)


@dataclass(frozen=True)
class Marks:
    """What a note has to say on a drawing: flags (value -> the sign of its reading), what failed, what is earthed."""

    flags: Mapping[str, str] = field(default_factory=dict)
    failed: frozenset[str] = frozenset()
    earthed: bool = False  # protection class I: the case lies on protective earth

    def key(self, designators: Iterable[str]) -> tuple[object, ...]:
        """Alike for marks that look alike on a drawing with these designators."""
        return tuple(sorted(self.flags.items())), self.failed & frozenset(designators), self.earthed


def flagged(lines: Sequence[Line], marks: Marks) -> list[Line]:
    """Lines with the flag of the reading that was taken there before them."""
    return [
        replace(line, text=f"{marks.flags[line.of]} {line.text}") if line.of in marks.flags else line
        for line in lines
    ]


def lines_of(label: Sequence[str | Line]) -> list[Line]:
    """A label as lines; plain text is a value. Roles are put in words, empty lines left out, long ones shortened."""
    lines = [entry if isinstance(entry, Line) else Line(entry) for entry in label]
    lines = [
        line
        if line.own
        else replace(line, text=_(line.text) if line.style in ("r", "x", "e") else words(line.text))
        for line in lines
    ]
    return [
        replace(line, text=shortened(line.text, LONGEST_VALUE if line.style == "n" else LONGEST_LINE))
        for line in lines
        if line.text
    ]


@dataclass
class Horizontal:
    """A symbol along a row, between two columns; its label above or below. short: pixels by which it ends before the
    last of them."""

    symbol: Symbol
    first: int
    last: int
    row: int
    lines: list[Line]
    below: bool
    short: float = 0.0


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
    label_above: bool  # else to its right


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

    @property
    def pins_at_ends(self) -> bool:
        """Whether its pins lie above and below its title, and none beside it."""
        return self.first < self.last and {*self.left, *self.right} <= {self.first, self.last}


@dataclass
class Port:
    """Where the circuit goes on: a terminal or a bare end, with a label to its right or left."""

    column: int
    row: int
    right: bool
    lines: list[Line]
    terminal: bool


@dataclass
class Placed:
    """All that a drawing holds, on its grid. zigzag asks for the zig-zag resistor instead of the box."""

    zigzag: bool = False
    marks: Marks = field(default_factory=Marks)
    horizontals: list[Horizontal] = field(default_factory=list)
    verticals: list[Vertical] = field(default_factory=list)
    devices: list[Device] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)
    ports: list[Port] = field(default_factory=list)
    wires: list[tuple[Place, ...]] = field(default_factory=list)
    dots: dict[Place, None] = field(default_factory=dict)
    tags: list[tuple[int, list[Line]]] = field(default_factory=list)


BOX_PAD = 18.0  # from the outermost pin's row to the edge of a chip
