"""A network about one solved point: what its stamps do there, and what changes of them come to while nothing bends.

The point's Jacobian is inverted once. A changed network differs from it by the few stamps that were changed and those
junctions and limits that moved with them; only these are solved for, as deviations δ of their values from the point's
linearisation, through the inverse seen from their own terminals (the matrix inversion lemma). What a variant changes of
linear stamps is taken into these terminals first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from generator.circuit.network.bends import Ready
from generator.circuit.network.compile import WIDTH, Changes
from generator.circuit.network.iteration import FURTHEST
from generator.circuit.network.linear import solved
from generator.circuit.network.newton import Point
from generator.circuit.network.primitives import CONTROLS, Array, ready, with_curves

MOST_MOVE = 1e7  # ohm: nets beyond this source resistance are not what decides
Numbers = Mapping[int, tuple[float, ...]]  # stamp -> its changed numbers


class Around:
    """Variants of one state of a system about its operating point. row: which of the point's states."""

    def __init__(self, point: Point, row: int = 0) -> None:
        self.system, self.x, self.base = point.system, point.x[row], point.numbers[row]
        self.y, self.dy = point.y[row], point.dy[row]
        system = self.system
        inverse = np.linalg.inv(system.jacobian(self.dy[None])[0])
        self.inverse = inverse
        self.count = count = len(system.stamps)
        reach = inverse @ system.out  # (size, stamps): how a unit of each stamp's value moves x
        self.reach = np.concatenate(
            [np.concatenate([reach, np.zeros((1, count))]), np.zeros((system.size + 1, 1))], 1
        )
        self.plus, self.minus = (
            np.concatenate([a, np.full((1, CONTROLS), system.size)]) for a in (system.plus, system.minus)
        )
        self.moves = self.reach[self.plus] - self.reach[self.minus]  # (stamps + 1, CONTROLS, stamps + 1)
        self.furthest = FURTHEST * max(5.0, float(np.abs(self.x[: system.voltages]).max(initial=0.0)))
        self.moved = np.minimum(
            np.append(np.abs(reach[: system.voltages]).max(0, initial=0.0), 0.0), MOST_MOVE
        )
        self.at = np.concatenate([system.seen(self.x), np.zeros((1, CONTROLS))])
        self.form = np.append(system.form, 0)
        self.slopes = np.concatenate([self.dy, np.zeros((1, CONTROLS))])
        self.numbers = np.concatenate([self.base, np.zeros((1, WIDTH))])
        self.bends = system.bends
        self.bent = self.bends.stamps
        most = len(self.bends.counts)
        self.bent_at, self.bent_slopes = (own[self.bent, :most].T[:, None] for own in (self.at, self.slopes))
        # the point's linearisation of them at controls of 0
        self.ahead = self.y[self.bent] - (self.bent_slopes * self.bent_at).sum(0)
        # (controls, stamps + 1)
        self.bent_moves = self.bends.packed(self.moves[self.bent].transpose(1, 0, 2))

    def changes(
        self, variants: Sequence[Changes], state: Changes | None = None
    ) -> list[dict[int, tuple[float, ...]]]:
        """The stamps' numbers that each variant changes; state: what the point's own state has changed already."""
        own, system = state or {}, self.system
        found = []
        for variant in variants:
            stamps: dict[int, tuple[float, ...]] = {}
            for name, parameters in variant.items():
                p = {**system.nominal[name], **own.get(name, {}), **parameters}
                for m, numbers in zip(system.of[name], system.numbers_of(name, p)):
                    if numbers != self._base[m][: len(numbers)]:
                        stamps[m] = numbers
            found.append(stamps)
        return found

    @cached_property
    def _base(self) -> list[tuple[float, ...]]:
        return [tuple(row) for row in self.base.tolist()]

    def bent_changes(self, variants: Sequence[Numbers]) -> tuple[Array, Ready]:
        """Which of the stamps that bend a variant changes (variants, those), and their numbers."""
        changed = np.zeros((len(variants), len(self.bent)), bool)
        own: list[tuple[int, int, tuple[float, ...]]] = []
        for row, numbers in enumerate(variants):
            for m, values in numbers.items():
                if (place := self._place.get(m)) is not None:
                    changed[row, place] = True
                    own.append((row, place, values))
        p = [np.repeat(base, len(variants), 1) for base in self._ready]
        for n, (name, members) in enumerate(self.bends.forms):
            theirs = [entry for entry in own if members.start <= entry[1] < members.stop]
            if theirs:
                rows, places = (np.array([entry[end] for entry in theirs]) for end in (0, 1))
                there = ready(name, np.array([entry[2] for entry in theirs]))
                p[n] = with_curves(p[n], there)
                p[n][:, rows, places - members.start] = with_curves(there, p[n])
        return changed, p

    @cached_property
    def _place(self) -> dict[int, int]:
        """Where each of the stamps that bend is among them."""
        return {int(m): position for position, m in enumerate(self.bent)}

    @cached_property
    def _ready(self) -> Ready:
        """Their numbers at the point."""
        return self.bends.ready(self.base[self.bent][None])

    def straight(self, variants: Sequence[Numbers]) -> Straight:
        """The linear stamps that the variants change, and what their deviations come to."""
        linear = (self.form[:-1] == 0).tolist()
        members = [[m for m in numbers if linear[m]] for numbers in variants]
        width = max(map(len, members), default=0)
        stamps = np.full((len(variants), width), self.count)
        more = np.zeros((len(variants), width, 3))
        for row, own in enumerate(members):
            for position, m in enumerate(own):
                stamps[row, position] = m
                more[row, position] = variants[row][m]
        more -= self.numbers[stamps, :3]
        slopes, two = more[..., 1:], np.arange(2)[:, None]
        among = self.moves[stamps[:, :, None, None], two, stamps[:, None, None, :]]
        bent = self.moves[stamps[:, :, None, None], two, self.bent]
        alone = more[..., 0] + (slopes * self.at[stamps, :2]).sum(-1)
        right = np.concatenate([alone[..., None], np.einsum("blc,blck->blk", slopes, bent)], 2)
        found = solved(np.eye(width) + np.einsum("blc,blcm->blm", slopes, among), right)
        return Straight(stamps, slopes, found[..., 0], found[..., 1:])

    def seen(self, deltas: Array) -> Array:
        """The controls of the stamps that bend with these deviations."""
        return self.bent_at - self.bends.unpacked(deltas @ self.bent_moves.T)


@dataclass(frozen=True)
class Straight:
    """What variants change of linear stamps: the stamps (padded), how much steeper they are (controls 0 and 1), their
    deviations while nothing else deviates, and how those of the stamps that bend take from them."""

    stamps: Array
    slopes: Array
    alone: Array
    pulled: Array

    def of(self, rows: Array) -> Straight:
        """Those of some variants."""
        return Straight(self.stamps[rows], self.slopes[rows], self.alone[rows], self.pulled[rows])
