"""Light-dependent divider against data-sheet figures and nodal analysis."""

from __future__ import annotations

import math

import numpy as np
import pytest
from nodal import Network

from generator.circuit.block import Block, Point
from generator.circuit.circuit import Mains, build_block
from generator.circuit.kinds.light_divider import ILLUMINANCE, photoresistance

BASE = {"supply": "6 V", "fixed": "R1 33k", "sensor": "LDR1 10k gamma0.7"}


def block(**changes: object) -> Block:
    built, troubles = build_block("light-divider", {**BASE, **changes}, Mains())
    assert built is not None, troubles
    return built


def tap(upper: float, lower: float) -> float:
    volts, _ = (
        Network()
        .voltage("s", "top", "0", 6.0)
        .resistor("top", "tap", upper)
        .resistor("tap", "0", lower)
        .solve()
    )
    return volts.get("tap", 0.0)


CELL = Point(sensor=10e3, sensor_gamma=0.7)


def test_gamma_is_defined_between_10_and_100_lux() -> None:
    """gamma = log10(R10/R100): the definition in data sheets of CdS cells. 10 kΩ at gamma 0.7 is 1.995 kΩ at 100 lux."""
    assert math.log10(10e3 / photoresistance(CELL, 100.0)) == pytest.approx(0.7, rel=1e-12)
    assert photoresistance(CELL, 100.0) == pytest.approx(1995.3, rel=1e-4)


def test_straight_in_a_log_log_diagram() -> None:
    """As a data sheet draws it: between two points of the diagram numpy's interpolation of logarithms gives the rest."""
    for lux in (2.0, 5.0, 30.0, 70.0):
        line = np.interp(math.log10(lux), [0, 2], [math.log10(10e3) + 0.7, math.log10(10e3) - 0.7])
        assert photoresistance(CELL, lux) == pytest.approx(10**line, rel=1e-9)
        assert ILLUMINANCE.of(CELL.changed(resistance=float(10**line))) == pytest.approx(lux, rel=1e-9)


@pytest.mark.parametrize("side", ["lower", "upper"])
def test_outputs_against_nodal_analysis(side: str) -> None:
    """Dark is 0.1 lux: 10k·10^1.4 = 251.2 kΩ; bright 1000 lux: 10k·10^−1.4 = 398 Ω (by hand)."""
    values = block(sensor_side=side).values
    for name, ohm in (("dark_output", 10e3 * 10**1.4), ("bright_output", 10e3 * 10**-1.4)):
        expected = tap(33e3, ohm) if side == "lower" else tap(ohm, 33e3)
        assert values[name].value == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("side", ["lower", "upper"])
def test_failures_against_nodal_analysis(side: str) -> None:
    """Each failure put into a network of its own, in the dark and in the light."""
    faults = {
        ("R1", "open"): (math.inf, 1.0),
        ("R1", "high"): (66e3, 1.0),
        ("LDR1", "open"): (33e3, math.inf),
        ("LDR1", "short"): (33e3, 0.0),
    }
    failures = block(sensor_side=side).failures
    assert {(f.part, f.failed) for f in failures} == set(faults)
    for failure in failures:
        fixed, factor = faults[failure.part, failure.failed]
        for name, healthy in (("dark_output", 10e3 * 10**1.4), ("bright_output", 10e3 * 10**-1.4)):
            ohm = max(healthy * factor, 1e-3)
            expected = tap(fixed, ohm) if side == "lower" else tap(ohm, fixed)
            assert failure.values[name].value == pytest.approx(expected, rel=2e-3, abs=2e-3), (
                failure.part,
                failure.failed,
            )


@pytest.mark.parametrize("side", ["lower", "upper"])
def test_a_cut_points_figures_belong_together(side: str) -> None:
    """The resistance found for 2.27 V brings the network's tap to 2.27 V; its light gives that resistance by the definition."""
    values = block(sensor_side=side, cut_points={"close": {"output": "2.27 V"}}).values
    ohm, lux = values["close.resistance"].value, values["close.illuminance"].value
    assert ohm is not None and lux is not None
    assert (tap(33e3, ohm) if side == "lower" else tap(ohm, 33e3)) == pytest.approx(2.27, rel=1e-3)
    assert 10e3 * (lux / 10) ** -0.7 == pytest.approx(ohm, rel=1e-9)


def test_all_three_ways_to_state_a_cut_point_agree() -> None:
    """Stated as light, the same point is found again from its resistance and its voltage."""
    by_light = block(cut_points={"p": {"illuminance": "25 lux"}}).values
    by_ohm = block(cut_points={"p": {"resistance": f"{by_light['p.resistance'].value!r} ohm"}}).values
    by_volt = block(cut_points={"p": {"output": f"{by_light['p.output'].value!r} V"}}).values
    for name in ("p.illuminance", "p.resistance", "p.output"):
        assert by_ohm[name].value == pytest.approx(by_light[name].value, rel=1e-9)
        assert by_volt[name].value == pytest.approx(by_light[name].value, rel=1e-9)


def test_band_by_hand() -> None:
    """Only the fixed resistor's 5 % counts where the sensor states none: R = F·2.27/3.73."""
    result = block(cut_points={"close": {"output": "2.27 V"}}).values["close.resistance"]
    assert (result.low, result.high) == (
        pytest.approx(31350 * 2.27 / 3.73),
        pytest.approx(34650 * 2.27 / 3.73),
    )


@pytest.mark.parametrize("changes, words", [
    ({"sensor": "LDR1 10k"}, "no gamma"), ({"sensor": "LDR1 10k gamma12"}, "0.5 to 1"), ({"sensor": "LDR1"}, "light-divider sensor"),
    ({"cut_points": {"x": {"output": "7 V"}}}, "never comes to 7 V"), ({"sensor_side": "left"}, "not one of upper, lower"),
    ({"cut_points": {"x": {"illuminance": "-5 lux"}}}, "below zero"),
])  # fmt: skip
def test_bad_input(changes: dict[str, object], words: str) -> None:
    """Refused in words that name what is accepted."""
    built, troubles = build_block("light-divider", {**BASE, **changes}, Mains())
    assert built is None
    assert any(words in f"{t.what} {t.hint}" for t in troubles), troubles
