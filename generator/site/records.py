"""A note as the search sees it: words only."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from generator.finding.record import Cause, Record
from generator.notes.note import Note


def record_of(note: Note, prose: str) -> Record:
    """The record of a note; prose is its text without markup."""
    names = part_names(note)
    causes = tuple(
        Cause(f.part, f.failed, f.because, f.found_by, f.fix, names.get(f.part, "")) for f in note.faults
    )
    return Record(
        slug=note.slug,
        title=note.title,
        date=note.date.isoformat(),
        device_kind=note.device.kind,
        category=note.device.category,
        make=note.device.make,
        model=note.device.model,
        symptoms=note.symptoms,
        signals=tuple(signal.shows for signal in note.signals),
        outcome=note.outcome,
        causes=causes,
        parts=tuple(f"{fitted.part} {fitted.with_}".strip() for fitted in note.fitted),
        part_names=tuple(dict.fromkeys(names[f.part] for f in note.faults if names.get(f.part))),
        block_kinds=tuple(sorted({block.kind.name for block in note.circuit.blocks.values()})),
        bench=note.bench,
        prose=prose,
    )


def part_names(note: Note) -> dict[str, str]:
    """Designator -> what sort of part it is: its role in its block, in words."""
    names: dict[str, str] = {}
    for block in note.circuit.blocks.values():
        for param in block.kind.params:
            given = block.inputs.get(param.name)
            for part in given if isinstance(given, (list, tuple)) else (given,):
                designator = getattr(part, "designator", "")
                if designator:
                    names.setdefault(designator, param.role or _class_name(part.part_class, param.called))
    return names


def _class_name(part_class: str, called: str) -> str:
    return called if part_class in ("any", "chip", "") else part_class


def read_records(content: Path) -> Iterator[Record]:
    """The records of a library's notes, for the search in the terminal. Notes with problems are left out."""
    from generator.notes.library import read_library

    for note in read_library(content).notes:
        yield record_of(note, note.body)
