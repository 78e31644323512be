"""What readings come to in every variant, and how far each tolerance moves them there.

A reading is linear in the deviations of the stamps, R = R0 + K·δ. A tolerance lets a stamp's value deviate by Δy more; what
follows elsewhere is the adjoint of the variant's own converged Jacobian, so that nothing is solved again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from generator.circuit.network.compile import NAMES, WIDTH, Changes
from generator.circuit.network.linear import solved
from generator.circuit.network.primitives import CONTROLS, FORMS, Array, ready
from generator.circuit.network.stamps import POINTS
from generator.circuit.network.tolerances import NUDGE, Axis
from generator.circuit.network.variants import Around, Reading, Seen, Solution


@dataclass(frozen=True)
class Nudges:
    """Stamps whose numbers tolerance axes change: stamp (E), axis (E), their numbers a nudge along the axis (E, WIDTH)."""

    stamps: Array
    axis: Array
    numbers: Array
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


NO_SPREAD = Nudges(np.zeros(0, dtype=int), np.zeros(0, dtype=int), np.zeros((0, WIDTH)), np.zeros((0, 2)))


def read(
    solution: Solution,
    readings: Sequence[Reading],
    spread: Nudges = NO_SPREAD,
    change: Array | None = None,
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
    ways = np.concatenate(
        [around.moves[:, :, stamps], pulled], 2
    )  # what else moves controls: nudges, currents drawn
    for rows, bends in _alike(solution):
        active, steeper = _active(solution, rows, bends)
        moves = around.moves[active[:, :, None, None], np.arange(CONTROLS)[:, None], active[:, None, None, :]]
        matrix = np.eye(active.shape[1]) + np.einsum("bkc,bkcl->bkl", steeper, moves)
        weights = solved(matrix.transpose(0, 2, 1), k[:, active].transpose(1, 2, 0)).transpose(0, 2, 1)
        flows = _flows(around, active, steeper, ways, bends)
        source[rows] += np.einsum("brk,bkr->br", weights, flows[:, :, len(stamps) :])
        slopes[rows] -= weights @ ((flows[:, :, : len(stamps)] * change[rows, None, :]) @ gather)
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


def _active(solution: Solution, rows: Array, bends: bool) -> tuple[Array, Array]:
    """The stamps that deviate in some variants, those that bend first, and how much steeper they have become."""
    active, slopes = solution.straight[rows], solution.straight_slopes[rows]
    steeper = np.zeros((*active.shape, CONTROLS))
    steeper[..., :2] = slopes
    if bends:
        every = np.repeat(solution.around.bent[None], len(rows), 0)
        active, steeper = (
            np.concatenate([every, active], 1),
            np.concatenate([solution.steeper[rows], steeper], 1),
        )
    return active, steeper


def _flows(around: Around, active: Array, steeper: Array, ways: Array, bends: bool) -> Array:
    """What each way makes flow in the active stamps, (variants, active, ways)."""
    count = len(around.bent) if bends else 0
    flows = np.empty((*active.shape, ways.shape[2]))
    flows[:, :count] = (steeper[:, :count].transpose(1, 0, 2) @ ways[active[0, :count]]).transpose(1, 0, 2)
    flows[:, count:] = (steeper[:, count:, None, :2] @ ways[active[:, count:], :2])[:, :, 0]
    return flows


def nudged(solution: Solution, spread: Nudges) -> Array:
    """By how much each nudged stamp's value changes at every variant's own controls, (variants, E)."""
    around, stamps = solution.around, spread.stamps
    flat = around.moves[stamps].reshape(-1, around.count + 1)
    z = around.at[stamps] - (solution.deltas @ flat.T).reshape(len(solution.deltas), len(stamps), CONTROLS)
    change = np.zeros(z.shape[:-1])
    form = around.form[stamps]
    for kind in set(form.tolist()):
        at = np.flatnonzero(form == kind)
        name, own = NAMES[kind], np.moveaxis(z[:, at], -1, 0)
        there, base = (ready(name, p) for p in (spread.numbers[at], around.numbers[stamps[at]]))
        change[:, at] = FORMS[name].evaluate(own, there)[0] - FORMS[name].evaluate(own, base)[0]
    full = change.copy()
    changed = np.zeros((len(change), around.count + 1), bool)
    for row, numbers in zip(changed, solution.numbers):
        row[list(numbers)] = True
    gone = changed[:, stamps]
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
    step = (shares * (spread.numbers[column] - before))[:, :3]
    linear = step[:, 0] + (step[:, 1:] * z[variant, column, :2]).sum(-1)
    change[variant, column] = np.where(rail[column], full[variant, column] * shares[:, POINTS], linear)
    return change
