"""Universal motor, held against phasors by numpy, an integration of its circuit, and hand calculation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from bench import PLAIN, after, made, said, value
from scipy.integrate import solve_ivp

EXAMPLE = {
    "fields": ["L1 4R2", "L2 4R2"],
    "armature": "M1 6R5",
    "running_current": "2.6 A",
    "inductance": "90 mH",
}


def test_against_an_integration() -> None:
    """v = i·R + L·i' + e, with e in phase with i: e = k·i. k is chosen so that 2.6 A flow; scipy integrates some periods, and gives
    power, power factor and back EMF. The brush drop is 0 here."""
    ohms, henry, omega, volts = 14.9, 0.09, 2 * math.pi * 50, 230 * math.sqrt(2)
    k = math.sqrt((230 / 2.6) ** 2 - (omega * henry) ** 2) - ohms
    run = solve_ivp(lambda t, i: [(volts * math.sin(omega * t) - i[0] * (ohms + k)) / henry], (0, 0.2), [0.0], rtol=1e-9, atol=1e-9,
                    dense_output=True)  # fmt: skip
    t = np.linspace(0.18, 0.2, 20_001)[:-1]
    current, supply = run.sol(t)[0], volts * np.sin(omega * t)
    rms = math.sqrt(float(np.mean(current**2)))
    block = made("universal-motor", PLAIN, **EXAMPLE, brush_drop="0")
    assert rms == pytest.approx(2.6, rel=1e-4)
    assert value(block, "input_power") == pytest.approx(float(np.mean(supply * current)), rel=1e-4)
    assert value(block, "power_factor") == pytest.approx(
        float(np.mean(supply * current)) / (230 * rms), rel=1e-4
    )
    assert value(block, "back_emf") == pytest.approx(k * rms, rel=1e-4)


def test_standstill_by_phasors() -> None:
    """230 V over 14.9 + j28.3 Ω. Source: complex arithmetic."""
    impedance = abs(complex(14.9, 2 * math.pi * 50 * 0.09))
    block = made("universal-motor", PLAIN, **EXAMPLE)
    assert value(block, "resistance") == pytest.approx(14.9)
    assert value(block, "stall_current") == pytest.approx(230 / impedance)
    assert value(block, "copper_power") == pytest.approx(2.6**2 * 14.9)


def test_energy_is_conserved() -> None:
    """What is taken is heat in the windings, in the brushes, and what the back EMF turns into work."""
    block = made("universal-motor", PLAIN, **EXAMPLE)
    out = value(block, "back_emf") * 2.6 + 2.0 * 2.6 + value(block, "copper_power")
    assert value(block, "input_power") == pytest.approx(out)


def test_without_inductance() -> None:
    """230/14.9 = 15.4 A; power factor 1. By hand."""
    block = made("universal-motor", PLAIN, **{**EXAMPLE, "inductance": ""})
    assert (
        value(block, "stall_current") == pytest.approx(15.436, abs=1e-3)
        and value(block, "power_factor") == 1.0
    )


def test_running_above_standstill_is_told() -> None:
    assert "said to draw" in said(made("universal-motor", **{**EXAMPLE, "running_current": "8 A"}), False)


def test_failures() -> None:
    """Open anywhere in series: no resistance to read, no current. A shorted field leaves the other: 10.7 Ω. By hand."""
    block = made("universal-motor", PLAIN, **EXAMPLE)
    for part in ("L1", "L2", "M1", "brushes"):
        shown = after(block, part, "open")
        assert "resistance" not in shown and shown["stall_current"] == 0.0
    shorted = after(block, "L2", "short")
    assert shorted["resistance"] == pytest.approx(10.7)
    assert shorted["stall_current"] == pytest.approx(230 / abs(complex(10.7, 2 * math.pi * 50 * 0.09)))
