"""What the page needs to know of a photo. build/photos.py makes its files."""

from __future__ import annotations

from dataclasses import dataclass

from generator.problems import Refusal


class Refused(Refusal):
    """A photo that cannot be taken, in words for people. what fits behind the name of the file."""


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
