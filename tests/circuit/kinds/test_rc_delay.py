"""RC delay against a numerical integration and textbook figures."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from generator.circuit.block import Block, Point
from generator.circuit.catalogue import kind
from generator.circuit.circuit import Mains, build_block

BASE = {"resistor": "R21 10k", "capacitor": "C10 1u", "supply": "5 V", "threshold": "3.5 V"}


def block(**changes: object) -> Block:
    built, troubles = build_block("rc-delay", {**BASE, **changes}, Mains())
    assert built is not None, troubles
    return built


@pytest.mark.parametrize("direction, start, end", [("charge", 0.0, 5.0), ("discharge", 5.0, 0.0)])
@pytest.mark.parametrize("threshold", [0.2, 1.0, 3.5, 4.9])
def test_delay_against_a_numerical_integration(
    direction: str, start: float, end: float, threshold: float
) -> None:
    """C·dv/dt = (end − v)/R integrated until the threshold (scipy's event finder)."""
    delay = block(direction=direction, threshold=f"{threshold} V").values["delay"].value

    def reached(t: float, v: list[float]) -> float:
        return v[0] - threshold

    reached.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        lambda t, v: [(end - v[0]) / (10e3 * 1e-6)], (0, 1.0), [start], events=reached, rtol=1e-10, atol=1e-12
    )
    assert delay == pytest.approx(run.t_events[0][0], rel=1e-5)


def test_textbook_figures() -> None:
    """0.693·RC to half the supply, 63.2 % after RC, 2.303·RC to 90 % (every textbook on RC circuits)."""
    assert block(threshold="2.5 V").values["delay"].value == pytest.approx(0.693e-2, rel=1e-3)
    assert block(threshold="3.16 V").values["delay"].value == pytest.approx(1e-2, rel=1e-3)
    assert block(threshold="4.5 V").values["delay"].value == pytest.approx(2.303e-2, rel=1e-3)
    assert block(threshold="1.84 V", direction="discharge").values["delay"].value == pytest.approx(
        1e-2, rel=1e-3
    )


def test_cutoff_is_where_the_signal_has_fallen_to_0_707() -> None:
    """|Zc/(R + Zc)| with the complex impedance of the capacitor is 1/√2 there."""
    frequency = block().values["cutoff"].value
    assert frequency is not None
    impedance = 1 / (2j * math.pi * frequency * 1e-6)
    assert abs(impedance / (10e3 + impedance)) == pytest.approx(1 / math.sqrt(2), rel=1e-9)


def test_band_by_hand() -> None:
    """5 % resistor, 20 % electrolytic from 1 µF up: 0.76 to 1.26 of 10 ms."""
    result = block().values["time_constant"]
    assert (result.low, result.high) == (pytest.approx(0.76e-2), pytest.approx(1.26e-2))


@pytest.mark.parametrize("direction, threshold, words", [
    ("charge", "6 V", "never reaches"), ("charge", "4.9 V 5%", "may never reach"),
    ("discharge", "6 V", "starts below"), ("discharge", "4.9 V 5%", "may start below"),
])  # fmt: skip
def test_what_fails_at_the_bad_end_only_is_said_so(direction: str, threshold: str, words: str) -> None:
    """4.9 V to 5 % reaches from 4.66 V to 5.15 V, past a supply of 5 V."""
    told = [c.what for c in block(direction=direction, threshold=threshold).checks if not c.ok]
    assert len(told) == 1 and told[0].startswith(words)


def test_a_threshold_that_is_never_reached() -> None:
    """At or above the supply: the delay is without end and a check fails, also where only a corner of the band gets there."""
    never = block(threshold="5 V")
    assert never.values["delay"].high == math.inf
    assert [c.ok for c in never.checks] == [False]
    corner = block(threshold="4.9 V 5%")
    assert corner.values["delay"].high == math.inf
    assert math.isfinite(corner.values["delay"].low)
    assert [c.ok for c in corner.checks] == [False]
    assert block(threshold="6 V", direction="discharge").values["delay"].value == 0.0


def test_failures() -> None:
    """What integration of the failed circuit would give: no path, no charge; no capacitor, no delay; a fifth of it, a fifth."""
    expected = {
        "charge": {
            ("R21", "open"): math.inf,
            ("R21", "high"): 2.0,
            ("C10", "open"): 0.0,
            ("C10", "short"): math.inf,
            ("C10", "low"): 0.2,
        },
        "discharge": {
            ("R21", "open"): math.inf,
            ("R21", "high"): 2.0,
            ("C10", "open"): 0.0,
            ("C10", "short"): 0.0,
            ("C10", "low"): 0.2,
        },
    }
    for direction, faults in expected.items():
        healthy = 1e-2 * (math.log(5 / 1.5) if direction == "charge" else math.log(5 / 3.5))
        failures = block(direction=direction).failures
        assert {(f.part, f.failed) for f in failures} == set(faults)
        for failure in failures:
            assert failure.values["delay"].value == pytest.approx(
                faults[failure.part, failure.failed] * healthy
            ), failure


@given(
    rc=st.floats(1e-6, 1e4), supply=st.floats(1, 400), share=st.floats(0.01, 0.99), factor=st.floats(0.1, 10)
)
@settings(max_examples=60, deadline=None)
def test_scaling(rc: float, supply: float, share: float, factor: float) -> None:
    """Delays follow R·C, and do not change with the supply where the threshold is a share of it."""
    for direction in ("charge", "discharge"):

        def delay(rc: float, supply: float) -> float:
            point = Point(
                resistor=rc, capacitor=1.0, supply=supply, threshold=share * supply, direction=direction
            )
            return kind("rc-delay").values_at(point)["delay"]

        one = delay(rc, supply)
        assert delay(rc * factor, supply) == pytest.approx(one * factor, rel=1e-9)
        assert delay(rc, supply * factor) == pytest.approx(one, rel=1e-6)


def test_ratings() -> None:
    """A 4 V capacitor on 5 V fails by a quarter of its rating."""
    told = [c for c in block(capacitor="C10 1u 4V").checks if c.part == "C10"]
    assert [c.ok for c in told] == [False]
    assert told[0].margin == pytest.approx(-0.25)


@pytest.mark.parametrize("changes, words", [
    ({"resistor": "0"}, "rc-delay resistor"), ({"capacitor": "1 V"}, "rc-delay capacitor"), ({"supply": "nan"}, "rc-delay supply"),
    ({"threshold": "1e400"}, "rc-delay threshold"), ({"direction": "up"}, "not one of charge, discharge"), ({"delay": "3 s"}, "no such parameter"),
])  # fmt: skip
def test_bad_input(changes: dict[str, object], words: str) -> None:
    """Refused in words that name what is accepted."""
    built, troubles = build_block("rc-delay", {**BASE, **changes}, Mains())
    assert built is None
    assert any(words in f"{t.what} {t.hint}" for t in troubles), troubles


@pytest.mark.parametrize(
    ("direction", "threshold", "late"),
    [
        ("charge", "2.5 V", False),
        ("charge", "4.9 V", True),
        ("discharge", "2.5 V", False),
        ("discharge", "0.1 V", True),
    ],
)
def test_a_threshold_near_the_end_of_the_curve_is_told(direction: str, threshold: str, late: bool) -> None:
    """At 98 % of the way a threshold 1 % off changes the time by half a time constant (RC circuit, by hand): drifts rule it."""
    given = {**kind("rc-delay").example, "direction": direction, "threshold": f"{threshold} 0%"}
    block, troubles = build_block("rc-delay", given, Mains())
    assert block is not None, troubles
    assert any(c.remark and "final voltage" in c.what for c in block.checks) is late
