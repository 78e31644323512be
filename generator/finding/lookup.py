"""Past fixes in the terminal, with the same index as the site and a copy of it kept between calls.

The copy lies in a folder that the caller gives: the user's own, never one beside the notes, which a stranger
could have filled. It holds the files of Index.shards() in one SQLite file, under a fingerprint of all that they
were made from, and of each note what the index took from it, so that of changed notes only those are read. It is
never trusted to be there, whole or right: whatever is wrong with it, the notes are read again.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from generator.finding import codec, thesaurus
from generator.finding.reader import Held, Reader, held_from
from generator.finding.record import Record, record_from
from generator.finding.search import Found, search

if TYPE_CHECKING:
    import sqlite3

    from generator.finding.entry import Entry

FORMAT = 3  # raise when the files of the index change their form
FILE = "find.sqlite"
OTHERS = ("symptoms.yaml", "library.yaml")  # what the index depends on beside the notes


class Notes(NamedTuple):
    """How to come by the notes of a library.

    files(library) are the files of its notes; read(library, files) gives the record of each, in their order, None
    for one that cannot be used. What either raises is passed on.
    """

    files: Callable[[Path], Sequence[Path]]
    read: Callable[[Path, Sequence[Path]], Iterable[Record | None]]


class Question(NamedTuple):
    """What is asked of a library: words, and the kind of device where it is known."""

    words: str
    kind: str = ""


def lookup(query: str, kind: str, library: Path, notes: Notes, folder: Path, most: int = 10,
           filters: Mapping[str, str] | None = None) -> Found:  # fmt: skip
    """The past fixes for some words, from the notes of a library. Only notes that have changed since the last call are
    read. folder: where the copy is kept, a folder of this user's own.
    """
    return next(answers([Question(query, kind)], library, notes, folder, most, filters))


def answers(questions: Iterable[Question], library: Path, notes: Notes, folder: Path, most: int = 10,
            filters: Mapping[str, str] | None = None) -> Iterator[Found]:  # fmt: skip
    """The same for many questions, the library looked at once. In their order."""
    base = _digest(_state(path) for path in (*_program(), *(library / name for name in OTHERS)))
    mark = _digest((base, *sorted(_notes(str(library / "notes")))))
    place = folder / FILE
    asked = list(questions)
    found: list[Found] = []
    # A copy that cannot be used is made anew.
    with contextlib.suppress(Exception), StoredReader(place, mark) as stored:
        for question in asked:
            found.append(search(stored, *question, filters, most))
    yield from found
    if len(found) == len(asked):
        return
    from generator.finding.index import index_of

    known, _ = thesaurus.load(library / "symptoms.yaml")
    entries = _entries(library, notes, known, _kept(place, base))
    index = index_of((entry for _, entry in entries.values() if entry), known)
    _store(place, {"mark": mark.encode(), "base": base.encode(), **index.shards()}, entries)
    for question in asked[len(found) :]:
        yield index.search(*question, filters, most)


def questions(lines: Iterable[str], kind: str = "") -> Iterator[Question]:
    """One question a line: plain words, or a JSON object with "words" and, if known, "kind"; kind: of lines without one.

    Raises ValueError for an object without words, naming the line.
    """
    for number, line in enumerate(lines, 1):
        text = line.strip()
        if not text.startswith("{"):
            yield Question(text, kind)
            continue
        try:
            given = json.loads(text)
        except ValueError as error:
            raise ValueError(f"line {number}: not JSON: {error}") from None
        said = given.get("words", given.get("query"))
        if not isinstance(said, str):
            raise ValueError(
                f'line {number}: "words" is missing, as in {{"words": "stays cold", "kind": "kettle"}}'
            )
        yield Question(said, str(given.get("kind") or kind))


def _entries(library: Path, notes: Notes, known: thesaurus.Thesaurus,
             kept: Mapping[str, tuple[str, Entry | None]]) -> dict[str, tuple[str, Entry | None]]:  # fmt: skip
    """File of a note -> its size and time, its entry; from the copy where those are the same."""
    from generator.finding.entry import entry_of

    states = {path: _state(path) for path in notes.files(library)}
    found = {
        str(path): kept[str(path)] for path, state in states.items() if kept.get(str(path), ("",))[0] == state
    }
    changed = [path for path in states if str(path) not in found]
    for path, record in zip(changed, notes.read(library, changed), strict=True) if changed else ():
        found[str(path)] = (states[path], entry_of(record, known) if record else None)
    return found


def _digest(lines: Iterable[str]) -> str:
    digest = hashlib.sha256(str(FORMAT).encode())
    for line in lines:
        digest.update(line.encode("utf-8", "surrogateescape"))
    return digest.hexdigest()


def _program() -> list[Path]:
    """Every file of the program that notes go through."""
    package = Path(__file__).resolve().parent.parent
    return sorted(path for path in package.rglob("*") if path.suffix in (".py", ".yaml", ".po"))


def _state(path: Path) -> str:
    try:
        stat = path.stat()
    except OSError:
        return f"{path}\0-\n"
    return f"{path}\0{stat.st_size}\0{stat.st_mtime_ns}\n"


def _notes(folder: str) -> Iterator[str]:
    """Path, size and time of every note below a folder; links to folders are not followed."""
    try:
        entries = list(os.scandir(folder))
    except OSError:
        return
    for entry in entries:
        try:
            if entry.is_dir(follow_symlinks=False):
                yield from _notes(entry.path)
            elif entry.name.endswith(".md"):
                stat = entry.stat()
                yield f"{entry.path}\0{stat.st_size}\0{stat.st_mtime_ns}\n"
        except OSError:
            continue


def _kept(place: Path, base: str) -> dict[str, tuple[str, Entry | None]]:
    """The entries in the copy; none where there is no copy, or another program or thesaurus made it."""
    import sqlite3

    from generator.finding.entry import entry_from

    found: dict[str, tuple[str, Entry | None]] = {}
    try:
        with contextlib.closing(_opened(place)) as kept:
            if kept.execute("SELECT content FROM files WHERE name = 'base'").fetchone() != (base.encode(),):
                return {}
            for path, state, packed in kept.execute("SELECT path, state, entry FROM notes"):
                data = json.loads(zlib.decompress(packed))
                found[os.fsdecode(path)] = (
                    os.fsdecode(state),
                    entry_from(record_from(data[0]), data[1]) if data else None,
                )
    except (OSError, sqlite3.Error, zlib.error, ValueError, TypeError, KeyError, AttributeError):
        return {}
    return found


def _store(place: Path, files: Mapping[str, bytes], entries: Mapping[str, tuple[str, Entry | None]]) -> None:
    """Keeps all that, if it can. Others see the old copy or the new, never half."""
    import sqlite3

    from generator.finding.entry import entry_data

    def packed(entry: Entry | None) -> bytes:
        data = (asdict(entry.record), entry_data(entry)) if entry else None
        return zlib.compress(json.dumps(data).encode(), 1)

    scratch = ""
    try:
        handle, scratch = tempfile.mkstemp(dir=place.parent, suffix=".part")
        os.close(handle)
        with contextlib.closing(sqlite3.connect(scratch)) as kept:
            kept.execute("PRAGMA journal_mode = OFF")
            kept.execute("PRAGMA synchronous = OFF")
            kept.execute("CREATE TABLE files (name TEXT PRIMARY KEY, content BLOB) WITHOUT ROWID")
            kept.execute("CREATE TABLE notes (path BLOB, state BLOB, entry BLOB)")
            kept.executemany("INSERT INTO files VALUES (?, ?)", files.items())
            rows = (
                (os.fsencode(path), os.fsencode(state), packed(entry))
                for path, (state, entry) in entries.items()
            )
            kept.executemany("INSERT INTO notes VALUES (?, ?, ?)", rows)
            kept.commit()
        os.replace(scratch, place)
    except (OSError, sqlite3.Error):
        if scratch:
            Path(scratch).unlink(missing_ok=True)


def _opened(place: Path) -> sqlite3.Connection:
    import sqlite3

    return sqlite3.connect(place.absolute().as_uri() + "?mode=ro&immutable=1", uri=True)


class StoredReader(Reader):
    """An index read from the kept copy, file by file as needed. Raises where that is of no use."""

    def __init__(self, place: Path, mark: str) -> None:
        self._base = _opened(place)
        try:
            if self._raw("mark") != mark.encode():
                raise LookupError("the notes have changed")
            super().__init__(
                self._data("core"), thesaurus.from_data({**self._data("words"), **self._data("more")})
            )
        except BaseException:
            self._base.close()
            raise
        self._bounds: list[bytes] = [codec.order(term) for term in self.core["bounds"].split(" ")]
        self._terms: dict[int, dict[str, Held]] = {}
        self._cards: dict[int, Sequence[Any]] = {}

    def __enter__(self) -> StoredReader:
        return self

    def __exit__(self, *_: object) -> None:
        self._base.close()

    def _raw(self, name: str) -> bytes:
        row = self._base.execute("SELECT content FROM files WHERE name = ?", (name,)).fetchone()
        if row is None:
            raise LookupError(name)
        return bytes(row[0])

    def _data(self, name: str) -> Any:
        return codec.unscript(self._raw(f"{name}.js"))

    def held(self, term: str) -> Held | None:
        from bisect import bisect_right

        file = bisect_right(self._bounds, codec.order(term)) - 1
        if file < 0 or not self.core["bounds"]:
            return None
        if file not in self._terms:
            self._terms[file] = dict(map(held_from, self._data(f"t{file}").split("\n")))
        return self._terms[file].get(term)

    def card_data(self, note: int) -> Sequence[Any]:
        file, at = divmod(note, self.core["cards"])
        if file not in self._cards:
            self._cards[file] = self._data(f"c{file}")
        card: Sequence[Any] = self._cards[file][at]
        return card

    def facets(self) -> Mapping[str, Any]:
        facets: Mapping[str, Any] = self._data("facets")
        return facets


def as_json(found: Found) -> dict[str, Any]:
    """The answer as `benchlore lookup --json` prints it."""
    return {
        "results": [
            {
                "slug": hit.slug, "title": hit.title, "score": hit.score, "symptoms": list(hit.symptoms),
                "cause": hit.cause, "outcome": hit.outcome, "device": hit.device_kind, "date": hit.date,
                "found_by": hit.found_by, "why": list(hit.why), **({"source": hit.source} if hit.source else {}),
            }
            for hit in found.results
        ],
        "causes": [
            {"cause": count.cause, "notes": count.notes, "share": round(count.share, 4), "found_by": count.found_by}
            for count in found.causes
        ],
        "total": found.total,
        "known": found.known,
        "clear": found.clear,
        "check": found.check,
        "kinds": list(found.kinds),
    }  # fmt: skip


def as_text(found: Found) -> str:
    """The answer for people, causes first. Ends with a line break."""
    if not found.total:
        return "No note matches. Try fewer or other words.\n"
    lines = []
    if found.relaxed:
        lines += ["No note of this kind has these words. All of this kind:", ""]
    if found.causes:
        lines.append(f"What it turned out to be, in {found.known} of {_notes_of(found.total)} found:")
        width = len(str(max(count.notes for count in found.causes)))
        for count in found.causes:
            bar = "#" * max(1, round(20 * count.share))
            lines.append(f"  {count.notes:>{width}}  {bar:<20}  {count.cause}")
            if count.found_by:
                lines.append(f"  {'':>{width}}  {'':<20}  first check: {count.found_by}")
        if not found.clear:
            lines.append(
                "No clear cause." + (f" The check that tells most: {found.check}" if found.check else "")
            )
        lines.append("")
    else:
        lines += [f"{_notes_of(found.total)} found; too few name a cause to count.", ""]
    for n, hit in enumerate(found.results, 1):
        lines.append(f"{n:>2}. {hit.title or ', '.join(hit.symptoms)}  [{hit.slug}]")
        about = [hit.device_kind, ", ".join(hit.symptoms) if hit.title else hit.source]
        lines.append("    " + ": ".join(text for text in about if text))
        what = hit.cause or "cause not known"
        lines.append(f"    {what}" + (f" ({hit.outcome})" if hit.outcome else ""))
        if hit.why:
            lines.append("    matches: " + "; ".join(hit.why))
    return "\n".join(lines) + "\n"


def _notes_of(n: int) -> str:
    return "1 note" if n == 1 else f"{n} notes"
