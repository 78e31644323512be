"""Collections of repairs in the Open Repair Data Standard v0.3: CSV files in records/ -> rows, judged one by one.

A collection comes from strangers. It is read bit by bit, a line and a field never held beyond their limits; a row that
is no record of the standard is left out and counted by what is wrong with it, and the rest stands.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import NamedTuple

from generator.files import Unreadable, is_link, open_file, reason
from generator.notes import standard
from generator.notes.text import shown, shown_path, without_forbidden
from generator.problems import WARNING, Problem, nearest

RECORDS_FOLDER = "records"
LARGEST_FILE = 256 << 20  # bytes of a collection
LONGEST_LINE = 2 << 20  # characters of a line
MOST_ROWS = 250_000  # of a library; the memory of a build grows with them
LONGEST = 10_000  # characters of a problem
SHORT = 300  # of any other field
LINES_SHOWN = 10
MOST_FILES = 200

_ID = re.compile(r"[a-z0-9]+(?:[-_][a-z0-9]+)*_[0-9]+")  # the group that published it, and its number there
_YEAR = re.compile(r"(?:1[89]|20)[0-9]{2}")
_STATUS = {name.casefold(): name for name in standard.OUTCOMES}
_CATEGORY = {name.casefold(): name for name in standard.CATEGORIES}


class Row(NamedTuple):
    """A record of the standard. status and barrier in the words of notes/standard.py, date in ISO 8601; age in years, None
    where it is not stated."""

    id: str
    provider: str
    country: str
    partner_category: str
    category: str
    category_id: str
    brand: str
    year: str
    age: float | None
    status: str
    barrier: str
    group: str
    date: str
    problem: str


@dataclass
class Wrong:
    """One reason for which rows were left out: the first lines, and how many there are."""

    hint: str
    lines: list[int] = field(default_factory=list)
    count: int = 0


@dataclass
class Judged:
    """What was found wrong so far, and the ids that were read."""

    problems: list[Problem] = field(default_factory=list)
    ids: set[str] = field(default_factory=set)


class _Unfit(Exception):
    """A row that is no record: why, and what helps."""

    def __init__(self, why: str, hint: str = "") -> None:
        super().__init__(why)
        self.why, self.hint = why, hint


def collection_files(content: Path) -> tuple[list[Path], list[Problem]]:
    """The collections of a library in the order of their names, and what cannot be one."""
    folder = content / RECORDS_FOLDER
    if is_link(folder):
        return [], [_warning(folder, "a symbolic link; links are not followed")]
    try:
        entries = sorted(folder.iterdir())
    except FileNotFoundError:
        return [], []
    except OSError as error:
        return [], [_warning(folder, f"cannot be read: {reason(error)}")]
    found = [entry for entry in entries if not entry.name.startswith((".", "#")) and entry.suffix == ".csv"]
    problems = [
        _warning(entry, "collections end in .csv; this one is not read", f"rename it to {entry.stem}.csv")
        for entry in entries
        if entry.suffix != ".csv" and entry.suffix.lower() == ".csv"
    ]
    if len(found) > MOST_FILES:
        problems.append(_warning(folder, f"{len(found)} collections; the first {MOST_FILES} are read"))
    return found[:MOST_FILES], problems


def read_collections(paths: Iterable[Path], judged: Judged) -> Iterator[Row]:
    """The records of some collections, in their order. What is wrong is in judged once all are read. Never raises."""
    for path in paths:
        try:
            yield from _read(path, judged)
        except Unreadable as error:
            judged.problems.append(_warning(path, error.what, error.hint))


def _read(path: Path, judged: Judged) -> Iterator[Row]:
    """The records of one collection. Raises Unreadable."""
    wrong: dict[str, Wrong] = {}
    with open_file(path, LARGEST_FILE) as file, _fields_up_to(LONGEST_LINE):
        text = io.TextIOWrapper(file, "utf-8-sig", errors="surrogateescape", newline="")
        # else a quote that is never closed swallows what follows
        reader = csv.reader(_lines(text), strict=True)
        header = _header(reader)
        order = [header.index(name) for name in standard.COLUMNS]
        kept = len(judged.ids)
        line = reader.line_num + 1
        while True:
            try:
                cells = next(reader, None)
                if cells is None:
                    break
                row = _row(cells, order, len(header), judged.ids) if any(cells) else None
            except csv.Error as error:
                _count(wrong, line, *_no_csv(str(error)))
            except _Unfit as unfit:
                _count(wrong, line, unfit.why, unfit.hint)
            else:
                if row is not None and len(judged.ids) >= MOST_ROWS:
                    _count(wrong, line, f"a library holds at most {MOST_ROWS:,} records", "")
                elif row is not None:
                    judged.ids.add(row.id)
                    yield row
            line = reader.line_num + 1
    judged.problems += [_told(path, why, of) for why, of in wrong.items()]
    if len(judged.ids) == kept and not wrong:
        judged.problems.append(_warning(path, "there are no records in this collection"))


def _no_csv(error: str) -> tuple[str, str]:
    """Why a row is no CSV, and what helps, by what Python's reader says."""
    if "limit" in error:
        return f"a field or a line of more than {LONGEST_LINE:,} characters", ""
    hint = "a quote inside a quoted field is written twice"
    if "end of data" in error:
        return "a quote is never closed, so nothing that follows is read", hint
    return "a quoted field goes on behind its closing quote", f"{hint}; or one before it is not closed"


@contextmanager
def _fields_up_to(limit: int) -> Iterator[None]:
    """The csv module's one limit for fields, set for a while."""
    before = csv.field_size_limit(limit)
    try:
        yield
    finally:
        csv.field_size_limit(before)


def _lines(text: io.TextIOWrapper) -> Iterator[str]:
    """The lines of a file. One beyond the limit comes as a field beyond it, whatever quotes were in it, so that its row is
    left out and the next is read."""
    while line := text.readline(LONGEST_LINE + 1):
        yield line if len(line) <= LONGEST_LINE else "x" * (LONGEST_LINE + 1)
        while len(line) > LONGEST_LINE and line[-1] not in "\r\n":
            line = text.readline(LONGEST_LINE + 1)


def _header(reader: Iterator[list[str]]) -> list[str]:
    """The names of the columns. Raises Unreadable for those of something else."""
    try:
        named = [name.strip().lower() for name in next(reader, [])]
    except csv.Error:
        named = []
    if not named:
        hint = "its first line names the columns"
        raise Unreadable("the file is empty" if named == [] else "no columns", hint)
    if any("\0" in name or "\udcff" in name for name in named):
        raise Unreadable("the file is UTF-16, not UTF-8", "save it as UTF-8")
    missing = [name for name in standard.COLUMNS if name not in named]
    if not missing:
        return named
    if len(named) == 1 and (sign := next((sign for sign in ";\t" if sign in named[0]), "")):
        name = "tabs" if sign == "\t" else "semicolons"
        raise Unreadable(
            f"the columns are separated by {name}", "the standard has commas; save it as CSV with commas"
        )
    listed = ", ".join(shown(name, 40) for name in named[:20])
    more = f" and {len(named) - 20} more" if len(named) > 20 else ""
    what = f"not in the Open Repair Data Standard v0.3: it has the columns {listed}{more}"
    raise Unreadable(what, f"missing: {', '.join(missing)}")


def _row(cells: list[str], order: list[int], columns: int, ids: set[str]) -> Row:
    """The record in a row. Raises _Unfit."""
    if len(cells) != columns:
        hint = "a field with a comma in it is put in quotes"
        raise _Unfit(f"not as many fields as the {columns} columns", hint)
    values = [" ".join(cells[place].split()) for place in order]
    for name, value in zip(standard.COLUMNS, values):
        limit = LONGEST if name == "problem" else SHORT
        if len(value) > limit:
            raise _Unfit(f"{name} has more than {limit:,} characters")
        if not value.isprintable() and any("\udc80" <= character <= "\udcff" for character in value):
            raise _Unfit("not UTF-8", "save the file as UTF-8")
    (id, provider, country, partner, category, category_id, brand, year, age, status, barrier, group, day,
     problem) = (value if value.isprintable() else without_forbidden(value) for value in values)  # fmt: skip
    if not _ID.fullmatch(id):
        raise _Unfit("id is not a group's name in small letters, _ and a number", "such as netloft_101")
    if id in ids:
        raise _Unfit("id was read before")
    if not provider:
        raise _Unfit("data_provider is empty")
    if country and not standard.COUNTRY.fullmatch(country):
        raise _Unfit("country is not three letters of ISO 3166-1", "such as GBR")
    return Row(
        id, provider, country, partner, _category(category), category_id, brand, _year(year), _age(age),
        _status(status), _barrier(barrier), group, _day(day), problem,
    )  # fmt: skip


def _category(text: str) -> str:
    if text.casefold() in _CATEGORY:
        return _CATEGORY[text.casefold()]
    near = nearest(text, standard.CATEGORIES)
    what = (
        f"product_category {shown(text)} is not in the standard's list"
        if text
        else "product_category is empty"
    )
    raise _Unfit(what, f"did you mean {near}?" if near else "")


def _status(text: str) -> str:
    if text.casefold() in _STATUS:
        return _STATUS[text.casefold()]
    raise _Unfit("repair_status is not one of the standard's", "Fixed, Repairable, End of life, Unknown")


def _barrier(text: str) -> str:
    found = standard.barrier_named(text) if text else ""
    if text and not found:
        what = "repair_barrier_if_end_of_life is not one of the standard's"
        raise _Unfit(what, "; ".join(standard.BARRIER_NAMES.values()))
    return found


def _year(text: str) -> str:
    if text.strip("0") and not _YEAR.fullmatch(text):
        raise _Unfit("year_of_manufacture is not a year", "such as 2017, or nothing")
    return text if text.strip("0") else ""


def _age(text: str) -> float | None:
    if not text:
        return None
    try:
        age = float(text)
    except ValueError:
        age = -1.0
    if not 0 <= age <= 300:
        raise _Unfit("product_age is not a number of years", "such as 7 or 0.5, or nothing")
    return age


def _day(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat() if len(text) == 10 else _no_day()
    except ValueError:
        return _no_day()


def _no_day() -> str:
    raise _Unfit("event_date is not a date of ISO 8601", "year-month-day, such as 2026-03-14")


def _count(wrong: dict[str, Wrong], line: int, why: str, hint: str) -> None:
    if why not in wrong and len(wrong) >= 50:  # a file of another sort may be wrong in a thousand ways
        why, hint = "other mistakes", ""
    of = wrong.setdefault(why, Wrong(hint))
    of.count += 1
    if len(of.lines) < LINES_SHOWN:
        of.lines.append(line)


def _told(path: Path, why: str, of: Wrong) -> Problem:
    rows = "1 row is" if of.count == 1 else f"{of.count:,} rows are"
    lines = ", ".join(map(str, of.lines)) + (
        f" and {of.count - len(of.lines):,} more" if of.count > len(of.lines) else ""
    )
    what = f"{rows} left out: {why}; line{'s' if of.count > 1 else ''} {lines}"
    return Problem(shown_path(path), of.lines[0], 1, what, of.hint, WARNING)


def _warning(path: Path, what: str, hint: str = "") -> Problem:
    return Problem.of_file(shown_path(path), what, hint, WARNING)
