"""Where in the source file a place in a parsed note is.

The parser knows the lines of a block but not the columns of what is inside it: it has taken off the
marks of lists and quotations, and the escapes of table cells. This finds the way back.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from markdown_it.token import Token


def locate(
    token: Token, position: int, lines: Sequence[str], cell: tuple[int, str] | None
) -> tuple[int, int]:
    """The line (from 0, in lines) and column (from 1) of a position in the content of an inline token.

    cell: for a table cell, its number in the row (from 0) and the content of the row's first cell.
    Where the way back is lost, the column is 1 and the line that of the block.
    """
    first = token.map[0] if token.map else 0
    if first >= len(lines):
        return 0, 1
    if cell is not None:
        return first, _column_in_row(lines[first], cell, position)
    start = token.content.rfind("\n", 0, position) + 1
    end = token.content.find("\n", position)
    content_line = token.content[start : end if end >= 0 else None].rstrip()
    number = min(first + token.content.count("\n", 0, position), len(lines) - 1)
    source = lines[number].rstrip()
    inside = position - start
    if source.endswith(content_line):  # marks of lists and quotations stand before, so count from the end
        return number, max(1, len(source) - len(content_line) + inside + 1)
    found = source.find(content_line)
    return number, found + inside + 1 if found >= 0 else 1


def _column_in_row(source: str, cell: tuple[int, str], position: int) -> int:
    number, first_content = cell
    parts = _split_row(source)
    raw_first = first_content.replace("|", "\\|")
    opening = source[: parts[0][1]].rstrip()
    if raw_first and opening.endswith(raw_first):
        starts = [len(opening) - len(raw_first)]
    else:  # what stands before a leading pipe is no cell: nothing, or the marks of a quotation or list
        starts = []
    starts += [end - len(source[start:end].lstrip()) for start, end in parts[1:]]
    if number >= len(starts):
        return 1
    at = starts[number]
    for _ in range(position):  # "\|" in the source is one character in the cell
        at += 2 if source.startswith("\\|", at) else 1
    return at + 1


def _split_row(source: str) -> list[tuple[int, int]]:
    """Start and end of what stands between the pipes of a table row, escaped pipes left in."""
    parts: list[tuple[int, int]] = []
    start = 0
    escaped = False
    for at, character in enumerate(source):
        if character == "|" and not escaped:
            parts.append((start, at))
            start = at + 1
        escaped = character == "\\"
    parts.append((start, len(source)))
    return parts
