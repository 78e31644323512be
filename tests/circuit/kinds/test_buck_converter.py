"""Buck converter, held against ngspice, charge and volt-second balance by integration, and hand calculation."""

from __future__ import annotations

import numpy as np
import pytest
from bench import after, failed, made, said, value

EXAMPLE = {
    "input": "24 V",
    "output": "5 V",
    "load": "2 A",
    "inductor": "L1 47u 3A",
    "frequency": "150 kHz",
    "capacitor": "C8 22u film",
}


def test_continuous_against_ngspice() -> None:
    """Ideal switch and diode behind 0.5 V, 47 µH, 22 µF, 2.5 Ω, duty 5.5/24.5 (ngspice-39, .tran 5n): mean 4.9995 V, highest
    inductor current 2.30266 A, lowest 1.69696 A, mean input 0.44924 A, ripple 22.95 mV."""
    block = made("buck-converter", **EXAMPLE)
    assert value(block, "duty") == pytest.approx(5.5 / 24.5)
    assert value(block, "peak_current") == pytest.approx(2.30266, rel=1e-3)
    assert value(block, "ripple_current") == pytest.approx(2.30266 - 1.69696, rel=2e-3)
    assert value(block, "input_current") == pytest.approx(0.44924, rel=1e-3)
    assert value(block, "ripple") == pytest.approx(5.008899 - 4.985948, rel=5e-3)


def test_discontinuous_against_ngspice() -> None:
    """The same with 100 Ω and the duty that gives 5 V, 0.0912675: ngspice printed mean 5.0072 V, peak 0.24630 A, mean input
    11.26 mA, ripple 9.63 mV."""
    block = made("buck-converter", **{**EXAMPLE, "load": "50 mA"})
    assert value(block, "duty") == pytest.approx(0.0912675, rel=1e-5)
    assert value(block, "peak_current") == pytest.approx(0.24630, rel=2e-3)
    assert value(block, "input_current") == pytest.approx(11.26e-3, rel=5e-3)
    assert value(block, "ripple") == pytest.approx(9.63e-3, rel=5e-3)


def test_ripple_by_integration() -> None:
    """The triangle of inductor current above the load, integrated by numpy over one period."""
    block = made("buck-converter", **{**EXAMPLE, "load": "1 A"})
    duty, swing, peak = (value(block, name) for name in ("duty", "ripple_current", "peak_current"))
    t = np.linspace(0, 1, 200_001)
    current = np.where(t < duty, peak - swing + swing * t / duty, peak - swing * (t - duty) / (1 - duty))
    charge = np.concatenate([[0], np.cumsum((current[1:] + current[:-1]) / 2 - 1.0) * (t[1] / 150e3)])
    assert value(block, "ripple") == pytest.approx((charge.max() - charge.min()) / 22e-6, rel=1e-3)


def test_energy_is_conserved() -> None:
    """What goes in comes out, but for what the diode keeps: input·I = output·load + 0.5 V·load·(1 − duty)."""
    block = made("buck-converter", **EXAMPLE)
    lost = 0.5 * 2 * (1 - value(block, "duty"))
    assert 24 * value(block, "input_current") == pytest.approx(5 * 2 + lost)


def test_boundary() -> None:
    """At the boundary the current just reaches zero: half the ripple, 19 V·0.22449/7.05 Ω/2 = 0.3025 A. By hand."""
    assert value(made("buck-converter", **EXAMPLE), "boundary_load") == pytest.approx(0.3025, abs=1e-4)
    for load, words in (("400 mA", "continuous"), ("200 mA", "discontinuous")):
        assert words in said(made("buck-converter", **{**EXAMPLE, "load": load}), True)


def test_out_of_regulation() -> None:
    """5 V in for 5 V out with 0.3 V across the switch: 4.7 V, duty 1, no ripple, and a check fails."""
    block = made("buck-converter", **{**EXAMPLE, "input": "5 V", "switch_drop": "0.3 V"})
    assert value(block, "output_voltage") == pytest.approx(4.7)
    assert [value(block, name) for name in ("duty", "ripple_current", "ripple")] == [1.0, 0.0, 0.0]
    assert "boundary_load" not in block.values
    assert "regulate" in said(block, False)


def test_failures_and_ratings() -> None:
    """A shorted switch passes the whole input on: the dangerous one. Ratings by the peak, not by the load."""
    block = made("buck-converter", **EXAMPLE, chip="U3 40V 2.2A", diode="D5 20V 3A")
    assert after(block, "U3", "short")["output_voltage"] == 24.0 and failed(block, "U3", "short").dangerous
    assert after(block, "U3", "open")["output_voltage"] == 0.0
    assert after(block, "L1", "open")["output_voltage"] == 0.0
    assert after(block, "C8", "short")["output_voltage"] == 0.0
    bad = said(block, False)
    assert "U3: switches" in bad and "D5: holds off" in bad
