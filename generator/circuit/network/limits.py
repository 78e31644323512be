"""How far the controls of a stamp may move in one step of Newton's method, so that no exponential runs away.

Each function takes the controls that a step asks for, those before it (..., CONTROLS) and the stamps' numbers, and
returns the controls at which to linearise next.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from generator.circuit.network.primitives import BULK, Array

FADES, LEAST_LEFT = 0.3, 1e-3  # of a junction's current: less is left of it in a step; no less is believed
FALLS = 0.1  # V above its low level, or 0 V, from where an output counts as high
GIVES_WAY = 5e-3  # V: where loads and couplers are well below their current


def _up_the_curve(new: Array, old: Array, saturation: Array, width: Array) -> Array:
    """A junction's voltage by the usual limiting: beyond the knee it rises by the logarithm of what was asked, and it falls
    to where its own curve has the current that was asked."""
    ratio = 1 + (new - old) / width  # of the currents
    lives = saturation > 1e-50  # an open one has no curve
    falls = (np.abs(ratio) < FADES) & (old > 0) & lives
    if falls.any():
        new = np.where(falls, old + width * np.log(np.maximum(ratio, LEAST_LEFT)), new)
    leaps = (np.abs(ratio - 1) > 2) & (new > 0) & lives
    if not leaps.any():
        return new
    knee = width * np.log(width / (np.sqrt(2) * np.maximum(saturation, 1e-60)))
    leaps &= new > knee
    from_above = np.where(ratio > 0, old + width * np.log(np.maximum(ratio, 1e-30)), knee)
    from_below = width * np.log(np.maximum(new / width, 1e-30))
    held = np.where(old > 0, from_above, from_below)
    # from BULK amperes on it is a straight line, where no step is too long
    straight = width * np.log(BULK / np.maximum(saturation, 1e-60))
    return np.where(leaps & (old < straight), held, new)


def junction(wanted: Array, before: Array, p: Array) -> Array:
    """Forward and, where it has a breakdown, backward."""
    held = wanted.copy()
    new, old = wanted[..., 0], before[..., 0]
    held[..., 0] = _up_the_curve(new, old, p[..., 0], p[..., 1])
    breaks = (p[..., 4] > 0) & (new < -p[..., 3])
    if breaks.any():
        width = np.maximum(p[..., 5], 1e-3)
        back = -_up_the_curve(-new - p[..., 3], -old - p[..., 3], p[..., 4], width) - p[..., 3]
        held[..., 0] = np.where(breaks, back, held[..., 0])
    return held


def transport(wanted: Array, before: Array, p: Array) -> Array:
    """Both junctions of a transistor."""
    held = wanted.copy()
    for c in (0, 1):
        held[..., c] = _up_the_curve(wanted[..., c], before[..., c], p[..., 0], p[..., 1])
    return held


def _down_to_where_it_gives_way(new: Array, old: Array, above: float = GIVES_WAY) -> Array:
    """From above so many volts no further than to where it gives way."""
    return np.where((old > above) & (new < 0), GIVES_WAY, new)


def load(wanted: Array, before: Array, p: Array) -> Array:
    """From above, no further than to where it gives way."""
    held = wanted.copy()
    held[..., 0] = _down_to_where_it_gives_way(wanted[..., 0], before[..., 0])
    return held


def coupler(wanted: Array, before: Array, p: Array) -> Array:
    """Its LED as a junction, its transistor as a load."""
    held = wanted.copy()
    held[..., 0] = _up_the_curve(wanted[..., 0], before[..., 0], p[..., 0], p[..., 1])
    held[..., 1] = _down_to_where_it_gives_way(wanted[..., 1], before[..., 1])
    return held


def channel(wanted: Array, before: Array, p: Array) -> Array:
    """The gate by 3 V at a time; the drain as is usual for MOSFETs."""
    held = wanted.copy()
    new, old = wanted[..., 1], before[..., 1]
    high, sign = np.abs(old) >= 3.5, np.where(old < 0, -1.0, 1.0)
    up, down = np.where(high, 3 * np.abs(old) + 2, 4.0), np.where(high, 2.0, -0.5)
    held[..., 1] = sign * np.clip(sign * new, down, up)
    held[..., 0] = np.clip(wanted[..., 0], before[..., 0] - 3, before[..., 0] + 3)
    return held


def sink(wanted: Array, before: Array, p: Array) -> Array:
    """Its output from above, no further than to its low level, where it has to see whether it is on."""
    held = wanted.copy()
    new, old, low = wanted[..., 1], before[..., 1], p[..., 2]
    held[..., 1] = np.where((old > low + FALLS) & (new < low), low + GIVES_WAY, new)
    return held


def rail(wanted: Array, before: Array, p: Array) -> Array:
    """A rectified supply from above, no further than to 0 V."""
    held = wanted.copy()
    held[..., 0] = _down_to_where_it_gives_way(wanted[..., 0], before[..., 0], FALLS)
    return held


def regulator(wanted: Array, before: Array, p: Array) -> Array:
    """The same of a regulator's output."""
    held = wanted.copy()
    held[..., 1] = _down_to_where_it_gives_way(wanted[..., 1], before[..., 1], FALLS)
    return held


LIMITS: dict[str, Callable[[Array, Array, Array], Array]] = {
    "junction": junction, "transport": transport, "load": load, "coupler": coupler, "channel": channel,
    "sink": sink, "rail": rail, "regulator": regulator,
}  # fmt: skip
