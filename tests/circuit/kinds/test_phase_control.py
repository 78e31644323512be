"""Phase control, held against integrations over time by scipy that start from an empty capacitor."""

from __future__ import annotations

import math
import random
from typing import Any

import numpy as np
import pytest
from bench import PLAIN, after, failed, made, said, told, value
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, minimize_scalar

from generator.circuit.block import Point
from generator.circuit.catalogue import kind
from generator.circuit.kinds.phase_control import firing_angle
from generator.circuit.network.ohms import Unplugged
from tests.circuit.network.alone import Alone

EXAMPLE = {
    "fixed": "R1 4k7",
    "pot": "VR1 470k",
    "capacitor": "C2 68n",
    "breakover": "32 V",
    "breakback": "10 V",
}
PEAK = 230 * math.sqrt(2)


def simulated(*, resistance: float, capacitance: float = 68e-9, peak: float = PEAK, breakover: float = 32.0, breakback: float = 10.0,
              frequency: float = 50.0, half_cycles: int = 60) -> float | None:  # fmt: skip
    """Degrees of the last firing after many half-cycles of the two-wire dimmer, integrated; None if the last one had none.

    The capacitor starts empty. Until it reaches the breakover the RC sees the mains, after that 0 V across the triac, into
    which it discharges.
    """
    angular, half = 2 * math.pi * frequency, 0.5 / frequency
    volts, fired = 0.0, None
    for number in range(half_cycles):
        sign = 1.0 if number % 2 == 0 else -1.0
        reached = lambda t, v, sign=sign: sign * v[0] - breakover
        reached.terminal, reached.direction = True, 1.0  # type: ignore[attr-defined]
        mains = lambda t, v, sign=sign: [
            (sign * peak * math.sin(angular * t) - v[0]) / (resistance * capacitance)
        ]
        run = solve_ivp(mains, (0, half), [volts], events=reached, rtol=1e-9, atol=1e-9, method="LSODA")
        volts, fired = float(run.y[0, -1]), None
        if run.status == 1:
            fired = float(run.t[-1])
            volts = (volts - sign * breakback) * math.exp(-(half - fired) / (resistance * capacitance))
    return None if fired is None else math.degrees(angular * fired)


@pytest.mark.parametrize("resistance", [4.7e3, 47e3, 150e3, 300e3, 474.7e3, 520e3])
@pytest.mark.parametrize("breakback", [0.5, 10.0, 32.0])
def test_steady_state_against_an_integration(resistance: float, breakback: float) -> None:
    """The firing angle that scipy settles at from an empty capacitor, half-cycle after half-cycle, to 1e-4 degrees.

    Near the point where firing dies out it settles slowly, hence 300 half-cycles there.
    """
    expected = simulated(
        resistance=resistance, breakback=breakback, half_cycles=300 if resistance > 5e5 else 60
    )
    found = firing_angle(
        peak=PEAK,
        resistance=resistance,
        capacitance=68e-9,
        breakover=32.0,
        breakback=breakback,
        frequency=50.0,
    )
    assert (found is None) is (expected is None)
    if found is not None:
        assert math.degrees(found) == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize("seed", range(16))
def test_any_dimmer_against_an_integration(seed: int) -> None:
    """Whether it fires, and when, for dimmers drawn at random, except within 2 % of where firing dies out (slow to settle)."""
    chance = random.Random(seed)
    dimmer = {
        "peak": chance.uniform(90, 380), "capacitance": 10 ** chance.uniform(-8, -6.5), "breakover": chance.uniform(20, 40),
        "frequency": chance.choice((50.0, 60.0)), "resistance": 10 ** chance.uniform(3, 6),
    }  # fmt: skip
    dimmer["breakback"] = dimmer["breakover"] * chance.uniform(0.1, 1.0)
    while (
        len(
            {
                firing_angle(**{**dimmer, "resistance": dimmer["resistance"] * factor}) is None
                for factor in (0.98, 1.02)
            }
        )
        == 2
    ):
        dimmer["resistance"] *= 0.95
    found, expected = firing_angle(**dimmer), simulated(**dimmer)
    assert (found is None) is (expected is None)
    if found is not None:
        assert math.degrees(found) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("share", [0.5, 0.1, 1e-2, 1e-4, 1e-6, 1e-8])
@pytest.mark.parametrize("k", [0.02, 0.5, 3.0, 10.0])
def test_also_where_firing_barely_sustains_itself(k: float, share: float) -> None:
    """The diac's level a share below the highest that the capacitor reaches: where the response is flat, its rising root
    lies within rounding of scipy's (brentq up to the crest that minimize_scalar finds)."""
    crest = minimize_scalar(
        lambda a: -response(a, k), bounds=(0.0, math.pi), method="bounded", options={"xatol": 1e-13}
    )
    level = -crest.fun * PEAK * (1 - share)
    # The diac empties the capacitor to breakover − breakback: with all of it taken, the level is the breakover itself.
    found = firing_angle(
        peak=PEAK,
        resistance=k * 1e6 / 100 / math.pi,
        capacitance=1e-6,
        breakover=level,
        breakback=level,
        frequency=50.0,
    )
    expected = brentq(lambda a: response(a, k) * PEAK - level, 0.0, crest.x, xtol=1e-14)
    assert found == pytest.approx(expected, abs=max(1e-10, 1e-14 / math.sqrt(share)))


def test_both_ends_of_the_knob() -> None:
    block = made("phase-control", PLAIN, **EXAMPLE)
    assert value(block, "firing_angle_min") == pytest.approx(simulated(resistance=4.7e3), abs=1e-4)
    assert value(block, "firing_angle_max") == pytest.approx(simulated(resistance=474.7e3), abs=1e-4)


def test_without_resistance_it_fires_at_breakover() -> None:
    """The capacitor follows the mains: asin(32 V/325 V) = 5.65 degrees."""
    block = made("phase-control", PLAIN, **{**EXAMPLE, "fixed": ""})
    assert value(block, "firing_angle_min") == pytest.approx(math.degrees(math.asin(32 / PEAK)))


def test_kept_charge_makes_it_fire_later() -> None:
    """A capacitor emptied by its diac starts from 0 V and fires earlier than one that keeps some. Physics of the circuit."""
    angles = [
        value(made("phase-control", PLAIN, **{**EXAMPLE, "breakback": f"{v} V"}), "firing_angle_max")
        for v in (32, 20, 10, 2)
    ]
    assert angles == sorted(angles) and angles[-1] - angles[0] > 5


@pytest.mark.parametrize(
    "angle, share", [(30, 0.9712), (60, 0.8045), (90, 0.5), (120, 0.1955), (150, 0.0288)]
)
def test_power_share_against_the_textbook_table(angle: int, share: float) -> None:
    """Share of power by firing angle of a full-wave AC controller with a resistive load. Source: power electronics
    textbooks, from memory; and scipy's integral of sin²."""
    share_of = kind("phase-control").formula("power_share_max")
    integral, _ = quad(lambda t: math.sin(t) ** 2, math.radians(angle), math.pi)
    found = share_of.of(Point(firing_angle_min=angle))
    assert found == pytest.approx(2 * integral / math.pi, rel=1e-9)
    assert found == pytest.approx(share, abs=1e-4)


def response(angle: float, k: float) -> float:
    """The RC's response from 0 V to a mains of crest 1, by quadrature of the convolution integral."""
    return quad(lambda s: math.sin(s) * math.exp(-(angle - s) / k) / k, 0, angle)[0]


def test_band_reaches_to_where_firing_dies_out() -> None:
    """Some corners of the band do not fire. The latest angle is at the edge of what does: with the largest RC, and the mains
    so low that the response only just reaches breakover and what was kept, which it does at its highest point.

    Source: scipy's search for that point on the convolution integral.
    """
    block = made("phase-control", **EXAMPLE)
    k = 2 * math.pi * 50 * (493.5e3 + 4935) * 74.8e-9
    highest = minimize_scalar(
        lambda a: -response(a, k), bounds=(1.5, math.pi), method="bounded", options={"xatol": 1e-10}
    )
    least_crest = (32 + 22 * math.exp(-math.pi / k)) / -highest.fun
    assert 0.9 * PEAK < least_crest < 1.1 * PEAK  # the edge goes through the band of the mains
    assert block.values["firing_angle_max"].high == pytest.approx(math.degrees(highest.x), abs=1e-3)
    assert block.values["power_share_min"].low == 0.0
    remark = next(c for c in block.checks if "some corners" in c.what)
    assert remark.ok and remark.remark


def test_it_never_fires_with_too_much_resistance() -> None:
    """Nor does scipy's integration of the same circuit."""
    block = made("phase-control", **{**EXAMPLE, "pot": "VR1 2M2"})
    assert simulated(resistance=2.2e6 * 0.99) is None
    assert "firing_angle_max" not in block.values
    assert block.values["power_share_min"].high == 0.0 == value(block, "power_share_min")
    dead = made("phase-control", **{**EXAMPLE, "fixed": "R1 2M2"})
    assert value(dead, "power_share_max") == 0.0 and "never fires" in said(dead, ok=False)


def test_an_electrolytic_is_no_timing_capacitor() -> None:
    """It is charged one way and the other in turn. Common practice, no source."""
    assert "alternating voltage" in said(
        made("phase-control", **{**EXAMPLE, "capacitor": "C2 68n electrolytic"}), ok=False
    )
    assert "alternating voltage" not in said(made("phase-control", **EXAMPLE), ok=False)


def test_breakover_above_the_crest() -> None:
    """A sine of 30 V never reaches 32 V."""
    assert (
        firing_angle(
            peak=30.0, resistance=1e3, capacitance=1e-7, breakover=32.0, breakback=10.0, frequency=50.0
        )
        is None
    )


def test_angles_grow_with_the_knob() -> None:
    """More resistance charges the same capacitor later: RC circuit."""
    found = [firing_angle(peak=PEAK, resistance=r, capacitance=68e-9, breakover=32.0, breakback=10.0, frequency=50.0)
             for r in np.geomspace(1.0, 5.4e5, 200)]  # fmt: skip
    assert all(a is not None for a in found) and found == sorted(found)  # type: ignore[type-var]


@pytest.mark.parametrize("part, mode, low, high", [
    ("R1", "high", 9.4e3, 479.4e3), ("VR1", "high", 4.7e3, None),
])  # fmt: skip
def test_resistors_gone_high_against_an_integration(
    part: str, mode: str, low: float, high: float | None
) -> None:
    found = after(made("phase-control", PLAIN, **EXAMPLE), part, mode)
    assert found["firing_angle_min"] == pytest.approx(simulated(resistance=low), abs=1e-3)
    if high is None:
        assert simulated(resistance=944.7e3) is None and found["power_share_min"] == 0.0
    else:
        assert found["firing_angle_max"] == pytest.approx(simulated(resistance=high), abs=1e-3)


def test_capacitor_gone_low_against_an_integration() -> None:
    found = after(made("phase-control", PLAIN, **EXAMPLE), "C2", "low")
    assert found["firing_angle_max"] == pytest.approx(
        simulated(resistance=474.7e3, capacitance=13.6e-9), abs=1e-3
    )


@pytest.mark.parametrize("part, mode", [("R1", "open"), ("VR1", "open"), ("C2", "short"), ("diac", "open")])
def test_failures_that_leave_it_off(part: str, mode: str) -> None:
    """No path, or nothing that reaches breakover, or nothing that breaks over."""
    failure = failed(made("phase-control", **EXAMPLE), part, mode)
    assert set(failure.values) == {"power_share_min", "power_share_max"}
    assert all(result.high == 0.0 for result in failure.values.values())
    assert "stays off" in failure.remark


@pytest.mark.parametrize("part, mode, drop", [("C2", "open", 22.0), ("diac", "short", 0.0)])
def test_without_a_charge_to_fire_with(part: str, mode: str, drop: float) -> None:
    """Only the resistors' own current fires the gate: 10 mA (from memory) through 4.7 kΩ; through 475 kΩ never. Ohm's law."""
    found = after(made("phase-control", PLAIN, **EXAMPLE), part, mode)
    assert found["firing_angle_min"] == pytest.approx(math.degrees(math.asin((drop + 47) / PEAK)))
    assert "firing_angle_max" not in found and found["power_share_min"] == 0.0


@pytest.mark.parametrize("parameter, text", [
    ("pot", "0"), ("pot", "-470k"), ("pot", "470 nF"), ("capacitor", "68k"), ("capacitor", "0"), ("breakover", "0 V"),
    ("breakover", "32 A"), ("breakback", "nan"), ("breakback", "1e400 V"), ("f", "0 Hz"), ("supply", "230 W"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert f"phase-control {parameter}" in told("phase-control", **{**EXAMPLE, parameter: text})


def test_contradictory_missing_and_unknown_parameters() -> None:
    contradiction: dict[str, Any] = {**EXAMPLE, "breakback": "40 V"}
    assert "more than the diac's breakover" in told("phase-control", **contradiction)
    assert "phase-control needs pot" in told("phase-control", **{**EXAMPLE, "pot": ""})
    assert "did you mean breakover" in told("phase-control", **EXAMPLE, brekover="32 V")


def test_an_ohmmeter_finds_the_parts_as_they_are_drawn() -> None:
    """4.7 kΩ and 470 kΩ in series from the load's side to where the diac lies, open beyond: by hand, 474.7 kΩ to the gate
    once the diac is shorted, and the same to A1 with the capacitor shorted."""
    alone = Alone(made("phase-control", PLAIN, **EXAMPLE))
    name = alone.wired.elements[0].block
    ends = {
        (f"{name}.load", f"{name}.gate"): ("breakover", 474.7e3),
        (f"{name}.load", f"{name}.neutral"): ("capacitor", 474.7e3),
    }
    for (a, b), (key, ohms) in ends.items():
        assert Unplugged(alone.elements).ohms(a, b) == math.inf
        assert Unplugged(alone.elements, alone.failed(key, "short")).ohms(a, b) == pytest.approx(
            ohms, rel=1e-3
        )
