"""A coil behind a diode on the mains: how long its current lasts, and what meters make of it."""

from __future__ import annotations

import math
from bisect import bisect
from dataclasses import dataclass, replace
from functools import lru_cache

from generator.circuit.roots import root
from generator.circuit.steady_state import square_of_piece

REVOLUTION = 2 * math.pi
METER = 1e7  # ohm, where the coil was: what it is cancels out but for the diode's drop
NOTHING = 1e-6  # A: less is no coil
# times what a coil has, where its mean volts are worked out
OHMS = (50.0, 12.0, 5.0, 2.2, 1.4, 1.0, 0.72, 0.45, 0.2, 0.02)
POINTS = len(OHMS) + 2


@dataclass(frozen=True)
class HalfWave:
    """One period of a coil behind a diode: i(θ) = crest·sin(θ − lag) − level + faded·e^(−g·(θ − start)) from start to end
    of conduction (rad after the zero crossing), mean and RMS. A."""

    start: float
    end: float = math.pi / 2
    mean: float = 0.0
    rms: float = 0.0
    crest: float = 0.0
    lag: float = 0.0
    level: float = 0.0
    faded: float = 0.0
    g: float = 0.0

    def at(self, angle: float) -> float:
        """Amperes at an angle, as if the diode conducted on and on."""
        swings = self.crest * math.sin(angle - self.lag) - self.level
        return swings + self.faded * math.exp(-self.g * (angle - self.start))


@lru_cache(maxsize=4096)
def half_wave_coil(
    *, peak: float, drop: float, resistance: float, inductance: float, frequency: float
) -> HalfWave:
    """Diode, resistance and inductance in series on a sine.

    peak: V; drop: of the diode, V; resistance: ohm, above 0; inductance: H; frequency: Hz. The current
    i(θ) = peak/Z·sin(θ − φ) − drop/R + A·e^(−(θ − θ0)·R/ωL), from θ0 = asin(drop/peak) until it is zero again, at the
    latest at θ0 + 2π. mean·R·2π = peak·(cos θ0 − cos θe) − drop·(θe − θ0), for the coil's own voltage has no mean.
    Source: textbooks on power electronics, half-wave rectifier with RL load.
    """
    if peak <= drop:
        return HalfWave(math.pi / 2)
    start, level = math.asin(drop / peak), drop / resistance
    reactance = 2 * math.pi * frequency * inductance
    end = math.pi - start
    if reactance < 1e-9 * resistance:
        wave = HalfWave(start, crest=peak / resistance, level=level)
        square = peak * peak * ((end - start) / 2 + math.sin(2 * start) / 2)
        square += drop * drop * (end - start) - 4 * peak * drop * math.cos(start)
        square /= resistance * resistance
    else:
        crest, lag = peak / math.hypot(resistance, reactance), math.atan2(reactance, resistance)
        faded, g = level - crest * math.sin(start - lag), resistance / reactance
        wave = HalfWave(start, crest=crest, lag=lag, level=level, faded=faded, g=g)
        if wave.at(end) > 0:
            end = root(wave.at, end, start + REVOLUTION, tolerance=1e-12)
        square = square_of_piece(
            a=-crest * math.sin(lag), b=crest * math.cos(lag), c=-level, d=faded, g=g, omega=1.0, start=start, end=end
        )  # fmt: skip
    mean = (peak * (math.cos(start) - math.cos(end)) - drop * (end - start)) / (REVOLUTION * resistance)
    return replace(wave, end=end, mean=max(0.0, mean), rms=math.sqrt(max(0.0, square) / REVOLUTION))


@lru_cache(maxsize=1024)
def means(
    supply: float, drop: float, ohms: float, henries: float, frequency: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Mean amperes in a coil behind a diode, and mean volts across it, by how many ohms it has about those that it should."""
    peak = supply * math.sqrt(2)
    fed = {"peak": peak, "drop": drop, "frequency": frequency}
    if peak <= drop:
        return tuple(1e-6 * n for n in range(POINTS)), tuple(-1e-3 * n for n in range(POINTS))
    start = math.asin(drop / peak)
    means = [(0.0, (peak * math.cos(start) - drop * (math.pi / 2 - start)) / math.pi)]
    for times in OHMS:
        mean = half_wave_coil(**fed, resistance=ohms * times, inductance=henries).mean
        means.append((max(mean, means[-1][0] + 1e-9), min(mean * ohms * times, means[-1][1] - 1e-9)))
    means.append((means[-1][0] * 1.05, -0.01 * means[0][1]))
    amperes, volts = zip(*means)
    return amperes, volts


def ohms_at(curve: tuple[tuple[float, ...], tuple[float, ...]], amperes: float) -> float:
    """Ohm of a coil through which so many amperes flow on average, by what means gave."""
    taken, volts = curve
    at = min(max(bisect(taken, amperes), 1), len(taken) - 1)
    share = (amperes - taken[at - 1]) / (taken[at] - taken[at - 1])
    return max(volts[at - 1] + share * (volts[at] - volts[at - 1]), 1e-9) / amperes


def alternating(*, peak: float, drop: float, ohms: float, henries: float, frequency: float) -> float:
    """AC volts across the coil as a meter shows them that takes the mean away: RMS of what is above it and below it. Across an
    open coil (ohms of METER, no henries) those of half-waves."""
    wave = half_wave_coil(peak=peak, drop=drop, resistance=ohms, inductance=henries, frequency=frequency)
    start, end = wave.start, max(wave.start, wave.end)
    cosines = math.cos(start) - math.cos(end)
    square = peak**2 * ((end - start) / 2 - (math.sin(2 * end) - math.sin(2 * start)) / 4)
    square += drop**2 * (end - start) - 2 * peak * drop * cosines
    mean = (peak * cosines - drop * (end - start)) / REVOLUTION
    return math.sqrt(max(0.0, square / REVOLUTION - mean**2))
