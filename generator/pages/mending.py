"""What was found, fitted and proved, as the records at the foot of a note's page have it, and what is dangerous in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from generator.diagnosis.cautions import Caution, cautions_for
from generator.diagnosis.proof import Proven, judge_proof
from generator.language import _, localized
from generator.notation.quantity import QuantityError, parse
from generator.notes.note import Note
from generator.pages.records import record_of
from generator.pages.slugs import slugify
from generator.pages.typography import with_signs


@dataclass(frozen=True)
class FaultRow:
    """A fault as the records have it. slug: of the page of what failed, "" where there is none."""

    label: str
    slug: str
    found_by: str
    fix: str


@dataclass(frozen=True)
class FittedRow:
    """A part that went in."""

    part: str
    with_: str
    cost: str
    known: bool


def fault_rows(note: Note) -> list[FaultRow]:
    """The faults as they were found and mended."""
    record = record_of(note, "")
    return [
        FaultRow(
            cause.label() or cause.failed,
            slugify(cause.part_name or cause.part) if (cause.part_name or cause.part) else "",
            cause.found_by,
            cause.fix,
        )
        for cause in record.causes
    ]


def fitted_rows(note: Note, names: Mapping[str, str], currency: str) -> list[FittedRow]:
    """The parts that went in. names: designators of the note's circuit."""
    return [FittedRow(f.part, f.with_, _money(f.cost, currency), f.part in names) for f in note.fitted]


def proof_rows(note: Note) -> list[Proven]:
    """The tests after the repair, judged by the limits for the device's class."""
    judged = judge_proof(note.proof, note.device.plate.protection)
    return [replace(p, test=_(p.test), read=with_signs(p.read, "")) for p in judged]


def cautions_of(note: Note) -> list[Caution]:
    """What its circuit, its parts and its plate say is dangerous."""
    device = note.device
    words = " ".join(
        (device.kind, device.category, *(f.part for f in note.faults), *(f.with_ for f in note.fitted))
    )
    return cautions_for(
        (b.cautions for b in note.circuit.blocks.values()), words, _volts(device.plate.supply)
    )


def _volts(text: str) -> float | None:
    try:
        return parse(text, "V").high if text else None
    except QuantityError:
        return None


def _money(cost: Decimal | None, currency: str) -> str:
    return "" if cost is None else localized(f"{cost} {currency}")
