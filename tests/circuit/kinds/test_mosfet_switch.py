"""MOSFET switch, held against nodal analysis and an integration of the gate's charging."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from bench import after, failed, made, said, told, value
from nodal import Network
from scipy.integrate import solve_ivp

EXAMPLE = {
    "drive": "5 V", "gate": "R18 1k 0%", "pull_down": "R19 100k 0%", "transistor": "Q2 vth1.5 rds0R1 2A 30V", "load": "FAN1 12",
    "load_supply": "12 V", "flyback": "D7", "gate_capacitance": "1n",
}  # fmt: skip


def switch(**changes: Any) -> Any:
    return made("mosfet-switch", **{**EXAMPLE, **changes})


def nodal(
    *, gate: float = 1e3, pull_down: float = 100e3, load: float = 12.0, channel: float = 0.1
) -> dict[str, float]:
    net = Network().voltage("drive", "d", "0", 5.0).voltage("supply", "s", "0", 12.0)
    net.resistor("d", "g", gate).resistor("g", "0", pull_down).resistor("s", "x", load).resistor(
        "x", "0", channel
    )
    volts, amperes = net.solve()
    return {"gate_voltage": volts["g"], "load_current": amperes["supply"], "on_drop": volts["x"]}


def test_sound_against_nodal_analysis() -> None:
    block = switch()
    for name, expected in nodal().items():
        assert value(block, name) == pytest.approx(expected, abs=1e-5), name
    assert value(block, "dissipation") == pytest.approx(nodal()["load_current"] ** 2 * 0.1, rel=1e-6)


@pytest.mark.parametrize("part, mode, circuit", [
    ("R18", "high", {"gate": 2e3}), ("R18", "open", {"gate": math.inf, "channel": math.inf}),
    ("R19", "open", {"pull_down": math.inf}), ("R19", "high", {"pull_down": 200e3}), ("Q2", "open", {"channel": math.inf}),
    ("Q2", "short", {"channel": 1e-9}), ("FAN1", "open", {"load": math.inf}), ("D7", "open", {}),
])  # fmt: skip
def test_failures_against_nodal_analysis(part: str, mode: str, circuit: dict[str, float]) -> None:
    found = after(switch(), part, mode)
    for name, expected in nodal(**circuit).items():
        assert found[name] == pytest.approx(expected, abs=1e-4), name  # the nodes' 1 GΩ meters


def test_shorted_flyback_diode_blows_the_fuse() -> None:
    """12 V over 0.1 Ω would be 120 A: nothing is left to measure but the gate."""
    found = after(switch(), "D7", "short")
    assert (
        found["load_current"] == 0.0
        and found["on_drop"] == 0.0
        and found["gate_voltage"] == pytest.approx(5 / 1.01)
    )
    assert "fuse" in failed(switch(), "D7", "short").remark


def test_a_shorted_transistor_is_the_dangerous_failure() -> None:
    assert [(f.part, f.failed) for f in switch().failures if f.dangerous] == [("Q2", "short")]


def test_time_constant_against_an_integration() -> None:
    """The gate is at 1 − 1/e of its end after one time constant. Source: scipy on C·v' = (drive − v)/gate − v/pull_down."""
    block = switch(gate="10k 0%", pull_down="47k 0%", gate_capacitance="2n2")
    tau = value(block, "gate_time_constant")
    run = solve_ivp(
        lambda t, v: [((5 - v[0]) / 10e3 - v[0] / 47e3) / 2.2e-9], (0, tau), [0.0], rtol=1e-10, atol=1e-12
    )
    assert run.y[0, -1] == pytest.approx(value(block, "gate_voltage") * (1 - 1 / math.e), rel=1e-6)


def test_default_tolerance_of_the_resistors() -> None:
    """5 % where the note is silent; the extremes of a divider are at corners. Source: numpy over the box."""
    block = switch(gate="47k", pull_down="100k")
    box = [5 * p / (p + g) for g in np.linspace(44.65e3, 49.35e3, 21) for p in np.linspace(95e3, 105e3, 21)]
    result = block.values["gate_voltage"]
    assert (result.low, result.high) == pytest.approx((min(box), max(box)))


def test_below_the_threshold_it_is_off() -> None:
    block = switch(drive="0.4 V")
    assert value(block, "load_current") == value(block, "dissipation") == 0.0
    assert value(block, "on_drop") == 12.0
    assert "stays off" in said(block, ok=False)


def test_off_at_the_bad_end_only_is_said_so() -> None:
    """2 V from a 2.2 V drive: 2.2 V·100/(100 + 10) and a threshold of 2 V to 10 % (voltage divider)."""
    told = said(
        switch(drive="2.2 V", gate="R18 10k", pull_down="R19 100k", transistor="Q2 vth2±10% rds0R1 2A 30V"),
        ok=False,
    )
    assert "may stay off: in the worst case the gate gets 1.98 V, the threshold is 2.2 V" in told
    assert "Q2: stays off" in said(switch(drive="0.4 V"), ok=False)


def test_between_threshold_and_twice_that_there_is_a_remark() -> None:
    remarks = [
        c
        for c in switch(drive="2.5 V", transistor="Q2 vth1.5 0% rds0R1 2A 30V").checks
        if c.remark and "half on" in c.what
    ]
    assert len(remarks) == 1 and remarks[0].ok
    assert not [c for c in switch(transistor="Q2 vth1.5 0% rds0R1 2A 30V").checks if "half on" in c.what]


def test_load_as_a_current() -> None:
    """1 A through 0.1 Ω: 0.1 V and 0.1 W. Ohm's law. More than the channel lets through is not to be had."""
    block = switch(load="1 A")
    assert value(block, "on_drop") == pytest.approx(0.1) and value(block, "dissipation") == pytest.approx(0.1)
    starved = switch(load="5 A", transistor="Q2 vth1.5 rds12")
    assert value(starved, "load_current") == pytest.approx(1.0) and value(
        starved, "on_drop"
    ) == pytest.approx(12.0)


def test_checks_take_the_bad_end() -> None:
    texts = said(switch(transistor="Q2 vth1.5 rds0R1 0.9A 10V", flyback="", drive="24 V"), ok=False)
    for words in ("rated 900 mA", "rated 10 V", "no flyback diode", "most stand 20 V"):
        assert words in texts


@pytest.mark.parametrize("parameter, text", [
    ("drive", "0 V"), ("drive", "-5 V"), ("drive", "nan"), ("drive", "1e400 V"), ("drive", "5 mA"), ("gate", "-1"), ("gate", "12 V"),
    ("load", "0"), ("load", "5 V"), ("transistor", "Q1 vth2"), ("transistor", "Q1 rds0R1"), ("gate_capacitance", "1 k"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert f"mosfet-switch {parameter}" in told("mosfet-switch", **{**EXAMPLE, parameter: text})


def test_missing_and_unknown_parameters() -> None:
    assert "mosfet-switch needs gate" in told("mosfet-switch", **{**EXAMPLE, "gate": ""})
    assert "did you mean load_supply" in told("mosfet-switch", **EXAMPLE, load_suply="12 V")


def test_spike_at_switch_off_against_an_integration() -> None:
    """24 V, 20 mH and 12 Ω, 2 A as it opens, 100 nF across the transistor. Without the resistance the peak is 24 + 2·√(20 m/100 n) =
    918 V; scipy with it comes out a little lower. Source: scipy solve_ivp, energy by hand."""
    given = {
        "drive": "10 V",
        "gate": "100",
        "transistor": "Q1 vth2 rds0R05",
        "load": "12 ohm",
        "load_supply": "24 V",
    }
    block = made("mosfet-switch", **given, load_inductance="20 mH", across_switch="C1 100n 0%")
    run = solve_ivp(lambda t, s: [(24 - s[1] - 12 * s[0]) / 20e-3, s[0] / 100e-9], (0, 1e-3), [24 / 12.05, 0.0], rtol=1e-8,
                    atol=1e-9, max_step=1e-6)  # fmt: skip
    peak = value(block, "switch_off_peak")
    assert peak == pytest.approx(24 + 24 / 12.05 * math.sqrt(20e-3 / 100e-9))
    assert 0.95 * peak < float(run.y[1].max()) < peak
    assert (
        "switch_off_peak"
        not in made(
            "mosfet-switch", **given, load_inductance="20 mH", across_switch="C1 100n", flyback="D1"
        ).values
    )


def test_capacitor_across_the_load() -> None:
    """24 V/50 mΩ = 480 A at first; 12 Ω·1000 µF = 12 ms. By hand; held against the transistor's rating."""
    given = {
        "drive": "10 V",
        "gate": "100",
        "transistor": "Q1 vth2 rds0R05 30A 0%",
        "load": "12 ohm",
        "load_supply": "24 V",
    }
    block = made("mosfet-switch", **given, across_load="C1 1000u 35V")
    assert value(block, "surge_current") == pytest.approx(480)
    assert value(block, "load_time_constant") == pytest.approx(12e-3)
    assert "into the capacitor" in said(block, False)
    assert after(block, "C1", "short")["load_current"] == 0.0
    assert "fuse" in failed(block, "C1", "short").remark
    off = made(
        "mosfet-switch", **{**given, "drive": "1 V"}, across_load="C1 1000u 35V"
    )  # below the 2 V of the threshold
    assert failed(off, "C1", "short").remark == "bridges the load"
