"""Boost converter, held against ngspice, energy, and hand calculation."""

from __future__ import annotations

import pytest
from bench import after, made, said, value

EXAMPLE = {
    "input": "3.7 V",
    "output": "12 V",
    "load": "200 mA",
    "inductor": "L1 22u 2A",
    "frequency": "300 kHz",
    "capacitor": "C5 10u film",
}


def test_continuous_against_ngspice() -> None:
    """Ideal switch, diode behind 0.5 V, 22 µH, 10 µF, 60 Ω, duty 8.8/12.5 (ngspice-39, .tran 3n): mean 12.005 V, inductor
    0.87386 A to 0.47915 A, input 0.67655 A, ripple 46.97 mV."""
    block = made("boost-converter", **EXAMPLE)
    assert value(block, "duty") == pytest.approx(8.8 / 12.5)
    assert value(block, "peak_current") == pytest.approx(0.87386, rel=2e-3)
    assert value(block, "ripple_current") == pytest.approx(0.87386 - 0.47915, rel=2e-3)
    assert value(block, "input_current") == pytest.approx(0.67655, rel=2e-3)
    assert value(block, "ripple") == pytest.approx(46.97e-3, rel=5e-3)


def test_discontinuous_against_ngspice() -> None:
    """The same with 1200 Ω, 4.7 µF and the duty that gives 12 V, 0.291291: ngspice printed 12.0085 V, peak 0.16346 A, input
    33.84 mA, ripple 6.25 mV."""
    block = made("boost-converter", **{**EXAMPLE, "load": "10 mA", "capacitor": "C5 4u7 film"})
    assert value(block, "duty") == pytest.approx(0.291291, rel=1e-5)
    assert value(block, "peak_current") == pytest.approx(0.16346, rel=2e-3)
    assert value(block, "input_current") == pytest.approx(33.84e-3, rel=3e-3)
    assert value(block, "ripple") == pytest.approx(6.25e-3, rel=5e-3)


@pytest.mark.parametrize("load", [0.005, 0.05, 0.3])
def test_energy_is_conserved(load: float) -> None:
    """What goes in comes out but for the diode, which carries the load's current in either regime: 12.5 V·load."""
    block = made("boost-converter", **{**EXAMPLE, "load": f"{load} A"})
    assert 3.7 * value(block, "input_current") == pytest.approx(12.5 * load)


def test_the_regimes_meet() -> None:
    """At the boundary both ways of computing give the same: 3.7²·8.8/(12.5²·2·6.6) = 58.41 mA. By hand."""
    block = made("boost-converter", **EXAMPLE)
    boundary = value(block, "boundary_load")
    assert boundary == pytest.approx(58.41e-3, abs=1e-5)
    below, above = (
        made("boost-converter", **{**EXAMPLE, "load": f"{boundary * k!r} A"}) for k in (0.9999, 1.0001)
    )
    for name in ("duty", "peak_current", "input_current", "ripple"):
        assert value(below, name) == pytest.approx(value(above, name), rel=1e-3)


def test_ripple_where_the_current_falls_below_the_load() -> None:
    """60 mA, just continuous: the diode's triangle falls from 0.4 A to near 0, below the load before the switch closes. What
    charges is (peak − load)²/2·L/8.8 V: (0.4000 − 0.06)²·22 µ/(2·8.8·10 µ) = 14.45 mV. By hand."""
    block = made("boost-converter", **{**EXAMPLE, "load": "60 mA"})
    peak = 0.06 * 12.5 / 3.7 + 3.7 * 0.704 / 6.6 / 2
    assert value(block, "ripple") == pytest.approx((peak - 0.06) ** 2 * 22e-6 / (2 * 8.8 * 10e-6))


def test_series_resistance_sees_the_whole_peak() -> None:
    """The capacitor's current jumps from −load to peak − load as the diode begins to conduct: 80 mΩ·0.873 A = 70 mV. By hand."""
    assert value(made("boost-converter", **EXAMPLE, esr="80 mohm"), "esr_ripple") == pytest.approx(
        0.08 * 0.87301, rel=1e-4
    )


def test_does_not_boost() -> None:
    """14 V in for 12 V out: the input less the diode, 13.5 V, and a check fails."""
    block = made("boost-converter", **{**EXAMPLE, "input": "14 V"})
    assert value(block, "output_voltage") == 13.5 and value(block, "duty") == 0.0
    assert "boosts only above" in said(block, False)


def test_failures() -> None:
    """Switch open: input less diode; shorted: the inductor lies across the input; diode open: nothing. Common practice, no source."""
    block = made("boost-converter", **EXAMPLE, chip="U4 28V 2A", diode="D2")
    assert after(block, "U4", "open")["output_voltage"] == pytest.approx(3.2)
    for part, mode in (("U4", "short"), ("D2", "open"), ("L1", "open"), ("C5", "short")):
        assert after(block, part, mode)["output_voltage"] == 0.0
