"""Which failures explain a device's readings: every change weighed by the same likelihood, sizes summed up, best first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.network.primitives import Array
from generator.diagnosis.consequences import consequences, spared
from generator.diagnosis.evidence import TRAPEZOID, UNSURE, Evidence, Predictions, Readings, weigh
from generator.diagnosis.faces import LEAST_SHOWN, along_rails, moved_by, on_rails, speaking_rails, with_held
from generator.diagnosis.grids import grid_of, widened
from generator.diagnosis.hypotheses import HEALTH, Change, between, sizes_of
from generator.diagnosis.predictions import Predictor, Sought
from generator.diagnosis.suspects import HELD_SHARE, held_buttons, one_of_a_bridge, suspects

if TYPE_CHECKING:
    from generator.circuit.device import Device

REFINED = 12  # failures with a size that are looked at more closely
STEPS = 7  # sizes in place of each step of a grid then
WORTH_REFINING = 1e-3  # of the best
# log-likelihood of each reading under what is no single failure; tuned on whole devices
SOMETHING_ELSE = -9.0


@dataclass(frozen=True)
class Weighed:
    """A failure, all its sizes together. share: of all that may be wrong; likelihood: log, without its weight beforehand.

    change: its likeliest size; reach: from which to which size it fits, None where it has no size. wrong (R): how likely
    each reading is simply wrong under it; mean and spread (R): what it predicts; off (R): standard deviations; distance: of all readings together, squared.
    """

    change: Change
    share: float
    likelihood: float
    weight: float
    reach: tuple[float, float] | None
    wrong: Array
    mean: Array
    spread: Array
    off: Array
    distance: float

    @property
    def holds(self) -> bool:
        """Whether the readings lie about it as they should: within two standard deviations of what is to be expected of
        a sum of so many squares (chi-squared: mean R, variance 2 R)."""
        count = len(self.off)
        return self.distance <= count + 2 * math.sqrt(2 * count)


@dataclass(frozen=True)
class Ranking:
    """The failures that fit, best first, health among them; beyond: the share of what no single failure explains.

    scale: log of what all shares add up to; mean, reach (R): what the sound device shows, and by how much at worst it differs;
    changes, predicted: every size on its grid that was held against the readings.
    """

    weighed: list[Weighed]
    beyond: float
    predictor: Predictor
    scale: float
    mean: Array
    reach: Array
    changes: list[Change]
    predicted: Predictions

    def sound_band(self, position: int) -> tuple[float, float, float]:
        """(low, nominal, high) of a reading in the sound device, worst case."""
        middle, reach = float(self.mean[position]), float(self.reach[position])
        if math.isinf(middle):
            return middle, middle, middle
        return middle - reach, float(self.predictor.nominal[position]), middle + reach

    def faces(self, position: int) -> list[float]:
        """What the sound device shows there besides, with what turns at a sensor or what a rail lets through; no held button."""
        rows = [
            row
            for row, own in enumerate(self.changes)
            if own.sound and own.pressed[0] and own.weight > HEALTH.weight * HELD_SHARE
        ]
        return [value for value in self.predicted.mean[rows, position].tolist() if math.isfinite(value)]


def rank(device: Device, sought: Sequence[Sought], read: Readings, *, meter: float = 10e6) -> Ranking:
    """Health and every single failure of the device held against readings (R of them, taken at sought)."""
    predictor = Predictor(device, sought, meter)
    cold = [(own.place.plus, own.place.minus) for own in sought if own.how in ("ohms", "diode")]
    faults = [*suspects(device), *one_of_a_bridge(device, cold)]
    held = held_buttons(device)
    caused = consequences(device, faults)
    faults = spared(faults, caused)
    changes = [HEALTH, *held, *faults, *caused]
    own = predictor.predict(changes)
    seen = [row for row, change in enumerate(changes) if not change.pressed[0] or _shows(own, row)]
    changes, own = [changes[row] for row in seen], own.some(seen)
    predicted = unsure(predictor, widened(changes, along_rails(own)))
    evidence = weigh(predicted, read)
    rails = speaking_rails(predictor, changes, evidence, held, int(np.argmax(_posterior(changes, evidence))))
    for beside in (
        with_held(device, changes, evidence, faults, len(sought)),
        on_rails(predictor, rails, faults, read, moved_by(own, changes, faults)),
    ):
        if not beside.changes:
            continue
        also = along_rails(predictor.predict(beside.changes), beside.steps)
        more = unsure(predictor, widened(beside.changes, also))
        changes, predicted = changes + beside.changes, predicted.beside(more)
        evidence = evidence.beside(weigh(more, read))
    finer = _refined(predictor, changes, predicted, evidence, read)
    weighed, beyond, scale = _shared(*finer, len(sought))
    return Ranking(weighed, beyond, predictor, scale, predicted.mean[0], predictor.reach, changes, predicted)


def _shows(predicted: Predictions, row: int) -> bool:
    """Whether a change makes any difference to what the sound device, in the first row, shows: else it is that once more."""
    sound, own = predicted.mean[[0, row]]
    return not np.allclose(own, sound, rtol=LEAST_SHOWN, atol=1e-6, equal_nan=True)


def unsure(predictor: Predictor, predicted: Predictions) -> Predictions:
    """The predictions with an axis of its own at every place: the further a failure moves a reading, the less it is known."""
    sound = np.where(np.isfinite(predictor.sound), predictor.sound, np.nan)
    mean = np.where(np.isfinite(predicted.mean), predicted.mean, np.nan)
    moved = UNSURE * np.minimum(np.abs(mean - sound), np.abs(mean))  # what is gone is gone
    count = predicted.mean.shape[1]
    own = np.where(np.isfinite(moved), moved, 0.0)[:, :, None] * np.eye(count)
    return Predictions(predicted.mean, np.concatenate([predicted.shift, own], 2), predicted.known)


def _posterior(changes: Sequence[Change], evidence: Evidence) -> Array:
    weights = np.log([change.weight for change in changes])
    found: Array = weights + np.where(np.isfinite(evidence.log), evidence.log, -1e6)
    return found


def _refined(
    predictor: Predictor, changes: list[Change], predicted: Predictions, evidence: Evidence, read: Readings
) -> tuple[list[Change], Predictions, Evidence]:
    """The likeliest failures with a size on a finer grid: their sizes as they stand near where they fit."""
    posterior = _posterior(changes, evidence)
    sized = [change.size is not None and not change.sound for change in changes]
    order = [int(row) for row in np.argsort(-posterior) if sized[row]]
    best = posterior.max()
    chosen: dict[tuple[str, ...], list[int]] = {}
    for row in order:
        group = grid_of(changes[row])
        if posterior[row] < best + math.log(WORTH_REFINING) or (
            group not in chosen and len(chosen) == REFINED
        ):
            continue
        chosen.setdefault(group, []).append(row)
    rows = [row for own in chosen.values() for row in own[:2]]
    if not rows:
        return changes, predicted, evidence
    finer = [
        replace(changes[row], size=size, weight=changes[row].weight / STEPS)
        for row in rows
        for size in between(changes[row].size or 1.0, _sizes(changes[row]), STEPS)
    ]
    kept = [row for row in range(len(changes)) if row not in set(rows)]
    beside = [row for row in kept if changes[row].size is not None and grid_of(changes[row]) in chosen]
    around = [changes[row] for row in beside]
    parents = np.repeat(rows, STEPS)
    also = along_rails(predictor.predict(finer), predicted.shift[parents, :, -len(read.value) - 2])
    more = unsure(predictor, widened(finer, also, around, predicted.mean[beside]))
    joined = evidence.some(kept).beside(weigh(more, read))
    return [changes[row] for row in kept] + finer, predicted.some(kept).beside(more), joined


def _sizes(change: Change) -> tuple[float, ...]:
    return tuple(size for size in sizes_of(change.part_class, change.mode) if size is not None)


def _shared(
    changes: list[Change], predicted: Predictions, evidence: Evidence, count: int
) -> tuple[list[Weighed], float, float]:
    """The failures with their shares, the share of what is none of them, and the log of what all add up to."""
    posterior = _posterior(changes, evidence)
    beyond = SOMETHING_ELSE * count
    top = max(float(posterior.max()), beyond)
    total = float(np.exp(posterior - top).sum()) + math.exp(beyond - top)
    scale = top + math.log(total)
    return _summed(changes, predicted, evidence, posterior, scale), math.exp(beyond - scale), scale


def ranked(
    ranking: Ranking, changes: list[Change], predicted: Predictions, evidence: Evidence
) -> list[Weighed]:
    """Further changes on the scale of a ranking: their shares are in units of all that it has."""
    return _summed(changes, predicted, evidence, _posterior(changes, evidence), ranking.scale)


def _summed(
    changes: list[Change], predicted: Predictions, evidence: Evidence, posterior: Array, scale: float
) -> list[Weighed]:
    """The changes of each failure together, best first. scale: log of what all shares add up to."""
    groups: dict[tuple[str, ...], list[int]] = {}
    for row, change in enumerate(changes):
        groups.setdefault(change.group, []).append(row)
    spread = np.sqrt((predicted.shift**2).sum(-1) / TRAPEZOID)
    weights = np.exp(posterior - posterior.max())
    weighed = []
    for rows in groups.values():
        own = weights[rows]
        best = rows[int(np.argmax(own))]
        within = [
            size
            for row in rows
            if weights[row] >= 0.1 * own.max() and (size := changes[row].size) is not None
        ]
        beforehand = sum(changes[row].weight for row in rows)
        log = math.log(max(float(own.sum()), 1e-300)) + float(posterior.max())
        weighed.append(
            Weighed(
                changes[best], math.exp(min(log - scale, 600.0)), log - math.log(beforehand), beforehand,
                (min(within), max(within)) if within else None, evidence.wrong[best], predicted.mean[best],
                spread[best], evidence.off[best], float(evidence.distance[best]),
            )
        )  # fmt: skip
    weighed.sort(key=lambda w: (-w.share, w.change.block != "", w.change.called, w.change.mode))
    return weighed
