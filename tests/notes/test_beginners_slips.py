"""What people write who have never seen a note before: each slip has its place, and the nearest right thing beside it."""

from __future__ import annotations

import pytest

from generator.circuit.circuit import Mains
from generator.notes.note import parse_note
from generator.notes.text import UnusableFile, decode

NOTE = """\
---
title: Kiln controller dead
date: 2026-11-20
device: {kind: kiln controller}
symptoms: [dead]
outcome: fixed
time: 70 min
blocks:
  supply:
    kind: transformer-supply
    secondary: 15 V
    smoothing: C1 2200u 35V
    load: 300 mA
  pedal:
    kind: divider
    supply: supply.mean
    upper: R3 2k2
    lower: R4 10k
readings:
  - {at: supply.mean, read: 19 V}
---

It was dead.
"""


def told(*changes: tuple[str, str]) -> list[str]:
    """Every problem of the note with these texts changed, the file's name left out."""
    text = NOTE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return [str(problem).removeprefix("n.md:") for problem in parse_note(text, "n", "n.md", None, Mains())[1]]


def test_the_note_itself_is_sound() -> None:
    assert told() == []


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("20.11.2026", "2026-11-20"), ("11/20/2026", "2026-11-20"), ("2026/11/20", "2026-11-20"), ("2026-11-3", "2026-11-03"),
        ("20 November 2026", "2026-11-20"), ("3rd Nov. 2026", "2026-11-03"), ("2026-02-30", "2026-03-14"), ("yesterday", "2026-03-14"),
    ],
)  # fmt: skip
def test_a_date_written_otherwise(written: str, meant: str) -> None:
    assert told(("2026-11-20", written)) == [
        f"3:7: date: {written} is not a date; year-month-day, such as {meant}"
    ]


@pytest.mark.parametrize(
    ("written", "meant"),
    [("1:10", "1 h 10 min"), ("1h10", "1 h 10 min"), ("70", "70 min"), ("long", "90 min")],
)
def test_a_time_written_otherwise(written: str, meant: str) -> None:
    assert told(("70 min", written)) == [
        f"7:7: time: {written} is not a time; a number and min, h or days, such as {meant}"
    ]


def test_every_wrong_name_of_one_block_is_told_at_once() -> None:
    found = told(("supply: supply.mean\n", "supply: suply.mean\n    load: supply.men\n    uper: R9 1k\n"))
    assert "16:5: suply.mean: no block suply; did you mean supply?" in found
    assert "17:5: supply.men: transformer-supply supply has no value men; did you mean mean?" in found
    assert "18:5: uper: no such parameter of divider; did you mean upper?" in found


def test_a_value_of_another_quantity_beside_a_wrong_name() -> None:
    found = told(("supply: supply.mean\n", "supply: supply.ripple_frequency\n    load: supply.men\n"))
    assert "16:5: divider supply: supply.ripple_frequency is a frequency; a voltage is expected" in found
    assert len(found) == 2


def test_a_block_s_name_alone_joins_it() -> None:
    assert told(("supply: supply.mean", "supply: supply")) == []


def test_braces_as_in_prose_are_taken_for_the_name() -> None:
    assert told(("supply: supply.mean", "supply: {supply.mean}")) == []


def test_a_value_that_needs_more_to_be_stated_says_what_is_not() -> None:
    found = told(("    load: 300 mA\n", ""))
    told_so, _, missing = found[0].partition("; not stated yet: ")
    assert told_so == (
        "15:5: supply.mean: transformer-supply supply has no value mean; it needs more to be stated"
    )
    assert {"rated_current", "bleeder", "load"} <= set(missing.split(", ")) and "smoothing" not in missing
    assert len(found) == 1  # the meter has a place there all the same


def test_blocks_that_are_not_indented_below_their_names() -> None:
    found = told(
        (
            "    kind: divider\n    supply: supply.mean\n    upper: R3 2k2\n",
            "  kind: divider\n  upper: R3 2k2\n",
        ),
        ("    lower", "  lower"),
    )
    assert "14:3: pedal: the block is empty; indent its kind and parameters further than its name" in found
    assert (
        "15:3: kind is not a block; indent it below the name of its block; a block has kind: and its parameters"
        in found
    )


@pytest.mark.parametrize(
    ("written", "meant"),
    [("Voltage divider", "divider"), ("voltage_divider", "divider"), ("devider", "divider")],
)
def test_a_kind_by_its_title(written: str, meant: str) -> None:
    assert told(("kind: divider", f"kind: {written}")) == [
        f"15:5: {written}: no such kind of block; did you mean {meant}?"
    ]


def test_a_load_without_a_unit_is_remarked_upon() -> None:
    (found,) = [line for line in told(("300 mA", "300")) if "taken" in line]
    assert (
        found
        == "13:5: warning: transformer-supply load: 300 is taken as 300 ohm; write 300 ohm, or A or mA for a current"
    )
    assert told(("300 mA", "0")) == []


def test_mega_for_milli() -> None:
    (found,) = told(
        ("300 mA", "300 MA"), ("supply: supply.mean", "supply: 12 V"), ("at: supply.mean", "at: pedal.output")
    )
    assert found.endswith("M is mega; did you mean 300 mA?") and found.startswith("13:5: ")


def test_one_designator_on_two_parts() -> None:
    hint = "; a designator names one part; two in one case are R4A and R4B"
    assert told(("R3 2k2", "R4 2k2")) == [  # the meter across R4 would be across one of the two
        "17:5: divider upper: R4 is 10k at lower, too" + hint,
        "18:5: divider lower: R4 is 2k2 at upper, too" + hint,
    ]
    (found,) = told(
        ("R3 2k2", "C1 2k2"),
        ("R4 10k", "R1 10k"),
        ("    load: 300 mA\n", "    load: 300 mA\n    bleeder: R1 4k7\n"),
    )
    assert found == "19:5: warning: R1 is 10 kΩ here and 4.7 kΩ in supply; a designator stands for one part"


def test_a_dividing_line_among_the_keys() -> None:
    assert told(("blocks:", "---\nblocks:")) == [
        "9:1: blocks: this key comes after the end of the front matter; delete the --- on line 8"
    ]
    assert told(("It was dead.", "time: it was dead.")) == []


def test_dashes_and_quotes() -> None:
    assert told(("---", "----")) == ["1:1: 4 dashes begin no front matter; three are enough: ---"]
    (found,) = told(("title: Kiln controller dead", "title: 'Potter's kiln'"))
    assert (
        found
        == "2:16: text after the closing '; an apostrophe inside '...' is written twice; use double quotes around the value"
    )
    found_late = told(("title: Kiln", 'title: "Kiln'), ("R3 2k2", 'R3 2k2 "blue" one'))
    assert found_late == [
        "2:8: the quotation mark opened here is closed only on line 17; close it where the value ends"
    ]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_two_bytes_a_character(encoding: str) -> None:
    with pytest.raises(UnusableFile, match="UTF-16"):
        decode(NOTE.encode(encoding))


def test_names_of_values_of_a_block_that_is_wrong_itself_are_held_against_its_kind() -> None:
    found = told(("smoothing:", "smothing:"), ("at: supply.mean", "at: supply.meen"))
    assert "20:10: at: supply.meen: supply has no value meen; did you mean mean?" in found
    assert not any("supply.mean" in line for line in told(("smoothing:", "smothing:")))


def test_a_reading_at_a_terminal_is_held_against_the_terminals_of_its_kind() -> None:
    (found,) = told(("at: supply.mean", "at: supply.pluss"))
    assert found.endswith(
        "at: supply.pluss: transformer-supply supply has no value pluss; did you mean plus?"
    )
    broken = told(("smoothing:", "smothing:"), ("at: supply.mean", "at: supply.pluss"))
    assert any("supply has no value pluss; did you mean plus?" in line for line in broken)
    assert not any(
        "supply.plus" in line
        for line in told(("smoothing:", "smothing:"), ("at: supply.mean", "at: supply.plus"))
    )
