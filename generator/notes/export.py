"""A library's notes as records of the Open Repair Data Standard v0.3, for collections that others read."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from pathlib import Path

from generator.notes import standard
from generator.notes.collection import LONGEST, SHORT
from generator.notes.config import CONFIG_FILE, Config
from generator.notes.library import propose_slug
from generator.notes.note import Note
from generator.notes.numbers import Numbered, number_notes
from generator.notes.text import shown_path
from generator.problems import WARNING, Problem, nearest

OTHER = "Misc"  # the standard's category for what is in no other
_FORMULA = ("=", "+", "-", "@")  # a spreadsheet would work out what begins with one of these


def records_csv(notes: Iterable[Note], config: Config, root: Path) -> tuple[str, list[Problem]]:
    """The text of the collection, rows in the order of their numbers, and what had to be left open. root: of the library, for
    messages."""
    notes = list(notes)
    numbers = number_notes(Numbered(note.date.isoformat(), note.slug, note.number) for note in notes)
    problems = list(_of_whom(config, root))
    out = io.StringIO(newline="")
    writer = csv.writer(out)  # RFC 4180: commas, quotes where needed, CRLF
    writer.writerow(standard.COLUMNS)
    for note in sorted(notes, key=lambda note: numbers[note.slug]):
        cells = _cells(note, config, numbers[note.slug], root, problems)
        writer.writerow(
            [_plain(cells[name], LONGEST if name == "problem" else SHORT) for name in standard.COLUMNS]
        )
    return out.getvalue(), problems


def _of_whom(config: Config, root: Path) -> Iterator[Problem]:
    """What a collection does not say of where it comes from."""
    file = shown_path(root / CONFIG_FILE)
    if not config.group:
        letters = record_id(config, 0).removesuffix("_0")
        what = f"group is not stated, so records are called {letters}_..., as another group's may be"
        yield Problem.of_file(file, what, "group: who keeps these notes", WARNING)
    if not config.country:
        hint = "country: three letters, such as DEU"
        yield Problem.of_file(file, "country is not stated, so records have none", hint, WARNING)


def record_id(config: Config, number: int) -> str:
    """The id of a record: who published it, in small letters, and the note's number."""
    letters = propose_slug(config.group or config.name).replace("-", "")
    return f"{letters[:40]}_{number}"


def _cells(note: Note, config: Config, number: int, root: Path, problems: list[Problem]) -> dict[str, str]:
    """A note's fields by column."""
    device = note.device
    age = note.date.year - device.year if device.year else -1
    return {
        "id": record_id(config, number),
        "data_provider": config.group or config.name,
        "country": config.country,
        "partner_product_category": device.kind,
        "product_category": _category(note, root, problems),
        "product_category_id": "",  # the standard's own numbers are not known here
        "brand": device.make,
        "year_of_manufacture": str(device.year or ""),
        "product_age": str(age) if age >= 0 else "",
        "repair_status": standard.STATUS_NAMES[note.outcome],
        "repair_barrier_if_end_of_life": standard.BARRIER_NAMES.get(note.barrier, ""),
        "group_identifier": config.group or config.name,
        "event_date": note.date.isoformat(),
        "problem": problem_of(note),
    }


def problem_of(note: Note) -> str:
    """What was wrong, in the owner's words, and what it turned out to be."""
    faults = [" ".join(filter(None, (fault.part, fault.failed))) for fault in note.faults]
    why = [f" ({fault.because})" if fault.because else "" for fault in note.faults]
    found = "; ".join(fault + because for fault, because in zip(faults, why))
    return "; ".join(note.symptoms) + (f". Turned out to be: {found}" if found else "")


def _category(note: Note, root: Path, problems: list[Problem]) -> str:
    if note.device.category in standard.CATEGORIES:
        return note.device.category
    what = f"not a product category of the standard; its record has {OTHER}"
    near = nearest(note.device.category or note.device.kind, standard.CATEGORIES)
    hint = "device: category: " + (f"{near}, perhaps" if near else "one of the standard's 40")
    line, column = note.marks.key(("device",))
    problems.append(Problem(shown_path(root / note.file), line, column, what, hint, WARNING))
    return OTHER


def _plain(text: str, limit: int) -> str:
    """A text on one line that no spreadsheet takes for a formula."""
    text = " ".join(text.split())[:limit]
    return f" {text}" if text.startswith(_FORMULA) else text
