"""Readings and what follows from them, as a page shows them: typed views of texts and of places on a scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from generator.circuit.block import Result
from generator.circuit.circuit import Circuit
from generator.circuit.device import Device
from generator.diagnosis import naming, words
from generator.diagnosis.asking import Asked
from generator.diagnosis.judging import Judged, Judgement
from generator.diagnosis.readings import Shown
from generator.diagnosis.recorded import Doubt
from generator.drawing.scale import Scale, scale
from generator.language import _, failure_name, value_name, verdict_name
from generator.notation.reading import in_the_unit_of
from generator.pages.typography import with_signs

SHOWN_FITS = 5
WORTH_SHOWING = 0.005
FLAGS = "①②③④⑤⑥⑦⑧⑨⑩"  # most faces have no more of them


@dataclass(frozen=True)
class ReadingView:
    """A reading: its flag, where it was taken, what it should be, what the meter showed, and the verdict. path: its place
    in the front matter; judged: False where nothing is worked out that it could be held against."""

    flag: str
    block: str
    name: str
    value: str
    at: str
    hazard: str
    expected: str
    read: str
    verdict: str
    ok: bool
    condition: str
    note: str
    scale: Scale | None
    mended: str = ""
    mended_ok: bool = True
    path: tuple[str | int, ...] = ()
    judged: bool = True


@dataclass(frozen=True)
class FitView:
    """A failure that could have shown the readings. part: its designator, "" where it has none; share: per cent."""

    name: str
    part: str
    share: int
    drift: str


@dataclass(frozen=True)
class DoubtView:
    """A recorded fault that the readings do not bear out."""

    part: str
    failed: str
    reason: str


@dataclass(frozen=True)
class ReadingsView:
    """Everything that the readings say."""

    rows: tuple[ReadingView, ...]
    conclusion: tuple[str, ...]
    fits: tuple[FitView, ...]
    tie: str
    next: str
    hazard: str
    doubts: tuple[DoubtView, ...]

    def flags_of(self, block: str) -> dict[str, str]:
        """value -> flag of what was read at a block; "" for what was read at a place that is no value of it."""
        found: dict[str, str] = {}
        for row in self.rows:
            if row.block == block and row.flag:
                found[row.name] = found.get(row.name, "") + row.flag
        return found


def judgement_view(
    judgement: Judgement, doubted: list[Doubt], circuit: Circuit, asked: Sequence[Asked]
) -> ReadingsView:
    """The readings, the conclusion in sentences, the failures that fit, the next reading, and doubts."""
    rows = tuple(_row(own, judgement.device, flag(n)) for n, own in enumerate(judgement.judged))
    doubts = tuple(DoubtView(d.part, failure_name(d.failed), d.reason) for d in doubted)
    known = {part for block in circuit.blocks.values() for part in block.designators}
    fits = tuple(
        FitView(
            naming.name_of(f.change),
            f.change.called if f.change.called in known else "",
            round(100 * f.share),
            naming.drift_text(f),
        )
        for f in judgement.fits[:SHOWN_FITS]
        if f.share >= WORTH_SHOWING
    )
    asked = asked if any(row.judged for row in rows) else ()
    hazard = naming.hazard_text(asked[0].probing.hazard) if asked else ""
    conclusion = tuple(words.conclusion(judgement))
    tie = words.tie_text(judgement, asked, judgement.device)
    return ReadingsView(rows, conclusion, fits, tie, words.next_text(asked, judgement.device), hazard, doubts)


def flag(position: int) -> str:
    """The sign of a reading, from its position in the list."""
    return FLAGS[position] if position < len(FLAGS) else f"({position + 1})"


def _row(judged: Judged, device: Device | None, flag: str) -> ReadingView:
    """A reading; what was read where nothing is worked out is shown all the same, for a reader's own judgement."""
    reading, found, expected, shown, sought = (
        judged.reading, judged.verdict, judged.expected, judged.shown, judged.taken.sought,
    )  # fmt: skip
    place = sought.place if sought is not None else None
    spot = naming.taken_at(judged, device) if device is not None else naming.place_name(judged)
    own: dict[str, Any] = {
        "flag": flag, "block": place.block if place else reading.block, "name": place.value if place else "",
        "value": value_name(place.value) if place and place.value else spot, "path": reading.path,
        "condition": ", ".join(text for text in (reading.when, reading.condition) if text),
    }  # fmt: skip
    if found is None or expected is None or shown is None:
        unknown = _("what a meter shows there is not worked out")
        return ReadingView(
            **own, at="", hazard="", expected="", read=with_signs(reading.read, sought.unit if sought else "V"),
            verdict=_("not judged"), ok=True, note="; ".join(filter(None, (unknown, reading.note))), scale=None,
            mended=reading.mended, judged=False,
        )  # fmt: skip
    definition, unit = expected.definition, expected.unit
    should = naming.expected_text(unit, (expected.low, expected.high))
    return ReadingView(
        **own, at=_(definition.at) if definition else "", hazard=naming.hazard_text(definition.hazard) if definition else "",
        expected=should, read=in_the_unit_of(with_signs(reading.read, unit), should), verdict=verdict_name(found.word), ok=found.ok,
        note=reading.note, scale=_scale(expected, shown), mended=with_signs(reading.mended, unit),
        mended_ok=judged.mended.ok if judged.mended else True,
    )  # fmt: skip


def _scale(expected: Result, shown: Shown) -> Scale | None:
    low, high = (naming.as_shown(end, expected.unit) for end in (expected.low, expected.high))
    read = {"short": 0.0, "open": math.inf}.get(shown.state, shown.middle)
    return scale(low, high, read)
