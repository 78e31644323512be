"""How far the controls of a stamp may move in one step of Newton's method, so that no exponential runs away.

Each function takes the controls that a step asks for, which it changes to those at which to linearise next, those before it
and the stamps' numbers as primitives.ready has them; the control or the number comes first.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from generator.circuit.network.primitives import Array

FADES, LEAST_LEFT = 0.3, 1e-3  # of a junction's current: less is left of it in a step; no less is believed
FALLS = 0.1  # V above its low level, or 0 V, from where an output counts as high
GIVES_WAY = 5e-3  # V: where loads and couplers are well below their current


def _up_the_curve(new: Array, old: Array, width: Array, top: Array, knee: Array) -> Array:
    """A junction's voltage by the usual limiting: beyond the knee it rises by the logarithm of what was asked, and it falls
    to where its own curve has the current that was asked."""
    change = (new - old) / width
    if np.abs(change).max(initial=0.0) <= 1 - FADES:
        return new  # it does not fade, and does not leap
    ratio = 1 + change  # of the currents
    falls = (np.abs(ratio) < FADES) & (old > 0)
    if falls.any():
        falls &= knee < np.inf  # an open one has no curve
        new = np.where(falls, old + width * np.log(np.maximum(ratio, LEAST_LEFT)), new)
    # from top on it is a straight line, where no step is too long
    leaps = (np.abs(change) > 2) & (new > 0) & (new > knee)
    if not leaps.any() or not (leaps := leaps & (old < width * top)).any():
        return new
    from_above = np.where(ratio > 0, old + width * np.log(np.maximum(ratio, 1e-30)), knee)
    from_below = width * np.log(np.maximum(new / width, 1e-30))
    return np.where(leaps, np.where(old > 0, from_above, from_below), new)


def junction(held: Array, before: Array, p: Array) -> None:
    """Forward and, where it has a breakdown, backward."""
    new, old = held[0].copy(), before[0]
    held[0] = _up_the_curve(new, old, p[1], p[6], p[7])
    if len(p) > 8:
        breaks = (p[4] > 0) & (new < -p[3])
        if breaks.any():
            back = -_up_the_curve(-new - p[3], -old - p[3], p[5], p[8], p[9]) - p[3]
            held[0] = np.where(breaks, back, held[0])


def transport(held: Array, before: Array, p: Array) -> None:
    """Both junctions of a transistor."""
    held[:2] = _up_the_curve(held[:2], before[:2], p[1], p[2], p[3])


def _down_to_where_it_gives_way(new: Array, old: Array, above: float = GIVES_WAY) -> None:
    """From above so many volts no further than to where it gives way."""
    new[(old > above) & (new < 0)] = GIVES_WAY


def load(held: Array, before: Array, p: Array) -> None:
    """From above, no further than to where it gives way."""
    _down_to_where_it_gives_way(held[0], before[0])


def coupler(held: Array, before: Array, p: Array) -> None:
    """Its LED as a junction, its transistor as a load."""
    held[0] = _up_the_curve(held[0], before[0], p[1], p[4], p[5])
    _down_to_where_it_gives_way(held[1], before[1])


def channel(held: Array, before: Array, p: Array) -> None:
    """The gate by 3 V at a time; the drain as is usual for MOSFETs."""
    old = before[1]
    high, sign = np.abs(old) >= 3.5, np.where(old < 0, -1.0, 1.0)
    up, down = np.where(high, 3 * np.abs(old) + 2, 4.0), np.where(high, 2.0, -0.5)
    held[1] = sign * np.clip(sign * held[1], down, up)
    held[0] = np.clip(held[0], before[0] - 3, before[0] + 3)


def sink(held: Array, before: Array, p: Array) -> None:
    """Its output from above, no further than to its low level, where it has to see whether it is on; from below, where that
    level was lower before, while it is on."""
    low = p[2]
    rises = (before[0] < 0) & (before[1] < low) & (held[1] > low)
    held[1] = np.where(rises, low + GIVES_WAY, held[1])
    held[1] = np.where((before[1] > low + FALLS) & (held[1] < low), low + GIVES_WAY, held[1])


def rail(held: Array, before: Array, p: Array) -> None:
    """A rectified supply from above, no further than to 0 V."""
    _down_to_where_it_gives_way(held[0], before[0], FALLS)


def regulator(held: Array, before: Array, p: Array) -> None:
    """The same of a regulator's output."""
    _down_to_where_it_gives_way(held[1], before[1], FALLS)


LIMITS: dict[str, Callable[[Array, Array, Array], None]] = {
    "junction": junction, "transport": transport, "load": load, "motor": load, "coupler": coupler, "channel": channel,
    "sink": sink, "rail": rail, "regulator": regulator,
}  # fmt: skip
