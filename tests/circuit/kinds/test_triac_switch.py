"""Triac switch, held against complex nodal analysis, integration over a period and figures of the trade."""

from __future__ import annotations

import cmath
import math
from typing import Any

import numpy as np
import pytest
from bench import PLAIN, after, failed, made, said, told, value
from scipy.integrate import quad

from generator.circuit.device import State, Told, work_out
from generator.circuit.point import Mains

EXAMPLE = {
    "load": "45 W", "triac": "TR1 1A 600V", "gate_resistor": "R7 470", "snubber_resistor": "R8 100 0.5W",
    "snubber_capacitor": "C6 10n X2 275V",
}  # fmt: skip


def switch(**changes: Any) -> Any:
    return made("triac-switch", PLAIN, **{**EXAMPLE, **changes})


def off_state(*, resistor: float = 100.0, capacitor: float = 10e-9, with_load: bool = True) -> float:
    """RMS current with the triac blocking: mains, load and snubber as complex admittances, by numpy."""
    load = 1 / (230**2 / 45 if with_load else 1e-3)
    snubber = 1 / (resistor + (1 / (2j * math.pi * 50 * capacitor) if capacitor else 0))
    volts = np.linalg.solve(np.array([[load + snubber]]), np.array([load * 230]))
    return abs(cmath.polar(complex(volts[0] * snubber))[0])


def test_load_current() -> None:
    """45 W at 230 V are 196 mA, by hand."""
    assert value(switch(), "load_current") == pytest.approx(0.19565, rel=1e-4)


def test_conduction_loss_against_an_integration() -> None:
    """1.2 V times |i| over a period, by scipy. The data-sheet form is P = VT0·IT(AV) with IT(AV) = 2√2/π of the RMS current."""
    mean, _ = quad(lambda t: 1.2 * 0.87 * math.sqrt(2) * abs(math.sin(2 * math.pi * t)), 0, 1, points=[0.5])
    assert value(switch(load=f"{0.87 * 230} W"), "triac_power") == pytest.approx(mean, rel=1e-6)


def test_rule_of_thumb_for_the_leakage() -> None:
    """100 nF pass some 7.2 mA at 230 V 50 Hz. Common practice, no source."""
    assert value(switch(snubber_capacitor="100n X2"), "snubber_current") == pytest.approx(7.2e-3, rel=0.01)


@pytest.mark.parametrize("resistor, capacitor", [(100.0, 10e-9), (39.0, 100e-9), (330.0, 47e-9)])
def test_leakage_against_complex_nodal_analysis(resistor: float, capacitor: float) -> None:
    block = switch(snubber_resistor=f"{resistor}", snubber_capacitor=f"{capacitor * 1e9}n X2")
    alone = off_state(resistor=resistor, capacitor=capacitor, with_load=False)
    assert value(block, "snubber_current") == pytest.approx(alone, rel=1e-6)
    # The load in series, which the formula leaves out, changes it by less than 1 %.
    assert value(block, "snubber_current") == pytest.approx(
        off_state(resistor=resistor, capacitor=capacitor), rel=0.01
    )


def test_surge_is_the_crest_over_the_resistor() -> None:
    """325.27 V over 100 Ω, Ohm's law."""
    assert value(switch(), "snubber_surge") == pytest.approx(3.2527, rel=1e-4)


@pytest.mark.parametrize("part, mode, name, expected", [
    ("C6", "short", "snubber_current", off_state(capacitor=0.0)), ("C6", "open", "snubber_current", 0.0),
    ("C6", "low", "snubber_current", off_state(capacitor=2e-9)), ("R8", "open", "snubber_current", 0.0),
    ("R8", "high", "snubber_current", off_state(resistor=200.0)), ("TR1", "open", "load_current", off_state()),
    ("R7", "open", "load_current", off_state()), ("TR1", "short", "load_current", 45 / 230), ("TR1", "short", "snubber_current", 45 / 230),
])  # fmt: skip
def test_failures_against_complex_nodal_analysis(part: str, mode: str, name: str, expected: float) -> None:
    """The leakage is read in series with the load, where a shorted triac shows the load current."""
    assert after(switch(), part, mode)[name] == pytest.approx(expected, rel=1e-4, abs=1e-12)


def test_without_a_snubber_nothing_leaks() -> None:
    block = switch(snubber_resistor="", snubber_capacitor="")
    assert "snubber_current" not in block.values and "snubber_surge" not in block.values
    assert after(block, "TR1", "open")["load_current"] == 0.0
    assert "snubber_surge" not in switch(snubber_resistor="").values


def test_a_shorted_triac_is_the_dangerous_failure() -> None:
    assert [(f.part, f.failed) for f in switch().failures if f.dangerous] == [("TR1", "short")]
    assert "fully on" in failed(switch(), "TR1", "short").remark


def test_band_of_the_leakage() -> None:
    """Mains ±10 %, film capacitor ±10 %: nearly 0.81 and 1.21 times, since the resistor hardly counts."""
    block = made("triac-switch", **EXAMPLE)
    result = block.values["snubber_current"]
    assert result.low == pytest.approx(0.81 * value(block, "snubber_current"), rel=1e-4)
    assert result.high == pytest.approx(1.21 * value(block, "snubber_current"), rel=1e-4)


def test_checks_take_the_top_of_the_mains() -> None:
    """253 V RMS, 358 V at the crest: a 350 V triac and a 250 V capacitor are too little."""
    texts = said(
        made("triac-switch", **{**EXAMPLE, "triac": "TR1 0.2A 350V", "snubber_capacitor": "C6 10n X2 250V"}),
        ok=False,
    )
    for words in ("358 V, rated 350 V", "253 V, rated AC 250 V", "rated 200 mA"):
        assert words in texts
    assert "358 V, rated DC 275 V" in said(switch(snubber_capacitor="C6 10n 275V"), ok=True) + said(
        made("triac-switch", **{**EXAMPLE, "snubber_capacitor": "C6 10n 275V"}), ok=False
    )


def test_a_capacitor_straight_across_the_triac_is_told() -> None:
    assert "no snubber resistor" in said(switch(snubber_resistor=""), ok=False)


@pytest.mark.parametrize("parameter, text", [
    ("load", "0 W"), ("load", "-45 W"), ("load", "nan"), ("load", "1e400 W"), ("load", "45 A"), ("snubber_capacitor", "10 k"),
    ("snubber_resistor", "0"), ("on_voltage", "0 V"), ("f", "0 Hz"), ("supply", "230 A"), ("gate_resistor", "5 V"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert f"triac-switch {parameter}" in told("triac-switch", **{**EXAMPLE, parameter: text})


@pytest.mark.parametrize(
    "capacitor, bursts",
    [("C6 10n X2", False), ("C6 10u 450V", True), ("C6 10u film", False), ("C6 10n electrolytic", True)],
)
def test_an_electrolytic_is_no_snubber_capacitor(capacitor: str, bursts: bool) -> None:
    """A polarised capacitor stands no reverse voltage. Common practice, no source."""
    assert (
        "an electrolytic on alternating voltage" in said(switch(snubber_capacitor=capacitor), ok=False)
    ) is bursts


def test_a_snubber_resistor_alone_is_told() -> None:
    """Only what depends on the capacitor is absent; the surge is the crest over the resistor (Ohm's law)."""
    block = switch(snubber_capacitor="")
    assert "snubber_current" not in block.values
    assert value(block, "snubber_surge") == pytest.approx(230 * math.sqrt(2) / 100)
    assert "R8: no snubber capacitor is stated" in said(block, ok=False)
    assert after(block, "TR1", "open")["load_current"] == 0.0


def test_missing_and_unknown_parameters() -> None:
    assert "triac-switch needs load" in told("triac-switch", **{**EXAMPLE, "load": ""})
    assert "did you mean on_voltage" in told("triac-switch", **EXAMPLE, onvoltage="1 V")


BOARD = {
    "watch": {"kind": "microcontroller", "designator": "U1", "supply": "5 V", "pins": ["1 VDD", "2 fan -> fan", "3 GND"]},
    "fan": {"kind": "triac-switch", **EXAMPLE},
}  # fmt: skip
ON_THE_MAINS = (("watch.common", "fan.neutral"),)
STATES = (State("asleep"), State("turning", ("fan",)))


def test_it_is_fired_by_the_state_and_leaks_without() -> None:
    """By hand, 45 W at 230 V = 1175.6 Ω, 10 nF at 50 Hz = 318.31 kΩ: asleep 230 V/√((1175.6 + 100)² + 318310²) = 0.7226 mA
    and next to all of the mains across the triac; fired 1.2 V across it and 195.7 mA less half a per cent."""
    device = work_out(BOARD, Mains(), Told(STATES, ON_THE_MAINS))
    mains = device.solved.mains
    assert mains.amperes("fan.load").tolist() == pytest.approx([0.7226e-3, 0.1957], rel=0.01)
    assert mains.volts("fan.load", device.net("fan.neutral")).tolist() == pytest.approx(
        [230.0, 1.2], rel=0.01
    )
    shorted = device.side.solve([{"fan.triac": device.elements["fan.triac"].failed({}, "short")}])
    assert shorted.amperes("fan.load")[0] == pytest.approx(0.1957, rel=0.01)


def test_a_chip_at_mains_potential_drives_the_gate() -> None:
    """5 V through 30 Ω and 470 Ω into a gate of 0.7 V: 8.6 mA. With the plug out: 470 Ω and the gate's own 100 Ω."""
    device = work_out(BOARD, Mains(), Told(STATES, ON_THE_MAINS))
    gate, pin = (device.solved.point.volts(device.net(net)) for net in ("fan._gate", "fan.gate"))
    assert gate.tolist() == pytest.approx([0.0, 0.7], abs=0.05)
    assert pin[1] == pytest.approx(5 - 30 * 8.6e-3, abs=0.02)
    assert device.unplugged().ohms(device.net("fan.gate"), device.net("fan.neutral")) == pytest.approx(
        570, rel=0.01
    )


def test_a_chip_on_the_other_side_drives_it_without_a_wire() -> None:
    """Between a chip on the low-voltage side and the gate stands a coupler that the note does not show."""
    device = work_out(BOARD, Mains(), Told(STATES))
    assert not device.troubles
    assert device.net("watch.fan") != device.net("fan.gate")
    assert device.solved.mains.amperes("fan.load").tolist() == pytest.approx([0.7226e-3, 0.1957], rel=0.01)


def test_two_blocks_on_one_mains_keep_it() -> None:
    """Joined where both are fed and by nothing else, they have one source, not none."""
    joined = (*ON_THE_MAINS, ("fan.live", "lamp.live"), ("fan.neutral", "lamp.neutral"))
    heater = {"kind": "heater", "power": "HE1 60 W", "rated_voltage": "230 V"}
    device = work_out({**BOARD, "lamp": heater}, Mains(), Told(STATES, joined))
    assert device.solved.mains.volts(device.net("lamp.live"), device.net("lamp.neutral"))[1] == pytest.approx(
        230, rel=1e-3
    )
