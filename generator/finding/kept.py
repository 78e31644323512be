"""What the search keeps between calls, as rows of the library's cache: the entries of its notes, the files of its index.

`site` writes them and so does `lookup`; each finds what the other wrote. A note's entry is found by the state of its
file (which one it is, its size and times), for the terminal would else read all notes to answer one question.
"""

from __future__ import annotations

import hashlib
import os
import zlib
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from generator.cache import Cache, code_key, pack, unpack
from generator.files import Unreadable, read_file
from generator.finding import codec, thesaurus
from generator.finding.entry import Entry, entry_data, entry_from
from generator.finding.reader import Held, Reader, held_from
from generator.finding.record import record_from

OTHERS = ("symptoms.yaml", "library.yaml")  # what an entry depends on beside its note and the program
LARGEST = 1 << 20  # bytes of one of those
LEFT_OUT = "left-out"  # among the files of an index: the notes that could not be used


def base_of(library: Path, pooled: Sequence[Path]) -> str:
    """Changes with all but the notes that entries are made from. pooled: the folders of pooled libraries."""
    digest = hashlib.sha256(code_key().encode())
    for path in [*(library / name for name in OTHERS), *(root / OTHERS[1] for root in pooled)]:
        try:
            digest.update(b"\0" + read_file(path, LARGEST))
        except Unreadable as error:
            digest.update(f"\0\0{error}".encode("utf-8", "replace"))
    return digest.hexdigest()


def note_key(base: str, library: Path, path: Path) -> str:
    """The key of a note's entry, by the state of its file; to be asked for before the file is read."""
    inside = path.parts[len(library.parts) :]
    try:
        state = os.lstat(path)
        told = f"{state.st_mode}/{state.st_ino}/{state.st_size}/{state.st_mtime_ns}/{state.st_ctime_ns}"
    except OSError as error:
        told = str(error.errno)
    return hashlib.sha256(
        f"{base}\0{'/'.join(inside)}\0{told}".encode("utf-8", "surrogateescape")
    ).hexdigest()


def mark_of(keys: Iterable[str]) -> str:
    """The key of the index of these notes."""
    return hashlib.sha256("".join(sorted(keys)).encode()).hexdigest()


def remember(cache: Cache, base: str, entries: Mapping[str, Entry | None], used: Iterable[str]) -> None:
    """Keep entries by their keys (None: a note that cannot be used), and of others only those in use."""
    for key, entry in entries.items():
        data = None if entry is None else [asdict(entry.record.without_prose()), entry_data(entry)]
        cache.put("records", key, zlib.compress(pack(data), 1), base)
    cache.keep("records", set(used), base)


def remembered(cache: Cache, base: str) -> dict[str, Entry | None]:
    """key -> entry of all notes that are known."""
    found: dict[str, Entry | None] = {}
    for key, row in cache.all("records", base).items():
        data = unpack(zlib.decompress(row))
        found[key] = None if data is None else entry_from(record_from(data[0]), data[1])
    return found


def remember_index(
    cache: Cache, mark: str, shards: Mapping[str, bytes], left_out: Sequence[str] = ()
) -> None:
    """Keep the files of an index, and those of no other."""
    cache.keep("shards", (), mark)
    for name, data in {**shards, LEFT_OUT: pack(list(left_out))}.items():
        cache.put("shards", name, data, mark)
    cache.flush()


class StoredReader(Reader):
    """An index read from the cache, file by file as needed. Raises LookupError where it is not there."""

    def __init__(self, cache: Cache, mark: str) -> None:
        self._cache, self._mark = cache, mark
        self.left_out: list[str] = unpack(self._raw(LEFT_OUT))
        super().__init__(
            self._data("core"), thesaurus.from_data({**self._data("words"), **self._data("more")})
        )
        self._bounds: list[bytes] = [codec.order(term) for term in self.core["bounds"].split(" ")]
        self._terms: dict[int, dict[str, Held]] = {}
        self._cards: dict[int, Sequence[Any]] = {}

    def _raw(self, name: str) -> bytes:
        row = self._cache.get("shards", name, self._mark)
        if row is None:
            raise LookupError(name)
        return row

    def _data(self, name: str) -> Any:
        return codec.unscript(self._raw(f"{name}.js"))

    def held(self, term: str) -> Held | None:
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
