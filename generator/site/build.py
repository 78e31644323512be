"""The build: a folder of notes in, a site out, whole or not at all."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from generator.finding.record import Record
from generator.notes.config import Config
from generator.notes.library import Library, read_library
from generator.notes.text import shown_path
from generator.problems import ERROR, Problem
from generator.site.notepage import Worked, relative_link, work_note
from generator.site.pages import Page, library_pages, note_page
from generator.site.photos import Photos
from generator.site.replace import NotWritten, Staging
from generator.site.theme import Theme

CACHE = ".benchlore-cache"
Say = Callable[[str], object]


@dataclass
class Built:
    """What a build came to. written: the site was replaced."""

    problems: list[Problem]
    notes: int = 0
    pages: int = 0
    written: bool = False
    slugs: tuple[str, ...] = field(default=())


def inspect_library(content: Path) -> tuple[list[Problem], int]:
    """Every problem of a library, in the order of files and lines; the number of its notes. Nothing is written."""
    library = read_library(content)
    worked = list(_work(library, content, _photos(content)))
    return _problems(library, worked), len(library.notes)


def build_site(content: Path, target: Path, *, processes: int = 1, say: Say = lambda text: None) -> Built:
    """Write the site of a library into target. With problems, nothing is written and the old site stays."""
    library = read_library(content)
    photos = _photos(content)
    theme = Theme(content)
    worked = list(_work(library, content, photos, theme))
    problems = _problems(library, worked)
    if any(problem.severity == ERROR for problem in problems):
        return Built(problems, len(library.notes))
    if not library.notes:
        what, hint = "no notes to show", "`benchlore writeup KIND-OF-DEVICE` starts one"
        return Built([*problems, Problem(shown_path(content / "notes"), 0, 0, what, hint)])
    try:
        with Staging(target) as staging:
            pages = 0
            for page in _pages(library.config, worked, theme, content):
                staging.write(page.path, page.data)
                pages += page.path.endswith(".html")
            for name, path in theme.static_files():
                staging.write(f"static/{name}", path.read_bytes())
            for name in sorted({name for w in worked for name in w.photos}):
                staging.write(f"photos/{name}", (photos.cache / name).read_bytes())
    except NotWritten as error:
        return Built([*problems, Problem(str(target), 0, 0, str(error))], len(library.notes))
    return Built(problems, len(library.notes), pages, True, tuple(w.slug for w in worked))


def _photos(content: Path) -> Photos:
    return Photos(content / CACHE / "photos")


def _work(library: Library, content: Path, photos: Photos, theme: Theme | None = None) -> Iterable[Worked]:
    theme = theme or Theme(content)
    slugs = {note.slug for note in library.notes}
    link = partial(relative_link, root=content, slugs=slugs)
    for note in library.notes:
        shown = shown_path(content / note.file)
        yield work_note(note, library.config, theme, photos, lambda n, path: link(n, path), shown_as=shown)


def _problems(library: Library, worked: Iterable[Worked]) -> list[Problem]:
    return sorted([*library.problems, *(problem for w in worked for problem in w.problems)])


def _pages(config: Config, worked: list[Worked], theme: Theme, content: Path) -> Iterable[Page]:
    from generator.finding.causes import Relations
    from generator.finding.thesaurus import load

    thesaurus, _ = load(content / "symptoms.yaml")
    records: list[Record] = [w.record for w in worked if w.record]
    relations = Relations(records, thesaurus)
    for number, w in enumerate(worked, start=1):
        if w.pieces and w.record:
            yield note_page(theme, config, w.pieces, w.record, number, relations, thesaurus)
            yield Page(f"notes/{w.slug}/note.json", _json(w.pieces, number))
    yield from library_pages(theme, config, records, thesaurus)


def _json(pieces: dict[str, Any], number: int) -> bytes:
    """A note for machines: what it says, without markup."""
    kept = {k: v for k, v in pieces.items() if k not in ("body", "rest", "boards", "headings", "cautions")}
    return json.dumps({"number": number, **kept}, ensure_ascii=False, indent=1, sort_keys=True).encode()
