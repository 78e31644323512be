"""Which further reading would tell apart what is left."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from generator.circuit.block import Value
from generator.diagnosis.fit import PLAUSIBLE, Fit
from generator.diagnosis.likelihood import band_of
from generator.diagnosis.model import Model, Spot
from generator.diagnosis.readings import OPEN_FROM

MOST_COMPARED = 12
_AWKWARD = ("in series", "in place of", "unplugged", "taken out", "bridged", "lead", "oscilloscope")
LEAST = {
    "V": 0.02
}  # gap that is told apart with probes on a live board: contacts and hum move a meter by less; common
# practice, no source
WORTH = 0.02  # share of the doubt that a reading must remove to be worth naming


@dataclass(frozen=True)
class Next:
    """A place to measure next: the groups of hypotheses that it tells from one another, each with what it would read."""

    spot: Spot
    definition: Value
    separates: tuple[Fit, ...]
    expected: tuple[tuple[float, float] | None, ...]
    gain: float


def best_next(model: Model, fits: Sequence[Fit], read: Sequence[Spot]) -> Next | None:
    """The reading that best separates the hypotheses that are left; None where none does.

    Between readings that separate nearly alike, one that can be taken cold comes first and one on mains potential last.
    """
    left = [fit for fit in fits if fit.score >= PLAUSIBLE][:MOST_COMPARED]
    if len(left) < 2:
        return None
    spots = candidates(model, read)
    bands = {id(fit): _bands(model, fit, spots) for fit in left}
    sound = _bands(model, fits[0], spots)
    found: Next | None = None
    for spot, definition in spots.items():
        expected = [bands[id(fit)][spot] for fit in left]
        gain = _gain(left, expected, sound[spot], LEAST.get(definition.unit, 0.0)) * _ease(definition)
        if gain > WORTH and (found is None or gain > found.gain + 1e-9):
            found = Next(spot, definition, tuple(left), tuple(expected), gain)
    return found


def candidates(model: Model, read: Sequence[Spot]) -> dict[Spot, Value]:
    """Every value of the blocks in question that has not been read, and of which is known where to put the meter."""
    taken = set(read)
    return {
        spot: definition
        for name in model.relevant()
        for definition in model.circuit.blocks[name].definitions
        if definition.measurable and definition.at and (spot := Spot(name, definition.name)) not in taken
    }


def _bands(model: Model, fit: Fit, spots: dict[Spot, Value]) -> dict[Spot, tuple[float, float] | None]:
    found = model.predict(fit.hypothesis, list(spots))
    return {spot: band_of(found, spot) for spot in spots}


def _ease(definition: Value) -> float:
    """How gladly a reading is taken: cold and safe first, what is dangerous last; what cuts into a circuit or takes a watch
    after what needs two probes."""
    if definition.hazard == "mains":
        ease = 0.6
    elif definition.hazard:
        ease = 0.7
    else:
        ease = 1.0 if definition.cold or definition.unit == "ohm" else 0.85
    return ease * (
        0.93 if definition.unit == "s" or any(words in definition.at for words in _AWKWARD) else 1.0
    )


def _gain(
    left: Sequence[Fit],
    expected: Sequence[tuple[float, float] | None],
    sound: tuple[float, float] | None,
    least: float,
) -> float:
    """The share of all pairs of hypotheses, weighted by how likely both are, that the reading tells apart."""
    apart = together = 0.0
    scale = abs(sound[1]) if sound and math.isfinite(sound[1]) else 0.0
    for i, first in enumerate(left):
        for j in range(i):
            weight = first.score * left[j].score
            if separated(expected[i], expected[j], scale, least):
                apart += weight
            else:
                together += weight
    return apart / (apart + together) if apart + together else 0.0


def separated(
    a: tuple[float, float] | None, b: tuple[float, float] | None, scale: float = 0.0, least: float = 0.0
) -> bool:
    """Whether two bands cannot be taken for one another with a hand-held meter. scale: the size of the sound value; least:
    the smallest gap that shows at all, in the value's unit."""
    if a is None or b is None:
        return (a is None) != (b is None)
    if math.isinf(a[0]) or math.isinf(b[0]):
        return not (min(a[1], b[1]) >= OPEN_FROM)
    gap = max(a[0] - b[1], b[0] - a[1])
    return gap > max(0.02 * max(abs(a[1]), abs(b[1]), 0.1 * scale), least)
