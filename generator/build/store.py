"""What has been worked out before, so that only what changed is worked out again.

One SQLite file in a folder of the user's own. It may be deleted at any time, holds nothing but what the last build used, and is never trusted: a
row is found by the hash of everything that it was made from, and whatever is wrong with it, the work is done anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sqlite3
import tempfile
import zlib
from collections.abc import Collection, Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

_TABLES = """
create table if not exists facts (key text primary key, facts blob not null) without rowid;
create table if not exists pieces (key text primary key, pieces blob not null);
create table if not exists entries (key text, words text, entry blob not null, primary key (key, words)) without rowid;
create table if not exists pages (target text, path text, key text, digest text, state text, primary key (target, path)) without rowid;
"""
_BATCH = 200


def cache_folder(content: Path) -> Path:
    """The cache of a library: a folder of this user's own, never one that came along with the notes.

    What a cache holds goes on pages as it is, so one that a stranger put beside his notes must not be read. The folder
    lies below $BENCHLORE_CACHE, else the user's folder for caches, else that for temporary files.
    """
    mark = hashlib.sha256(os.fsencode(content.resolve())).hexdigest()[:16]
    for base in _cache_bases():
        folder = base / "benchlore" / mark
        with contextlib.suppress(OSError):
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            if os.access(folder, os.W_OK) and _own(folder) and _own(folder.parent):
                return folder
    return Path(tempfile.mkdtemp(prefix="benchlore-"))


def _cache_bases() -> Iterator[Path]:
    named = (
        os.environ.get("BENCHLORE_CACHE")
        or os.environ.get("XDG_CACHE_HOME")
        or os.environ.get("LOCALAPPDATA")
    )
    if named and Path(named).is_absolute():
        yield Path(named)
    home = os.environ.get("HOME")
    if home and Path(home).is_absolute() and Path(home).is_dir():
        yield Path(home) / ".cache"
    yield Path(tempfile.gettempdir()) / f"benchlore-{os.getuid() if hasattr(os, 'getuid') else 'cache'}"


def _own(folder: Path) -> bool:
    """Whether the folder is this user's own, and no link to somewhere else."""
    return not folder.is_symlink() and (not hasattr(os, "getuid") or folder.stat().st_uid == os.getuid())


@lru_cache(maxsize=1)
def code_key() -> str:
    """Changes with any file of the program."""
    digest = hashlib.sha256()
    package = Path(__file__).resolve().parent.parent
    for path in sorted(package.rglob("*")):
        if path.suffix in (".py", ".yaml", ".po", ".js") and "__pycache__" not in path.parts:
            digest.update(path.relative_to(package).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def pack(data: Any) -> bytes:
    """Plain data as bytes."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode("utf-8", "surrogatepass")


def unpack(data: bytes) -> Any:
    """What pack() was given. Raises ValueError."""
    return json.loads(data)


def squeeze(data: Any) -> bytes:
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
    """The cache as a map. Never raises for the state of its file; a broken one is begun anew."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "built.sqlite"
        self._db = self._open()
        self._waiting: list[Row] = []

    def _open(self) -> sqlite3.Connection:
        for attempt in (0, 1):
            try:
                db = sqlite3.connect(self.path, timeout=30, isolation_level=None)
                db.execute("pragma journal_mode=wal")
                db.execute(
                    "pragma synchronous=off"
                )  # after a crash of the machine the file may be broken: see above
                db.executescript(_TABLES)
                db.execute("select key, facts from facts limit 1").fetchall()
                db.execute("select key, pieces from pieces limit 1").fetchall()
                db.execute("select key, words, entry from entries limit 1").fetchall()
                db.execute("select target, path, key, digest, state from pages limit 1").fetchall()
                return db
            except sqlite3.Error:
                if attempt == 0:
                    for ending in ("", "-wal", "-shm"):
                        with contextlib.suppress(OSError):
                            os.unlink(f"{self.path}{ending}")
        db = sqlite3.connect(":memory:", isolation_level=None)
        db.executescript(_TABLES)
        return db

    @property
    def shared(self) -> bool:
        """Whether other processes can read it; not where nothing could be written."""
        return bool(self._db.execute("pragma database_list").fetchone()[2])

    # --- notes ------------------------------------------------------------------------------------------------------

    def facts(self) -> dict[str, bytes]:
        """key -> facts, packed, of every note that is known."""
        with contextlib.suppress(sqlite3.Error):
            return dict(self._db.execute("select key, facts from facts"))
        return {}

    def entries(self, words: str) -> dict[str, bytes]:
        """key -> entry, packed, of every note whose entry was made by the thesaurus with this key."""
        with contextlib.suppress(sqlite3.Error):
            return dict(self._db.execute("select key, entry from entries where words = ?", (words,)))
        return {}

    def pieces(self, key: str) -> Any:
        """The pieces of a note's page; None where they are not (or no longer) there."""
        self.flush()
        with contextlib.suppress(sqlite3.Error, zlib.error, ValueError):
            row = self._db.execute("select pieces from pieces where key = ?", (key,)).fetchone()
            return unpack(zlib.decompress(row[0])) if row else None
        return None

    def put(self, row: Row) -> None:
        self._waiting.append(row)
        if len(self._waiting) >= _BATCH:
            self.flush()

    def flush(self) -> None:
        if not self._waiting:
            return
        rows, self._waiting = self._waiting, []
        with contextlib.suppress(sqlite3.Error), self._transaction():
            self._db.executemany(
                "insert or replace into facts values (?, ?)", ((row.key, row.facts) for row in rows)
            )
            self._db.executemany(
                "insert or replace into pieces values (?, ?)", ((row.key, row.pieces) for row in rows)
            )
            self.put_entries({(row.key, row.words): row.entry for row in rows})

    def put_entries(self, entries: Mapping[tuple[str, str], bytes]) -> None:
        """(key, key of the thesaurus) -> entry, packed."""
        with contextlib.suppress(sqlite3.Error):
            self._db.executemany(
                "insert or replace into entries values (?, ?, ?)",
                ((*keys, entry) for keys, entry in entries.items()),
            )

    def keep_notes(self, used: Collection[str], words: str) -> None:
        """Forget all notes but these, and entries made by another thesaurus, so that the file never holds more than the library."""
        self.flush()
        with contextlib.suppress(sqlite3.Error), self._transaction():
            self._db.execute("delete from entries where words <> ?", (words,))
            known = {key for (key,) in self._db.execute("select key from facts")}
            for table in ("facts", "pieces", "entries"):
                self._db.executemany(
                    f"delete from {table} where key = ?", ((key,) for key in known - set(used))
                )  # noqa: S608 - a name of ours

    # --- pages ------------------------------------------------------------------------------------------------------

    def pages(self, target: str) -> dict[str, Written]:
        """path -> what was last written there, of a target."""
        with contextlib.suppress(sqlite3.Error):
            rows = self._db.execute("select path, key, digest, state from pages where target = ?", (target,))
            return {path: Written(*rest) for path, *rest in rows}
        return {}

    def set_pages(self, target: str, pages: Mapping[str, Written]) -> None:
        before = self.pages(target)
        with contextlib.suppress(sqlite3.Error), self._transaction():
            self._db.executemany(
                "delete from pages where target = ? and path = ?",
                ((target, path) for path in before if path not in pages),
            )
            changed = (
                (target, path, *written) for path, written in pages.items() if before.get(path) != written
            )
            self._db.executemany("insert or replace into pages values (?, ?, ?, ?, ?)", changed)

    def close(self) -> None:
        self.flush()
        with contextlib.suppress(sqlite3.Error):
            self._db.execute("pragma wal_checkpoint(truncate)")
        self._db.close()

    @contextlib.contextmanager
    def _transaction(self) -> Iterator[None]:
        self._db.execute("begin immediate")
        try:
            yield
        except BaseException:
            self._db.execute("rollback")
            raise
        self._db.execute("commit")
