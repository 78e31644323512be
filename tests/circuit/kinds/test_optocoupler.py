"""Optocoupler, held against data-sheet figures and nodal analysis with a controlled source."""

from __future__ import annotations

import math
from typing import Any

import pytest
from bench import after, made, names_it, told, value
from nodal import Network

from generator.circuit.block import Block

EXAMPLE = {
    "input_supply": "12 V",
    "input_resistor": "R12 2k2",
    "ctr": "80 %",
    "output_supply": "5 V",
    "pull_up": "R8 4k7",
}
SOUND = {"supply": 12.0, "resistor": 2200.0, "forward": 1.2, "ctr": 0.8, "output": 5.0, "pull_up": 4700.0}


def coupler(**changes: Any) -> Block:
    return made("optocoupler", **{**EXAMPLE, **changes})


def outside(*, supply: float, resistor: float, forward: float, ctr: float, output: float, pull_up: float,
            transistor: str = "", led: str = "") -> dict[str, float]:  # fmt: skip
    """LED: a voltage source, left out below its voltage. Transistor: a current source, or 0.2 V where that would go lower."""
    net = Network().voltage("in", "in", "0", supply).resistor("in", "anode", resistor)
    current = 0.0
    if led != "open":
        net.voltage("led", "anode", "0", forward if led != "short" else 0.0)
        current = max(0.0, -net.solve()[1]["led"])
    asked = 0.0 if led or transistor == "open" else ctr * current
    side = Network().voltage("out", "rail", "0", output).resistor("rail", "collector", pull_up)
    if transistor == "short":
        return {
            "led": current,
            "collector": side.voltage("q", "collector", "0", 0.0).solve()[0]["collector"],
            "asked": asked,
        }
    if math.isinf(pull_up):
        return {"led": current, "collector": 0.0, "asked": asked}  # nothing lifts it
    volts = side.current("collector", "0", asked).solve()[0]["collector"]
    return {"led": current, "collector": max(0.2, volts), "asked": asked}


def test_defaults_are_those_of_a_common_coupler() -> None:
    """Forward 1.2 V typical at 20 mA, saturation 0.2 V at most. Source: PC817 data sheet, from memory."""
    from generator.circuit.catalogue import kind

    params = {p.name: p.default.words() for p in kind("optocoupler").params}
    assert params["forward"] == "1.2 V" and params["saturation"] == "0.2 V"


def test_current_at_the_data_sheet_condition() -> None:
    """A ratio of 50 % at 5 mA gives 2.5 mA, enough for 2.2 k at 5 V (2.18 mA). Source: PC817 data sheet, lowest rank (CTR 50 %
    at IF 5 mA), from memory; currents by hand with Ohm's law."""
    block = coupler(input_supply="6.2 V", input_resistor="1k 0%", ctr="50 %", pull_up="2k2 0%")
    assert value(block, "led_current") == pytest.approx(5e-3)
    assert value(block, "available_current") == pytest.approx(2.5e-3)
    assert value(block, "needed_current") == pytest.approx(4.8 / 2200)
    assert value(block, "saturation_margin") == pytest.approx(2.5e-3 / (4.8 / 2200))


@pytest.mark.parametrize("ctr", [0.05, 0.2, 0.8])
@pytest.mark.parametrize("supply", [12.0, 5.0, 1.0])
def test_both_regimes_against_nodal_analysis(ctr: float, supply: float) -> None:
    block = coupler(ctr=f"{ctr}", input_supply=f"{supply} V")
    found = outside(**{**SOUND, "ctr": ctr, "supply": supply})
    assert value(block, "led_current") == pytest.approx(found["led"], abs=1e-8)
    assert value(block, "output") == pytest.approx(found["collector"], rel=1e-4)
    saturated = found["collector"] == 0.2
    assert (value(block, "saturation_margin") >= 1) == saturated


def test_every_failure_against_nodal_analysis() -> None:
    faults: dict[tuple[str, str], dict[str, Any]] = {
        ("R12", "open"): {"resistor": math.inf, "led": "open"}, ("R12", "high"): {"resistor": 4400.0},
        ("R8", "open"): {"pull_up": math.inf}, ("R8", "high"): {"pull_up": 9400.0},
        ("coupler LED", "open"): {"led": "open"}, ("coupler LED", "short"): {"led": "short"},
        ("coupler transistor", "open"): {"transistor": "open"}, ("coupler transistor", "short"): {"transistor": "short"},
    }  # fmt: skip
    for ctr in (0.8, 0.1):
        seen = set()
        for failure in coupler(ctr=f"{ctr}").failures:
            found = outside(**{**SOUND, "ctr": ctr, **faults[failure.part, failure.failed]})
            assert failure.values["led_current"].value == pytest.approx(found["led"], abs=1e-8), failure.part
            assert failure.values["output"].value == pytest.approx(found["collector"], rel=1e-4, abs=1e-6), (
                failure.part
            )
            if failure.failed != "short" or failure.part != "coupler transistor":
                assert failure.values["available_current"].value == pytest.approx(found["asked"], abs=1e-8)
            seen.add((failure.part, failure.failed))
        assert seen == faults.keys()


def test_margin_is_judged_at_the_bad_end() -> None:
    """Just enough at nominal values is not enough at the ends of 5 % resistors; the page says what the output does."""
    block = coupler(ctr="21.5 %")
    assert value(block, "saturation_margin") > 1 > block.values["saturation_margin"].low
    check = next(c for c in block.checks if c.part == "optocoupler")
    assert not check.ok and "does not pull down" in check.what


def test_dark_led_is_told() -> None:
    block = coupler(input_supply="1 V")
    assert value(block, "led_current") == 0.0 and value(block, "output") == 5.0
    assert any(not c.ok and "dark" in c.what for c in block.checks)


@pytest.mark.parametrize("parameter, text", [
    ("input_supply", "0 V"), ("input_supply", "-1 V"), ("input_supply", "nan"), ("output_supply", "1e400"), ("ctr", "80"),
    ("ctr", "0 %"), ("ctr", "80 V"), ("pull_up", "0"), ("forward", "2 A"), ("saturation", "-1 V"), ("pullup", "1k"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert names_it("optocoupler", parameter, **{**EXAMPLE, parameter: text})


def test_missing_ratio_is_named() -> None:
    assert "optocoupler ctr: is not stated" in told("optocoupler", **{**EXAMPLE, "ctr": ""})


def test_resistor_across_the_led_against_nodal_analysis() -> None:
    """12 V behind 2.2 kΩ, 1 kΩ beside an LED of 1.2 V; the ratio stated with the part: 100 % as ctr100. Source: nodal analysis."""
    net = (
        Network()
        .voltage("in", "in", "0", 12.0)
        .resistor("in", "a", 2200.0)
        .resistor("a", "0", 1000.0)
        .voltage("led", "a", "0", 1.2)
    )
    _, amperes = net.solve()
    given = {"input_supply": "12 V", "input_resistor": "2k2", "output_supply": "5 V", "pull_up": "4k7"}
    block = made("optocoupler", **given, optocoupler="U3 ctr100", across_led="R9 1k", capacitor="C1 10n")
    assert value(block, "led_current") == pytest.approx(-amperes["led"], rel=1e-6)
    assert value(block, "available_current") == pytest.approx(value(block, "led_current"))
    assert value(block, "release_time_constant") == pytest.approx(4700 * 10e-9)
    assert after(block, "C1", "short")["output"] == 0.0
    dark = made("optocoupler", **given, ctr="1", across_led="R9 200")  # the divider leaves 1.0 V: by hand
    assert value(dark, "led_current") == 0.0


def test_the_ratio_is_asked_for() -> None:
    assert "ctr" in told(
        "optocoupler", input_supply="12 V", input_resistor="2k2", output_supply="5 V", pull_up="4k7"
    )
