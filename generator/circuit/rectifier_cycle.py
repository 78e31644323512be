"""One period of a rectifier with a smoothing capacitor: the pieces with the diodes on and off, and those that repeat."""

from __future__ import annotations

import math
from typing import NamedTuple

from generator.circuit.roots import root

_TOLERANCE = 1e-10  # of the span or the crest, where a root or the repeating voltage counts as found
_STEP = 1e-8  # rad; a Newton step smaller than this leaves an error of its square
_FLAT = 1e-4  # rad; near enough where the voltage does not change
# of the conduction, where to look for a rising voltage
_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9, 0.05, 0.95)


class Conduction(NamedTuple):
    """While the diodes conduct: from t_on to t_off, at v_off then; start is what fades of the voltage."""

    t_on: float
    start: float
    t_off: float
    v_off: float


class Cycle:
    """One period, with time 0 at the crest of the source; the diodes conduct from t_on < 0 to t_off (V, A, s, ohm, F)."""

    def __init__(self, emf: float, drop: float, source_resistance: float, capacitance: float, current: float,
                 resistance: float, omega: float, period: float) -> None:  # fmt: skip
        self.emf, self.drop, self.rs, self.c = emf, drop, source_resistance, capacitance
        self.current, self.resistance, self.omega, self.period = current, resistance, omega, period
        self.last = math.acos(min(1.0, drop / emf)) / omega  # when the source is down to the diodes' drop
        self.steady_load = math.isinf(resistance)  # a current alone: the decay is straight
        self.tau = resistance * capacitance
        self.pull = 0.0 if self.steady_load else current * resistance
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
        if self.steady_load:
            return max(0.0, v - self.current * t / self.c)
        return max(0.0, (v + self.pull) * math.exp(-t / self.tau) - self.pull)

    def decay_area(self, v: float, t: float) -> float:
        """Volt-seconds of such a decay."""
        if self.steady_load:
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
            falls = self.current / self.c if self.steady_load else (v + self.pull) / self.tau
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
        return root(
            lambda t: self.decayed(v_off, t) - self.source(t + gap), first, -gap, tolerance=_TOLERANCE
        )

    # --- diodes on ----------------------------------------------------------------------------------------------

    def conduction(self, v_on: float) -> Conduction:
        """The piece in which the diodes conduct, from where the rising source meets v_on."""
        t_on = -math.acos(min(1.0, (v_on + self.drop) / self.emf)) / self.omega
        if self.rs <= 0:
            t_off = max(self._off_ideal(), t_on)
            return Conduction(t_on, 0.0, t_off, max(0.0, self.source(t_off)))
        start = self.start_of(t_on, v_on)
        if v_on <= self.current * self.rs and self.current and self._runs_dry(t_on, start, v_on):
            # the rail waits at 0 V until the source gives more than the load takes
            t_on = -math.acos((self.current * self.rs + self.drop) / self.emf) / self.omega
            start = self.start_of(t_on, 0.0)
        t_off = self._off_at(t_on, start)
        return Conduction(t_on, start, t_off, max(0.0, self.voltage(t_off, t_on, start)))

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
        for _ in range(6) if t > t_on else ():  # Newton's steps from where it was the round before
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
        full = self.turns(t_on, start, self.last)[1]
        return root(lambda t: self.voltage(t, t_on, start), full, self.last, tolerance=_TOLERANCE)

    def _off_ideal(self) -> float:
        """Where the current of an ideal source through the diodes falls to zero (closed form)."""
        a = self.c * self.omega * self.emf
        b = 0.0 if self.steady_load else self.emf / self.resistance
        c = self.current - (0.0 if self.steady_load else self.drop / self.resistance)
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
        return (
            self.k
            + self.p * math.cos(angle)
            + self.q * math.sin(angle)
            + start * math.exp(-self.g * (t - t_on))
        )

    def slope(self, t: float, t_on: float, start: float) -> float:
        """How fast it rises, V/s."""
        angle = self.omega * t
        turning = self.omega * (self.q * math.cos(angle) - self.p * math.sin(angle))
        return turning - self.g * start * math.exp(-self.g * (t - t_on))

    def turns(self, t_on: float, start: float, t_off: float) -> tuple[float, float]:
        """(lowest, highest): when the charging current has grown to the load's, and when it is back at it.

        The voltage is flat there: a coarse instant gives a sharp voltage.
        """
        rising = next(
            (t for s in _SHARES if self.slope(t := t_on + s * (t_off - t_on), t_on, start) > 0), None
        )
        if rising is None:
            return t_on, t_on
        lowest = self._flat(t_on, t_on, start, t_on, rising) if self.slope(t_on, t_on, start) < 0 else t_on
        highest = (
            self._flat(t_off, t_on, start, rising, t_off) if self.slope(t_off, t_on, start) < 0 else t_off
        )
        return lowest, highest

    def _flat(self, t: float, t_on: float, start: float, low: float, high: float) -> float:
        """The instant between low and high at which the voltage is flat, looked for from t."""
        omega, g = self.omega, self.g
        for _ in range(6):
            angle, fading = omega * t, g * start * math.exp(-g * (t - t_on))
            cosine, sine = math.cos(angle), math.sin(angle)
            bend = g * fading - omega * omega * (self.q * sine + self.p * cosine)
            if bend == 0:
                break
            step = (omega * (self.q * cosine - self.p * sine) - fading) / bend
            t -= step
            if not low <= t <= high:
                break
            if abs(step) * omega < _FLAT:
                return t
        return root(lambda t: self.slope(t, t_on, start), low, high, tolerance=1e-5)

    # --- the whole period ---------------------------------------------------------------------------------------

    def next_on(self, v_on: float) -> float:
        """The voltage at which the diodes conduct again one period later."""
        piece = self.conduction(v_on)
        self.t_off = piece.t_off
        self.off = self.on_again(piece.v_off, piece.t_off)
        return self.decayed(piece.v_off, self.off)

    def steady(self, crest: float) -> tuple[Conduction, float]:
        """The piece in which the diodes conduct that repeats, and how long they are off after it."""
        return self._both_instants(crest) or self._round_after_round(crest)

    def _guess(self, crest: float) -> float:
        """Near the voltage at which the diodes begin to conduct: charging pulses are a few times the drain, and the
        capacitor bears most of a period alone."""
        drain = self.current + crest / self.resistance
        return max(
            crest / 2, min(crest * (1 - 1e-12), crest - drain * (3 * self.rs + 0.8 * self.period / self.c))
        )

    def _both_instants(self, crest: float) -> tuple[Conduction, float] | None:
        """Newton's steps in both instants at once: the ordinary case, with a source resistance and a rail that is never dry.

        a and b are the angles at which the diodes begin and cease to conduct. Two things are brought to zero: at b the
        voltage meets the source again, and what is left of it a period later meets the source at a. None where that finds
        nothing.
        """
        if self.rs <= 0:
            return None
        cos, sin, exp = math.cos, math.sin, math.exp
        omega, emf, drop, q, pull = self.omega, self.emf, self.drop, self.q, self.pull
        p, k, g = emf - self.p, self.k + drop, self.g / omega  # of the source less the voltage, by angle
        turn, last = self.period * omega, self.last * omega
        falls = self.current / (self.c * omega) if self.steady_load else 0.0
        fades = 0.0 if self.steady_load else 1 / (omega * self.tau)
        a = -math.acos((self._guess(crest) + drop) / emf)
        b = -0.8 * a
        for _ in range(10):
            cos_a, sin_a, cos_b, sin_b = cos(a), sin(a), cos(b), sin(b)
            fading = exp(-g * (b - a))
            start = p * cos_a - q * sin_a - k
            lacks = k - p * cos_b + q * sin_b + start * fading
            lacks_b = p * sin_b + q * cos_b - g * start * fading
            lacks_a = (g * start - p * sin_a - q * cos_a) * fading
            left = exp(-fades * (turn - b + a))
            held = (emf * cos_b - drop + pull) * left
            misses = held - pull - falls * (turn - b + a) - emf * cos_a + drop
            misses_b = fades * held + falls - emf * sin_b * left
            misses_a = emf * sin_a - fades * held - falls
            both = lacks_a * misses_b - lacks_b * misses_a
            if both == 0:
                return None
            step_a = (lacks * misses_b - lacks_b * misses) / both
            step_b = (lacks_a * misses - lacks * misses_a) / both
            a, b = a - step_a, b - step_b
            if not -last < a < 0 or not a < b < last:
                return None
            if abs(step_a) + abs(step_b) < _STEP:
                break
        else:
            return None
        v_on, v_off = emf * cos(a) - drop, emf * cos(b) - drop
        if v_on <= self.current * self.rs or v_off <= 0:
            return None
        return Conduction(a / omega, self.start_of(a / omega, v_on), b / omega, v_off), (turn - b + a) / omega

    def _round_after_round(self, crest: float) -> tuple[Conduction, float]:
        """The same from one period to the next, in whatever way the piece ends, until it repeats."""
        piece = self.conduction(self._settled(crest))
        return piece, self.on_again(piece.v_off, piece.t_off)

    def _settled(self, crest: float) -> float:
        """The voltage at which the diodes begin to conduct that repeats."""
        return root(lambda v: self.next_on(v) - v, 0.0, crest * (1 - 1e-12), tolerance=_TOLERANCE)
