"""Which file of a site was made from what, so that one that was made from the same is taken over from the old site."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path
from typing import Any

from generator.build.replace import Staging
from generator.build.store import Written
from generator.cache import digest_of
from generator.files import Unreadable, read_file
from generator.pages.site_pages import Page

LARGEST_FILE = 1 << 30  # bytes of a file of a site; what is larger was not written here
WHOLE = ""  # the site as a whole, among the paths of its files


def stands(target: Path, before: dict[str, Written], whole: str) -> bool:
    """Whether the site that is there was made from all the same, and nobody has touched a file of it since."""
    known = before.get(WHOLE)
    # a row may be damaged, or lost
    if known is None or known.key != whole or known.state != str(len(before) - 1):
        return False
    return all(path == WHOLE or _untouched(target / path, file) for path, file in before.items())


def _untouched(path: Path, file: Written) -> bool:
    """Whether a file is as it was written: by its size and times, else by its bytes."""
    try:
        return _state_of(path) == file.state or _digest(path) == file.digest
    except (OSError, Unreadable):
        return False


class Ledger:
    """Which file was made from what; a file that was made from the same is taken over from the old site."""

    def __init__(self, staging: Staging, before: dict[str, Written], written: dict[str, Written], base: str):
        self.staging, self.before, self.written, self.base = staging, before, written, base

    def key(self, made_from: Any) -> str:
        return digest_of([self.base, made_from])

    def kept(self, path: str, key: str) -> bool:
        """Take the old file over if it was made from the same and nobody has touched it since."""
        known = self.before.get(path)
        if known is None or known.key != key or not _untouched(self.staging.target / path, known):
            return False
        if not self.staging.keep(path):
            return False
        self.written[path] = known
        return True

    def write(self, path: str, key: str, data: bytes) -> None:
        self.staging.write(path, data)
        self.written[path] = Written(key, hashlib.sha256(data).hexdigest(), "")

    def add(self, page: Page) -> None:
        key = self.key(page.made_from)
        if not self.kept(page.path, key):
            self.write(page.path, key, page.make())


def _digest(path: Path) -> str:
    return hashlib.sha256(read_file(path, LARGEST_FILE)).hexdigest()


def _state_of(path: Path) -> str:
    """What changes when somebody writes to a file: which one it is, its size, the time of the last change. Raises OSError."""
    state = os.lstat(path)
    return f"{state.st_ino}/{state.st_size}/{state.st_mtime_ns}/{state.st_mode}"


def as_it_stands(target: Path, path: str, file: Written) -> Written:
    """The same with the state of the file as it was written to the site."""
    try:
        return file._replace(state=_state_of(target / path))
    except OSError:
        return file
