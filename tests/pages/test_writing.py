"""The page "Writing a note": nothing that a note may hold is missing, and what it shows to copy works."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest

from generator.circuit import catalogue
from generator.circuit.circuit import Mains
from generator.notes import keys
from generator.notes.note import parse_note
from generator.pages.writing import WHOLE, writing_view


def test_the_whole_note_is_read_without_a_problem() -> None:
    note, problems = parse_note(WHOLE, "x", "notes/x.md", None, Mains())
    assert [str(problem) for problem in problems] == [] and note is not None
    assert (
        note.signals
        and note.proof
        and note.readings
        and "chain" in {b.kind.name for b in note.circuit.blocks.values()}
    )


def test_every_key_and_every_kind_has_its_place(site: Path) -> None:
    page = unescape((site / "writing.html").read_text("utf-8"))
    for section in keys.sections():
        for key in section.keys:
            assert f"<code>{key.name}</code>" in page and key.what in page, (section.name, key.name)
    for name in catalogue.names():
        assert f"<code>{name}</code>" in page
    assert 'href="writing.html"' in (site / "index.html").read_text("utf-8")


@pytest.mark.parametrize("kind", [k["name"] for k in writing_view()["kinds"]])
def test_every_example_of_a_block_is_read(kind: str) -> None:
    example = next(k["example"] for k in writing_view()["kinds"] if k["name"] == kind)
    block = "\n".join("  " + line for line in example.split("\n"))
    text = f"---\ntitle: a\ndate: 2026-01-02\ndevice: {{kind: k}}\nsymptoms: [s]\nblocks:\n{block}\n---\n"
    note, problems = parse_note(text, "x", "notes/x.md", None, Mains())
    assert note is not None and [str(p) for p in problems if p.severity == "error"] == []


def test_words_that_stand_in_braces_in_prose_are_no_template(site: Path) -> None:
    page = (site / "writing.html").read_text("utf-8")
    assert "{supply.peak:band}" in page and not re.search(r"\{\{|\{%", page)


def test_every_written_example_is_yaml() -> None:
    """What stands in the column of examples can be copied into a note as it stands."""
    import yaml

    view = writing_view()
    for section in [*view["sections"], *view["of_library"]]:
        for key in section["keys"]:
            assert key["name"] in yaml.safe_load(key["example"]), key["example"]
