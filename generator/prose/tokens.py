"""Small functions on the parser's tokens."""

from __future__ import annotations

import html
import re
import unicodedata
from collections.abc import Iterator
from html.parser import HTMLParser

from markdown_it.token import Token


def made(content: str) -> Token:
    """HTML that this program made, as a token."""
    return Token("made", "", 0, content=content)


def text_token(content: str) -> Token:
    """Plain text, as a token; it is escaped when printed."""
    return Token("text", "", 0, content=content)


def text_of(children: list[Token]) -> str:
    """The words of inline tokens, as they were written."""
    return "".join(" " if child.type == "softbreak" else child.content for child in children)


def slug(text: str) -> str:
    """Letters and digits of any script, joined by hyphens; at most 60 characters, never empty."""
    words = re.findall(r"\w+", unicodedata.normalize("NFC", text).lower())
    return "-".join(words)[:60].strip("-") or "heading"


def around_figures(opened: Token, inline: Token, closed: Token) -> Iterator[Token]:
    """A paragraph with photos in it: what is between them as paragraphs, for a figure cannot be in one."""
    piece: list[Token] = []
    for child in [*(inline.children or []), None]:
        if child is not None and not child.meta.get("figure"):
            piece.append(child)
            continue
        if any(token.type not in ("softbreak", "hardbreak") and token.content.strip() for token in piece):
            text = inline.copy(children=piece)
            yield from (opened, text, closed)
        piece = []
        if child is not None:
            yield child


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_data(self, data: str) -> None:
        self.found.append(data)


def plain(markup: str) -> str:
    """The words of HTML that this program made."""
    if "<" not in markup:
        return html.unescape(markup)
    words = _Words()
    words.feed(markup)
    words.close()
    return "".join(words.found)
