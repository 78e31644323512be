"""The collections of a library in a build: judged once, made ready for the search once, and kept until one changes."""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict
from functools import cached_property
from itertools import chain, islice
from pathlib import Path
from typing import Any

from generator.build.store import compress
from generator.cache import Cache, code_key, digest_of, pack, unpack
from generator.files import CHUNK as BYTES
from generator.files import Unreadable, open_file
from generator.finding.entry import Entry, entry_data, entry_from, entry_of
from generator.finding.record import Record, record_from
from generator.finding.rows import record_of_row
from generator.finding.thesaurus import Thesaurus
from generator.notes.collection import LARGEST_FILE, Judged, collection_files, read_collections
from generator.notes.text import shown_path
from generator.pages.rowgroups import addressed
from generator.problems import Problem
from generator.processes import spread

CHUNK = 1_000  # rows that are made ready, and kept, together
FEW = 2_000  # rows up to which starting processes costs more than it saves
SORT, JUDGED = "collections", "judged"  # of rows of the cache, and the key of what was found wrong


class Collected:
    """The rows of a library's collections. mark: changes with any of the files, stamp: with the thesaurus as well; "" where
    there are none. problems, which say what was left out, and count are known once judge() was called."""

    def __init__(self, content: Path, thesaurus: Callable[[], Thesaurus], processes: int) -> None:
        self.paths, self.problems = collection_files(content)
        self._load, self.processes = thesaurus, processes
        files = [[shown_path(path), _hash(path)] for path in self.paths]
        self.mark = digest_of([code_key(), files]) if self.paths else ""
        self.count = 0

    @cached_property
    def thesaurus(self) -> Thesaurus:
        return self._load()

    @cached_property
    def stamp(self) -> str:
        return digest_of([self.mark, self.thesaurus.key]) if self.paths else ""

    def judge(self, cache: Cache) -> None:
        """Read the files, unless they are known as they are now. Afterwards the cache has their rows."""
        self._cache = cache
        if not self.paths:
            return
        kept = cache.get(SORT, JUDGED, self.stamp)
        if kept is None:
            cache.keep(SORT, (), self.stamp)
            kept = self._read()
        self.count, problems = unpack(kept)
        self.problems += [Problem(**problem) for problem in problems]

    @cached_property
    def entries(self) -> list[Entry]:
        """The rows ready for the search, by category, newest first, each with its address. Only after judge()."""
        return addressed(self._kept()) if self.paths else []

    def _read(self) -> bytes:
        """Read the files and make their rows ready; the count of them and what is wrong, packed."""
        judged = Judged()
        chunks = _chunks(record_of_row(row) for row in read_collections(self.paths, judged))
        first = list(islice(chunks, FEW // CHUNK))
        if len(first) < FEW // CHUNK or self.processes == 1:
            _begin(self.thesaurus)
            made: Iterator[bytes] = map(_ready, chain(first, chunks))
        else:
            made = spread(
                _ready,
                chain(first, chunks),
                processes=self.processes or None,
                begin=_begin,
                given=(self.thesaurus,),
            )
        for number, row in enumerate(made):
            self._cache.put(SORT, f"{number:05}", row, self.stamp)
        told = pack([len(judged.ids), [asdict(problem) for problem in judged.problems]])
        self._cache.put(SORT, JUDGED, told, self.stamp)
        self._cache.flush()
        return told

    def _kept(self) -> Iterator[Entry]:
        rows = {key: row for key, row in self._cache.all(SORT, self.stamp).items() if key != JUDGED}
        if len(rows) != -(-self.count // CHUNK):  # one is damaged, or was taken away
            self._read()
            rows = {key: row for key, row in self._cache.all(SORT, self.stamp).items() if key != JUDGED}
        for key in sorted(rows):
            for record, data in unpack(zlib.decompress(rows.pop(key))):
                yield entry_from(record_from(record), data)


def _chunks(records: Iterator[Record]) -> Iterator[list[Record]]:
    chunk: list[Record] = []
    for record in records:
        chunk.append(record)
        if len(chunk) == CHUNK:
            yield chunk
            chunk = []
    if chunk:
        yield chunk


def _hash(path: Path) -> str:
    """Of the bytes of a file; of one that is not read, why."""
    digest = hashlib.sha256()
    try:
        with open_file(path, LARGEST_FILE) as file:
            while data := file.read(BYTES):
                digest.update(data)
    except Unreadable as error:
        return str(error)
    return digest.hexdigest()


# --- spreading ------------------------------------------------------------------------------------------------------

_thesaurus: Thesaurus | None = None


def _begin(thesaurus: Thesaurus) -> None:
    global _thesaurus
    _thesaurus = thesaurus


def _ready(records: Sequence[Record]) -> bytes:
    assert _thesaurus is not None
    return compress([[_data(record), entry_data(entry_of(record, _thesaurus))] for record in records])


def _data(record: Record) -> dict[str, Any]:
    """The fields of a record that are not as they are without being stated."""
    bare = Record("", "")
    stated = {name: value for name, value in vars(record).items() if value != getattr(bare, name)}
    return {"slug": record.slug, "title": record.title, "causes": (), **stated}
