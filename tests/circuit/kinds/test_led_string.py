"""LED string, held against nodal analysis, a textbook exercise and hand calculation."""

from __future__ import annotations

import pytest
from bench import after, made, said, told, value
from nodal import Network

from generator.drawing.sheet import Sheet

EXAMPLE = {
    "leds": "LD1-LD9 3V 60mA 0%",
    "count": "3",
    "supply": "12 V",
    "resistor": "R1 68 0.25W",
    "strings": "3",
}
DRIVEN = {
    "leds": "LD1-LD12 3V 150mA 0%",
    "count": "12",
    "current": "120 mA",
    "driver_min": "25 V",
    "driver_max": "45 V",
}


def test_textbook_exercise() -> None:
    """Three white LEDs of 3 V on 12 V behind 68 Ω: 44.1 mA, 132 mW each, 132 mW in the resistor. A usual exercise, by hand."""
    block = made("led-string", **EXAMPLE)
    assert value(block, "string_voltage") == 9.0 and value(block, "headroom") == 3.0
    assert value(block, "string_current") == pytest.approx(0.044118, abs=1e-6)
    assert value(block, "led_power") == pytest.approx(0.13235, abs=1e-5)
    assert value(block, "resistor_power") == pytest.approx(0.13235, abs=1e-5)


def test_on_a_driver() -> None:
    """120 mA into one string of 36 V, or 60 mA into each of two. Kirchhoff's current law."""
    assert value(made("led-string", **DRIVEN), "string_current") == pytest.approx(0.12)
    assert value(made("led-string", **DRIVEN), "headroom") == pytest.approx(9.0)
    assert value(made("led-string", **DRIVEN, strings="2"), "string_current") == pytest.approx(0.06)


def test_shorted_led_among_strings_against_nodal_analysis() -> None:
    """A driver's 200 mA into three strings of 10 · 3 V behind 33 Ω each, one LED shorted. Source: modified nodal analysis."""
    net = Network().current("0", "top", 0.2)
    for name, volts in (("a", 27.0), ("b", 30.0), ("c", 30.0)):
        net.resistor("top", name, 33.0).voltage(name, name, "0", volts)
    _, amperes = net.solve()
    given = {
        "leds": "LD1-LD30 3V 0%",
        "count": "10",
        "current": "200 mA",
        "strings": "3",
        "resistor": "R1 33",
    }
    shorted = after(made("led-string", **given), "LD1-LD30", "short")
    assert shorted["string_current"] == pytest.approx(-amperes["a"], rel=1e-6)
    assert shorted["string_voltage"] == pytest.approx(27.0)


def test_does_not_light() -> None:
    """5 · 3 V on 12 V; 12 · 3 V on a driver that ends at 30 V: no current, and all that there is stands across the string."""
    block = made("led-string", **{**EXAMPLE, "count": "5"})
    assert value(block, "string_current") == 0.0 and value(block, "string_voltage") == 12.0
    assert "to light" in said(block, False)
    block = made("led-string", **{**DRIVEN, "driver_max": "30 V"})
    assert value(block, "string_current") == 0.0 and value(block, "string_voltage") == 30.0
    assert "to light" in said(block, False)


def test_below_the_drivers_range() -> None:
    """7 · 3 V = 21 V, below the 25 V from which the driver regulates: lamps flash, common practice, no source."""
    assert "driver needs" in said(made("led-string", **{**DRIVEN, "count": "7"}), False)


def test_failures() -> None:
    """One open: dark, the whole supply across it; one short: (12 − 6)/68 = 88.2 mA. By hand."""
    block = made("led-string", **EXAMPLE)
    assert after(block, "LD1-LD9", "open") == {"string_current": 0.0, "string_voltage": 12.0}
    assert after(block, "LD1-LD9", "short")["string_current"] == pytest.approx(6 / 68)
    assert after(block, "R1", "open")["string_current"] == 0.0
    alone = made("led-string", **DRIVEN)
    assert after(alone, "LD1-LD12", "open")["string_voltage"] == 45.0
    assert after(alone, "LD1-LD12", "short")["string_voltage"] == 33.0


def test_what_feeds_it_is_asked_for() -> None:
    assert "resistor" in told("led-string", leds="white", count="3", supply="12 V")
    assert "current" in told(
        "led-string", leds="white", count="3", supply="12 V", resistor="100", current="20 mA"
    )


@pytest.mark.parametrize(("strings", "columns"), [("1", 1), ("2", 2), ("3", 2)])
def test_one_string_is_drawn_once(strings: str, columns: int) -> None:
    """Of several strings two are drawn, the second for all the others; it says how many there are."""
    block, sheet = made("led-string", **{**EXAMPLE, "strings": strings}), Sheet()
    block.kind.draw(block, sheet)
    assert len({own.column for own in sheet.verticals}) == columns
    told = [line.text for own in sheet.verticals for line in own.lines]
    assert any(f"{strings} strings" in text for text in told) == (columns == 2)
