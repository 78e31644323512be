"""What is being done and how long it will take: a bar on a terminal, plain lines elsewhere."""

from __future__ import annotations

import contextlib
import sys
import time
from typing import TextIO

WIDTH = 24
EVERY = 0.1  # seconds between two drawings of the bar
LINES = 5.0  # seconds between two plain lines


class Progress:
    """Called with (what, done, total); writes to standard error, and nothing for work that is over at once."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self.stream = stream or sys.stderr
        self.bar = self.stream.isatty()
        self.what, self.begun, self.first, self.last = "", 0.0, 0, 0.0

    def __call__(self, what: str, done: int, total: int) -> None:
        now = time.monotonic()
        if what != self.what:
            self.what, self.begun, self.first, self.last = what, now, done, now if not self.bar else 0.0
        with contextlib.suppress(OSError, ValueError):  # nobody is there to see it
            if done >= total:
                self._end(what, done, total, now)
            elif now - self.last >= (EVERY if self.bar else LINES):
                self.last = now
                self._show(what, done, total, now)

    def _show(self, what: str, done: int, total: int, now: float) -> None:
        text = f"{what} {done} of {total}{self._left(done, total, now)}"
        if self.bar:
            filled = WIDTH * done // max(1, total)
            self.stream.write(f"\r\x1b[K[{'#' * filled}{'.' * (WIDTH - filled)}] {text}")
        else:
            self.stream.write(text + "\n")
        self.stream.flush()

    def _left(self, done: int, total: int, now: float) -> str:
        fresh = done - self.first
        if fresh < 3 or now - self.begun < 0.5:
            return ""
        seconds = (now - self.begun) / fresh * (total - done)
        return f", about {seconds / 60:.0f} min left" if seconds >= 90 else f", about {seconds:.0f} s left"

    def _end(self, what: str, done: int, total: int, now: float) -> None:
        if self.bar and self.last:
            self.stream.write("\r\x1b[K")
            self.stream.flush()
        elif total and now - self.begun >= LINES:
            self.stream.write(f"{what} {done} of {total}\n")
