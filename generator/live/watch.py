"""Tells when files change, by looking: no file system is without times and sizes."""

from __future__ import annotations

import os
import time
from collections.abc import Sequence
from pathlib import Path

Stamp = tuple[int, int, int]  # time of change in ns, size in bytes, number of the file
SHARE = 0.2  # of the time that looking may take at most


def snapshot(folders: Sequence[Path]) -> dict[str, Stamp]:
    """The stamps of all files below the folders; hidden ones and editors' own left out. Misses are no error."""
    found: dict[str, Stamp] = {}
    waiting = [str(folder) for folder in folders]
    while waiting:
        try:
            with os.scandir(waiting.pop()) as entries:
                for entry in entries:
                    if entry.name.startswith((".", "#")) or entry.name.endswith(
                        ("~", ".swp", ".tmp", ".part")
                    ):
                        continue
                    if entry.is_dir(follow_symlinks=False):
                        waiting.append(entry.path)
                    else:
                        stat = entry.stat(follow_symlinks=False)
                        found[entry.path] = (stat.st_mtime_ns, stat.st_size, stat.st_ino)
        except OSError:  # it went away while we looked
            continue
    return found


class Watch:
    """Follows folders. Looks every pause seconds, less often where looking takes long."""

    def __init__(self, folders: Sequence[Path], pause: float = 0.2):
        self.folders, self.pause = folders, pause
        self._seen = snapshot(folders)

    def wait(self, at_most: float | None = None) -> list[str]:
        """Wait for a change; the files that were changed, added or removed, once the change has settled.

        at_most: seconds after which waiting ends where nothing has changed; then there are none.
        """
        start = time.monotonic()
        while True:
            began = time.monotonic()
            now = snapshot(self.folders)
            took = time.monotonic() - began
            if now != self._seen:
                break
            if at_most is not None and time.monotonic() - start >= at_most:
                return []
            time.sleep(max(self.pause, took / SHARE))
        while True:  # an editor may write in several steps
            time.sleep(0.03)
            settled = snapshot(self.folders)
            if settled == now:
                break
            now = settled
        changed = sorted(path for path in {*now, *self._seen} if now.get(path) != self._seen.get(path))
        self._seen = now
        return changed
