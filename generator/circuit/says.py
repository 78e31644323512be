"""What a kind of block says: messages with their quantities, put into words where they are printed.

A message is written as elsewhere, _("sees %(actual)s, rated %(limit)s") % {"actual": measured(volts, "V"), ...}, but
stands for all languages until then; as plain text it is English.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any, Self

from generator import language
from generator.language import Later, words
from generator.notation.printed import format_band, format_value

__all__ = ["Says", "_", "measured", "number", "phrase", "ranged"]


class Says(Later):
    """A marked text, with what is put in for the names in it."""

    def __new__(cls, text: str, values: Mapping[str, Any] | None = None) -> Self:
        return super().__new__(cls, _said, text, values)

    def __mod__(self, values: Any) -> Says:
        return Says(self.make.args[0], values) if isinstance(self.make, partial) else self

    def __add__(self, more: str) -> Says:
        return Says("%(first)s%(then)s", {"first": self, "then": more})

    def __radd__(self, before: str) -> Says:
        return Says("%(first)s%(then)s", {"first": before, "then": self})


def _said(text: str, values: Mapping[str, Any] | None) -> str:
    told = language._(text)
    if values is None:
        return told
    return told % {name: words(v) if isinstance(v, str) else v for name, v in values.items()}


def _(text: str) -> Says:
    """Marks a text for translation; one that is for later already stays as it is."""
    if isinstance(text, Says):
        return text
    return Says("%(text)s", {"text": text}) if isinstance(text, Later) else Says(text)


def measured(value: float | None, unit: str, digits: int = 3, *, trim: bool = False) -> Later:
    """A quantity in a message, printed as format_value does."""
    return Later(format_value, value, unit, digits, trim=trim)


def ranged(low: float, high: float, unit: str) -> Later:
    """Two ends in a message, printed as format_band does."""
    return Later(format_band, low, high, unit)


def number(text: str) -> Later:
    """A figure in a message, with a decimal point, which is printed with the mark of the language."""
    return Later(language.localized, text)


def phrase(*parts: str) -> Later:
    """Words and quantities in a row."""
    return Later(_in_a_row, parts)


def _in_a_row(parts: tuple[str, ...]) -> str:
    return " ".join(words(part) for part in parts if part)
