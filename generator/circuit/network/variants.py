"""Hundreds of changed networks about one solved point: failures, tolerances, bridges, with what moves each reading.

The point's Jacobian is inverted once. A changed network differs from it by the few stamps that were changed and those
junctions and limits that moved with them; only these are solved for, as deviations δ of their values from the point's
linearisation, through the inverse seen from their own terminals (the matrix inversion lemma, iterated by Newton's method
since δ is nonlinear). What a failure does not reach costs nothing, and nothing is approximated: a stamp whose deviation
matters is taken in until none is left.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from generator.circuit.network.compile import NAMES, WIDTH, Changes
from generator.circuit.network.limits import LIMITS
from generator.circuit.network.linear import solved_one
from generator.circuit.network.newton import FURTHEST, Point, settle
from generator.circuit.network.primitives import CONTROLS, FORMS, Array

MATTERS = 2e-5  # V: a deviation that moves no net by more is left out
MOST_STEPS, MOST_ROUNDS = 40, 12
PATIENT = 20  # steps, after which they are halved
IDLE = 1e-6  # V that a step moves any net, below which it is one no more
_SINK, _AMPLIFIER = NAMES.index("sink"), NAMES.index("amplifier")
_Form = tuple[Any, Any, tuple[Array, ...]]
MOST_MOVE = 1e7  # ohm: nets beyond this source resistance are not what decides


@dataclass(frozen=True)
class Reading:
    """What is read: the volts between two nets, or (element) the current into an element at its first terminal."""

    plus: str = ""
    minus: str = ""
    element: str = ""


@dataclass(frozen=True)
class Seen:
    """What the readings come to in every variant.

    values (variants, readings): an ideal meter's; source (variants, readings): ohm that the place has, by which a real
    meter divides it (0 for currents); slopes (variants, readings, axes): how far each tolerance axis moves them from its
    nominal to (low, high) ends, linearised: (..., 2). solved: whether an operating point was found.
    """

    values: Array
    source: Array
    slopes: Array
    solved: Array


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
        self.step = 0
        self.furthest = FURTHEST * max(5.0, float(np.abs(self.x[: system.voltages]).max(initial=0.0)))
        self.moved = np.minimum(
            np.append(np.abs(reach[: system.voltages]).max(0, initial=0.0), 0.0), MOST_MOVE
        )
        self.at = np.concatenate([system.seen(self.x), np.zeros((1, CONTROLS))])
        self.form = np.append(system.form, 0)
        self.values = np.append(self.y, 0.0)
        self.slopes = np.concatenate([self.dy, np.zeros((1, CONTROLS))])
        self.numbers = np.concatenate([self.base, np.zeros((1, WIDTH))])

    @cached_property
    def free(self) -> Array:
        """The nonlinear stamps."""
        return self.system.nonlinear

    @cached_property
    def free_moves(self) -> Array:
        """How every stamp moves the controls of the nonlinear ones, (stamps + 1, those · CONTROLS)."""
        return np.ascontiguousarray(self.moves[self.free].reshape(-1, self.count + 1).T)

    @cached_property
    def free_groups(self) -> list[tuple[Any, Array, Array]]:
        """The nonlinear stamps by form: function, their places among the nonlinear ones, their numbers."""
        found: list[tuple[Any, Array, Array]] = []
        for kind in np.unique(self.form[self.free]):
            function, width = FORMS[NAMES[kind]]
            part: Array = np.flatnonzero(self.form[self.free] == kind)
            found.append((function, part, self.numbers[self.free[part], :width]))
        return found

    def changes(
        self, variants: Sequence[Changes], state: Changes | None = None
    ) -> list[dict[int, tuple[float, ...]]]:
        """The stamps' numbers that each variant changes; state: what the point's own state has changed already."""
        own = state or {}
        found = []
        for variant in variants:
            stamps: dict[int, tuple[float, ...]] = {}
            for name, parameters in variant.items():
                p = {**self.system.nominal[name], **own.get(name, {}), **parameters}
                for m, stamp in zip(self.system.of[name], self.system.elements[name].stamps(p)):
                    width = len(stamp.numbers)
                    if stamp.numbers != tuple(self.base[m, :width]):
                        stamps[m] = stamp.numbers
            found.append(stamps)
        return found

    # --- solving --------------------------------------------------------------------------------------------------

    def solve(self, variants: Sequence[Mapping[int, tuple[float, ...]]], *, near: bool = False) -> Solution:
        """The operating point of each variant, given as stamp -> numbers. Never raises: see Solution.good.

        near: the changes are small, so that all else is taken as it bends at the point itself.
        """
        total = len(variants)
        members: list[list[int]] = [list(variant) for variant in variants]
        numbers = [dict(variant) for variant in variants]
        guess: list[dict[int, Array]] = [{} for _ in variants]
        good = np.zeros(total, bool)
        todo = [b for b in range(total) if members[b]]
        good[[b for b in range(total) if not members[b]]] = True
        deltas = np.zeros((total, self.count + 1))
        for _ in range(MOST_ROUNDS):
            again: list[int] = []
            for chunk in by_size(todo, members):
                active = self.padded([members[b] for b in chunk])
                p = self.filled(active, chunk, members, numbers)
                z = self.at[active]
                for row, b in enumerate(chunk):
                    for position, m in enumerate(members[b]):
                        if m in guess[b]:
                            z[row, position] = guess[b][m]
                delta, z, done = self._newton(active, p, z)
                self._turned(active, p, delta, z, done)
                rows = np.asarray(chunk)
                deltas[rows] = 0.0
                deltas[rows[:, None], active] = delta
                deltas[rows, self.count] = 0.0
                good[rows] = done
                for row, b in enumerate(chunk):
                    guess[b] = dict(zip(members[b], z[row]))
                again += [b for b, ok in zip(chunk, done) if ok]
            todo = [] if near else self._widened(again, deltas, members)
            if not todo:
                break
        good[todo] = False
        if near:
            deltas[~good] = 0.0
        else:
            self._rescue(np.flatnonzero(~good), members, numbers, deltas, good)
        return Solution(self, members, numbers, deltas, good)

    def padded(self, members: list[list[int]]) -> Array:
        """The stamps of several variants as one array; the place past the last stamp stands for none."""
        width = max(len(own) for own in members)
        return np.array([own + [self.count] * (width - len(own)) for own in members])

    def filled(
        self,
        active: Array,
        chunk: Sequence[int],
        members: list[list[int]],
        numbers: Sequence[Mapping[int, tuple[float, ...]]],
    ) -> Array:
        """The numbers of the active stamps of a chunk of variants, changed ones in their place."""
        p = self.numbers[active]
        for row, b in enumerate(chunk):
            own = numbers[b]
            for position, m in enumerate(members[b]):
                if m in own:
                    p[row, position] = 0.0
                    p[row, position, : len(own[m])] = own[m]
        return p

    def evaluate(self, active: Array, z: Array, p: Array) -> tuple[Array, Array]:
        """The values of the active stamps and their derivatives, at controls z with numbers p."""
        return _by_form(self._forms(active), active.shape, z, p)

    def _forms(self, active: Array) -> list[_Form]:
        """The active stamps by form."""
        form = self.form[active]
        return [
            (FORMS[NAMES[kind]], LIMITS.get(NAMES[kind]), np.nonzero(form == kind))
            for kind in np.unique(form)
        ]

    def _newton(self, active: Array, p: Array, z: Array) -> tuple[Array, Array, Array]:
        """δ (variants, active), the controls there, and which variants converged."""
        delta, done = np.zeros(active.shape), np.zeros(len(active), bool)
        rows, width = np.arange(len(active)), active.shape[1]
        while rows.size:
            own, reach = active[rows], self.moved[active[rows]]
            at, y0, dy0, forms = self.at[own], self.values[own], self.slopes[own], self._forms(own)
            numbers, here, before = p[rows], z[rows], delta[rows]
            moves = self.moves[own[:, :, None, None], np.arange(CONTROLS)[:, None], own[:, None, None, :]]
            busy = np.ones(len(rows), bool)
            for step in range(self.step, MOST_STEPS):
                y, dy = _by_form(forms, own.shape, here, numbers)
                steeper = dy - dy0
                right = y - y0 + (dy * (at - here)).sum(-1)
                matrix = np.eye(width) + (steeper[:, :, None] @ moves.transpose(0, 1, 2, 3))[:, :, 0]
                new = solved_one(matrix, right)
                wanted = at - (moves @ new[:, None, :, None])[..., 0]
                far = np.clip(wanted - here, -self.furthest, self.furthest)
                wanted = here + (far if step < PATIENT else far * 0.5)
                limited = _limited(forms, wanted, here, numbers)
                rests = (np.abs(limited - here) <= 1e-7 * (1 + np.abs(wanted))).all((-1, -2))
                idle = (np.abs(new - before) * reach <= IDLE).all(-1) & (limited == wanted).all((-1, -2))
                before, here = new, limited
                busy &= ~(rests | idle)
                if not busy.any() or (busy.sum() < len(rows) / 2 and len(rows) > 8):
                    break
            delta[rows], z[rows], done[rows] = before, here, ~busy
            if step + 1 >= MOST_STEPS or not busy.any():
                break
            self.step, rows = step + 1, rows[busy]
        self.step = 0
        return delta, z, done

    def _turned(self, active: Array, p: Array, delta: Array, z: Array, done: Array) -> None:
        """Where it did not settle: once more with comparators on their other side, for feedback may hold them there."""
        sinks, others = self.form[active] == _SINK, self.form[active] == _AMPLIFIER
        rows = np.flatnonzero(~done & (sinks | others).any(1))
        if not rows.size:
            return
        here = self.at[active[rows]]
        for kind, at, current in ((_SINK, sinks[rows], 2), (_AMPLIFIER, others[rows], 3)):
            own = here[at]
            taken = own[:, current] * p[rows][at][:, 1]  # V across its own ohms
            if kind == _SINK:
                own[:, current] = np.where(
                    taken > own[:, 1] / 2, 0.0, own[:, 1] / np.maximum(p[rows][at][:, 1], 1e-3)
                )
            else:
                top = own[:, 2] - p[rows][at][:, 3]
                own[:, 1] = np.where(own[:, 1] + taken > top / 2, p[rows][at][:, 2], top)
                own[:, current] = 0.0
            here[at] = own
        delta[rows], z[rows], done[rows] = self._newton(active[rows], p[rows], here)

    def _widened(self, solved_ones: list[int], deltas: Array, members: list[list[int]]) -> list[int]:
        """Take in the stamps whose deviation matters in a variant; those that have to be solved again."""
        free = self.free
        if not solved_ones or not free.size:
            return []
        rows = np.asarray(solved_ones)
        z = self.at[free] - (deltas[rows] @ self.free_moves).reshape(len(rows), len(free), CONTROLS)
        y = np.empty((len(rows), len(free)))
        for function, part, p in self.free_groups:
            y[:, part] = function(z[:, part], p)[0]
        off = (
            np.abs(y - self.values[free] - (self.slopes[free] * (z - self.at[free])).sum(-1))
            * self.moved[free]
        )
        over = off > MATTERS
        again = []
        for row in np.flatnonzero(over.any(1)):
            b = solved_ones[row]
            known = set(members[b])
            fresh = [int(m) for m in free[over[row]] if m not in known]
            if fresh:
                members[b] += fresh
                again.append(b)
        return again

    def _rescue(
        self,
        bad: Array,
        members: list[list[int]],
        numbers: list[dict[int, tuple[float, ...]]],
        deltas: Array,
        good: Array,
    ) -> None:
        """Where the short way does not settle: the whole network, from the sound point and then by all means."""
        if not bad.size:
            return
        full = np.repeat(self.base[None], len(bad), 0)
        for row, b in zip(full, bad):
            for m, own in numbers[b].items():
                row[m] = 0.0
                row[m, : len(own)] = own
        x, found = settle(self.system, full, self.x, patience=0)
        z = self.system.seen(x)
        y, _ = self.system.values(z, full)
        off = y - self.y - (self.dy * (z - self.at[:-1])).sum(-1)
        for row in np.flatnonzero(found):
            b = bad[row]
            deltas[b] = np.append(off[row], 0.0)
            moved = np.flatnonzero(np.abs(off[row]) * self.moved[:-1] > MATTERS / 10)
            members[b][:] = list(dict.fromkeys([*numbers[b], *(int(m) for m in moved)]))
            good[b] = True


def _by_form(forms: Sequence[_Form], shape: tuple[int, ...], z: Array, p: Array) -> tuple[Array, Array]:
    """Values and derivatives of stamps, form by form."""
    y, dy = np.zeros(shape), np.zeros((*shape, CONTROLS))
    for (function, width), _, at in forms:
        y[at], dy[at] = function(z[at], p[at][:, :width])
    return y, dy


def _limited(forms: Sequence[_Form], wanted: Array, before: Array, p: Array) -> Array:
    """The controls to linearise at next."""
    held = wanted.copy()
    for (_, width), limit, at in forms:
        if limit:
            held[at] = limit(wanted[at], before[at], p[at][:, :width])
    return held


@dataclass
class Solution:
    """Solved variants. good: where an operating point was found."""

    around: Around
    members: list[list[int]]
    numbers: list[dict[int, tuple[float, ...]]]
    deltas: Array
    good: Array

    @cached_property
    def x(self) -> Array:
        """The whole solution of each variant, (variants, size)."""
        around = self.around
        whole: Array = around.x - self.deltas[:, :-1] @ around.reach[:-1, :-1].T
        return whole

    def volts(self, net: str) -> Array:
        """The volts of a net against its island's reference in each variant."""
        return self.around.system.volts(self.x, net)


def by_size(todo: list[int], members: list[list[int]]) -> list[list[int]]:
    """Variants in groups of like size, so that little is padded."""
    groups: dict[int, list[int]] = {}
    for b in todo:
        size = len(members[b])
        groups.setdefault(1 if size == 1 else 10 if size <= 10 else 1000, []).append(b)
    return list(groups.values())
