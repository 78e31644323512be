"""What was worked out before: one cache, with one rule for when a row may be used.

A row is found by the hash of all that it was made from, and carries a checksum of itself; one that is damaged counts
as absent, and the work is done again. It is kept in one SQLite file in a folder of the user's own, never beside the
notes, where a stranger could have put one, and may be deleted at any time.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sqlite3
import sys
import tempfile
from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from generator.files import is_link

FILE = "kept.sqlite"
SORTS = ("facts", "pieces", "entries", "written", "photos", "records", "shards", "collections")
_BATCH = 600  # rows that wait until they are written together
_HOME = "benchlore"


def cache_folder(content: Path) -> Path:
    """The cache of a library: a folder of this user's own."""
    return own_folder(hashlib.sha256(os.fsencode(content.resolve())).hexdigest()[:16])


def own_folder(name: str) -> Path:
    """A folder in this user's cache: below $BENCHLORE_CACHE, else where the system keeps caches, else a temporary one.

    What a cache holds goes on pages as it is, so a folder that is a link, or another user's, is not used.
    """
    for base in _bases():
        with contextlib.suppress(OSError):
            folder = base / _HOME / name
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            if os.access(folder, os.W_OK) and _is_own(folder.parent) and _is_own(folder):
                return folder
    return Path(tempfile.mkdtemp(prefix="benchlore-"))


def _bases() -> Iterator[Path]:
    for name in ("BENCHLORE_CACHE", "XDG_CACHE_HOME", "LOCALAPPDATA"):
        named = os.environ.get(name)
        if named and Path(named).is_absolute():
            yield Path(named)
    home = os.environ.get("HOME")
    if home and Path(home).is_absolute() and Path(home).is_dir():
        yield Path(home, "Library", "Caches") if sys.platform == "darwin" else Path(home, ".cache")
    mine = Path(tempfile.gettempdir()) / f"benchlore-{os.getuid() if hasattr(os, 'getuid') else 'cache'}"
    mine.mkdir(mode=0o700, exist_ok=True)
    if _is_own(mine):
        yield mine


def _is_own(folder: Path) -> bool:
    return not is_link(folder) and (not hasattr(os, "getuid") or folder.lstat().st_uid == os.getuid())


@lru_cache(maxsize=1)
def code_key() -> str:
    """Changes with any file of the program."""
    digest = hashlib.sha256()
    package = Path(__file__).resolve().parent
    for path in sorted(package.rglob("*")):
        if path.suffix in (".py", ".yaml", ".po", ".js") and "__pycache__" not in path.parts:
            digest.update(path.relative_to(package).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def digest_of(data: Iterable[Any]) -> str:
    """A hash of plain data."""
    text = json.dumps(list(data), sort_keys=True, ensure_ascii=False, default=str)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def pack(data: Any) -> bytes:
    """Plain data as bytes."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode("utf-8", "surrogatepass")


def unpack(data: bytes) -> Any:
    """What pack() was given. Raises ValueError."""
    return json.loads(data)


class Cache:
    """Rows of bytes by sort, scope and key. Never raises for the state of its file; a broken one is begun anew.

    Where no file can be written (a full disk, a folder that may not be written), it lasts as long as the process.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._waiting: list[tuple[str, str, str, bytes]] = []
        self._db = self._open()

    def _open(self) -> sqlite3.Connection:
        path = self.folder / FILE
        for _attempt in range(2):
            try:
                if is_link(path):
                    raise sqlite3.DatabaseError("a link")
                db = sqlite3.connect(path, timeout=30, isolation_level=None)
                db.execute("pragma journal_mode=wal")
                db.execute("pragma synchronous=off")  # what a crash of the machine breaks is worked out again
                _make_tables(db)
                return db
            except (OSError, sqlite3.Error):
                for ending in ("", "-wal", "-shm"):
                    with contextlib.suppress(OSError):
                        os.unlink(f"{path}{ending}")
        db = sqlite3.connect(":memory:", isolation_level=None)
        _make_tables(db)
        return db

    @property
    def shared(self) -> bool:
        """Whether other processes can read it; not where nothing could be written."""
        return bool(self._db.execute("pragma database_list").fetchone()[2])

    def get(self, sort: str, key: str, scope: str = "") -> bytes | None:
        """The row with this key; None where it is not (or no longer) there, or damaged."""
        self.flush()
        query = f"select key, data, sum from {sort} where scope = ? and key = ?"  # noqa: S608 - a name of ours
        return dict(self._sound(sort, scope, query, (scope, key))).get(key)

    def all(self, sort: str, scope: str = "") -> dict[str, bytes]:
        """key -> row of a scope; those that are damaged are left out."""
        self.flush()
        query = f"select key, data, sum from {sort} where scope = ?"  # noqa: S608 - a name of ours
        return dict(self._sound(sort, scope, query, (scope,)))

    def keys(self, sort: str, scope: str = "") -> set[str]:
        """The keys of a scope."""
        self.flush()
        with contextlib.suppress(sqlite3.Error):
            query = f"select key from {sort} where scope = ?"  # noqa: S608 - a name of ours
            return {key for (key,) in self._db.execute(query, (scope,))}
        return set()

    def put(self, sort: str, key: str, data: bytes, scope: str = "") -> None:
        """Keep a row."""
        self._waiting.append((sort, scope, key, data))
        if len(self._waiting) >= _BATCH:
            self.flush()

    def flush(self) -> None:
        """Write what waits to be written."""
        if not self._waiting:
            return
        rows, self._waiting = self._waiting, []
        with contextlib.suppress(sqlite3.Error), self._transaction():
            for sort in SORTS:
                self._db.executemany(
                    f"insert or replace into {sort} values (?, ?, ?, ?)",
                    [
                        (scope, key, data, _sum(of, scope, key, data))
                        for of, scope, key, data in rows
                        if of == sort
                    ],
                )

    def keep(self, sort: str, keys: Collection[str], scope: str = "") -> None:
        """Forget all rows of a sort but these, so that the file never holds more than the library."""
        self.flush()
        with contextlib.suppress(sqlite3.Error), self._transaction():
            self._db.execute(f"delete from {sort} where scope <> ?", (scope,))  # noqa: S608 - a name of ours
            self._forget(sort, keys, scope)

    def set_all(self, sort: str, scope: str, rows: Mapping[str, bytes]) -> None:
        """Make these the rows of a scope, writing only what has changed."""
        before = self.all(sort, scope)
        with contextlib.suppress(sqlite3.Error), self._transaction():
            self._forget(sort, rows, scope)
            changed = [(key, data) for key, data in rows.items() if before.get(key) != data]
            self._db.executemany(
                f"insert or replace into {sort} values (?, ?, ?, ?)",
                [(scope, key, data, _sum(sort, scope, key, data)) for key, data in changed],
            )

    def close(self) -> None:
        """Write what waits, and give the file back."""
        self.flush()
        with contextlib.suppress(sqlite3.Error):
            self._db.execute("pragma wal_checkpoint(truncate)")
        self._db.close()

    def _forget(self, sort: str, keys: Collection[str], scope: str) -> None:
        known = {key for (key,) in self._db.execute(f"select key from {sort} where scope = ?", (scope,))}
        gone = [(scope, key) for key in known.difference(keys)]
        self._db.executemany(f"delete from {sort} where scope = ? and key = ?", gone)  # noqa: S608 - a name of ours

    def _sound(
        self, sort: str, scope: str, query: str, values: tuple[str, ...]
    ) -> Iterator[tuple[str, bytes]]:
        with contextlib.suppress(sqlite3.Error, TypeError, ValueError, UnicodeError):
            for key, data, total in self._db.execute(query, values):
                if isinstance(data, bytes) and total == _sum(sort, scope, key, data):
                    yield key, data

    @contextlib.contextmanager
    def _transaction(self) -> Iterator[None]:
        self._db.execute("begin immediate")
        try:
            yield
        except BaseException:
            with contextlib.suppress(sqlite3.Error):  # a full disk has rolled it back already
                self._db.execute("rollback")
            raise
        self._db.execute("commit")


def _make_tables(db: sqlite3.Connection) -> None:
    for sort in SORTS:
        db.execute(
            f"create table if not exists {sort} (scope text, key text, data blob, sum blob, primary key (scope, key))"
        )
        db.execute(f"select scope, key, data, sum from {sort} limit 1").fetchall()  # noqa: S608 - a name of ours


def _sum(sort: str, scope: str, key: str, data: bytes) -> bytes:
    """Damage is what it is against, so few bytes will do."""
    digest = hashlib.blake2b(f"{sort}\0{scope}\0{key}\0".encode("utf-8", "surrogatepass"), digest_size=8)
    digest.update(data)
    return digest.digest()
