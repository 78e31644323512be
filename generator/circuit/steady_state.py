"""The periodic steady state of a rectifier with a smoothing capacitor, solved piece by piece in closed form.

Between switching instants the circuit is linear and of first order, so each piece is exact; only the instants
(diode on, diode off) and the voltage that repeats are found by root finding, to 1e-9 of the peak.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

_TOLERANCE = 1e-10  # of the span or the crest, where a root or the repeating voltage counts as found
_STEP = 1e-8  # rad; a Newton step smaller than this leaves an error of its square
_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9, 0.05, 0.95)  # of the conduction, where to look for a rising voltage


@dataclass(frozen=True)
class Ripple:
    """What stands on the smoothing capacitor in the steady state (V, s).

    v_off: voltage when the diodes stop conducting; t_off: how long they then stay off; dip: how much further the
    voltage falls after they conduct again, until the charging current has grown to the load's; area: volt-seconds of
    one period; square: A²s of the charging current in one period, inf where the source is ideal.
    """

    trough: float
    top: float
    mean: float
    v_off: float
    t_off: float
    dip: float
    area: float
    square: float


def root(f: Callable[[float], float], low: float, high: float, *, tolerance: float = 1e-12) -> float:
    """A zero of f between low and high, where its sign changes; the end nearer zero where it does not.

    Regula falsi with the Illinois step, so that a smooth f takes about ten calls. tolerance is relative to the span.
    """
    f_low, f_high = f(low), f(high)
    if f_low == 0 or f_high == 0 or f_low * f_high > 0:
        return low if abs(f_low) <= abs(f_high) else high
    stop = abs(high - low) * tolerance
    side = 0
    for _ in range(100):
        middle = (f_low * high - f_high * low) / (f_low - f_high)
        f_middle = f(middle)
        if f_middle == 0 or abs(high - low) <= stop:
            return middle
        if f_middle * f_high > 0:
            if abs(high - middle) <= stop:
                return middle
            high, f_high = middle, f_middle
            f_low, side = (f_low / 2, -1) if side == -1 else (f_low, -1)
        else:
            if abs(middle - low) <= stop:
                return middle
            low, f_low = middle, f_middle
            f_high, side = (f_high / 2, 1) if side == 1 else (f_high, 1)
    return (low + high) / 2


@lru_cache(maxsize=4096)  # bands, failures and diagnosis ask for the same points
def rectifier_steady_state(
    *,
    emf: float,
    drop: float,
    source_resistance: float,
    capacitance: float,
    current: float,
    resistance: float,
    frequency: float,
    full_wave: bool,
) -> Ripple:
    """Steady state of source, diodes, capacitor and load.

    emf: peak of the source in V; drop: of the conducting diodes together, V; source_resistance: ohm, 0 for an ideal
    source; capacitance: F, 0 for an open one; current: drawn by the load, A, while there is voltage; resistance: across the
    capacitor, ohm, inf for none; frequency: of the mains, Hz. All at least 0, emf and frequency above 0.
    Worked example: 12 V RMS ideal, bridge, 1000 µF, 120 mA: see tests, against an integration by scipy.
    """
    omega = 2 * math.pi * frequency
    period = 1 / (2 * frequency if full_wave else frequency)
    crest = emf - drop
    if crest <= 0:
        return Ripple(0.0, 0.0, 0.0, 0.0, period, 0.0, 0.0, 0.0)
    if capacitance <= 0:
        return _without_capacitor(emf, drop, source_resistance, current, resistance, omega, period, full_wave)
    if current <= 0 and math.isinf(resistance):
        return Ripple(crest, crest, crest, crest, period, 0.0, crest * period, 0.0)
    if crest <= current * source_resistance:  # the load takes all that the source can give, at 0 V
        return Ripple(0.0, 0.0, 0.0, 0.0, period, 0.0, 0.0, 0.0)
    cycle = _Cycle(emf, drop, source_resistance, capacitance, current, resistance, omega, period)
    return cycle.ripple(cycle.settled(crest))


def square_of_piece(*, a: float, b: float, c: float, d: float, g: float, omega: float, start: float, end: float) -> float:
    """∫ i² dt from start to end of i = a·cos ωt + b·sin ωt + c + d·exp(−g(t − start)): A, 1/s, rad/s, s; A²s. g above 0."""
    span, faded = end - start, math.exp(-g * (end - start))
    cos_start, sin_start, cos_end, sin_end = math.cos(omega * start), math.sin(omega * start), math.cos(omega * end), math.sin(omega * end)
    sine = (a * (sin_end - sin_start) - b * (cos_end - cos_start)) / omega
    tail = d * -math.expm1(-g * span) / g
    turning = (a * a - b * b) * (sin_end * cos_end - sin_start * cos_start) / 2 - a * b * (cos_end**2 - cos_start**2)
    mixed = faded * (a * (omega * sin_end - g * cos_end) - b * (g * sin_end + omega * cos_end))
    mixed -= a * (omega * sin_start - g * cos_start) - b * (g * sin_start + omega * cos_start)
    return (
        (a * a + b * b) / 2 * span + turning / omega + c * c * span + 2 * c * (sine + tail)
        + d * d * -math.expm1(-2 * g * span) / (2 * g) + 2 * d * mixed / (g * g + omega * omega)
    )  # fmt: skip


class _Conduction(NamedTuple):
    """While the diodes conduct: from t_on to t_off, at v_off then; start is what fades of the voltage."""

    t_on: float
    start: float
    t_off: float
    v_off: float


class _Cycle:
    """One period, with time 0 at the crest of the source; the diodes conduct from t_on < 0 to t_off."""

    def __init__(self, emf: float, drop: float, source_resistance: float, capacitance: float, current: float,
                 resistance: float, omega: float, period: float) -> None:  # fmt: skip
        self.emf, self.drop, self.rs, self.c = emf, drop, source_resistance, capacitance
        self.current, self.resistance, self.omega, self.period = current, resistance, omega, period
        self.last = math.acos(min(1.0, drop / emf)) / omega  # when the source is down to the diodes' drop
        self.steady = math.isinf(resistance)
        self.tau = resistance * capacitance
        self.pull = 0.0 if self.steady else current * resistance
        # with the diodes on, v tends to k + p·cos ωt + q·sin ωt at the rate g
        if source_resistance > 0:
            rc = source_resistance * capacitance
            self.g = (1 / source_resistance + 1 / resistance) / capacitance
            self.k = -(drop / rc + current / capacitance) / self.g
            scale = emf / rc / (self.g * self.g + omega * omega)
            self.p, self.q = scale * self.g, scale * omega
        self.t_off = self.off = math.nan  # of the round before: where the next search starts

    def source(self, t: float) -> float:
        return self.emf * math.cos(self.omega * t) - self.drop

    # --- diodes off ---------------------------------------------------------------------------------------------

    def decayed(self, v: float, t: float) -> float:
        """v after t seconds without the source; a rail that runs dry stays at 0 V."""
        if self.steady:
            return max(0.0, v - self.current * t / self.c)
        return max(0.0, (v + self.pull) * math.exp(-t / self.tau) - self.pull)

    def decay_area(self, v: float, t: float) -> float:
        """Volt-seconds of such a decay."""
        if self.steady:
            dry = v * self.c / self.current if self.current else math.inf
            t = min(t, dry)
            return v * t - self.current * t * t / (2 * self.c)
        if self.pull:
            t = min(t, self.tau * math.log((v + self.pull) / self.pull))
        return (v + self.pull) * self.tau * -math.expm1(-t / self.tau) - self.pull * t

    def on_again(self, v_off: float, t_off: float) -> float:
        """How long after t_off the source of the next period meets the decaying voltage."""
        omega, emf, gap = self.omega, self.emf, t_off - self.period
        t = self.off
        for _ in () if math.isnan(t) else range(6):  # Newton's steps from where it was the round before
            v = self.decayed(v_off, t)
            falls = self.current / self.c if self.steady else (v + self.pull) / self.tau
            slope = emf * omega * math.sin(omega * (t + gap)) - (falls if v else 0.0)
            if slope >= 0:
                break
            step = (v - self.source(t + gap)) / slope
            t -= step
            if not 0 < t <= -gap:
                break
            if abs(step) * omega <= _STEP:
                return t
        first = max(0.0, -gap - self.last)
        return root(lambda t: self.decayed(v_off, t) - self.source(t + gap), first, -gap, tolerance=_TOLERANCE)

    # --- diodes on ----------------------------------------------------------------------------------------------

    def conduction(self, v_on: float) -> _Conduction:
        """The piece in which the diodes conduct, from where the rising source meets v_on."""
        t_on = -math.acos(min(1.0, (v_on + self.drop) / self.emf)) / self.omega
        if self.rs <= 0:
            t_off = max(self._off_ideal(), t_on)
            return _Conduction(t_on, 0.0, t_off, max(0.0, self.source(t_off)))
        start = self.start_of(t_on, v_on)
        if v_on <= self.current * self.rs and self.current and self._runs_dry(t_on, start, v_on):
            # the rail waits at 0 V until the source gives more than the load takes
            t_on = -math.acos(min(1.0, (self.current * self.rs + self.drop) / self.emf)) / self.omega
            start = self.start_of(t_on, 0.0)
        t_off = self._off_at(t_on, start)
        return _Conduction(t_on, start, t_off, max(0.0, self.voltage(t_off, t_on, start)))

    def _runs_dry(self, t_on: float, start: float, v_on: float) -> bool:
        """Whether the load still empties the capacitor after the diodes have begun to conduct."""
        if v_on == 0:
            return True
        turn = root(lambda t: self.slope(t, t_on, start), t_on, 0.0, tolerance=1e-6)
        return self.voltage(turn, t_on, start) <= 0

    def _off_at(self, t_on: float, start: float) -> float:
        """When the diodes stop conducting: the voltage meets the falling source, or is pulled down to 0 V."""
        omega, emf, g, p, q = self.omega, self.emf, self.g, self.p, self.q
        t = self.t_off
        for _ in () if math.isnan(t) else range(6):  # Newton's steps from where it was the round before
            cosine, sine, fading = math.cos(omega * t), math.sin(omega * t), start * math.exp(-g * (t - t_on))
            lacks = self.k + p * cosine + q * sine + fading - emf * cosine + self.drop
            slope = omega * (q * cosine - p * sine + emf * sine) - g * fading
            if slope <= 0:
                break
            step = lacks / slope
            t -= step
            if not t_on < t <= self.last:
                break
            if abs(step) * omega <= _STEP:
                return t
        # the diode current starts at zero, so the search starts just after; the voltage lags and meets the falling source
        first = t_on + (self.last - t_on) * 1e-6

        def lacking(t: float) -> float:
            return self.voltage(t, t_on, start) - self.source(t)

        if lacking(first) >= 0:
            return t_on
        if lacking(self.last) >= 0:
            return root(lacking, first, self.last, tolerance=_TOLERANCE)
        full = self._turns(t_on, start, self.last)[1]
        return root(lambda t: self.voltage(t, t_on, start), full, self.last, tolerance=_TOLERANCE)

    def _off_ideal(self) -> float:
        """Where the current of an ideal source through the diodes falls to zero (closed form)."""
        a = self.c * self.omega * self.emf
        b = 0.0 if self.steady else self.emf / self.resistance
        c = self.current - (0.0 if self.steady else self.drop / self.resistance)
        size = math.hypot(a, b)
        if abs(c) >= size:
            return self.last if c > 0 else 0.0
        return min(self.last, (math.atan2(b, a) + math.asin(c / size)) / self.omega)

    def start_of(self, t_on: float, v_on: float) -> float:
        """What fades of the voltage while the diodes conduct."""
        angle = self.omega * t_on
        return v_on - self.k - self.p * math.cos(angle) - self.q * math.sin(angle)

    def voltage(self, t: float, t_on: float, start: float) -> float:
        """The voltage while the diodes conduct."""
        angle = self.omega * t
        return self.k + self.p * math.cos(angle) + self.q * math.sin(angle) + start * math.exp(-self.g * (t - t_on))

    def slope(self, t: float, t_on: float, start: float) -> float:
        """How fast it rises, V/s."""
        angle = self.omega * t
        turning = self.omega * (self.q * math.cos(angle) - self.p * math.sin(angle))
        return turning - self.g * start * math.exp(-self.g * (t - t_on))

    def _turns(self, t_on: float, start: float, t_off: float) -> tuple[float, float]:
        """(lowest, highest): when the charging current has grown to the load's, and when it is back at it.

        The voltage is flat there: a coarse instant gives a sharp voltage.
        """
        rising = next((t for s in _SHARES if self.slope(t := t_on + s * (t_off - t_on), t_on, start) > 0), None)
        if rising is None:
            return t_on, t_on
        found = [t_on, t_off]
        for side in (0, 1):
            low, high = (t_on, rising) if side == 0 else (rising, t_off)
            if self.slope(found[side], t_on, start) < 0:
                found[side] = root(lambda t: self.slope(t, t_on, start), low, high, tolerance=1e-5)
        return found[0], found[1]

    # --- the whole period ---------------------------------------------------------------------------------------

    def next_on(self, v_on: float) -> float:
        """The voltage at which the diodes conduct again one period later."""
        piece = self.conduction(v_on)
        self.t_off = piece.t_off
        self.off = self.on_again(piece.v_off, piece.t_off)
        return self.decayed(piece.v_off, self.off)

    def settled(self, crest: float) -> float:
        """The voltage at which the diodes begin to conduct that repeats: secant steps from a guess, else a bracket."""
        top = crest * (1 - 1e-12)
        drain = self.current + crest / self.resistance
        # charging pulses are a few times the drain, and the capacitor bears most of a period alone
        before = max(crest / 2, min(top, crest - drain * (3 * self.rs + 0.8 * self.period / self.c)))
        change_before = self.next_on(before) - before
        v_on = before + change_before
        for _ in range(12):
            change = self.next_on(v_on) - v_on
            if abs(change) <= _TOLERANCE * crest:
                return v_on + change
            slope = (change - change_before) / (v_on - before) if v_on != before else 0.0
            if slope >= -1e-3:
                break
            before, change_before = v_on, change
            v_on -= change / slope
            if not 0 <= v_on < crest:
                break
        return root(lambda v: self.next_on(v) - v, 0.0, top, tolerance=_TOLERANCE)

    def ripple(self, v_on: float) -> Ripple:
        piece = self.conduction(v_on)
        t_on, start, t_off, v_off = piece.t_on, piece.start, piece.t_off, piece.v_off
        off = self.on_again(v_off, t_off)
        v_on = trough = self.decayed(v_off, off)
        omega, span = self.omega, t_off - t_on
        sines, cosines = math.sin(omega * t_off) - math.sin(omega * t_on), math.cos(omega * t_off) - math.cos(omega * t_on)
        area = self.decay_area(v_off, off)
        if self.rs <= 0:
            top, square = self.emf - self.drop, math.inf
            area += self.emf * sines / omega - self.drop * span
        else:
            lowest, highest = self._turns(t_on, start, t_off)
            trough = max(0.0, min(trough, self.voltage(lowest, t_on, start)))
            top = max(v_off, self.voltage(highest, t_on, start))
            fading = start / self.g * -math.expm1(-self.g * span)
            area += self.k * span + self.p * sines / omega - self.q * cosines / omega + fading
            square = square_of_piece(
                a=(self.emf - self.p) / self.rs, b=-self.q / self.rs, c=-(self.drop + self.k) / self.rs, d=-start / self.rs,
                g=self.g, omega=omega, start=t_on, end=t_off,
            )  # fmt: skip
        return Ripple(trough, top, area / self.period, v_off, off, v_on - trough, area, square)


def _without_capacitor(
    emf: float, drop: float, source_resistance: float, current: float, resistance: float,
    omega: float, period: float, full_wave: bool,
) -> Ripple:  # fmt: skip
    """With the capacitor open the rail follows the rectified source; the mean is exact for the crest that conducts."""
    if source_resistance > 0:
        share = 1 / (1 + (0.0 if math.isinf(resistance) else source_resistance / resistance))
        emf, drop = emf * share, (drop + current * source_resistance) * share
    crest = max(0.0, emf - drop)
    half = math.acos(min(1.0, drop / emf)) if crest else 0.0
    area = 2 * (emf * math.sin(half) - drop * half) / omega
    gap = period - 2 * half / omega
    return Ripple(0.0, crest, area / period, 0.0, max(0.0, gap), 0.0, area, 0.0)
