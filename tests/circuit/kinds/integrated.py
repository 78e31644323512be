"""Rectifiers and droppers integrated by scipy, step by step: what the closed forms are held against."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

MOST_PERIODS = 60


@dataclass(frozen=True)
class Rail:
    """Volts over the last period; square: A²s of the charging current in it."""

    trough: float
    top: float
    mean: float
    square: float = math.nan


def rail(*, emf: float, drop: float, source: float, farad: float, ampere: float = 0.0, ohm: float = math.inf,
         hertz: float = 50.0, full_wave: bool = True) -> Rail:  # fmt: skip
    """A source behind a resistance, diodes, a capacitor and a load, from the crest until a period repeats.

    The load's current stops where the rail is at 0 V.
    """
    omega, period = 2 * math.pi * hertz, 1 / (2 * hertz if full_wave else hertz)

    def pushed(t: float) -> float:
        wave = emf * math.cos(omega * t)
        return (abs(wave) if full_wave else wave) - drop

    def slope(t: float, state: np.ndarray) -> list[float]:
        v = max(0.0, state[0])
        charge = max(0.0, (pushed(t) - v) / source)
        net = charge - ampere - v / ohm
        if state[0] <= 0 and net < 0:
            net = 0.0
        return [net / farad, v, charge * charge]

    v, before = emf - drop, math.inf
    for number in range(MOST_PERIODS):
        span = (number * period, (number + 1) * period)
        run = solve_ivp(
            slope, span, [v, 0.0, 0.0], rtol=1e-7, atol=1e-9, max_step=period / 150, dense_output=True
        )
        v = max(0.0, float(run.y[0][-1]))
        if abs(v - before) < 1e-6 * emf:
            break
        before = v
    volts = np.maximum(run.sol(np.linspace(*span, 5000))[0], 0.0)
    return Rail(float(volts.min()), float(volts.max()), float(run.y[1][-1]) / period, float(run.y[2][-1]))


def ideal_rail(*, crest: float, drop: float, farad: float, ampere: float = 0.0, ohm: float = math.inf, hertz: float = 50.0,
               full_wave: bool = True) -> Rail:  # fmt: skip
    """The same with a source without resistance: along the sine while the diodes conduct, then an integrated decay."""
    omega, period = 2 * math.pi * hertz, 1 / (2 * hertz if full_wave else hertz)

    def pushed(t: float) -> float:
        return crest * math.cos(omega * t) - drop

    def through_diode(t: float) -> float:
        return -farad * crest * omega * math.sin(omega * t) + ampere + pushed(t) / ohm

    down = math.acos(drop / crest) / omega
    off = brentq(through_diode, 0.0, down, xtol=1e-14)

    def meets(t: float, state: np.ndarray) -> float:
        return float(state[0] - pushed(t - period))

    meets.terminal = True  # type: ignore[attr-defined]
    meets.direction = -1  # type: ignore[attr-defined]

    def decay(t: float, state: np.ndarray) -> list[float]:
        return [-(ampere + state[0] / ohm) / farad, state[0]]

    start = max(off, period - down)  # the source is below the diodes' drop until then
    first = (
        solve_ivp(decay, (off, start), [pushed(off), 0.0], rtol=1e-10, atol=1e-12) if start > off else None
    )
    state = first.y[:, -1] if first is not None else np.array([pushed(off), 0.0])
    run = solve_ivp(decay, (start, period), state, events=meets, rtol=1e-10, atol=1e-12)
    on = float(run.t_events[0][0]) - period
    trough, area = run.y_events[0][0]
    area += quad(pushed, on, off)[0]
    return Rail(float(trough), crest - drop, float(area) / period)


def average_without_capacitor(*, crest: float, drop: float, full_wave: bool) -> float:
    """Mean of the rectified sine less the diodes' drop, V."""

    def bump(angle: float) -> float:
        wave = crest * math.cos(angle)
        return max(0.0, (abs(wave) if full_wave else wave) - drop)

    corners = [math.acos(drop / crest), math.pi - math.acos(drop / crest)]
    return float(quad(bump, 0.0, math.pi, points=corners, limit=200)[0] / math.pi)


@dataclass(frozen=True)
class Dropped:
    """Mean amperes forward and backward, and the RMS of the current."""

    forward: float
    backward: float
    rms: float


def dropper(*, crest: float, series: float, farad: float, ohm: float, up: float, down: float, hertz: float = 50.0,
            periods: int = 6) -> Dropped:  # fmt: skip
    """Sine, resistor and capacitor (a resistor across it) into two levels, over the last of some periods."""
    omega, period = 2 * math.pi * hertz, 1 / hertz

    def current(t: float, v: float) -> float:
        across = crest * math.cos(omega * t) - v
        return (across - up) / series if across > up else (across + down) / series if across < -down else 0.0

    def slope(t: float, state: np.ndarray) -> list[float]:
        i = current(t, state[0])
        return [(i - state[0] / ohm) / farad, max(i, 0.0), max(-i, 0.0), i * i]

    v = 0.0
    for number in range(periods):
        span = (number * period, (number + 1) * period)
        run = solve_ivp(
            slope, span, [v, 0, 0, 0], method="LSODA", rtol=1e-8, atol=1e-12, max_step=period / 200
        )
        v, forward, backward, square = run.y[:, -1]
    return Dropped(forward * hertz, backward * hertz, math.sqrt(square * hertz))
