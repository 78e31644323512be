"""A note as data, for note.json beside its page: plain units, plain numbers, keys and words that no language changes.

What its author wrote stands as it was written. README.md lists the keys.
"""

from __future__ import annotations

import json
from typing import Any

from generator.circuit.block import Block
from generator.circuit.report import number, result_data
from generator.diagnosis.judge import Judged, Judgement
from generator.diagnosis.proof import LIMITS, judge_proof, test_name
from generator.notes.config import Config
from generator.notes.note import Note
from generator.notes.record import Device, Proof
from generator.pages.wholedata import whole_data

FORMAT = 1  # to be raised where a key changes its meaning or goes
LEAST_SHARE = 0.005  # of the failures that fit the readings


def note_data(note: Note, judgement: Judgement, config: Config) -> dict[str, Any]:
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
        **whole_data(note),
        "readings": [_reading(judged) for judged in judgement.judged],
        "fits": [
            {
                "block": f.hypothesis.block,
                "part": f.hypothesis.part,
                "failed": f.hypothesis.failed,
                "share": round(f.score, 4),
            }
            for f in judgement.fits
            if f.score >= LEAST_SHARE
        ],
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
        "checks": [
            {"part": c.part, "ok": c.ok, "margin": c.margin, "remark": c.remark, "what": c.what}
            for c in block.checks
        ],
        "sources": dict(block.sources),
    }


def _reading(judged: Judged) -> dict[str, Any]:
    """shown: what the meter may have meant, with its accuracy; expected: the band of a sound circuit."""
    taken, found = judged.taken, judged.verdict
    return {
        "block": taken.block, "value": taken.value, "read": taken.read, "with": taken.condition, "note": taken.note,
        "unit": judged.shown.unit if judged.shown else "",
        "shown": {"low": number(judged.shown.low), "high": number(judged.shown.high)} if judged.shown else None,
        "expected": {"low": number(judged.expected.low), "high": number(judged.expected.high)} if judged.expected else None,
        "verdict": found.word if found else "",
    }  # fmt: skip


def _proof(entry: Proof, protection: str) -> dict[str, Any]:
    """limit: the guidance for the protection class, where there is one."""
    limit = LIMITS.get(test_name(entry.test), {}).get(protection)
    return {
        "test": entry.test, "read": entry.read, "note": entry.note, "verdict": judge_proof([entry], protection)[0].verdict,
        "limit": {"at_most" if limit.at_most else "at_least": limit.value, "unit": limit.unit} if limit else None,
    }  # fmt: skip
