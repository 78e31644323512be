"""Hundreds of changed networks about one solved point: failures, tolerances, bridges, with what moves each reading.

The point's Jacobian is inverted once. A changed network differs from it by the few stamps that were changed and those
junctions and limits that moved with them; only these are solved for, as deviations δ of their values from the point's
linearisation, through the inverse seen from their own terminals (the matrix inversion lemma). What a variant changes of
linear stamps is taken into these terminals first. Most variants are done then, for no junction has moved; the others are
iterated by Newton's method, all in one batch.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from generator.circuit.network.bends import Ready, rows_of
from generator.circuit.network.compile import WIDTH, Changes
from generator.circuit.network.linear import solved, solved_one
from generator.circuit.network.newton import FURTHEST, Point, settle
from generator.circuit.network.primitives import CONTROLS, Array, ready, with_curves

MATTERS = 2e-5  # V: a deviation that moves no net by more is left out
MOST_STEPS = 40
PATIENT = 8  # steps, after which every other one is halved: what goes to and fro comes to rest
STILL, NEAR = (
    1e-7,
    1e-3,
)  # of a control and 1 V or A, by which it moves where all rests, or goes to and fro for good
IDLE = 1e-6  # V that a step moves any net, below which it is one no more
KEPT = 0.8  # of a batch: with more of it still moving, what has come to rest goes on with it, for that costs less
MOST_MOVE = 1e7  # ohm: nets beyond this source resistance are not what decides
Numbers = Mapping[int, tuple[float, ...]]  # stamp -> its changed numbers


@dataclass(frozen=True)
class Reading:
    """What is read: the volts between two nets, or (element) the current into an element at a net (plus; "" its first
    terminal's), less that into another at its first."""

    plus: str = ""
    minus: str = ""
    element: str = ""
    less: str = ""


@dataclass(frozen=True)
class Seen:
    """What the readings come to in every variant.

    values (variants, readings): an ideal meter's; source (variants, readings): ohm that the place has, by which a real
    meter divides it (0 for currents); unit (variants, readings, axes): how far each tolerance axis moves them, linearised,
    with shares (axes, 2) of that at its low and at its high end. solved: whether an operating point was found.
    """

    values: Array
    source: Array
    unit: Array
    shares: Array
    solved: Array

    def some(self, readings: slice) -> Seen:
        """Of some readings."""
        return Seen(
            self.values[:, readings],
            self.source[:, readings],
            self.unit[:, readings],
            self.shares,
            self.solved,
        )

    @property
    def slopes(self) -> Array:
        """How far each tolerance axis moves the readings from nominal to its low and high ends, (..., 2)."""
        ends: Array = self.unit[..., None] * self.shares
        return ends


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
        self.turns = any(name in ("sink", "amplifier") for name, _ in self.bends.forms)
        most = len(self.bends.counts)
        self.bent_at, self.bent_slopes = (own[self.bent, :most].T[:, None] for own in (self.at, self.slopes))
        # the point's linearisation of them at controls of 0
        self.ahead = self.y[self.bent] - (self.bent_slopes * self.bent_at).sum(0)
        self.bent_moves = self.bends.packed(
            self.moves[self.bent].transpose(1, 0, 2)
        )  # (controls, stamps + 1)

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
                for m, stamp in zip(system.of[name], system.elements[name].stamps(p)):
                    if stamp.numbers != self._base[m][: len(stamp.numbers)]:
                        stamps[m] = stamp.numbers
            found.append(stamps)
        return found

    @cached_property
    def _base(self) -> list[tuple[float, ...]]:
        return [tuple(row) for row in self.base.tolist()]

    # --- solving --------------------------------------------------------------------------------------------------

    def solve(
        self, variants: Sequence[Numbers], *, near: bool = False, begin: Array | None = None
    ) -> Solution:
        """The operating point of each variant, given as stamp -> numbers. Never raises: see Solution.good.

        near: the changes are small, so that all else is taken as it bends at the point itself. begin: deltas of solutions
        that are likely to be near.
        """
        total, bends = len(variants), self.bends
        changed, p = self._bent_changes(variants)
        straight = self._straight(variants)
        deltas = np.zeros((total, self.count + 1))
        deltas[np.arange(total)[:, None], straight.stamps] = straight.alone
        deltas[:, -1] = 0.0
        at = self._seen(deltas)
        steeper, good = np.zeros((total, len(bends), CONTROLS)), np.ones(total, bool)
        y, _ = bends.evaluate(at, p)
        off = y - self.ahead - (self.bent_slopes * at).sum(0)
        over = np.abs(off) * self.moved[self.bent] > MATTERS
        rows = np.flatnonzero((changed if near else changed | over).any(1))
        if rows.size:
            own = straight.of(rows)
            moves = self.bent_moves[:, own.stamps].transpose(1, 0, 2) @ own.pulled  # through what changed
            moves = self.bent_moves[:, self.bent] - moves
            lives = changed[rows] if near else np.ones((len(rows), len(bends)), bool)
            others = own.pulled * self.moved[own.stamps][..., None]
            own_p, ahead = rows_of(p, rows), at[:, rows]
            start = np.repeat(self.bent_at, len(rows), 1) if begin is None else self._seen(begin[rows])
            if (
                begin is None
            ):  # Newton's first step is known where none of them is changed: all stay as they bend
                same = np.flatnonzero(~changed[rows].any(1))
                far = np.clip(ahead[:, same] - self.bent_at, -self.furthest, self.furthest)
                start[:, same] = bends.limited(self.bent_at + far, start[:, same], rows_of(own_p, same))
            bent, slopes, good[rows] = self._newton(start, ahead, moves, own_p, lives, others)
            steeper[rows, :, : len(slopes)] = slopes.transpose(1, 2, 0)
            deltas[rows[:, None], own.stamps] = own.alone - (own.pulled @ bent[..., None])[..., 0]
            deltas[rows[:, None], self.bent] = bent
            deltas[:, -1] = 0.0
        if near:
            deltas[~good], steeper[~good] = 0.0, 0.0
        else:
            self._rescue(np.flatnonzero(~good), variants, deltas, steeper, good)
        return Solution(self, list(variants), deltas, good, straight.stamps, straight.slopes, steeper)

    def _bent_changes(self, variants: Sequence[Numbers]) -> tuple[Array, Ready]:
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

    def _straight(self, variants: Sequence[Numbers]) -> _Straight:
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
        return _Straight(stamps, slopes, found[..., 0], found[..., 1:])

    def _seen(self, deltas: Array) -> Array:
        """The controls of the stamps that bend with these deviations."""
        return self.bent_at - self.bends.unpacked(deltas @ self.bent_moves.T)

    def _newton(
        self, start: Array, at: Array, moves: Array, p: Ready, lives: Array, others: Array
    ) -> tuple[Array, Array, Array]:
        """(δ, how much steeper the stamps have become there, which converged).

        start: the controls to begin at; at, moves: the controls of the stamps that bend, and how their deviations move them, with what is linear among the
        changes; p: their numbers; lives: those that may deviate; others: how far their deviations move nets through what is
        linear.
        """
        delta, steeper, good = self._iterated(start, at, moves, p, lives, others)
        rows = np.flatnonzero(~good) if self.turns else np.zeros(0, dtype=int)
        if rows.size:  # once more with comparators on their other side, for feedback may hold them there
            own = rows_of(p, rows)
            start = self._turned(start[:, rows], own)
            again = self._iterated(start, at[:, rows], moves[rows], own, lives[rows], others[rows])
            delta[rows], steeper[:, rows], good[rows] = again
        return delta, steeper, good

    def _iterated(
        self, z: Array, at: Array, moves: Array, p: Ready, lives: Array, others: Array
    ) -> tuple[Array, Array, Array]:
        """The same from controls z."""
        reach, one, bends = self.moved[self.bent], np.eye(len(self.bent)), self.bends
        firsts = np.cumsum([0, *bends.counts])
        delta, slopes, good = np.zeros(z.shape[1:]), np.zeros(z.shape), np.zeros(z.shape[1], bool)
        rows, busy, before = np.arange(len(good)), np.ones(len(good), bool), delta
        each = [moves[:, a:b] for a, b in zip(firsts, firsts[1:])]
        for step in range(MOST_STEPS):
            y, dy = bends.evaluate(z, p)
            steeper = (dy - self.bent_slopes) * lives
            right = (y - self.ahead - (dy * z).sum(0)) * lives + (steeper * at).sum(0)
            new = solved_one(one + bends.weighted(steeper, each), right)
            wanted = at - bends.unpacked((moves @ new[..., None])[..., 0])
            most = self.furthest / max(1, step - PATIENT)  # it goes to and fro: shorter steps
            far = np.clip(wanted - z, -most, most)
            wanted = z + (far if step < PATIENT or step % 2 else far * 0.5)
            limited = bends.limited(wanted, z, p)
            gone = (np.abs(limited - z) / (1 + np.abs(wanted))).max((0, 2))
            free = (gone <= NEAR) & (limited == wanted).all((0, 2))
            if step < 2 * PATIENT and free.any():
                turn = new - before
                free &= (np.abs(turn) * reach <= IDLE).all(-1)
                free &= (np.abs(others @ turn[..., None]) <= IDLE).all((-1, -2))
            before, z = new, limited
            done = busy & ((gone <= STILL) | free) & (step > 0)
            last = step == MOST_STEPS - 1
            if done.any() or last:
                ends = busy if last else done
                delta[rows[ends]], slopes[:, rows[ends]], good[rows[done]] = new[ends], steeper[:, ends], True
                busy &= ~done
                left = np.count_nonzero(busy)
                if not left:
                    break
                if left <= KEPT * len(rows):
                    rows, at, moves, lives, others, before, z = (
                        rows[busy], at[:, busy], moves[busy], lives[busy], others[busy], before[busy], z[:, busy]
                    )  # fmt: skip
                    p, busy = rows_of(p, busy), np.ones(left, bool)
                    each = [moves[:, a:b] for a, b in zip(firsts, firsts[1:])]
        return delta, slopes, good

    def _turned(self, z: Array, p: Ready) -> Array:
        """Controls at which comparators and amplifiers are on their other side."""
        turned = z.copy()
        for (name, own), numbers in zip(self.bends.forms, p):
            here = turned[:, :, own]
            if name == "sink":
                taken = here[2] * numbers[1]  # V across its own ohms
                flows = here[1] / np.maximum(numbers[1], 1e-3)
                here[2] = np.where(taken > here[1] / 2, 0.0, flows)
            elif name == "amplifier":
                top = here[2] - numbers[3]
                high = here[1] + here[3] * numbers[1] > top / 2
                here[1] = np.where(high, numbers[2], top)
                here[3] = 0.0
        return turned

    def _rescue(
        self, bad: Array, variants: Sequence[Numbers], deltas: Array, steeper: Array, good: Array
    ) -> None:
        """Where the short way does not settle: the whole network, from the sound point and then by all means."""
        if not bad.size:
            return
        full = np.repeat(self.base[None], len(bad), 0)
        for row, b in zip(full, bad):
            for m, own in variants[b].items():
                row[m] = 0.0
                row[m, : len(own)] = own
        x, found = settle(self.system, full, self.x, patience=0)
        z = self.system.seen(x)
        y, dy = self.system.values(z, full)
        off = y - self.y - (self.dy * (z - self.at[:-1])).sum(-1)
        rows = bad[found]
        deltas[rows, :-1] = off[found]
        steeper[rows] = (dy - self.dy)[found][:, self.bent]
        good[rows] = True


@dataclass(frozen=True)
class _Straight:
    """What variants change of linear stamps: the stamps (padded), how much steeper they are (controls 0 and 1), their
    deviations while nothing else deviates, and how those of the stamps that bend take from them."""

    stamps: Array
    slopes: Array
    alone: Array
    pulled: Array

    def of(self, rows: Array) -> _Straight:
        """Those of some variants."""
        return _Straight(self.stamps[rows], self.slopes[rows], self.alone[rows], self.pulled[rows])


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
