"""What a sound device may show besides, tried with each fault too: a button that is held, what a rail lets through with the plug
out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from generator.circuit.network.primitives import Array
from generator.diagnosis.evidence import Evidence, Predictions, Readings, weigh
from generator.diagnosis.grids import widened
from generator.diagnosis.hypotheses import HEALTH, RAIL_OHMS, Change
from generator.diagnosis.predictions import Predictor
from generator.diagnosis.suspects import held_share

if TYPE_CHECKING:
    from generator.circuit.device import Device

LEAST_SHOWN = (
    1e-3  # share by which a reading differs from that of a sound device, from which a held button shows
)
DOUBTS = (
    0.5  # probability that a reading is wrong, from which what a rail lets through is tried with each fault
)
SPEAKS = 2.0  # log-likelihood by which readings speak for a held button, from which faults are looked at with it held


@dataclass(frozen=True)
class Beside:
    """Faults with one such thing. steps (faults, R): half of the distance to where its neighbours on the grid lie."""

    changes: list[Change]
    steps: Array


def along_rails(predicted: Predictions, steps: Array | None = None) -> Predictions:
    """The predictions with an axis more, along which what a rail lets through lies between two ohms of the grid; steps: how far it
    moves each, by default not at all."""
    own = np.zeros_like(predicted.mean) if steps is None else steps
    return Predictions(predicted.mean, np.concatenate([predicted.shift, own[..., None]], 2), predicted.known)


def with_held(
    device: Device, changes: Sequence[Change], evidence: Evidence, faults: Sequence[Change], count: int
) -> Beside:
    """The faults with the button held that the readings (count of them) speak for, if any: then it was held whatever has failed."""
    buttons = [row for row, own in enumerate(changes) if own.pressed[0] and own.pressed[1] not in RAIL_OHMS]
    best = max(buttons, key=lambda row: float(evidence.log[row]), default=None)
    if best is None or evidence.log[best] < evidence.log[0] + SPEAKS:
        return Beside([], np.zeros((0, count)))
    held, share = changes[best].pressed, held_share(device, changes[best])
    found = [replace(own, pressed=held, weight=own.weight * share) for own in faults]
    return Beside(found, np.zeros((len(found), count)))


def speaking_rails(
    predictor: Predictor, changes: Sequence[Change], evidence: Evidence, held: Sequence[Change], best: int
) -> list[Change]:
    """What rails may let through, where that shows in a sound device; also where the likeliest change (in row best) doubts some
    ohms."""
    cold = [n for n, own in enumerate(predictor.sought) if own.how == "ohms"]
    doubted = bool(cold) and bool((evidence.wrong[best, cold] >= DOUBTS).any())
    return [own for own in (held if doubted else changes) if own.pressed[1] in RAIL_OHMS]


def moved_by(
    predicted: Predictions, changes: Sequence[Change], faults: Sequence[Change]
) -> NDArray[np.bool_]:
    """(faults, readings): whether a fault moves a reading from what the sound device shows. changes: whose predictions these
    are, the sound device first and the faults in one row."""
    first = next((row for row, change in enumerate(changes) if not change.sound), 0)
    own = predicted.mean[first : first + len(faults)]
    found: NDArray[np.bool_] = ~np.isclose(
        own, predicted.mean[0], rtol=LEAST_SHOWN, atol=1e-6, equal_nan=True
    )
    return found


def on_rails(
    predictor: Predictor,
    rails: Sequence[Change],
    faults: Sequence[Change],
    read: Readings,
    moved: NDArray[np.bool_],
) -> Beside:
    """The faults, each with what a rail would have to let through with the plug out for its ohms to fit best. moved: by moved_by; a
    fault that moves no ohms goes with what the sound device does."""
    if not rails:
        return Beside([], np.zeros((0, len(read.value))))
    cold = [n for n, own in enumerate(predictor.sought) if own.how == "ohms"]
    differs: NDArray[np.bool_] = np.any(moved[:, cold], axis=1)
    row_of = np.where(
        differs, np.cumsum(differs), 0
    )  # of each fault among those tried, the sound device first
    tried = [HEALTH, *(own for own, apart in zip(faults, differs.tolist()) if apart)]
    ohms = Predictor(predictor.device, [predictor.sought[n] for n in cold], predictor.meter)
    told = [ohms.predict([replace(own, pressed=rail.pressed) for own in tried]) for rail in rails]
    steps = _steps(rails, np.stack([own.mean for own in told]))
    fits = [
        weigh(widened(tried, along_rails(own, each)), read.some(cold)).log for own, each in zip(told, steps)
    ]
    best = np.argmax(fits, 0)[row_of]
    chosen = [rails[n] for n in best]
    found = np.zeros((len(faults), len(read.value)))
    found[:, cold] = steps[best, row_of]
    return Beside(
        [
            replace(own, pressed=rail.pressed, weight=own.weight * rail.weight / HEALTH.weight)
            for own, rail in zip(faults, chosen)
        ],
        found,
    )


def _steps(rails: Sequence[Change], mean: Array) -> Array:
    """Half of the distance to the neighbours on each rail's grid, of means (rails, changes, readings)."""
    mean, found = np.where(np.isfinite(mean), mean, np.nan), np.zeros_like(mean)
    for name in {own.pressed[0] for own in rails}:
        rows = sorted(
            (n for n, own in enumerate(rails) if own.pressed[0] == name), key=lambda n: rails[n].size or 0.0
        )
        if len(rows) > 1:
            found[rows] = np.nan_to_num(np.asarray(np.gradient(mean[rows], axis=0))) / 2
    return found
