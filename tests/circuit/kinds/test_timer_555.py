"""555 timer against data-sheet figures and a simulation of its two comparators."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from generator.circuit.block import Block, Point
from generator.circuit.catalogue import kind
from generator.circuit.circuit import Mains, build_block


def block(**parameters: object) -> Block:
    built, troubles = build_block("timer-555", parameters, Mains())
    assert built is not None, troubles
    return built


def phase(resistance: float, capacitor: float, start: float, toward: float, until: float) -> float:
    """Seconds that a capacitor takes through a resistor from start to until, by integration to scipy's event."""

    def reached(t: float, v: list[float]) -> float:
        return v[0] - until

    reached.terminal = True  # type: ignore[attr-defined]
    rc = resistance * capacitor
    run = solve_ivp(
        lambda t, v: [(toward - v[0]) / rc], (0, 5 * rc), [start], events=reached, rtol=1e-10, atol=1e-13
    )
    return float(run.t_events[0][0])


def test_astable_against_a_simulation_of_the_comparators() -> None:
    """9 V: up from 3 V to 6 V through RA + RB, down from 6 V to 3 V through RB into the discharge pin."""
    values = block(ra="R1 10k", rb="R2 47k", capacitor="C1 100n").values
    high, low = phase(57e3, 100e-9, 3.0, 9.0, 6.0), phase(47e3, 100e-9, 6.0, 0.0, 3.0)
    assert values["high_time"].value == pytest.approx(high, rel=1e-6)
    assert values["low_time"].value == pytest.approx(low, rel=1e-6)
    assert values["frequency"].value == pytest.approx(1 / (high + low), rel=1e-6)
    assert values["duty"].value == pytest.approx(high / (high + low), rel=1e-6)


def test_astable_figures_of_the_data_sheet() -> None:
    """0.693·(RA + RB)·C, 0.693·RB·C and 1.44/((RA + 2RB)·C); RA 5 kΩ, RB 3 kΩ, C 0.15 µF, the oscillogram of the NE555 data sheet
    (from memory): 832 µs, 312 µs, 873 Hz."""
    values = block(ra="R1 5k", rb="R2 3k", capacitor="C1 150n").values
    assert values["high_time"].value == pytest.approx(0.693 * 8e3 * 0.15e-6, rel=1e-3)
    assert values["low_time"].value == pytest.approx(0.693 * 3e3 * 0.15e-6, rel=1e-3)
    assert values["frequency"].value == pytest.approx(1.44 / (11e3 * 0.15e-6), rel=3e-3)


def test_monostable_figure_of_the_data_sheet() -> None:
    """1.1·RA·C; RA 9.1 kΩ and 0.01 µF give 100 µs (oscillogram of the NE555 data sheet, from memory)."""
    pulse = block(mode="monostable", ra="R1 9k1", capacitor="C1 10n").values["pulse"].value
    assert pulse == pytest.approx(100e-6, rel=2e-3)
    assert pulse == pytest.approx(phase(9.1e3, 10e-9, 0.0, 5.0, 10 / 3), rel=1e-6)


def test_modes_have_their_own_values() -> None:
    """An astable has no pulse, a monostable no frequency."""
    assert set(block(ra="10k", rb="47k", capacitor="100n").values) == {
        "high_time",
        "low_time",
        "frequency",
        "duty",
    }
    assert set(block(mode="monostable", ra="10k", capacitor="100n").values) == {"pulse"}


def test_band_by_hand() -> None:
    """1 % resistors, 10 % film: the period is 0.891 to 1.111 of itself, so is 1/frequency."""
    result = block(ra="R1 10k 1%", rb="R2 47k 1%", capacitor="C1 100n").values["frequency"]
    nominal = 1 / (math.log(2) * 104e3 * 100e-9)
    assert (result.low, result.high) == (
        pytest.approx(nominal / (1.01 * 1.1)),
        pytest.approx(nominal / (0.99 * 0.9)),
    )


def test_astable_failures_by_the_comparators_logic() -> None:
    """From switching on with the capacitor empty: without a charging path, or with the capacitor shorted, it never comes to 2/3
    and the output stays high; a dead chip has no output (block diagram in the data sheets)."""
    told = {
        (f.part, f.failed): f.values for f in block(ra="R1 10k", rb="R2 47k", capacitor="C1 100n").failures
    }
    for stuck in (("R1", "open"), ("R2", "open"), ("C1", "short")):
        assert told[stuck]["high_time"].value == math.inf
        assert told[stuck]["frequency"].value == 0.0
        assert told[stuck]["duty"].value == 1.0
        assert "low_time" not in told[stuck]
    dead = told["timer chip", "open"]
    assert [dead[name].value for name in ("high_time", "low_time", "frequency", "duty")] == [
        0.0,
        math.inf,
        0.0,
        0.0,
    ]
    assert told["C1", "low"]["frequency"].value == pytest.approx(
        5 / (phase(57e3, 100e-9, 3, 9, 6) + phase(47e3, 100e-9, 6, 0, 3)), rel=1e-6
    )
    assert told["R1", "high"]["high_time"].value == pytest.approx(phase(67e3, 100e-9, 3, 9, 6), rel=1e-6)
    assert told["R2", "high"]["low_time"].value == pytest.approx(phase(94e3, 100e-9, 6, 0, 3), rel=1e-6)
    assert told["C1", "open"]["high_time"].value == 0.0


def test_monostable_failures() -> None:
    """Once triggered it never ends where the capacitor cannot fill; it is as good as no pulse where there is none to fill."""
    told = {
        (f.part, f.failed): f.values["pulse"].value
        for f in block(mode="monostable", ra="R1 1M", capacitor="C4 47u").failures
    }
    assert told["R1", "open"] == math.inf
    assert told["C4", "short"] == math.inf
    assert told["C4", "open"] == 0.0
    assert told["R1", "high"] == pytest.approx(phase(2e6, 47e-6, 0, 3, 2), rel=1e-6)


@given(ra=st.floats(1e3, 1e6), rb=st.floats(1e3, 1e6), c=st.floats(1e-10, 1e-3), factor=st.floats(0.1, 10))
@settings(max_examples=60, deadline=None)
def test_scaling(ra: float, rb: float, c: float, factor: float) -> None:
    """All times follow the capacitor, and all resistors together."""

    def astable_times(*, ra: float, rb: float, capacitor: float) -> tuple[float, float]:
        found = kind("timer-555").values_at(Point(mode="astable", ra=ra, rb=rb, capacitor=capacitor))
        return found["high_time"], found["low_time"]

    def monostable_pulse(*, ra: float, capacitor: float) -> float:
        return kind("timer-555").values_at(Point(mode="monostable", ra=ra, rb=None, capacitor=capacitor))[
            "pulse"
        ]

    high, low = astable_times(ra=ra, rb=rb, capacitor=c)
    assert astable_times(ra=ra, rb=rb, capacitor=c * factor) == pytest.approx(
        (high * factor, low * factor), rel=1e-9
    )
    assert astable_times(ra=ra * factor, rb=rb * factor, capacitor=c) == pytest.approx(
        (high * factor, low * factor), rel=1e-9
    )
    assert monostable_pulse(ra=ra, capacitor=c * factor) == pytest.approx(
        monostable_pulse(ra=ra, capacitor=c) * factor, rel=1e-9
    )
    assert high > low


def test_remarks() -> None:
    """Limits of the data sheet: little RA, much resistance, high frequency, a leaking electrolytic."""
    assert any("discharge pin" in c.what for c in block(ra="100", rb="10k", capacitor="100n").checks)
    assert any("3.4 MΩ" in c.what for c in block(mode="monostable", ra="4M7", capacitor="100n").checks)
    assert any("100 kHz" in c.what for c in block(ra="1k", rb="1k", capacitor="1n").checks)
    assert any("leaks" in c.what for c in block(ra="10k", rb="10k", capacitor="10u").checks)
    assert not block(ra="10k", rb="47k", capacitor="100n").checks


def test_an_rb_in_a_monostable_counts_for_nothing_and_says_so() -> None:
    """1.1·RA·C of the data sheet has no RB in it."""
    with_rb = block(mode="monostable", ra="R1 10k", rb="R2 4M7", capacitor="C1 100n")
    assert with_rb.values["pulse"].value == pytest.approx(1.0986e-3, rel=1e-4)
    assert [c.what for c in with_rb.checks] == [
        "a monostable has no RB: left out of the drawing and the times"
    ]
    unmoved = next(f for f in with_rb.failures if (f.part, f.failed) == ("R2", "open"))
    assert unmoved.values["pulse"].value == with_rb.values["pulse"].value and "no part" in unmoved.remark


@pytest.mark.parametrize("parameters, words", [
    ({"ra": "10k", "capacitor": "100n"}, "rb: missing"),
    ({"mode": "bistable", "ra": "10k", "capacitor": "100n"}, "not one of astable, monostable"),
    ({"ra": "10k", "rb": "0", "capacitor": "100n"}, "timer-555 rb"),
    ({"ra": "10k", "rb": "47k", "capacitor": "1e400"}, "timer-555 capacitor"),
])  # fmt: skip
def test_bad_input(parameters: dict[str, object], words: str) -> None:
    """Refused in words that name what is accepted."""
    built, troubles = build_block("timer-555", parameters, Mains())
    assert built is None
    assert any(words in f"{t.what} {t.hint}" for t in troubles), troubles
