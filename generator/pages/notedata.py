"""A note as data, for note.json beside its page: plain units, plain numbers, keys and words that no language changes.

What its author wrote stands as it was written. README.md lists the keys.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from generator.circuit.block import Block
from generator.circuit.device.nets import is_inner
from generator.circuit.report import check_data, number, result_data
from generator.diagnosis.asking import Asked
from generator.diagnosis.hypotheses import Change
from generator.diagnosis.judging import Fit, Judged, Judgement
from generator.diagnosis.proof import LIMITS, judge_proof, test_name
from generator.diagnosis.spots import parts_at
from generator.notes.config import Config
from generator.notes.note import Note
from generator.notes.record import Device, Proof
from generator.pages.wholedata import Whole

FORMAT = 2  # to be raised where a key changes its meaning or goes
# ways of failing of which the size is a factor of the part's own value
FACTORS = ("high", "low", "shorted turns")
LEAST_SHARE = 0.005  # of the failures that fit the readings


def note_data(
    note: Note, judgement: Judgement, config: Config, whole: Whole, asked: Sequence[Asked]
) -> dict[str, Any]:
    """A note as plain data but for its number, which is the library's to give."""
    return {
        "format": FORMAT,
        "slug": note.slug,
        "title": note.title,
        "date": note.date.isoformat(),
        "language": config.language,
        "author": note.author,
        "bench": note.bench,
        "device": _device(note.device),
        "symptoms": list(note.symptoms),
        "outcome": note.outcome,
        "barrier": note.barrier,
        "blocks": {name: _block(block) for name, block in note.circuit.blocks.items()},
        "states": list(whole.states),
        "nets": whole.nets,
        "readings": [_reading(judged) for judged in judgement.judged],
        "fits": [fit_data(judgement, fit) for fit in judgement.fits if fit.share >= LEAST_SHARE],
        "doubted": judgement.doubted,
        "beyond": round(judgement.beyond, 4),
        "next": [own.entry for own in asked],
        "faults": [
            {"part": f.part, "failed": f.failed, "because": f.because, "found_by": f.found_by, "fix": f.fix}
            for f in note.faults
        ],
        "signals": [{"shows": s.shows, "means": s.means, "clears": s.clears} for s in note.signals],
        "fitted": [
            {
                "part": f.part,
                "with": f.with_,
                "cost": None if f.cost is None else str(f.cost),
                "currency": config.currency,
            }
            for f in note.fitted
        ],
        "time": note.time,
        "proof": [_proof(entry, note.device.plate.protection) for entry in note.proof],
    }


def note_json(data: dict[str, Any], library_number: int) -> bytes:
    """The file of a note; the same data gives the same bytes."""
    return (
        json.dumps({"number": library_number, **data}, ensure_ascii=False, sort_keys=True) + "\n"
    ).encode()


def _device(device: Device) -> dict[str, Any]:
    plate = device.plate
    return {
        "kind": device.kind, "category": device.category, "make": device.make, "model": device.model, "year": device.year or None,
        "plate": {
            "supply": plate.supply, "power": plate.power, "current": plate.current, "frequency": plate.frequency,
            "class": plate.protection,
        },
    }  # fmt: skip


def _block(block: Block) -> dict[str, Any]:
    """Values as `values --json` has them, without texts in a language."""
    return {
        "kind": block.kind.name,
        "values": {
            name: {**result_data(r), "unit": r.unit, "formula": r.formula} for name, r in block.values.items()
        },
        "checks": [{**check_data(check), "remark": check.remark} for check in block.checks],
        "sources": dict(block.sources),
    }


def fit_data(judgement: Judgement, fit: Fit) -> dict[str, Any]:
    """block, part, failed, share; size where it drifted or leaks, with its unit: ohm, "" for a factor; between for a bridge; with:
    the other one of a pair."""
    found = {**_failure(judgement, fit.change), "share": round(fit.share, 4)}
    if fit.change.also is not None:
        found["with"] = _failure(judgement, fit.change.also)
    return found


def _failure(judgement: Judgement, change: Change) -> dict[str, Any]:
    bridge = change.mode == "bridge"
    found: dict[str, Any] = {
        "block": change.block, "part": "" if bridge else change.called, "failed": change.mode,
    }  # fmt: skip
    if bridge:
        nets, device = change.element.split(" ~ "), judgement.device
        found["between"] = [parts_at(device, net) if device and is_inner(net) else net for net in nets]
    if change.size is not None and not change.sound:
        found["size"] = float(f"{change.size:.3g}")
        found["unit"] = "" if change.mode in FACTORS else "ohm"
    return found


def _reading(judged: Judged) -> dict[str, Any]:
    """shown: what the meter may have meant, with its accuracy; expected: what a meter should show in a sound device."""
    reading, found, expected = judged.reading, judged.verdict, judged.expected
    sought = judged.taken.sought
    where: dict[str, Any] = {"at": reading.at or f"{reading.block}.{reading.value}"}
    for key, places in (("across", reading.across), ("ohms", reading.ohms), ("diode", reading.diode)):
        if any(places):
            where = {key: places[0] if len(places) == 1 else list(places)}
    return {
        **where, "when": reading.when, "block": sought.place.block if sought else reading.block, "value": reading.value, "read": reading.read,
        "with": reading.condition, "note": reading.note,
        "unit": judged.shown.unit if judged.shown else "",
        "shown": {"low": number(judged.shown.low), "high": number(judged.shown.high)} if judged.shown else None,
        "expected": None if expected is None else result_data(expected),
        "verdict": found.word if found else "",
        "mended": {"read": reading.mended, "verdict": judged.mended.word if judged.mended else ""} if reading.mended else None,
    }  # fmt: skip


def _proof(entry: Proof, protection: str) -> dict[str, Any]:
    """limit: the guidance for the protection class, where there is one."""
    limit = LIMITS.get(test_name(entry.test), {}).get(protection)
    return {
        "test": entry.test, "read": entry.read, "note": entry.note, "verdict": judge_proof([entry], protection)[0].verdict,
        "limit": {"at_most" if limit.at_most else "at_least": limit.value, "unit": limit.unit} if limit else None,
    }  # fmt: skip
