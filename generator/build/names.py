"""Names of files that every system takes, so that a site can be carried anywhere."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

# Source: Microsoft, "Naming Files, Paths, and Namespaces".
_FORBIDDEN = set('<>:"\\|?*')
_RESERVED = {"con", "prn", "aux", "nul"} | {
    f"{port}{digit}" for port in ("com", "lpt") for digit in "123456789¹²³"
}
LONGEST = 255  # bytes in UTF-8 (Linux); Windows counts 255 units of UTF-16, which is never less strict


@lru_cache(maxsize=1 << 16)  # a site has the same few names in each of its folders
def name_trouble(name: str) -> str:
    """What is wrong with one name of a file or folder, or ""."""
    if not name or name in (".", ".."):
        return "no name"
    if any("\ud800" <= character <= "\udfff" for character in name):
        return "has bytes that are not text"
    bad = sorted(
        {character for character in name if character in _FORBIDDEN or character == "/" or character < " "}
    )
    if bad:
        return f"has a character that file names may not have ({' '.join(map(repr, bad))})"
    if name[-1] in ". ":
        return "ends in a full stop or a space"
    if name.split(".")[0].rstrip(" ").lower() in _RESERVED:
        return "is a name that Windows keeps for itself"
    if len(name.encode()) > LONGEST:
        return f"is longer than {LONGEST} bytes"
    return ""


def names_trouble(paths: Iterable[str]) -> list[str]:
    """What is wrong with paths (forward slashes) that are to be written together; empty where nothing is."""
    troubles: list[str] = []
    seen: dict[str, str] = {}
    checked: set[str] = set()
    for path in paths:
        before = ""
        for name in path.rstrip("/").split("/"):
            whole = f"{before}{name}"
            before = f"{whole}/"
            if whole in checked:
                continue
            checked.add(whole)
            trouble = name_trouble(name)
            if trouble:
                troubles.append(f"{whole!r}: {trouble}")
            other = seen.setdefault(whole.casefold(), whole)
            if other != whole:
                troubles.append(f"{whole!r} and {other!r} are one and the same to Windows and macOS")
    return troubles
