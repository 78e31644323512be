"""What a kind of block may call to draw itself: the sheet, as generator.drawing.sheet makes it.

A kind puts symbols between grid points (column, row); rows run downwards, row 0 is the supply, the last row the
common rail. How large anything becomes is for drawing/ to find out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

LONGEST_LINE = 22  # letters of a label on a drawing; the table beside it has the whole text


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
    """A line of a label. style: "d" designator, "v" value, "n" computed value at a node, "r" rail or port name.

    "x" a rail at mains potential and "e" protective earth, which get the signs for that. of: the value that a computed one is, so that a reading
    can be shown where it was taken; of a designator, what the note calls the part, where that is another. flows: it is the current of this branch, which gets an arrow.
    own: a name that the note's author gave, the same in every language.
    """

    text: str
    style: str = "v"
    of: str = ""
    flows: bool = False
    own: bool = False


def shortened(text: str, letters: int = LONGEST_LINE) -> str:
    """A text of at most so many letters, ending in … where it is cut."""
    return text if len(text) <= letters else text[: letters - 1].rstrip() + "…"


class Sheet(Protocol):
    """The calls are described where they are made real, in generator.drawing.sheet."""

    def across(self, word: str, row: int, first: int, last: int | At, label: Sequence[str | Line] = ..., *,
               below: bool = ..., reverse: bool = ...) -> None: ...  # fmt: skip

    def down(self, word: str, column: int, first: int, last: int, label: Sequence[str | Line] = ..., *,
             left: bool = ..., reverse: bool = ..., segment: tuple[int, int] | None = ...) -> None: ...  # fmt: skip

    def device(self, word: str, column: int, row: int, on: str, label: Sequence[str | Line] = ..., *, also: str = ...,
               flip: bool = ..., reverse: bool = ..., label_above: bool = ...) -> dict[str, At]: ...  # fmt: skip

    def box(self, column: int, first: int, last: int, title: Sequence[str | Line], *, left: dict[int, str] | None = ...,
            right: dict[int, str] | None = ..., top: str = ..., bottom: str = ...,
            numbers: dict[str, str] | None = ...) -> dict[str, At]: ...  # fmt: skip

    def wire(self, *places: Place) -> None: ...

    def dot(self, *places: Place) -> None: ...

    def tag(self, column: int, *label: str | Line) -> None: ...

    def port(self, column: int, row: int, label: Sequence[str | Line], *, right: bool = ...,
             terminal: bool = ...) -> None: ...  # fmt: skip
