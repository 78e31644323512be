"""A drawing as one SVG element, and what stands in its title block (ISO 7200), which the theme sets."""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape

MARGIN = 6.0
STEP = 20  # pixels; sizes of drawings are told to the style sheet in these steps
WIDEST = 1240  # pixels; a wider one is given as small as can be read, and moved sideways
LEAST_SCALE = 0.59  # of a letter: smaller, nobody reads it on a phone


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


@dataclass(frozen=True)
class Drawing:
    """A drawing ready for a page. inner: its SVG elements; box: its viewBox; key: of its ids, the drawing being KEY-g."""

    inner: str
    width: int
    height: int
    box: str
    key: str
    title: str
    description: str

    @property
    def svg(self) -> str:
        """The drawing as one SVG element, in the page's colours.

        The class fit-N says how wide it is, rounded up to STEP, so that the style sheet can keep it from shrinking until
        nobody can read it; fit-wide has its least size already.
        """
        key = escape(self.key, quote=True)
        wide = self.width > WIDEST
        fit = "wide" if wide else math.ceil(self.width / STEP) * STEP
        width, height = (round(size * (LEAST_SCALE if wide else 1)) for size in (self.width, self.height))
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="sheet fit-{fit}" role="img" '
            f'width="{width}" height="{height}" viewBox="{self.box}">'
            f"<title>{escape(self.title)}</title><desc>{escape(self.description)}</desc>"
            f'<g id="{key}-g">{self.inner}</g></svg>'
        )


def framed(drawing: str, extent: tuple[float, float, float, float], block: TitleBlock) -> Drawing:
    """A drawing with room around it. extent: left, top, right, bottom of the drawing in pixels."""
    left, top, right, bottom = extent
    width, height = right - left + 2 * MARGIN, bottom - top + 2 * MARGIN
    box = f"{left - MARGIN:.1f} {top - MARGIN:.1f} {width:.1f} {height:.1f}"
    return Drawing(drawing, round(width), round(height), box, block.key, block.title, block.description)
