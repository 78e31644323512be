"""The language of what is printed: gettext catalogues, one language at a time in a process.

Texts are marked with _() where they are printed. Without a catalogue they come out as written, in English.
"""

from __future__ import annotations

import gettext as catalogues
from pathlib import Path

LOCALES = Path(__file__).parent / "locale"
DOMAIN = "benchlore"

_current: catalogues.NullTranslations = catalogues.NullTranslations()
_code = "en"


def use(code: str) -> None:
    """Print in this language from now on (BCP 47: "de", "de-AT"); English where there is no catalogue for it."""
    global _current, _code
    names = [code.replace("-", "_"), code.split("-")[0]]
    _current = catalogues.translation(DOMAIN, LOCALES, languages=names, fallback=True)
    _code = code


def code() -> str:
    """The language in use."""
    return _code


def translations() -> catalogues.NullTranslations:
    """The catalogue in use, for templates."""
    return _current


def _(text: str) -> str:
    """The text in the language in use."""
    return _current.gettext(text) if text else text


def ngettext(one: str, many: str, n: int) -> str:
    return _current.ngettext(one, many, n)
