"""The periodic steady state of capacitors charged straight from the mains: a rectifier or a doubler with an ideal source.

What draws may be a current, a resistance or a power (a switching supply takes the same watts at any voltage). Between
the charging pulses each decay is in closed form; only the instants at which the diodes turn on and off are sought.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from generator.circuit.formula import parallel
from generator.circuit.roots import root

_TOLERANCE = 1e-10
_STEPS = 96  # of the numerical integration over one charging pulse of a doubler
_ROUNDS = 12


@dataclass(frozen=True)
class Drain:
    """What empties a capacitor: amperes while there is voltage, watts at any voltage, and ohm across it (inf: none).

    Only one of current and power may be above 0.
    """

    current: float = 0.0
    power: float = 0.0
    resistance: float = math.inf

    def at(self, v: float) -> float:
        """Amperes drawn at v volts."""
        return self.current + self.power / max(v, 1e-9) + v / self.resistance

    def left(self, v: float, t: float, farad: float) -> float:
        """Volts left after t seconds without the source; a rail that runs dry stays at 0 V.

        Power: v² falls as the voltage does with a current, for d(v²)/dt = −2·(power + v²/resistance)/farad.
        """
        tau = self.resistance * farad
        if self.power:
            if math.isinf(tau):
                square = v * v - 2 * self.power * t / farad
            else:
                pull = self.power * self.resistance
                square = (v * v + pull) * math.exp(-2 * t / tau) - pull
            return math.sqrt(max(0.0, square))
        if math.isinf(tau):
            return max(0.0, v - self.current * t / farad)
        pull = self.current * self.resistance
        return max(0.0, (v + pull) * math.exp(-t / tau) - pull)

    def area(self, v: float, t: float, farad: float) -> float:
        """Volt-seconds of such a decay from v over t seconds (∫ v dt, with dt = −farad·dv/drawn)."""
        end, tau = self.left(v, t, farad), self.resistance * farad
        if self.power:
            if math.isinf(tau):
                return farad * (v**3 - end**3) / (3 * self.power)
            bend = math.sqrt(self.power * self.resistance)
            return tau * (v - end - bend * (math.atan(v / bend) - math.atan(end / bend)))
        if math.isinf(tau):
            if end > 0 or not self.current:
                return (v + end) / 2 * t
            return v * v * farad / (2 * self.current)
        pull = self.current * self.resistance
        dry = t if end > 0 or not pull else min(t, tau * math.log((v + pull) / pull))
        return (v + pull) * tau * -math.expm1(-dry / tau) - pull * dry


@dataclass(frozen=True)
class Bulk:
    """The steady state (V, s, Vs). area: volt-seconds of one ripple period, period seconds long.

    v_off: on the rail when the diodes stop conducting, t_off: how long they then stay off. upper, lower: what a
    doubler's two capacitors hold at the trough.
    """

    trough: float
    top: float
    area: float
    period: float
    v_off: float = 0.0
    t_off: float = 0.0
    upper: float = 0.0
    lower: float = 0.0


class _Source:
    """A rectified sine that charges a capacitor: crest·cos ωt − drop, time 0 at the crest (V, rad/s, F)."""

    def __init__(self, emf: float, drop: float, omega: float, farad: float) -> None:
        self.emf, self.drop, self.omega, self.farad = emf, drop, omega, farad
        self.last = math.acos(min(1.0, drop / emf)) / omega

    def __call__(self, t: float) -> float:
        return self.emf * math.cos(self.omega * t) - self.drop

    def integral(self, start: float, end: float) -> float:
        sine = math.sin(self.omega * end) - math.sin(self.omega * start)
        return self.emf * sine / self.omega - self.drop * (end - start)

    def charging(self, t: float, drawn: float) -> float:
        """Amperes through the diodes while they conduct."""
        return drawn - self.farad * self.emf * self.omega * math.sin(self.omega * t)


@lru_cache(maxsize=4096)
def rectified_bulk(
    *, emf: float, drop: float, farad: float, drain: Drain, frequency: float, full_wave: bool
) -> Bulk:
    """A capacitor behind a rectifier on an ideal source.

    emf: crest of the mains, V; drop: of the conducting diodes together, V; farad: F, above 0; frequency: of the mains, Hz.
    Exact for ideal diodes with a constant drop. Source: the peak rectifier, solved for its own load instead of
    ΔV = I/(f·C).
    """
    omega, period = 2 * math.pi * frequency, 1 / (2 * frequency if full_wave else frequency)
    source = _Source(emf, drop, omega, farad)
    crest = emf - drop
    if crest <= 0:
        return Bulk(0.0, 0.0, 0.0, period, 0.0, period)
    if drain.at(crest) <= 0:
        return Bulk(crest, crest, crest * period, period, crest, period)
    off = _first_zero(lambda t: source.charging(t, drain.at(source(t))), source.last)
    v_off = max(0.0, source(off))
    gap = off - period
    on = root(
        lambda t: drain.left(v_off, t, farad) - source(t + gap),
        max(0.0, -gap - source.last),
        -gap,
        tolerance=_TOLERANCE,
    )
    trough = drain.left(v_off, on, farad)
    area = drain.area(v_off, on, farad) + source.integral(on + gap, off)
    return Bulk(trough, crest, area, period, v_off, on)


def _first_zero(f: object, last: float) -> float:
    """Where the diode current falls to zero after the crest; the end where it never does."""
    assert callable(f)
    before = 0.0
    for step in range(1, 17):
        here = last * step / 16
        if f(here) <= 0:
            return root(f, before, here, tolerance=_TOLERANCE)
        before = here
    return last


@lru_cache(maxsize=4096)
def doubled_bulk(
    *, emf: float, drop: float, farad: float, bleeder: float, drain: Drain, frequency: float
) -> Bulk:
    """A doubler: two capacitors in series, charged in turn through one diode each, the load across both.

    emf: crest of the mains, V; drop: of one diode, V; farad: F, of each capacitor; bleeder: ohm across each, inf for
    none; drain: across both. The two halves are alike, half a period apart, so the state that repeats is one number:
    what the other capacitor holds when a diode stops conducting. A capacitor that runs dry is drawn below 0 V by the load.
    Source: Kirchhoff's laws.
    """
    omega, half = 2 * math.pi * frequency, 1 / (2 * frequency)
    source = _Source(emf, drop, omega, farad)
    crest = emf - drop
    if crest <= 0:
        return Bulk(0.0, 0.0, 0.0, half, 0.0, half)
    across = parallel(2 * bleeder, drain.resistance)
    both = Drain(drain.current, drain.power, across)
    if both.at(crest) <= 0:
        return Bulk(2 * crest, 2 * crest, 2 * crest * half, half, 2 * crest, half, crest, crest)
    other = crest * 0.95
    off = 0.0
    for _ in range(_ROUNDS):
        pulse = _pulse(source, off, other, half, both, drain, bleeder)
        settled = abs(pulse.other - other) <= 1e-8 * crest and abs(pulse.off - off) * omega < 1e-8
        off, other = pulse.off, pulse.other
        if settled:
            break
    return pulse.bulk


@dataclass(frozen=True)
class _Pulse:
    """One round of a doubler: when its diode stops conducting, what the other capacitor then holds, and the rail."""

    off: float
    other: float
    bulk: Bulk


def _pulse(
    source: _Source, off: float, other: float, half: float, both: Drain, drain: Drain, bleeder: float
) -> _Pulse:
    """From one diode's stop (at off after its crest) to the other's, half a period later.

    While neither conducts, the rail is a capacitor of half the size; the difference of the two dies away through the
    bleeders alone.
    """
    charged = max(0.0, source(off))
    rail, apart = charged + other, charged - other
    farad = source.farad
    fading = bleeder * farad

    def held(t: float) -> float:  # by the capacitor that is charged next
        left = both.left(rail, t, farad / 2)
        return (left - apart * math.exp(-t / fading)) / 2

    gap = off - half
    wait = root(lambda t: held(t) - source(t + gap), 0.0, -gap, tolerance=_TOLERANCE)
    trough = both.left(rail, wait, farad / 2)
    low, high = held(wait), trough - held(wait)
    area = both.area(rail, wait, farad / 2)

    def falls(t: float, v: float) -> float:  # of the capacitor that is not being charged
        return -(drain.at(source(t) + v) + v / bleeder) / farad

    def charging(t: float, v: float) -> float:
        volts = source(t)
        return source.charging(t, drain.at(volts + v) + volts / bleeder)

    start, v, top = wait + gap, high, trough
    step = (source.last - start) / _STEPS
    t, ended = start, source.last
    while t < source.last - step / 2:
        after = v + falls(t + step / 2, v + falls(t, v) * step / 2) * step  # at the middle of the step
        if t + step > 0 and charging(t + step, after) <= 0:
            slope = (after - v) / step
            ended = root(lambda s: charging(s, v + slope * (s - t)), max(t, 0.0), t + step, tolerance=1e-8)  # noqa: B023
            area += source.integral(t, ended) + (ended - t) * (v + slope * (ended - t) / 2)
            v += slope * (ended - t)
            top = max(top, source(ended) + v)
            break
        area += source.integral(t, t + step) + (v + after) / 2 * step
        t, v = t + step, after
        top = max(top, source(t) + v)
    bulk = Bulk(trough, top, area, half, rail, wait, high, low)
    return _Pulse(ended, v, bulk)
