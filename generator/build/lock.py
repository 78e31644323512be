"""A lock that dies with its process, so that two builds do not write one site at once."""

from __future__ import annotations

import contextlib
import os
import time
from pathlib import Path

_taken: set[Path] = set()  # locks of the system are between processes; these are within this one


class Busy(Exception):
    """Someone else has the lock. Its text says who, as far as that is known."""


class Lock:
    """A lock file, locked by the system. wait is in seconds."""

    def __init__(self, path: Path, wait: float):
        self.path, self.wait = path, wait
        self._handle: int | None = None

    def take(self) -> None:
        """Wait for the lock and take it. Raises Busy after the wait, OSError where no file can be made."""
        until = time.monotonic() + self.wait
        while not self._try():
            if time.monotonic() >= until:
                raise Busy(self._holder())
            time.sleep(0.05)

    def release(self) -> None:
        """Give the lock back and remove its file. Does nothing where it is not held."""
        if self._handle is None:
            return
        # Removed while still locked: who waits sees that the file it opened is gone, and opens a new one.
        with contextlib.suppress(OSError):
            self.path.unlink()
        os.close(self._handle)
        self._handle = None
        _taken.discard(self.path)

    def _try(self) -> bool:
        if self.path in _taken:
            return False
        handle = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o666)
        if not _system_lock(handle) or not self._is_current(handle):
            os.close(handle)
            return False
        _taken.add(self.path)
        self._handle = handle
        with contextlib.suppress(OSError):  # only for the message to others
            os.truncate(handle, 0)
            os.write(handle, f"process {os.getpid()}\n".encode())
        return True

    def _is_current(self, handle: int) -> bool:
        try:
            return os.path.samestat(os.fstat(handle), os.stat(self.path))
        except OSError:
            return False

    def _holder(self) -> str:
        if self.path in _taken:  # to open and close the file here would give the lock up
            return "this process"
        try:
            return self.path.read_text(encoding="ascii").strip() or "a process"
        except (OSError, ValueError):
            return "a process"


def _system_lock(handle: int) -> bool:
    """Lock without waiting. A lock of lockf is the process's alone: its workers do not inherit it."""
    try:
        import fcntl
    except ImportError:
        import msvcrt

        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        except OSError:
            return False
        return True
    try:
        fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True
