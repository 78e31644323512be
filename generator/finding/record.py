"""What the search knows of a repair: plain words, taken from a note, or from a row of a collection, by
whoever holds them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any


@dataclass(frozen=True)
class Cause:
    """One fault that was found.

    part is a designator or a name as the note has it (TF1, drive belt); part_name is what sort of part
    it is (thermal fuse), where that is known. Designators differ from board to board, so causes are
    counted by the sort of part.
    """

    part: str = ""
    failed: str = ""
    because: str = ""
    found_by: str = ""
    fix: str = ""
    part_name: str = ""

    def label(self) -> str:
        """The cause in few words: "thermal fuse open". Empty where neither part nor failure is known."""
        part = " ".join((self.part_name or self.part).split())
        failed = " ".join(self.failed.split())
        if part.casefold() in failed.casefold():
            return failed
        return f"{part} {failed}".strip()


@dataclass(frozen=True)
class Record:
    """One repair, ready to be searched. date is ISO 8601 (2026-03-14); all else is text as people wrote it.

    readings: what was measured, by name. source: the collection that a row of records comes from; a row has no page of
    its own and teaches no causes. address: where it stands on the site, from the site's root, where that is not
    notes/<slug>/. origin: the library that a pooled note comes from. barrier: why it could not be mended; age of the
    device in years, cost of what went in, in currency, minutes that it took: None where that is not known.
    """

    slug: str
    title: str
    date: str = ""
    device_kind: str = ""
    category: str = ""
    make: str = ""
    model: str = ""
    symptoms: tuple[str, ...] = ()
    signals: tuple[str, ...] = ()
    outcome: str = ""
    causes: tuple[Cause, ...] = ()
    parts: tuple[str, ...] = ()
    part_names: tuple[str, ...] = ()
    block_kinds: tuple[str, ...] = ()
    bench: str = ""
    prose: str = ""
    readings: tuple[str, ...] = ()
    source: str = ""
    address: str = ""
    origin: str = ""
    barrier: str = ""
    age: float | None = None
    cost: float | None = None
    currency: str = ""
    minutes: float | None = None

    def without_prose(self) -> Record:
        """The same record for where only its facts are needed."""
        return replace(self, prose="") if self.prose else self

    def cause_labels(self) -> tuple[str, ...]:
        """Labels of the causes, first one first, without empty ones and repeats."""
        return tuple(dict.fromkeys(label for cause in self.causes if (label := cause.label())))


def record_from(data: dict[str, Any]) -> Record:
    """The record whose fields are these, lists for tuples. Raises TypeError, KeyError for anything else."""
    fields: dict[str, Any] = {
        name: tuple(value) if isinstance(value, list) else value for name, value in data.items()
    }
    fields["causes"] = tuple(Cause(**cause) for cause in data["causes"])
    return Record(**fields)
