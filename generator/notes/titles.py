"""Two notes of one title: in lists and results nobody can tell them apart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from generator.notes.text import UnusableFile, read_text, shown, shown_path
from generator.problems import WARNING, Problem


def title_problems(titles: Mapping[Path, str]) -> Iterator[Problem]:
    """A warning for each note whose title another note, by name before it, has too; case and blanks do not count."""
    first: dict[str, Path] = {}
    for path in sorted(titles):
        title = " ".join(titles[path].casefold().split())
        before = first.setdefault(title, path)
        if before is not path and title:
            what = f"title: {shown(titles[path])} is that of {shown_path(before)}, too"
            hint = "say in it what sets this one apart: what failed, or the model"
            yield Problem(shown_path(path), _line(path), 1, what, hint, WARNING)


def _line(path: Path) -> int:
    """The line of a note on which its title stands."""
    try:
        lines = read_text(path).split("\n")
    except UnusableFile:
        return 0
    return next((n for n, line in enumerate(lines, start=1) if line.startswith("title:")), 1)
