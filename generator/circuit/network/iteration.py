"""Plain Newton iteration of whole networks, with limited junctions, many at once."""

from __future__ import annotations

import numpy as np

from generator.circuit.network.bends import Ready, rows_of
from generator.circuit.network.compile import System
from generator.circuit.network.linear import solved_one
from generator.circuit.network.primitives import Array
from generator.circuit.network.stamps import POINTS

MOST_STEPS = 60
CURRENT = 5e-10  # of the largest current, to which the currents into every net add up to nothing
VOLTAGE = 1e-9  # V, and as a share, to which everything has come to rest
ROUNDING = 1e-15  # of a voltage: what doubles lose in a few operations
LOST = 1e-14  # of a current, what is lost as it is added to and taken from several others
NOTHING = 1e-15  # A: what flows where everything is dead
TURNS, BACK = 5, 0.8  # after so many steps one that takes back that share of the last goes but half as far
POLISH = 5  # last steps at most
PATIENT, NEARLY = 15, 2e-5  # after so many steps this is enough: a corner between two regimes goes to and fro
FURTHEST = 2.0  # times the highest source, that a net may move in one step


def iterate(
    system: System,
    numbers: Array,
    x: Array,
    hold: float = 0.0,
    steps: int = MOST_STEPS,
    anchor: Array | None = None,
    same: Array | None = None,
    turns: bool = False,
) -> tuple[Array, Array]:
    """Newton's method from x: (x, which rows converged). hold: S from every net to its anchor (0 V). same: a number of each row;
    where one of several with the same number has converged, the others are left. turns: corners between two regimes are met by
    ever shorter steps."""
    good, rows = np.zeros(len(x), bool), np.arange(len(x))
    found, nets, bends = x.copy(), system.voltages, system.bends
    gone, share = np.zeros_like(x), np.ones(len(x))
    p, seen = system.bent_ready(numbers), system.bent_seen(x)
    z = seen if x.any() else _lit(system, seen, p)
    linear, shift = whole = _linear(system, numbers, hold, anchor)
    reach, straight = _reach(system, numbers), _straight(system, numbers)
    for step in range(steps):
        y, dy = bends.evaluate(z, p)
        bent = y + (dy * (seen - z)).sum(0)
        left = (linear @ x[..., None])[..., 0] + shift + bent @ system.bent_out.T
        change = -solved_one(linear + system.bent_out @ bends.weighted(dy, system.bent_controls), left)
        most = FURTHEST if step < 20 else FURTHEST / (step - 18)  # it goes to and fro: shorter steps
        top = most * reach
        change[:, :nets] = np.clip(change[:, :nets], -top, top)
        if turns and step > TURNS:
            back = (change * gone)[:, :nets].sum(-1) < -BACK * (gone[:, :nets] ** 2).sum(-1)
            share = np.where(back, share / 2, np.minimum(share * 2, 1.0))
        gone = change * share[:, None]
        x = x + gone
        seen = system.bent_seen(x)
        limited = bends.limited(seen, z, p)
        scale = np.abs(y).max(-1, initial=0.0) + np.abs(x[:, nets:]).max(-1, initial=0.0)
        near = VOLTAGE if step < PATIENT else NEARLY
        quiet = (np.abs(change) <= near * (1 + np.abs(x))).all(-1)
        still = (limited == seen).all((0, 2))
        flows, rules = (np.abs(own).max(-1, initial=0.0) for own in (left[:, :nets], left[:, nets:]))
        small = (flows <= 1e-3 * scale + 1e-13) & (rules <= near + CURRENT * scale)
        # what next to nothing holds moves by what rounding makes of the currents beside it
        if step >= PATIENT:
            lost = _rounding(system, straight, x, y, dy)
            quiet |= (flows <= lost) & (rules <= VOLTAGE)
        z = limited
        done = quiet & still & small
        stays = ~done & np.isfinite(change).all(-1)
        if same is not None and done.any():
            stays &= ~np.isin(same[rows], same[rows[done]])
        if not stays.all() or step == steps - 1:
            found[rows], good[rows] = x, done
            if not stays.any():
                break
            rows, x, linear, shift, reach, straight, gone, share = (
                own[stays] for own in (rows, x, linear, shift, reach, straight, gone, share)
            )
            z, seen, p = z[:, stays], seen[:, stays], rows_of(p, stays)
    if good.any():
        rows = np.flatnonzero(good)
        found[rows], good[rows] = _polished(
            system, numbers[rows], found[rows], whole[0][rows], whole[1][rows]
        )
    return found, good


def _straight(system: System, numbers: Array) -> Array:
    """The steepest of the linear stamps in each state, S."""
    steepest: Array = np.abs(numbers[:, system.straight, 1]).max(-1, initial=0.0)
    return steepest


def _rounding(system: System, straight: Array, x: Array, y: Array, dy: Array) -> Array:
    """What rounding alone may leave of the currents into a net, A: (states,)."""
    flows = ~system.is_rule[system.bends.stamps]
    steep = np.maximum(np.abs(dy[:, :, flows]).max((0, 2), initial=0.0), straight)
    highest = np.abs(x[:, : system.voltages]).max(-1, initial=0.0)
    largest = np.abs(y[:, flows]).max(-1, initial=0.0)
    most: Array = NOTHING + LOST * (steep * highest + largest)
    return most


def _lit(system: System, z: Array, p: Ready) -> Array:
    """From nothing, junctions start at their knee, from where they are quickly on or off."""
    lit = z.copy()
    for (name, own), numbers in zip(system.bends.forms, p):
        if name == "junction":
            knee = numbers[7]
            lit[0, :, own] = np.where(np.isfinite(knee), knee, z[0, :, own])
    return lit


def _linear(system: System, numbers: Array, hold: float, anchor: Array | None) -> tuple[Array, Array]:
    """What of the equations does not bend, in each state: (matrix, constant)."""
    members = system.straight
    slopes = numbers[:, members, 1:3]
    weighted = np.einsum("bmc,cmn->bmn", slopes, system.controls[:2, members])
    matrix = system.constant + system.out[:, members] @ weighted
    shift = numbers[:, members, 0] @ system.out[:, members].T
    if hold:
        at = np.arange(system.voltages)
        matrix[:, at, at] += hold
        if anchor is not None:
            shift[:, : system.voltages] -= hold * anchor[:, : system.voltages]
    return matrix, shift


def _polished(system: System, numbers: Array, x: Array, linear: Array, shift: Array) -> tuple[Array, Array]:
    """To the last digit: (x, where the currents into every net add up)."""
    fine, p = np.zeros(len(x), bool), system.bent_ready(numbers)
    for _ in range(POLISH):
        y, dy = system.bends.evaluate(system.bent_seen(x), p)
        left = (linear @ x[..., None])[..., 0] + shift + y @ system.bent_out.T
        all_y, all_dy = system.values(system.seen(x), numbers)
        fine = (np.abs(left[:, : system.voltages]) <= allowed(system, x, all_y, all_dy)[:, None]).all(-1)
        if fine.all():
            break
        slopes = system.bends.weighted(dy, system.bent_controls)
        x = x - solved_one(linear + system.bent_out @ slopes, left)
    return x, fine


def allowed(system: System, x: Array, y: Array, dy: Array) -> Array:
    """What the currents into a net may add up to, (states,): CURRENT of the largest, and what rounding makes of steep
    conductances between high voltages."""
    largest = np.maximum(
        np.abs(y[:, ~system.is_rule]).max(-1, initial=0.0),
        np.abs(x[:, system.voltages :]).max(-1, initial=0.0),
    )
    steep = (np.abs(dy[:, ~system.is_rule]).max(-1) if dy.size else np.zeros((len(x), 1))).max(
        -1, initial=0.0
    )
    highest = np.abs(x[:, : system.voltages]).max(-1, initial=0.0)
    most: Array = NOTHING + CURRENT * largest + ROUNDING * steep * highest
    return most


def _reach(system: System, numbers: Array) -> Array:
    """The highest voltage that any source makes in each state, (states, 1), and 5 V."""
    top = np.full(len(numbers), 5.0)
    for m, stamp in enumerate(system.stamps):
        if stamp.form == "linear" and not stamp.branch and stamp.numbers[0]:
            top = np.maximum(
                top, np.minimum(np.abs(numbers[:, m, 0]) / np.maximum(numbers[:, m, 1], 1e-9), 1e3)
            )
        elif stamp.form == "linear" and stamp.branch:
            top = np.maximum(top, np.abs(numbers[:, m, 0]))
        elif stamp.form == "rail":
            top = np.maximum(top, numbers[:, m, POINTS])
    return top[:, None]
