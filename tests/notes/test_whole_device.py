"""Keys of a note on the device as a whole, on places to measure, and on the order of work; a problem at its place for each slip."""

from __future__ import annotations

import pytest

from generator.circuit.circuit import Mains
from generator.notes.note import Note, parse_note
from generator.problems import Problem

HEAD = """---
title: Warm air box stays cold
date: 2026-03-14
device: {kind: drying box}
symptoms: [stays cold]
outcome: fixed
blocks:
  supply: {kind: transformer-supply, secondary: 12 V, smoothing: C3 680u 25V, bleeder: R4 22k, regulation: 10 %, load: 50 mA}
  reg: {kind: linear-regulator, input: supply.trough, input_high: supply.high_mains_peak, output: 5 V, load: 20 mA}
  air: {kind: thermistor-divider, supply: reg.output_voltage, fixed: R9 10k 1%, thermistor: TH1 10k B3950 1%}
  fan: {kind: transistor-switch, drive: 5 V, base: R16 2k2, transistor: Q1 hfe100 500mA 45V, load: M1 140, load_supply: supply.mean, flyback: D6}
"""


def read(extra: str) -> tuple[Note | None, list[Problem]]:
    return parse_note(f"{HEAD}{extra}---\nText.\n", "x", "notes/x.md", None, Mains())


def told(extra: str) -> str:
    return " | ".join(f"{p.line}:{p.column} {p.severity} {p.what}; {p.hint}" for p in read(extra)[1])


WHOLE = """states:
  asleep: {}
  blowing: {on: [fan], air: 60 C}
joins: [[air.common, reg.common]]
connectors: {CN3: [reg.out, air.tap, supply.common]}
test_points: {TP5: reg.out}
readings:
  - {at: supply.ripple, read: 0.4 V, mended: 0.3 V}
  - {at: CN3 pin 2, read: 2.49 V}
  - {at: TP5, read: 4.99 V, when: blowing}
  - {at: fan.collector_voltage, read: 11.9 V, when: blowing}
  - {across: R9, read: 2.5 V}
  - {ohms: TH1, read: open}
  - {ohms: [supply.plus, supply.common], read: 3.3k}
  - {diode: D6, read: 0.55 V}
steps:
  - {do: take out the screws under the feet, with: T10, mind: one is longer}
  - {do: lift the lid}
sequence:
  - {at: 0 s, does: lamp lights}
  - {at: 2 min, does: fan starts}
tools: [T10 screwdriver, decade box]
links: ["https://example.org/sheet.pdf", {to: "https://example.org/", what: the maker's page}]
number: 42
first_check: volts at CN3 pin 2
"""


def test_every_key_is_read() -> None:
    note, problems = read(WHOLE)
    assert note is not None and [p for p in problems if p.severity == "error"] == []
    assert note.told is not None
    assert [state.name for state in note.told.states] == ["asleep", "blowing"]
    assert note.told.states[1].on == ("fan",) and note.told.states[1].sensors == {"air": 60.0}
    assert note.told.joins == (("air.common", "reg.common"),)
    assert note.told.connectors == {"CN3": ("reg.out", "air.tap", "supply.common")}
    assert note.told.test_points == {"TP5": "reg.out"}
    assert len(note.measured) == 8 and [r.at for r in note.readings] == ["supply.ripple"]
    assert note.measured[0].mended == "0.3 V" and note.measured[2].when == "blowing"
    assert (note.measured[4].across, note.measured[5].ohms, note.measured[7].diode) == (
        ("R9",),
        ("TH1",),
        ("D6",),
    )
    assert note.measured[6].ohms == ("supply.plus", "supply.common")
    assert [(s.do, s.with_, s.mind) for s in note.steps][0] == (
        "take out the screws under the feet",
        "T10",
        "one is longer",
    )
    assert [m.at for m in note.sequence] == [0.0, 120.0]
    assert note.tools == ("T10 screwdriver", "decade box")
    assert [(link.to, link.what) for link in note.links][1] == ("https://example.org/", "the maker's page")
    assert (note.number, note.first_check) == (42, "volts at CN3 pin 2")


def test_a_note_without_them_says_nothing_of_the_device() -> None:
    note, problems = read("readings:\n  - {at: supply.mean, read: 14.1 V}\n")
    assert note is not None and note.told is None and len(note.readings) == len(note.measured) == 1


@pytest.mark.parametrize(("extra", "says"), [
    ("states: {blowing: {on: [fann]}}\n", "12:25 error on: fann: no such block in this note; did you mean fan?"),
    ("states: {blowing: {air: 60 V}}\n", "60 V is a voltage"),
    ("states: {blowing: {reg: 60 C}}\n", "this block has no sensor"),
    ("states: {blowing: {onn: [fan]}}\n", "no such key of a state; did you mean on?"),
    ("states: {9x: {}}\n", "no name for a state"),
    ("joins: [air.pin]\n", "joins: a list of places that are one net is expected"),
    ("joins: [[air.pin]]\n", "two places or more"),
    ("joins: [[air.tip, reg.out]]\n", "tip"),
    ("connectors: {CN3: reg.out}\n", "a list of the places at its pins"),
    ("test_points: {TP5: [reg.out]}\n", "text is expected"),
    ("readings:\n  - {read: 3 V}\n", "at is missing"),
    ("readings:\n  - {at: supply.mean, across: R9, read: 3 V}\n", "at and across both say where"),
    ("readings:\n  - {across: R99, read: 3 V}\n", "R99: no such place"),
    ("readings:\n  - {across: [supply.plus, R9], read: 3 V}\n", "R9: not one place to put a lead"),
    ("readings:\n  - {across: [supply.plus, reg.in], read: 0 V}\n", "both are one net"),
    ("readings:\n  - {across: [supply.plus, reg.out, air.tap], read: 3 V}\n", "at most 2"),
    ("readings:\n  - {ohms: [supply.plus], read: 3k}\n", "one part or two places"),
    ("readings:\n  - {at: supply.mean, read: 3 V, when: cooking}\n", "cooking is not a state of this note"),
    ("readings:\n  - {at: supply.mean, read: 3 V, when: unplugged}\n", "ohms: reads with the plug out"),
    ("readings:\n  - {at: supply.mean, read: 14.1 V, with: relay off}\n", "hint with: relay off is a remark and decides nothing; when: names"),
    ("readings:\n  - {at: supply.mean, read: 14.1 V, with: in circuit}\n", "ohms: PART"),
    ("steps:\n  - {with: T10}\n", "do is missing"),
    ("sequence:\n  - {at: 5 s, does: beeps}\n  - {at: 1 s, does: lights}\n", "1 s comes before 5 s"),
    ("sequence:\n  - {at: soon, does: beeps}\n", "soon is not a value"),
    ("links: ['javascript:alert(1)']\n", "is not an address"),
    ("number: 4a\n", "4a is not a job number"),
    ("number: 0\n", "0 is not a job number"),
])  # fmt: skip
def test_each_slip_is_told_at_its_place(extra: str, says: str) -> None:
    assert says in told(extra)


@pytest.mark.parametrize(
    "block, lines",
    [
        ("kind: thermistor-divider\n    supply: 5 V\n    fixed: R5 10k\n    thermistor: TH1 10k B3950\n    series: R5 1k", (10, 12)),
        ("kind: divider\n    supply: 5 V\n    upper: R5 1k\n    lower: R2 1k\n    also: [R5 10k from tap to common]", (10, 12)),
        ("kind: network\n    parts:\n      - R5 1k from a to b\n      - R5 10k from b to c", (10, 11)),
    ],
)  # fmt: skip
def test_two_parts_of_one_block_with_one_designator(block: str, lines: tuple[int, int]) -> None:
    """What the meter shows of R5 would be that of one of the two: an error at both."""
    note = f"---\ntitle: x\ndate: 2026-01-01\ndevice: {{kind: box}}\nsymptoms: [dead]\nblocks:\n  it:\n    {block}\n---\nx\n"
    _, problems = parse_note(note, "note", "note.md", None, Mains())
    assert [p.line for p in problems if "R5 is" in p.what and p.severity == "error"] == list(lines), problems
