"""What the page needs to know of a photo, and how it stands there. build/photos.py makes its files."""

from __future__ import annotations

import html
from dataclasses import dataclass

SHOWN_AT = "(min-width: 48rem) 44rem, 100vw"  # how wide a photo stands on the page; see photos.css


class Refused(Exception):
    """A photo that cannot be taken, in words for people. what fits behind the name of the file."""

    def __init__(self, what: str, hint: str = ""):
        super().__init__(f"{what}; {hint}" if hint else what)
        self.what, self.hint = what, hint


@dataclass(frozen=True)
class Size:
    """One size of a photo in pixels, and the names of its two files."""

    width: int
    height: int
    webp: str
    jpeg: str


@dataclass(frozen=True)
class Photo:
    """A photo as it goes on the site. sizes from small to large; width and height are the largest's."""

    sizes: tuple[Size, ...]
    width: int
    height: int

    @property
    def files(self) -> list[str]:
        """The names of all its files."""
        return [name for size in self.sizes for name in (size.webp, size.jpeg)]


def figure_html(photo: Photo, alt: str, caption: str, base: str = "") -> str:
    """A figure. A tap opens the largest picture by itself, where fingers can zoom; back returns.

    alt and caption are plain text; base is what stands before the names of the files ("../photos/").
    Raises Refused without alt: a photo needs words for those who cannot see it.
    """
    said = f"<figcaption>{html.escape(caption)}</figcaption>" if caption.strip() else ""
    return f'<figure class="photo">{picture_html(photo, alt, base)}{said}</figure>\n'


def picture_html(photo: Photo, alt: str, base: str = "") -> str:
    """The picture and the link to the large one, without a figure around it. As figure_html."""
    if not alt.strip():
        raise Refused("has no words for those who cannot see it", "say what it shows")
    smallest, largest = photo.sizes[0], photo.sizes[-1]

    def srcset(kind: str) -> str:
        return ", ".join(f"{html.escape(base)}{getattr(size, kind)} {size.width}w" for size in photo.sizes)

    return (
        f'<a class="enlarge" href="{html.escape(base + largest.jpeg)}"><picture>'
        f'<source type="image/webp" srcset="{srcset("webp")}" sizes="{SHOWN_AT}">'
        f'<img src="{html.escape(base + smallest.jpeg)}" srcset="{srcset("jpeg")}" sizes="{SHOWN_AT}" '
        f'width="{photo.width}" height="{photo.height}" alt="{html.escape(alt.strip())}" '
        f'loading="lazy" decoding="async"></picture></a>'
    )
