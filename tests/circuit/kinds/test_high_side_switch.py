"""High-side switch, held against nodal analysis, a textbook design and hand calculation."""

from __future__ import annotations

import math

import pytest
from bench import after, failed, made, said, told, value
from nodal import Network

from generator.diagnosis.bench import fitting

PNP = {
    "supply": "12 V",
    "transistor": "Q2 hfe100 500mA 45V",
    "base": "R4 2k2",
    "pull_up": "R5 10k",
    "load": "RL1 240",
    "flyback": "D3",
}
CHANNEL = {
    "supply": "12 V",
    "transistor": "Q2 vth2 rds0R05 5A 30V",
    "base": "R4 1k",
    "pull_up": "R5 10k",
    "load": "6 ohm",
}


def test_pnp_base_against_nodal_analysis() -> None:
    """The emitter-base junction as a source of 0.7 V; what it delivers is the base current. Source: nodal analysis."""
    net = (
        Network()
        .voltage("supply", "e", "0", 12.0)
        .voltage("vbe", "e", "b", 0.7)
        .voltage("drive", "d", "0", 0.2)
    )
    net.resistor("e", "b", 10e3).resistor("b", "d", 2200.0)
    _, amperes = net.solve()
    block = made("high-side-switch", **PNP)
    assert value(block, "base_current") == pytest.approx(-amperes["vbe"], rel=1e-5)
    assert value(block, "drive_current") == pytest.approx(-amperes["drive"], rel=1e-5)


def test_p_channel_against_nodal_analysis() -> None:
    net = Network().voltage("supply", "s", "0", 12.0).voltage("drive", "d", "0", 0.2)
    net.resistor("s", "g", 10e3).resistor("g", "d", 1e3).resistor("s", "out", 0.05).resistor("out", "0", 6.0)
    volts, _ = net.solve()
    block = made("high-side-switch", **CHANNEL)
    assert value(block, "gate_voltage") == pytest.approx(12.0 - volts["g"], rel=1e-5)
    assert value(block, "output_voltage") == pytest.approx(volts["out"], rel=1e-6)
    assert value(block, "load_current") == pytest.approx(volts["out"] / 6, rel=1e-6)
    assert value(block, "transistor_power") == pytest.approx((12 - volts["out"]) * volts["out"] / 6, rel=1e-4)


def test_textbook_design() -> None:
    """Relay of 240 Ω on 12 V: (12 − 0.2)/240 = 49.2 mA; base (11.8 − 0.7)/2.2k − 70 µA = 4.98 mA: forced gain 9.9, as the usual rule
    of a tenth asks for (textbooks on transistor switches, from memory)."""
    block = made("high-side-switch", **PNP)
    assert value(block, "load_current") == pytest.approx(0.049167, abs=1e-6)
    assert value(block, "forced_gain") == pytest.approx(9.88, abs=0.01)
    assert value(block, "overdrive") == pytest.approx(100 / 9.88, abs=0.02)
    assert value(block, "output_voltage") == pytest.approx(11.8)


def test_out_of_saturation() -> None:
    """10 kΩ into the base: 1.04 mA·100 = 104 mA where 200 mA are wanted; as a resistance of 59 Ω that leaves 6.14 V. By hand."""
    block = made("high-side-switch", **{**PNP, "base": "R4 10k", "load": "200 mA"})
    assert value(block, "load_current") == pytest.approx(0.104, abs=1e-4)
    assert value(block, "output_voltage") == pytest.approx(11.8 * 0.104 / 0.2, abs=0.01)
    assert "not saturated" in said(block, False)


def test_five_volt_logic_cannot_switch_off_twelve() -> None:
    """(12 − 5)·10k/12.2k = 5.74 V from emitter to base with the drive high: it stays on. By hand."""
    for given in (PNP, CHANNEL):
        block = made("high-side-switch", **given, drive_high="5 V")
        assert "cannot be switched off" in said(block, False)
    assert value(made("high-side-switch", **PNP, drive_high="5 V"), "off_voltage") == pytest.approx(
        7 * 10 / 12.2
    )
    assert value(made("high-side-switch", **PNP), "off_voltage") == 0.0


def test_gate_limits() -> None:
    """24 V on the gate is more than most stand; 1.5 V is below the threshold of 2 V: it stays off."""
    assert "most stand" in said(
        made("high-side-switch", **{**CHANNEL, "supply": "24 V", "pull_up": ""}), False
    )
    off = made("high-side-switch", **{**CHANNEL, "supply": "1.5 V"})
    assert (
        value(off, "load_current") == 0.0
        and value(off, "output_voltage") == 0.0
        and "threshold" in said(off, False)
    )


def test_a_drive_that_does_not_reach_the_base() -> None:
    """0.5 V from emitter to drive: no base current, only what the resistors carry, 0.5/12.2k. By hand."""
    block = made("high-side-switch", **PNP, drive_low="11.5 V")
    assert value(block, "base_current") == 0.0 and value(block, "drive_current") == pytest.approx(0.5 / 12200)


def test_failures() -> None:
    """By hand: shorted, the transistor leaves nothing; a driven base gets (12 − 0.7 − 0.2) V over its resistor."""
    block = made("high-side-switch", **PNP)
    assert after(block, "Q2", "short")["output_voltage"] == 12.0 and failed(block, "Q2", "short").dangerous
    assert after(block, "Q2", "open")["load_current"] == 0.0
    assert after(block, "R4", "open")["load_current"] == 0.0
    assert after(block, "R5", "open")["base_current"] == pytest.approx(11.1 / 2200)
    assert after(block, "RL1", "open")["load_current"] == 0.0
    assert math.isclose(after(block, "D3", "short")["output_voltage"] or 0.0, 0.0)


def test_one_sort_of_transistor() -> None:
    assert "hfe" in told("high-side-switch", **{**PNP, "transistor": "Q2 500mA"})
    assert "rds" in told("high-side-switch", **{**PNP, "transistor": "Q2 vth2"})


def test_a_gate_just_above_its_threshold_is_fully_on_in_the_network_too() -> None:
    """5 V·100k/100.1k = 4.995 V on a gate with 4.5 V of threshold, by the parameters on at its stated 0.2 Ω: 5 V·10/(10 + 0.2) =
    4.90 V across 10 Ω (voltage divider); half a volt above its threshold a channel has half as much again at most, 0.3 Ω (data sheets, from memory)."""
    block = made("high-side-switch", supply="5 V", transistor="Q2 vth4.5 rds0R2 5A 30V", base="R4 100", pull_up="R5 100k", load="M1 10")  # fmt: skip
    judged = fitting(block, [("output_voltage", "4.9 V")]).judgement
    assert judged is not None and judged.judged[0].expected is not None
    assert 5 * 10 / 10.3 <= judged.judged[0].expected.value <= 5 * 10 / 10.19
