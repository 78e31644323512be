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


def test_terminals_and_values_of_every_kind_stand_there(site: Path) -> None:
    """Without them nobody could write a place, a join or a reading who has only this page."""
    page = unescape((site / "writing.html").read_text("utf-8"))
    for kind in catalogue.all_kinds():
        if kind.terminals:
            assert f"<code>{' '.join(kind.terminals)}</code>" in page, kind.name
        if kind.values:
            assert f"<code>{' '.join(value.name for value in kind.values)}</code>" in page, kind.name
        assert all(param.name in page for param in kind.params), kind.name


# Written by somebody who had that page and nothing else: boards, signals, proof, a chain, states, a place of a network.
FIRST_NOTE = """\
---
title: Hot plate stays cold, lamp blinks three times
date: 2026-05-02
device: {kind: hot plate, category: Small kitchen item, make: Ferrowick, plate: {supply: 230 V, power: 1500 W, class: I}}
symptoms: [stays cold, lamp blinks three times]
outcome: fixed
blocks:
  path:
    kind: chain
    elements: [F1 10A, TF1 152C, S1 rotary, [C1 100n X2, R1 47], E1 1500W]
    between: [live, neutral]
  supply:
    kind: transformer-supply
    secondary: 9 V
    regulation: 10 %
    smoothing: C3 470u 25V
    bleeder: R2 10k
    load: 60 mA
    also: [C9 100n from plus to common]
  lamp: {kind: led-indicator, supply: supply, resistor: R3 1k, forward: LD1 red}
  relay: {kind: transistor-switch, drive: 5 V, base: R16 2k2, transistor: Q1 hfe200, load: RL1 400, load_supply: supply, flyback: D6}
states: {asleep: {}, heating: {on: [relay]}}
test_points: {TP1: supply.plus}
readings:
  - {at: supply.ripple, read: 0.9 V}
  - {at: TP1, read: 11.9 V, when: heating}
  - {ohms: RL1, read: 395}
signals:
  - {shows: lamp blinks three times, means: element open, clears: mains off and on}
faults:
  - {part: E1, failed: open, because: the spiral burnt through at its end, found_by: ohmmeter, fix: new element}
fitted: [{part: E1, with: 1500 W element, cost: 9.50}]
time: 1 h 30 min
boards:
  - top: board-top.jpg
    caption: control board
    marks: [{part: C3, x: 42 %, y: 17 %}, {part: R3, side: top, x: 60, y: 70 %}]
proof:
  - {test: earth continuity, read: 0.1 ohm}
  - {test: insulation, read: 200 Mohm, note: at 500 V}
  - {test: function, read: boiled a litre in 6 min}
---

The plate was cold. {supply.peak} at the capacitor, {supply.peak:band}.

{path}
"""


def test_the_page_was_enough_to_write_a_note(tmp_path: Path) -> None:
    from PIL import Image

    from generator.build.build import build_site

    folder = tmp_path / "content" / "notes" / "hot-plate-cold"
    folder.mkdir(parents=True)
    (tmp_path / "content" / "library.yaml").write_text("name: New bench\n", "utf-8")
    (folder / "note.md").write_text(FIRST_NOTE, "utf-8")
    Image.new("RGB", (300, 200), "green").save(folder / "board-top.jpg")
    built = build_site(tmp_path / "content", tmp_path / "site")
    assert built.written, [str(p) for p in built.problems]
    assert [str(p) for p in built.problems if p.severity != "hint"] == []
