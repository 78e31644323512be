"""What a note does not state has the spread that such parts come with; figures from data sheets and standards, by hand."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

from generator.circuit import catalogue
from generator.circuit.circuit import Mains, build_block
from generator.circuit.param import Quantity
from generator.circuit.param.base import _Text
from generator.circuit.report import assumptions
from generator.circuit.spread import SPREADS, Spread
from generator.notes.config import parse_config

sys.path.insert(0, str(Path(__file__).parent / "kinds"))
from bench import PLAIN, made, said  # noqa: E402

SUPPLY = {"secondary": "12 V", "smoothing": "C3 1000u 35V 0%", "bleeder": "R4 22k 0%"}


def band(kind: str, name: str, **given: Any) -> tuple[float, float]:
    result = made(kind, PLAIN, **given).values[name]
    return result.low, result.high


def test_every_entry_has_a_source() -> None:
    assert all(spread.source for spread in SPREADS.values())


def test_an_led_differs_by_a_tenth() -> None:
    """White, 3.0 V ±10 % behind 330 Ω at 5 V: 1.7/330 = 5.15 mA to 2.3/330 = 6.97 mA (Ohm's law)."""
    given = {"supply": "5 V", "resistor": "R1 330 0%", "forward": "LD1 white"}
    assert band("led-indicator", "current", **given) == pytest.approx((1.7 / 330, 2.3 / 330))
    exact = {**given, "forward": "LD1 white 0%"}
    assert band("led-indicator", "current", **exact) == pytest.approx((2 / 330, 2 / 330))
    stated = {**given, "forward": "LD1 3V 5%"}
    assert band("led-indicator", "current", **stated) == pytest.approx((1.85 / 330, 2.15 / 330))


def test_gain_threshold_and_saturation() -> None:
    """hfe −50/+200 %, of a minimum 0/+300 %; overdrive = hfe·Ib/Ic with everything else exact, by hand."""
    given = {
        "drive": "5 V",
        "base": "R1 10k 0%",
        "vbe": "0.7 V 0%",
        "vce_sat": "0.2 V 0%",
        "load": "400 ohm 0%",
        "load_supply": "12 V",
    }
    nominal = 100 * 0.43e-3 / (11.8 / 400)
    for text, below, above in (
        ("hfe100", 0.5, 3.0),
        ("hfe>=100", 1.0, 4.0),
        ("hfe100 0%", 1.0, 1.0),
        ("hfe50..200", 0.5, 2.0),
    ):
        found = band("transistor-switch", "overdrive", transistor=f"Q1 {text}", **given)
        assert found == pytest.approx((nominal * below, nominal * above)), text


def test_loads_and_the_regulator() -> None:
    """120 mA ±20 % through 10 Ω: 0.96 V to 1.44 V; a 5 V regulator gives 4.8 V to 5.2 V (±4 %)."""
    given = {"input": "10 V", "series": "R2 10 0%", "quiescent": "0 A", "load": "120 mA", "output": "5 V"}
    assert band("linear-regulator", "series_drop", **given) == pytest.approx((0.96, 1.44))
    assert band("linear-regulator", "output_voltage", **given) == pytest.approx((4.8, 5.2))
    assert band("linear-regulator", "series_drop", **{**given, "load": "120 mA 0%"}) == pytest.approx(
        (1.2, 1.2)
    )


def test_a_zener_and_a_reference() -> None:
    """5V1 ±5 %: 4.845 to 5.355 V. A 2.5 V reference ±2 % over 10k and 10k: 4.9 to 5.1 V."""
    zener = {"supply": "12 V", "series": "R2 220 0%", "zener": "ZD1 5V1", "load": "1 mA 0%"}
    assert band("zener-regulator", "output", **zener) == pytest.approx((4.845, 5.355))
    loop = {"reference": "2.5 V", "upper": "R1 10k 0%", "lower": "R2 10k 0%"}
    assert band("feedback-divider", "output", **loop) == pytest.approx((4.9, 5.1))


def test_a_heating_element() -> None:
    """2 kW at 230 V: 26.45 Ω; rated power +5/−10 % (IEC 60335-1, from memory): 25.19 to 29.39 Ω, so that 28.5 Ω is within."""
    low, high = band("heater", "resistance", power="2000 W", rated_voltage="230 V")
    assert (low, high) == pytest.approx((230**2 / 2100, 230**2 / 1800))
    assert low < 28.5 < high
    stated = band("heater", "resistance", power="2000 W +5/-10 %", rated_voltage="230 V")
    assert stated == pytest.approx((low, high))


def test_a_transformer_without_a_stated_regulation() -> None:
    """Nominal as rated; without load up to a quarter more: 12·√2·1.25 − 2·0.6 V = 20.0 V. The 16 V capacitor is judged by that."""
    block = made("transformer-supply", PLAIN, **SUPPLY)
    values = block.values
    assert values["no_load_peak"].value == pytest.approx(12 * 2**0.5 - 1.4)
    assert values["no_load_peak"].high == pytest.approx(12 * 2**0.5 * 1.25 - 1.2)
    assert [c.ok for c in block.checks if c.remark and "regulation is not stated" in c.what] == [True]
    assert "C3" in said(made("transformer-supply", PLAIN, **{**SUPPLY, "smoothing": "C3 1000u 16V"}), False)
    exact = made("transformer-supply", PLAIN, **SUPPLY, regulation="0 %", diode_drop="0.7 V 0%")
    assert exact.values["no_load_peak"].high == pytest.approx(12 * 2**0.5 - 1.4)
    assert "regulation" not in said(exact, True)


def test_a_battery_lies_between_empty_and_full() -> None:
    """Three li-ion cells: 3·3.0 V to 3·4.2 V about 3·3.7 V (cell data sheets, from memory)."""
    block = made("battery-pack", cells="3", chemistry="li-ion", capacity="2.5 Ah 0%", load="500 mA 0%")
    nominal = block.values["nominal"]
    assert nominal.value == pytest.approx(11.1) and (nominal.low, nominal.high) == pytest.approx((9.0, 12.6))
    assert block.values["energy"].low == block.values["energy"].high == pytest.approx(27.75)


def test_a_diac_and_a_motor_and_a_coupler() -> None:
    """Diac 28 to 36 V; running current ±30 %; CTR −50/+100 % (data sheets, from memory)."""
    motor = made("dc-motor", PLAIN, supply="12 V", winding="6 ohm", running_current="500 mA")
    assert (motor.values["running_power"].low, motor.values["running_power"].high) == pytest.approx(
        (4.2, 7.8)
    )
    coupler = {
        "input_supply": "12 V",
        "input_resistor": "R1 1k 0%",
        "forward": "1.2 V 0%",
        "ctr": "100 %",
        "output_supply": "5 V",
        "pull_up": "R2 4k7",
    }
    assert band("optocoupler", "available_current", **coupler) == pytest.approx((5.4e-3, 21.6e-3))


def test_the_page_says_which_spread_it_took() -> None:
    block = made(
        "transistor-switch",
        drive="5 V",
        base="R1 2k2",
        transistor="Q1 hfe100",
        load="400 ohm",
        load_supply="12 V",
    )
    text = assumptions(block)
    for part in ("hfe −50 to +200 %", "vbe ±0.1 V", "vce sat 0.0200 to 0.300 V", "load ±20 %"):
        assert part in text
    exact = made("led-indicator", supply="5 V", resistor="R1 330", forward="2 V 0%")
    assert "No tolerance" not in assumptions(exact)


def test_an_uneven_mains_band() -> None:
    """230 V +10/−6 % as in a library.yaml: 216.2 to 253 V."""
    config, problems = parse_config("name: x\nmains: {band: +10/-6 %}\n")
    assert problems == [] and (config.mains.band, config.mains.below) == (0.10, 0.06)
    block, _troubles = build_block("mains-inlet", {"load": "100 W 0%", "fuse": "F1 2A"}, config.mains)
    assert block is not None
    current = block.values["current"]
    assert (current.low, current.high) == pytest.approx((100 / 253, 100 / 216.2))
    assert Mains(band=0.1).below == 0.1


@pytest.mark.parametrize("text", ["-6 %", "+60/-6 %", "nan %", "10", "wide"])
def test_what_is_no_mains_band(text: str) -> None:
    _config, problems = parse_config(f"name: x\nmains: {{band: '{text}'}}\n")
    assert len(problems) == 1


def test_a_lithium_voltage_without_a_chemistry_is_remarked_on() -> None:
    """3.7 V is one lithium cell, 1.2 V none (cell data sheets, from memory)."""
    given = {"supply": "6 V", "resistor": "R1 22"}
    assert "lithium" in said(made("charge-resistor", battery="3.7 V", **given), True)
    assert "lithium" not in said(made("charge-resistor", battery="1.2 V", **given), True)


def test_a_supply_with_a_load_and_no_bleeder_is_no_failure() -> None:
    loaded = {"secondary": "12 V", "smoothing": "C3 1000u 35V", "regulation": "10 %"}
    assert "bleeder" in said(made("transformer-supply", **loaded, load="100 mA"), True)
    assert "bleeder" in said(made("transformer-supply", **loaded), False)


@pytest.mark.parametrize(("kind", "given", "value", "low", "high"), [
    # data sheets of triacs, from memory: 0.9 V at light load to 1.6 V; heat = Von·I·2√2/π, I = 1000/230 A at exact mains and load
    ("triac-switch", {"load": "1 kW 0%", "triac": "TR1 8A", "supply": "230 V"}, "triac_power", 0.9 * 3.9144, 1.6 * 3.9144),
    # Hall switches, from memory: at most 0.4 V; (5 V − low)/10 kΩ
    ("pulse-sensor", {"supply": "5 V", "pull_up": "R1 10k 0%"}, "sink_current", 0.46e-3, 0.495e-3),
    # 2000 W for 4186 J/(kg·K)·1 kg·80 K = 334.88 kJ, of which 81 to 99 % arrive
    ("heater", {"power": "2 kW 0%", "rated_voltage": "230 V", "supply": "230 V", "water": "1 l", "from": "20 C", "to": "100 C"},
     "heat_time", 334880 / 2000 / 0.99, 334880 / 2000 / 0.81),
    # a pair of brushes, 1 to 3 V, from memory; 230 V − 1 A·20 Ω − brushes on direct current
    ("universal-motor", {"supply": "230 V", "fields": ["L1 5 0%", "L2 5 0%"], "armature": "10 0%", "running_current": "1 A 0%"},
     "back_emf", 207.0, 209.0),
    # overcurrent detection 0.15 V ±20 % over 50 mΩ
    ("lithium-charger", {"input": "5 V", "battery": "3.7 V", "fet_resistance": "50 mohm"}, "trip_current", 2.4, 3.6),
    # photoresistors ±33 % from memory: 10 lux stands at R10, so that 5 V·R/(R + 10 kΩ)
    ("light-divider", {"supply": "5 V", "fixed": "R1 10k 0%", "sensor": "LDR1 10k gamma0.7", "cut_points": {"dusk": {"illuminance": "10 lux"}}},
     "dusk.output", 5 * 6.7 / 16.7, 5 * 13.3 / 23.3),
])  # fmt: skip
def test_a_default_is_never_exact(
    kind: str, given: dict[str, Any], value: str, low: float, high: float
) -> None:
    """By hand from the spread beside each; what a note states in its place is taken as it stands."""
    assert band(kind, value, **given) == pytest.approx((low, high), rel=1e-3)


EXACT_BY_NATURE = {
    # what an ideal part does not have; a figure that only a check asks; what is one by definition; where a time is counted to
    "0", "0 V", "0 A", "0 H", "0 ohm", "0 rpm", "1", "1 V", "25 C",
    # limits of what a part needs or an input is guaranteed to read, which a check holds against
    "2 V", "0.3 V", "0.3", "0.7", "4186",
}  # fmt: skip


@pytest.mark.parametrize("kind", catalogue.names())
def test_every_default_has_a_spread_or_a_reason(kind: str) -> None:
    """Nothing that a note does not state is exact."""
    for own in catalogue.kind(kind).params:
        if isinstance(own, Quantity) and not own.spread and type(own.default) is _Text:
            assert own.default.words() in EXACT_BY_NATURE, f"{kind} {own.name}: {own.default.words()}"


@pytest.mark.parametrize(
    ("spread", "value", "low", "high"),
    [
        (Spread(0.1, 0.3), 10.0, 9.0, 13.0),
        (Spread(0.1, 0.3, most=12.0), 10.0, 9.0, 12.0),
        (Spread(0.1, 0.3, absolute=True), 10.0, 9.9, 10.3),
        (Spread(9.0, 13.0, fixed=True), 10.0, 9.0, 13.0),
        (Spread(9.0, 13.0, fixed=True), 20.0, 16.0, 24.0),  # stated outside of what the table means: ±20 %
    ],
)
def test_the_ends_of_a_spread_by_hand(spread: Spread, value: float, low: float, high: float) -> None:
    assert spread.ends(value) == (pytest.approx(low), pytest.approx(high))
