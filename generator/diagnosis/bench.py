"""Readings at the bench: `benchlore values KIND ... --read NAME=VALUE`."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from generator.circuit.block import Block
from generator.circuit.circuit import Circuit, hint_for_value
from generator.circuit.device import assemble
from generator.diagnosis import naming, words
from generator.diagnosis.asking import Asked, next_readings
from generator.diagnosis.judging import Judgement, judge
from generator.diagnosis.readings import Meter
from generator.language import _
from generator.notation.printed import format_band
from generator.notes.reading import Reading
from generator.notes.text import shown

SHOWN_FITS = 6
WORTH_SHOWING = 0.001  # share below which a failure is not listed


@dataclass
class Found:
    """A judgement of one block's readings, or what is wrong with them."""

    judgement: Judgement | None = None
    problems: list[str] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)

    def as_data(self) -> dict[str, Any]:
        """The contract of `--read --json`: fits, best first, health as part "" and failed "none"; next."""
        assert self.judgement is not None
        judgement = self.judgement
        names = [judged.reading.value for judged in judgement.fitted]
        fits = []
        for fit in judgement.fits:
            entry: dict[str, Any] = {
                "part": fit.change.called,
                "failed": fit.change.mode,
                "score": fit.share,
                "explains": [names[n] for n in fit.explains],
                "contradicts": [names[n] for n in fit.contradicts],
            }
            if fit.change.also is not None:
                entry["with"] = {"part": fit.change.also.called, "failed": fit.change.also.mode}
            if fit.doubted:
                entry["doubted"] = [names[n] for n in fit.doubted]
            if fit.reach:
                low, high, nominal, unit = fit.reach
                entry["drift"] = {
                    "low": low,
                    "high": high,
                    "nominal": "inf" if nominal == math.inf else nominal,
                    "unit": unit,
                }
            fits.append(entry)
        return {"fits": fits, "next": [own.entry for own in self.asked]}

    def as_text(self) -> str:
        """Each reading with its verdict, what follows, and what to measure next."""
        judgement = self.judgement
        assert judgement is not None
        lines = [_("Readings")]
        for judged in judgement.judged:
            expected = judged.expected
            assert judged.verdict is not None and expected is not None
            band = format_band(expected.low, expected.high, expected.unit)
            difference = f", {judged.verdict.difference}" if judged.verdict.difference else ""
            name, word = f"{judged.reading.value}: {judged.reading.read}", _(judged.verdict.word)
            lines.append(f"  {name}, {word} ({_('expected')} {band}{difference})")
        lines += ["", *words.conclusion(judgement), ""]
        listed = [fit for fit in judgement.fits[:SHOWN_FITS] if fit.share >= WORTH_SHOWING]
        lines += [_("How likely each is:")] if listed else []
        for fit in listed:
            drift, sound = naming.drift_text(fit), fit.sound and bool(words.unexplained(fit))
            name = _("none of these") if sound else naming.name_of(fit.change)
            lines.append(f"  {fit.share * 100:5.1f} %  {name}" + (f" ({drift})" if drift else ""))
        further = words.next_text(self.asked, judgement.device)
        if further:
            hazard = naming.hazard_text(self.asked[0].probing.hazard)
            lines += ["", further, *([hazard] if hazard else [])]
        return "\n".join(lines)


def fitting(
    block: Block, readings: Mapping[str, str] | Sequence[tuple[str, str]], meter: Meter | None = None
) -> Found:
    """Judge readings (value name, what the meter showed) of one block; a value may have been read more than once."""
    pairs = list(readings.items()) if isinstance(readings, Mapping) else readings
    problems = [
        f"{block.kind.name} has no value {shown(name, 40)}; {hint_for_value(block, name)}"
        for name, _text in pairs
        if name not in block.values
    ]
    if problems:
        return Found(problems=problems)
    device = assemble(Circuit({block.name: block}, []))
    taken = [Reading(block.name, name, text, at=f"{block.name}.{name}") for name, text in pairs]
    judgement = judge(device, taken, meter or Meter())
    problems = [
        f"{j.reading.value}: {j.taken.trouble}" + (f"; {j.taken.hint}" if j.taken.hint else "")
        for j in judgement.judged
        if j.taken.trouble
    ]
    asked = [] if problems else next_readings(judgement, device, meter or Meter())
    return Found(judgement, [*problems, *([judgement.trouble] if judgement.trouble else [])], asked)
