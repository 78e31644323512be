"""Files of people we do not know: read within limits, and reached step by step without following a link.

A folder that came from elsewhere may hold links that lead out of it, pipes that never end, devices, and files that
are larger than memory. Whatever is read or written below such a folder goes through here.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
from collections.abc import Iterator
from types import TracebackType
from typing import TYPE_CHECKING, Any, BinaryIO, NamedTuple, Self

from generator.problems import Refusal
from generator.problems import reason as reason

if TYPE_CHECKING:
    from pathlib import Path

CHUNK = 1 << 20  # bytes read at a time
DEPTH = 32  # folders inside one another that are looked into
_HANDLES = 64  # folders of a tree that are kept open at the same time
_BY_HANDLE = os.open in os.supports_dir_fd and os.scandir in os.supports_fd  # not on Windows
_READ = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
_FOLDER = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_DIRECTORY", 0)
_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)


class Unreadable(Refusal):
    """A file that is not read. what says why, hint what helps."""


def read_file(path: Path | str, limit: int) -> bytes:
    """The bytes of an ordinary file of at most limit bytes. Raises Unreadable for anything else.

    The last step of path is not followed where it is a link; those above it are for the caller to know.
    """
    return _read(os.fspath(path), {}, limit)


@contextlib.contextmanager
def open_file(path: Path | str, limit: int) -> Iterator[BinaryIO]:
    """An ordinary file of at most limit bytes, to be read bit by bit. Raises Unreadable for anything else, and where
    reading fails."""
    try:
        with os.fdopen(_opened(os.fspath(path), {}, limit), "rb") as file:
            yield file
    except OSError as error:
        raise Unreadable(f"cannot be read: {reason(error)}") from None


def is_link(path: Path | str) -> bool:
    """Whether a path is a symbolic link or, on Windows, a junction."""
    return os.path.islink(path) or getattr(os.path, "isjunction", lambda _path: False)(path)


def amount(size: int) -> str:
    """A number of bytes as people read it: "1,048,576 (1 MiB)"."""
    whole = size // (1 << 20)
    return f"{size:,}" + (f" ({whole} MiB)" if whole << 20 == size and whole else "")


def _opened(name: str, at: dict[str, Any], limit: int) -> int:
    """A handle of an ordinary file of at most limit bytes. Raises Unreadable."""
    try:
        # to open some devices does something already
        _check(os.stat(name, follow_symlinks=False, **at), limit)
        handle = os.open(name, _READ, **at)
    except (OSError, ValueError) as error:
        if isinstance(error, Unreadable):
            raise
        if getattr(error, "errno", 0) == errno.ELOOP:
            raise Unreadable(*_LINK) from None
        raise Unreadable(f"cannot be read: {reason(error)}") from None
    try:
        _check(os.fstat(handle), limit)
    except BaseException:
        os.close(handle)
        raise
    return handle


def _read(name: str, at: dict[str, Any], limit: int) -> bytes:
    handle = _opened(name, at, limit)
    try:
        found = bytearray()
        while chunk := os.read(handle, min(CHUNK, limit + 1 - len(found))):
            found += chunk
            if len(found) > limit:
                raise Unreadable(f"the file has more bytes than {amount(limit)}")
        return bytes(found)
    except OSError as error:
        raise Unreadable(f"cannot be read: {reason(error)}") from None
    finally:
        os.close(handle)


_LINK = ("a symbolic link; links are not followed", "put the file itself here")


def _check(state: os.stat_result, limit: int) -> None:
    if stat.S_ISLNK(state.st_mode):
        raise Unreadable(*_LINK)
    if not stat.S_ISREG(state.st_mode):
        raise Unreadable("not an ordinary file")
    if state.st_size > limit:
        raise Unreadable(f"the file has {state.st_size:,} bytes; at most {amount(limit)}")


class Found(NamedTuple):
    """Something below a folder. kind: file, folder (an empty one) or other, which is a link, a pipe, a device."""

    path: str
    kind: str


class Folder:
    """A folder, held by a handle. Paths below it have forward slashes, and no step of them is followed where it is a link.

    Where a step is a link, or leads out of the folder, OSError is raised. Where the system has no handles of folders
    (Windows), each step is looked at before it is taken.
    """

    def __init__(self, path: Path | str) -> None:
        self.path = os.path.abspath(path)
        self._handles: dict[str, int] = {}
        if _BY_HANDLE:
            self._handles[""] = os.open(self.path, _FOLDER)
        elif is_link(self.path) or not os.path.isdir(self.path):
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), self.path)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give all handles back."""
        for handle in self._handles.values():
            os.close(handle)
        self._handles = {}

    # --- reading ------------------------------------------------------------------------------------------------------

    def read(self, relative: str, limit: int) -> bytes:
        """As read_file. Raises Unreadable."""
        try:
            name, at = self._reach(relative)
        except OSError as error:
            step = (
                _LINK
                if error.errno in (errno.ELOOP, errno.ENOTDIR)
                else (f"cannot be read: {reason(error)}",)
            )
            raise Unreadable(*step) from None
        return _read(name, at, limit)

    def state(self, relative: str) -> os.stat_result:
        """The state of a file, or of a link itself. Raises OSError."""
        name, at = self._reach(relative)
        return os.stat(name, follow_symlinks=False, **at)

    def same(self, relative: str, other: Folder) -> bool:
        """Whether both folders have one and the same file there. Raises FileNotFoundError where this one has none."""
        state = self.state(relative)
        try:
            return os.path.samestat(state, other.state(relative))
        except OSError:
            return False

    def walk(self, relative: str = "") -> Iterator[Found]:
        """All that lies below, in no order. Raises OSError, also for folders inside one another more than DEPTH deep."""
        if relative.count("/") > DEPTH:
            raise OSError(errno.ELOOP, "folders inside folders without end", relative)
        entries = self._entries(relative)
        if relative and not entries:
            yield Found(relative, "folder")
        for name, kind in entries:
            path = f"{relative}/{name}" if relative else name
            if kind == "folder":
                yield from self.walk(path)
            else:
                yield Found(path, kind)

    def _entries(self, relative: str) -> list[tuple[str, str]]:
        with os.scandir(self._handle(relative) if _BY_HANDLE else self._checked(relative)) as entries:
            return [(entry.name, _kind(entry)) for entry in entries]

    # --- writing ------------------------------------------------------------------------------------------------------

    def write(self, relative: str, data: bytes) -> None:
        """Write a file anew; what stood there under that name, and may be one with another file, is unlinked first."""
        name, at = self._reach(relative, make=True)
        try:
            handle = os.open(name, _NEW, 0o666, **at)
        except FileExistsError:
            os.unlink(name, **at)
            handle = os.open(name, _NEW, 0o666, **at)
        try:
            view = memoryview(data)
            while view:
                view = view[os.write(handle, view) :]
        except OSError as error:
            error.filename = error.filename or os.path.join(self.path, relative)
            raise
        finally:
            os.close(handle)

    def take(self, relative: str, other: Folder) -> None:
        """Have the same file here as another folder has there, without copying it where the system can. Raises OSError."""
        name, at = self._reach(relative, make=True)
        source, from_ = other._reach(relative)
        if not stat.S_ISREG(os.stat(source, follow_symlinks=False, **from_).st_mode):
            raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), relative)
        ends = {"src_dir_fd": from_["dir_fd"], "dst_dir_fd": at["dir_fd"]} if at else {}
        try:
            os.link(source, name, follow_symlinks=False, **ends)
        except FileExistsError:
            os.unlink(name, **at)
            os.link(source, name, follow_symlinks=False, **ends)
        except FileNotFoundError:
            raise
        except (OSError, NotImplementedError):
            try:
                self.write(relative, other.read(relative, 1 << 30))
            except Unreadable:
                raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), relative) from None

    def rename(self, old: str, new: str) -> None:
        """Give a file another name, in one step; one that has it goes. Raises OSError."""
        source, from_ = self._reach(old)
        name, at = self._reach(new)
        os.replace(
            source, name, **({"src_dir_fd": from_["dir_fd"], "dst_dir_fd": at["dir_fd"]} if at else {})
        )

    def remove(self, relative: str) -> None:
        """Delete a file, or a link itself. Raises OSError."""
        name, at = self._reach(relative)
        os.unlink(name, **at)

    def remove_folder(self, relative: str) -> None:
        """Delete an empty folder. Raises OSError."""
        handle = self._handles.pop(relative, None)
        if handle is not None:
            os.close(handle)
        name, at = self._reach(relative)
        os.rmdir(name, **at)

    def empty(self, last: str = "") -> None:
        """Delete all that lies below, whatever it is; links themselves, not what they lead to. last: the name that goes when all
        else is gone, as it says whose the folder is. Raises OSError."""
        self._empty("", last)

    def _empty(self, relative: str, last: str = "") -> None:
        for name, kind in sorted(self._entries(relative), key=lambda entry: entry[0] == last):
            path = f"{relative}/{name}" if relative else name
            if kind == "folder":
                self._empty(path)
                self.remove_folder(path)
            else:
                self.remove(path)

    # --- the way there ------------------------------------------------------------------------------------------------

    def _reach(self, relative: str, make: bool = False) -> tuple[str, dict[str, Any]]:
        """The last step of a path and where it is taken from, as functions of os want them."""
        above, _, name = relative.rpartition("/")
        if name in ("", ".", "..") or "\0" in name or (os.sep != "/" and os.sep in relative):
            raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), relative)
        if _BY_HANDLE:
            return name, {"dir_fd": self._handle(above, make)}
        return os.path.join(self._checked(above, make), name), {}

    def _handle(self, relative: str, make: bool = False) -> int:
        known = self._handles.get(relative)
        if known is not None:
            return known
        name, at = self._reach(relative, make)
        try:
            handle = os.open(name, _FOLDER, **at)
        except FileNotFoundError:
            if not make:
                raise
            os.mkdir(name, **at)
            handle = os.open(name, _FOLDER, **at)
        except OSError as error:
            error.filename = os.path.join(self.path, relative)
            raise
        if len(self._handles) > _HANDLES:  # the folder itself, which is first, stays
            for oldest in [path for path in self._handles if path and path.count("/") >= relative.count("/")][
                :1
            ]:
                os.close(self._handles.pop(oldest))
        self._handles[relative] = handle
        return handle

    def _checked(self, relative: str, make: bool = False) -> str:
        path = self.path
        for step in relative.split("/") if relative else ():
            if step in ("", ".", "..") or "\\" in step:
                raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), relative)
            path = os.path.join(path, step)
            if is_link(path):
                raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), path)
            if make and not os.path.lexists(path):
                os.mkdir(path)
        return path


def _kind(entry: os.DirEntry[str]) -> str:
    if getattr(entry, "is_junction", lambda: False)():
        return "other"
    if entry.is_dir(follow_symlinks=False):
        return "folder"
    return "file" if entry.is_file(follow_symlinks=False) else "other"
