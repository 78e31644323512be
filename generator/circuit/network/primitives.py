"""The forms of equation that stamps name, evaluated for many stamps and many variants at once.

Each function takes z (..., 3), the controls in V (or A for a branch's own current), and p (..., n), its numbers, and
returns (y, dy): y (...) in A (or V for a branch's equation) and its derivatives (..., 3). All are continuous, with
derivatives that stay finite, so that Newton's method can start anywhere.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
Evaluated = tuple[Array, Array]

BULK = 30.0  # A: from here on a junction is a straight line, as its bulk resistance makes it
SMOOTH = 1e-3  # V: rounding of the corners where one regime passes into another
RESISTS = 1e-4  # ohm of every source, so that two of them on one net have an answer
TINY = 1e-6  # A, the same for currents


def _exp(z: Array, saturation: Array, width: Array) -> Evaluated:
    """saturation·exp(z/width) and its slope, continued as a straight line from BULK amperes on."""
    top = np.log(BULK / np.maximum(saturation, 1e-60))
    u = z / width
    held = np.minimum(u, top)
    grown = saturation * np.exp(held)
    return grown * (1 + (u - held)), grown / width


def linear(z: Array, p: Array) -> Evaluated:
    """p0 + p1·z0 + p2·z1: conductances, sources, couplings."""
    y = p[..., 0] + p[..., 1] * z[..., 0] + p[..., 2] * z[..., 1]
    dy = np.zeros(np.broadcast_shapes(z.shape, (*p.shape[:-1], 3)))
    dy[..., 0], dy[..., 1] = p[..., 1], p[..., 2]
    return y, dy


def junction(z: Array, p: Array) -> Evaluated:
    """Is·(exp(v/w) − 1) + g·v − Ib·exp(−(v + Vb)/wb): diode with breakdown. p: Is, w, g, Vb, Ib, wb (Ib 0: none)."""
    v = z[..., 0]
    forward, slope = _exp(v, p[..., 0], p[..., 1])
    back, back_slope = _exp(-v - p[..., 3], p[..., 4], p[..., 5])
    dy = np.zeros(np.broadcast_shapes(z.shape, (*p.shape[:-1], 3)))
    dy[..., 0] = slope + back_slope + p[..., 2]
    return forward - p[..., 0] - back + p[..., 2] * v, dy


def transport(z: Array, p: Array) -> Evaluated:
    """Is·(exp(v0/w) − exp(v1/w)): a bipolar transistor's collector to emitter current. p: Is, w."""
    one, slope_one = _exp(z[..., 0], p[..., 0], p[..., 1])
    two, slope_two = _exp(z[..., 1], p[..., 0], p[..., 1])
    dy = np.zeros(np.broadcast_shapes(z.shape, (*p.shape[:-1], 3)))
    dy[..., 0], dy[..., 1] = slope_one, -slope_two
    return one - two, dy


def channel(z: Array, p: Array) -> Evaluated:
    """A MOSFET's drain current by the square law, both ways round. z: Vgs, Vds; p: threshold, K in A/V², g.

    Triode: K·((Vgs − Vth)·Vds − Vds²/2); saturated: K/2·(Vgs − Vth)². Source: Shichman-Hodges, as SPICE's level 1.
    """
    gs, ds = z[..., 0], z[..., 1]
    forward = ds >= 0
    over = np.maximum(np.where(forward, gs, gs - ds) - p[..., 0], 0.0)
    across = np.abs(ds)
    triode = across < over
    held = np.minimum(across, over)
    size = p[..., 1] * (over * held - held * held / 2)
    by_gate = p[..., 1] * held
    by_drain = np.where(triode, p[..., 1] * (over - across), 0.0)
    y = np.where(forward, size, -size) + p[..., 2] * ds
    dy = np.zeros(np.broadcast_shapes(z.shape, (*p.shape[:-1], 3)))
    dy[..., 0] = np.where(forward, by_gate, -by_gate)
    dy[..., 1] = by_drain + np.where(forward, 0.0, by_gate) + p[..., 2]
    return y, dy


def load(z: Array, p: Array) -> Evaluated:
    """I·v/√(v² + w²): a constant current that dies with its supply and never drives. p: I, w."""
    root = np.hypot(z[..., 0], p[..., 1])
    dy = np.zeros(np.broadcast_shapes(z.shape, (*p.shape[:-1], 3)))
    dy[..., 0] = p[..., 0] * p[..., 1] ** 2 / root**3
    return p[..., 0] * z[..., 0] / root, dy


def _less(a: Array, b: Array) -> tuple[Array, Array]:
    """The smaller of two, rounded at the corner, and its slope along a (along b: one less that)."""
    root = np.hypot(a - b, SMOOTH)
    return (a + b - root) / 2, (1 - (a - b) / root) / 2


def regulator(z: Array, p: Array) -> Evaluated:
    """A series regulator's pass element: it carries current j ≥ 0 only while its output is down at its limit.

    z: Vin − Vout, Vout − Vcommon, j; p: set voltage, dropout, ohm (scales j), open (1: j = 0). With s = Vout − least of
    (set, Vin − dropout): j·r + s − √((j·r)² + s² + tiny²) = 0, which holds where one of them is 0 and none below.
    """
    lack, slope = _less(p[..., 0] - z[..., 1], z[..., 0] - p[..., 1])
    s, jr = RESISTS * z[..., 2] - lack, z[..., 2] * p[..., 2]
    root = np.sqrt(s * s + jr * jr + SMOOTH * SMOOTH * 1e-2)
    along_s, along_j = 1 - s / root, 1 - jr / root
    shut = p[..., 3] > 0
    dy = np.zeros(np.broadcast_shapes(z.shape, (*p.shape[:-1], 3)))
    dy[..., 0] = np.where(shut, 0.0, -along_s * (1 - slope))
    dy[..., 1] = np.where(shut, 0.0, along_s * slope)
    dy[..., 2] = np.where(shut, 1.0, along_j * p[..., 2] + along_s * RESISTS)
    return np.where(shut, z[..., 2], s + jr - root), dy


def _rises(u: Array) -> tuple[Array, Array]:
    """From 0 to 1 about u = 0, with its slope."""
    root = np.sqrt(1 + u * u)
    return (1 + u / root) / 2, 1 / (2 * root**3)


def amplifier(z: Array, p: Array) -> Evaluated:
    """Output of an operational amplifier or push-pull comparator: half of a current by its direction.

    z: difference of the inputs, Vout − Vcommon, Vsupply − Vcommon. p: gain, g of the output in S, sign (+1: what it
    sinks to common, −1: what it takes from the supply), fixed low level, lost below the supply, fixed high level (0:
    follows the supply), alive (0: none).
    """
    share, slope = _rises(z[..., 0] * p[..., 0])
    high, along = _less(np.where(p[..., 5] > 0, p[..., 5], 1e6), z[..., 2] - p[..., 4])
    span = np.maximum(high - p[..., 3], 0.0)
    along = np.where(span > 0, 1 - along, 0.0)
    g = p[..., 1] * p[..., 6]
    y = g * (z[..., 1] - p[..., 3] - span * share)
    root = np.hypot(y, TINY)
    half = (1 + p[..., 2] * y / root) / 2
    dy = np.empty(np.broadcast_shapes(z.shape, (*p.shape[:-1], 3)))
    dy[..., 0] = -half * g * span * slope * p[..., 0]
    dy[..., 1] = half * g
    dy[..., 2] = -half * g * share * along
    return (y + p[..., 2] * root) / 2, dy


def sink(z: Array, p: Array) -> Evaluated:
    """An open-collector output: g·(Vout − low), where the first input is above the second. z: difference that makes it
    sink, Vout − Vcommon. p: gain, g in S, low level."""
    share, slope = _rises(z[..., 0] * p[..., 0])
    above = z[..., 1] - p[..., 2]
    root = np.hypot(above, SMOOTH)
    held = (above + root) / 2
    dy = np.zeros(np.broadcast_shapes(z.shape, (*p.shape[:-1], 3)))
    dy[..., 0] = p[..., 1] * held * slope * p[..., 0]
    dy[..., 1] = p[..., 1] * share * (1 + above / root) / 2
    return p[..., 1] * share * held, dy


def coupler(z: Array, p: Array) -> Evaluated:
    """A coupler's output current: ctr times the LED's, limited by what stands across the transistor.

    z: V across the LED, V across the transistor. p: Is, w of the LED, ctr (as a ratio), V at which it is half-way saturated.
    """
    lit, slope = _exp(z[..., 0], p[..., 0], p[..., 1])
    root = np.hypot(z[..., 1], p[..., 3])
    share = z[..., 1] / root
    dy = np.zeros(np.broadcast_shapes(z.shape, (*p.shape[:-1], 3)))
    dy[..., 0] = p[..., 2] * slope * share
    dy[..., 1] = p[..., 2] * (lit - p[..., 0]) * p[..., 3] ** 2 / root**3
    return p[..., 2] * (lit - p[..., 0]) * share, dy


POINTS = 12  # of a rail's curve
BACK = 1e6  # ohm: a rectifier passes nothing back


def rail(z: Array, p: Array) -> Evaluated:
    """A rectified supply by its curve of volts over amperes taken. z: V plus to minus, branch current (from plus to minus
    through the source, so that what is taken is its negative). p: POINTS currents, rising, then POINTS voltages."""
    taken = -z[..., 1]
    currents, volts = p[..., :POINTS], p[..., POINTS:]
    currents, volts = np.broadcast_arrays(currents, volts)
    at = np.clip((taken[..., None] >= currents).sum(-1) - 1, 0, POINTS - 2)
    shape = np.broadcast_shapes(at.shape, currents.shape[:-1])
    at = np.broadcast_to(at, shape)[..., None]
    currents, volts = (np.broadcast_to(array, (*shape, POINTS)) for array in (currents, volts))
    i0, i1 = (np.take_along_axis(currents, at + step, -1)[..., 0] for step in (0, 1))
    v0, v1 = (np.take_along_axis(volts, at + step, -1)[..., 0] for step in (0, 1))
    slope = (v1 - v0) / (i1 - i0)
    slope = np.where(taken < i0, -BACK, slope)
    dy = np.zeros((*shape, 3))
    dy[..., 0], dy[..., 1] = 1.0, slope
    return z[..., 0] - v0 - slope * (taken - i0), dy


FORMS: dict[str, tuple[Callable[[Array, Array], Evaluated], int]] = {  # the function, how many numbers it takes
    "linear": (linear, 3), "junction": (junction, 6), "transport": (transport, 2), "channel": (channel, 3),
    "load": (load, 2), "regulator": (regulator, 4), "amplifier": (amplifier, 7), "sink": (sink, 3),
    "coupler": (coupler, 4), "rail": (rail, 2 * POINTS),
}  # fmt: skip
