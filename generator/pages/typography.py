"""How figures are set on a page: a number and its unit stay on one line; what a meter showed is written with signs."""

from __future__ import annotations

import re

from markupsafe import Markup, escape

from generator.language import localized

NO_BREAK = "\u00a0"
_UNITS = r"(?:[pnuµmkMG]?(?:V/K|W/K|K/W|Wh|Ah|VA|As|Vs|Hz|[VAWFHsgmΩ])|°C|K|%|cm|min|h|lux|lx|EUR)"
_BEFORE_UNIT = re.compile(rf"(?<=\d) (?={_UNITS}(?![\w/]))")
_VERBATIM = re.compile(r"(<(pre|code)\b.*?</\2>)", re.DOTALL)
_OHMS = re.compile(r"(?<=\d)\s*([mkMG]?)\s?[Oo]hms?\b")
_FIGURE = re.compile(r"[+−-]?\d+\.\d+(?: ?[^\W\d]+)?")
_OPERATOR = re.compile("[·/(]")
_BARE = re.compile(r"\d+(?:[.,]\d+)?")
_MULTIPLIED = re.compile(r"(\d[\d.,]*)\s*([mkMG])")


def unbroken(text: str) -> str:
    """A text whose numbers keep their units beside them: "rated 275 V" does not end a line with 275."""
    return _BEFORE_UNIT.sub(NO_BREAK, text)


def unbroken_html(markup: str) -> str:
    """The same for markup; what is to be copied letter by letter (code, pre) stays as it is."""
    pieces = _VERBATIM.split(markup)  # text, verbatim, its tag, text, …
    return "".join(piece if n % 3 == 1 else unbroken(piece) for n, piece in enumerate(pieces) if n % 3 != 2)


def with_signs(read: str, unit: str) -> str:
    """A reading as the note has it, its unit with the sign that the figures beside it have: "552 ohm" -> "552 Ω",
    "10.1k" of a resistance -> "10.1 kΩ", in German "10,1 kΩ". The digits stay as they were written."""
    text = _OHMS.sub(lambda found: f" {found[1]}Ω", read)
    multiplied = _MULTIPLIED.fullmatch(text.strip()) if unit == "ohm" else None
    if multiplied:
        text = f"{multiplied[1]} {multiplied[2]}Ω"
    elif unit == "ohm" and _BARE.fullmatch(text.strip()):
        text = f"{text.strip()} Ω"
    return localized(text) if _FIGURE.fullmatch(text.strip()) else text


def breakable(formula: str) -> Markup:
    """A formula that may end a line after an operator, and not within a name."""
    return Markup(_OPERATOR.sub(r"\g<0><wbr>", str(escape(formula))))


_SNAKE = re.compile(r"\b[a-z][a-z0-9]*(?:_[a-z0-9]+)+\b")


def in_words(text: str) -> str:
    """Prose without names of the program's: "down to decay_to" -> "down to decay to"."""
    return _SNAKE.sub(lambda name: name[0].replace("_", " "), text)


def css_string(text: str) -> Markup:
    """A text as a string of CSS (CSS Syntax 3, 4.3.5): every character that is no plain letter, digit or blank by its
    number, so that none ends the string."""
    plain = (
        c if c == " " or (c.isascii() and c.isalnum()) else f"\\{ord(c):06x} " for c in text if c != "\0"
    )
    return Markup('"' + "".join(plain) + '"')
