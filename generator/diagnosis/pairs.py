"""Two failures at once, where no single one explains the readings.

There are far more pairs than can be solved. Each is first held against the readings from what its two failures do by
themselves: a reading is as under the one, as under the other, or moved by both. The likeliest are solved, and of the best
of those the sizes are looked at more closely.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from generator.circuit.network.primitives import Array
from generator.diagnosis.evidence import (
    TRAPEZOID,
    Evidence,
    Predictions,
    Readings,
    own_variance,
    weigh,
    without_number,
)
from generator.diagnosis.faces import along_rails
from generator.diagnosis.hypotheses import RAIL_OHMS, Change, between, sizes_of
from generator.diagnosis.inference import Ranking, Weighed, ranked, unsure

PAIR = 0.01  # how likely a second failure is beside the first
HELPFUL = 600  # failures, those that explain most of what the sound device does not, each tried with each
HELPS = 1.0  # log-likelihood: less is no help
SOLVED = 400  # pairs, the likeliest of all by what their failures do by themselves
EACH = 4  # of them with the same two failures, by other sizes
REFINED = 8  # pairs of which every size of either is tried, then those between
NEAR = 2  # of them, the sizes of each between which it is looked at more closely
STEPS = 5  # sizes in place of each of theirs
WORST = -12.0  # log-likelihood of a reading that a failure by itself does not explain: the other may


def rank_pairs(ranking: Ranking, read: Readings) -> list[Weighed]:
    """Pairs of failures, best first, with their shares beside what the ranking already has."""
    rows = _promising(ranking, read)
    if not rows:
        return []
    grids = [[[_together(ranking, *(ranking.changes[n] for n in pair))]] for pair in rows]
    steps = ranking.predicted.shift[:, :, -len(read.value) - 1]
    tried = _weighed(ranking, grids, np.stack([steps[list(pair)] for pair in rows]), read)
    for finer, each in ((_every, 1), (_between, NEAR)):
        best = _best(tried, each)
        if not best:
            break
        groups = {tried.changes[n].group for n in best}
        kept = [
            n
            for n, change in enumerate(tried.changes)
            if n not in best and (each > 1 or change.group not in groups)
        ]
        tried = tried.some(kept).beside(
            _weighed(ranking, [finer(tried.changes[n]) for n in best], None, read)
        )
    return ranked(ranking, tried.changes, tried.predicted, tried.evidence)


@dataclass(frozen=True)
class _Tried:
    """Pairs that were solved and held against the readings."""

    changes: list[Change]
    predicted: Predictions
    evidence: Evidence

    def some(self, rows: Sequence[int]) -> _Tried:
        return _Tried([self.changes[n] for n in rows], self.predicted.some(rows), self.evidence.some(rows))

    def beside(self, more: _Tried) -> _Tried:
        return _Tried(
            self.changes + more.changes,
            self.predicted.beside(more.predicted),
            self.evidence.beside(more.evidence),
        )


Grid = list[list[Change]]  # one pair: a row for each size of the first, of all sizes of the second


def _weighed(ranking: Ranking, grids: list[Grid], steps: Array | None, read: Readings) -> _Tried:
    """Pairs solved. steps (pairs, 2, R): half the distance to the neighbours in either size, by default as in their grids."""
    changes = [change for grid in grids for row in grid for change in row]
    told = ranking.predictor.predict(changes)
    steps = _steps(grids, told.mean) if steps is None else steps
    rail = ranking.predicted.shift[_first(ranking), :, -len(read.value) - 2]
    told = along_rails(told, np.repeat(rail[None], len(changes), 0))
    along = np.concatenate([told.shift, steps.transpose(0, 2, 1)], 2)
    predicted = unsure(ranking.predictor, Predictions(told.mean, along, told.known))
    return _Tried(changes, predicted, weigh(predicted, read))


def _first(ranking: Ranking) -> int:
    """A row of the likeliest failure, with whose held button or rail all pairs go; that of the sound device where it has none."""
    best = ranking.weighed[0].change
    rows = (
        n for n, own in enumerate(ranking.changes) if (own.group, own.pressed) == (best.group, best.pressed)
    )
    return next(rows, 0)


def _pair(one: Change, other: Change) -> Change:
    return replace(one, weight=one.weight * other.weight * PAIR, also=other)


def _together(ranking: Ranking, one: Change, other: Change) -> Change:
    """Both, with the button or the rail that the likeliest failure goes with, which counts once."""
    alone = (own.weight for own in ranking.changes if not own.pressed[0] and own.alone == other.alone)
    pair = _pair(one, replace(other, weight=next(alone, other.weight)))
    return replace(pair, pressed=ranking.weighed[0].change.pressed)


def _promising(ranking: Ranking, read: Readings) -> list[tuple[int, int]]:
    """The rows of pairs that may explain the readings, best first."""
    alone = _each(ranking.predicted, read)
    pressed = ranking.weighed[0].change.pressed
    rail = pressed[1] in RAIL_OHMS  # each failure goes with what suits it best
    rows = [
        n
        for n, change in enumerate(ranking.changes)
        if not (change.sound or change.also)
        and (change.pressed == pressed or (rail and change.pressed[0] == pressed[0]))
    ]
    helps = np.maximum(alone[rows] - alone[0], 0).sum(1)
    rows = [rows[n] for n in np.argsort(-helps, kind="stable")[:HELPFUL] if helps[n] > HELPS]
    if len(rows) < 2:
        return []
    own = np.array(rows)
    mean, variance = ranking.predicted.mean[own], _variance(ranking.predicted, read)[own]
    score = np.log([ranking.changes[n].weight for n in rows])
    total = score[:, None] + score[None, :]
    for n in range(len(read.value)):
        by_one = alone[own, n]
        with np.errstate(invalid="ignore"):
            moved = mean[:, None, n] + mean[None, :, n] - ranking.predicted.mean[0, n]
            by_both = _log(read.value[n] - moved, variance[:, None, n] + variance[None, :, n], read.spread[n])
        by_both = np.where(read.least[n] | np.isnan(by_both), -np.inf, by_both)
        total += np.maximum(np.maximum(by_one[:, None], by_one[None, :]), by_both)
    order = np.argsort(-total, axis=None)
    found: list[tuple[int, int]] = []
    counts: dict[frozenset[tuple[str, ...]], int] = {}
    for at in order:
        i, j = divmod(int(at), len(rows))
        one, other = ranking.changes[rows[i]], ranking.changes[rows[j]]
        if i >= j or (one.block, one.key, one.element) == (other.block, other.key, other.element):
            continue
        key = frozenset((one.group, other.group))
        counts[key] = counts.get(key, 0) + 1
        if counts[key] <= EACH:
            found.append((min(rows[i], rows[j]), max(rows[i], rows[j])))
        if len(found) == SOLVED:
            break
    return found


def _variance(predicted: Predictions, read: Readings) -> Array:
    found: Array = (predicted.shift**2).sum(-1) / TRAPEZOID + own_variance(predicted.mean, read)
    return found


def _log(gap: Array, variance: Array, spread: Array) -> Array:
    found: Array = (
        np.log(2 * np.maximum(spread, 1e-12)) - 0.5 * np.log(2 * math.pi * variance) - 0.5 * gap**2 / variance
    )
    return found


def _each(predicted: Predictions, read: Readings) -> Array:
    """Log-likelihood of each reading by itself under each change (H, R), at least WORST."""
    met = without_number(predicted.mean, read)
    with np.errstate(invalid="ignore"):
        numbers = _log(read.value - predicted.mean, _variance(predicted, read), read.spread)
    numeric = np.isfinite(numbers) & ~read.least & predicted.known
    found: Array = np.where(numeric, numbers, met)
    return np.maximum(found, WORST)


def _best(tried: _Tried, each: int) -> list[int]:
    """The likeliest pairs that have a size, each by so many of its sizes."""
    log = np.where(np.isfinite(tried.evidence.log), tried.evidence.log, -1e6)
    posterior = np.log([change.weight for change in tried.changes]) + log
    found: dict[tuple[str, ...], list[int]] = {}
    for n in np.argsort(-posterior):
        change = tried.changes[n]
        assert change.also is not None
        if change.size is None and change.also.size is None:
            continue
        if change.group in found or len(found) < REFINED:
            found.setdefault(change.group, []).append(int(n))
    return [n for rows in found.values() for n in rows[:each]]


def _every(pair: Change) -> Grid:
    """A pair by every size of either."""
    one, other = _both(pair)
    return _grid(pair, _sizes(one), _sizes(other), pair.weight)


def _between(pair: Change) -> Grid:
    """A pair by sizes about its own."""
    ones, others = (_about(own) for own in _both(pair))
    return _grid(pair, ones, others, pair.weight / len(ones) / len(others))


def _both(pair: Change) -> tuple[Change, Change]:
    assert pair.also is not None
    return pair, pair.also


def _grid(pair: Change, ones: Sequence[float | None], others: Sequence[float | None], weight: float) -> Grid:
    one, other = _both(pair)
    return [[replace(one, size=a, weight=weight, also=replace(other, size=b)) for b in others] for a in ones]


def _sizes(change: Change) -> list[float | None]:
    return sorted(sizes_of(change.part_class, change.mode), key=lambda size: size or 0.0)


def _about(change: Change) -> list[float | None]:
    if change.size is None:
        return [None]
    return [*between(change.size, tuple(size for size in _sizes(change) if size is not None), STEPS)]


def _steps(grids: list[Grid], mean: Array) -> Array:
    """Half the distance to the neighbours in either size, (pairs, 2, R), of means (pairs, R)."""
    found, first = [], 0
    mean = np.where(np.isfinite(mean), mean, np.nan)
    for grid in grids:
        shape = (len(grid), len(grid[0]))
        own = mean[first : first + shape[0] * shape[1]].reshape(*shape, -1)
        first += shape[0] * shape[1]
        ways = [
            np.nan_to_num(np.asarray(np.gradient(own, axis=axis)) / 2)
            if shape[axis] > 1
            else np.zeros_like(own)
            for axis in (0, 1)
        ]
        found.append(np.stack(ways, 2).reshape(-1, 2, own.shape[-1]))
    return np.concatenate(found)
