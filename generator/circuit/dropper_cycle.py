"""One period of a capacitive dropper in its steady state: a sine, a resistor and a capacitor into two fixed levels.

While a diode path conducts, the circuit is linear and of first order, so each piece is exact; between the pieces only
the resistor across the dropper works. The state that repeats is found by going round until it does.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from generator.circuit.roots import root
from generator.circuit.steady_state import square_of_piece

_REPEATS = 1e-10  # of the crest: where the state counts as repeated
_MOST_HALVES = 400
_FORGOTTEN = 25.0  # time constants after which the start of a piece no longer shows (e^-25)


class Piece(NamedTuple):
    """A conducting piece: i = a·cos ωt + b·sin ωt + c + d·exp(−g(t − start)) amperes from start to end (s, crest
    at 0), g above 0."""

    a: float
    b: float
    c: float
    d: float
    g: float
    omega: float
    start: float
    end: float

    def current(self, t: float) -> float:
        """Amperes at a time between start and end."""
        turned = self.omega * t
        faded = self.d * math.exp(-self.g * (t - self.start))
        return self.a * math.cos(turned) + self.b * math.sin(turned) + self.c + faded

    def charge(self) -> float:
        """Ampere-seconds."""
        sines = math.sin(self.omega * self.end) - math.sin(self.omega * self.start)
        cosines = math.cos(self.omega * self.end) - math.cos(self.omega * self.start)
        span = self.end - self.start
        faded = self.d * -math.expm1(-self.g * span) / self.g
        return (self.a * sines - self.b * cosines) / self.omega + self.c * span + faded

    def square(self) -> float:
        """Ampere-squared seconds."""
        return square_of_piece(**self._asdict())


@dataclass(frozen=True)
class DropperCycle:
    """Charge a period in each direction (As), the mean square of the current (A²), and the pieces of a period, forward and
    backward, each in its own direction and about its own crest; None where that direction carries nothing."""

    plus: float
    minus: float
    mean_square: float
    pieces: tuple[Piece | None, Piece | None] = (None, None)


@lru_cache(maxsize=4096)  # bands and failures ask for the same points
def dropper_cycle(
    *,
    peak: float,
    frequency: float,
    series: float,
    capacitance: float,
    discharge: float,
    up: float,
    down: float,
) -> DropperCycle:
    """The steady state of sine, series resistor and dropper (a resistor across it) into a pair of levels.

    Current flows forward where source less dropper voltage is above `up` volts and backward where it is below −`down`;
    in between the path is blocked. inf: that direction is never open. peak: crest of the sine, V; frequency: Hz;
    series: ohm, above 0, inf for open; capacitance: F, 0 for open; discharge: ohm, inf for none; up, down: V, at least 0.
    Against an integration by scipy: see tests.
    """
    # charged up once, or never at all
    kept = math.isinf(discharge) and (capacitance == 0 or math.inf in (up, down))
    if math.isinf(series) or kept:
        return DropperCycle(0.0, 0.0, 0.0)
    circuit = _Circuit(peak, 2 * math.pi * frequency, series, capacitance, discharge)
    pieces = (
        (circuit.resistive(up), circuit.resistive(down)) if capacitance == 0 else circuit.settle(up, down)
    )
    plus, minus = (0.0 if piece is None else piece.charge() for piece in pieces)
    return DropperCycle(plus, minus, sum(p.square() for p in pieces if p is not None) * frequency, pieces)


@dataclass(frozen=True)
class _Circuit:
    peak: float
    omega: float
    series: float
    capacitance: float
    discharge: float

    def resistive(self, level: float) -> Piece | None:
        """One direction with the dropper open, through the resistor across it."""
        if level >= self.peak:
            return None
        half, total = math.acos(level / self.peak) / self.omega, self.series + self.discharge
        return Piece(self.peak / total, 0.0, -level / total, 0.0, 1.0, self.omega, -half, half)

    def settle(self, up: float, down: float) -> tuple[Piece | None, Piece | None]:
        """Half after half, every second one mirrored, until the state repeats."""
        half_period = math.pi / self.omega
        closed = down == math.inf
        # where conduction ends hardly depends on where it began: a start that repeats at once, or soon
        t = self.forced_end(up if closed else down)
        v = self.peak * math.cos(self.omega * t) - (up if closed else down)
        v, t = (v, t - 2 * half_period) if closed else (-v, t - half_period)
        pieces: list[Piece | None] = [None, None]
        before = v
        for half in range(_MOST_HALVES):
            side = half % 2
            v, t, pieces[side] = self.half(v, t, down if side else up)
            # the other direction sees the mirrored circuit, with its own crest at 0
            v, t = -v, t - half_period
            if up == down:
                pieces[1 - side] = pieces[side]
            if up == down or side:
                if abs(v - before) <= _REPEATS * self.peak:
                    break
                before = v
        return pieces[0], pieces[1]

    def half(self, v: float, t: float, level: float) -> tuple[float, float, Piece | None]:
        """From the dropper at v at time t (the crest is at 0): (v, t) where conduction ends, and how it went."""
        tau = self.discharge * self.capacitance
        omega, peak = self.omega, self.peak

        def left(at: float) -> float:
            return v * math.exp((t - at) / tau)  # tau may be inf

        if level == math.inf or peak - left(0.0) <= level:
            return v, t, None
        first = max(t, -math.pi / omega)  # the path cannot open before the source has turned
        if peak * math.cos(omega * first) - left(first) >= level:
            start = first
        else:
            start = self.meets(left, tau, level, first)
        piece = self.conduct(left(start), start, level)
        return peak * math.cos(omega * piece.end) - level, piece.end, piece

    def meets(self, left: Callable[[float], float], tau: float, level: float, first: float) -> float:
        """When the rising source opens the path, between first and the crest: Newton's steps, else a bracket."""
        omega, peak = self.omega, self.peak
        at = first
        for _ in range(8):
            there = left(at)
            reach = (there + level) / peak
            if not -1 < reach < 0.98:
                break
            slope = peak * omega * math.sqrt(1 - reach * reach)
            step = -math.acos(reach) / omega  # exact for a dropper voltage that stands still
            step += there * (step - at) / tau / -slope  # which falls by this much up to there
            if abs(step - at) * omega <= 1e-10:
                return step
            at = step
        return root(lambda t: peak * math.cos(omega * t) - left(t) - level, first, 0.0)

    def rates(self, level: float) -> tuple[float, float, float, float]:
        """(g, k, p, q): with the path open the dropper tends to k + p·cos ωt + q·sin ωt at the rate g."""
        g = (1 / self.series + 1 / self.discharge) / self.capacitance
        pull = self.peak / (self.series * self.capacitance) / (g * g + self.omega * self.omega)
        return g, -level / (self.series * self.capacitance * g), pull * g, pull * self.omega

    def forced_end(self, level: float) -> float:
        """Where the current would end if it had flowed for long."""
        _, k, p, q = self.rates(level)
        size = math.hypot(self.peak - p, q)
        return (
            math.atan2(-q, self.peak - p) + math.acos(max(-1.0, min(1.0, (level + k) / size)))
        ) / self.omega

    def conduct(self, v: float, start: float, level: float) -> Piece:
        """The conducting piece, up to where the current is zero again."""
        omega, series, peak = self.omega, self.series, self.peak
        g, k, p, q = self.rates(level)
        a, b, c = (peak - p) / series, -q / series, (-level - k) / series
        cos_start, sin_start = math.cos(omega * start), math.sin(omega * start)
        d = -(v - k - p * cos_start - q * sin_start) / series
        end = self.forced_end(level)
        if g * (end - start) < _FORGOTTEN:
            end = root(Piece(a, b, c, d, g, omega, start, end).current, 0.0, math.pi / omega)
        return Piece(a, b, c, d, g, omega, start, end)
