"""Solved variants of a network about one of its points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from generator.circuit.network.around import Around, Numbers
from generator.circuit.network.primitives import Array


@dataclass(frozen=True)
class Solution:
    """Solved variants. numbers: what each changes; good: where an operating point was found.

    deltas (variants, stamps + 1): by how much stamps deviate from the point's linearisation; straight (variants, some),
    straight_slopes (..., 2): the linear stamps that it changes and how much steeper they are; steeper (variants, those
    that bend, CONTROLS): the same of those that bend.
    """

    around: Around
    numbers: list[Numbers]
    deltas: Array
    good: Array
    straight: Array
    straight_slopes: Array
    steeper: Array

    @cached_property
    def x(self) -> Array:
        """The whole solution of each variant, (variants, size)."""
        around = self.around
        whole: Array = around.x - self.deltas[:, :-1] @ around.reach[:-1, :-1].T
        return whole

    def volts(self, net: str) -> Array:
        """The volts of a net against its island's reference in each variant."""
        return self.around.system.volts(self.x, net)

    def of(self, rows: Array) -> Solution:
        """Some of the variants."""
        arrays = (own[rows] for own in self._arrays())
        return Solution(self.around, [self.numbers[row] for row in rows], *arrays)

    def followed_by(self, other: Solution) -> Solution:
        """These variants, then others."""
        wide = max(self.straight.shape[1], other.straight.shape[1])
        both = zip(self._arrays(wide), other._arrays(wide))
        return Solution(self.around, self.numbers + other.numbers, *(np.concatenate(own) for own in both))

    def with_rows(self, rows: Sequence[int], other: Solution) -> Solution:
        """The same with some variants solved otherwise."""
        order = np.arange(len(self.numbers))
        order[rows] = len(self.numbers) + np.arange(len(rows))
        return self.followed_by(other).of(order)

    def _arrays(self, wide: int = 0) -> tuple[Array, ...]:
        """What it holds of each variant, with room for so many linear stamps."""
        more = ((0, 0), (0, max(0, wide - self.straight.shape[1])))
        straight = np.pad(self.straight, more, constant_values=self.around.count)
        slopes = np.pad(self.straight_slopes, (*more, (0, 0)))
        return self.deltas, self.good, straight, slopes, self.steeper
