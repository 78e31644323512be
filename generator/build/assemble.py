"""The files of each note: put together from stored pieces and from what the libraries know of it."""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Protocol

from generator import language
from generator.build import workshop
from generator.build.facts import Facts
from generator.build.ledger import Ledger
from generator.build.store import Store
from generator.build.workshop import Job
from generator.cache import unpack
from generator.diagnosis.past import Rates
from generator.finding.causes import Relations
from generator.notes.library import NOTES_FOLDER
from generator.pages import site_pages
from generator.pages.notedata import note_json
from generator.processes import spread

MANY = 1_000  # pages from which on what is known of all notes is more than a process of one's own costs


class Build(Protocol):
    """What a build knows once its notes are worked out."""

    processes: int
    progress: Callable[[str, int, int], object]
    numbers: dict[str, int]
    jobs: dict[str, Job]

    @property
    def sound(self) -> Sequence[tuple[str, Facts]]: ...


def note_pages(build: Build, store: Store, ledger: Ledger) -> None:
    """Each note's page and its data for machines."""
    past = Rates.of([f.past for _, f in build.sound])
    relations = Relations(f.entry for _, f in build.sound if f.entry)
    wanted: list[tuple[str, str, site_pages.Beside]] = []
    keys: dict[str, str] = {}
    for note_key, facts in build.sound:
        assert facts.entry is not None
        around = site_pages.beside(facts.entry, build.numbers[facts.slug], relations, past)
        keys[facts.slug] = key = ledger.key([note_key, around.made_from()])
        if not all([ledger.kept(path, key) for path in _paths(facts, ledger)]):
            wanted.append((facts.slug, note_key, around))
    build.progress("pages", 0, len(wanted))
    for done, (slug, files) in enumerate(_put_together(build, store, wanted), start=1):
        for path, data in files.items():
            ledger.write(path, keys[slug], data)
        build.progress("pages", done, len(wanted))


def _paths(facts: Facts, ledger: Ledger) -> list[str]:
    """The files of a note."""
    slug = facts.slug
    drawn = bool(facts.entry and facts.entry.record.block_kinds)
    paths = [
        site_pages.note_path(slug),
        _data_path(slug),
        site_pages.icon_path(slug),
        site_pages.paper_path(slug),
    ]
    paths += [_netlist_path(slug)] if _netlist_path(slug) in ledger.before else []
    return [*paths, site_pages.drawing_path(slug)] if drawn else paths


def _data_path(slug: str) -> str:
    return f"notes/{slug}/note.json"


def _netlist_path(slug: str) -> str:
    return f"notes/{slug}/device.cir"


def _put_together(
    build: Build, store: Store, wanted: Sequence[tuple[str, str, site_pages.Beside]]
) -> Iterator[tuple[str, dict[str, bytes]]]:
    """(slug, its files by path) of the notes wanted, in order."""
    count = workshop.processes_for(build.processes, len(wanted)) if store.cache.shared else 1
    # made as they are handed over: those of ten thousand notes at once would take much memory
    tasks = ((slug, key, around.context()) for slug, key, around in wanted)
    store.cache.flush()
    if count == 1:
        assembler = _Assembler(build.jobs, store)
        yield from map(assembler.put_together, tasks)
        return
    yield from spread(
        _assemble,
        tasks,
        processes=count,
        chunk=workshop.CHUNK,
        begin=_begin,
        given=(build.jobs,),
        fresh=len(wanted) > MANY,
    )


class _Assembler:
    """Puts note pages together from stored pieces. One to a process. jobs: by the name of the library."""

    def __init__(self, jobs: Mapping[str, Job], store: Store) -> None:
        self.jobs, self.store = jobs, store

    def put_together(self, wanted: tuple[str, str, dict[str, Any]]) -> tuple[str, dict[str, bytes]]:
        slug, key, context = wanted
        pool, _, name = slug.rpartition("/")
        job = self.jobs[pool]
        pieces = self.store.pieces(key)
        if pieces is None:  # the cache was taken away under our feet: work the note out again
            folder = job.content / NOTES_FOLDER
            path = folder / name / "note.md"
            path = path if path.is_file() else folder / f"{name}.md"
            pieces = unpack(zlib.decompress(workshop.Worker(job, self.store).work(path)[0].pieces))
        files = site_pages.note_files(job.theme, job.own, slug, pieces, context, job.config if pool else None)
        files[_data_path(slug)] = note_json(pieces["data"], context["number"])
        if pieces["netlist"]:
            files[_netlist_path(slug)] = pieces["netlist"].encode()
        return slug, files


_assembler: _Assembler | None = None


def _begin(jobs: Mapping[str, Job]) -> None:
    global _assembler
    job = jobs[""]
    language.use(job.config.language)
    _assembler = _Assembler(jobs, Store(job.cache))


def _assemble(wanted: tuple[str, str, dict[str, Any]]) -> tuple[str, dict[str, bytes]]:
    assert _assembler is not None
    return _assembler.put_together(wanted)
