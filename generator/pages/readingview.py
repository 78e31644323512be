"""Readings and what follows from them, as a page shows them: texts only."""

from __future__ import annotations

import re
from typing import Any

from generator.circuit.circuit import Circuit
from generator.diagnosis import words
from generator.diagnosis.judge import Judged, Judgement
from generator.diagnosis.recorded import Doubt
from generator.language import _, failure_name, value_name, verdict_name
from generator.notation.quantity import format_band
from generator.pages.typography import with_signs

SHOWN_FITS = 5
WORTH_SHOWING = 0.005
_NOTHING = re.compile(r"[+−]?0(?![.,\d])")  # off by 0 V: the verdict has said so


def judgement_view(judgement: Judgement, doubted: list[Doubt], circuit: Circuit) -> dict[str, Any]:
    """The table of readings, the conclusion in sentences, the failures that fit, the next reading, and doubts."""
    model = judgement.model
    view: dict[str, Any] = {
        "rows": [_row(judged, circuit) for judged in judgement.judged if judged.shown],
        "conclusion": [],
        "fits": [],
        "next": "",
        "hazard": "",
        "doubts": [{"part": d.part, "failed": failure_name(d.failed), "reason": d.reason} for d in doubted],
    }
    if model is None:
        return view
    view["conclusion"] = judgement.conclusion()
    view["fits"] = [
        {
            "name": words.name_of(f.hypothesis),
            "part": _(f.hypothesis.part),
            "share": round(100 * f.score),
            "drift": words.drift_text(f),
        }
        for f in judgement.fits[:SHOWN_FITS]
        if f.score >= WORTH_SHOWING
    ]
    view["next"] = words.next_text(model, judgement.next)
    if judgement.next:
        view["hazard"] = words.hazard_text(judgement.next.definition.hazard)
    return view


def _row(judged: Judged, circuit: Circuit) -> dict[str, str]:
    taken, found = judged.taken, judged.verdict
    assert found is not None
    expected = judged.expected  # with the meter's own load on the circuit
    assert expected is not None
    definition = expected.definition
    return {
        "block": taken.block,
        "value": value_name(taken.value),
        "at": _(definition.at) if definition else "",
        "hazard": words.hazard_text(definition.hazard) if definition else "",
        "expected": format_band(expected.low, expected.high, expected.unit),
        "read": with_signs(taken.read, expected.unit),
        "verdict": verdict_name(found.word),
        "ok": "yes" if found.ok else "",
        "difference": "" if _NOTHING.match(found.difference) else found.difference,
        "with": taken.condition,
        "note": taken.note,
    }
