"""Pulse sensor, held against an integration of its edges, a simulated meter, and hand calculation."""

from __future__ import annotations

import numpy as np
import pytest
from bench import after, made, said, told, value
from scipy.integrate import solve_ivp

EXAMPLE = {
    "supply": "5 V",
    "pull_up": "R12 10k",
    "sensor": "U4 hall",
    "leakage": "10 uA",
    "capacitor": "C7 1n",
    "pulses": "2",
    "speed": "3000 rpm",
}


def test_rise_against_an_integration() -> None:
    """C·v' = (5 − v)/R − leakage, from 0.2 V to 3.5 V. Source: scipy solve_ivp."""

    def reads_high(t: float, v: list[float]) -> float:
        return v[0] - 3.5

    reads_high.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        lambda t, v: [((5 - v[0]) / 10e3 - 10e-6) / 1e-9],
        (0, 1),
        [0.2],
        events=reads_high,
        rtol=1e-9,
        atol=1e-12,
    )
    block = made("pulse-sensor", **EXAMPLE)
    assert value(block, "rise_time") == pytest.approx(float(run.t[-1]), rel=1e-6)
    assert value(block, "highest_frequency") == pytest.approx(0.5 / float(run.t[-1]), rel=1e-6)


def test_what_a_dc_meter_averages() -> None:
    """A rectangular wave of 0.2 V for 30 % of the time and 4.9 V for the rest, averaged by numpy."""
    t = (np.arange(100_000) + 0.5) / 100_000
    wave = np.where(t < 0.3, 0.2, 4.9)
    assert value(made("pulse-sensor", **EXAMPLE, low_share="0.3"), "mean_level") == pytest.approx(
        float(wave.mean()), rel=1e-6
    )


def test_by_hand() -> None:
    """5 − 0.1 = 4.9 V; 4.8/10k = 480 µA; 3000·2/60 = 100 Hz; the other way round 1500 rpm from 50 Hz."""
    block = made("pulse-sensor", **EXAMPLE)
    assert value(block, "high_level") == pytest.approx(4.9) and value(block, "sink_current") == pytest.approx(
        480e-6
    )
    assert value(block, "pulse_frequency") == pytest.approx(100)
    back = made("pulse-sensor", **{**EXAMPLE, "speed": ""}, frequency="50 Hz")
    assert value(back, "shaft_speed") == pytest.approx(1500) and value(back, "pulse_frequency") == 50


def test_levels_are_held_against_logic() -> None:
    """A leak of 200 µA leaves 3.0 V, below 70 % of 5 V; 1.8 V is no low. By hand."""
    leaky = made("pulse-sensor", **{**EXAMPLE, "leakage": "200 uA"})
    assert "read as high" in said(leaky, False) and "never lifts" in said(leaky, False)
    assert "read as low" in said(made("pulse-sensor", **EXAMPLE, low="1.8 V"), False)


def test_too_fast() -> None:
    """100 nF: 1.2 ms to rise, 417 Hz at most, for 1 kHz."""
    slow = {**EXAMPLE, "capacitor": "C7 100n", "speed": "30000 rpm"}
    assert "reaches high up to" in said(made("pulse-sensor", **slow), False)


def test_failures() -> None:
    """Open: the pull-up's level; shorted, or the pull-up open: 0 V; no pulses in either. Common practice, no source."""
    block = made("pulse-sensor", **EXAMPLE)
    assert after(block, "U4", "open")["mean_level"] == pytest.approx(4.9)
    for part, mode in (("U4", "short"), ("C7", "short"), ("R12", "open")):
        assert after(block, part, mode)["mean_level"] == 0.0
        assert after(block, part, mode)["pulse_frequency"] == 0.0


def test_one_of_speed_and_frequency() -> None:
    assert "frequency" in told("pulse-sensor", **EXAMPLE, frequency="50 Hz")
