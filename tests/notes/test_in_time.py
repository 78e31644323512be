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


def test_a_decimal_comma_in_braces_is_explained() -> None:
    assert "write a decimal point, or put the value in quotes" in told("fitted: [{part: R1, with: 4,7 k}]\n")


@pytest.mark.parametrize(("front", "says"), [
    ("readings: [{ohms: TH1, read: 5 V}]\nblocks: {a: {kind: thermistor-divider, supply: 5 V, fixed: R9 10k, thermistor: TH1 10k B3950}}\n", "5 V is a voltage"),
    ("readings: [{diode: D6, read: maybe}]\nblocks: {a: {kind: transistor-switch, drive: 5 V, base: R1 2k2, transistor: Q1 hfe100, load: RL1 400, load_supply: 12 V, flyback: D6}}\n", "maybe is no value"),
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
