"""What is wrong with a piece of YAML, in words for people who mend things."""

from __future__ import annotations

import re
from typing import Any, NamedTuple


class _Rule(NamedTuple):
    """message: found in "context; problem" as either of PyYAML's parsers words them (C and Python differ).

    {sign} in what is the sign at the place shown; at_opening shows where the construct began, not where it broke.
    """

    message: str
    what: str
    hint: str
    at_opening: bool = False


_QUOTE_IT = "put the value in quotes"
_INDENT_IT = "indent it like its neighbours, by blanks"

# The first that fits is told.
_RULES = [
    _Rule("quoted scalar; .*(end of stream|document)", "the quotation mark opened here is never closed",
          "close it with the same mark", True),
    _Rule("escape", "a backslash in double quotes starts a special sign, and this is none", "use single quotes"),
    _Rule("nesting depth", "lists and keys nested too deep", "twenty levels are enough for any note"),
    _Rule("directive", "a line cannot begin with %", _QUOTE_IT, True),
    _Rule("flow mapping", "the { opened here is not closed by a }, or a comma is missing",
          "close it, or put text with commas or braces in quotes", True),
    _Rule("flow sequence", "the [ opened here is not closed by a ], or a comma is missing",
          "close it, or put text with commas or brackets in quotes", True),
    _Rule("a second colon", "a second colon with a blank after it in one value", _QUOTE_IT),
    _Rule("mapping values are not allowed", "this line does not line up with the keys above it", _INDENT_IT),
    _Rule("could not find expected ':'", "this is no 'key: value'", "write a colon and a blank after the key", True),
    _Rule("a tab", "a tab; YAML is indented by blanks", "use two blanks instead"),
    _Rule("cannot start any token|mapping keys are not allowed|node content", "a value cannot begin with {sign}", _QUOTE_IT),
    _Rule("an? (alias|anchor);", "a value cannot begin with {sign}", _QUOTE_IT, True),
    _Rule(r"\btag\b", "a value cannot begin with !; that is a YAML tag", _QUOTE_IT, True),
    _Rule("sequence entries are not allowed", "an entry of a list cannot begin on the line of its key",
          "begin it on a line of its own"),
    _Rule("block scalar", "after | or > the text begins on the next line",
          "begin a new line, or put the value in quotes"),
    _Rule("document", "more than one YAML document", "one is enough: delete what divides them"),
    _Rule("block.*a new line", "this line does not line up with the ones above it", _INDENT_IT),
    _Rule("block", "text after the end of a value", "put the whole value in one pair of quotes"),
]  # fmt: skip


def in_words(error: Any, text: str) -> tuple[int, int, str, str]:
    """(line, column, what, hint) for a yaml.YAMLError raised on text; line and column count from 0."""
    mark, opened = getattr(error, "problem_mark", None), getattr(error, "context_mark", None)
    if mark is None:  # a ReaderError: a character that YAML does not allow
        position = min(getattr(error, "position", 0) or 0, len(text))
        line, column = text.count("\n", 0, position), position - text.rfind("\n", 0, position) - 1
        return line, column, "a character that YAML does not allow", "delete it"
    lines = text.split("\n")
    message = f"{error.context or ''}; {error.problem or ''}" + _seen(lines, mark, str(error.problem))
    for rule in _RULES:
        if re.search(rule.message, message):
            place = opened if rule.at_opening and opened is not None else mark
            sign = _sign(lines, place) or "nothing"
            return place.line, place.column, rule.what.replace("{sign}", sign), rule.hint
    return mark.line, mark.column, f"this cannot be read as YAML: {error.problem or 'unknown reason'}", ""


def _seen(lines: list[str], mark: Any, problem: str) -> str:
    """What the message does not say but the line shows, for the rules to find."""
    before = lines[mark.line][: mark.column] if mark.line < len(lines) else ""
    seen = ""
    if "mapping values are not allowed" in problem and (": " in before or before.rstrip().endswith("]")):
        seen += "; a second colon"
    if _sign(lines, mark) == "\t" and "cannot start any token" in problem:
        seen += "; a tab"
    if not before.strip(" -"):
        seen += "; a new line"
    return seen


def _sign(lines: list[str], mark: Any) -> str:
    return lines[mark.line][mark.column : mark.column + 1] if mark.line < len(lines) else ""
