"""The head of a note's page: what it does, what it was, where to measure first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from generator.circuit.block import Block
from generator.diagnosis import naming
from generator.diagnosis.first_check import FirstCheck, first_check
from generator.diagnosis.judging import Judgement
from generator.language import _, failure_name, value_name
from generator.notation.printed import format_band
from generator.notes.note import Note
from generator.pages.readingview import ReadingsView


@dataclass(frozen=True)
class CauseView:
    """One fault: what sort of part it is, where that is known, its designator, how it failed and why."""

    name: str
    part: str
    failed: str
    because: str
    known: bool


@dataclass(frozen=True)
class FirstView:
    """Where to measure first: the value and the place for the probes, what is sound, what this one read.

    words: in the author's own words, where nothing else is known.
    """

    words: str = ""
    value: str = ""
    block: str = ""
    at: str = ""
    sound: str = ""
    read: str = ""
    flag: str = ""
    sheet: int = 0
    hazard: str = ""


@dataclass(frozen=True)
class TicketView:
    """The three cells, and what else is printed on a job ticket."""

    title: str
    symptoms: tuple[str, ...]
    causes: tuple[CauseView, ...]
    first: FirstView | None
    outcome: str
    barrier: str
    kind: str
    maker: str
    year: str
    plate: tuple[tuple[str, str], ...]
    date: str
    author: str
    bench: str
    time: str
    cautions: tuple[str, ...]
    sheets: int


def ticket_view(
    note: Note,
    judgement: Judgement,
    readings: ReadingsView,
    numbers: Mapping[str, int],
    part_names: Mapping[str, str],
    cautions: tuple[str, ...],
) -> TicketView:
    """The ticket of a note. numbers: of its sheets; part_names: designator -> what sort of part it is."""
    device, plate = note.device, note.device.plate
    stated = (
        ("supply", plate.supply), ("power", plate.power), ("current", plate.current), ("frequency", plate.frequency),
        ("class", plate.protection),
    )  # fmt: skip
    causes = tuple(
        CauseView(part_names.get(f.part, ""), f.part, failure_name(f.failed), f.because, f.part in part_names)
        for f in note.faults
    )
    return TicketView(
        title=note.title,
        symptoms=note.symptoms,
        causes=causes,
        first=_first(note, judgement, readings, numbers),
        outcome=note.outcome,
        barrier=_(note.barrier),
        kind=device.kind,
        maker=f"{device.make} {device.model}".strip(),
        year=str(device.year or ""),
        plate=tuple((name, text) for name, text in stated if text),
        date=note.date.isoformat(),
        author=note.author,
        bench=note.bench,
        time=note.time,
        cautions=cautions,
        sheets=len(note.circuit.blocks),
    )


def _first(
    note: Note, judgement: Judgement, readings: ReadingsView, numbers: Mapping[str, int]
) -> FirstView | None:
    """Where to measure first: as the note says, else as the readings do, else how it was found."""
    said = note.first_check.strip()
    name, _dot, value = said.partition(".")
    block = note.circuit.blocks.get(name)
    if block is not None and value in block.values:
        return _stated(block, value, judgement, readings, numbers)
    if said:
        return FirstView(words=said)
    found = first_check(note.circuit, note.faults, judgement)
    if found is not None:
        return _view(found, readings, numbers)
    by = next((fault.found_by for fault in note.faults if fault.found_by), "")
    return FirstView(words=by) if by else None


def _stated(
    block: Block, value: str, judgement: Judgement, readings: ReadingsView, numbers: Mapping[str, int]
) -> FirstView:
    result = block.values[value]
    read = next(
        (
            j
            for j in judgement.judged
            if (j.reading.block, j.reading.value) == (block.name, value) and j.shown
        ),
        None,
    )
    return _view(FirstCheck(block.name, value, result.definition, result, read), readings, numbers)


def _view(found: FirstCheck, readings: ReadingsView, numbers: Mapping[str, int]) -> FirstView:
    place = found.read.reading.path if found.read is not None else None
    row = next((row for row in readings.rows if row.path == place), None)
    sound = found.read.expected if found.read is not None and found.read.expected else found.sound
    return FirstView(
        value=value_name(found.value) if found.value or row is None else row.value,
        block=found.block,
        at=_(found.definition.at) if found.definition else "",
        sound=format_band(sound.low, sound.high, sound.unit),
        read=row.read if row else "",
        flag=row.flag if row else "",
        sheet=numbers.get(found.block, 0),
        hazard=naming.hazard_text(found.definition.hazard) if found.definition else "",
    )
