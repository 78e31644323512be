"""The numbers of a library's notes: those that are stated never change; the others follow the highest of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from generator.notes.text import line_of, shown_path
from generator.problems import HINT, WARNING, Problem

FIRST_NUMBER = 101  # of a library's notes: no resistor begins with a black band


class Numbered(NamedTuple):
    """A note as far as its number goes; stated is None where it does not say."""

    date: str
    slug: str
    stated: int | None


def number_notes(notes: Iterable[Numbered]) -> dict[str, int]:
    """Slug -> number. Notes without one are numbered by date, then by slug, from behind the highest stated one.

    Of two notes that state one number the first has it; the other counts as one without.
    """
    ordered = sorted(notes)
    found: dict[str, int] = {}
    taken: set[int] = set()
    for note in ordered:
        if note.stated is not None and note.stated not in taken:
            found[note.slug] = note.stated
            taken.add(note.stated)
    after = next_number(taken)
    for note in ordered:
        if note.slug not in found:
            found[note.slug] = after
            after += 1
    return found


def next_number(stated: Iterable[int]) -> int:
    """The number behind the highest stated one."""
    return max([FIRST_NUMBER - 1, *stated]) + 1


def twice(notes: Iterable[Numbered]) -> Mapping[int, Sequence[str]]:
    """Number -> the slugs of all notes that state it, of numbers that more than one states."""
    held: dict[int, list[str]] = {}
    for note in sorted(notes):
        if note.stated is not None:
            held.setdefault(note.stated, []).append(note.slug)
    return {number: slugs for number, slugs in held.items() if len(slugs) > 1}


def number_problems(root: Path, notes: Mapping[Path, Numbered]) -> Iterator[Problem]:
    """Of the notes of a library: a number that two state, and a hint where some state none."""
    path_of = {note.slug: path for path, note in notes.items()}
    free = next_number(note.stated for note in notes.values() if note.stated is not None)
    for number, (first, *others) in twice(notes.values()).items():
        for slug in others:
            what = f"number: {number} is also that of {first}, so this note is numbered as one without"
            hint = f"a job's number is its own; the next free one is {free}"
            yield Problem(shown_path(path_of[slug]), line_of(path_of[slug], "number"), 1, what, hint, WARNING)
    without = [note for note in notes.values() if note.stated is None]
    if without:
        one = len(without) == 1
        what = f"{len(without)} note{'' if one else 's'} without number:, so {'its number' if one else 'their numbers'} may change"
        yield Problem.of_file(shown_path(root / "notes"), what, f"the next free one is {free}", HINT)
