"""The sizes at which a failure is tried, and what lies between two of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from generator.circuit.network.primitives import Array
from generator.diagnosis.evidence import Predictions
from generator.diagnosis.hypotheses import Change


def grid_of(change: Change) -> tuple[str, ...]:
    """What the sizes of one grid have in common: the failure, and the button that is held."""
    return (*change.group, *change.pressed[: 1 if change.sound else 2])


def _grids(changes: Sequence[Change]) -> list[list[int]]:
    """The rows of each failure that has a size, in the order of the sizes."""
    found: dict[tuple[str, ...], list[int]] = {}
    for row, change in enumerate(changes):
        if change.size is not None:
            found.setdefault(grid_of(change), []).append(row)
    return [sorted(rows, key=lambda row: changes[row].size or 0.0) for rows in found.values()]


def widened(
    changes: Sequence[Change],
    predicted: Predictions,
    beside: Sequence[Change] = (),
    theirs: Array | None = None,
) -> Predictions:
    """The predictions with an axis more, along which a size lies anywhere between its neighbours on the grid.

    beside, theirs: further sizes of the same failures and their means, which are neighbours and nothing else.
    """
    size = len(predicted.mean)
    mean = predicted.mean if theirs is None else np.concatenate([predicted.mean, theirs])
    mean = np.where(np.isfinite(mean), mean, np.nan)
    own = np.arange(len(mean))
    before, after = own.copy(), own.copy()
    for rows in _grids([*changes, *beside]):
        before[rows[1:]], after[rows[:-1]] = rows[:-1], rows[1:]
    # steps of the grid from one to the other
    apart = np.maximum(1, (before != own).astype(int) + (after != own))
    reach = np.nan_to_num((mean[after] - mean[before]) / apart[:, None] / 2)[:size]
    return Predictions(
        predicted.mean, np.concatenate([predicted.shift, reach[..., None]], 2), predicted.known
    )
