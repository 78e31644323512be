"""Hundreds of changed networks about solved points: failures, tolerances, bridges.

Most are done once what is linear in them is (around.py), for no junction has moved; the others are iterated by Newton's
method (settling.py), all in one batch, about however many points they lie.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from generator.circuit.network.around import Around, Numbers
from generator.circuit.network.bends import rows_of
from generator.circuit.network.newton import nearest
from generator.circuit.network.primitives import CONTROLS, Array
from generator.circuit.network.settling import Bent, joined, settled
from generator.circuit.network.solution import Solution

MATTERS = 2e-5  # V: a deviation that moves no net by more is left out
T = TypeVar("T")


@dataclass(frozen=True)
class Wanted:
    """Variants, given as stamp -> numbers, of which the operating points are wanted.

    near: the changes are small, so that all else is taken as it bends at the point itself. begin: deltas of solutions
    that are likely to be near.
    """

    around: Around
    variants: Sequence[Numbers]
    near: bool = False
    begin: Array | None = None


def solve(around: Around, variants: Sequence[Numbers]) -> Solution:
    """The operating point of each variant about one point."""
    return solve_all([Wanted(around, variants)])[0]


def solve_all(wanted: Sequence[Wanted]) -> list[Solution]:
    """The operating point of each variant; those of one system are one batch. Never raises: see Solution.good."""
    begun = [_Begun(own) for own in wanted]
    systems: dict[int, list[_Begun]] = {}
    for own in begun:
        systems.setdefault(id(own.around.system), []).append(own)
    for several in systems.values():
        _settle([own for own in several if own.rows.size])
        _rescue(several)
    return [own.solution() for own in begun]


def in_step(works: Sequence[Generator[Wanted, Solution, T]]) -> list[T]:
    """What each of them returns; what they want solved at the same time is one batch."""
    found: dict[int, T] = {}
    answers: dict[int, Solution | None] = dict.fromkeys(range(len(works)))
    while answers:
        wanted: dict[int, Wanted] = {}
        for number, answer in answers.items():
            try:
                wanted[number] = next(works[number]) if answer is None else works[number].send(answer)
            except StopIteration as end:
                found[number] = end.value
        answers = dict(zip(wanted, solve_all(list(wanted.values()))))
    return [found[number] for number in range(len(works))]


class _Begun:
    """Variants of which is solved what is linear. rows: those in which a stamp bends more than at the point."""

    def __init__(self, wanted: Wanted) -> None:
        self.around, self.variants, self.near = around, variants, near = (
            wanted.around,
            wanted.variants,
            wanted.near,
        )
        total, bends = len(variants), around.bends
        changed, p = around.bent_changes(variants)
        self.straight = straight = around.straight(variants)
        self.deltas = np.zeros((total, around.count + 1))
        self.deltas[np.arange(total)[:, None], straight.stamps] = straight.alone
        self.deltas[:, -1] = 0.0
        at = around.seen(self.deltas)
        self.steeper, self.good = np.zeros((total, len(bends), CONTROLS)), np.ones(total, bool)
        y, _ = bends.evaluate(at, p)
        off = y - around.ahead - (around.bent_slopes * at).sum(0)
        over = np.abs(off) * around.moved[around.bent] > MATTERS
        self.rows = rows = np.flatnonzero((changed if near else changed | over).any(1))
        if not rows.size:
            return
        self.own = own = straight.of(rows)
        count, places = len(rows), around.bent
        moves = around.bent_moves[:, own.stamps].transpose(1, 0, 2) @ own.pulled  # through what changed
        self.bent = Bent(
            changed[rows] if near else np.ones((count, len(bends)), bool),
            np.repeat(around.moved[places][None], count, 0),
            np.full(count, around.furthest),
            np.repeat(around.ahead, count, 0),
            np.repeat(around.bent_slopes, count, 1),
            at[:, rows],
            around.bent_moves[:, places] - moves,
            own.pulled * around.moved[own.stamps][..., None],
            rows_of(p, rows),
        )
        self.start = (
            self._from_the_point(changed) if wanted.begin is None else around.seen(wanted.begin[rows])
        )

    def _from_the_point(self, changed: Array) -> Array:
        """The controls to begin at. Newton's first step is known where none of these stamps is changed: all stay as they bend."""
        around, bent = self.around, self.bent
        start = np.repeat(around.bent_at, len(self.rows), 1)
        same = np.flatnonzero(~changed[self.rows].any(1))
        far = np.clip(bent.at[:, same] - around.bent_at, -around.furthest, around.furthest)
        start[:, same] = around.bends.limited(around.bent_at + far, start[:, same], rows_of(bent.p, same))
        return start

    def take(self, delta: Array, slopes: Array, good: Array) -> None:
        """What Newton's method has found."""
        rows, own = self.rows, self.own
        self.good[rows] = good
        self.steeper[rows, :, : len(slopes)] = slopes.transpose(1, 2, 0)
        self.deltas[rows[:, None], own.stamps] = own.alone - (own.pulled @ delta[..., None])[..., 0]
        self.deltas[rows[:, None], self.around.bent] = delta
        self.deltas[:, -1] = 0.0
        if self.near:
            self.deltas[~self.good], self.steeper[~self.good] = 0.0, 0.0

    def full(self, rows: Array) -> Array:
        """All numbers of some variants, (rows, stamps, WIDTH)."""
        found = np.repeat(self.around.base[None], len(rows), 0)
        for numbers, variant in zip(found, rows):
            for m, own in self.variants[variant].items():
                numbers[m] = 0.0
                numbers[m, : len(own)] = own
        return found

    def rescued(self, rows: Array, x: Array, full: Array) -> None:
        """Some variants as the whole network has them. full: their numbers."""
        around = self.around
        z = around.system.seen(x)
        y, dy = around.system.values(z, full)
        self.deltas[rows, :-1] = y - around.y - (around.dy * (z - around.at[:-1])).sum(-1)
        self.steeper[rows] = (dy - around.dy)[:, around.bent]
        self.good[rows] = True

    def solution(self) -> Solution:
        """What has come out."""
        straight = self.straight
        return Solution(
            self.around,
            list(self.variants),
            self.deltas,
            self.good,
            straight.stamps,
            straight.slopes,
            self.steeper,
        )


def _settle(begun: Sequence[_Begun]) -> None:
    """What bends, by Newton's method."""
    if begun:
        start = np.concatenate([own.start for own in begun], 1)
        delta, slopes, good = settled(begun[0].around.bends, joined([own.bent for own in begun]), start)
        ends = np.cumsum([len(own.rows) for own in begun])[:-1]
        for own, *its in zip(begun, np.split(delta, ends), np.split(slopes, ends, 1), np.split(good, ends)):
            own.take(*its)


def _rescue(begun: Sequence[_Begun]) -> None:
    """Where the short way does not settle: the whole network, from the sound point and then by all means."""
    bad = [(own, rows) for own in begun if not own.near and (rows := np.flatnonzero(~own.good)).size]
    if not bad:
        return
    full = np.concatenate([own.full(rows) for own, rows in bad])
    start = np.concatenate([np.repeat(own.around.x[None], len(rows), 0) for own, rows in bad])
    x, found = nearest(bad[0][0].around.system, full, start)
    first = 0
    for own, rows in bad:
        here = slice(first, first := first + len(rows))
        its = found[here]
        own.rescued(rows[its], x[here][its], full[here][its])
