"""A note's text as the device that it describes, and what its readings say."""

from __future__ import annotations

from generator.circuit.device import Device
from generator.circuit.point import Mains
from generator.diagnosis.judging import Judgement, judge
from generator.diagnosis.readings import Meter
from generator.notes.note import parse_note
from generator.notes.whole import put_together
from generator.problems import ERROR


def judged_note(text: str) -> tuple[Device, Judgement]:
    """Of a note in which nothing is wrong."""
    note, problems = parse_note(text, "note", "note.md", None, Mains())
    assert note is not None and not any(problem.severity == ERROR for problem in problems), problems
    device = put_together(note.circuit, note.told)
    return device, judge(device, note.measured, Meter())
