"""The build: a folder of notes in, a site out, whole or not at all.

Notes are worked out in parallel and kept by the hash of what they depend on; then each page is put together from
its note's pieces and a small set of facts on the library, and again only where one of those has changed.
"""

from __future__ import annotations

import hashlib
import os
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path
from typing import Any

from generator import language
from generator.build import workshop
from generator.build.collected import Collected
from generator.build.photos import Damaged, Photos
from generator.build.replace import NotWritten, Staging
from generator.build.store import Store, Written
from generator.build.workshop import Facts, Job, work_all
from generator.cache import cache_folder, digest_of, unpack
from generator.files import Unreadable, read_file
from generator.finding import kept
from generator.finding.causes import Relations
from generator.finding.entry import Entry
from generator.finding.thesaurus import Thesaurus
from generator.finding.thesaurus import load as load_thesaurus
from generator.notes.library import NOTES_FOLDER, survey
from generator.notes.note import slug_of
from generator.notes.text import shown_path
from generator.pages.groups import group_notes
from generator.pages.machines import machine_files
from generator.pages.notedata import note_json
from generator.pages.rowgroups import by_category, by_group
from generator.pages.rowlists import beside_groups, row_pages
from generator.pages.site_pages import (
    FIRST_NUMBER,
    Page,
    beside,
    drawing_path,
    find_files,
    icon_path,
    library_pages,
    note_files,
    note_path,
    paper_path,
)
from generator.pages.theme import OWN, Theme, ThemeError
from generator.problems import ERROR, HINT, Problem
from generator.processes import spread

LARGEST_FILE = 1 << 30  # bytes of a file of a site; what is larger was not written here
Progress = Callable[[str, int, int], object]  # what is being done, how much of it is done, how much there is


@dataclass
class Built:
    """What a build came to. written: the site was replaced; search_behind: but its search does not know all yet."""

    problems: list[Problem]
    notes: int = 0
    pages: int = 0
    written: bool = False
    search_behind: bool = False


def _quiet(what: str, done: int, total: int) -> None:
    return None


class Build:
    """One build of a library: what was read and worked out."""

    def __init__(
        self,
        content: Path,
        processes: int,
        progress: Progress,
        *,
        rehearse: bool = False,
        own_theme: bool = True,
    ) -> None:
        self.content, self.processes, self.progress = content, processes, progress
        self.config, paths, problems = survey(content)
        language.use(self.config.language)
        self.problems: list[Problem] = list(problems)
        self.cache = cache_folder(content) if paths else Path()
        self.thesaurus, own = load_thesaurus(content / "symptoms.yaml")
        self.problems += own
        self.theme = Theme(content if own_theme else None)
        self.problems += self.theme.check()
        self.base = workshop.base_key(self.config, self.theme)
        self.collected = Collected(content, lambda: self.thesaurus, processes)
        self.paths = paths
        self.anew = paths[:1] if rehearse else []  # made anew even if they are known
        self.facts: dict[Path, tuple[str, Facts]] = {}
        self.find_base = kept.base_of(content) if paths else ""
        self.find_keys: dict[Path, str] = {}  # of the notes' entries, as `lookup` asks for them

    def work(self, store: Store) -> None:
        """Work every note out, or take it from the store."""
        slugs = frozenset(slug_of(path, self.content) for path in self.paths)
        job = Job(self.content, self.cache, self.config, slugs, self.base, self.thesaurus, self.theme)
        self.job = job
        self.find_keys = {path: kept.note_key(self.find_base, self.content, path) for path in self.paths}
        self.facts = work_all(
            job, store, self.paths, self.anew, self.processes, partial(self.progress, "notes")
        )
        self.collected.judge(store.cache)
        found = [p for _, f in self.facts.values() for p in f.problems]
        self.problems = sorted([*self.problems, *self.collected.problems, *found])

    @cached_property
    def sound(self) -> list[tuple[str, Facts]]:
        """(key, facts) of the notes that could be read, in the order of their numbers: by date, then by slug. Only after work()."""
        found = [(key, facts) for key, facts in self.facts.values() if facts.record]
        return sorted(found, key=lambda pair: (pair[1].date, pair[1].slug))

    def remember(self, store: Store) -> None:
        """Keep for `lookup` what it would have to read the notes for. Only after work()."""
        known = store.cache.keys("records", self.find_base)
        fresh = {
            key: facts.entry
            for path, (_, facts) in self.facts.items()
            if (key := self.find_keys[path]) not in known and facts.entry
        }
        kept.remember(store.cache, self.find_base, fresh, self.find_keys.values())

    @property
    def broken(self) -> bool:
        return any(problem.severity == ERROR for problem in self.problems)


@workshop.seldom_collected()
def inspect_library(
    content: Path, processes: int = 0, progress: Progress = _quiet
) -> tuple[list[Problem], int]:
    """Every problem of a library, in the order of files and lines; the number of its notes. No site is written.

    The library's own theme is left out: who looks at what somebody else wrote need not run any of it.
    """
    build = Build(content, processes, progress, own_theme=False)
    if not build.paths:
        return sorted(build.problems), 0
    store = Store(build.cache)
    build.work(store)
    store.close()
    return build.problems, len(build.facts)


@workshop.seldom_collected()
def build_site(
    content: Path,
    target: Path,
    *,
    processes: int = 1,
    progress: Progress = _quiet,
    search_later: bool = False,
    rehearse: bool = False,
) -> Built:
    """Write the site of a library into target. With problems, nothing is written and the old site stays.

    search_later: keep the old site's search for now, where there is one, so that a page is there the sooner.
    rehearse: make one note anew although nothing has changed, so that the next build finds all it needs loaded and in place.
    """
    build = Build(content, processes, progress, rehearse=rehearse)
    if not build.paths:
        return Built(sorted(build.problems))
    where = _bad_place(target, content)
    if where is not None:
        return Built(sorted([*build.problems, where]))
    store = Store(build.cache)
    try:
        for attempt in range(3):
            build.work(store)
            if build.broken:
                return Built(build.problems, len(build.facts))
            try:
                pages, behind, left = _write(build, store, target, search_later)
                break
            except (
                Damaged
            ):  # a photo in the cache: it was deleted, so the notes that have it are worked out again
                if attempt == 2:
                    raise NotWritten(f"the cache {build.cache} loses what is put into it") from None
        store.keep_notes([key for key, _ in build.facts.values()], build.thesaurus.key)
        build.remember(store)
    except NotWritten as error:
        return Built([*build.problems, Problem(shown_path(target), 0, 0, str(error))], len(build.facts))
    except ThemeError as error:
        return Built([*build.problems, error.problem], len(build.facts))
    finally:
        store.close()
    return Built([*build.problems, *left], len(build.facts), pages, True, behind)


def _bad_place(target: Path, content: Path) -> Problem | None:
    """A target that is the library, holds it, or is where the library's own files are read from."""
    inside = [content / NOTES_FOLDER, content / OWN]
    if target.resolve() in (content.resolve(), *content.resolve().parents) or any(
        _inside(target, folder) for folder in inside
    ):
        what = "the site cannot be written among the files that it is made from"
        return Problem(shown_path(target), 0, 0, what, "give another folder with --to")
    return None


def _inside(path: Path, folder: Path) -> bool:
    return folder.resolve() in (path.resolve(), *path.resolve().parents)


def _as_it_stands(target: Path, path: str, file: Written) -> Written:
    try:
        return file._replace(state=state_of(target / path))
    except OSError:
        return file


def _write(build: Build, store: Store, target: Path, search_later: bool) -> tuple[int, bool, list[Problem]]:
    """Write all files of the site, keeping those that are as they were: the number of pages, whether the search is behind,
    and what is to be said of what lies beside the site."""
    mark = hashlib.sha256(os.fsencode(target.resolve())).hexdigest()[:16]  # a name may be no text
    before = store.pages(mark)
    for note in build.anew:
        before.pop(note_path(slug_of(note, build.content)), None)
        before.pop(_WHOLE, None)
    written: dict[str, Written] = {}
    photos = Photos(store.cache)
    entries = [facts.entry for _, facts in build.sound if facts.entry]
    stamp = find_stamp(entries, build.thesaurus, build.collected.stamp)
    whole = digest_of([build.base, build.theme.static_key, [key for key, _ in build.sound], stamp])
    if _stands(target, before, whole):
        return sum(path.endswith(".html") for path in before), False, []
    with Staging(target) as staging:
        ledger = _Ledger(staging, before, written, build.base)
        _note_pages(build, store, ledger)
        for page in _library_pages(build, entries, stamp):
            ledger.add(page)
        behind = _find(build, store, entries, stamp, ledger, search_later)
        pages = [path for path in written if path.endswith(".html")]
        for path, made_from, make in machine_files(build.config, [entry.record for entry in entries], pages):
            ledger.add(Page(path, made_from, make))
        for name, data in build.theme.static.items():
            ledger.write(f"static/{name}", "", data)
        names = sorted({name for _, facts in build.sound for name in facts.photos})
        for name in names:
            ledger.add(Page(f"photos/{name}", name, partial(photos.read, name)))  # named by its content
    if not behind:
        written[_WHOLE] = Written(whole, "", str(len(written)))
    store.set_pages(
        mark,
        {
            path: file if file.state or not path else _as_it_stands(target, path, file)
            for path, file in written.items()
        },
    )
    photos.prune(set(names))
    return len(pages), behind, [_beside(folder) for folder in staging.left]


def _library_pages(build: Build, entries: list[Entry], stamp: str) -> Iterator[Page]:
    """All pages but those of the notes."""
    groups, collected = group_notes(entries), build.collected
    lists = by_group([*groups.devices, *groups.symptoms], collected.entries)
    beside_them = beside_groups(lists, collected.stamp)
    yield from library_pages(
        build.theme, build.config, entries, groups, stamp, beside_them, len(collected.entries)
    )
    categories = by_category(collected.entries)
    yield from row_pages(build.theme, build.config, categories, lists.values(), collected.stamp)


def _beside(folder: Path) -> Problem:
    what = "this looks like something that a build left, but nothing here remembers it; it was left alone"
    return Problem(shown_path(folder), 0, 0, what, "delete it if you have no use for it", HINT)


_WHOLE = ""  # the site as a whole, among the paths of its files


def _stands(target: Path, before: dict[str, Written], whole: str) -> bool:
    """Whether the site that is there was made from all the same, and nobody has touched a file of it since."""
    known = before.get(_WHOLE)
    if (
        known is None or known.key != whole or known.state != str(len(before) - 1)
    ):  # a row may be damaged, or lost
        return False
    return all(path == _WHOLE or _untouched(target / path, file) for path, file in before.items())


def _untouched(path: Path, file: Written) -> bool:
    """Whether a file is as it was written: by its size and times, else by its bytes."""
    try:
        return state_of(path) == file.state or _digest(path) == file.digest
    except (OSError, Unreadable):
        return False


class _Ledger:
    """Which file was made from what; a file that was made from the same is taken over from the old site."""

    def __init__(self, staging: Staging, before: dict[str, Written], written: dict[str, Written], base: str):
        self.staging, self.before, self.written, self.base = staging, before, written, base

    def key(self, made_from: Any) -> str:
        return digest_of([self.base, made_from])

    def kept(self, path: str, key: str) -> bool:
        """Take the old file over if it was made from the same and nobody has touched it since."""
        known = self.before.get(path)
        if known is None or known.key != key or not _untouched(self.staging.target / path, known):
            return False
        if not self.staging.keep(path):
            return False
        self.written[path] = known
        return True

    def write(self, path: str, key: str, data: bytes) -> None:
        self.staging.write(path, data)
        self.written[path] = Written(key, hashlib.sha256(data).hexdigest(), "")

    def add(self, page: Page) -> None:
        key = self.key(page.made_from)
        if not self.kept(page.path, key):
            self.write(page.path, key, page.make())


def _digest(path: Path) -> str:
    return hashlib.sha256(read_file(path, LARGEST_FILE)).hexdigest()


def state_of(path: Path) -> str:
    """What changes when somebody writes to a file: which one it is, its size, the time of the last change. Raises OSError."""
    state = os.lstat(path)
    return f"{state.st_ino}/{state.st_size}/{state.st_mtime_ns}/{state.st_mode}"


def _note_pages(build: Build, store: Store, ledger: _Ledger) -> None:
    """Each note's page and its data for machines."""
    relations = Relations(f.entry for _, f in build.sound if f.entry)
    wanted: list[tuple[str, str, dict[str, Any]]] = []
    keys: dict[str, str] = {}
    for number, (note_key, facts) in enumerate(build.sound, start=FIRST_NUMBER):
        assert facts.entry is not None
        around = beside(facts.entry, number, relations)
        keys[facts.slug] = key = ledger.key([note_key, around.made_from()])
        if not all([ledger.kept(path, key) for path in _paths(facts)]):
            wanted.append((facts.slug, note_key, around.context()))
    build.progress("pages", 0, len(wanted))
    for done, (slug, files) in enumerate(_put_together(build, store, wanted), start=1):
        for path, data in files.items():
            ledger.write(path, keys[slug], data)
        build.progress("pages", done, len(wanted))


def _paths(facts: workshop.Facts) -> list[str]:
    """The files of a note."""
    slug = facts.slug
    drawn = bool(facts.entry and facts.entry.record.block_kinds)
    paths = [note_path(slug), _data_path(slug), icon_path(slug), paper_path(slug)]
    return [*paths, drawing_path(slug)] if drawn else paths


def _data_path(slug: str) -> str:
    return f"notes/{slug}/note.json"


def _put_together(
    build: Build, store: Store, wanted: list[tuple[str, str, dict[str, Any]]]
) -> Iterator[tuple[str, dict[str, bytes]]]:
    """(slug, its files by path) of the notes wanted, in order."""
    count = workshop.processes_for(build.processes, len(wanted)) if store.cache.shared else 1
    store.cache.flush()
    if count == 1:
        assembler = _Assembler(build.job, store)
        yield from map(assembler.put_together, wanted)
        return
    yield from spread(
        _assemble, wanted, processes=count, chunk=workshop.CHUNK, begin=_begin, given=(build.job,)
    )


class _Assembler:
    """Puts note pages together from stored pieces. One to a process."""

    def __init__(self, job: Job, store: Store) -> None:
        self.job, self.store, self.theme = job, store, job.theme

    def put_together(self, wanted: tuple[str, str, dict[str, Any]]) -> tuple[str, dict[str, bytes]]:
        slug, key, context = wanted
        pieces = self.store.pieces(key)
        if pieces is None:  # the cache was taken away under our feet: work the note out again
            folder = self.job.content / NOTES_FOLDER
            path = (
                folder / slug / "note.md" if (folder / slug / "note.md").is_file() else folder / f"{slug}.md"
            )
            pieces = unpack(zlib.decompress(workshop.Worker(self.job, self.store).work(path)[0].pieces))
        files = note_files(self.theme, self.job.config, slug, pieces, context)
        files[_data_path(slug)] = note_json(pieces["data"], context["number"])
        if pieces["netlist"]:
            files[f"notes/{slug}/device.cir"] = pieces["netlist"].encode()
        return slug, files


_assembler: _Assembler | None = None


def _begin(job: Job) -> None:
    global _assembler
    language.use(job.config.language)
    _assembler = _Assembler(job, Store(job.cache))


def _assemble(wanted: tuple[str, str, dict[str, Any]]) -> tuple[str, dict[str, bytes]]:
    assert _assembler is not None
    return _assembler.put_together(wanted)


def find_stamp(entries: list[Entry], thesaurus: Thesaurus, rows: str = "") -> str:
    """Changes with whatever the search's files are made from. rows: the stamp of the collections."""
    return digest_of([[entry.mark for entry in entries], thesaurus.key, rows])[:12]


def _find(build: Build, store: Store, entries: list[Entry], stamp: str, ledger: _Ledger, later: bool) -> bool:
    """The files of the search, all of them anew when any note or the thesaurus has changed; whether they were left for later."""
    key = ledger.key(["find", stamp])
    old = {path: file.key for path, file in ledger.before.items() if path.startswith("find/")}
    current = bool(old) and set(old.values()) == {key}
    if old and (current or later) and all(ledger.kept(path, made_from) for path, made_from in old.items()):
        return not current
    files = find_files([*entries, *build.collected.entries], build.thesaurus)
    for path, data in files.items():
        ledger.write(path, key, data)
    shards = {path.removeprefix("find/"): data for path, data in files.items()}
    mark = kept.mark_of([*build.find_keys.values(), build.collected.mark])
    kept.remember_index(store.cache, mark, shards)
    return False
