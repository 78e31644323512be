"""YAML front matter -> plain data in which every scalar is text, with the place of every key.

One pass over PyYAML's events with a stack of our own: nothing recurses, nothing expands, and no
scalar is guessed at: `no`, `1.20`, `12:30` and `0123` stay as they are written, for each field knows
best what it takes. An empty value, `~` and `null` are "".
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, NamedTuple

from generator.notes.builder import NOTE_LIMITS, NULLS, Builder, Limits, Marks, Path, Place, Stop
from generator.notes.text import clean, unify_line_ends
from generator.notes.yaml_words import Wrong, closed_late, in_words
from generator.problems import Problem

__all__ = [
    "NOTE_LIMITS", "NULLS", "FrontMatterError", "Limits", "Loaded", "Marks", "Path", "Place", "Split", "load", "split",
]  # fmt: skip

MOST_MENDED = 20  # errors of YAML in one file that are told in one pass


class Split(NamedTuple):
    """A note taken apart. The YAML begins on line 2 of the file, the body on body_line."""

    yaml: str
    body: str
    body_line: int


class FrontMatterError(ValueError):
    """A note has no front matter. line is where that shows."""

    def __init__(self, line: int, what: str, hint: str) -> None:
        super().__init__(f"{what}; {hint}")
        self.line, self.what, self.hint = line, what, hint


def split(text: str) -> Split:
    """A note's text as front matter and body. Raises FrontMatterError where the --- lines are missing."""
    text = unify_line_ends(text)
    first, _, rest = text.partition("\n")
    if first.rstrip() != "---":
        if not text.strip():
            raise FrontMatterError(1, "the note is empty", "`benchlore writeup KIND-OF-DEVICE` starts one")
        if re.match(r"\s*-{4,}\s*$", first):
            what = f"{len(first.strip())} dashes begin no front matter"
            raise FrontMatterError(1, what, "three are enough: ---")
        if text.lstrip().startswith("---"):
            raise FrontMatterError(1, "the --- must be the very first line", "delete what comes before it")
        hint = "a note begins with a line ---, keys, and another line ---"
        raise FrontMatterError(1, "no front matter", hint)
    start = 0
    while start <= len(rest):
        end = rest.find("\n", start)
        end = len(rest) if end < 0 else end
        if rest[start:end].rstrip() == "---":
            return Split(rest[:start], rest[end + 1 :], rest.count("\n", 0, start) + 3)
        start = end + 1
    raise FrontMatterError(1, "the front matter has no end", "put a line --- between the keys and the text")


@dataclass
class Loaded:
    """What was read. complete is False where reading stopped early: what data holds is then right, but not all."""

    data: dict[str, Any]
    marks: Marks
    problems: list[Problem]
    complete: bool = True


def load(yaml_text: str, first_line: int = 1, file: str = "", limits: Limits = NOTE_LIMITS) -> Loaded:
    """Read YAML that holds one mapping. Never raises for what the text holds.

    first_line is the line of the file on which yaml_text begins; file names it in problems.
    """
    text, problems = clean(unify_line_ends(yaml_text), first_line, file)
    if len(text) > limits.size:
        what = f"{len(text):,} characters of keys and values; at most {limits.size:,}"
        return Loaded({}, Marks(first_line), [*problems, Problem(file, first_line, 1, what)], False)
    aligned = True
    for _ in range(MOST_MENDED):
        builder = Builder(first_line, file, limits, problems.copy(), text)
        wrong = _feed(builder, text)
        # how wide its author takes a tab to be is not known
        if wrong is None or wrong.misaligned and not aligned:
            break
        aligned = aligned and not wrong.tabs
        told = Problem(file, first_line + wrong.line, wrong.column + 1, wrong.what, wrong.hint)
        builder.problems.append(told)
        if not wrong.mended:
            break
        problems.append(told)  # and on with what was most likely meant, for what else is wrong
        text = wrong.mended
    return Loaded(builder.root, builder.marks, builder.problems, builder.complete)


def _feed(builder: Builder, text: str) -> Wrong | None:
    """Give the builder all that can be read of a text; what makes the rest unreadable, if anything does."""
    import yaml

    before: Any = None
    try:
        for before in yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)):
            builder.take(before)
    except Stop:
        builder.complete = False
    except yaml.YAMLError as error:
        builder.complete = False
        builder.drop_last()  # in `a: b: c` the b came through, and is not what was meant
        return closed_late(error, before, builder.first_line) or in_words(error, text)
    return None
