"""Bytes of a file -> clean text, and text -> what may be shown in a message."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from generator.problems import NAMELESS, Problem

if TYPE_CHECKING:
    from pathlib import Path

MAX_FILE_BYTES = 1024 * 1024
MAX_CHARACTER_PROBLEMS = 20
SHORT, MEDIUM, LONG = 80, 200, 1_000  # characters of a name, a line, a paragraph

# Controls, line separators that editors do not count as lines, what turns the reading direction
# (text would read otherwise than it is written), surrogates, the byte-order mark and non-characters.
_FORBIDDEN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufdd0-\ufdef\ufeff\ufffe\uffff"
    + "".join(chr(plane * 0x10000 + end) for plane in range(1, 17) for end in (0xFFFE, 0xFFFF))
    + "]"
)


class UnusableFile(ValueError):
    """A file cannot be read as text. what says why, hint what helps; line and column may be 0."""

    def __init__(self, what: str, hint: str = "", line: int = 0, column: int = 0) -> None:
        super().__init__(what)
        self.what, self.hint, self.line, self.column = what, hint, line, column

    def problem(self, file: str) -> Problem:
        """The same as a problem of a file."""
        return Problem(file, self.line, self.column, self.what, self.hint)


def read_text(path: Path) -> str:
    """The text of a UTF-8 file of at most 1 MiB, line ends as "\\n" and without a byte-order mark.

    Raises UnusableFile: missing, a symbolic link, no ordinary file, not readable, too big, not UTF-8.
    """
    from generator.files import Unreadable, read_file  # what is read at the bench comes from no file

    try:
        return decode(read_file(path, MAX_FILE_BYTES))
    except Unreadable as error:
        raise UnusableFile(error.what, error.hint) from None


def line_of(path: Path, key: str) -> int:
    """The line of a note on which a key of its own stands; 1 where it is not found, 0 where the file cannot be read."""
    try:
        lines = read_text(path).split("\n")
    except UnusableFile:
        return 0
    return next((n for n, line in enumerate(lines, start=1) if line.startswith(f"{key}:")), 1)


def decode(data: bytes) -> str:
    """UTF-8 bytes as text. Raises UnusableFile with the line and column of the first wrong byte."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff") or data[:8:2] == bytes(4) or data[1:8:2] == bytes(4):
        raise UnusableFile("the file is UTF-16, not UTF-8", "save it as UTF-8")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        before = unify_line_ends(data[: error.start].decode("utf-8"))
        byte = data[error.start]
        meant = f" (in Latin-1 it would be {chr(byte)})" if byte > 0xA0 and chr(byte).isprintable() else ""
        what = f"not UTF-8: the byte 0x{byte:02X} is not part of a character"
        hint = f"save the file as UTF-8{meant}"
        raise UnusableFile(what, hint, before.count("\n") + 1, len(before) - before.rfind("\n")) from None
    return unify_line_ends(text.removeprefix("\ufeff"))


def unify_line_ends(text: str) -> str:
    """CRLF and CR become LF."""
    return text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text


def clean(text: str, first_line: int, file: str) -> tuple[str, list[Problem]]:
    """The text with every character that is not allowed in a note made a blank, and a problem for each.

    Positions do not move. first_line is the line of the file on which the text begins.
    """
    problems: list[Problem] = []
    for match in _FORBIDDEN.finditer(text):
        if len(problems) == MAX_CHARACTER_PROBLEMS:
            break
        line = first_line + text.count("\n", 0, match.start())
        column = match.start() - text.rfind("\n", 0, match.start())
        problems.append(Problem(file, line, column, character_trouble(match[0]), "delete it"))
    return (_FORBIDDEN.sub(" ", text) if problems else text), problems


def forbidden_in(text: str) -> str:
    """The first character that is not allowed in a note, or ""."""
    found = _FORBIDDEN.search(text)
    return found[0] if found else ""


def without_forbidden(text: str) -> str:
    """The text with U+FFFD in place of every character that is not allowed in a note."""
    return _FORBIDDEN.sub("\ufffd", text)


def character_trouble(character: str) -> str:
    """What is wrong with such a character, in words."""
    import unicodedata

    name = unicodedata.name(character, "").lower() or "no printing character"
    if character == "\ufeff":
        name = "byte-order mark"
    return f"U+{ord(character):04X} ({name}) is not allowed in a note"


_OPENING, _CLOSING = "“”„‟‘’‚‛«»", "“”‘’«»"


def out_of_curly_quotes(text: str) -> str:
    """A text without the typographic quotes that stand around all of it; the same text where none do.

    “a” and “b” stays as it is: those quotes are part of what is said.
    """
    inner = text[1:-1]
    around = len(text) > 2 and text[0] in _OPENING and text[-1] in _CLOSING
    return text if not around or any(sign in _OPENING and sign != "’" for sign in inner) else inner.strip()


def shown(text: str, limit: int = 60) -> str:
    """Text from outside as it may stand in a message: short, on one line, printable."""
    short = " ".join(text[: 4 * limit].split())
    if len(short) > limit or len(text) > 4 * limit:
        short = short[: limit - 1] + "…"
    return printable(short) or NAMELESS


def shown_path(path: Path | str) -> str:
    """A path as it may stand in a message: as it was given, but printable."""
    return printable(str(path))


def printable(text: str) -> str:
    """The text with what a terminal would not print, or would obey, written as an escape."""
    return text if text.isprintable() else "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text)
