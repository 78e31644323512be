"""Brushless motor, held against nodal analysis, an integration of its equations of motion, and hand calculation."""

from __future__ import annotations

import math

import pytest
from bench import after, made, said, value
from nodal import Network
from scipy.integrate import solve_ivp

from generator.circuit.device import work_out
from generator.circuit.point import Mains
from tests.circuit.network.alone import failure

EXAMPLE = {"supply": "24 V", "winding": "M1 0R6", "pole_pairs": "4", "kv": "160 rpm/V", "speed": "3400 rpm", "bridge": "20 mohm",
           "shunt": "R30 0R05 2W"}  # fmt: skip


def test_two_windings_in_series_against_nodal_analysis() -> None:
    """Six-step: upper transistor, winding u, its back EMF against v's, winding v, lower transistor, shunt."""
    emf = 3400 / 160
    net = Network().voltage("supply", "plus", "0", 24.0).resistor("plus", "u", 0.02).resistor("u", "x", 0.3)
    net.voltage("emf", "x", "y", emf).resistor("y", "v", 0.3).resistor("v", "s", 0.02).resistor(
        "s", "0", 0.05
    )
    volts, amperes = net.solve()
    block = made("bldc-motor", **EXAMPLE)
    assert value(block, "motor_current") == pytest.approx(-amperes["emf"], rel=1e-6)
    assert value(block, "shunt_voltage") == pytest.approx(volts["s"], rel=1e-6)


def test_against_the_equations_of_motion() -> None:
    """Run up from standstill by scipy without load: it ends at kv·duty·supply and draws nothing there; at first the stall current."""
    ohms, k, inertia = 0.6 + 2 * 0.02 + 0.05, 60 / (2 * math.pi * 160), 1e-4
    run = solve_ivp(lambda t, w: [k * (12.0 - k * w[0]) / ohms / inertia], (0, 2.0), [0.0], rtol=1e-9)
    block = made("bldc-motor", **{**EXAMPLE, "speed": "", "duty": "0.5"})
    assert value(block, "no_load_speed") == pytest.approx(float(run.y[0][-1]) * 60 / (2 * math.pi), rel=1e-4)
    assert value(block, "motor_current") == pytest.approx(12.0 / ohms)
    assert value(block, "stall_current") == pytest.approx(24.0 / ohms)


def test_by_hand() -> None:
    """0.6/2 = 0.3 Ω; 3400/160 = 21.25 V; 4·3400/60 = 226.7 Hz; (5 + 0.2)/2 = 2.6 V; 0.5 V/50 mΩ = 10 A."""
    block = made("bldc-motor", **EXAMPLE, limit="0.5 V")
    found = {
        name: value(block, name)
        for name in ("phase_resistance", "back_emf", "hall_frequency", "hall_mean", "limit_current")
    }
    assert found == pytest.approx(
        {
            "phase_resistance": 0.3,
            "back_emf": 21.25,
            "hall_frequency": 226.667,
            "hall_mean": 2.6,
            "limit_current": 10.0,
        },
        rel=1e-4,
    )


def test_limit_holds_a_stalled_motor() -> None:
    """24 V/0.69 Ω = 34.8 A unlimited, 10 A limited: 0.5 V and 5 W at the shunt. By hand; and it is said to be no more than that."""
    block = made("bldc-motor", **{**EXAMPLE, "speed": ""}, limit="0.5 V")
    assert value(block, "motor_current") == pytest.approx(10.0) and value(
        block, "shunt_voltage"
    ) == pytest.approx(0.5)
    assert value(block, "shunt_power") == pytest.approx(5.0) and value(
        block, "stall_current"
    ) == pytest.approx(34.78, abs=0.01)
    assert "limit holds" in said(block, True) and "R30" in said(block, False)


def test_turning_faster_than_driven() -> None:
    """At half drive 1920 rpm is the most: at 3400 rpm nothing flows, and a check says so."""
    block = made("bldc-motor", **EXAMPLE, duty="0.5")
    assert value(block, "motor_current") == 0.0 and "unloaded at most" in said(block, False)


def test_absent_without_kv() -> None:
    block = made("bldc-motor", **{**EXAMPLE, "kv": ""})
    assert not {"back_emf", "motor_current", "no_load_speed"} & set(block.values)


def test_failures() -> None:
    """A Hall sensor that is open stays high, a shorted one low; an open shunt stops all. Common practice, no source."""
    block = made("bldc-motor", **EXAMPLE)
    assert after(block, "Hall sensor", "open")["hall_mean"] == 5.0
    assert after(block, "Hall sensor", "short")["hall_mean"] == pytest.approx(0.2)
    assert after(block, "R30", "open")["motor_current"] == 0.0
    assert after(block, "M1", "open")["motor_current"] == 0.0


def test_what_a_meter_finds_at_the_leads() -> None:
    """With the plug out 0.6 Ω between any two leads; red on minus, black on a lead: the diodes of the three lower transistors
    side by side through the windings, a third of 1 mA each: 0.6 V less 1.8·25.9 mV·ln 3 = 0.55 V. One winding open: two of
    the three readings are open, the third is as before. By hand."""
    device = work_out({"fan": {"kind": "bldc-motor", **EXAMPLE}}, Mains())
    leads = [device.net(f"fan.{lead}") for lead in "uvw"]
    pairs = [(leads[a], leads[b]) for a, b in ((0, 1), (0, 2), (1, 2))]
    cold = device.unplugged()
    assert [cold.ohms(*pair) for pair in pairs] == pytest.approx([0.6] * 3, rel=0.01)
    assert cold.diode(device.net("fan.minus"), leads[0]) == pytest.approx(0.55, abs=0.01)
    assert cold.diode(leads[0], device.net("fan.minus")) == math.inf
    opened = device.unplugged(failure(device.elements.values(), "winding", "open"))
    assert [opened.ohms(*pair) for pair in pairs] == [math.inf, math.inf, pytest.approx(0.6, rel=0.01)]


def test_what_it_takes_of_a_supply_on_average() -> None:
    """Driven half of the time and turning at 1500 rpm of 160 rpm/V: (0.5·24 − 9.375)/(0.6 + 2·0.02 + 0.05) = 3.804 A while
    it is driven, so 1.902 A from the supply, 95 mV at the shunt, and each lead at half of the driven half of 24 V."""
    device = work_out({"fan": {"kind": "bldc-motor", **EXAMPLE, "duty": "0.5", "speed": "1500 rpm"}}, Mains())
    point = device.solved.point
    assert float(point.volts("fan._low", "fan.minus")[0]) == pytest.approx(1.902 * 0.05, rel=0.02)
    assert float(point.volts("fan.u", "fan.minus")[0]) == pytest.approx(6.0, rel=0.02)
