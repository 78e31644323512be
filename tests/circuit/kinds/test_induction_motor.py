"""Induction motor, held against plates and tables of such motors, phasors and hand calculation."""

from __future__ import annotations

import math

import pytest
from bench import PLAIN, after, failed, made, said, value

from generator.circuit.device import Device
from generator.circuit.kinds.induction_motor import _turning
from tests.circuit.device.examples import built

EXAMPLE = {
    "main": "L1 32",
    "auxiliary": "L2 48",
    "capacitor": "C1 6u 450V 5%",
    "capacitor_voltage": "310 V",
    "poles": "2",
    "speed": "2750 rpm",
}


@pytest.mark.parametrize(
    "poles, hertz, rpm",
    [(2, 50, 3000), (4, 50, 1500), (6, 50, 1000), (8, 50, 750), (2, 60, 3600), (4, 60, 1800)],
)
def test_synchronous_speeds(poles: int, hertz: int, rpm: int) -> None:
    """The table in every handbook of electrical machines: 120·f/p."""
    block = made(
        "induction-motor",
        **{**EXAMPLE, "poles": str(poles), "f": f"{hertz} Hz", "speed": f"{rpm * 0.95} rpm"},
    )
    assert value(block, "synchronous_speed") == rpm
    assert value(block, "slip") == pytest.approx(0.05)


def test_capacitor_by_phasors() -> None:
    """6 µF at 50 Hz: 530.5 Ω; 310 V over it: 584 mA. Complex arithmetic."""
    block = made("induction-motor", PLAIN, **EXAMPLE)
    impedance = 1 / (2j * math.pi * 50 * 6e-6)
    assert value(block, "reactance") == pytest.approx(abs(impedance))
    assert value(block, "capacitor_current") == pytest.approx(310 / abs(impedance))
    assert value(block, "main_to_auxiliary") == 80


def test_temperature_rise_by_resistance() -> None:
    """A winding of 32 Ω at 25 °C that has 39 Ω warm: (234.5 + t)/(234.5 + 25) = 39/32 gives t = 81.8 °C, 56.8 K more. The
    resistance method of IEC 60034-1, the constant of copper from memory; worked by hand."""
    block = made("induction-motor", **EXAMPLE, hot_main="39 ohm")
    assert value(block, "temperature_rise") == pytest.approx(39 / 32 * 259.5 - 234.5 - 25, abs=1e-9)


def test_copper_has_its_usual_coefficient() -> None:
    """10 K warmer from 20 °C is 3.93 % more: the temperature coefficient of annealed copper (IEC 60028), from memory."""
    block = made("induction-motor", main="L1 100", hot_main="103.93 ohm", ambient="20 C")
    assert value(block, "temperature_rise") == pytest.approx(10.0, abs=0.01)


def test_run_capacitor_is_a_film_type() -> None:
    """6 µF without a word for its type: ±10 %, not the electrolytic's ±20 %, and no remark about alternating voltage."""
    block = made("induction-motor", PLAIN, **{**EXAMPLE, "capacitor": "C1 6u 450V"})
    assert block.values["reactance"].low == pytest.approx(1 / (2 * math.pi * 50 * 6.6e-6))
    assert "bursts" not in said(block, False)
    assert "bursts" in said(made("induction-motor", **{**EXAMPLE, "capacitor": "C1 6u electrolytic"}), False)


def test_shaded_pole() -> None:
    """0.18²·32 = 1.04 W; no reading through a second winding. By hand."""
    block = made("induction-motor", main="L1 32", running_current="180 mA", speed="2500 rpm")
    assert value(block, "copper_power") == pytest.approx(1.0368)
    assert (
        "main_to_auxiliary" not in block.values
        and "copper_power" not in made("induction-motor", **EXAMPLE, running_current="0.5 A").values
    )


def test_checks() -> None:
    """310 V at 230 V are 341 V at 253 V: too much for 330 V. 3100 rpm with two poles is misread, so is 1800."""
    assert "C1: sees" in said(made("induction-motor", **{**EXAMPLE, "capacitor": "C1 6u 330V"}), False)
    assert "check speed and poles" in said(made("induction-motor", **{**EXAMPLE, "speed": "3100 rpm"}), False)
    assert "slip" in said(made("induction-motor", **{**EXAMPLE, "speed": "1800 rpm"}), False)


def test_failures() -> None:
    """An open winding: the highest of three readings is gone; without its capacitor it hums. Common practice, no source."""
    block = made("induction-motor", **EXAMPLE)
    for part in ("L1", "L2"):
        assert "main_to_auxiliary" not in after(block, part, "open")
    assert after(block, "C1", "open")["capacitor_current"] == 0.0
    assert "hums" in failed(block, "C1", "open").remark
    assert after(block, "C1", "low")["capacitor_current"] == pytest.approx(310 * 2 * math.pi * 50 * 1.2e-6)


def test_a_winding_that_is_gone_reads_open() -> None:
    """What a meter finds between the two ends of a motor with a broken winding is no value at all, and that is the reading."""
    block = made("induction-motor", main="L1 32", auxiliary="L2 48")
    opened = failed(block, "L1", "open")
    assert "main_to_auxiliary" not in opened.values
    assert block.read_under(opened)["main_to_auxiliary"].value == math.inf


def turning(motor: str) -> Device:
    return built(
        f"blocks: {{inlet: {{kind: mains-inlet, load: 100 W}}, fan: {{kind: induction-motor, supply: inlet, {motor}}}}}"
    )


def test_it_turns_in_a_device() -> None:
    """Its stated current and the volts that are stated across its capacitor, not 230 V over a winding's ohms: 310 V over
    530.5 ohm are 0.58 A, and of 0.7 A at a power factor of 0.9 (common practice, no source) the main winding has the rest.
    Shaded poles take their stated 90 mA, 21 W by volts and amperes, less in watts."""
    motor = turning(
        "main: L1 32, auxiliary: L2 48, capacitor: C1 6u 450V, capacitor_voltage: 310 V, running_current: 0.7 A"
    )
    mains = motor.solved.mains
    assert float(mains.amperes("inlet.supply")[0] - mains.amperes("inlet.load")[0]) == pytest.approx(
        0.7, rel=0.1
    )
    place = motor.place("C1")
    assert place.ac and float(mains.volts(place.plus, place.minus)[0]) == pytest.approx(310, rel=0.01)
    shaded = turning("main: L1 420, running_current: 90 mA").solved.mains
    assert float(shaded.amperes("fan.main")[0]) == pytest.approx(0.09, rel=0.01)


def test_a_current_that_nobody_states_is_one_that_a_motor_takes() -> None:
    """An eighth of the volts in the winding's copper (common practice, no source): 230 V over 32 ohm would be 7 A."""
    amperes = float(turning("main: L1 32").solved.mains.amperes("fan.main")[0])
    assert 0.4 < amperes < 1.6


@pytest.mark.parametrize("amperes", [0.09, 0.25, 0.6])
def test_a_shaded_pole_takes_less_watts_than_volts_times_amperes(amperes: float) -> None:
    """Plates of shaded-pole motors: watts of 0.5 to 0.7 of volts times amperes (from memory), the current behind the volts. Of the
    impedance by phasors, |Z| = V/I and Re Z = |Z|·cos φ."""
    block = made("induction-motor", PLAIN, main="L1 42", running_current=f"{amperes} A")
    main, auxiliary = _turning(block.point)
    assert abs(main) == pytest.approx(230 / amperes, rel=1e-9) and auxiliary == 0
    assert 0.5 < main.real / abs(main) < 0.7 and main.imag > 0


def test_an_auxiliary_winding_with_its_capacitor_leads_by_a_quarter() -> None:
    """Volts across the auxiliary winding lead those of the mains by 90°, the capacitor has the rest (Kirchhoff): 310 V are
    √(230² + 207.9²). Both currents together are the stated one at a power factor of 0.85 to 0.95 (plates, from memory)."""
    block = made("induction-motor", PLAIN, **EXAMPLE, running_current="0.7 A")
    main, auxiliary = _turning(block.point)
    reactance = 1 / (2j * math.pi * 50 * 6e-6)
    through = 230 / (auxiliary + reactance)
    assert through * auxiliary / 1j == pytest.approx(math.sqrt(310**2 - 230**2), rel=1e-6)
    assert abs(through * reactance) == pytest.approx(310, rel=1e-6)
    whole = 230 / main + through
    assert (
        abs(whole) == pytest.approx(0.7, rel=1e-6)
        and 0.85 < whole.real / abs(whole) < 0.95
        and whole.imag < 0
    )


def test_windings_that_nobody_says_more_of_have_an_eighth_of_their_volts_in_copper() -> None:
    """Common practice, no source: 32 Ω of copper in some 270 Ω of winding, lagging as a shaded pole's."""
    main, auxiliary = _turning(made("induction-motor", PLAIN, main="L1 32", auxiliary="L2 48").point)
    for whole, copper in ((main, 32), (auxiliary, 48)):
        assert (
            copper / 0.15 < abs(whole) < copper / 0.1
            and 0.5 < whole.real / abs(whole) < 0.7
            and whole.imag > 0
        )
