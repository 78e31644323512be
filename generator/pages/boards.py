"""A board's photos and the places of its marks, for the theme to lay over one another.

The bottom is shown as it was photographed. board.js lays it over the top, mirrored, so that the tracks line up with
the parts, and puts in the slider. Marks are placed in each photo's own coordinates.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from generator.circuit.block import Block
from generator.drawing.board import down, height_of, letters_at
from generator.language import _
from generator.notes.note import Note
from generator.notes.record import Mark
from generator.pages.troubles import problem_at
from generator.problems import Problem
from generator.prose.photos import Photo, Refused


@dataclass(frozen=True)
class MarkView:
    """A mark: one unit is one per cent of the photo's width, so that circles stay round.

    label_x, label_y, anchor: where the designator stands beside its circle. says: what is known of the place.
    """

    part: str
    x: float
    y: float
    label_x: float
    label_y: float
    anchor: str
    says: str = ""
    failed: bool = False


@dataclass(frozen=True)
class SideView:
    """One side of a board. height: of the photo, its width being 100."""

    side: str
    photo: Photo
    height: float
    marks: tuple[MarkView, ...]


@dataclass(frozen=True)
class BoardView:
    """Both sides of a board, or the one there is."""

    key: str
    caption: str
    sides: tuple[SideView, ...]


def board_view(
    top: Photo | None,
    bottom: Photo | None,
    marks: Sequence[Mark],
    caption: str,
    key: str,
    *,
    says: Mapping[str, str] | None = None,
    failed: frozenset[str] = frozenset(),
) -> BoardView:
    """A board with one or both sides.

    marks: x and y in per cent of the photo, 0 to 100, from its upper left, in the photo as it was taken. key: an id that
    no other board of the page has. says: part -> what the reader wants to know of it. Raises Refused for marks outside
    of the photo.
    """
    trouble = [trouble for mark in marks if (trouble := mark_trouble(mark))]
    if trouble:
        raise Refused("; ".join(trouble), "0 % is the left or upper edge, 100 % the right or lower one")
    sides = []
    for side, photo in (("top", top), ("bottom", bottom)):
        if photo is not None:
            tall = height_of(photo.width, photo.height)
            own = [
                _mark(m, tall, (says or {}).get(m.part, ""), m.part in failed)
                for m in marks
                if m.side == side
            ]
            sides.append(SideView(side, photo, tall, tuple(own)))
    return BoardView(key, caption.strip(), tuple(sides))


def mark_trouble(mark: Mark) -> str:
    """What is wrong with the place of a mark, or ""."""
    if 0 <= mark.x <= 100 and 0 <= mark.y <= 100:
        return ""
    return f"the mark of {mark.part} at {mark.x:g} %, {mark.y:g} % lies outside of the photo"


def _mark(mark: Mark, tall: float, says: str, failed: bool) -> MarkView:
    y = down(mark.y, tall)
    return MarkView(mark.part, round(mark.x, 4), y, *letters_at(mark.x, y), says, failed)


def said_of_parts(blocks: Mapping[str, Block], numbers: Mapping[str, int]) -> dict[str, str]:
    """What a mark on a board says of its part: value and ratings, and the sheet on which it is drawn."""
    said: dict[str, str] = {}
    for name, block in blocks.items():
        for part in [*block.parts, *(extra.part for _position, extra in block.extras)]:
            if part.designator and part.designator not in said:
                words = [part.designator, part.label, part.ratings_label]
                sheet = _("sheet %(number)s") % {"number": numbers[name]}
                said[part.designator] = " ".join(filter(None, words)) + f", {sheet}"
    return said


def board_views(
    note: Note, photo: Callable[[str], Photo | None], says: Mapping[str, str], failed: frozenset[str]
) -> list[BoardView]:
    """The note's boards of which there are photos. photo raises Refused, which board_problems tells."""
    found = []
    for number, board in enumerate(note.boards):
        try:
            top, bottom = (photo(name) if name else None for name in (board.top, board.bottom))
        except Refused:
            continue
        if top or bottom:
            key = f"board-{number}"
            found.append(board_view(top, bottom, board.marks, board.caption, key, says=says, failed=failed))
    return found


def board_problems(note: Note, photo: Callable[[str], Photo | None], shown_as: str) -> list[Problem]:
    """What is wrong with the photos of the note's boards."""
    problems = []
    for number, board in enumerate(note.boards):
        for side, name in (("top", board.top), ("bottom", board.bottom)):
            path = ("boards", number, side)
            try:
                if name and photo(name) is None:
                    what = f"there is no photo {name} beside the note"
                    problems.append(problem_at(note, shown_as, path, what))
            except Refused as refused:
                what = f"{name} {refused.what}"
                problems.append(problem_at(note, shown_as, path, what, refused.hint))
    return problems
