"""The operating point at direct current: Newton's method with limited junctions, then by stages where that fails.

Several states of one network are solved together. Where plain iteration does not settle, the network is first held by
conductances that are taken away, then its sources are raised from zero, then it is let settle in pseudo-time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from generator.circuit.network.bends import Ready, rows_of
from generator.circuit.network.compile import NAMES, Changes, System
from generator.circuit.network.element import NoOperatingPoint
from generator.circuit.network.linear import solved_one
from generator.circuit.network.primitives import Array
from generator.circuit.network.stamps import POINTS

MOST_STEPS = 60
CURRENT = 5e-10  # of the largest current, to which the currents into every net add up to nothing
VOLTAGE = 1e-9  # V, and as a share, to which everything has come to rest
ROUNDING = 1e-15  # of a voltage: what doubles lose in a few operations
LOST = 1e-14  # of a current, what is lost as it is added to and taken from several others
NOTHING = 1e-15  # A: what flows where everything is dead
POLISH = 5  # last steps at most
PATIENT, NEARLY = 15, 2e-5  # after so many steps this is enough: a corner between two regimes goes to and fro
FURTHEST = 2.0  # times the highest source, that a net may move in one step

_SCALED = {
    "linear": [0],
    "load": [0],
    "regulator": [0],
    "amplifier": [2, 3, 4],
    "rail": list(range(POINTS, 2 * POINTS)),
}


@dataclass(frozen=True)
class Point:
    """Solved states of a system: x (states, size), the stamps' numbers (states, stamps, WIDTH), y and dy there."""

    system: System
    x: Array
    numbers: Array
    y: Array
    dy: Array

    def volts(self, plus: str, minus: str = "") -> Array:
        """The voltage between two nets (or against the island's reference) in each state."""
        against = self.system.volts(self.x, minus) if minus else 0.0
        return self.system.volts(self.x, plus) - against

    def amperes(self, element: str, net: str = "") -> Array:
        """The current into an element at a net, its first terminal's unless stated, in each state."""
        return currents(self.system, self.x, self.y, element, net)


def currents(system: System, x: Array, y: Array, element: str, net: str = "") -> Array:
    """The current into an element at a net, its first terminal's unless stated."""
    first = net or system.elements[element].nets[0]
    total = np.zeros(x.shape[:-1])
    for m in system.of[element]:
        stamp = system.stamps[m]
        sign = (stamp.out[0] == first) - (stamp.out[1] == first)
        if sign:
            total = total + sign * (x[..., system.branch[m]] if stamp.branch else y[..., m])
    return total


def operating_points(system: System, states: Sequence[Changes] = ({},), start: Array | None = None) -> Point:
    """The DC operating point in each state. start: where to begin, (states, size) or (size,).

    Raises NoOperatingPoint, naming the nets that do not settle, where none is found.
    """
    numbers = system.numbers(states)
    return solved(system, numbers, start)


def solved(system: System, numbers: Array, start: Array | None = None) -> Point:
    """The operating point for each row of numbers (states, stamps, WIDTH)."""
    x, good = settle(system, numbers, start)
    if not good.all():
        raise NoOperatingPoint(_told(system, numbers[~good][:1], x[~good][:1]))
    y, dy = system.values(system.seen(x), numbers)
    return Point(system, x, numbers, y, dy)


def settle(system: System, numbers: Array, start: Array | None = None) -> tuple[Array, Array]:
    """(x, which rows have an operating point): by plain iteration, then by further ways."""
    count = len(numbers)
    x = (
        np.zeros((count, system.size))
        if start is None
        else np.broadcast_to(start, (count, system.size)).copy()
    )
    if not system.size:
        return x, np.ones(count, bool)
    x, good = iterate(system, numbers, x)
    if not good.all():
        rows = np.flatnonzero(~good)
        found, done = _held_together(system, numbers[rows])
        x[rows[done]], good[rows[done]] = found[done], True
    for attempt in (_held, _raised, _in_time):
        for row in np.flatnonzero(~good):
            again, settled = attempt(system, numbers[row : row + 1])
            if settled:
                x[row] = again[0]
                good[row] = True
    return x, good


def nearest(system: System, numbers: Array, start: Array) -> tuple[Array, Array]:
    """The same from three points at once, of which the first to settle counts: a solved one that is like it, halfway down to
    nothing, for most that is far from it is a short, and nothing; then held together."""
    starts = np.concatenate([start, start / 2, np.zeros_like(start)])
    same = np.tile(np.arange(len(start)), 3)
    x, good = iterate(system, np.tile(numbers, (3, 1, 1)), starts, same=same)
    ways, settled = x.reshape(3, *start.shape), good.reshape(3, -1)
    best = settled.argmax(0), np.arange(len(start))
    x, good = ways[best], settled[best]
    rows = np.flatnonzero(~good)
    if rows.size:
        x[rows], good[rows] = _held_together(system, numbers[rows])
    return x, good


def _told(system: System, numbers: Array, x: Array) -> str:
    y, _ = system.values(system.seen(x), numbers)
    left = np.abs(x @ system.constant.T + y @ system.out.T)[0]
    nets = [net for net, at in system.index.items() if at < system.voltages]
    worst = sorted(nets, key=lambda net: -left[system.index[net]])[:3]
    return "no operating point: " + ", ".join(worst) + " do not settle"


def iterate(
    system: System,
    numbers: Array,
    x: Array,
    hold: float = 0.0,
    steps: int = MOST_STEPS,
    anchor: Array | None = None,
    same: Array | None = None,
) -> tuple[Array, Array]:
    """Newton's method from x: (x, which rows converged). hold: S from every net to its anchor (0 V). same: a number of each row;
    where one of several with the same number has converged, the others are left."""
    good, rows = np.zeros(len(x), bool), np.arange(len(x))
    found, nets, bends = x.copy(), system.voltages, system.bends
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
        x = x + change
        seen = system.bent_seen(x)
        limited = bends.limited(seen, z, p)
        scale = np.abs(y).max(-1, initial=0.0) + np.abs(x[:, nets:]).max(-1, initial=0.0)
        near = VOLTAGE if step < PATIENT else NEARLY
        quiet = (np.abs(change) <= near * (1 + np.abs(x))).all(-1)
        still = (limited == seen).all((0, 2))
        flows, rules = (np.abs(own).max(-1, initial=0.0) for own in (left[:, :nets], left[:, nets:]))
        small = (flows <= 1e-3 * scale + 1e-13) & (rules <= near + CURRENT * scale)
        if (
            step >= PATIENT
        ):  # what next to nothing holds moves by what rounding makes of the currents beside it
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
            rows, x, linear, shift, reach, straight = (
                own[stays] for own in (rows, x, linear, shift, reach, straight)
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


# --- where plain iteration does not settle ----------------------------------------------------------------------


def _held_together(system: System, numbers: Array) -> tuple[Array, Array]:
    """Several at once, every net held to 0 V by a conductance that is taken away step by step; those that fail drop out."""
    x, good, hold = np.zeros((len(numbers), system.size)), np.ones(len(numbers), bool), 1e-1
    while good.any():
        rows = np.flatnonzero(good)
        x[rows], good[rows] = iterate(system, numbers[rows], x[rows], hold, 25)
        if hold == 0.0:
            break
        hold = hold / 10 if hold > 1e-13 else 0.0
    return x, good


def _held(system: System, numbers: Array) -> tuple[Array, bool]:
    """Every net held to 0 V by a conductance that is taken away step by step."""
    x = np.zeros((1, system.size))
    hold, factor = 1e-1, 10.0
    while hold > 1e-13:
        found, good = iterate(system, numbers, x, hold, 30)
        if good[0]:
            x, hold = found, hold / factor
        elif factor > 1.5:
            hold, factor = hold * factor, factor**0.5
            hold /= factor
        else:
            return x, False
    found, good = iterate(system, numbers, x)
    return found, bool(good[0])


def _raised(system: System, numbers: Array) -> tuple[Array, bool]:
    """All sources raised from zero, in steps that shrink where one is too long."""
    x, reached, step = np.zeros((1, system.size)), 0.0, 0.1
    for _ in range(40):
        share = min(1.0, reached + step)
        found, good = iterate(system, _scaled(system, numbers, share), x, steps=30)
        if good[0]:
            x, reached, step = found, share, step * 2
            if reached == 1.0:
                return x, True
        else:
            step /= 4
            if step < 1e-5:
                return x, False
    return x, False


def _scaled(system: System, numbers: Array, share: float) -> Array:
    scaled = numbers.copy()
    for form, members in system.groups:
        for column in _SCALED.get(NAMES[form], ()):
            scaled[:, members, column] *= share
    return scaled


def _in_time(system: System, numbers: Array) -> tuple[Array, bool]:
    """In pseudo-time: every net has a capacity, steps grow while it settles; a bistable circuit falls to one side."""
    x, hold = np.zeros((1, system.size)), 1e-1
    rng = np.random.default_rng(1)
    x[:, : system.voltages] = rng.normal(0, 1e-3, system.voltages)  # off the balance of a bistable circuit
    for _ in range(100):
        found, good = iterate(system, numbers, x, hold, 12, x)
        if good[0]:
            x, hold = found, hold / 2
            if hold < 1e-9:
                found, good = iterate(system, numbers, x)
                if good[0]:
                    return found, True
                if hold < 1e-14:
                    return x, False
        else:
            hold *= 4
            if hold > 1e6:
                return x, False
    return x, False
