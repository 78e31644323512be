"""The border and title block of a sheet, with the data fields of ISO 7200."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from generator.language import _

MARGIN = 26.0
CHARACTER = 6.1  # pixels a letter at 10 px
CAPTION = 5.0


@dataclass(frozen=True)
class TitleBlock:
    """The fields of ISO 7200 that a sheet carries. description is for those who cannot see the drawing."""

    title: str
    kind: str = ""  # document type
    owner: str = ""  # legal owner
    number: str = ""  # identification number
    sheet: str = ""  # sheet number
    date: str = ""  # date of issue
    creator: str = ""
    description: str = ""
    key: str = "sheet"  # makes the ids in a page unique


def framed(drawing: str, extent: tuple[float, float, float, float], block: TitleBlock) -> str:
    """A drawing with border and title block as one SVG element, in the page's colours.

    extent: left, top, right, bottom of the drawing in pixels.
    """
    left, top, right, bottom = extent
    fields, block_width, block_height = _title_block(block)
    inner_width = max(right - left, block_width)
    width, height = inner_width + 2 * MARGIN, bottom - top + 2 * MARGIN + block_height
    x, y = left - MARGIN - (inner_width - (right - left)) / 2, top - MARGIN
    box_x, box_y = x + width - block_width, y + height - block_height
    key = escape(block.key, quote=True)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="sheet" role="img" aria-labelledby="{key}-t {key}-d" '
        f'width="{width + 8:.0f}" height="{height + 8:.0f}" viewBox="{x - 4:.1f} {y - 4:.1f} {width + 8:.1f} {height + 8:.1f}">'
        f'<title id="{key}-t">{escape(block.title)}</title><desc id="{key}-d">{escape(block.description)}</desc>'
        f'<rect class="border" x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"/>'
        f"{drawing}"
        f'<g class="title-block" transform="translate({box_x:.1f},{box_y:.1f})">{fields}</g></svg>'
    )


def _title_block(block: TitleBlock) -> tuple[str, float, float]:
    """(SVG, width, height) of the title block: rows of named fields, three of them so that it fits a phone."""
    rows = [
        [(_("Legal owner"), block.owner), (_("Sheet"), block.sheet)],
        [(_("Title"), block.title), (_("Document type"), block.kind), (_("Creator"), block.creator)],
        [(_("Identification number"), block.number), (_("Date of issue"), block.date)],
    ]
    kept = [[(name, _short(text)) for name, text in row if text] for row in rows]
    kept = [row for row in kept if row]
    if not kept:
        return "", 0.0, 0.0
    widths = [[max(len(text) * CHARACTER, len(name) * CAPTION) + 12 for name, text in row] for row in kept]
    total = max(sum(row) for row in widths)
    height = 28.0
    parts = []
    for r, row in enumerate(kept):
        stretch = total - sum(widths[r])
        x = 0.0
        for c, (name, text) in enumerate(row):
            w = widths[r][c] + (stretch if c == len(row) - 1 else 0.0)
            parts.append(
                f'<rect x="{x:.1f}" y="{r * height:.1f}" width="{w:.1f}" height="{height:g}"/>'
                f'<text class="caption" x="{x + 5:.1f}" y="{r * height + 10:.1f}">{escape(name)}</text>'
                f'<text x="{x + 5:.1f}" y="{r * height + 23:.1f}">{escape(text)}</text>'
            )
            x += w
    return "".join(parts), total, height * len(kept)


def _short(text: str, letters: int = 38) -> str:
    return text if len(text) <= letters else text[: letters - 1].rstrip() + "…"
