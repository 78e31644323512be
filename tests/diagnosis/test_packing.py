"""What is told apart in the helper's data, worked by hand: what a failure moves, what follows from its neighbours' sizes."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from generator.diagnosis import packing
from generator.diagnosis.helper import _sized
from generator.diagnosis.hypotheses import Change, sizes_of
from generator.diagnosis.scattering import Scattering


def seen(mean: list[list[float]], spread: list[list[float]] | None = None, step: float = 0.1) -> Scattering:
    """Rows of failures, the sound device first; all scatter by 0.5 unless stated."""
    rows, places = np.shape(mean)
    wide = np.full((rows, places), 0.5) if spread is None else np.array(spread)
    return Scattering(
        np.array(mean), wide, np.full(places, step), np.ones((places, 2)), np.ones((rows, places))
    )


def test_a_place_differs_where_it_is_moved_by_a_step_or_scatters_otherwise() -> None:
    """Steps of 0.1 V about 5 V, and about 0 V: by a tenth of a step nothing, by a step, the other way round, open, and
    where it scatters three times as much."""
    found = packing.differing(
        seen(
            [[5.0, 0.0], [5.0, 0.0], [5.01, 0.01], [5.1, 0.1], [-5.0, -0.1], [np.inf, np.inf], [5.0, 0.0]],
            [[0.5, 0.5]] * 6 + [[1.5, 1.5]],
        )
    )
    assert found.tolist() == [[False] * 2] * 3 + [[True] * 2] * 4


def test_where_the_sound_device_shows_an_open_circuit_a_figure_differs() -> None:
    found = packing.differing(seen([[np.inf], [np.inf], [0.0]]))
    assert found.ravel().tolist() == [False, False, True]


@pytest.mark.parametrize(
    ("mean", "spread", "follows"),
    [
        (2.0, 0.5, True),
        (2.001, 0.5, True),
        (2.5, 0.5, False),
        (3.0, 0.5, False),
        (np.inf, 0.5, False),
        (2.0, 0.6, True),
        (2.0, 1.35, False),  # e^1 times as wide as its neighbours
    ],
)
def test_a_size_between_two_follows_from_them(mean: float, spread: float, follows: bool) -> None:
    """Halfway between 1 V and 3 V lies 2 V, scattering as both do."""
    rows = seen([[0.0], [mean], [1.0], [3.0]], [[0.5], [spread], [0.5], [0.5]])
    assert packing.foretold(rows, 1, 2, 3, 0.5).tolist() == [follows]


@pytest.mark.parametrize(
    ("part_class", "mode"), [("resistor", "high"), ("resistor", "low"), ("capacitor", "leaky"), ("fuse", "high resistance")]
)  # fmt: skip
def test_the_few_sizes_of_a_parts_failure_span_its_grid(part_class: str, mode: str) -> None:
    """From the least to the most, at most one left out between two: what lies between follows from both."""
    grid = sorted(size for size in sizes_of(part_class, mode) if size is not None)
    few, rest = _sized([Change(mode=mode, part_class=part_class, size=size) for size in grid], False)
    places = [grid.index(change.size) for change in few if change.size is not None]
    assert places[0] == 0 and places[-1] == len(grid) - 1
    assert all(0 < other - one <= 2 for one, other in pairwise(places))
    assert sorted(change.size or 0.0 for change in [*few, *rest]) == grid
