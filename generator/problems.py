"""The one shape of everything that is wrong with a note, and how it is told to people."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

ERROR = "error"
WARNING = "warning"
HINT = "hint"


@dataclass(frozen=True, order=True)
class Problem:
    """Something wrong in a file. line and column count from 1; 0 means the whole file (`of_file`).

    severity: "error" stops the build; "warning" and "hint" are shown by `inspect` and stop nothing.
    """

    file: str
    line: int
    column: int
    what: str
    hint: str = ""
    severity: str = ERROR

    @classmethod
    def of_file(cls, file: str, what: str, hint: str = "", severity: str = ERROR) -> Problem:
        """What is wrong with a file or folder as a whole."""
        return cls(file, 0, 0, what, hint, severity)

    def __str__(self) -> str:
        place = self.file + (f":{self.line}:{self.column}" if self.line else "")
        kind = "" if self.severity == ERROR else f"{self.severity}: "
        return f"{place}: {kind}{self.what}" + (f"; {self.hint}" if self.hint else "")


@dataclass(frozen=True)
class Trouble:
    """Something wrong at a path of keys, before it is known which file and line that is.

    path holds keys and list positions as they nest in the front matter: ("blocks", "supply", "smoothing").
    """

    path: tuple[str | int, ...]
    what: str
    hint: str = ""
    severity: str = ERROR

    def under(self, *prefix: str | int) -> Trouble:
        """The same trouble seen from further out."""
        return Trouble((*prefix, *self.path), self.what, self.hint, self.severity)


class Refusal(ValueError):
    """Why something is not taken: what says why, hint what helps or would be accepted."""

    def __init__(self, what: str, hint: str = "") -> None:
        super().__init__(f"{what}; {hint}" if hint else what)
        self.what, self.hint = what, hint


NAMELESS = "(empty)"  # what a message says of a name that is empty


class Lost(Exception):
    """A process that worked for this one was ended from outside, so that its work is not there. The text is for people."""


def nearest(name: str, choices: Iterable[str], alike: float = 0.6) -> str:
    """The choice most like name, or "" where none is like it. alike: the least likeness, 0 to 1."""
    known = list(choices)
    lowered = {choice.lower(): choice for choice in reversed(known)}
    import difflib

    found = difflib.get_close_matches(name.lower(), lowered, n=1, cutoff=alike)
    return lowered[found[0]] if found else ""


def reason(error: Exception) -> str:
    """Why the system refused something, in words for the middle of a sentence."""
    return (getattr(error, "strerror", None) or str(error) or "unknown reason").lower()


_CUT_NUMBER = re.compile(r"[0-9]{1,6} ?[^\W\d]{0,4}(?: .*)?")
DECIMAL_COMMA = "inside { } a comma begins a new key: write a decimal point, or put the value in quotes"


def cut_number(key: str) -> bool:
    """Whether a key is what stands behind the decimal comma of a value in braces: the `2k` of {resistor: 2,2k}."""
    return _CUT_NUMBER.fullmatch(key) is not None


def did_you_mean(name: str, choices: Iterable[str]) -> str:
    """A hint for an unknown name: the nearest known one, else the list of all of them."""
    known = list(choices)
    near = nearest(name, known)
    if near:
        return f"did you mean {near}?"
    return "known: " + ", ".join(known) if known else ""
