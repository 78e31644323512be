"""What readings come to in every variant, and how far each tolerance moves them there.

A reading is linear in the deviations of the stamps, R = R0 + K·δ. A tolerance lets a stamp's value deviate by Δy more; what
follows elsewhere is the adjoint of the variant's own converged Jacobian, so that nothing is solved again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from generator.circuit.network.around import Around
from generator.circuit.network.compile import NAMES, WIDTH, Changes
from generator.circuit.network.linear import solved
from generator.circuit.network.primitives import CONTROLS, FORMS, Array, ready
from generator.circuit.network.reading import Reading, Seen
from generator.circuit.network.solution import Solution
from generator.circuit.network.stamps import POINTS
from generator.circuit.network.tolerances import NUDGE, Axis


@dataclass(frozen=True)
class Nudges:
    """Stamps whose numbers tolerance axes change: stamp (E), axis (E), their numbers a nudge along the axis (E, WIDTH)."""

    stamps: Array
    axis: Array
    numbers: Array
    scatters: Array  # whether what a variant has changed does (Element.SCATTERS)
    shares: Array  # (axes, 2): the low and the high end in units of the step that was nudged


def nudges(around: Around, axes: Sequence[Axis], state: Changes | None = None) -> Nudges:
    """The nudges of the axes about a state of the system; state: what it has changed (contacts, drives)."""
    found = around.changes([axis.at(around.system.nominal, NUDGE, state) for axis in axes], state)
    entries = [(m, a, values) for a, changed in enumerate(found) for m, values in changed.items()]
    numbers = np.zeros((len(entries), WIDTH))
    for row, (_, _, values) in zip(numbers, entries):
        row[: len(values)] = values
    return Nudges(
        np.array([m for m, _, _ in entries], dtype=int),
        np.array([a for _, a, _ in entries], dtype=int),
        numbers,
        np.array([around.system.scatters[m] for m, _, _ in entries], dtype=bool),
        np.array([axis.shares for axis in axes]).reshape(-1, 2),
    )


def functionals(around: Around, readings: Sequence[Reading]) -> tuple[Array, Array, Array, Array]:
    """R0 (readings), K (readings, stamps + 1), and for a current drawn at each place: how it moves the controls of all
    stamps (stamps + 1, CONTROLS, readings) and the readings themselves (readings, readings)."""
    system = around.system
    size, count = system.size, around.count
    gradient, direct, first = (
        np.zeros((len(readings), size + 1)),
        np.zeros((len(readings), count + 1)),
        np.zeros(len(readings)),
    )
    places = np.zeros((size + 1, len(readings)))
    whole = np.append(around.x, 0.0)
    for r, reading in enumerate(readings):
        if not reading.element:
            for net, sign in ((reading.plus, 1.0), (reading.minus, -1.0)):
                if net:
                    gradient[r, system.index[net]] += sign
                    places[system.index[net], r] += sign
            continue
        own = [
            (m, net or system.elements[name].nets[0], way)
            for name, net, way in ((reading.element, reading.plus, 1), (reading.less, "", -1))
            if name
            for m in system.of[name]
        ]
        for m, net, way in own:
            stamp = system.stamps[m]
            sign = way * ((stamp.out[0] == net) - (stamp.out[1] == net))
            if stamp.branch:
                gradient[r, system.branch[m]] += sign
            elif sign:
                direct[r, m] += sign
                first[r] += sign * (around.y[m] - around.dy[m] @ around.at[m])
                for c in range(CONTROLS):
                    gradient[r, around.plus[m, c]] += sign * around.dy[m, c]
                    gradient[r, around.minus[m, c]] -= sign * around.dy[m, c]
    gradient[:, size] = 0.0
    first += gradient @ whole
    k = direct - gradient @ around.reach
    drawn = np.concatenate([around.inverse @ places[:size], np.zeros((1, len(readings)))])
    return first, k, drawn[around.plus] - drawn[around.minus], -gradient @ drawn


HELD = ("sink", "amplifier")  # what may be held on one side and is as uncertain there as ever
NO_SPREAD = Nudges(
    np.zeros(0, dtype=int), np.zeros(0, dtype=int), np.zeros((0, WIDTH)), np.zeros(0, bool), np.zeros((0, 2))
)


def shown(solution: Solution, readings: Sequence[Reading]) -> Array:
    """What the readings come to in every variant, and nothing else, (variants, readings)."""
    first, k, _, _ = functionals(solution.around, readings)
    values: Array = first + solution.deltas @ k.T
    return values


def read(
    solution: Solution, readings: Sequence[Reading], spread: Nudges = NO_SPREAD, change: Array | None = None
) -> Seen:
    """The readings in every variant. spread: nudges(...); change: nudged(solution, spread) where that is known already."""
    around, stamps, axes = solution.around, spread.stamps, len(spread.shares)
    first, k, pulled, own = functionals(around, readings)
    values = first + solution.deltas @ k.T
    total, wanted = values.shape
    source = np.repeat(-np.diag(own)[None], total, 0)
    change = nudged(solution, spread) if change is None else change
    gather = np.zeros((len(stamps), axes))
    gather[np.arange(len(stamps)), spread.axis] = 1 / NUDGE
    direct = (k[:, stamps].T[..., None] * gather[:, None, :]).reshape(len(stamps), wanted * axes)
    slopes = (change @ direct).reshape(total, wanted, axes)
    # what else moves controls: nudges, currents drawn
    ways = np.concatenate([around.moves[:, :, stamps], pulled], 2)
    for rows, bends in _alike(solution):
        active, flows = _active(solution, rows, ways, bends)
        matrix = np.eye(active.shape[1]) + flows[:, :, : active.shape[1]]
        weights = solved(matrix.transpose(0, 2, 1), k[:, active].transpose(1, 2, 0)).transpose(0, 2, 1)
        nudge, draw = np.split(flows[:, :, active.shape[1] :], [len(stamps)], 2)
        source[rows] += np.einsum("brk,bkr->br", weights, draw)
        along = (nudge * change[rows, None, :]).reshape(active.size, len(stamps)) @ gather
        slopes[rows] -= weights @ along.reshape(*active.shape, axes)
    volts = np.array([not reading.element for reading in readings])
    return Seen(values, np.where(volts, np.maximum(source, 0.0), 0.0), slopes, spread.shares, solution.good)


def _alike(solution: Solution) -> list[tuple[Array, bool]]:
    """The variants in which anything deviates, (which, whether stamps that bend are among it)."""
    bends = solution.steeper.any((1, 2))
    straight = ~bends & (solution.straight < solution.around.count).any(1)
    return [
        (rows, own)
        for rows, own in ((np.flatnonzero(bends), True), (np.flatnonzero(straight), False))
        if rows.size
    ]


def _active(solution: Solution, rows: Array, ways: Array, bends: bool) -> tuple[Array, Array]:
    """The stamps that deviate in some variants, those that bend first, and what flows in each of them beyond what the point
    lets expect, for a unit of each of their own deviations and for each of the ways, (variants, active, active + ways)."""
    around, straight = solution.around, solution.straight[rows]
    slopes = solution.straight_slopes[rows, :, None, :]
    bent = around.bent if bends else around.bent[:0]
    active = np.concatenate([np.repeat(bent[None], len(rows), 0), straight], 1)
    size, count = active.shape[1], len(bent)
    flows = np.empty((len(rows), size, size + ways.shape[2]))
    flows[:, count:, :size] = (
        slopes @ around.moves[straight[:, :, None, None], [[0], [1]], active[:, None, None]]
    )[:, :, 0]
    flows[:, count:, size:] = (slopes @ ways[straight, :2])[:, :, 0]
    if bends:
        steeper, own = solution.steeper[rows].transpose(2, 0, 1), around.bends
        flows[:, :count, :count] = own.weighted(steeper, own.split(around.bent_moves[:, bent]))
        by_straight = around.bent_moves[:, straight].transpose(1, 0, 2)
        flows[:, :count, count:size] = own.weighted(steeper, own.split(by_straight))
        flows[:, :count, size:] = own.weighted(steeper, own.split(own.packed(ways[bent].transpose(1, 0, 2))))
    return active, flows


def nudged(solution: Solution, spread: Nudges) -> Array:
    """By how much each nudged stamp's value changes at every variant's own controls, (variants, E)."""
    around, stamps = solution.around, spread.stamps
    variants = len(solution.deltas)
    changed = np.zeros((variants, around.count + 1), bool)
    moved_by = [len(numbers) for numbers in solution.numbers]
    changed[
        np.repeat(np.arange(variants), moved_by), [m for numbers in solution.numbers for m in numbers]
    ] = True
    gone = changed[:, stamps]
    z, change = np.zeros((variants, len(stamps), 2)), np.zeros((variants, len(stamps)))
    form = around.form[stamps]
    for kind in set(form.tolist()):
        at = np.flatnonzero(form == kind)
        name, controls = NAMES[kind], FORMS[NAMES[kind]].controls
        moves = around.moves[stamps[at], :controls].reshape(-1, around.count + 1)
        moved = (solution.deltas @ moves.T).reshape(variants, len(at), controls)
        own = (around.at[stamps[at], :controls] - moved).transpose(2, 0, 1)
        there, base = (ready(name, p) for p in (spread.numbers[at], around.numbers[stamps[at]]))
        change[:, at] = FORMS[name].evaluate(own, there)[0] - FORMS[name].evaluate(own, base)[0]
        z[:, at, : min(controls, 2)] = own[:2].transpose(1, 2, 0)
        if name in HELD:
            variant, column = np.nonzero(gone[:, at])
            change[variant, at[column]] = _still(
                solution, spread, variant, at[column], own[:, variant, column]
            )
            gone[:, at] = False
    full = change.copy()
    change[gone] = 0.0
    rail, straight = (form == NAMES.index(name) for name in ("rail", "linear"))
    variant, column = np.nonzero(gone & (rail | straight))
    own = np.zeros((len(variant), WIDTH))
    for row, v, stamp in zip(own, variant.tolist(), stamps[column].tolist()):
        now = solution.numbers[v][stamp]
        row[: len(now)] = now
    # what is changed scatters in proportion to what it is now
    before = around.numbers[stamps[column]]
    shares = np.where(before != 0, own / np.where(before != 0, before, 1.0), own == 0)
    shares = shares * spread.scatters[column, None]
    step = (shares * (spread.numbers[column] - before))[:, :3]
    linear = step[:, 0] + (step[:, 1:] * z[variant, column, :2]).sum(-1)
    change[variant, column] = np.where(rail[column], full[variant, column] * shares[:, POINTS], linear)
    return change


def _still(solution: Solution, spread: Nudges, variant: Array, column: Array, z: Array) -> Array:
    """By how much the values of stamps that a variant has changed change with those of their numbers that it has left alone. All of
    one form; variant, column: which of them; z (controls, those)."""
    stamps = spread.stamps[column]
    now, before = np.zeros((len(stamps), WIDTH)), solution.around.numbers[stamps]
    for row, v, stamp in zip(now, variant.tolist(), stamps.tolist()):
        own = solution.numbers[v][stamp]
        row[: len(own)] = own
    moved = np.where(now == before, spread.numbers[column], now)
    if not len(stamps):
        return np.zeros(0)
    name = NAMES[solution.around.form[stamps[0]]]
    there, here = (FORMS[name].evaluate(z, ready(name, p))[0] for p in (moved, now))
    return there - here
