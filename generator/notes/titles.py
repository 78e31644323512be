"""Two notes of one title: in lists and results nobody can tell them apart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from generator.notes.text import line_of, shown, shown_path
from generator.problems import WARNING, Problem


def title_problems(titles: Mapping[Path, str]) -> Iterator[Problem]:
    """A warning for each note whose title another note, by name before it, has too; case and blanks do not count."""
    first: dict[str, Path] = {}
    for path in sorted(titles):
        title = " ".join(titles[path].casefold().split())
        before = first.setdefault(title, path)
        if before is not path and title:
            what = f"title: {shown(titles[path])} is also that of {shown_path(before)}"
            hint = "say in it what sets this one apart: what failed, or the model"
            yield Problem(shown_path(path), line_of(path, "title"), 1, what, hint, WARNING)
