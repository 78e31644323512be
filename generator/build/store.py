"""What a build keeps of notes and of the sites that it wrote, as rows of the cache."""

from __future__ import annotations

import zlib
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from generator.cache import Cache, pack, unpack


def compress(data: Any) -> bytes:
    """Plain data as few bytes."""
    return zlib.compress(pack(data), 1)


class Row(NamedTuple):
    """All that is kept of a note under its key, packed. words: the key of the thesaurus by which its entry was made."""

    key: str
    facts: bytes
    pieces: bytes
    words: str
    entry: bytes


class Written(NamedTuple):
    """A file of a site: the hash of what it was made from, of its bytes, and its size and times as they were then."""

    key: str
    digest: str
    state: str


class Store:
    """The cache of a library as a build sees it. Never raises for its state: what is not sound is not there."""

    def __init__(self, folder: Path) -> None:
        self.cache = Cache(folder)

    def facts(self) -> dict[str, bytes]:
        """key -> facts, packed, of every note that is known."""
        return self.cache.all("facts")

    def entries(self, words: str) -> dict[str, bytes]:
        """key -> entry, packed, of every note whose entry was made by the thesaurus with this key."""
        return self.cache.all("entries", words)

    def pieces(self, key: str) -> Any:
        """The pieces of a note's page; None where they are not (or no longer) there."""
        row = self.cache.get("pieces", key)
        return None if row is None else unpack(zlib.decompress(row))

    def put(self, row: Row) -> None:
        """Keep a note."""
        self.cache.put("facts", row.key, row.facts)
        self.cache.put("pieces", row.key, row.pieces)
        self.cache.put("entries", row.key, row.entry, row.words)

    def put_entries(self, words: str, entries: Mapping[str, bytes]) -> None:
        """key -> entry, packed, as the thesaurus with the key words has it."""
        for key, entry in entries.items():
            self.cache.put("entries", key, entry, words)

    def keep_notes(self, used: Collection[str], words: str) -> None:
        """Forget all notes but these, and entries made by another thesaurus."""
        for sort, scope in (("facts", ""), ("pieces", ""), ("entries", words)):
            self.cache.keep(sort, used, scope)

    def pages(self, target: str) -> dict[str, Written]:
        """path -> what was last written there, of a target."""
        found = {}
        for path, row in self.cache.all("written", target).items():
            found[path] = Written(*unpack(row))
        return found

    def set_pages(self, target: str, pages: Mapping[str, Written]) -> None:
        """Keep what was written to a target."""
        self.cache.set_all("written", target, {path: pack(file) for path, file in pages.items()})

    def close(self) -> None:
        self.cache.close()
