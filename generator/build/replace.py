"""A site is replaced whole or not at all.

The new site is written into a folder beside the old one, on the same file system, and the two change places
in one step. Until then the old site is untouched; whatever goes wrong, it still serves. Nothing is deleted
that was not written here: a site carries a list of its files, and a folder with other things in it is refused.
"""

from __future__ import annotations

import contextlib
import ctypes
import errno
import hashlib
import os
import secrets
import shutil
import sys
from collections.abc import Iterable
from pathlib import Path
from types import TracebackType
from typing import Self

from generator.build.lock import Busy, Lock
from generator.build.names import names_trouble

MARKER = ".benchlore"
_PART = f"{MARKER}.part"
_HEAD = "Written by benchlore, which replaces this folder whole. Its files:"
_ANOTHER_FOLDER = "give another folder, or move what is in this one"
_SPACE = {errno.ENOSPC: "the disk is full", getattr(errno, "EDQUOT", -1): "the disk quota is used up"}


class NotWritten(Exception):
    """The site could not be written, in words for people. The old site is as it was."""


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
        self.target = target.resolve()
        self.folder = Path()
        self.left: list[
            Path
        ] = []  # folders with strangers' files in them that were found aside, and left there
        self._old: dict[str, None] = {}
        self._made: set[str] = set()  # folders of the new site
        self._new: set[str] = set()  # the files of the new site, so far
        self._stale: set[str] = set()  # the files of the site before the old one, in whose place we write
        self._spare_from = spare_from
        self._beside = f".benchlore-{hashlib.sha256(os.fsencode(self.target.name)).hexdigest()[:10]}"
        self._spare = self.target.parent / f"{self._beside}-spare"
        self._lock = Lock(self.target.parent / f"{self._beside}.lock", wait)

    def __enter__(self) -> Self:
        try:
            self.target.parent.mkdir(parents=True, exist_ok=True)
            self._lock.take()
        except Busy as busy:
            raise NotWritten(
                f"another build is writing {self.target} ({busy}): try again when it is done"
            ) from None
        except OSError as error:
            raise NotWritten(_words(error, self.target)) from None
        try:
            self._recover()
            self._old = dict.fromkeys(_own_files(self.target))
            self.folder = self.target.parent / f"{self._beside}-new-{secrets.token_hex(6)}"
            spare = _ours_alone(self._spare) if self._spare.is_dir() else None
            if spare is not None:
                self._stale = set(spare)
                self._made = {name.rpartition("/")[0] for name in spare}
                self._spare.rename(self.folder)
            else:
                self.folder.mkdir()
            _write_list(self.folder, _HEAD + "\n")
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
        path = Path(self._place(relative))
        path.unlink(missing_ok=True)  # it may be one with a file of the old site
        path.write_bytes(data)
        self._new.add(relative)

    def keep(self, relative: str) -> bool:
        """Take a file over from the old site, without copying it where the system can. False: not there.

        That the file is still as it was written is for the caller to know.
        """
        if relative not in self._old:
            return False
        source, path = os.path.join(self.target, relative), self._place(relative)
        try:
            with contextlib.suppress(FileNotFoundError):
                if os.path.samestat(os.stat(path), os.stat(source)):
                    self._new.add(relative)
                    return True
                os.unlink(path)
            try:
                os.link(source, path, follow_symlinks=False)
            except (OSError, NotImplementedError):
                shutil.copyfile(source, path, follow_symlinks=False)
        except FileNotFoundError:
            return False
        self._new.add(relative)
        return True

    def _place(self, relative: str) -> str:
        above, _, name = relative.rpartition("/")
        if above not in self._made or name in ("", "..") or relative == f"/{name}":
            if not name or ".." in Path(relative).parts or Path(relative).is_absolute():
                raise ValueError(f"{relative} leads out of the site")
            (self.folder / above).mkdir(parents=True, exist_ok=True)
            self._made.add(above)
        return os.path.join(self.folder, relative)

    def _ours(self, error: OSError) -> bool:
        name = error.filename if isinstance(error.filename, str | os.PathLike) else ""
        return error.errno in _SPACE or str(self.folder) in str(name)

    def _recover(self) -> None:
        """Mend what a build left that died: bring back the old site, clear away what is half written."""
        for old in sorted(self.target.parent.glob(f"{self._beside}-old-*")):
            if (old / MARKER).is_file() and not self.target.exists():
                old.rename(self.target)
        for folder in sorted(self.target.parent.glob(f"{self._beside}-*-*")):
            if not folder.is_dir() or folder.is_symlink():
                continue
            if _is_half_written(folder):
                shutil.rmtree(folder)
            elif not _delete_own(folder):
                self.left.append(folder)

    def _finish(self) -> None:
        _delete(self.folder, self._stale - self._new)
        files = sorted(self._new)
        trouble = names_trouble(files)
        if trouble:
            raise NotWritten("; ".join(trouble))
        lines = "".join(f"{path}\n" for path in files)
        # The list makes the folder whole: see _is_half_written. It must appear at once.
        _write_list(self.folder, f"{_HEAD}\n{lines}.\n")
        _own_files(self.target)  # once more: someone may have put something there in the meantime
        if not self.target.exists():
            self.folder.rename(self.target)
        elif _exchange(self.folder, self.target):
            self._clear(self.folder)
        else:
            old = self.target.parent / f"{self._beside}-old-{secrets.token_hex(6)}"
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
            listed = _listed(old) or []
            many = len({name.rpartition("/")[0] for name in listed}) >= self._spare_from
            if many and not self._spare.exists():
                old.rename(
                    self._spare
                )  # whoever takes it as the place of a new site looks first what is in it
            elif not _delete_own(old):
                self.left.append(old)

    def _give_up(self) -> None:
        if self.folder != Path() and self.folder.is_dir() and _is_half_written(self.folder):
            shutil.rmtree(self.folder, ignore_errors=True)
        elif self.folder != Path() and self.folder.is_dir() and self.folder not in self.left:
            with contextlib.suppress(OSError):
                _delete_own(self.folder)
        self._lock.release()


def _own_files(target: Path) -> list[str]:
    """The files of the site that stands there. Raises NotWritten where anything else stands there."""
    if not target.exists() and not target.is_symlink():
        return []
    if not target.is_dir():
        raise NotWritten(f"{target} is a file, not a folder: {_ANOTHER_FOLDER}")
    listed = _listed(target)
    if listed is None:
        if any(target.iterdir()):
            raise NotWritten(f"{target} holds files, but no site that benchlore wrote: {_ANOTHER_FOLDER}")
        return []
    strange = sorted(set(_walk(target)) - set(listed) - {MARKER})
    if strange:
        more = f" and {len(strange) - 3} more" if len(strange) > 3 else ""
        named = ", ".join(strange[:3]) + more
        raise NotWritten(f"{target} holds files that benchlore did not write ({named}): {_ANOTHER_FOLDER}")
    return listed


def _listed(folder: Path) -> list[str] | None:
    """The files in the list of a whole site; None where there is no such list."""
    try:
        lines = (folder / MARKER).read_text(encoding="utf-8").split("\n")
    except (OSError, ValueError):
        return None
    return lines[1:-2] if len(lines) > 2 and lines[0] == _HEAD and lines[-2:] == [".", ""] else None


def _is_half_written(folder: Path) -> bool:
    """Whether a folder was begun by a build and never became a site: all in it is ours."""
    try:
        return (folder / MARKER).read_text(encoding="utf-8").strip() in (_HEAD, "")
    except (OSError, ValueError):
        return False


def _walk(folder: Path | str, before: str = "") -> list[str]:
    """The files below a folder, with forward slashes; links and empty folders too, with a slash behind."""
    found: list[str] = []
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                inside = _walk(entry.path, f"{before}{entry.name}/")
                found.extend(inside or [f"{before}{entry.name}/"])
            else:
                found.append(before + entry.name + ("" if entry.is_file(follow_symlinks=False) else "/"))
    return found


def _delete_own(folder: Path) -> bool:
    """Delete the files that a site lists, and the folders then empty. False where anything is left."""
    listed = _listed(folder)
    (folder / _PART).unlink(missing_ok=True)
    if listed is None and any(folder.iterdir()):
        return False
    _delete(folder, listed or [])
    if [entry for entry in os.listdir(folder) if entry != MARKER]:
        return False
    (folder / MARKER).unlink(missing_ok=True)
    folder.rmdir()
    return True


def _delete(folder: Path, names: Iterable[str]) -> None:
    """Delete files below a folder, and the folders that are then empty. A name with a slash behind is a folder."""
    folders: set[str] = set()
    for name in names:
        with contextlib.suppress(FileNotFoundError, NotADirectoryError):
            if not name.endswith("/"):
                os.unlink(folder / name)
        above = name.rpartition("/")[0]
        while above and above not in folders:
            folders.add(above)
            above = above.rpartition("/")[0]
    for inner in sorted(folders, key=len, reverse=True):
        with contextlib.suppress(OSError):
            os.rmdir(folder / inner)


def _ours_alone(folder: Path) -> list[str] | None:
    """The files of a whole site that are there; None where there is none, or something else in it."""
    listed = _listed(folder)
    found = set(_walk(folder)) - {MARKER}
    return sorted(found) if listed is not None and found <= set(listed) else None


def _write_list(folder: Path, text: str) -> None:
    """Write the marker in one step, for it tells whether the folder is whole."""
    (folder / _PART).write_text(text, encoding="utf-8")
    os.replace(folder / _PART, folder / MARKER)


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
    why = _SPACE.get(error.errno or 0) or (error.strerror or str(error)).lower()
    where = f" ({error.filename})" if isinstance(error.filename, str) else ""
    return f"{target} cannot be written: {why}{where}; what stood there is as it was"
