"""Both sides of a board: laid over one another where scripts run, side by side where not.

The bottom is shown as it was photographed. board.js lays it over the top, mirrored, so that the tracks
line up with the parts, and puts in the slider. Marks are drawn in each photo's own coordinates.
"""

from __future__ import annotations

import html
from collections.abc import Sequence
from dataclasses import dataclass

from generator.notes.record import Mark
from generator.prose.photos import Photo, Refused, picture_html


@dataclass(frozen=True)
class Words:
    """The words on a board, in the language of the site. Plain text."""

    top: str = "Top side"
    bottom: str = "Bottom side"
    slider: str = "Fade from the top to the bottom side"
    marks: str = "Marked parts"


def board_html(
    top: Photo | None,
    bottom: Photo | None,
    marks: Sequence[Mark],
    caption: str,
    ids: str,
    *,
    base: str = "",
    words: Words | None = None,
) -> str:
    """A figure with one or both sides of a board.

    marks: x and y in per cent of the photo, 0 to 100, from its upper left, in the photo as it was taken.
    ids: an id for the figure that no other element of the page has. base: as in Photos.html.
    The alternative text of a side is its name and the caption. Raises Refused for marks outside of the photo.
    """
    words = words or Words()
    trouble = [trouble for mark in marks if (trouble := mark_trouble(mark))]
    if trouble:
        raise Refused("; ".join(trouble), "0 % is the left or upper edge, 100 % the right or lower one")
    sides = ""
    for side, photo, name in (("top", top, words.top), ("bottom", bottom, words.bottom)):
        if photo is not None:
            alt = f"{name}: {caption.strip()}" if caption.strip() else name
            drawn = _marks_svg([mark for mark in marks if mark.side == side], photo, words.marks)
            sides += _side_html(side, name, picture_html(photo, alt, base) + drawn)
    slider = _slider_html(words) if top is not None and bottom is not None else ""
    said = f"<figcaption>{html.escape(caption)}</figcaption>" if caption.strip() else ""
    inside = f'{slider}<div class="board-sides">{sides}</div>{said}'
    return f'<figure class="board" id="{html.escape(ids)}">{inside}</figure>\n'


def _side_html(side: str, name: str, picture: str) -> str:
    return (
        f'<div class="board-side board-{side}">'
        f'<p class="board-name">{html.escape(name)}</p>'
        f'<div class="board-photo">{picture}</div></div>'
    )


def _slider_html(words: Words) -> str:
    """Hidden: board.js shows it, for without a script it would do nothing."""
    return (
        '<div class="board-slider" hidden>'
        f'<span aria-hidden="true">{html.escape(words.top)}</span>'
        f'<input type="range" min="0" max="100" value="0" step="5" '
        f'aria-label="{html.escape(words.slider)}">'
        f'<span aria-hidden="true">{html.escape(words.bottom)}</span></div>'
    )


def mark_trouble(mark: Mark) -> str:
    """What is wrong with the place of a mark, or ""."""
    if 0 <= mark.x <= 100 and 0 <= mark.y <= 100:
        return ""
    return f"the mark of {mark.part} at {mark.x:g} %, {mark.y:g} % lies outside of the photo"


def _marks_svg(marks: Sequence[Mark], photo: Photo, label: str) -> str:
    """The marks over a photo. One unit is one per cent of its width, so that circles stay round."""
    if not marks:
        return ""
    tall = 100 * photo.height / photo.width
    drawn = "".join(_mark(mark, tall) for mark in marks)
    return (
        f'<svg class="board-marks" viewBox="0 0 100 {tall:.6g}" role="group" '
        f'aria-label="{html.escape(label)}">{drawn}</svg>'
    )


def _mark(mark: Mark, tall: float) -> str:
    name = html.escape(mark.part)
    return (
        f'<g class="ref" data-ref="{name}" transform="translate({mark.x:.6g} {mark.y * tall / 100:.6g})">'
        '<circle class="under" r="2.2"></circle><circle r="2.2"></circle>'
        f"<text{_beside(mark, tall)}>{name}</text></g>"
    )


def _beside(mark: Mark, tall: float) -> str:
    """Where the designator stands beside its circle: towards the middle near the edges, else above."""
    if mark.y * tall / 100 > 7:
        return ' y="-3.4" text-anchor="middle"' if 8 < mark.x < 92 else _sideways(mark)
    return ' y="6.2" text-anchor="middle"' if 8 < mark.x < 92 else _sideways(mark)


def _sideways(mark: Mark) -> str:
    return ' x="3.4" y="1.4"' if mark.x <= 8 else ' x="-3.4" y="1.4" text-anchor="end"'
