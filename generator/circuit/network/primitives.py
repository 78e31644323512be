"""The forms of equation that stamps name, evaluated for many stamps and many variants at once.

Each function takes z, the controls in V (or A for a branch's own current), and p, its numbers, both with the control or the
number first, z[c] and p[n] of any shape that broadcasts, and returns (y, dy): y in A (or V for a branch's equation) and its
derivatives along its first controls. All are continuous, with derivatives that stay finite, so that Newton's method can start
anywhere. What a form needs of its numbers again and again is worked out once, see ready.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from generator.circuit.network.stamps import POINTS

Array = NDArray[Any]
Evaluated = tuple[Array, tuple[Array, ...]]

CONTROLS = 4  # the most that a stamp depends on
BULK = 30.0  # A: from here on a junction is a straight line, as its bulk resistance makes it
SMOOTH = 1e-3  # V: rounding of the corners where one regime passes into another
RESISTS = 1e-4  # ohm of every source, so that two of them on one net have an answer
BLUNT = 1e-10  # V²: the same for amplifiers, whose corners feed back
CORNER = 1e-14  # V²: rounding where either of two things holds
ROUND = 0.02  # of a current: the same where a current meets its limit
SLACK = (1 - np.hypot(1.0, ROUND)) / 2  # of a current: what that rounding takes at 0 V
COLD = 0.05  # V below which a motor without resistance to speak of gets nothing
TINY = 1e-9  # A, the same for currents: less than a chip leaks at a volt, so that one without a supply draws none
LIVES = 1e-50  # A: a saturation current below it is that of an open junction


def _curve(saturation: Array, width: Array) -> Array:
    """Of an exponential: where it passes into its straight line, in widths, and its knee in V, inf where there is none."""
    lives = saturation > LIVES
    held = np.where(lives, saturation, 1.0)
    top = np.where(lives, np.log(BULK / held), np.log(BULK / 1e-60))
    return np.stack([top, np.where(lives, width * np.log(width / (np.sqrt(2) * held)), np.inf)])


def _exp(z: Array, saturation: Array, width: Array, top: Array) -> tuple[Array, Array]:
    """saturation·exp(z/width) and its slope, continued as a straight line from BULK amperes on, top widths."""
    u = z / width
    held = np.minimum(u, top)
    grown = saturation * np.exp(held)
    return grown * (1 + (u - held)), grown / width


def linear(z: Array, p: Array) -> Evaluated:
    """p0 + p1·z0 + p2·z1: conductances, sources, couplings."""
    return p[0] + p[1] * z[0] + p[2] * z[1], (p[1], p[2])


def junction(z: Array, p: Array) -> Evaluated:
    """Is·(exp(v/w) − 1) + g·v − Ib·exp(−(v + Vb)/wb): diode with breakdown. p: Is, w, g, Vb, Ib, wb (Ib 0: none), then what
    ready adds: the curve forward and, where any has a breakdown, backward."""
    v = z[0]
    y, slope = _exp(v, p[0], p[1], p[6])
    y, slope = y - p[0] + p[2] * v, slope + p[2]
    if len(p) > 8:
        back, back_slope = _exp(-v - p[3], p[4], p[5], p[8])
        y, slope = y - back, slope + back_slope
    return y, (slope,)


def transport(z: Array, p: Array) -> Evaluated:
    """Is·(exp(v0/w) − exp(v1/w)): a bipolar transistor's collector to emitter current. p: Is, w, and its curve."""
    (one, two), (slope_one, slope_two) = _exp(z[:2], p[0], p[1], p[2])
    return one - two, (slope_one, -slope_two)


def channel(z: Array, p: Array) -> Evaluated:
    """A MOSFET's drain current by the square law, both ways round. z: Vgs, Vds; p: threshold, K in A/V², g.

    Triode: K·((Vgs − Vth)·Vds − Vds²/2); saturated: K/2·(Vgs − Vth)². Source: Shichman-Hodges, as SPICE's level 1.
    """
    gs, ds = z[0], z[1]
    forward = ds >= 0
    over = np.maximum(np.where(forward, gs, gs - ds) - p[0], 0.0)
    across = np.abs(ds)
    triode = across < over
    held = np.minimum(across, over)
    size = p[1] * (over * held - held * held / 2)
    by_gate = p[1] * held
    by_drain = np.where(triode, p[1] * (over - across), 0.0)
    y = np.where(forward, size, -size) + p[2] * ds
    along_ds = by_drain + np.where(forward, 0.0, by_gate) + p[2]
    return y, (np.where(forward, by_gate, -by_gate), along_ds)


def load(z: Array, p: Array) -> Evaluated:
    """A constant current that dies with its supply and never drives: the lesser of I and I·v/w. p: I, w, then what _of_load
    adds."""
    y, along = _less(p[0], p[2] * z[0], p[3])
    return y - p[4], ((1 - along) * p[2],)


def _of_load(p: Array) -> Array:
    """Siemens, the width of its corner, and what that takes."""
    return np.stack([p[0] / p[1], p[0] * ROUND, p[0] * SLACK])


def motor(z: Array, p: Array) -> Evaluated:
    """A motor's current: its winding's at rest, else I·(f + (1 − f)·s²), where it turns at s of its speed: V = i·R + E·s. p: I, R,
    E, f. The lesser of both, for below what friction asks for it stands still. Turned about it turns the other way."""
    held, rest, volts = p[0] * p[3], p[0] * (1 - p[3]), np.abs(z[0])
    over = np.maximum(volts - held * p[1], 0.0)
    twice = 2 * p[1] * rest
    root = np.sqrt(p[2] ** 2 + 2 * twice * over)
    speed = 2 * over / (p[2] + root)  # (root − E)/twice, also where that is 0
    ohms = np.maximum(p[1], COLD / np.maximum(held, 1e-12))
    y, along = _less(held + rest * speed**2, volts / ohms, held * ROUND)
    return np.where(z[0] < 0, -1.0, 1.0) * (y - held * SLACK), (
        along * 2 * rest * speed * (over > 0) / root + (1 - along) / ohms,
    )


def _less(a: Array, b: Array, width: Array | float = SMOOTH) -> tuple[Array, Array]:
    """The smaller of two, rounded at the corner, and its slope along a (along b: one less that)."""
    root = np.maximum(np.hypot(a - b, width), 1e-30)
    return (a + b - root) / 2, (1 - (a - b) / root) / 2


def regulator(z: Array, p: Array) -> Evaluated:
    """A series regulator's pass element: it carries current j ≥ 0 only while its output is down at its limit.

    z: Vin − Vout, Vout − Vcommon, j; p: set voltage, dropout, ohm (scales j), open (1: j = 0). With s = Vout − least of
    (set, Vin − dropout): j·r + s − √((j·r)² + s² + tiny²) = 0, which holds where one of them is 0 and none below.
    """
    lack, slope = _less(p[0] - z[1], z[0] - p[1])
    s, jr = RESISTS * z[2] - lack, z[2] * p[2]
    root = np.sqrt(s * s + jr * jr + CORNER)
    along_s, along_j = 1 - s / root, 1 - jr / root
    shut = p[3] > 0
    along_in, along_out = along_s * (slope - 1), along_s * slope
    along_current, y = along_j * p[2] + along_s * RESISTS, s + jr - root
    if shut.any():
        along_in, along_out = np.where(shut, 0.0, along_in), np.where(shut, 0.0, along_out)
        along_current, y = np.where(shut, 1.0, along_current), np.where(shut, z[2], y)
    return y, (along_in, along_out, along_current)


def _meet(a: Array, b: Array) -> tuple[Array, Array, Array]:
    """a + b − √(a² + b² + tiny²), zero where one of two is 0 and neither below, with its slopes along a and b.

    Source: Fischer and Burmeister's function, by which Newton's method solves "either this or that".
    """
    root = np.sqrt(a * a + b * b + BLUNT)
    return a + b - root, 1 - a / root, 1 - b / root


def amplifier(z: Array, p: Array) -> Evaluated:
    """Output of an operational amplifier or push-pull comparator: the equation of the current that it gives.

    z: difference of the inputs, Vout − Vcommon, Vsupply − Vcommon, its current. p: gain, ohm of the output, low level,
    lost below the supply, fixed high level (0: follows the supply), open (1: gives nothing), V to add to the difference. Within
    its limits the difference is 0; at the upper one it may be above, at the lower one below. Without a supply both are at common.
    """
    top, of_high = _less(np.where(p[4] > 0, p[4], 1e6), z[2] - p[3])
    there, supplied = _above(z[2])
    low, of_low = _less(p[2], there)
    span, rising = _above(top - low)
    low_moves = (1 - of_low) * supplied
    span_moves = ((1 - of_high) - low_moves) * rising
    emf = z[1] + p[1] * z[3] - low
    inner, by_room, by_lead = _meet(span - emf, z[0] + p[6] - emf / p[0])
    y, by_emf, by_inner = _meet(emf, -inner)
    along_emf = by_emf + by_inner * (by_room + by_lead / p[0])
    shut = p[5] > 0
    dy = (
        np.where(shut, 0.0, -by_inner * by_lead),
        np.where(shut, 0.0, along_emf),
        np.where(shut, 0.0, -low_moves * along_emf - by_inner * by_room * span_moves),
        np.where(shut, 1.0, along_emf * p[1]),
    )
    return np.where(shut, z[3], y), dy


def _above(v: Array, width: float = SMOOTH) -> tuple[Array, Array]:
    """What of v is above 0, rounded at the corner, with its slope."""
    root = np.hypot(v, width)
    return (v + root) / 2, (1 + v / root) / 2


def sink(z: Array, p: Array) -> Evaluated:
    """An open-collector output: the equation of the current that it takes, through its ohms down to its low level where
    its inputs say so. z: difference of the inputs, Vout − Vcommon, its current. p: gain, ohm, low level, open, V to add
    to the difference."""
    room, rising = _above(z[1] - p[2])
    taken = p[1] * z[2]
    inner, by_room, by_lead = _meet(room - taken, -z[0] - p[4] - taken / p[0])
    y, by_taken, by_inner = _meet(taken, -inner)
    along = by_taken + by_inner * (by_room + by_lead / p[0])
    shut = p[3] > 0
    dy = (
        np.where(shut, 0.0, by_inner * by_lead),
        np.where(shut, 0.0, -by_inner * by_room * rising),
        np.where(shut, 1.0, along * p[1]),
    )
    return np.where(shut, z[2], y), dy


def draw(z: Array, p: Array) -> Evaluated:
    """What of a branch's current is above 0: what an amplifier that gives takes from its supply, while it has one. z: that
    current, Vsupply − Vcommon."""
    given, slope = _above(z[0], TINY)
    most, rising = _above(z[1], TINY)  # an ampere a volt of its supply: no bound to one that works
    y, along = _less(given, most, TINY)
    return y, (along * slope, (1 - along) * rising)


def power(z: Array, p: Array) -> Evaluated:
    """What a converter takes: watts for each ampere that it gives, over the volts of its input; as a resistance below the least
    of those. z: the current of the branch that gives, below 0, and the input's volts. p: watts, least, and the amperes from
    which it goes back, to nothing at twice as many."""
    over, back = 1 / np.maximum(z[1], p[1]), -z[0] > p[2]
    given, slope = _above(np.where(back, 2 * p[2] + z[0], -z[0]), TINY)
    watts, share = p[0] * given, z[1] * over * over
    along = watts * np.where(z[1] < p[1], 1.0, -1.0) * over * over
    return watts * share, (p[0] * slope * share * np.where(back, 1.0, -1.0), along)


def coupler(z: Array, p: Array) -> Evaluated:
    """A coupler's output current: the lesser of ctr times the LED's and what its saturated transistor passes, g·v.

    z: V across the LED, V across the transistor. p: Is, w of the LED, ctr (as a ratio), g in S, and the LED's curve.
    """
    lit, slope = _exp(z[0], p[0], p[1], p[4])
    v, rising = _above(z[1])
    given = p[2] * (lit - p[0])
    most, width = p[3] * v, np.abs(given) * ROUND + 1e-15
    y, along = _less(given, most, width)
    # the corner grows with what is given, and rounds off more
    along_given = along - np.sign(given) * ROUND * width / np.maximum(given + most - 2 * y, 1e-30) / 2
    return y, (along_given * p[2] * slope, (1 - along) * p[3] * rising)


BACK = 1e6  # ohm: a rectifier passes nothing back


def rail(z: Array, p: Array) -> Evaluated:
    """A rectified supply by its curve of volts over amperes taken. z: V plus to minus, branch current (from plus to minus
    through the source, so that what is taken is its negative). p: POINTS currents, rising, then POINTS voltages, then what
    _of_rail adds."""
    taken = -z[1]
    if p.ndim <= taken.ndim:
        p = p.reshape(len(p), *(1,) * (taken.ndim + 1 - p.ndim), *p.shape[1:])
    if p.shape[1:] != taken.shape:
        p = np.broadcast_to(p, (len(p), *taken.shape))
    piece = np.minimum((taken >= p[:POINTS]).sum(0), POINTS - 1).reshape(-1)
    pieces = p[2 * POINTS :].reshape(3, POINTS, -1)
    amperes, volts, slope = pieces[:, piece, np.arange(piece.size)].reshape(3, *taken.shape)
    return z[0] - volts - slope * (taken - amperes), (np.ones(taken.shape), slope)


def _of_rail(p: Array) -> Array:
    """Where each piece of the curve begins (A, V), and its slope: before the first point, then between each two."""
    amperes, volts = p[:POINTS], p[POINTS:]
    slopes = np.diff(volts, axis=0) / np.diff(amperes, axis=0)
    back = np.full_like(slopes[:1], -BACK)
    return np.concatenate([amperes[:1], amperes[:-1], volts[:1], volts[:-1], back, slopes])


class Form(NamedTuple):
    """A form of equation: its function, how many numbers it takes and of how many controls, the numbers (saturation
    current, width) of its exponentials, and what else is worked out of its numbers once."""

    evaluate: Callable[[Array, Array], Evaluated]
    width: int
    controls: int
    curves: tuple[tuple[int, int], ...] = ()
    more: Callable[[Array], Array] | None = None


FORMS = {
    "linear": Form(linear, 3, 2), "junction": Form(junction, 6, 1, ((0, 1), (4, 5))),
    "transport": Form(transport, 2, 2, ((0, 1),)), "channel": Form(channel, 3, 2), "load": Form(load, 2, 1, (), _of_load),
    "motor": Form(motor, 4, 1),
    "regulator": Form(regulator, 4, 3), "amplifier": Form(amplifier, 7, 4), "sink": Form(sink, 5, 3), "draw": Form(draw, 0, 2),
    "power": Form(power, 3, 2), "coupler": Form(coupler, 4, 2, ((0, 1),)), "rail": Form(rail, 2 * POINTS, 2, (), _of_rail),
}  # fmt: skip


def ready(form: str, numbers: Array) -> Array:
    """The numbers (..., WIDTH) of stamps of a form as its function takes them: the number first, then (top, knee) of each
    exponential (without the last where none of the stamps has one), or what else is worked out of them."""
    own = FORMS[form]
    p = np.moveaxis(numbers[..., : own.width], -1, 0)
    if own.more:
        return np.concatenate([p, own.more(p)])
    curves = [pair for n, pair in enumerate(own.curves) if not n or (p[pair[0]] > 0).any()]
    return np.concatenate([p, *(_curve(p[a], p[b]) for a, b in curves)])


def with_curves(p: Array, like: Array) -> Array:
    """The same numbers with as many curves as others have: where there is no breakdown, nothing of one shows."""
    more = np.zeros((max(0, len(like) - len(p)), *p.shape[1:]))
    return np.concatenate([p, more])
