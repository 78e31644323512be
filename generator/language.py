"""The language of what is printed: texts, dates and decimal marks; one language at a time in a process.

Texts are marked with _() where they are printed. Without a catalogue they come out as written, in English. Catalogues
lie in locale/ as .po files and are compiled as they are loaded, so that no file made from another is kept.
"""

from __future__ import annotations

import gettext as catalogues
import io
import os
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import lru_cache, partial
from typing import Any, Self

LOCALES = os.path.join(os.path.dirname(__file__), "locale")

_POINT = re.compile(r"(?<=\d)\.(?=\d)")
# at what a value holds, as its name ends: discharge_time_34v, plug_voltage_1s, output_25
_AT = re.compile(r" (\d+)(v|s|)$")
_END = re.compile(r"(.+) (min|max)$")
_END_WORDS = {"min": "least", "max": "greatest"}
_AT_WORDS = {"v": "to # V", "s": "after # s", "": "at # °C"}
_current: catalogues.NullTranslations = catalogues.NullTranslations()
_code = "en"
_mark = "."


def use(code: str) -> None:
    """Print in this language from now on (BCP 47: "de", "de-AT"); English texts where there is no catalogue for it."""
    global _current, _code, _mark
    _current, _code, _mark = _catalogue(code), code, "." if code == "en" else _decimal_mark(code)


def code() -> str:
    """The language in use."""
    return _code


def translations() -> catalogues.NullTranslations:
    """The catalogue in use, for templates."""
    return _current


class Later(str):
    """A text that is put into words where it is printed; as a plain text, and as data for machines, it is English.

    make(*given): what gives the text in the language in use, such as format_value.
    """

    make: Callable[[], str]

    def __new__(cls, make: Callable[..., str], *given: Any, **named: Any) -> Self:
        with speaking("en"):
            later = super().__new__(cls, make(*given, **named))
        later.make = partial(make, *given, **named)
        return later

    def __reduce__(self) -> tuple[Any, ...]:
        return _later, (type(self), str(self), self.make)

    def words(self) -> str:
        """The text in the language in use."""
        return str(self) if _code == "en" else self.make()


def _later(kind: type[Later], text: str, make: Callable[[], str]) -> Later:
    later = str.__new__(kind, text)
    later.make = make
    return later


def words(text: str) -> str:
    """A text as it is printed, one for later in the language in use."""
    return text.words() if isinstance(text, Later) else text


@contextmanager
def speaking(code: str) -> Iterator[None]:
    """Another language for a while."""
    global _current, _code, _mark
    before = _current, _code, _mark
    if code != _code:
        use(code)
    try:
        yield
    finally:
        _current, _code, _mark = before


def _(text: str) -> str:
    """The text in the language in use. A text that is in no catalogue, such as a designator, comes back as it is."""
    if isinstance(text, Later):
        return text.words()
    return _current.gettext(text) if text else text


def ngettext(one: str, many: str, n: int) -> str:
    """The form of a text that goes with a number."""
    return _current.ngettext(one, many, n)


def pgettext(context: str, text: str) -> str:
    """A text whose translation depends on what is meant: the failure "high" is not the verdict "high"."""
    return _current.pgettext(context, text) if text else text


def failure_name(mode: str) -> str:
    """How a part has failed: open, short, high, low, high resistance."""
    return pgettext("failure", mode)


def verdict_name(word: str) -> str:
    """What a reading is against its band: within, low, high, open, short."""
    return pgettext("verdict", word)


def value_name(name: str) -> str:
    """A computed value as a page calls it: "no_load_peak" -> "no load peak"; "heat off.output" -> "heat off, output";
    "discharge_time_34v" -> "discharge time to 34 V"; "power_share_min" -> "least power share"."""
    cut, _dot, value = name.rpartition(".")
    words = value.replace("_", " ")
    called = _(words)
    if called == words:
        called = _AT.sub(lambda found: f" {_AT_WORDS[found[2]]}".replace("#", found[1]), words)
        called = _END.sub(lambda found: f"{_END_WORDS[found[2]]} {found[1]}", called)
    return f"{cut}, {called}" if cut else called


def decimal_mark() -> str:
    """The mark between whole and part: a point or a comma."""
    return _mark


def localized(text: str) -> str:
    """A text with the decimal mark of the language in use: "15.6 V" -> "15,6 V"."""
    return text if _mark == "." else _POINT.sub(_mark, text)


def day(text: str) -> str:
    """A date (ISO 8601: "2026-03-14") as people of the language write it: "14 March 2026"; "" for ""."""
    if not text:
        return ""
    from datetime import date

    from babel.dates import format_date

    return format_date(date.fromisoformat(text), "long", locale=_locale(_code))


@lru_cache(maxsize=8)
def _catalogue(code: str) -> catalogues.NullTranslations:
    for name in (code, code.split("-")[0]):
        path = os.path.join(LOCALES, f"{name}.po")
        if os.path.isfile(path):
            from babel.messages.mofile import write_mo
            from babel.messages.pofile import read_po

            compiled = io.BytesIO()
            with open(path, "rb") as file:
                write_mo(compiled, read_po(file))
            compiled.seek(0)
            return catalogues.GNUTranslations(compiled)
    return catalogues.NullTranslations()


@lru_cache(maxsize=8)
def _locale(code: str) -> Any:
    """The locale of a language; plain "en" is the English of the world, which writes 14 March 2026."""
    from babel import Locale, UnknownLocaleError

    wanted = "en-001" if code == "en" else code
    for name in (wanted, wanted.split("-")[0]):
        try:
            return Locale.parse(name, sep="-")
        except (UnknownLocaleError, ValueError):
            continue
    return Locale.parse("en_001")


@lru_cache(maxsize=8)
def _decimal_mark(code: str) -> str:
    from babel.numbers import get_decimal_symbol

    return get_decimal_symbol(_locale(code), numbering_system="latn")
