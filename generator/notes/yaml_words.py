"""What is wrong with a piece of YAML, in words for people who mend things, and what was most likely meant."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, NamedTuple

_VALUE = re.compile(r"(\s*(?:- +)*(?:[^\s:'\"#{}\[\]][^:'\"#{}\[\]]*:\s+)?)([^\s'\"{\[|>].*)")
_NO_COLON = re.compile(r"(\s*(?:- +)*[A-Za-z]\w*)(?:\s*=\s*|:)(\S.*)")


def _quoted(line: str) -> str:
    """The line with its value in quotes: `title: Lamp: dim`, `regulation: %12`. The same line where that is not clear."""
    found = _VALUE.fullmatch(line)
    return f"{found[1]}'{found[2].rstrip().replace(chr(39), 2 * chr(39))}'" if found else line


def _divided(line: str) -> str:
    """`load:3 A` and `load = 3 A` with a colon and a blank."""
    found = _NO_COLON.fullmatch(line)
    return f"{found[1]}: {found[2]}" if found else line


def _without_tabs(line: str) -> str:
    body = line.lstrip(" \t")
    return line[: len(line) - len(body)].replace("\t", "  ") + body


def _with_blanks(line: str) -> str:
    return line.replace("\u00a0", " ")


class _Rule(NamedTuple):
    """message: found in "context; problem" as either of PyYAML's parsers words them (C and Python differ).

    {sign} in what is the sign at the place shown; at_opening shows where the construct began, not where it broke.
    mend: what the line most likely should be, so that what else is wrong in the note can be told as well.
    """

    message: str
    what: str
    hint: str
    at_opening: bool = False
    mend: Callable[[str], str] | None = None


class Wrong(NamedTuple):
    """line and column count from 0. mended: the text as it was most likely meant, "" where that is not clear."""

    line: int
    column: int
    what: str
    hint: str
    mended: str = ""
    tabs: bool = False
    misaligned: bool = False


_QUOTE_IT = "put the value in quotes"
_NO_TABS = "use two spaces instead"
_INDENT_IT = "indent it like its neighbours, with spaces"

# The first that fits is told.
_RULES = [
    _Rule("a no-break space", "a no-break space, which looks like a space and is not one", "type a space in its place", True, _with_blanks),
    _Rule("quoted scalar; .*(end of stream|document)", "the quotation mark opened here is never closed",
          "close it with the same mark", True),
    _Rule("escape", "a backslash in double quotes starts a special sign, and this is none", "use single quotes"),
    _Rule("nesting depth", "lists and keys nested too deep", "twenty levels are enough for any note"),
    _Rule("directive", "a line cannot begin with %", _QUOTE_IT, True),
    _Rule("flow mapping", "the { opened here is not closed by a }, or a comma is missing",
          "close it, or put text with commas or braces in quotes", True),
    _Rule("flow sequence", "the [ opened here is not closed by a ], or a comma is missing",
          "close it, or put text with commas or brackets in quotes", True),
    _Rule("a second colon", "a second colon with a space after it in one value", _QUOTE_IT, mend=_quoted),
    _Rule("mapping values are not allowed", "this line does not line up with the keys above it", _INDENT_IT),
    _Rule("could not find expected ':'", "this is not 'key: value'", "write a colon and a space after the key", True, _divided),
    _Rule("a tab", "a tab; YAML is indented with spaces", _NO_TABS, mend=_without_tabs),
    _Rule("cannot start any token|mapping keys are not allowed|node content", "a value cannot begin with {sign}", _QUOTE_IT,
          mend=_quoted),
    _Rule("an? (alias|anchor);", "a value cannot begin with {sign}", _QUOTE_IT, True),
    _Rule(r"\btag\b", "a value cannot begin with !; that is a YAML tag", _QUOTE_IT, True),
    _Rule("sequence entries are not allowed", "an entry of a list cannot begin on the line of its key",
          "begin it on a line of its own"),
    _Rule("block scalar", "after | or > the text begins on the next line",
          "begin a new line, or put the value in quotes"),
    _Rule("document", "more than one YAML document", "one is enough: delete what divides them"),
    _Rule("block.*a new line", "this line does not line up with the ones above it", _INDENT_IT),
    _Rule("after an apostrophe", "text after the closing '; an apostrophe inside '...' is written twice",
          "use double quotes around the value"),
    _Rule("block", "text after the end of a value", "put the whole value in one pair of quotes"),
]  # fmt: skip


def closed_late(error: Any, before: Any, first_line: int) -> Wrong | None:
    """Where a value in quotes that runs over several lines comes before the error: its end was forgotten, and the next
    such mark, lines later, was taken for it. before: the event that came last; None where that is not the case."""
    mark = error.problem_mark
    if (
        getattr(before, "style", None) not in ("'", '"')
        or not before.start_mark.line < before.end_mark.line == mark.line
    ):
        return None
    what = f"the quotation mark opened here is closed only on line {before.end_mark.line + first_line}"
    return Wrong(before.start_mark.line, before.start_mark.column, what, "close it where the value ends")


def in_words(error: Any, text: str) -> Wrong:
    """What a yaml.MarkedYAMLError raised on text means, which holds none of the characters that YAML forbids."""
    mark, opened = error.problem_mark, error.context_mark
    lines = text.split("\n")
    message = f"{error.context or ''}; {error.problem or ''}" + _seen(lines, mark, opened, str(error.problem))
    for rule in _RULES:
        if re.search(rule.message, message):
            place = opened if rule.at_opening and opened is not None else mark
            sign = _sign(lines, place) or "nothing"
            what = rule.what.replace("{sign}", sign)
            mended = _mended(lines, place.line, rule.mend) if rule.mend else ""
            if mended and rule.hint is _NO_TABS:
                better = [_without_tabs(line) for line in lines]
                more = sum(old != new for old, new in zip(lines, better)) - 1
                what += f" ({more} more line{'s begin' if more > 1 else ' begins'} with one)" if more else ""
                mended = "\n".join(better)
            return Wrong(
                place.line,
                place.column,
                what,
                rule.hint,
                mended,
                rule.hint is _NO_TABS,
                rule.hint is _INDENT_IT,
            )
    return Wrong(
        mark.line, mark.column, f"this cannot be read as YAML: {error.problem or 'unknown reason'}", ""
    )


def _mended(lines: list[str], number: int, mend: Callable[[str], str]) -> str:
    line = lines[number] if number < len(lines) else ""
    better = mend(line)
    return "\n".join([*lines[:number], better, *lines[number + 1 :]]) if better != line else ""


def _seen(lines: list[str], mark: Any, opened: Any, problem: str) -> str:
    """What the message does not say but the line shows, for the rules to find."""
    before = lines[mark.line][: mark.column] if mark.line < len(lines) else ""
    seen = ""
    if "mapping values are not allowed" in problem and (": " in before or before.rstrip().endswith("]")):
        seen += "; a second colon"
    if _sign(lines, mark) == "\t" and "cannot start any token" in problem:
        seen += "; a tab"
    if not before.strip(" -"):
        seen += "; a new line"
    if re.search(r"(?:^|\s)'[^']*\w'$", before) and _sign(lines, mark).isalnum():
        seen += "; after an apostrophe"
    broken = (opened or mark).line
    if "\u00a0" in (lines[broken] if broken < len(lines) else ""):
        seen += "; a no-break space"
    return seen


def _sign(lines: list[str], mark: Any) -> str:
    return lines[mark.line][mark.column : mark.column + 1] if mark.line < len(lines) else ""
