"""The build: a folder of notes in, a site out, whole or not at all.

Notes are worked out in parallel and kept by the hash of what they depend on; then each page is put together from
its note's pieces and a small set of facts on the library, and again only where one of those has changed.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path

from generator import language
from generator.build import workshop
from generator.build.assemble import note_pages
from generator.build.collected import Collected
from generator.build.facts import Facts, base_key
from generator.build.ledger import WHOLE, Ledger, as_it_stands, stands
from generator.build.own import NotWritten
from generator.build.photos import Damaged, Photos
from generator.build.replace import Staging
from generator.build.store import Store, Written
from generator.build.workshop import Kept, work_all
from generator.cache import cache_folder, digest_of
from generator.finding import kept
from generator.finding.entry import Entry
from generator.finding.thesaurus import Thesaurus
from generator.finding.thesaurus import load as load_thesaurus
from generator.notes.collection import RECORDS_FOLDER
from generator.notes.library import NOTES_FOLDER, left_out, survey
from generator.notes.note import slug_of
from generator.notes.numbers import Numbered, number_notes, number_problems
from generator.notes.pool import Part, pooled
from generator.notes.text import shown_path
from generator.notes.titles import title_problems
from generator.pages.groups import group_notes
from generator.pages.library_pages import find_files, library_pages
from generator.pages.machines import machine_files
from generator.pages.noteslist import notes_json
from generator.pages.rowgroups import by_category, by_group
from generator.pages.rowlists import beside_groups, row_pages
from generator.pages.site_pages import Page, note_path
from generator.pages.theme import OWN, Theme, ThemeError
from generator.problems import ERROR, HINT, Problem
from generator.processes import seldom_collected

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
        skip_broken: bool = False,
    ) -> None:
        self.content, self.processes, self.progress = content, processes, progress
        self.config, paths, problems = survey(content)
        language.use(self.config.language)
        self.problems: list[Problem] = list(problems)
        self.thesaurus, own = load_thesaurus(content / "symptoms.yaml")
        self.problems += own
        self.theme = Theme(content if own_theme else None)
        self.problems += self.theme.check()
        self.base = base_key(self.config, self.theme)
        self.skip_broken = skip_broken
        self.own = Part("", content, self.config, tuple(paths))
        others, found = pooled(content, self.config)
        self.problems += found
        self.parts = [self.own, *others]
        self.paths = [path for part in self.parts for path in part.paths]
        self.collected = Collected(content, lambda: self.thesaurus, processes)
        self.empty = not self.paths and not self.collected.paths
        if self.empty and not self.broken:
            self.problems.append(_no_notes(content))
        self.cache = Path() if self.empty else cache_folder(content)
        self.anew = paths[:1] if rehearse else []  # made anew even if they are known
        self.facts: dict[Path, tuple[str, Facts]] = {}
        self.numbers: dict[str, int] = {}  # by slug
        self.find_base = "" if self.empty else kept.base_of(content, [part.root for part in others])
        self.find_keys: dict[Path, str] = {}  # of the notes' entries, as `lookup` asks for them

    def work(self, store: Store) -> None:
        """Work every note out, or take it from the store."""
        several = len(self.parts) > 1
        given = (self.config, self.cache, self.thesaurus, self.theme, several)
        self.jobs = {part.name: workshop.job_of(part, *given) for part in self.parts}
        self.find_keys = {path: kept.note_key(self.find_base, self.content, path) for path in self.paths}
        known = Kept.of(store, self.jobs[""])
        told = [*self.problems]
        for part in self.parts:
            progress = partial(self.progress, "notes")
            found = work_all(
                self.jobs[part.name], store, part.paths, self.anew, self.processes, progress, known
            )
            self.facts |= found
            told += _told_of_notes(part, [facts for _, facts in found.values()], self.skip_broken)
            told += self._number(part, found)
            if not part.name:
                told += title_problems(
                    {path: facts.record.title for path, (_, facts) in found.items() if facts.record}
                )
        self.collected.judge(store.cache)
        self.problems = sorted([*told, *self.collected.problems])

    def _number(self, part: Part, found: dict[Path, tuple[str, Facts]]) -> list[Problem]:
        """Number the notes of a library, and what is to be said of that to whose library it is."""
        numbered = {
            path: Numbered(facts.date, facts.slug, facts.number)
            for path, (_, facts) in found.items()
            if facts.record and not (facts.broken and (part.name or self.skip_broken))
        }
        self.numbers |= number_notes(numbered.values())
        return [] if part.name else list(number_problems(part.root, numbered))

    @cached_property
    def sound(self) -> list[tuple[str, Facts]]:
        """(key, facts) of the notes that go into the site, by date, then by slug. Only after work()."""
        found = [(key, facts) for key, facts in self.facts.values() if facts.slug in self.numbers]
        return sorted(found, key=lambda pair: (pair[1].date, pair[1].slug))

    def remember(self, store: Store) -> None:
        """Keep for `lookup` what it would have to read the notes for. Only after work()."""
        known = store.cache.keys("records", self.find_base)
        fresh = {
            key: facts.entry if facts.slug in self.numbers else None
            for path, (_, facts) in self.facts.items()
            if (key := self.find_keys[path]) not in known
        }
        kept.remember(store.cache, self.find_base, fresh, self.find_keys.values())

    @property
    def broken(self) -> bool:
        return any(problem.severity == ERROR for problem in self.problems)


@seldom_collected()
def inspect_library(content: Path, progress: Progress = _quiet) -> tuple[list[Problem], int]:
    """Every problem of a library, in the order of files and lines; the number of its notes. No site is written.

    The library's own theme is left out: who looks at what somebody else wrote need not run any of it.
    """
    build = Build(content, 0, progress, own_theme=False)
    if build.empty:
        return sorted(build.problems), 0
    store = Store(build.cache)
    build.work(store)
    store.close()
    return build.problems, len(build.facts)


@seldom_collected()
def build_site(
    content: Path,
    target: Path,
    *,
    processes: int = 1,
    progress: Progress = _quiet,
    search_later: bool = False,
    rehearse: bool = False,
    skip_broken: bool = False,
) -> Built:
    """Write the site of a library into target. With problems, nothing is written and the old site stays.

    skip_broken: leave notes with errors out, and say which, in place of writing nothing.
    search_later: keep the old site's search for now, where there is one, so that a page is there the sooner.
    rehearse: make one note anew although nothing has changed, so that the next build finds all it needs loaded and in place.
    """
    build = Build(content, processes, progress, rehearse=rehearse, skip_broken=skip_broken)
    if build.empty:
        return Built(sorted(build.problems))
    where = _bad_place(target, content, [part.root for part in build.parts])
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
            except Damaged:
                # a photo in the cache: it was deleted, so the notes that have it are worked out again
                if attempt == 2:
                    raise NotWritten(f"the cache {build.cache} does not keep what is written to it") from None
        store.keep_notes([key for key, _ in build.facts.values()], build.thesaurus.key)
        build.remember(store)
    except NotWritten as error:
        return Built([*build.problems, Problem.of_file(shown_path(target), str(error))], len(build.facts))
    except ThemeError as error:
        return Built([*build.problems, error.problem], len(build.facts))
    finally:
        store.close()
    return Built([*build.problems, *left], len(build.sound), pages, True, behind)


def _no_notes(content: Path) -> Problem:
    what = "there are no notes here, nor in what it pools"
    hint = "`benchlore writeup KIND-OF-DEVICE` starts one"
    return Problem.of_file(shown_path(content / NOTES_FOLDER), what, hint)


def _bad_place(target: Path, content: Path, roots: Sequence[Path]) -> Problem | None:
    """A target that is the library, holds it, or is where the files of a library are read from."""
    inside = [content / OWN, *(root / name for root in roots for name in (NOTES_FOLDER, RECORDS_FOLDER))]
    if target.resolve() in (content.resolve(), *content.resolve().parents) or any(
        _inside(target, folder) for folder in inside
    ):
        what = "the site cannot be written among the files that it is made from"
        return Problem.of_file(shown_path(target), what, "give another folder with --to")
    return None


def _inside(path: Path, folder: Path) -> bool:
    return folder.resolve() in (path.resolve(), *path.resolve().parents)


def _write(build: Build, store: Store, target: Path, search_later: bool) -> tuple[int, bool, list[Problem]]:
    """Write all files of the site, keeping those that are as they were: the number of pages, whether the search is behind,
    and what is to be said of what lies beside the site."""
    mark = hashlib.sha256(os.fsencode(target.resolve())).hexdigest()[:16]  # a name may be no text
    before = store.pages(mark)
    for note in build.anew:
        before.pop(note_path(slug_of(note, build.content)), None)
        before.pop(WHOLE, None)
    written: dict[str, Written] = {}
    photos = Photos(store.cache)
    entries = [facts.entry for _, facts in build.sound if facts.entry]
    stamp = find_stamp(entries, build.thesaurus, build.collected.stamp)
    whole = digest_of([build.base, build.theme.static_key, [key for key, _ in build.sound], stamp])
    if stands(target, before, whole):
        left = Staging(target, wait=0.0).tidy()
        return sum(path.endswith(".html") for path in before), False, [_beside(folder) for folder in left]
    with Staging(target) as staging:
        ledger = Ledger(staging, before, written, build.base)
        note_pages(build, store, ledger)
        for page in _library_pages(build, entries, stamp):
            ledger.add(page)
        behind = _find(build, store, entries, stamp, ledger, search_later)
        pages = [path for path in written if path.endswith(".html")]
        ledger.add(notes_json(entries, build.numbers, {part.name: part.config for part in build.parts}))
        for path, made_from, make in machine_files(build.config, [entry.record for entry in entries], pages):
            ledger.add(Page(path, made_from, make))
        for name, data in build.theme.static.items():
            ledger.write(f"static/{name}", "", data)
        names = sorted({name for _, facts in build.sound for name in facts.photos})
        for name in names:
            ledger.add(Page(f"photos/{name}", name, partial(photos.read, name)))  # named by its content
    if not behind:
        written[WHOLE] = Written(whole, "", str(len(written)))
    store.set_pages(
        mark,
        {
            path: file if file.state or not path else as_it_stands(target, path, file)
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
        build.theme, build.config, entries, groups, stamp, beside_them, len(collected.entries),
        build.numbers, [part.config for part in build.parts[1:]],
    )  # fmt: skip
    categories = by_category(collected.entries)
    yield from row_pages(build.theme, build.config, categories, lists.values(), collected.stamp)


def _told_of_notes(part: Part, facts: Sequence[Facts], skip_broken: bool) -> list[Problem]:
    """What is said of a library's notes: all of the own one's; of others' only which are left out, and why."""
    if not part.name:
        if not skip_broken:
            return [problem for one in facts for problem in one.problems]
        return [left_out(p) if p.severity == ERROR else p for one in facts for p in one.problems]
    return [left_out(p, part.name) for one in facts for p in one.problems if p.severity == ERROR]


def _beside(folder: Path) -> Problem:
    what = "this looks like something that a build left, but nothing here remembers it; it was left alone"
    return Problem.of_file(shown_path(folder), what, "delete it if you have no use for it", HINT)


def find_stamp(entries: list[Entry], thesaurus: Thesaurus, rows: str) -> str:
    """Changes with whatever the search's files are made from. rows: the stamp of the collections."""
    return digest_of([[entry.mark for entry in entries], thesaurus.key, rows])[:12]


def _find(build: Build, store: Store, entries: list[Entry], stamp: str, ledger: Ledger, later: bool) -> bool:
    """The files of the search, all of them anew when any note or the thesaurus has changed; whether they were left for later."""
    key = ledger.key(["find", stamp])
    old = {path: file.key for path, file in ledger.before.items() if path.startswith("find/")}
    marks = set(old.values())
    current = marks == {f"{key}/{len(old)}"}
    complete = len(marks) == 1 and marks.pop().endswith(f"/{len(old)}")  # a row may be damaged, or lost
    if complete and (current or later) and all(ledger.kept(path, mark) for path, mark in old.items()):
        return not current
    files = find_files([*entries, *build.collected.entries], build.thesaurus)
    for path, data in files.items():
        ledger.write(path, f"{key}/{len(files)}", data)
    shards = {path.removeprefix("find/"): data for path, data in files.items()}
    mark = kept.mark_of([*build.find_keys.values(), build.collected.mark])
    kept.remember_index(store.cache, mark, shards)
    return False
