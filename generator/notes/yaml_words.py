"""What is wrong with a piece of YAML, in words for people who mend things."""

from __future__ import annotations

from typing import Any

QUOTE_IT = "put the value in quotes"


def in_words(error: Any, text: str) -> tuple[int, int, str, str]:
    """(line, column, what, hint) for a yaml.YAMLError raised on text; line and column count from 0.

    The messages of PyYAML's two parsers (C and Python) differ in wording; what they share is matched.
    """
    mark, opened = getattr(error, "problem_mark", None), getattr(error, "context_mark", None)
    if mark is None:  # a ReaderError: a character that YAML does not allow
        position = min(getattr(error, "position", 0) or 0, len(text))
        line = text.count("\n", 0, position)
        return line, position - text.rfind("\n", 0, position) - 1, "a character that YAML does not allow", "delete it"
    what, hint, at_opening = _explain(str(error.problem or ""), str(error.context or ""), mark, opened, text)
    place = opened if at_opening and opened is not None else mark
    return place.line, place.column, what, hint


def _explain(problem: str, context: str, mark: Any, opened: Any, text: str) -> tuple[str, str, bool]:
    """(what, hint, whether the place to show is where the construct began)."""
    lines = text.split("\n")
    line = lines[mark.line] if mark.line < len(lines) else ""
    before, here = line[: mark.column], line[mark.column : mark.column + 1]
    starts_line = not before.strip(" -")
    if "quoted scalar" in context and "end of stream" in problem:
        return "the quotation mark opened here is never closed", "close it with the same mark", True
    if "document" in problem + context and "quoted scalar" in context:
        return "the quotation mark opened here is never closed", "close it with the same mark", True
    if "escape" in problem:
        return "a backslash in double quotes starts a special sign, and this is none", "use single quotes", False
    if "flow mapping" in context:
        return _not_closed("{", "}", mark), "close it, or put text with commas or braces in quotes", True
    if "flow sequence" in context:
        return _not_closed("[", "]", mark), "close it, or put text with commas or brackets in quotes", True
    if "mapping values are not allowed" in problem:
        if ": " in before or before.rstrip().endswith("]"):
            return "a second colon with a blank after it in one value", QUOTE_IT, False
        return "this line does not line up with the keys above it", "indent it like its neighbours, by blanks", False
    if "could not find expected ':'" in problem:
        return "this is no 'key: value'", "write a colon and a blank after the key", True
    if "tab" in problem or (here == "\t" and "cannot start any token" in problem):
        return "a tab; YAML is indented by blanks", "use two blanks instead", False
    if "cannot start any token" in problem:
        return f"a value cannot begin with {here}", QUOTE_IT, False
    if "alias" in context or "anchor" in context:
        return f"a value cannot begin with {text_at(lines, opened)}", QUOTE_IT, True
    if "tag" in context or "tag" in problem:
        return "a value cannot begin with !; that is a YAML tag", QUOTE_IT, opened is not None
    if "sequence entries are not allowed" in problem:
        return "an entry of a list cannot begin on the line of its key", "begin it on a line of its own", False
    if "mapping keys are not allowed" in problem:
        return "a value cannot begin with ?", QUOTE_IT, False
    if "node content" in problem:
        return f"a value cannot begin with {here}" if here else "a value is missing here", QUOTE_IT, False
    if "block scalar" in context:
        return "after | or > the text begins on the next line", "begin a new line, or put the value in quotes", False
    if "document" in problem:
        return "more than one YAML document", "one is enough: delete what divides them", False
    if "block" in context and starts_line:
        return "this line does not line up with the ones above it", "indent it like its neighbours, by blanks", False
    if "block" in context:
        return "text after the end of a value", "put the whole value in one pair of quotes", False
    return f"this cannot be read as YAML: {problem or 'unknown reason'}", "", False


def _not_closed(opening: str, closing: str, mark: Any) -> str:
    return f"the {opening} opened here is not closed by a {closing}, or a comma is missing"


def text_at(lines: list[str], mark: Any) -> str:
    if mark is None or mark.line >= len(lines):
        return "this sign"
    return lines[mark.line][mark.column : mark.column + 1] or "this sign"
