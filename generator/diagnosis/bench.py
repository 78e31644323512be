"""Readings at the bench: `benchlore values KIND ... --read NAME=VALUE`."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from generator.circuit.block import Block
from generator.circuit.circuit import Circuit, hint_for_value
from generator.diagnosis import words
from generator.diagnosis.judge import Judgement, Taken, judge
from generator.diagnosis.readings import Meter
from generator.language import _
from generator.notation.quantity import format_band

SHOWN_FITS = 6
WORTH_SHOWING = 0.001  # share below which a failure is not listed


@dataclass
class Found:
    """A judgement of one block's readings, or what is wrong with them."""

    judgement: Judgement | None = None
    problems: list[str] = field(default_factory=list)

    def as_data(self) -> dict[str, Any]:
        """The contract of `--read --json`: fits, best first, health as part "" and failed "none"; next."""
        assert self.judgement is not None
        fits = []
        for fit in self.judgement.fits:
            entry: dict[str, Any] = {
                "part": fit.hypothesis.part,
                "failed": fit.hypothesis.failed,
                "score": fit.score,
                "explains": [spot.value for spot in fit.explains],
                "contradicts": [spot.value for spot in fit.contradicts],
            }
            if fit.drift:
                low, high, nominal, unit = fit.drift
                entry["drift"] = {
                    "low": low,
                    "high": high,
                    "nominal": "inf" if nominal == math.inf else nominal,
                    "unit": unit,
                }
            fits.append(entry)
        found = self.judgement.next
        further = None
        if found:
            further = {
                "at": found.spot.value,
                "separates": [
                    {"part": f.hypothesis.part, "failed": f.hypothesis.failed} for f in found.separates
                ],
            }
        return {"fits": fits, "next": further}

    def as_text(self) -> str:
        """Each reading with its verdict, what follows, and what to measure next."""
        judgement = self.judgement
        assert judgement is not None and judgement.model is not None
        lines = [_("Readings")]
        for judged in judgement.judged:
            expected = judged.expected
            assert judged.verdict is not None and expected is not None
            band = format_band(expected.low, expected.high, expected.unit)
            difference = f", {judged.verdict.difference}" if judged.verdict.difference else ""
            lines.append(
                f"  {judged.taken.value}: {judged.taken.read}, {_(judged.verdict.word)} ({_('expected')} {band}{difference})"
            )
        lines += ["", *judgement.conclusion(), ""]
        listed = [fit for fit in judgement.fits[:SHOWN_FITS] if fit.score >= WORTH_SHOWING]
        lines += [_("How likely each is, if no more than one part has failed:")] if listed else []
        for fit in listed:
            drift = words.drift_text(fit)
            lines.append(
                f"  {fit.score * 100:5.1f} %  {words.name_of(fit.hypothesis)}"
                + (f" ({drift})" if drift else "")
            )
        further = words.next_text(judgement.model, judgement.next)
        if further and judgement.next:
            lines += ["", further]
            hazard = words.hazard_text(judgement.next.definition.hazard)
            lines += [hazard] if hazard else []
        return "\n".join(lines)


def fitting(
    block: Block, readings: Mapping[str, str] | Sequence[tuple[str, str]], meter: Meter | None = None
) -> Found:
    """Judge readings (value name, what the meter showed) of one block; a value may have been read more than once."""
    pairs = list(readings.items()) if isinstance(readings, Mapping) else readings
    problems = [
        f"{block.kind.name} has no value {name}; {hint_for_value(block, name)}"
        for name, _text in pairs
        if name not in block.values
    ]
    if problems:
        return Found(problems=problems)
    circuit = Circuit({block.name: block}, [])
    taken = [Taken(block.name, name, text) for name, text in pairs]
    judgement = judge(circuit, taken, meter or Meter())
    problems = [
        f"{j.taken.value}: {j.trouble}" + (f"; {j.hint}" if j.hint else "")
        for j in judgement.judged
        if j.trouble
    ]
    return Found(judgement, problems)
