"""A row of a collection as the search sees it."""

from __future__ import annotations

from generator.finding.record import Record
from generator.notes.collection import Row


def record_of_row(row: Row) -> Record:
    """The record of a row; it has no title, no cause and, so far, no address."""
    return Record(
        slug=row.id,
        title="",
        date=row.date,
        device_kind=device_of(row),
        category=row.category,
        make=row.brand,
        symptoms=(row.problem,) if row.problem else (),
        outcome=row.status,
        bench=row.group,
        source=row.provider,
        barrier=row.barrier,
        age=row.age,
    )


def device_of(row: Row) -> str:
    """What the thing is called: the partner's own name for it, behind its group where that is given ("Kitchen ~ Kettle")."""
    return row.partner_category.rpartition("~")[2].strip() or row.category
