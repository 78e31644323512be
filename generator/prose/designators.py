"""Designators in prose, marked so that the page can show the same part everywhere at once."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator

from markdown_it.token import Token

from generator.prose.tokens import made, text_token

_WORD = re.compile(r"\w+")
_DESIGNATOR = re.compile(r"\w+(?:-\w+)?")


class Designators:
    """The designators of a note's parts."""

    def __init__(self, names: set[str]) -> None:
        self.names = names
        self.words = {word for name in names for word in _WORD.findall(name)}

    def marked(self, token: Token) -> Iterator[Token]:
        """A text, taken apart where it names a part."""
        text, done = token.content, 0
        if self.words.isdisjoint(_WORD.findall(text)):  # most texts: nothing to look for
            yield token
            return
        for match in _DESIGNATOR.finditer(text):
            spans = [match.span()] if match.group() in self.names else _halves(match)
            for start, end in spans:
                name = text[start:end]
                if name in self.names:
                    yield text_token(text[done:start])
                    yield made(f'<span class="ref" data-ref="{html.escape(name)}">{html.escape(name)}</span>')
                    done = end
        yield text_token(text[done:])


def _halves(match: re.Match[str]) -> list[tuple[int, int]]:
    """C3-C5 as C3 and C5, where it is no name of its own."""
    start, end = match.span()
    dash = match.group().find("-")
    return [(start, start + dash), (start + dash + 1, end)] if dash > 0 else []
