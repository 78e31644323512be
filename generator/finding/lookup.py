"""Past fixes in the terminal, with the same index as the site and a copy of it kept between calls.

The copy lies in .benchlore-cache beside the notes, or below the system's folder for temporary files where
that cannot be written. It holds the files of Index.shards() in one SQLite file, under a fingerprint of all
that they were made from. It is never trusted to be there, whole or right: whatever is wrong with it, the
notes are read again.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from generator.finding import codec, score, thesaurus
from generator.finding.record import Record
from generator.finding.search import Found, Reader, search

FORMAT = 1  # raise when the files of the index change their form
FOLDER = ".benchlore-cache"
OTHERS = ("symptoms.yaml", "library.yaml")  # what the index depends on beside the notes

ReadRecords = Callable[[Path], Iterable[Record]]


def lookup(query: str, kind: str, library: Path, read_records: ReadRecords, most: int = 10,
           filters: Mapping[str, str] | None = None) -> Found:  # fmt: skip
    """The past fixes for some words, from the notes of a library.

    read_records reads the notes of the library; it is only called when a note has changed since the last
    call, or none of the notes' sizes and times are known. What it raises is passed on.
    """
    mark = fingerprint(library)
    for place in _places(library):
        try:
            with StoredReader(place, mark) as stored:
                return search(stored, query, kind, filters, most)
        except Exception:  # noqa: S112 - a copy that cannot be used is made anew, whatever ails it
            continue
    from generator.finding.index import build_index

    words, _ = thesaurus.load(library / "symptoms.yaml")
    index = build_index(read_records(library), words)
    for place in _places(library):
        if _store(place, mark, index.shards()):
            break
    return index.search(query, kind, filters, most)


def fingerprint(library: Path) -> str:
    """Changes when a note is added, removed or written to, or when the search itself has changed."""
    digest = hashlib.sha256(repr((FORMAT, sorted(score.CONSTANTS.items()), sorted(score.FIELDS.items()))).encode())
    here = Path(__file__).parent
    for path in sorted((*here.glob("*.py"), here / "symptoms.yaml", *(library / name for name in OTHERS))):
        digest.update(_state(path).encode("utf-8", "surrogateescape"))
    for line in sorted(_notes(str(library / "notes"))):
        digest.update(line.encode("utf-8", "surrogateescape"))
    return digest.hexdigest()


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


def _places(library: Path) -> list[Path]:
    """Where the copy may lie, the better place first."""
    name = "find.sqlite"
    own = hashlib.sha256(str(library.resolve()).encode("utf-8", "surrogateescape")).hexdigest()[:16]
    user = str(os.getuid()) if hasattr(os, "getuid") else "me"
    return [library / FOLDER / name, Path(tempfile.gettempdir()) / f"benchlore-{user}" / own / name]


def _mine(folder: Path) -> bool:
    """Whether a folder belongs to this user and to nobody else's pen: in a shared /tmp anybody may make it."""
    if not hasattr(os, "getuid"):
        return True
    stat = folder.lstat()
    return stat.st_uid == os.getuid() and not stat.st_mode & 0o022 and folder.is_dir() and not folder.is_symlink()


def _store(place: Path, mark: str, files: Mapping[str, bytes]) -> bool:
    """Keeps the files; False where that is not possible. Others see the old copy or the new, never half."""
    import sqlite3

    shared = place.parent.name != FOLDER
    scratch = ""
    try:
        place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        if shared:
            place.parent.parent.chmod(0o700)
            if not (_mine(place.parent.parent) and _mine(place.parent)):
                return False
        handle, scratch = tempfile.mkstemp(dir=place.parent, suffix=".part")
        os.close(handle)
        base = sqlite3.connect(scratch)
        try:
            base.execute("PRAGMA journal_mode = OFF")
            base.execute("PRAGMA synchronous = OFF")
            base.execute("CREATE TABLE files (name TEXT PRIMARY KEY, content BLOB) WITHOUT ROWID")
            base.executemany("INSERT INTO files VALUES (?, ?)", [("mark", mark.encode()), *files.items()])
            base.commit()
        finally:
            base.close()
        os.replace(scratch, place)
        return True
    except (OSError, sqlite3.Error):
        if scratch:
            Path(scratch).unlink(missing_ok=True)
        return False


class StoredReader(Reader):
    """An index read from the kept copy, file by file as needed. Raises where that is of no use."""

    def __init__(self, place: Path, mark: str) -> None:
        import sqlite3

        if place.parent.name != FOLDER and not (_mine(place.parent.parent) and _mine(place.parent)):
            raise PermissionError(place)
        self._base = sqlite3.connect(place.absolute().as_uri() + "?mode=ro&immutable=1", uri=True)
        try:
            if self._raw("mark") != mark.encode():
                raise LookupError("the notes have changed")
            super().__init__(self._data("core"), thesaurus.from_data(self._data("words")))
        except BaseException:
            self._base.close()
            raise
        self._bounds: list[bytes] = [codec.order(term) for term in self.core["bounds"].split(" ")]
        self._terms: dict[int, dict[str, tuple[int, str]]] = {}
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

    def packed(self, term: str) -> tuple[int, str] | None:
        from bisect import bisect_right

        file = bisect_right(self._bounds, codec.order(term)) - 1
        if file < 0 or not self.core["bounds"]:
            return None
        if file not in self._terms:
            rows = (line.split(" ") for line in self._data(f"t{file}").split("\n"))
            self._terms[file] = {name: (int(weight), packed) for name, weight, packed in rows}
        return self._terms[file].get(term)

    def card(self, note: int) -> Sequence[Any]:
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
                "found_by": hit.found_by,
            }
            for hit in found.results
        ],
        "causes": [
            {"cause": count.cause, "notes": count.notes, "share": round(count.share, 4), "found_by": count.found_by}
            for count in found.causes
        ],
        "total": found.total,
        "known": found.known,
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
        width = len(str(found.causes[0].notes))
        for count in found.causes:
            bar = "#" * max(1, round(20 * count.share))
            lines.append(f"  {count.notes:>{width}}  {bar:<20}  {count.cause}")
            if count.found_by:
                lines.append(f"  {'':>{width}}  {'':<20}  first check: {count.found_by}")
        lines.append("")
    else:
        lines += [f"{_notes_of(found.total)} found; too few name a cause to count.", ""]
    for n, hit in enumerate(found.results, 1):
        lines.append(f"{n:>2}. {hit.title}  [{hit.slug}]")
        about = [hit.device_kind, ", ".join(hit.symptoms)]
        lines.append("    " + ": ".join(text for text in about if text))
        what = hit.cause or "cause not known"
        lines.append(f"    {what}" + (f" ({hit.outcome})" if hit.outcome else ""))
    return "\n".join(lines) + "\n"


def _notes_of(n: int) -> str:
    return "1 note" if n == 1 else f"{n} notes"
