"""The author's word against the readings: does the recorded fault fit what the meter showed?"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from generator.diagnosis import naming, words
from generator.diagnosis.judging import Fit, Judgement
from generator.language import _
from generator.notes.record import Fault

# In what words people say how a part failed -> how the blocks call it.
_SAID = {
    "open": ("open", "open circuit", "broken", "blown", "dead", "unterbrochen", "offen"),
    "short": ("short", "shorted", "short circuit", "stuck", "welded", "kurzschluss"),
    "high": ("high", "high resistance", "gone high", "drifted high"),
    "low": ("low", "lost capacitance", "dried out", "dry", "low capacitance"),
    "shorted turns": ("shorted turns", "turns shorted", "turns", "interturn short"),
    "leaky": ("leaky", "leaking", "leakage", "damp"),
    "weak": ("weak", "aged", "tired", "lost its light"),
    "high resistance": ("high resistance", "dirty", "burnt", "worn", "oxidised", "oxidized"),
}


LIKELY = 0.05  # of the best share: what is recorded and not far behind is not doubted


@dataclass(frozen=True)
class Doubt:
    """A recorded fault that the readings do not bear out, and why."""

    number: int
    part: str
    failed: str
    reason: str


def modes_said(failed: str) -> set[str]:
    """The ways of failing that a text names: "dried out" is low. A leaky part leaks, or is on its way to short, or low."""
    text = failed.casefold()
    named = {
        mode for mode, said in _SAID.items() if any(re.search(rf"\b{re.escape(word)}", text) for word in said)
    }
    return named | {"short", "low"} if "leaky" in named else named


def doubts(faults: Sequence[Fault], judgement: Judgement) -> list[Doubt]:
    """Recorded faults of parts in the circuit that fit the readings worse than something else does.

    A fault in no block, or in words that name no failure of its part, is left to the author. With several faults
    recorded, no single one has to explain everything: then each is only asked to explain something.
    """
    if not judgement.fits:
        return []
    found = []
    several = len({f.part for f in faults}) > 1
    for number, fault in enumerate(faults):
        modes = modes_said(fault.failed)
        fits = [
            f for f in judgement.fits
            if (f.change.also is None or f.change.caused) and f.change.called == fault.part and f.change.mode in modes
        ]  # fmt: skip
        if not fits:
            continue
        best = min(fits, key=lambda f: len(f.contradicts))
        if not best.contradicts or (several and best.explains):
            continue
        if best.share >= LIKELY * judgement.fits[0].share:
            continue
        found.append(Doubt(number, fault.part, fault.failed, _reason(judgement, best)))
    return found


def _reason(judgement: Judgement, recorded: Fit) -> str:
    position = recorded.contradicts[0]
    judged = judgement.fitted[position]
    unit = judged.taken.sought.unit if judged.taken.sought else "V"
    values = {
        "name": naming.name_of(recorded.change),
        "spot": naming.place_name(judged, device=judgement.device),
        "expected": naming.expected_text(unit, recorded.expected[position]),
    }
    text = _("with %(name)s, %(spot)s would read %(expected)s") % values
    better = [f for f in words.leaders(judgement.fits) if not f.sound]
    if better:
        text += "; " + _("the readings fit %(name)s better") % {"name": naming.name_of(better[0].change)}
    return text
