"""LED indicator, held against a worked example, the Shockley equation and circuit theory."""

from __future__ import annotations

import math

import pytest
from bench import after, failed, made, said, told, value
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

EXAMPLE = {"supply": "5 V", "resistor": "R14 560 0.125W", "forward": "LD1 red"}
THERMAL = 0.02585  # V at 300 K, kT/q


def shockley(
    *, supply: float, resistor: float, count: int, forward: float, at: float = 0.01, ideality: float = 2.0
) -> float:
    """Current through a resistor and real diodes in series, each with `forward` volts across it at `at` amperes."""
    saturation = at / math.expm1(forward / (ideality * THERMAL))
    return float(
        brentq(
            lambda i: supply - i * resistor - count * ideality * THERMAL * math.log1p(i / saturation),
            0.0,
            supply / resistor,
        )
    )


def test_the_resistor_for_a_red_led_on_nine_volts() -> None:
    """(9 V − 1.8 V)/1440 Ω = 5 mA. Source: the usual handbook example of an LED with a series resistor, from memory."""
    block = made("led-indicator", supply="9 V", forward="red", resistor="1440")
    assert value(block, "current") == pytest.approx(5e-3)
    assert value(block, "resistor_power") == pytest.approx(36e-3)  # 7.2 V · 5 mA
    assert value(block, "led_power") == pytest.approx(9e-3)


@pytest.mark.parametrize(
    "supply, resistor, count, forward", [(5.0, 330.0, 1, 1.8), (12.0, 560.0, 3, 2.1), (24.0, 2200.0, 1, 3.0)]
)
def test_constant_forward_voltage_is_near_the_real_diode(
    supply: float, resistor: float, count: int, forward: float
) -> None:
    """Within 2 % of a diode that follows Shockley's equation near its rated current. Source: scipy's root finder."""
    block = made(
        "led-indicator",
        supply=f"{supply} V",
        resistor=f"{resistor}",
        count=str(count),
        forward=f"{forward} V",
    )
    real = shockley(supply=supply, resistor=resistor, count=count, forward=forward)
    assert value(block, "current") == pytest.approx(real, rel=0.02)


@pytest.mark.parametrize(
    "colour, volts", [("red", 1.8), ("amber", 2.0), ("green", 2.1), ("blue", 3.0), ("white", 3.0)]
)
def test_colours_stand_for_their_forward_voltage(colour: str, volts: float) -> None:
    """The library's table, which the page shows; typical values from memory."""
    by_colour = made("led-indicator", supply="12 V", resistor="1k", forward=f"LD1 {colour} 5mm")
    by_volts = made("led-indicator", supply="12 V", resistor="1k", forward=f"{volts} V")
    assert value(by_colour, "current") == value(by_volts, "current") == pytest.approx((12 - volts) / 1000)


def test_a_stated_voltage_wins_over_the_colour() -> None:
    """By hand: (12 V − 2.2 V)/1 kΩ."""
    assert value(
        made("led-indicator", supply="12 V", resistor="1k", forward="LD1 red 2V2"), "current"
    ) == pytest.approx(9.8e-3)


def test_without_a_forward_voltage_it_is_red() -> None:
    """By hand: (5 V − 1.8 V)/320 Ω; 1.8 V of a red one from memory."""
    assert value(made("led-indicator", supply="5 V", resistor="320"), "current") == pytest.approx(10e-3)


def test_band_comes_from_the_resistor_alone() -> None:
    """5 % either way, by hand: 3.2 V over 532 Ω and 588 Ω."""
    result = made("led-indicator", **{**EXAMPLE, "forward": "LD1 red 0%"}).values["current"]
    assert (result.low, result.high) == pytest.approx((3.2 / 588, 3.2 / 532))


def test_failures_by_kirchhoff() -> None:
    """Open parts carry nothing; a resistor at twice its value halves the current; a shorted LED leaves Ohm's law."""
    block = made("led-indicator", **EXAMPLE)
    assert after(block, "R14", "open") == {"current": 0.0}
    assert after(block, "LD1", "open") == {"current": 0.0}
    assert after(block, "R14", "high")["current"] == pytest.approx(3.2 / 1120)
    assert after(block, "LD1", "short")["current"] == pytest.approx(5 / 560)
    assert "dark" in failed(block, "LD1", "short").remark


def test_one_of_several_shorted() -> None:
    """By hand: three of four are left, (12 V − 3·2 V)/470 Ω."""
    block = made("led-indicator", supply="12 V", resistor="R2 470", forward="2 V", count="4")
    assert after(block, "LED", "short")["current"] == pytest.approx((12 - 3 * 2) / 470)
    assert "brighter" in failed(block, "LED", "short").remark


@settings(deadline=None)
@given(st.floats(0.5, 40), st.floats(10, 1e5), st.integers(1, 8))
def test_energy_is_conserved(supply: float, resistor: float, count: int) -> None:
    """What the supply gives is what resistor and LEDs take. Source: conservation of energy."""
    block = made(
        "led-indicator", supply=f"{supply!r} V", resistor=f"{resistor!r}", forward="2 V", count=str(count)
    )
    taken = value(block, "resistor_power") + count * value(block, "led_power")
    assert taken == pytest.approx(supply * value(block, "current"), abs=1e-12)


def test_below_its_forward_voltage_it_stays_dark() -> None:
    block = made("led-indicator", supply="5 V", resistor="100", forward="white", count="2")
    assert value(block, "current") == 0.0
    assert "does not light: it needs 6.00 V" in said(block, ok=False)


def test_checks_take_the_bad_end() -> None:
    """20 mA is passed at the nominal value, not with the resistor 5 % low."""
    block = made("led-indicator", supply="5 V", resistor="R1 165 0.0625W", forward="1.8 V")
    assert value(block, "current") < 0.02 < block.values["current"].high
    assert "usual limit 20 mA" in said(block, ok=False)
    assert "R1" in said(block, ok=False)  # 65 mW in a sixteenth of a watt
    assert (
        said(made("led-indicator", supply="5 V", resistor="R1 165", forward="LD1 white 350mA"), ok=False)
        == ""
    )


@pytest.mark.parametrize("parameter, text", [
    ("supply", "0 V"), ("supply", "-5 V"), ("supply", "nan"), ("supply", "1e400 V"), ("supply", "5 A"), ("resistor", "0"),
    ("resistor", "5 V"), ("forward", "mauve"), ("forward", "20 mA"), ("count", "0"), ("count", "1.5"), ("count", "-1"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert f"led-indicator {parameter}" in told("led-indicator", **{**EXAMPLE, parameter: text})


def test_an_unknown_colour_is_told_the_known_ones() -> None:
    assert "red, amber" in told("led-indicator", **{**EXAMPLE, "forward": "LD1 mauve"})


def test_missing_and_unknown_parameters() -> None:
    assert "led-indicator needs supply" in told("led-indicator", **{**EXAMPLE, "supply": ""})
    assert "did you mean forward" in told("led-indicator", **EXAMPLE, foward="red")
