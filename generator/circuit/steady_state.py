"""The periodic steady state of a rectifier with a smoothing capacitor, solved piece by piece in closed form.

Between switching instants the circuit is linear and of first order, so each piece is exact; only the instants
(diode on, diode off) and the voltage that repeats are found by root finding, to 1e-9 of the peak.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Ripple:
    """What stands on the smoothing capacitor in the steady state (V, s).

    v_off: voltage when the diodes stop conducting; t_off: how long they then stay off; area: volt-seconds of one period.
    """

    trough: float
    top: float
    mean: float
    v_off: float
    t_off: float
    area: float


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
        return Ripple(0.0, 0.0, 0.0, 0.0, period, 0.0)
    if capacitance <= 0:
        return _without_capacitor(emf, drop, source_resistance, current, resistance, omega, period, full_wave)
    if current <= 0 and math.isinf(resistance):
        return Ripple(crest, crest, crest, crest, period, crest * period)
    cycle = _Cycle(emf, drop, source_resistance, capacitance, current, resistance, omega, period)
    trough = root(lambda v: cycle.next_trough(v) - v, 0.0, crest * (1 - 1e-12))
    return cycle.ripple(trough)


@dataclass(frozen=True)
class _Cycle:
    """One period, with time 0 at the crest of the source; the diodes conduct from t_on < 0 to t_off."""

    emf: float
    drop: float
    source_resistance: float
    capacitance: float
    current: float
    resistance: float
    omega: float
    period: float

    def source(self, t: float) -> float:
        return self.emf * math.cos(self.omega * t) - self.drop

    def on_at(self, v: float) -> float:
        """When the rising source reaches v: seconds before the crest, negative."""
        return -math.acos(min(1.0, (v + self.drop) / self.emf)) / self.omega

    # --- diodes off ---------------------------------------------------------------------------------------------

    def decayed(self, v: float, t: float) -> float:
        """v after t seconds without the source; a rail that runs dry stays at 0 V."""
        if math.isinf(self.resistance):
            return max(0.0, v - self.current * t / self.capacitance)
        pull = self.current * self.resistance
        return max(0.0, (v + pull) * math.exp(-t / (self.resistance * self.capacitance)) - pull)

    def decay_area(self, v: float, t: float) -> float:
        """Volt-seconds of such a decay."""
        if math.isinf(self.resistance):
            dry = v * self.capacitance / self.current if self.current else math.inf
            t = min(t, dry)
            return v * t - self.current * t * t / (2 * self.capacitance)
        pull, tau = self.current * self.resistance, self.resistance * self.capacitance
        if pull:
            t = min(t, tau * math.log((v + pull) / pull))
        return (v + pull) * tau * -math.expm1(-t / tau) - pull * t

    # --- diodes on ----------------------------------------------------------------------------------------------

    def off_at(self, t_on: float) -> tuple[float, float]:
        """(time, voltage) at which the diodes stop conducting."""
        if self.source_resistance <= 0:
            t = self._off_ideal()
            t = max(t, t_on)
            return t, max(0.0, self.source(t))
        last = math.acos(min(1.0, self.drop / self.emf)) / self.omega
        conducting = self.conducting(t_on)
        # the diode current starts at zero, so the search starts just after; the voltage lags and meets the falling source
        first = t_on + (last - t_on) * 1e-6

        def lacking(t: float) -> float:
            return conducting(t) - self.source(t)

        if lacking(first) >= 0:
            return t_on, max(0.0, self.source(t_on))
        t = root(lacking, first, last)
        return t, max(0.0, self.source(t))

    def _off_ideal(self) -> float:
        """Where the current of an ideal source through the diodes falls to zero (closed form)."""
        a = self.capacitance * self.omega * self.emf
        b = 0.0 if math.isinf(self.resistance) else self.emf / self.resistance
        c = self.current - (0.0 if math.isinf(self.resistance) else self.drop / self.resistance)
        size = math.hypot(a, b)
        last = math.acos(min(1.0, self.drop / self.emf)) / self.omega
        if abs(c) >= size:
            return last if c > 0 else 0.0
        return min(last, (math.atan2(b, a) + math.asin(c / size)) / self.omega)

    def _forced(self) -> tuple[float, float, float, float]:
        """(g, K, P, Q): with the diodes on, v tends to K + P·cos ωt + Q·sin ωt at the rate g."""
        rs, c = self.source_resistance, self.capacitance
        g = (1 / rs + (0.0 if math.isinf(self.resistance) else 1 / self.resistance)) / c
        k = -(self.drop / (rs * c) + self.current / c) / g
        scale = self.emf / (rs * c) / (g * g + self.omega * self.omega)
        return g, k, scale * g, scale * self.omega

    def conducting(self, t_on: float) -> Callable[[float], float]:
        """The voltage while the diodes conduct, from where it met the source at t_on."""
        g, k, p, q = self._forced()
        omega = self.omega

        def forced(t: float) -> float:
            return k + p * math.cos(omega * t) + q * math.sin(omega * t)

        start = self.source(t_on) - forced(t_on)
        return lambda t: forced(t) + start * math.exp(-g * (t - t_on))

    def conduction_area(self, t_on: float, t_off: float) -> float:
        omega, span = self.omega, t_off - t_on
        sines = math.sin(omega * t_off) - math.sin(omega * t_on)
        if self.source_resistance <= 0:
            return self.emf * sines / omega - self.drop * span
        g, k, p, q = self._forced()
        cosines = math.cos(omega * t_off) - math.cos(omega * t_on)
        start = self.source(t_on) - (k + p * math.cos(omega * t_on) + q * math.sin(omega * t_on))
        return k * span + p * sines / omega - q * cosines / omega + start / g * -math.expm1(-g * span)

    # --- the whole period ---------------------------------------------------------------------------------------

    def _next_on(self, v_off: float, t_off: float) -> float:
        """When the source of the next period meets the decaying voltage."""
        first = max(t_off, self.period - math.acos(min(1.0, self.drop / self.emf)) / self.omega)
        return root(lambda t: self.decayed(v_off, t - t_off) - self.source(t - self.period), first, self.period)

    def next_trough(self, trough: float) -> float:
        t_off, v_off = self.off_at(self.on_at(trough))
        return self.decayed(v_off, self._next_on(v_off, t_off) - t_off)

    def ripple(self, trough: float) -> Ripple:
        t_on = self.on_at(trough)
        t_off, v_off = self.off_at(t_on)
        off = self._next_on(v_off, t_off) - t_off
        area = self.decay_area(v_off, off) + self.conduction_area(t_on, t_off)
        trough = self.decayed(v_off, off)
        return Ripple(trough, self._top(t_on, t_off, v_off), area / self.period, v_off, off, area)

    def _top(self, t_on: float, t_off: float, v_off: float) -> float:
        """The highest voltage: the crest of an ideal source, else where charge and drain balance."""
        if self.source_resistance <= 0:
            return self.emf - self.drop
        voltage = self.conducting(t_on)

        def slope(t: float) -> float:
            charge = (self.source(t) - voltage(t)) / self.source_resistance
            return charge - self.current - voltage(t) / self.resistance

        first = t_on + (t_off - t_on) * 1e-6
        if slope(first) <= 0:
            return max(v_off, voltage(t_on))
        return max(v_off, voltage(root(slope, first, t_off)))


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
    return Ripple(0.0, crest, area / period, 0.0, max(0.0, gap), area)
