"""A library of a few notes, and its site."""

from __future__ import annotations

from pathlib import Path

from generator.build.build import build_site


def library_of(place: Path, /, **notes: str) -> Path:
    """The content of a library in a folder: each note by its slug."""
    content = place / "content"
    (content / "notes").mkdir(parents=True)
    (content / "library.yaml").write_text("name: Corner bench\n")
    for slug, text in notes.items():
        (content / "notes" / f"{slug}.md").write_text(text)
    return content


def site_of(place: Path, /, **notes: str) -> Path:
    """The site that is built of them."""
    built = build_site(library_of(place, **notes), place / "site")
    assert built.written, [str(problem) for problem in built.problems]
    return place / "site"
