"""Sense resistor, held against shunt and controller data and Ohm's law."""

from __future__ import annotations

from typing import Any

import pytest
from bench import made, names_it, told, value
from nodal import Network

from generator.circuit.block import Block

EXAMPLE = {"shunt": "R20 0R1 1W 1%", "gain": "20", "limit": "4 V", "load": "1.2 A"}


def sense(**changes: Any) -> Block:
    return made("sense-resistor", **{**EXAMPLE, **changes})


def test_shunt_of_a_panel_meter() -> None:
    """A 10 A shunt of 75 mV has 7.5 mΩ and turns 0.75 W into heat. Common practice (meter shunts of 75 mV)."""
    block = sense(shunt="R1 0.0075 1%", gain="", limit="75 mV", load="10 A")
    assert value(block, "drop") == pytest.approx(0.075)
    assert value(block, "limit_current") == pytest.approx(10.0)
    assert value(block, "shunt_power") == pytest.approx(0.75)


def test_current_limit_of_a_current_mode_controller() -> None:
    """The sense input trips at 1 V: 0.5 ohm limits at 2 A. Source: UC3842 data sheet, Is(max) ≈ 1.0 V/Rs; from memory."""
    assert value(sense(shunt="R1 0R5", gain="", limit="1 V", load=""), "limit_current") == pytest.approx(2.0)


@pytest.mark.parametrize("failed, ohm", [("", 0.1), ("high", 0.2)])
def test_drop_against_nodal_analysis(failed: str, ohm: float) -> None:
    """A current source through the shunt, an ideal amplifier behind it."""
    volts, _ = Network().current("0", "top", 1.2).resistor("top", "0", ohm).solve()
    block = sense()
    values = next(f for f in block.failures if f.failed == failed).values if failed else block.values
    assert values["drop"].value == pytest.approx(volts["top"])
    assert values["amplified"].value == pytest.approx(20 * volts["top"])


def test_an_open_shunt_stops_the_current() -> None:
    """The drop is then the load's whole supply, which the block does not know: no value, but words."""
    failure = next(f for f in sense().failures if f.failed == "open")
    assert "drop" not in failure.values and "no current flows" in failure.remark
    assert failure.values["limit_current"].value == 0.0


def test_a_shunt_gone_high_trips_early() -> None:
    """Twice the resistance reaches the limit at half the current. Ohm's law."""
    block = sense()
    high = next(f for f in block.failures if f.failed == "high")
    assert (
        high.values["limit_current"].value
        == pytest.approx(4 / 20 / 0.2)
        == pytest.approx(value(block, "limit_current") / 2)
    )


def test_checks_take_the_bad_end() -> None:
    """4 V/(20·0.101 ohm) = 1.980 A is the least that trips; 1.99 A running is above it, though 2 A nominal is not."""
    check = next(c for c in sense(load="1.99 A 0%").checks if c.part == "limit")
    assert not check.ok and check.margin == pytest.approx(1 - 1.99 / (4 / 2.02))
    heat = next(c for c in sense(shunt="R20 0R1 0.402W 1%").checks if c.part == "R20")
    assert not heat.ok  # (4/20)²/0.099 = 0.404 W


def test_a_shunt_alone_says_what_is_missing() -> None:
    """Both may be left out, but not in silence."""
    block = sense(gain="", limit="", load="")
    assert block.values == {}
    assert any("neither limit nor load" in c.what and c.remark for c in block.checks)
    assert not any("neither" in c.what for c in [*sense(limit="").checks, *sense(load="").checks])


def test_what_is_not_stated_is_absent() -> None:
    assert set(sense(limit="").values) == {"drop", "amplified"}
    assert set(sense(load="").values) == {"limit_current", "shunt_power"}


@pytest.mark.parametrize("parameter, text", [
    ("shunt", "0"), ("shunt", "-1"), ("shunt", "1 V"), ("gain", "0"), ("gain", "nan"), ("limit", "1e400"), ("limit", "2 A"),
    ("load", "240 ohm"), ("load", "-1 A"), ("shnt", "1"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert names_it("sense-resistor", parameter, **{**EXAMPLE, parameter: text})


def test_missing_shunt_is_named() -> None:
    assert "sense-resistor needs shunt" in told("sense-resistor", **{"gain": "2"})
