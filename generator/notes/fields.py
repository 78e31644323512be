"""Typed fields out of loaded front matter; what does not fit becomes a problem at its line."""

from __future__ import annotations

import datetime
import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from generator.notation.quantity import accuracy_of
from generator.notes.frontmatter import Marks, Path
from generator.notes.text import printable, shown
from generator.problems import DECIMAL_COMMA, ERROR, Problem, Trouble, cut_number, did_you_mean, nearest

MAX_PROBLEMS = 200

_DATE = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
_DAY_FIRST = re.compile(r"([0-9]{1,2})[./-]([0-9]{1,2})[./-]([0-9]{4})")
_YEAR_FIRST = re.compile(r"([0-9]{4})[./-]([0-9]{1,2})[./-]([0-9]{1,2})")
_IN_WORDS = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?\.? +([^\W\d]+)\.?,? +([0-9]{4})")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_PRICE = re.compile(r"[0-9]{1,7}(?:[.,][0-9]{1,2})?")
_PER_CENT = re.compile(r"([0-9]{1,3}(?:[.,][0-9]{1,6})?)\s*%?")
_ONE_TIME = r"[0-9]{1,6}(?:[.,][0-9]{1,3})?\s*(?:s|min|minutes?|h|hours?|d|days?|weeks?)"
_TIME = re.compile(rf"{_ONE_TIME}(?:\s+{_ONE_TIME})*")


class Report:
    """Collects the problems of one file; after MAX_PROBLEMS it collects no more."""

    def __init__(self, file: str, marks: Marks, problems: list[Problem] | None = None) -> None:
        self.file, self.marks = file, marks
        self.problems: list[Problem] = problems if problems is not None else []

    @property
    def full(self) -> bool:
        """Whether no further problem is collected."""
        return len(self.problems) > MAX_PROBLEMS

    def at_key(self, path: Path, what: str, hint: str = "", severity: str = ERROR) -> None:
        self._add(self.marks.key(path), what, hint, severity)

    def at_value(self, path: Path, what: str, hint: str = "", severity: str = ERROR) -> None:
        self._add(self.marks.value(path), what, hint, severity)

    def trouble(self, trouble: Trouble) -> None:
        self.at_key(trouble.path, trouble.what, trouble.hint, trouble.severity)

    def unknown(self, path: Path, what: str, name: str, known: Sequence[str]) -> None:
        """An unknown name, with the nearest known one (worked out only while there is room to tell it)."""
        if not self.full:
            self.at_value(path, what, did_you_mean(name, known))

    def _add(self, place: tuple[int, int], what: str, hint: str, severity: str) -> None:
        if len(self.problems) < MAX_PROBLEMS:
            self.problems.append(Problem(self.file, *place, printable(what), printable(hint), severity))
        elif len(self.problems) == MAX_PROBLEMS:
            self.problems.append(
                Problem(
                    self.file,
                    0,
                    0,
                    f"more than {MAX_PROBLEMS} problems",
                    "fix these first; the rest is not shown",
                )
            )


class Fields:
    """The keys of one mapping. of says what it describes ("a reading"), for messages.

    Unknown keys are reported at once. Where raw is no mapping that is the one problem told, and every
    field is empty. complete is False where the file was not read to its end, so that nothing is called missing.
    """

    def __init__(
        self, raw: Any, path: Path, of: str, known: Sequence[str], report: Report, complete: bool = True
    ) -> None:
        self.path, self.of, self.report, self.complete = path, of, report, complete
        self.data: dict[str, Any] = {}
        if isinstance(raw, dict):
            self.data = raw
            self._refuse_unknown(known)
            return
        self.complete = False
        what = f"{of}: keys with values are expected, not {_shape(raw)}"
        report.at_value(path, what, "known: " + ", ".join(known))

    def _refuse_unknown(self, known: Sequence[str]) -> None:
        for key in [key for key in self.data if key not in known]:
            if self.report.full:
                return
            hint = did_you_mean(key, known)
            if cut_number(key):
                hint = DECIMAL_COMMA
            elif self.data[key] == "" and not nearest(key, known):
                hint = "a comma inside { } begins a new key; put text with commas in quotes"
            self.report.at_key((*self.path, key), f"{shown(key)}: no such key of {self.of}", hint)

    def has(self, key: str) -> bool:
        """Whether something is given under the key."""
        return self.data.get(key, "") not in ("", [], {})

    def missing(self, key: str, hint: str = "") -> None:
        """Note that a key is missing, unless the front matter broke off before its end."""
        if self.complete:
            self.report.at_key(self.path, f"{self.of}: {key} is missing", hint)

    def wrong(self, key: str, what: str, hint: str = "") -> None:
        """Note what is wrong with the value of a key."""
        self.report.at_value((*self.path, key), f"{key}: {what}", hint)

    def text(
        self, key: str, limit: int, *, required: bool = False, hint: str = "", lines: bool = False
    ) -> str:
        """One line of text (or several, with lines) of at most limit characters; "" where it is absent or wrong."""
        raw = self.data.get(key, "")
        if not isinstance(raw, str):
            what = f"text is expected, not {_shape(raw)}"
            self.wrong(key, what, "text that begins with [ or { needs quotes")
            return ""
        text = _tidy(raw, lines)
        if not text and required:
            self.missing(key, hint)
        if len(text) > limit:
            self.wrong(key, f"{len(text):,} characters; at most {limit:,}")
            return ""
        return text

    def choice(
        self, key: str, choices: Sequence[str], default: str = "", said: Mapping[str, str] | None = None
    ) -> str:
        """One of the choices, whatever its case. said: what people write instead -> the choice that they mean."""
        text = self.text(key, 100)
        for choice in choices:
            if choice.casefold() == text.casefold():
                return choice
        if text and (meant := (said or {}).get(text.casefold())):
            self.wrong(key, f"{shown(text)} is not known here", f"did you mean {meant}?")
        elif text:
            self.report.unknown((*self.path, key), f"{key}: {shown(text)} is not known here", text, choices)
        return default

    def date(self, key: str) -> datetime.date | None:
        """A day as ISO 8601 writes it, 2026-03-14, from 1900 to 2199."""
        text = self.text(key, 40, required=True, hint="write it as 2026-03-14")
        if not text:
            return None
        found = _DATE.fullmatch(text)
        try:
            day = datetime.date(*map(int, found.groups())) if found else None
        except ValueError:
            day = None
        if day is None or not 1900 <= day.year < 2200:
            hint = f"year-month-day, such as {_proposed_date(text) or '2026-03-14'}"
            self.wrong(key, f"{shown(text)} is not a date", hint)
            return None
        return day

    def year(self, key: str) -> int | None:
        """A year from 1850 to 2199."""
        text = self.text(key, 40)
        if not text:
            return None
        if re.fullmatch("[0-9]{4}", text) and 1850 <= int(text) < 2200:
            return int(text)
        hint = "four digits, such as 2017; leave it out where it is not known"
        self.wrong(key, f"{shown(text)} is not a year", hint)
        return None

    def price(self, key: str) -> Decimal | None:
        """A sum of money from 0 to 9,999,999.99."""
        text = self.text(key, 40)
        if not text:
            return None
        if _PRICE.fullmatch(text):
            return Decimal(text.replace(",", "."))
        hint = "a number such as 1.20; library.yaml has the currency"
        self.wrong(key, f"{shown(text)} is not a price", hint)
        return None

    def per_cent(self, key: str) -> float | None:
        """A place between 0 and 100 per cent, written "42 %" or "42"."""
        text = self.text(key, 40, required=True)
        found = _PER_CENT.fullmatch(text)
        share = float(found[1].replace(",", ".")) if found else -1.0
        if 0 <= share <= 100:
            return share
        if text:
            self.wrong(key, f"{shown(text)} is not a place in the picture", "0 % to 100 %, such as 42 %")
        return None

    def time(self, key: str) -> str:
        """A span of time: "90 min", "1 h 30 min", "2 days"."""
        text = self.text(key, 40)
        if text and not _TIME.fullmatch(text):
            apart = re.fullmatch(r"([0-9]{1,2})\s*[:h]\s*([0-5][0-9])(?:\s*h)?", text)
            bare = re.fullmatch("[0-9]{1,5}", text)
            proposal = (
                f"{int(apart[1])} h {int(apart[2])} min" if apart else f"{text} min" if bare else "90 min"
            )
            hint = f"a number and min, h or days, such as {proposal}"
            self.wrong(key, f"{shown(text)} is not a time", hint)
            return ""
        return text

    def accuracy(self, key: str, default: str = "") -> str:
        """A meter's accuracy, share of the reading and counts of the last digit: "2 % + 5"."""
        text = self.text(key, 40)
        if text and accuracy_of(text) is None:
            self.wrong(key, f"{shown(text)} is not an accuracy", "per cent and counts, such as 1 % + 3")
            return default
        return text or default

    def fields(self, key: str, of: str, known: Sequence[str]) -> Fields:
        """The mapping under the key; an empty one where it is absent."""
        return Fields(self._or_empty(key, {}), (*self.path, key), of, known, self.report, self.complete)

    def mapping(self, key: str) -> dict[str, Any]:
        """The mapping under the key, with any keys."""
        raw = self._or_empty(key, {})
        if isinstance(raw, dict):
            return raw
        self.wrong(key, f"keys with values are expected, not {_shape(raw)}")
        return {}

    def entries(self, key: str, limit: int) -> Iterator[tuple[Path, Any]]:
        """(path, raw) of each entry of the list under the key."""
        raw = self._or_empty(key, [])
        if not isinstance(raw, list):
            hint = "begin each entry on its own line with '- '"
            self.wrong(key, f"a list is expected, not {_shape(raw)}", hint)
            return
        if len(raw) > limit:
            self.wrong(key, f"{len(raw):,} entries; at most {limit:,}")
        for position, entry in enumerate(raw[:limit]):
            yield (*self.path, key, position), entry

    def each(self, key: str, limit: int, of: str, known: Sequence[str]) -> Iterator[Fields]:
        """Each mapping of the list under the key. of, known: as for one."""
        for path, raw in self.entries(key, limit):
            yield Fields(raw, path, of, known, self.report, self.complete)

    def texts(self, key: str, limit: int, length: int) -> tuple[str, ...]:
        """A list of lines of text."""
        found = []
        for path, raw in self.entries(key, limit):
            if not isinstance(raw, str):
                hint = "text with a colon and a space, or that begins with { or [, needs quotes"
                self.report.at_value(path, f"{key}: text is expected, not {_shape(raw)}", hint)
            elif not raw.strip():
                self.report.at_value(path, f"{key}: an empty entry", "write it or take it out")
            elif len(text := _tidy(raw, lines=False)) > length:
                self.report.at_value(path, f"{key}: {len(text):,} characters; at most {length:,}")
            else:
                found.append(text)
        return tuple(found)

    def _or_empty(self, key: str, empty: Any) -> Any:
        raw = self.data.get(key, "")
        return empty if raw == "" else raw


def _proposed_date(text: str) -> str:
    """What was most likely meant by a day written otherwise, as ISO 8601 writes it; "" where that is not clear."""
    if found := _YEAR_FIRST.fullmatch(text):
        year, month, day = map(int, found.groups())
    elif found := _DAY_FIRST.fullmatch(text):
        day, month, year = map(int, found.groups())
        if month > 12:
            day, month = month, day
    elif (found := _IN_WORDS.fullmatch(text)) and found[2][:3].lower() in _MONTHS:
        day, month, year = int(found[1]), _MONTHS.index(found[2][:3].lower()) + 1, int(found[3])
    else:
        return ""
    try:
        return datetime.date(year, month, day).isoformat() if 1900 <= year < 2200 else ""
    except ValueError:
        return ""


def _tidy(raw: str, lines: bool) -> str:
    text = unicodedata.normalize("NFC", raw)
    return text.strip() if lines else " ".join(text.split())


def _shape(raw: Any) -> str:
    if raw == "":
        return "nothing"
    return "keys with values" if isinstance(raw, dict) else "a list" if isinstance(raw, list) else "text"
