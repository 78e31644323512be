"""What prose asks of the note that it belongs to, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

from generator.problems import Problem


class Expander(Protocol):
    """What the prose asks of the note that it belongs to. HTML that is returned is printed as it is."""

    def value(self, block: str, value: str, form: str) -> str | None:
        """The HTML of a value; form is "", "band" or "working". None where the value does not exist."""

    def sheet(self, block: str) -> str | None:
        """The HTML of a block's sheet. None where there is no such block."""

    def image(self, src: str, alt: str, title: str) -> str | None:
        """The HTML of a photo (a figure). src is as written, percent signs decoded. None if missing.

        May raise photos.Refused, which is told as a problem.
        """

    def names(self) -> dict[str, list[str]]:
        """The blocks of the note, each with the names of its values."""

    def designators(self) -> set[str]:
        """The designators that are to be linked."""


@dataclass
class Rendered:
    """html, the plain text for the search, headings as (level, id, text), and what was found on the way."""

    html: str
    text: str
    headings: list[tuple[int, str, str]] = field(default_factory=list)
    images: list[str] = field(default_factory=list)
    placed: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
