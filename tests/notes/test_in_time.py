"""What is told while a note is written, before it misleads anybody."""

from __future__ import annotations

from pathlib import Path

import pytest

from generator.build.build import inspect_library
from generator.circuit.circuit import Mains
from generator.notes.note import parse_note

HEAD = "---\ntitle: Kettle\ndate: 2026-01-02\ndevice: {kind: kettle, plate: {supply: 230 V, class: I}}\nsymptoms: [cold]\n"


def told(front: str, body: str = "Text.\n") -> str:
    _note, problems = parse_note(f"{HEAD}{front}---\n{body}", "x", "x.md", None, Mains())
    return " | ".join(map(str, problems))


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("repariert", "fixed"),
        ("repaired", "fixed"),
        ("Schrott", "end of life"),
        ("reparierbar", "repairable"),
    ],
)
def test_an_outcome_in_other_words(word: str, meant: str) -> None:
    assert f"did you mean {meant}?" in told(f"outcome: {word}\n")


@pytest.mark.parametrize(("failed", "says"), [
    ("opne", "did you mean open?"), ("shortt", "did you mean short?"), ("open", ""), ("swollen and torn off its tab", ""), ("gone high", ""),
    ("no continuity", "did you mean open?"), ("went up in smoke", "did you mean burnt?"), ("kaputt", "did you mean broken?"),
    ("unterbrochen", "did you mean open?"), ("whimsical", "such as open, short, high, low, leaky, intermittent"), ("worn to the rivets", ""),
])  # fmt: skip
def test_words_of_a_fault_that_count(failed: str, says: str) -> None:
    text = told(f"faults: [{{failed: {failed}}}]\n")
    assert says in text if says else text == ""


def test_words_of_the_template_that_are_left() -> None:
    text = told(
        "faults:\n  - {part: F1, failed: open, because: why it went}\n",
        "Fine.\n\nSay here what you saw, measured and did, in order.\n",
    )
    assert (
        "x.md:7:39: warning: because: why it went is the template's" in text
        and "x.md:11:1: warning: the text of the template" in text
    )


@pytest.mark.parametrize("front", [
    "fitted: [{part: R1, with: 4,7 k}]\n",
    "blocks: {led: {kind: led-indicator, supply: 5 V, resistor: R1 2,2k, forward: red}}\n",
    "blocks: {d: {kind: divider, supply: 3,3 V, upper: 1k, lower: 1k}}\n",
])  # fmt: skip
def test_a_decimal_comma_in_braces_is_explained(front: str) -> None:
    assert "write a decimal point, or put the value in quotes" in told(front)


START = "blocks: {s: {kind: offline-start, start_resistors: [%s], capacitor: C1 22u, start_voltage: 16 V}}\n"


def test_a_decimal_comma_in_a_list_is_told() -> None:
    assert "warning: R1 4,7k: the comma makes two entries of this; write a decimal point" in told(
        START % "R1 4,7k, R2 330k"
    )
    for sound in ("R1 4.7k, R2 330k", "R1 330k,R2 330k", "R1 150k,150k"):
        assert "makes two entries" not in told(START % sound)


@pytest.mark.parametrize(("written", "read"), [
    ("“Kettle, cold”", "Kettle, cold"), ("„Kessel“", "Kessel"), ("«bouilloire»", "bouilloire"), ("‘kettle’", "kettle"),
])  # fmt: skip
def test_curly_quotes_around_a_whole_value_are_taken_off(written: str, read: str) -> None:
    note, problems = parse_note(
        f"{HEAD.replace('Kettle', written, 1)}---\nText.\n", "x", "x.md", None, Mains()
    )
    assert note is not None and note.title == read
    (told_so,) = problems
    assert str(told_so) == (
        f"x.md:2:8: hint: {written}: these quotes are not part of the value and were taken off; straight quotes, \" or ', or none"
    )


@pytest.mark.parametrize("written", ["“Dead” lamp", "“a” and “b”", "the owner’s “pet”"])
def test_curly_quotes_inside_a_value_stay(written: str) -> None:
    note, problems = parse_note(
        f"{HEAD.replace('Kettle', written, 1)}---\nText.\n", "x", "x.md", None, Mains()
    )
    assert note is not None and note.title == written and not problems


def test_a_value_of_a_block_in_curly_quotes_is_read() -> None:
    found = told("blocks: {d: {kind: divider, supply: “5 V”, upper: “R1 1k”, lower: 1k}}\n")
    assert found.count("were taken off") == 2 and found.count("x.md") == 2


@pytest.mark.parametrize(("front", "says"), [
    ("readings: [{ohms: TH1, read: 5 V}]\nblocks: {a: {kind: thermistor-divider, supply: 5 V, fixed: R9 10k, thermistor: TH1 10k B3950}}\n", "5 V is a voltage"),
    ("readings: [{diode: D6, read: maybe}]\nblocks: {a: {kind: transistor-switch, drive: 5 V, base: R1 2k2, transistor: Q1 hfe100, load: RL1 400, load_supply: 12 V, flyback: D6}}\n", "maybe is not a value"),
])  # fmt: skip
def test_a_reading_in_another_unit(front: str, says: str) -> None:
    assert says in told(front)


def library(folder: Path, outcome: str, proof: str) -> list[str]:
    (folder / "notes").mkdir(parents=True)
    (folder / "library.yaml").write_text("name: x\n", "utf-8")
    (folder / "notes" / "kettle.md").write_text(
        f"{HEAD}outcome: {outcome}\nproof:\n  - {proof}\n---\nText.\n", "utf-8"
    )
    return [str(problem) for problem in inspect_library(folder)[0]]


def test_a_failed_safety_test_and_fixed_do_not_go_together(tmp_path: Path) -> None:
    """EN 50678: earth continuity of class I at most 0.3 Ω (from memory); 5 Ω fails."""
    wrong = library(tmp_path / "a", "fixed", "{test: earth continuity, read: 5 ohm}")
    assert any(
        "does not hold" in text and "the outcome is fixed" in text and "warning" not in text for text in wrong
    ), wrong
    assert not any(
        "the outcome is fixed" in text
        for text in library(tmp_path / "b", "repairable", "{test: earth continuity, read: 5 ohm}")
    )
    assert not any(
        "the outcome is fixed" in text
        for text in library(tmp_path / "c", "fixed", "{test: earth continuity, read: 0.1 ohm}")
    )


@pytest.mark.parametrize(("plate", "proof", "severity"), [
    ("class: II", "{test: insulation, read: 0.1 Mohm}", "error"),
    ("supply: 230 V", "{test: insulation, read: 0.1 Mohm}", "error"),  # below the limit of every class
    ("class: I", "{test: earth continuity, read: failed}", "error"),
    ("class: I", "{test: polarity, read: not ok}", "error"),
    ("class: II", "{test: function, read: failed after an hour}", "warning"),
    ("class: II", "{test: noise, read: does not hold}", "warning"),
    ("class: II", "{test: function, read: ran 3 h and cut out at 38 C}", ""),
    ("class: II", "{test: function, read: trips at 60 C as it should}", ""),
    ("supply: 230 V", "{test: insulation, read: 1.5 Mohm}", ""),  # enough for class I and III
])  # fmt: skip
def test_a_test_that_was_not_passed_and_fixed(tmp_path: Path, plate: str, proof: str, severity: str) -> None:
    """EN 50678, from memory: insulation at least 1 MΩ in class I, 2 MΩ in class II, 0.25 MΩ in class III."""
    (tmp_path / "notes").mkdir()
    (tmp_path / "library.yaml").write_text("name: x\n", "utf-8")
    head = HEAD.replace("class: I", plate).replace("supply: 230 V, supply: 230 V", "supply: 230 V")
    (tmp_path / "notes" / "kettle.md").write_text(
        f"{head}outcome: fixed\nproof: [{proof}]\n---\nText.\n", "utf-8"
    )
    found = [p.severity for p in inspect_library(tmp_path)[0] if "the outcome is fixed" in p.what]
    assert found == ([severity] if severity else [])


def test_two_notes_of_one_title(tmp_path: Path) -> None:
    (tmp_path / "notes").mkdir()
    (tmp_path / "library.yaml").write_text("name: x\n", "utf-8")
    for name, title in (("a", "Kettle  stays cold"), ("b", "kettle stays cold"), ("c", "Kettle stays warm")):
        text = HEAD.replace("title: Kettle", f"title: {title}") + "outcome: fixed\n---\nText.\n"
        (tmp_path / "notes" / f"{name}.md").write_text(text, "utf-8")
    (told_so,) = [p for p in inspect_library(tmp_path)[0] if p.what.startswith("title:")]
    assert (Path(told_so.file).name, told_so.line, told_so.severity) == ("b.md", 2, "warning")
    assert told_so.what.endswith("a.md") and "also that of" in told_so.what
