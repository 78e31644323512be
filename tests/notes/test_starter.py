"""Starting a note: what is written builds as it stands, and nothing is ever overwritten."""

from __future__ import annotations

import datetime
import pickle
import re
from collections.abc import Sequence
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from generator import language
from generator.circuit import catalogue
from generator.circuit.circuit import Mains
from generator.notes.flow import flow, scalar
from generator.notes.library import read_library
from generator.notes.note import parse_note
from generator.notes.starter import StarterError, note_text, start_note
from generator.problems import Problem

DAY = datetime.date(2026, 3, 14)


def only_what_is_to_be_written(problems: Sequence[Problem]) -> bool:
    """Nothing but that the symptom and the text are the template's still."""
    return len(problems) == 2 and all(p.severity == "hint" and "template" in p.what for p in problems)


def test_an_empty_folder_becomes_a_library(tmp_path: Path) -> None:
    written = start_note(tmp_path, "kettle", ["transformer-supply"], DAY)
    assert written == [tmp_path / "library.yaml", tmp_path / "notes" / "kettle.md"]
    library = read_library(tmp_path)
    assert only_what_is_to_be_written(library.problems)
    (note,) = library.notes
    assert (note.device.kind, note.date, list(note.blocks)) == ("kettle", DAY, ["transformer-supply"])
    assert "{transformer-supply}" in note.body


def test_the_folder_is_made_where_there_is_none(tmp_path: Path) -> None:
    start_note(tmp_path / "a" / "b", "kettle", [], DAY)
    assert only_what_is_to_be_written(read_library(tmp_path / "a" / "b").problems)


@pytest.mark.parametrize("kind", catalogue.names())
def test_a_note_with_any_kind_of_block_builds(tmp_path: Path, kind: str) -> None:
    start_note(tmp_path, "kettle", [kind, kind], DAY)
    library = read_library(tmp_path)
    assert [str(problem) for problem in library.problems if problem.severity == "error"] == []
    assert list(library.notes[0].circuit.blocks) == [kind, f"{kind}-2"]
    again = pickle.loads(pickle.dumps(library.notes[0]))  # notes cross process borders
    for name, block in library.notes[0].circuit.blocks.items():
        assert again.circuit.blocks[name].kind is block.kind
        assert again.circuit.blocks[name].values == block.values


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    (tmp_path / "library.yaml").write_text("name: Mine\n")
    (tmp_path / "notes" / "kettle").mkdir(parents=True)
    (tmp_path / "notes" / "Kettle-2.md").write_text("mine")
    assert start_note(tmp_path, "kettle", [], DAY) == [tmp_path / "notes" / "kettle-3.md"]
    assert start_note(tmp_path, "Kettle", [], DAY) == [tmp_path / "notes" / "kettle-4.md"]
    assert (tmp_path / "library.yaml").read_text() == "name: Mine\n"
    assert (tmp_path / "notes" / "Kettle-2.md").read_text() == "mine"


def test_a_wrong_kind_of_block_is_told_and_nothing_written(tmp_path: Path) -> None:
    with pytest.raises(StarterError) as caught:
        start_note(tmp_path / "x", "kettle", ["transfomer-supply"], DAY)
    assert str(caught.value) == "transfomer-supply: no such kind of block; did you mean transformer-supply?"
    assert not (tmp_path / "x").exists()


@pytest.mark.parametrize("kind", ["", "  ", "x" * 81, "a\x1bb", "a\u202eb"])
def test_what_is_no_kind_of_device_is_told(tmp_path: Path, kind: str) -> None:
    with pytest.raises(
        StarterError,
        match="(not a|no) kind of device(; a few words, at most 80 characters| is given; what people call the thing)",
    ):
        start_note(tmp_path / "x", kind, [], DAY)
    assert not (tmp_path / "x").exists()


def test_a_linked_notes_folder_is_not_written_to(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "lib").mkdir()
    (tmp_path / "lib" / "notes").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(StarterError, match="symbolic link"):
        start_note(tmp_path / "lib", "kettle", [], DAY)
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_a_file_in_the_way_is_told(tmp_path: Path) -> None:
    (tmp_path / "lib").write_text("")
    with pytest.raises(StarterError, match="cannot be written"):
        start_note(tmp_path / "lib", "kettle", [], DAY)


@pytest.mark.parametrize(
    "kind",
    ["kettle: big", "null", "[x]", "a, b", 'say "hi"', "#1", "- x", "Wasserkocher für Tee", "{supply}"],
)
def test_any_kind_of_device_comes_back_as_it_was_given(tmp_path: Path, kind: str) -> None:
    start_note(tmp_path, kind, [], DAY)
    library = read_library(tmp_path)
    assert only_what_is_to_be_written(library.problems)
    assert library.notes[0].device.kind == kind


def test_too_many_blocks_are_told() -> None:
    with pytest.raises(StarterError, match="21 blocks; start with at most 20"):
        note_text("kettle", ["transformer-supply"] * 21, DAY)
    assert note_text("kettle", ["transformer-supply"] * 20, DAY).count("kind: transformer-supply") == 20


text = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Zl", "Zp"]), max_size=30)


@given(text)
def test_text_is_read_back_by_pyyaml_as_it_was(value: str) -> None:
    assert yaml.load(f"a: {scalar(value)}", Loader=yaml.BaseLoader) == {"a": value}
    assert yaml.load(f"a: [{scalar(value)}, {{k: {scalar(value)}}}]", Loader=yaml.BaseLoader) == {
        "a": [value, {"k": value}]
    }


def test_nested_values_are_written_on_one_line() -> None:
    entry = {"heat off": {"temperature": "38 C"}, "list": ["R1 330k", ["a", "b"]]}
    assert flow(entry) == "{heat off: {temperature: 38 C}, list: [R1 330k, [a, b]]}"
    assert flow("{trip: {output: 2 V}}") == "{trip: {output: 2 V}}"
    assert flow("D1-D4") == "D1-D4"


@pytest.mark.parametrize(
    "kinds", [[], ["transformer-supply", "dc-motor", "triac-switch", "led-indicator"], ["chain"]]
)
def test_what_is_commented_out_holds_once_the_mark_is_taken_away(tmp_path: Path, kinds: list[str]) -> None:
    """Each line that begins a key or an entry, with its # gone, is part of a sound note."""
    (path,) = start_note(tmp_path, "kettle", kinds, DAY)[1:]
    text = path.read_text(encoding="utf-8")
    filled = re.sub(r"(?m)^( *)# ((?: *- )?(?:[a-z_]+:|  +\S| *- \{))", r"\1\2", text)
    if "transformer-supply" not in kinds:  # the example of a reading is of a block that this note has not
        filled = re.sub(r"(?m)^readings:\n.*\n", "", filled)
    path.write_text(filled, encoding="utf-8")
    library = read_library(tmp_path)
    assert [str(problem) for problem in library.problems if problem.severity == "error"] == []
    (note,) = library.notes
    assert (note.device.category, note.device.plate.power, note.time) == (
        "Small kitchen item",
        "180 W",
        "90 min",
    )
    assert note.faults and note.fitted and note.proof


def test_no_two_parts_of_a_new_note_share_a_designator(tmp_path: Path) -> None:
    kinds = [
        "transformer-supply",
        "dc-motor",
        "mosfet-switch",
        "button-input",
        "offline-start",
        "mains-inlet",
    ]
    start_note(tmp_path, "kettle", kinds, DAY)
    (note,) = read_library(tmp_path).notes
    names = [
        part.designator for block in note.circuit.blocks.values() for part in block.parts if part.designator
    ]
    assert len(names) == len(set(names)) > 20


def test_the_template_is_in_the_library_s_language(tmp_path: Path) -> None:
    """Its keys stay; its words are those of the German catalogue, and are known as the template's when they are left."""
    (tmp_path / "library.yaml").write_text("name: Werkstatt\nlanguage: de\n", "utf-8")
    (path,) = start_note(tmp_path, "Wasserkocher", ["mains-inlet"], DAY)
    text = path.read_text("utf-8")
    with language.speaking("de"):
        done, went_in = language._("what was done"), language._("what went in")
    assert done != "what was done" and f"fix: {done}" in text and f"with: {went_in}" in text
    assert "outcome: unknown" in text
    text = (
        text.replace("outcome: unknown", "outcome: fixed")
        .replace("# fitted:", "fitted:")
        .replace("#   - {part", "  - {part")
    )
    with language.speaking("de"):
        problems = parse_note(text, "x", "x.md", None, Mains())[1]
    assert any(f"{went_in} is the template's" in str(problem) for problem in problems)
    assert any("the text of the template" in str(p) for p in problems)
    assert any("symptoms" not in str(p) and "write what it did" in str(p) for p in problems)
