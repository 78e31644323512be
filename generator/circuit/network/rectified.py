"""A rectified supply as a rail: its periodic steady state as a table of mean volts over the mean current taken."""

from __future__ import annotations

import math
from functools import lru_cache

from generator.circuit.network.sources import Curve
from generator.circuit.steady_state import Ripple, rectifier_mean, rectifier_steady_state

STEPS = (0.0, 0.02, 0.08, 0.2, 0.45, 0.75, 1.0, 1.35, 2.0, 4.0)  # of the current at which it works
# of that current: so much earlier a winding sags whose pulses are half as many and twice as high
HALF_WAVE = 0.5
COLLAPSE = 50.0  # of that current: where a source without resistance of its own is taken to give up


@lru_cache(maxsize=2048)
def state(
    *,
    emf: float,
    drop: float,
    resistance: float,
    farads: float,
    amperes: float,
    frequency: float,
    full_wave: bool,
) -> Ripple:
    """The steady state with a constant current taken. emf: peak in V; drop: of the conducting diodes together, V."""
    if math.isinf(resistance):
        emf, resistance = 0.0, 0.0
    return rectifier_steady_state(
        emf=emf, drop=drop, source_resistance=resistance, capacitance=farads, current=max(amperes, 0.0),
        resistance=math.inf, frequency=frequency, full_wave=full_wave,
    )  # fmt: skip


@lru_cache(maxsize=1024)  # states and tolerances ask for the same
def curve(
    *, emf: float, drop: float, resistance: float, farads: float, works_at: float, frequency: float, full_wave: bool,
    lift: float = 0.0, sag: float = 0.0,
) -> Curve:  # fmt: skip
    """(amperes, volts), POINTS of each, densest about works_at (A). lift: share by which it is higher without load; sag: share
    by which it falls where far more than works_at is taken, half of that at twice as much.

    With a source resistance (inf: nothing passes) it ends at the short-circuit current, else it gives up at COLLAPSE times works_at.
    """

    def mean(amperes: float) -> float:
        return rectifier_mean(
            emf=emf, drop=drop, source_resistance=resistance, capacitance=farads, current=amperes, frequency=frequency,
            full_wave=full_wave,
        )  # fmt: skip

    if math.isinf(resistance):
        return _blocked()
    if emf - drop <= 1e-9:
        return _dead(works_at)
    shorted = (emf - drop) / resistance if resistance > 0 else math.inf
    last = min(shorted, COLLAPSE * works_at)
    scale = works_at if works_at * 4.5 < last else last / 4.5
    amperes = [step * scale for step in STEPS] + [last, last * 1.05]
    volts = []
    for current in amperes[:-2]:
        found = mean(current)
        over = current / works_at - 1
        beyond = max(0.0, over if full_wave else over + HALF_WAVE)
        volts.append(found * (1 + lift * max(0.0, -over)) * (1 - sag * beyond / (1 + beyond)))
    if last < shorted:
        volts += [mean(last), 0.0]
    else:
        volts += [0.0, -0.05 * volts[0]]
    return tuple(amperes), _falling(volts)


def _falling(volts: list[float]) -> tuple[float, ...]:
    """Strictly falling, so that each voltage has one current."""
    for position in range(1, len(volts)):
        volts[position] = min(volts[position], volts[position - 1] - 1e-9)
    return tuple(volts)


def _dead(works_at: float) -> Curve:
    """A rail that makes nothing, behind some ohms."""
    amperes = [step * works_at for step in (*STEPS, 8.0, 16.0)]
    return tuple(amperes), tuple(-1e-6 * current for current in amperes)


def _blocked() -> Curve:
    """A rail through which nothing passes."""
    steps = range(len(STEPS) + 2)
    return tuple(1e-7 * n for n in steps), tuple(-100.0 * n for n in steps)


def winding(emf: float, drop: float, ohms: float, there: Ripple, amperes: float, pulses: float) -> float:
    """Crest of a sine of the RMS that a winding shows while pulses of current go through its ohms, V. emf: crest; drop: V of
    the diodes; amperes: mean.

    The mean of (e − R·i)², where that of e·i is what the rail, the diodes and R·i² take of the EMF.
    """
    losses = 2 * ohms * amperes * (there.mean + drop)
    if math.isfinite(there.square):
        losses += ohms * ohms * there.square * pulses
    return math.sqrt(max(0.0, emf * emf - 2 * losses))
