"""What is kept of a note: the facts that its library needs, found by the hash of all that they were made from."""

from __future__ import annotations

import hashlib
import os
import stat
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from generator.cache import code_key, unpack
from generator.diagnosis.past import Past
from generator.files import Unreadable
from generator.finding.entry import Entry, entry_from
from generator.finding.record import Record, record_from
from generator.notes.config import Config
from generator.notes.note import NOTE_FILE
from generator.notes.text import shown_path
from generator.pages.theme import Theme
from generator.problems import ERROR, Problem


@dataclass(frozen=True)
class Facts:
    """What the library needs to know of a note. asked: relative links of its prose, and where they led; entry: its record
    made ready for the search and for its neighbours."""

    slug: str
    date: str
    record: Record | None
    problems: tuple[Problem, ...]
    photos: tuple[str, ...] = ()
    asked: dict[str, str | None] = field(default_factory=dict)
    entry: Entry | None = None
    number: int | None = None
    past: Past = field(default_factory=dict)

    @property
    def broken(self) -> bool:
        """Whether the note has an error."""
        return self.record is None or any(problem.severity == ERROR for problem in self.problems)

    def as_data(self) -> dict[str, Any]:
        """All but the entry, which also depends on the thesaurus."""
        return asdict(replace(self, entry=None))


def facts_from(data: dict[str, Any], record: Record | None = None, entry: Entry | None = None) -> Facts:
    """Facts out of what as_data() gave, with a record and an entry that are there already. Raises TypeError, KeyError for
    anything else."""
    record = record_from(data["record"]) if data["record"] is not None else record
    problems = tuple(Problem(**problem) for problem in data["problems"])
    photos, asked = tuple(data["photos"]), dict(data["asked"])
    past = {name: (int(failed), float(usual)) for name, (failed, usual) in data["past"].items()}
    return Facts(data["slug"], data["date"], record, problems, photos, asked, entry, data["number"], past)


def facts_kept(data: dict[str, Any], entry: bytes | None) -> Facts:
    """The facts of a note with its entry, where that is kept; then nobody asks for its prose."""
    if not entry or data["record"] is None:
        return facts_from(data)
    data["record"]["prose"] = ""
    record = record_from(data["record"])
    return facts_from({**data, "record": None}, record, entry_from(record, unpack(entry)))


def note_key(path: Path, source: bytes | Unreadable, content: Path, base: str) -> str:
    """The hash of all that a note's pieces are made from: settings, theme, program, its text, what lies in its folder.

    What lies there is judged by its state alone, for nobody knows yet whether the note uses it.
    """
    inside = path.parts[len(content.parts) :]
    digest = hashlib.sha256(f"{base}\0{'/'.join(inside)}\0{shown_path(path)}\0".encode("utf-8", "replace"))
    digest.update(source if isinstance(source, bytes) else f"\0{source}".encode())
    if len(inside) > 2:  # a folder with its photos
        for name, state in _states(path.parent):
            digest.update(f"\0{name}\0{state}".encode("utf-8", "surrogateescape"))
    return digest.hexdigest()


def _states(folder: Path) -> list[tuple[str, str]]:
    """What lies in a note's folder beside the note, and what changes when somebody writes to it."""
    try:
        with os.scandir(folder) as entries:
            return sorted((entry.name, _state(entry)) for entry in entries if entry.name != NOTE_FILE)
    except OSError as error:  # it went while we looked; that is told where the note is read
        return [("", str(error.errno))]


def _state(entry: os.DirEntry[str]) -> str:
    try:
        state = entry.stat(follow_symlinks=False)
    except OSError as error:
        return str(error.errno)
    times = f"{state.st_mtime_ns}/{state.st_ctime_ns}" if stat.S_ISREG(state.st_mode) else ""
    return f"{stat.S_IFMT(state.st_mode)}/{state.st_ino}/{state.st_size}/{times}"


def base_key(config: Config, theme: Theme) -> str:
    """The hash of what all notes depend on: the library's settings, the theme, the program."""
    return hashlib.sha256(f"{config!r}\0{theme.key}\0{code_key()}".encode()).hexdigest()
