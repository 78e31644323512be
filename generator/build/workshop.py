"""The work on single notes, spread over processes: what a worker knows, and what it sends back."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from generator import language
from generator.build.facts import Facts, base_key, facts_kept, note_key
from generator.build.photos import Photos
from generator.build.store import Row, Store, compress
from generator.cache import digest_of, pack, unpack
from generator.files import Unreadable, read_file, reason
from generator.finding.entry import complaints_of, entry_data, entry_of
from generator.finding.thesaurus import Thesaurus
from generator.notes.config import Config
from generator.notes.note import read_note, slug_of
from generator.notes.pool import Part
from generator.notes.text import MAX_FILE_BYTES, shown_path
from generator.pages.notepage import work_note
from generator.pages.records import record_in
from generator.pages.slugs import relative_link
from generator.pages.theme import Theme
from generator.processes import spread
from generator.prose.photos import Photo, Refused

FEW = 12  # notes up to which starting processes costs more than it saves
CHUNK = 8


@dataclass(frozen=True)
class Job:
    """What every worker is told once of a library. part: the library; own: the settings of the one whose site it is;
    config: those by which the part's notes are worked out; home: the name by which a note says that it is from there,
    "" where there is one library only."""

    part: Part
    own: Config
    cache: Path
    config: Config
    slugs: frozenset[str]
    base: str
    thesaurus: Thesaurus
    theme: Theme
    home: str = ""

    @property
    def content(self) -> Path:
        return self.part.root


def job_of(part: Part, own: Config, cache: Path, thesaurus: Thesaurus, theme: Theme, several: bool) -> Job:
    """What is to be told of a library in a site of its own, or of several."""
    config = part.worked_as(own)
    slugs = frozenset(slug_of(path, part.root) for path in part.paths)
    home = (part.config.name or part.name) if several else ""
    base = digest_of([base_key(config, theme), thesaurus.key, part.name, part.config.language, home])
    return Job(part, own, cache, config, slugs, base, thesaurus, theme, home)


class Worker:
    """Works notes out. One to a process."""

    def __init__(self, job: Job, store: Store) -> None:
        language.use(job.config.language)
        self.job, self.theme = job, job.theme
        self.photos = Photos(store.cache)

    def work(self, path: Path) -> tuple[Row, Facts]:
        """A note worked out: all of it for the store, and what the library needs to know of it.

        Key and note are of the same bytes, so that a save while we work cannot leave a page behind that is not of
        the note whose key it has.
        """
        source = source_of(path)
        key = note_key(path, source, self.job.content, self.job.base)
        mains = self.job.config.mains
        note, problems = read_note(path, self.job.content, mains, source)
        if note is None:
            facts = Facts("", "", None, tuple(problems))
            return Row(key, pack(facts.as_data()), compress(None), "", b""), facts
        asked: dict[str, str | None] = {}

        def link(of: Any, wanted: str) -> str | None:
            asked[wanted] = relative_link(of, wanted, self.job.slugs)
            return asked[wanted]

        shown = shown_path(path)
        photo = _once(partial(self._photo, note.folder))
        complaints = complaints_of(note.symptoms, self.job.thesaurus)
        worked = work_note(
            note, self.job.config, self.theme, photo, link, shown_as=shown, complaints=complaints
        )
        worked.pieces["data"] |= self._origin(note.slug)
        problems = sorted([*problems, *worked.problems])
        record = record_in(worked.record, self.job.part, self.job.home)
        entry = entry_of(record, self.job.thesaurus)
        date, told = note.date.isoformat(), tuple(problems)
        facts = Facts(record.slug, date, record, told, worked.photos, asked, entry, note.number, worked.past)
        return Row(
            key,
            pack(facts.as_data()),
            compress(worked.pieces),
            self.job.thesaurus.key,
            pack(entry_data(entry)),
        ), facts

    def _origin(self, slug: str) -> dict[str, Any]:
        """What a note's data say of the library that it is from."""
        config, part = self.job.config, self.job.part
        origin = {"as": part.name, "name": config.name, "group": config.group, "country": config.country}
        return {
            "slug": part.slug(slug),
            "language": part.config.language,
            "licence": config.licence,
            "origin": origin if part.name else None,
        }

    def _photo(self, folder: Path | None, name: str) -> Photo | None:
        """The photo of this name beside a note, None where there is none. Raises Refused."""
        if folder is None or "/" in name or "\\" in name or "\0" in name or name.startswith("."):
            return None
        if not os.path.lexists(folder / name):
            return None
        try:
            return self.photos.work(folder / name)
        except OSError as error:  # of the cache: what is wrong with the file itself is Refused
            raise Refused(f"cannot be kept in the cache: {reason(error)}") from None


def _once(work: Callable[[str], Photo | None]) -> Callable[[str], Photo | None]:
    """The same, but what a note asks for again is not worked out again, be it refused."""
    done: dict[str, Photo | Refused | None] = {}

    def asked(name: str) -> Photo | None:
        if name not in done:
            try:
                done[name] = work(name)
            except Refused as refused:
                done[name] = refused
        found = done[name]
        if isinstance(found, Refused):
            raise found
        return found

    return asked


def source_of(path: Path) -> bytes | Unreadable:
    """The bytes of a note, or why there are none."""
    try:
        return read_file(path, MAX_FILE_BYTES)
    except Unreadable as unreadable:
        return unreadable


# --- spreading ------------------------------------------------------------------------------------------------------

_worker: Worker | None = None


def _begin(job: Job) -> None:
    global _worker
    _worker = Worker(job, Store(job.cache))


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
    kept: Kept | None,
) -> dict[Path, tuple[str, Facts]]:
    """path -> (key, facts) of every note: from the store where nothing changed, else (and for those in anew) worked out
    and stored. kept: what is in the store, where somebody has read it already."""
    keys = {path: note_key(path, source_of(path), job.content, job.base) for path in paths}
    known = _known(job, store, kept or Kept.of(store, job), keys.values())
    found = {path: (key, known[key]) for path, key in keys.items() if key in known and path not in anew}
    left = [path for path in paths if path not in found]
    progress(len(found), len(paths))
    for done, (path, (row, fresh)) in enumerate(_spread(job, store, left, processes), start=1):
        store.put(row)
        found[path] = (row.key, fresh)
        progress(len(paths) - len(left) + done, len(paths))
    store.cache.flush()
    return found


class Kept(NamedTuple):
    """The facts and the entries of a store, packed, by their keys."""

    facts: dict[str, bytes]
    entries: dict[str, bytes]

    @classmethod
    def of(cls, store: Store, job: Job) -> Kept:
        return cls(store.facts(), store.entries(job.thesaurus.key))


def _known(job: Job, store: Store, kept: Kept, keys: Iterable[str]) -> dict[str, Facts]:
    """key -> facts of the notes that are in the store as they would be worked out now."""
    stored, entries = kept
    known: dict[str, Facts] = {}
    made: dict[str, bytes] = {}
    photos = Photos(store.cache)
    for key in keys:
        if key not in stored:
            continue
        try:
            facts = facts_kept(unpack(stored[key]), entries.get(key))
            if facts.record is not None and facts.entry is None:
                entry = entry_of(facts.record, job.thesaurus)
                made[key] = pack(entry_data(entry))
                facts = replace(facts, entry=entry)
        except (TypeError, KeyError, AttributeError, ValueError):
            continue
        if all(map(photos.has, facts.photos)) and all(
            _leads(job, facts, wanted) == led for wanted, led in facts.asked.items()
        ):
            known[key] = facts
    store.put_entries(job.thesaurus.key, made)
    return known


def _leads(job: Job, facts: Facts, wanted: str) -> str | None:
    """Where a relative link leads now."""
    from types import SimpleNamespace

    own = job.content / "notes" / facts.slug.rpartition("/")[2]
    note: Any = SimpleNamespace(folder=own if (own / "note.md").is_file() else None)
    return relative_link(note, wanted, job.slugs)


def _spread(
    job: Job, store: Store, paths: list[Path], processes: int
) -> Iterator[tuple[Path, tuple[Row, Facts]]]:
    count = processes_for(processes, len(paths))
    if count == 1:
        worker = Worker(job, store) if paths else None
        for path in paths:
            assert worker is not None
            yield path, worker.work(path)
        return
    yield from zip(paths, spread(_work, paths, processes=count, chunk=CHUNK, begin=_begin, given=(job,)))
