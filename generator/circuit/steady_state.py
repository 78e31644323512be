"""The periodic steady state of a rectifier with a smoothing capacitor, solved piece by piece in closed form.

Between switching instants the circuit is linear and of first order, so each piece is exact; only the instants
(diode on, diode off) and the voltage that repeats are found by root finding, to 1e-9 of the peak.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from generator.circuit.rectifier_cycle import Conduction, Cycle


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
    found = _settled(emf, drop, source_resistance, capacitance, current, resistance, frequency, full_wave)
    return found if isinstance(found, Ripple) else _ripple(*found)


def rectifier_mean(
    *, emf: float, drop: float, source_resistance: float, capacitance: float, current: float, frequency: float, full_wave: bool
) -> float:  # fmt: skip
    """The mean of the same, V, with no resistance across the capacitor."""
    found = _settled(emf, drop, source_resistance, capacitance, current, math.inf, frequency, full_wave)
    return found.mean if isinstance(found, Ripple) else _area(*found) / found[0].period


def _settled(
    emf: float, drop: float, source_resistance: float, capacitance: float, current: float, resistance: float,
    frequency: float, full_wave: bool,
) -> Ripple | tuple[Cycle, Conduction, float]:  # fmt: skip
    """The piece that repeats and how long the diodes are off after it; the whole answer where nothing repeats."""
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
    cycle = Cycle(emf, drop, source_resistance, capacitance, current, resistance, omega, period)
    return cycle, *cycle.steady(crest)


def square_of_piece(
    *, a: float, b: float, c: float, d: float, g: float, omega: float, start: float, end: float
) -> float:
    """∫ i² dt from start to end of i = a·cos ωt + b·sin ωt + c + d·exp(−g(t − start)): A, 1/s, rad/s, s; A²s. g above 0."""
    span, faded = end - start, math.exp(-g * (end - start))
    cos_start = math.cos(omega * start)
    sin_start = math.sin(omega * start)
    cos_end = math.cos(omega * end)
    sin_end = math.sin(omega * end)
    sine = (a * (sin_end - sin_start) - b * (cos_end - cos_start)) / omega
    tail = d * -math.expm1(-g * span) / g
    turning = (a * a - b * b) * (sin_end * cos_end - sin_start * cos_start) / 2 - a * b * (
        cos_end**2 - cos_start**2
    )
    mixed = faded * (a * (omega * sin_end - g * cos_end) - b * (g * sin_end + omega * cos_end))
    mixed -= a * (omega * sin_start - g * cos_start) - b * (g * sin_start + omega * cos_start)
    return (
        (a * a + b * b) / 2 * span + turning / omega + c * c * span + 2 * c * (sine + tail)
        + d * d * -math.expm1(-2 * g * span) / (2 * g) + 2 * d * mixed / (g * g + omega * omega)
    )  # fmt: skip


def _area(cycle: Cycle, piece: Conduction, off: float) -> float:
    """Volt-seconds of one period."""
    t_on, start, t_off, v_off = piece
    omega, span = cycle.omega, t_off - t_on
    sines = math.sin(omega * t_off) - math.sin(omega * t_on)
    area = cycle.decay_area(v_off, off)
    if cycle.rs <= 0:
        return area + cycle.emf * sines / omega - cycle.drop * span
    cosines = math.cos(omega * t_off) - math.cos(omega * t_on)
    fading = start / cycle.g * -math.expm1(-cycle.g * span)
    return area + cycle.k * span + cycle.p * sines / omega - cycle.q * cosines / omega + fading


def _ripple(cycle: Cycle, piece: Conduction, off: float) -> Ripple:
    """What stands on the capacitor, from the piece that repeats and how long the diodes are off after it."""
    t_on, start, t_off, v_off = piece
    v_on = trough = cycle.decayed(v_off, off)
    top, square, area = cycle.emf - cycle.drop, math.inf, _area(cycle, piece, off)
    if cycle.rs > 0:
        lowest, highest = cycle.turns(t_on, start, t_off)
        trough = max(0.0, min(trough, cycle.voltage(lowest, t_on, start)))
        top = max(v_off, cycle.voltage(highest, t_on, start))
        square = square_of_piece(
            a=(cycle.emf - cycle.p) / cycle.rs, b=-cycle.q / cycle.rs, c=-(cycle.drop + cycle.k) / cycle.rs, d=-start / cycle.rs,
            g=cycle.g, omega=cycle.omega, start=t_on, end=t_off,
        )  # fmt: skip
    return Ripple(trough, top, area / cycle.period, v_off, off, v_on - trough, area, square)


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
