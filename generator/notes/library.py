"""A folder of notes -> a Library. Nothing outside the folder is read, and no link is followed."""

from __future__ import annotations

import os
import re
import stat
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from generator.files import reason
from generator.notes.collection import collection_files
from generator.notes.config import Config, read_config
from generator.notes.note import NOTE_FILE, Note, read_note, slug_of
from generator.notes.text import shown, shown_path
from generator.problems import WARNING, Problem

__all__ = ["Config", "Library", "note_paths", "propose_slug", "read_config", "read_library", "slug_trouble"]

NOTES_FOLDER = "notes"
SLUG_LIMIT = 80

# Names that Windows keeps for devices, with any ending.
RESERVED = frozenset(
    ["con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))]
)

_SLUG = re.compile(r"[a-z0-9](?:[a-z0-9-]*[a-z0-9])?")

Read = tuple[Note | None, list[Problem]]
Mapper = Callable[[Callable[[Path], Read], Iterable[Path]], Iterable[Read]]


@dataclass(frozen=True)
class Library:
    """Notes by date, then slug; config of defaults where library.yaml is missing or wrong; all problems."""

    root: Path
    config: Config
    notes: tuple[Note, ...]
    problems: tuple[Problem, ...]


def read_library(content: Path, map_notes: Mapper = map) -> Library:
    """The library in a folder. Never raises for what the folder holds.

    map_notes reads the notes: the built-in map, or one that spreads them over processes; what it is given
    and what comes back can be pickled.
    """
    content = Path(content)
    config, paths, problems = survey(content)
    notes = []
    for note, note_problems in map_notes(partial(read_note, root=content, mains=config.mains), paths):
        problems += note_problems
        if note is not None:
            notes.append(note)
    notes.sort(key=lambda note: (note.date, note.slug))
    return Library(content, config, tuple(notes), tuple(problems))


def survey(content: Path) -> tuple[Config, list[Path], list[Problem]]:
    """The settings of a library, the files of its notes by slug, and what is wrong so far. No note is read."""
    trouble = _folder_trouble(content)
    if trouble:
        return Config(), [], [trouble]
    config, problems = read_config(content)
    paths, path_problems = note_paths(content, alone=not config.pool and not collection_files(content)[0])
    return config, paths, problems + path_problems


def left_out(problem: Problem, name: str = "") -> Problem:
    """An error for which a note is left out, the rest being built. name: of the pool that the note is from."""
    where = f"{name}: " if name else ""
    return replace(problem, what=f"{where}this note is left out: {problem.what}", severity=WARNING)


def _folder_trouble(content: Path) -> Problem | None:
    start = "`benchlore writeup KIND-OF-DEVICE` starts a library"
    name = shown_path(content)
    try:
        if not content.exists():
            return Problem.of_file(name, "there is no such folder", start)
        if not content.is_dir():
            return Problem.of_file(name, "this is a file, not a folder with library.yaml and notes/")
        if not any(content.iterdir()):
            return Problem.of_file(name, "the folder is empty", start + " here")
    except (OSError, ValueError) as error:
        return Problem.of_file(name, f"the folder cannot be read: {reason(error)}")
    return None


def note_paths(content: Path, alone: bool = True) -> tuple[list[Path], list[Problem]]:
    """The files of the notes in order of their slugs, and what is wrong with names and places.

    A note is notes/<slug>.md or notes/<slug>/note.md. What has a name that cannot be an address, or a slug
    that another has, is told and left out. alone: there is neither a pool nor a collection, so that there must be notes.
    """
    if not alone and not os.path.lexists(content / NOTES_FOLDER):
        return [], []
    entries, problems = _entries(content)
    if problems:
        return [], problems
    found: dict[str, Path] = {}
    usable: list[Path] = []
    for entry in entries:
        path = _note_at(entry, problems)
        if path is None:
            continue
        slug = slug_of(path, content)
        trouble, hint = slug_trouble(slug)
        twin = found.get(slug.casefold())
        if twin is not None:
            same = "the same name" if slug == slug_of(twin, content) else "a name that differs in case only"
            what = f"{shown(slug)}: {shown_path(twin.relative_to(content))} has {same}"
            problems.append(_about(path, what, "rename one of them"))
        elif trouble:
            problems.append(_about(path, f"{shown(slug)}: {trouble}", hint))
        else:
            usable.append(path)
        found.setdefault(slug.casefold(), path)
    if alone and not found and not problems:
        start = "`benchlore writeup KIND-OF-DEVICE` starts one"
        problems.append(Problem.of_file(shown_path(content / NOTES_FOLDER), "there are no notes here", start))
    return sorted(usable, key=lambda path: slug_of(path, content)), problems


def _entries(content: Path) -> tuple[list[Path], list[Problem]]:
    """What lies in the folder of notes, or why that cannot be seen."""
    folder = content / NOTES_FOLDER
    try:
        if stat.S_ISLNK(folder.lstat().st_mode):
            return [], [Problem.of_file(shown_path(folder), "a symbolic link; links are not followed")]
        return sorted(folder.iterdir()), []
    except FileNotFoundError:
        hint = "the notes belong in it: notes/<name>.md"
        return [], [Problem.of_file(shown_path(content), "no folder notes/ here", hint)]
    except OSError as error:
        return [], [Problem.of_file(shown_path(folder), f"cannot be read: {reason(error)}")]


def _note_at(entry: Path, problems: list[Problem]) -> Path | None:
    """The note's file that an entry of notes/ stands for, or None. Photos and hidden files are no notes."""
    if entry.name.startswith((".", "#")) or entry.name.endswith("~"):
        return None
    try:
        mode = entry.lstat().st_mode
        if stat.S_ISLNK(mode):
            what = "a symbolic link; links are not followed"
            problems.append(_about(entry, what, "put the note itself here"))
            return None
        if not stat.S_ISDIR(mode):
            return _flat_note(entry, problems)
        inside = [child.name for child in entry.iterdir()]
    except OSError as error:
        problems.append(_about(entry, f"cannot be read: {reason(error)}"))
        return None
    if NOTE_FILE in inside:
        return entry / NOTE_FILE
    near = next((name for name in inside if name.lower() in (NOTE_FILE, "note.markdown", "note.txt")), "")
    if near:
        problems.append(_about(entry, f"{shown(near)} is not read", f"rename it to {NOTE_FILE}"))
    elif any(name.endswith(".md") for name in inside):
        hint = f"the note of a folder is called {NOTE_FILE}; put other notes straight into notes/"
        problems.append(_about(entry, f"no {NOTE_FILE} in this folder", hint))
    return None


def _flat_note(entry: Path, problems: list[Problem]) -> Path | None:
    if entry.suffix == ".md":
        return entry
    if entry.suffix.lower() in (".md", ".markdown", ".mdown"):
        hint = f"rename it to {propose_slug(entry.stem)}.md"
        problems.append(_about(entry, "notes end in .md; this one is not read", hint, WARNING))
    return None


def slug_trouble(slug: str) -> tuple[str, str]:
    """(what, hint) where a name cannot be a note's address, else ("", "")."""
    if len(slug) > SLUG_LIMIT:
        return f"a name of {len(slug)} characters; at most {SLUG_LIMIT}", f"rename it to {propose_slug(slug)}"
    if not _SLUG.fullmatch(slug):
        what = "the name is the note's address: small letters a to z, digits and - only, no - at its ends"
        return what, f"rename it to {propose_slug(slug)}"
    if slug in RESERVED:
        return "Windows keeps this name for itself", f"rename it to {slug}-note"
    return "", ""


def propose_slug(text: str) -> str:
    """A usable address made of any text: "Kühlbox, grün" gives "kuehlbox-gruen". Never empty."""
    spelt = text.lower()
    for letter, letters in (
        ("ä", "ae"),
        ("ö", "oe"),
        ("ü", "ue"),
        ("ß", "ss"),
        ("ø", "oe"),
        ("æ", "ae"),
        ("å", "aa"),
    ):
        spelt = spelt.replace(letter, letters)
    plain = unicodedata.normalize("NFKD", spelt).encode("ascii", "ignore").decode()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:SLUG_LIMIT].rstrip("-")
    if not slug:
        return "note"
    return f"{slug}-note" if slug in RESERVED else slug


def _about(path: Path, what: str, hint: str = "", severity: str = "error") -> Problem:
    return Problem.of_file(shown_path(path), what, hint, severity)
