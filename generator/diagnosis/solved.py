"""A state of the plugged-in device under every change: contacts, fuses and rails in agreement, each change solved once."""

from __future__ import annotations

import math
from collections.abc import Generator, Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias, TypeVar

import numpy as np

from generator.circuit.device.states import SHARE_DIGITS, Changed, fired, together
from generator.circuit.network import sources
from generator.circuit.network.primitives import Array
from generator.circuit.network.sensitivity import Nudges, nudged, nudges
from generator.circuit.network.solution import Solution
from generator.circuit.network.variants import Wanted, in_step
from generator.diagnosis.changing import changed_by, each_alone, put_by
from generator.diagnosis.limited import limited

if TYPE_CHECKING:
    from generator.circuit.device import Device, Place
    from generator.diagnosis.hypotheses import Change, Identity

STEP = 1.05  # times the current, from one at which a rail's figures are worked out to the next; nearly straight between them
LEAST_TAKEN = 1e-9  # A
T = TypeVar("T")
Solving: TypeAlias = Generator[Wanted, Solution, T]
MOST_ROUNDS = 3  # of contacts that move because of a change


@dataclass(frozen=True)
class Batch:
    """Solved changes: what each does to the elements, the solution, and how far tolerances move the stamps there."""

    variants: list[Changed]
    solution: Solution
    nudged: Array

    def of(self, rows: Sequence[int]) -> Batch:
        """Some of them."""
        at = np.array(rows, dtype=int)
        return Batch([self.variants[row] for row in rows], self.solution.of(at), self.nudged[at])


def state_under(device: Device, state: str, place: Place | None) -> StateUnder:
    """A state of the device, with what has to be done to the circuit for a place; kept with the device."""
    key = ("state under", device.row(state), place and (place.block, place.failed, place.put))
    if key not in device.kept:
        device.kept[key] = StateUnder(device, device.row(state), place)
    found: StateUnder = device.kept[key]
    return found


def solve_all(several: Iterable[StateUnder], changes: Sequence[Change]) -> None:
    """Solves the changes in several states of a device at once, which costs less than one after the other."""
    in_step([own.solving(changes) for own in several])


@dataclass
class StateUnder:
    """One state of a device. place: whose failures and numbers hold while it is read (see Probe), None for nothing."""

    device: Device
    row: int
    place: Place | None
    known: dict[Identity, int] = field(default_factory=dict)
    # what one failure's sizes have in common -> the logarithm of each, and its row, where it has an operating point
    sizes: dict[Identity, list[tuple[float, int]]] = field(default_factory=dict)
    batch: Batch | None = None
    # row of the batch -> its rows with a low and a high limit, and the chance that neither holds it
    held: dict[int, tuple[int, int, float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        device = self.device
        self.state = device.states[self.row].name
        self.own: Changed = device.solved.changes[self.row]
        self.around = device.around(self.state)
        self.under = put_by(device, self.place, self.own) if self.place else {}
        self.there = together(self.own, self.under)
        self.spread: Nudges = nudges(self.around, device.axes, self.own)

    def solved(self, changes: Sequence[Change]) -> Batch:
        """The changes in their order."""
        solve_all([self], changes)
        return self._of([self.known[change.identity] for change in changes])

    def with_limits(self, changes: Sequence[Change]) -> tuple[Batch, list[int], Array]:
        """The same and, behind them, those in which regulators or converters would have to give more than they can: all of them with a low
        limit, then with a high one; which those are, and the chance of each that neither holds it."""
        solve_all([self], changes)
        rows = [self.known[change.identity] for change in changes]
        found = [n for n, row in enumerate(rows) if row in self.held]
        held = [self.held[rows[n]] for n in found]
        batch = self._of(rows + [own[0] for own in held] + [own[1] for own in held])
        return batch, found, np.array([own[2] for own in held])

    def _of(self, rows: list[int]) -> Batch:
        assert self.batch is not None
        return self.batch if rows == list(range(len(self.batch.variants))) else self.batch.of(rows)

    def solving(self, changes: Sequence[Change]) -> Solving[None]:
        """Solves those of the changes that are not known yet."""
        fresh = {key: change for change in changes if (key := change.identity) not in self.known}
        if not fresh and self.batch is not None:
            return
        first = 0 if self.batch is None else len(self.batch.variants)
        variants, solution = yield from self._solved(list(fresh.values()))
        rows, ends = limited(self.device, self.around.system, self.row, variants, solution)
        if rows:
            more = yield self._wanted(ends, np.concatenate([solution.deltas[list(rows)]] * 2))
            low, high = (first + len(variants) + end * len(rows) for end in (0, 1))
            self.held.update(
                (first + row, (low + n, high + n, whole)) for n, (row, whole) in enumerate(rows.items())
            )
            variants, solution = variants + ends, solution.followed_by(more)
        own = Batch(variants, solution, nudged(solution, self.spread))
        for row, (key, good) in enumerate(zip(fresh, solution.good.tolist()), start=first):
            self.known[key] = row
            group, size, *rest = key
            if good and isinstance(size, float):
                self.sizes.setdefault((group, *rest), []).append((math.log(size), row))
        self.batch = own if self.batch is None else _joined(self.batch, own)

    def _solved(self, changes: Sequence[Change]) -> Solving[tuple[list[Changed], Solution]]:
        variants = [changed_by(self.device, change, self.there, self.state) for change in changes]
        if self.under:
            variants = [together(self.under, changed) for changed in variants]
        self._with_mains(variants, range(len(variants)))
        solution = yield self._wanted(variants, self._nearest(changes))
        for _ in range(MOST_ROUNDS):
            moved = self._followers(solution, variants)
            if not moved:
                break
            for number, follows in moved.items():
                variants[number] = together(variants[number], follows)
            self._with_mains(variants, moved)
            again = yield self._wanted([variants[n] for n in moved], solution.deltas[list(moved)])
            solution = solution.with_rows(list(moved), again)
        return variants, solution

    def _nearest(self, changes: Sequence[Change]) -> Array | None:
        """Where to begin: the deviations under that size of the same failure which is solved and nearest; of two failures
        that are solved by themselves, what both make; else none."""
        if self.batch is None:
            return None
        deltas = self.batch.solution.deltas
        begin = np.zeros((len(changes), deltas.shape[1]))
        near = [(row, like) for row, change in enumerate(changes) for like in self._like(change)]
        rows, likes = np.array(near, dtype=int).reshape(-1, 2).T
        np.add.at(begin, rows, deltas[likes])
        return begin

    def _like(self, change: Change) -> list[int]:
        """The rows of what is solved and together comes near a change."""
        if change.also is not None:
            both = [row for key in each_alone(change) if (row := self.known.get(key)) is not None]
            if len(both) == 2:
                return both
        group, size, *rest = change.identity
        sizes = self.sizes.get((group, *rest))
        if not sizes or not isinstance(size, float):
            return []
        return [min(sizes, key=lambda own: abs(own[0] - math.log(size)))[1]]

    def _wanted(self, variants: Sequence[Changed], begin: Array | None) -> Wanted:
        return Wanted(self.around, self.around.changes(variants, self.own), begin=begin)

    def _with_mains(self, variants: list[Changed], rows: Iterable[int]) -> None:
        """Add to variants (those of rows) what follows on the mains side: fuses that blow, what the rails get."""
        side = self.device.side
        touched = [row for row in rows if any(name in side.elements for name in variants[row])]
        if not touched:
            return
        for row, triacs in zip(touched, fired(self.device, [variants[n] for n in touched], self.own)):
            variants[row] = together(variants[row], triacs)
        solved = side.solve([variants[row] for row in touched], self.own)
        blown = []
        for fuse in side.fuses:
            for n in np.flatnonzero(solved.amperes(fuse.name) > fuse.blows):
                variants[touched[n]] = together(variants[touched[n]], {fuse.name: {"ohms": np.inf}})
                blown.append(int(n))
        if blown:
            solved = side.solve([variants[row] for row in touched], self.own)
        for name, rail in self.device.elements.items():
            if isinstance(rail, sources.Rail) and rail.fed:
                live, neutral, rated = rail.fed
                before = self.own.get(name, {}).get("share", 1.0)
                for row, volts in zip(touched, solved.volts(live, neutral)):
                    share = round(float(volts) / rated, SHARE_DIGITS)
                    if share != before:
                        variants[row] = together(variants[row], {name: {"share": share}})

    def figure(
        self, rail: sources.Rail, figure: str, amperes: Array, batch: Batch, rows: Array | None = None
    ) -> Array:
        """A figure of a rail's steady state in each variant, while so much is taken of it; of these rows only, where they are
        given. Most variants leave the rail as it is: it is worked out in steps of the current, between which it is straight."""
        assert rail.figures is not None
        figures, sound = rail.figures, {**rail.nominal(), **self.own.get(rail.name, {})}
        known: dict[object, float] = self.device.kept.setdefault(("rail", rail.name, figure), {})

        def at(p: dict[str, float], taken: float) -> float:
            key = (*p.values(), taken)
            if key not in known:
                known[key] = figures(p, taken).get(figure, 0.0)
            return known[key]

        amperes = np.maximum(amperes, LEAST_TAKEN)
        chosen = np.arange(len(batch.variants)) if rows is None else rows
        first = np.floor(np.log(amperes[chosen]) / math.log(STEP)).astype(int)
        steps = [STEP**step for step in sorted({*first.tolist(), *(first + 1).tolist()})]
        if not steps:
            return np.zeros_like(amperes)
        found = np.interp(amperes, steps, [at(sound, step) for step in steps])
        for row in chosen.tolist():
            variant = batch.variants[row]
            if rail.name in variant:
                found[row] = at({**sound, **variant[rail.name]}, float(f"{amperes[row]:.4g}"))
        return found

    def _followers(self, solution: Solution, variants: Sequence[Changed]) -> dict[int, Changed]:
        """Variants in which a relay's coil or a triac's gate gets another voltage than it should, and what follows."""
        moved: dict[int, Changed] = {}
        for follower in self.device.followers:
            name, key = follower.element, follower.number
            a, b = follower.nets
            volts = np.abs(solution.volts(a) - solution.volts(b)) * self._passed(follower.coil, variants)
            pulled = volts >= self.device.thresholds.get(follower.drive, np.inf)
            now = (pulled != follower.rest).astype(float)
            before = self.own.get(name, self.device.elements[name].nominal())[key]
            for number in np.flatnonzero(solution.good).tolist():
                own = variants[number].get(name, {})
                # what is worn, stuck or dead does not follow; a converter that has stopped stays off
                stuck = "ohms" in own or (key in own and (key == "on" or own[key] == now[number]))
                if now[number] != own.get(key, before) and not stuck:
                    moved.setdefault(int(number), {})[name] = {key: float(now[number])}
        return moved

    def _passed(self, coil: str, variants: Sequence[Changed]) -> Array:
        """Which share of its current a coil still takes at the same volts in each variant, at most all of it: shorted turns
        pull no stronger."""
        if not coil:
            return np.ones(len(variants))
        sound = {**self.device.elements[coil].nominal(), **self.own.get(coil, {})}["ohms"]
        ohms = np.array([variant.get(coil, {}).get("ohms", sound) for variant in variants])
        passed: Array = sound / np.maximum(ohms, sound)
        return passed


def _joined(one: Batch, other: Batch) -> Batch:
    """Two batches, one after the other."""
    return Batch(
        one.variants + other.variants,
        one.solution.followed_by(other.solution),
        np.concatenate([one.nudged, other.nudged]),
    )
