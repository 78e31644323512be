"""The work on single notes, spread over processes: what a worker knows, and what it sends back."""

from __future__ import annotations

import contextlib
import gc
import hashlib
import json
import os
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from generator.build.store import Row, Store, code_key, pack, squeeze, unpack
from generator.finding.entry import Entry, entry_data, entry_from, entry_of
from generator.finding.record import Record, record_from
from generator.finding.thesaurus import Thesaurus
from generator.notes.config import Config
from generator.notes.note import read_note
from generator.notes.text import shown_path
from generator.pages.notepage import relative_link, work_note
from generator.pages.theme import Theme
from generator.problems import Problem
from generator.processes import spread
from generator.prose.photos import Photos

FEW = 12  # notes up to which starting processes costs more than it saves
CHUNK = 8


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

    def as_data(self) -> dict[str, Any]:
        """All but the entry, which also depends on the thesaurus."""
        return asdict(replace(self, entry=None))


def facts_from(data: dict[str, Any], record: Record | None = None, entry: Entry | None = None) -> Facts:
    """Facts out of what as_data() gave, with a record and an entry that are there already. Raises TypeError, KeyError for
    anything else."""
    record = record_from(data["record"]) if data["record"] is not None else record
    problems = tuple(Problem(**problem) for problem in data["problems"])
    return Facts(
        data["slug"], data["date"], record, problems, tuple(data["photos"]), dict(data["asked"]), entry
    )


@dataclass(frozen=True)
class Job:
    """What every worker is told once."""

    content: Path
    cache: Path
    config: Config
    slugs: frozenset[str]
    base: str
    thesaurus: Thesaurus


class Worker:
    """Works notes out. One to a process."""

    def __init__(self, job: Job) -> None:
        from generator import language

        language.use(job.config.language)
        self.job = job
        self.theme = Theme(job.content)
        self.photos = Photos(job.cache / "photos")
        self._store: Store | None = None

    def work(self, path: Path) -> tuple[Row, Facts]:
        """A note worked out: all of it for the store, and what the library needs to know of it."""
        key = note_key(path, self.job)
        note, problems = read_note(path, self.job.content, self.job.config.mains)
        if note is None:
            facts = Facts("", "", None, tuple(problems))
            return Row(key, pack(facts.as_data()), squeeze(None), "", b""), facts
        asked: dict[str, str | None] = {}

        def link(of: Any, wanted: str) -> str | None:
            asked[wanted] = relative_link(of, wanted, self.job.content, set(self.job.slugs))
            return asked[wanted]

        shown = shown_path(path)
        worked = work_note(note, self.job.config, self.theme, self.photos, link, shown_as=shown)
        problems = sorted([*problems, *worked.problems])
        entry = entry_of(worked.record, self.job.thesaurus)
        facts = Facts(
            note.slug, note.date.isoformat(), worked.record, tuple(problems), worked.photos, asked, entry
        )
        return Row(
            key,
            pack(facts.as_data()),
            squeeze(worked.pieces),
            self.job.thesaurus.key,
            pack(entry_data(entry)),
        ), facts


def note_key(path: Path, job: Job) -> str:
    """The hash of all that a note's pieces are made from: settings, theme, program, its file and its photos."""
    named, folder = os.fspath(path), os.path.dirname(path)
    inside = path.parts[len(job.content.parts) :]
    digest = hashlib.sha256(f"{job.base}\0{'/'.join(inside)}\0{shown_path(path)}\0".encode())
    own = len(inside) > 2  # a folder with its photos
    for file in sorted(os.path.join(folder, name) for name in os.listdir(folder)) if own else (named,):
        try:
            name = os.path.basename(file)
            digest.update(
                f"{name}\0".encode("utf-8", "surrogateescape")
                + (b"link" if os.path.islink(file) else _bytes_of(file))
                + b"\0"
            )
        except OSError as error:
            digest.update(f"{error.errno}\0".encode())
    return digest.hexdigest()


def _bytes_of(file: str) -> bytes:
    with open(file, "rb") as opened:
        return opened.read()


def base_key(config: Config, theme: Theme) -> str:
    """The hash of what all notes depend on: the library's settings, the theme, the program."""
    return hashlib.sha256(f"{config!r}\0{theme.key}\0{code_key()}".encode()).hexdigest()


@contextlib.contextmanager
def seldom_collected() -> Iterator[None]:
    """Look for what hangs on to itself less often, and not among what is there already: little is made in circles, and
    that saves a tenth. Afterwards all is as before, for `live` builds again and again in one process."""
    before = gc.get_threshold()
    gc.freeze()
    gc.set_threshold(100_000, 50, 100)
    try:
        yield
    finally:
        gc.set_threshold(*before)
        gc.unfreeze()


# --- spreading ------------------------------------------------------------------------------------------------------

_worker: Worker | None = None


def _begin(job: Job) -> None:
    global _worker
    _worker = Worker(job)


def _work(path: Path) -> tuple[Row, Facts]:
    assert _worker is not None
    return _worker.work(path)


def processes_for(wanted: int, tasks: int) -> int:
    """How many processes to use: as many as asked for, or one a core; one where there is little to do."""
    if tasks <= FEW:
        return 1
    return max(1, wanted or _cores())


def _cores() -> int:
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:
        return os.cpu_count() or 1


def work_all(
    job: Job,
    store: Store,
    paths: Sequence[Path],
    anew: Collection[Path],
    processes: int,
    progress: Callable[[int, int], object],
) -> dict[Path, tuple[str, Facts]]:
    """path -> (key, facts) of every note: from the store where nothing changed, else (and for those in anew) worked out and stored."""
    keys = {path: note_key(path, job) for path in paths}
    known = _known(job, store, keys.values())
    found = {path: (key, known[key]) for path, key in keys.items() if key in known and path not in anew}
    left = [path for path in paths if path not in found]
    progress(len(found), len(paths))
    for done, (path, (row, fresh)) in enumerate(_spread(job, left, processes), start=1):
        store.put(row)
        found[path] = (row.key, fresh)
        progress(len(paths) - len(left) + done, len(paths))
    store.flush()
    return found


def _known(job: Job, store: Store, keys: Iterable[str]) -> dict[str, Facts]:
    """key -> facts of the notes that are in the store as they would be worked out now."""
    stored, entries = store.facts(), store.entries(job.thesaurus.key)
    known: dict[str, Facts] = {}
    made: dict[tuple[str, str], bytes] = {}
    for key in keys:
        if key not in stored:
            continue
        try:
            facts = _facts_kept(unpack(stored[key]), entries.get(key))
            if facts.record is not None and facts.entry is None:
                entry = entry_of(facts.record, job.thesaurus)
                made[key, job.thesaurus.key] = pack(entry_data(entry))
                facts = replace(facts, entry=entry)
        except (TypeError, KeyError, AttributeError, ValueError):
            continue
        if all(_leads(job, facts, wanted) == led for wanted, led in facts.asked.items()):
            known[key] = facts
    store.put_entries(made)
    return known


def _facts_kept(data: dict[str, Any], entry: bytes | None) -> Facts:
    """The facts of a note with its entry, where that is kept; then nobody asks for its prose."""
    if not entry or data["record"] is None:
        return facts_from(data)
    data["record"]["prose"] = ""
    record = record_from(data["record"])
    return facts_from({**data, "record": None}, record, entry_from(record, unpack(entry)))


def _leads(job: Job, facts: Facts, wanted: str) -> str | None:
    """Where a relative link leads now."""
    from types import SimpleNamespace

    own = job.content / "notes" / facts.slug
    note: Any = SimpleNamespace(folder=own if (own / "note.md").is_file() else None)
    return relative_link(note, wanted, job.content, set(job.slugs))


def _spread(job: Job, paths: list[Path], processes: int) -> Iterator[tuple[Path, tuple[Row, Facts]]]:
    count = processes_for(processes, len(paths))
    if count == 1:
        worker = Worker(job) if paths else None
        for path in paths:
            assert worker is not None
            yield path, worker.work(path)
        return
    yield from zip(paths, spread(_work, paths, processes=count, chunk=CHUNK, begin=_begin, given=(job,)))


def digest_of(data: Iterable[Any]) -> str:
    """A hash of plain data."""
    return hashlib.sha256(
        json.dumps(list(data), sort_keys=True, ensure_ascii=False, default=str).encode()
    ).hexdigest()
