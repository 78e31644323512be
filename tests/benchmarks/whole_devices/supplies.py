"""The rectified rail: the cycle of the mains stepped through until it repeats, for many boards at once.

What hangs on the rail is fast beside 100 Hz, so ngspice gives its current once as a function of the rail's
volts (a .dc sweep), and this file steps the capacitor through the mains cycle with that function: implicit
Euler, diodes exponential. check.py holds the result against ngspice's own .tran of the whole device.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import wrightomega
from whole_devices.spreads import THERMAL_VOLTAGE

FREQUENCY, STEPS, CYCLES, SETTLING = 50.0, 140, 14, 7


@dataclass(frozen=True)
class Rails:
    """weights: rows x grid, how long the rail stands at each volts of the grid; RMS of the ripple; amperes, a
    phasor: of the secondary, or of the line into the dropper; capacitor: RMS volts across the dropper's.
    """

    weights: np.ndarray
    ripple: np.ndarray
    amperes: np.ndarray
    capacitor: np.ndarray


def _at(table: np.ndarray, step: float, volts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Current and slope of each row's table at its volts."""
    place = np.clip(volts / step, 0, table.shape[1] - 1.001)
    low = place.astype(int)
    rows = np.arange(len(volts))
    a, b = table[rows, low], table[rows, low + 1]
    return a + (b - a) * (place - low), np.maximum((b - a) / step, 0)


def _gather(weights: np.ndarray, step: float, volts: np.ndarray) -> None:
    place = np.clip(volts / step, 0, weights.shape[1] - 1.001)
    low = place.astype(int)
    rows = np.arange(len(volts))
    weights[rows, low] += (1 - place + low) / STEPS
    weights[rows, low + 1] += (place - low) / STEPS


def transformer_rails(
    currents: np.ndarray,
    step: float,
    emf: np.ndarray,
    winding: np.ndarray,
    farads: np.ndarray,
    saturation: np.ndarray,
    emission: np.ndarray,
    mode: np.ndarray,
    bridge: bool,
) -> Rails:
    """emf: RMS of the secondary without load. mode 0 sound, 1 a diode open, 2 a diode short, 3 nothing comes.

    A shorted diode of a bridge shorts one half-cycle into the winding; the other passes one diode only. The
    core then saturates: the primary draws about what it would draw with the winding shorted.
    """
    rows = len(emf)
    drops = np.where(bridge & (mode < 2), 2.0, 1.0)
    full = bridge & (mode == 0)
    slope = drops * emission * THERMAL_VOLTAGE
    peak = np.where(mode == 3, 0, emf * 2**0.5)
    resistance = winding + 0.05
    volts = np.maximum(0.8 * peak, 0)
    dt = 1 / FREQUENCY / STEPS
    weights = np.zeros_like(currents)
    total, squares, amperes = np.zeros(rows), np.zeros(rows), np.zeros(rows)
    for count in range(STEPS * CYCLES):
        stored = (
            farads / 6 if count < STEPS * SETTLING else farads
        )  # a smaller capacitor finds its level sooner
        wave = peak * np.sin(2 * np.pi * count / STEPS)
        drive = np.where(full, np.abs(wave), wave)
        new = volts
        for _ in range(4):
            over = (drive - new + resistance * saturation) / slope + np.log(saturation * resistance / slope)
            omega = wrightomega(np.clip(over, -700, 1e5))
            charging = slope / resistance * omega - saturation
            used, used_slope = _at(currents, step, new)
            value = stored / dt * (new - volts) - charging + used
            change = value / (stored / dt + omega / (1 + omega) / resistance + used_slope + 1e-9)
            new = np.clip(new - np.clip(change, -4, 4), 0, step * (currents.shape[1] - 1))
        volts = new
        if count >= STEPS * (CYCLES - 1):
            _gather(weights, step, volts)
            total += volts / STEPS
            squares += volts**2 / STEPS
            amperes += charging**2 / STEPS
    drawn = np.where(bridge & (mode == 2), emf / winding, np.sqrt(amperes))
    return Rails(weights, np.sqrt(np.maximum(squares - total**2, 0)), drawn + 0j, np.zeros(rows))


def dropper_rails(
    currents: np.ndarray,
    step: float,
    line: np.ndarray,
    line_farads: np.ndarray,
    series: np.ndarray,
    discharge: np.ndarray,
    farads: np.ndarray,
    mode: np.ndarray,
    bridge: bool,
) -> Rails:
    """A capacitor in the line: nearly a current source. Diodes at 0.75 V, for they carry milliamperes.

    With any rectifier diode open the line's capacitor charges once and passes no more: no current.
    """
    rows, points = currents.shape
    grid = np.arange(points) * step
    keys, which = np.unique(
        np.stack([line, line_farads, series, discharge, mode], 1), axis=0, return_inverse=True
    )
    which = which.reshape(-1)
    given, amperes, across = _passed(keys, grid, bridge)  # keys x grid x steps; keys x grid
    mean = given.mean(2)[which]
    excess = mean - currents
    crossing = np.argmax(excess <= 0, axis=1)
    crossing = np.where((excess > 0).all(1), points - 1, crossing)
    low = np.maximum(crossing - 1, 0)
    index = np.arange(rows)
    a, b = excess[index, low], excess[index, crossing]
    share = np.where(a - b > 0, np.clip(a / np.where(a - b == 0, 1, a - b), 0, 1), 0)
    volts = np.where(excess[:, 0] <= 0, 0, (low + share) * step)
    nearest = np.minimum(np.round(volts / step).astype(int), points - 1)
    shape = given[which, nearest]  # rows x steps
    dt = 1 / FREQUENCY / STEPS
    weights, total, squares = np.zeros_like(currents), np.zeros(rows), np.zeros(rows)
    cycles = 4
    for count in range(STEPS * cycles):
        charging, new = shape[:, count % STEPS], volts
        for _ in range(5):
            used, used_slope = _at(currents, step, new)
            value = farads / dt * (new - volts) - charging + used
            change = value / (farads / dt + used_slope + 1e-9)
            new = np.clip(new - np.clip(change, -2, 2), 0, grid[-1])
        volts = new
        if count >= STEPS * (cycles - 1):
            _gather(weights, step, volts)
            total += volts / STEPS
            squares += volts**2 / STEPS
    return Rails(
        weights, np.sqrt(np.maximum(squares - total**2, 0)), amperes[which, nearest], across[which, nearest]
    )


def _passed(keys: np.ndarray, grid: np.ndarray, bridge: bool) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Amperes into the rail over one cycle, the rail held at each of the grid's volts; the line's current as
    a phasor, of its RMS size and its first harmonic's angle; RMS volts across the capacitor, less its mean.
    """
    line, capacitor, series, discharge, mode = (keys[:, n][:, None] for n in range(5))
    up = grid[None, :] + (1.5 if bridge else 0.75)
    down = -up if bridge else np.full_like(up, -0.75)
    stored = np.zeros((len(keys), len(grid)))
    dt = 1 / FREQUENCY / STEPS
    charged = capacitor / dt
    taken = np.zeros((len(keys), len(grid), STEPS))
    first = np.zeros_like(stored, dtype=complex)
    squares, total, volts = np.zeros_like(stored), np.zeros_like(stored), np.zeros_like(stored)
    for count in range(STEPS * 8):
        angle = 2 * np.pi * count / STEPS
        wave = line * 2**0.5 * np.sin(angle)
        alone = stored * charged / (charged + 1 / discharge)
        end = np.where(wave - alone > up, up, np.where(wave - alone < down, down, np.nan))
        end = np.where((mode == 1) & (wave - alone < down), np.nan, end)
        fed = (charged * stored + (wave - end) / series) / (charged + 1 / discharge + 1 / series)
        current = np.where(np.isnan(end), 0.0, (wave - end - fed) / series)
        stored = np.where(np.isnan(end), alone, fed)
        taken[:, :, count % STEPS] = np.abs(current) if bridge else np.maximum(current, 0)
        if count >= STEPS * 7:
            first += current * np.exp(-1j * angle) * 1j / STEPS * 2
            squares += current**2 / STEPS
            total += stored / STEPS
            volts += stored**2 / STEPS
    phasor = np.sqrt(squares) * first / np.maximum(np.abs(first), 1e-15)
    open_diode = mode == 1
    return (
        np.where(open_diode[:, :, None], 0.0, taken),
        np.where(open_diode, 0.0, phasor),
        np.where(open_diode, 0.0, np.sqrt(np.maximum(volts - total**2, 0))),
    )
