"""Which files of a folder are a site's own, by the list that it carries, and how they are deleted.

The list is believed only as far as its names lead to files below the folder, and no step is taken through a link (files.py).
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable
from pathlib import Path

from generator.files import Folder, Unreadable, is_link

MARKER = ".benchlore"
_PART = f"{MARKER}.part"
HEAD = "Written by benchlore, which replaces this folder whole. Its files:"
_LONGEST_LIST = 1 << 28  # bytes; a million notes have some 100 MiB
_ANOTHER_FOLDER = "give another folder, or move what is in this one"


class NotWritten(Exception):
    """The site could not be written, in words for people. The old site is as it was."""


def is_plain(path: str) -> bool:
    """Whether a path leads to a file below the folder that it is meant from, in the one way that such a path is written."""
    plain = "\\" not in path and "\0" not in path and ":" not in path
    return plain and all(step not in ("", ".", "..") for step in path.split("/"))


def own_files(target: Path) -> list[str]:
    """The files of the site that stands there. Raises NotWritten where anything else stands there."""
    if not os.path.lexists(target):
        return []
    if is_link(target) or not target.is_dir():
        raise NotWritten(f"{target} is a file, not a folder: {_ANOTHER_FOLDER}")
    with Folder(target) as folder:
        listed = _listed(folder)
        found = {f.path if f.kind == "file" else f"{f.path}/" for f in folder.walk()}
    if listed is None:
        if found:
            raise NotWritten(f"{target} holds files, but no site that benchlore wrote: {_ANOTHER_FOLDER}")
        return []
    strange = sorted(found - set(listed) - {MARKER})
    if strange:
        more = f" and {len(strange) - 3} more" if len(strange) > 3 else ""
        named = ", ".join(strange[:3]) + more
        raise NotWritten(f"{target} holds files that benchlore did not write ({named}): {_ANOTHER_FOLDER}")
    return listed


def _listed(folder: Folder) -> list[str] | None:
    """The files in the list of a whole site; None where there is no such list, or one that was not written here."""
    lines = _list_of(folder).split("\n")
    whole = len(lines) > 2 and lines[0] == HEAD and lines[-2:] == [".", ""]
    return lines[1:-2] if whole and all(map(is_plain, lines[1:-2])) else None


def _list_of(folder: Folder) -> str:
    try:
        return folder.read(MARKER, _LONGEST_LIST).decode()
    except (Unreadable, UnicodeDecodeError):
        return "?"


def clear_away(folder: Path) -> bool:
    """Delete a folder that a build began, or a site as far as it is ours. False where anything is left."""
    with Folder(folder) as opened:
        half = _list_of(opened).strip() in (HEAD, "")  # it never became a site: all in it is ours
        if half:
            opened.empty(last=MARKER)  # killed on the way, the next build still knows whose it is
    if half:
        folder.rmdir()
        return True
    return _delete_own(folder)


def _delete_own(folder: Path) -> bool:
    """Delete the files that a site lists, and the folders then empty. False where anything is left."""
    with Folder(folder) as opened:
        listed = _listed(opened)
        with contextlib.suppress(FileNotFoundError):
            opened.remove(_PART)
        if listed is None and any(folder.iterdir()):
            return False
        delete(opened, listed or [])
        if [name for name in os.listdir(folder) if name != MARKER]:
            return False
        with contextlib.suppress(FileNotFoundError):
            opened.remove(MARKER)
    folder.rmdir()
    return True


def delete(folder: Folder, names: Iterable[str]) -> None:
    """Delete files below a folder, and the folders that are then empty."""
    above: set[str] = set()
    for name in sorted(names):
        with contextlib.suppress(FileNotFoundError, NotADirectoryError):
            folder.remove(name)
        steps = name.split("/")[:-1]
        above |= {"/".join(steps[:count]) for count in range(1, len(steps) + 1)}
    for inner in sorted(above, key=lambda path: (-path.count("/"), path)):
        with contextlib.suppress(OSError):
            folder.remove_folder(inner)


def ours_alone(folder: Path) -> list[str] | None:
    """The files of a whole site that are there; None where there is none, or something else in it, be it a link."""
    with Folder(folder) as opened:
        listed = _listed(opened)
        if listed is None:
            return None
        found = {f.path if f.kind == "file" else f"{f.path}/" for f in opened.walk()} - {MARKER}
    return sorted(found) if found <= set(listed) else None


def write_list(folder: Folder, text: str) -> None:
    """Write the marker in one step, for it tells whether the folder is whole."""
    folder.write(_PART, text.encode())
    folder.rename(_PART, MARKER)
