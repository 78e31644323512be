"""A site is replaced whole or not at all.

The new site is written into a folder beside the old one, on the same file system, and the two change places
in one step. Until then the old site is untouched; whatever goes wrong, it still serves. Nothing is deleted
that was not written here: a site carries a list of its files, and a folder with other things in it is refused.

A site may have come from somebody else, list and all. So the list is only believed as far as its names lead to files
below the site, no step is taken through a link (files.py), and what lies beside a site is only touched where this
user's own cache knows it (claim.py).
"""

from __future__ import annotations

import contextlib
import ctypes
import errno
import hashlib
import os
import secrets
import sys
from pathlib import Path
from types import TracebackType
from typing import Self

from generator.build.claim import Busy, Claim
from generator.build.names import names_trouble
from generator.build.own import (
    HEAD,
    NotWritten,
    clear_away,
    delete,
    is_plain,
    ours_alone,
    own_files,
    write_list,
)
from generator.files import Folder, is_link, reason

_SPACE = {errno.ENOSPC: "the disk is full", getattr(errno, "EDQUOT", -1): "the disk quota is used up"}


class Staging:
    """The place where a new site is written; takes the place of the old one when the with-block ends well.

    with Staging(Path("site")) as staging:
        staging.write("index.html", b"...")
        staging.keep("notes/old/index.html")     # a file of the old site that has not changed

    Raises NotWritten where the target may not be replaced, where another build is at it for longer than wait
    seconds, where a file name breaks the rules of names.py, and where the disk does not take it.
    Any other exception of the with-block passes through, and nothing is replaced.
    What is there below staging.folder may be one with a file of the old site: write by these two only.

    To make and remove thousands of folders takes some file systems longer than all else. So an old site with
    spare_from folders or more is not deleted but kept beside the new one, as the place of the next build. Files
    that both have take no room twice.
    """

    def __init__(self, target: Path, *, wait: float = 10.0, spare_from: int = 1000):
        self.target = target.resolve() if target.name in ("", "..") else target.parent.resolve() / target.name
        self.folder = Path()
        self.left: list[Path] = []  # what lies beside the site and may be somebody else's; it is left there
        self._here: Folder | None = None  # the new site
        self._there: Folder | None = None  # the old one
        self._old: dict[str, None] = {}
        self._new: set[str] = set()  # the files of the new site, so far
        self._stale: set[str] = set()  # the files of the site before the old one, in whose place we write
        self._spare_from = spare_from
        self._beside = f".benchlore-{hashlib.sha256(os.fsencode(self.target.name)).hexdigest()[:10]}"
        self._claim = Claim(self.target, wait)

    def __enter__(self) -> Self:
        if is_link(self.target):
            raise NotWritten(f"{self.target} is a symbolic link: give the folder that it leads to")
        try:
            self.target.parent.mkdir(parents=True, exist_ok=True)
            self._claim.take()
        except Busy as busy:
            what = f"another build is writing {self.target} ({busy}): try again when it is done"
            raise NotWritten(what) from None
        except OSError as error:
            raise NotWritten(_words(error, self.target)) from None
        try:
            self._recover()
            self._old = dict.fromkeys(own_files(self.target))
            if self._old:
                self._there = Folder(self.target)
            self.folder = self._place("new")
            self._begin()
        except BaseException as error:
            self._give_up()
            if isinstance(error, OSError):
                raise NotWritten(_words(error, self.target)) from None
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            if error is None:
                self._finish()
        except OSError as trouble:
            raise NotWritten(_words(trouble, self.target)) from None
        finally:
            self._give_up()
        if isinstance(error, OSError) and self._ours(error):
            raise NotWritten(_words(error, self.target)) from None

    def write(self, relative: str, data: bytes) -> None:
        """Write a file of the new site. relative has forward slashes. Raises OSError."""
        self._site.write(_inside(relative), data)
        self._new.add(relative)

    def keep(self, relative: str) -> bool:
        """Take a file over from the old site, without copying it where the system can. False: not there.

        That the file is still as it was written is for the caller to know.
        """
        if relative not in self._old or self._there is None:
            return False
        try:
            if not (relative in self._stale and self._site.same(relative, self._there)):
                self._site.take(relative, self._there)
        except (FileNotFoundError, NotADirectoryError):
            return False
        self._new.add(relative)
        return True

    @property
    def _site(self) -> Folder:
        assert self._here is not None
        return self._here

    def _ours(self, error: OSError) -> bool:
        name = error.filename if isinstance(error.filename, str | os.PathLike) else ""
        return error.errno in _SPACE or str(self.folder) in str(name)

    def _begin(self) -> None:
        """Make the place of the new site: the spare folder where there is one, else a new one."""
        spare = next((self._at(name) for name in self._claim.beside() if _is_spare(name)), None)
        stale = ours_alone(spare) if spare else None
        if spare is not None and stale is not None:
            spare.rename(self.folder)
            self._stale = set(stale)
        else:
            self.folder.mkdir()
        self._here = Folder(self.folder)
        write_list(self._here, HEAD + "\n")

    def _recover(self) -> None:
        """Mend what a build left that died: bring back the old site, clear away what is half written."""
        for name in self._claim.beside():
            folder = self._at(name)
            if is_link(folder) or not folder.is_dir():
                self._claim.forget(name)
            elif name.startswith(f"{self._beside}-old-") and not os.path.lexists(self.target):
                if ours_alone(folder) is not None:
                    folder.rename(self.target)
            elif not _is_spare(name):
                self._clear_away(folder)
        known = set(self._claim.beside())
        for folder in self.target.parent.glob(f"{self._beside}-*-*"):
            if folder.name not in known:  # from before the cache was deleted, or put there by somebody else
                self.left.append(folder)

    def tidy(self) -> list[Path]:
        """Clear away what a build that died left beside a site that stays as it is, unless another build is at it now. What
        may be somebody else's is left, and returned."""
        if not any(self.target.parent.glob(f"{self._beside}-*-*")):
            return []
        try:
            self._claim.take()
            self._recover()
        except (Busy, OSError):  # the next build that writes anything says what is the matter
            return []
        finally:
            self._claim.release()
        return self.left

    def _clear_away(self, folder: Path) -> None:
        if clear_away(folder):
            self._claim.forget(folder.name)
        else:
            self.left.append(folder)

    def _at(self, name: str) -> Path:
        return self.target.parent / name

    def _place(self, sort: str) -> Path:
        """A new place beside the target, which is known to be ours before it is there."""
        path = self._at(f"{self._beside}-{sort}-{secrets.token_hex(6)}")
        self._claim.note(path.name)
        return path

    def _finish(self) -> None:
        delete(self._site, self._stale - self._new)
        files = sorted(self._new)
        trouble = names_trouble(files)
        if trouble:
            raise NotWritten("; ".join(trouble))
        lines = "".join(f"{path}\n" for path in files)
        # The list makes the folder whole: see _is_half_written. It must appear at once.
        write_list(self._site, f"{HEAD}\n{lines}.\n")
        own_files(self.target)  # once more: someone may have put something there in the meantime
        self._close()
        if not os.path.lexists(self.target):
            self.folder.rename(self.target)
            return
        if _exchange(self.folder, self.target):
            self._clear(self.folder)
            return
        old = self._place("old")
        self.target.rename(old)
        try:
            self.folder.rename(self.target)
        except OSError:
            old.rename(self.target)
            raise
        self._clear(old)

    def _clear(self, old: Path) -> None:
        """Delete the old site, as far as it is ours. What stays behind is no failure."""
        with contextlib.suppress(OSError):
            many = len({name.rpartition("/")[0] for name in self._old}) >= self._spare_from
            if many and not any(self._at(name).is_dir() for name in self._claim.beside() if _is_spare(name)):
                # who takes it as the place of a new site looks what is in it
                old.rename(self._place("spare"))
            else:
                self._clear_away(old)

    def _close(self) -> None:
        for folder in (self._here, self._there):
            if folder is not None:
                folder.close()
        self._here = self._there = None

    def _give_up(self) -> None:
        self._close()
        try:
            if self.folder.name in self._claim.beside() and self.folder not in self.left:
                with contextlib.suppress(OSError):
                    self._clear_away(self.folder)
            for name in self._claim.beside():
                if not os.path.lexists(self._at(name)):
                    self._claim.forget(name)
        except OSError:
            pass
        self._claim.release()


def _is_spare(name: str) -> bool:
    return "-spare-" in name


def _inside(relative: str) -> str:
    """The path itself. Raises ValueError where it does not lead to a file below the site."""
    if not is_plain(relative):
        raise ValueError(f"{relative} leads out of the site")
    return relative


def _exchange(one: Path, other: Path) -> bool:
    """Let two folders change places in one step. False where the system cannot.

    Source: renameat2(2), flag RENAME_EXCHANGE (2), Linux 3.15; AT_FDCWD is -100.
    """
    if not sys.platform.startswith("linux"):
        return False
    try:
        renameat2 = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError):
        return False
    if renameat2(-100, os.fsencode(one), -100, os.fsencode(other), 2) == 0:
        return True
    number = ctypes.get_errno()
    if number in (errno.ENOSYS, errno.EINVAL, errno.EPERM, errno.ENOTSUP):
        return False
    raise OSError(number, os.strerror(number), str(other))


def _words(error: OSError, target: Path) -> str:
    why = _SPACE.get(error.errno or 0) or reason(error)
    where = f" ({error.filename})" if isinstance(error.filename, str) else ""
    return f"{target} cannot be written: {why}{where}; what stood there is as it was"
