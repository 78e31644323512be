"""The right to write one site, which dies with its process, and what was put beside that site.

Both are one SQLite file in the user's own cache. Its lock is the system's, so nothing is left to be cleared away; and
a folder beside a site is only touched where it is written here that it was made by this program, for anybody may give
a folder such a name.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sqlite3
import time
from pathlib import Path

from generator.cache import own_folder


class Busy(Exception):
    """Another build has the right. Its text says which, as far as that is known."""


class Claim:
    """The right to write a target. wait is in seconds."""

    def __init__(self, target: Path, wait: float) -> None:
        self.target, self.wait = target, wait
        self._db: sqlite3.Connection | None = None
        self._holder = Path()

    def take(self) -> None:
        """Wait for the right and take it. Raises Busy after the wait."""
        place = own_folder("targets") / hashlib.sha256(os.fsencode(self.target)).hexdigest()[:16]
        self._holder = place.with_suffix(".holder")
        until = time.monotonic() + self.wait
        while not self._try(place.with_suffix(".sqlite")):
            if time.monotonic() >= until:
                raise Busy(self._who())
            time.sleep(0.05)
        with contextlib.suppress(OSError):  # only for the message to others
            self._holder.write_text(str(os.getpid()), encoding="ascii")

    def release(self) -> None:
        """Give the right back. Does nothing where it is not held."""
        if self._db is not None:
            with contextlib.suppress(OSError):
                self._holder.unlink()
            self._db.close()
            self._db = None

    def note(self, name: str) -> None:
        """Remember, before it is made, that the folder that will have this name beside the target is ours.

        The name has random digits in it, so that nobody else can have given it to a folder of theirs.
        """
        self._run("insert or ignore into beside values (?)", name)

    def forget(self, name: str) -> None:
        """It is gone."""
        self._run("delete from beside where name = ?", name)

    def beside(self) -> list[str]:
        """The names of all folders that were noted, there or not."""
        return [name for (name,) in self._run("select name from beside order by name")]

    def _run(self, statement: str, *values: str) -> list[tuple[str]]:
        assert self._db is not None
        try:
            return self._db.execute(statement, values).fetchall()
        except sqlite3.Error as error:  # a full disk: what is not noted is not touched later
            raise OSError(f"the cache cannot be written: {error}") from None

    def _try(self, path: Path) -> bool:
        db = None
        for _attempt in range(2):
            try:
                db = sqlite3.connect(path, timeout=0, isolation_level=None)
                db.execute("pragma locking_mode=exclusive")  # held from the first writing until it is closed
                db.execute("pragma synchronous=off")
                db.execute("begin exclusive")
                db.execute("create table if not exists beside (name text primary key)")
                db.execute("select name from beside").fetchall()
                db.execute("commit")
                self._db = db
                return True
            except sqlite3.OperationalError as error:
                if db is not None:
                    db.close()
                if "locked" in str(error):
                    return False
                raise OSError(f"the cache cannot be written: {error}", str(path)) from None
            except sqlite3.Error:  # damaged: what it knew is lost, and what lies beside is left alone
                if db is not None:
                    db.close()
                path.unlink(missing_ok=True)
        raise OSError("the cache cannot be written", str(path))

    def _who(self) -> str:
        try:
            number = self._holder.read_text(encoding="ascii")[:20]
        except (OSError, ValueError):
            return "a process"
        return "this process" if number == str(os.getpid()) else f"process {number}"
