"""The operating point at direct current: by plain iteration (iteration.py), then by stages where that fails.

Several states of one network are solved together. Where plain iteration does not settle, the network is first held by
conductances that are taken away, then its sources are raised from zero, then it is let settle in pseudo-time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from generator.circuit.network.compile import NAMES, Changes, System
from generator.circuit.network.element import NoOperatingPoint
from generator.circuit.network.iteration import iterate
from generator.circuit.network.primitives import Array
from generator.circuit.network.stamps import POINTS

_SCALED = {
    "linear": [0],
    "load": [0],
    "motor": [0],
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
    for several in (_around_corners, _held_together):
        rows = np.flatnonzero(~good)
        if rows.size:
            found, done = several(system, numbers[rows])
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
    nothing, for most that is far from it is a short, and nothing; by shorter steps where it goes to and fro; then held together."""
    starts = np.concatenate([start, start / 2, np.zeros_like(start)])
    same = np.tile(np.arange(len(start)), 3)
    x, good = iterate(system, np.tile(numbers, (3, 1, 1)), starts, same=same, turns=True)
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


# --- where plain iteration does not settle ----------------------------------------------------------------------


def _around_corners(system: System, numbers: Array) -> tuple[Array, Array]:
    """Several at once, from nothing, with shorter steps where plain ones go to and fro."""
    return iterate(system, numbers, np.zeros((len(numbers), system.size)), turns=True)


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
