"""Which of the readings of a note says the most: where the next one with this symptom should put the probes first."""

from __future__ import annotations

import math
from dataclasses import dataclass

from generator.circuit.block import Result, Value
from generator.circuit.circuit import Circuit
from generator.diagnosis.judging import Judged, Judgement
from generator.diagnosis.readings import OPEN_FROM
from generator.diagnosis.recorded import modes_said
from generator.notes.record import Fault

# gap that probes on a live board can tell: contacts and hum move a meter by less; common practice, no source
LEAST = {"V": 0.02}


@dataclass(frozen=True)
class FirstCheck:
    """A place to measure first. read: what the meter showed there, where it was read; sound: what it should be."""

    block: str
    value: str
    definition: Value | None
    sound: Result
    read: Judged | None


def first_check(circuit: Circuit, faults: tuple[Fault, ...], judgement: Judgement) -> FirstCheck | None:
    """The reading that was off and that tells the fault from most other failures; without readings, the value of the
    failed part's block that does so. None where nothing that failed is in a block and nothing was read off."""
    return _among_readings(judgement) or _by_failure(circuit, faults)


def _among_readings(judgement: Judgement) -> FirstCheck | None:
    off = [
        j for j in judgement.judged if j.verdict is not None and not j.verdict.ok and j.expected is not None
    ]
    if not off:
        return None
    best = max(off, key=lambda judged: _tells(judgement, judged))
    assert best.expected is not None and best.taken.sought is not None
    place = best.taken.sought.place
    return FirstCheck(place.block, place.value, best.expected.definition, best.expected, best)


def _tells(judgement: Judgement, judged: Judged) -> float:
    """The share of all failures that a reading rules out; a little more where the circuit need not be live."""
    definition = judged.expected.definition if judged.expected else None
    cold = judged.taken.sought is not None and judged.taken.sought.how in ("ohms", "diode")
    ease = 0.02 if cold or definition is None or not definition.hazard else 0.0
    fits = [fit for fit in judgement.fits if not fit.sound and fit.change.also is None]
    if not fits:
        return ease
    position = judgement.fitted.index(judged)
    return sum(position in fit.contradicts for fit in fits) / len(fits) + ease


def _by_failure(circuit: Circuit, faults: tuple[Fault, ...]) -> FirstCheck | None:
    for fault in faults:
        for name, block in circuit.blocks.items():
            failures = block.nominal_failures
            own = [f for f in failures if f.part == fault.part and f.failed in modes_said(fault.failed)]
            if not own:
                continue
            spots = [d for d in block.definitions if d.measurable and d.name in block.values]

            def told(definition: Value) -> tuple[int, int]:
                sound, failed = block.values.get(definition.name), own[0].values.get(definition.name)
                from_sound = _apart(failed, sound, sound, definition.unit)
                others = [f.values.get(definition.name) for f in failures if f is not own[0]]
                apart = sum(_apart(failed, other, sound, definition.unit) for other in others)
                return (int(from_sound) * (1 + apart), int(not definition.hazard))

            if spots and (best := max(spots, key=told)) and told(best)[0]:
                return FirstCheck(name, best.name, best, block.values[best.name], None)
    return None


def _apart(a: Result | None, b: Result | None, sound: Result | None, unit: str) -> bool:
    """Whether a meter would tell two values apart."""
    pairs = [None if r is None else _band(r, sound) for r in (a, b)]
    return separated(pairs[0], pairs[1], abs(sound.high) if sound else 0.0, LEAST.get(unit, 0.0))


def _band(result: Result, sound: Result | None) -> tuple[float, float]:
    """What a failed block may show: it scatters as the sound one does, in proportion."""
    if sound is None or not sound.value or result.value is None or not math.isfinite(result.value):
        return result.low, result.high
    share = abs(result.value / sound.value)
    low, high = (
        share * abs(end - sound.value) if math.isfinite(end) else 0.0 for end in (sound.low, sound.high)
    )
    return min(result.low, result.value - low), max(result.high, result.value + high)


def separated(
    a: tuple[float, float] | None, b: tuple[float, float] | None, scale: float, least: float
) -> bool:
    """Whether two bands cannot be taken for one another with a hand-held meter. scale: the size of the sound value; least:
    the smallest gap that shows at all, in the value's unit."""
    if a is None or b is None:
        return (a is None) != (b is None)
    if math.isinf(a[0]) or math.isinf(b[0]):
        return not (min(a[1], b[1]) >= OPEN_FROM)
    gap = max(a[0] - b[1], b[0] - a[1])
    return gap > max(0.02 * max(abs(a[1]), abs(b[1]), 0.1 * scale), least)
