"""Zener regulator, held against a handbook design and nodal analysis."""

from __future__ import annotations

import math
from typing import Any

import pytest
from bench import made, names_it, told, value
from nodal import Network
from scipy.optimize import minimize_scalar

from generator.circuit.block import Block
from generator.circuit.device.results import nets
from tests.circuit.device.examples import built

EXAMPLE = {"supply": "12 V", "series": "R2 220 0.5W", "zener": "ZD1 5V1 400mW", "load": "12 mA"}


def regulator(**changes: Any) -> Block:
    return made("zener-regulator", **{**EXAMPLE, **changes})


def outside(
    *, supply: float, series: float, zener: float, load: float, load_is: str, fault: str = ""
) -> dict[str, float]:
    """The circuit by nodal analysis: the zener is left out, and put in as a voltage source where it would conduct."""
    if math.isinf(series):
        return {"output": 0.0, "series": 0.0, "zener": 0.0}

    def network(conducts: bool, at: float, drawn: float) -> dict[str, float]:
        net = Network().voltage("supply", "in", "0", supply).resistor("in", "out", series)
        if load_is == "ohm":
            net.resistor("out", "0", load)
        else:
            net.current("out", "0", drawn)
        if conducts:
            net.voltage("zener", "out", "0", at)
        volts, amperes = net.solve()
        return {"output": volts["out"], "series": amperes["supply"], "zener": -amperes.get("zener", 0.0)}

    if fault == "short":
        return network(True, 0.0, 0.0)
    free = network(False, 0.0, load)
    if free["output"] < 0:  # the load cannot draw what the resistor does not let through
        return {"output": 0.0, "series": supply / series, "zener": 0.0}
    if fault == "open" or free["output"] <= zener:
        return free
    return network(True, zener, load)


def test_handbook_design_of_a_ten_volt_regulator() -> None:
    """10 V from 20 to 25 V for 0 to 100 mA with at least 10 mA in the zener: 91 ohm, and a zener of more than 1.6 W.

    Source: Horowitz and Hill, The Art of Electronics, chapter on zener regulators, the design exercise; from memory. With
    91 ohm in place of 90.9 the least zener current is 9.9 mA, and the most heat (25 − 10)/91·10 = 1.648 W.
    """
    block = regulator(supply="20..25 V", series="R1 91 0% 5W", zener="ZD1 10V 2W 0%", load="100 mA 0%")
    assert block.values["zener_current"].low == pytest.approx(10 / 91 - 0.1)
    assert block.values["zener_power_no_load"].high == pytest.approx(1.648, abs=5e-4)
    assert all(check.ok for check in block.checks)
    assert not all(
        check.ok
        for check in regulator(
            supply="20..25 V", series="R1 91 0% 5W", zener="ZD1 10V 1W", load="100 mA"
        ).checks
    )


@pytest.mark.parametrize("supply", [15.0, 8.0, 6.0, 3.0, 1.5])
@pytest.mark.parametrize("load, load_is", [("5 mA", "A"), ("20 mA", "A"), ("R3 150", "ohm"), ("0", "A")])
def test_both_regimes_against_nodal_analysis(supply: float, load: str, load_is: str) -> None:
    block = regulator(supply=f"{supply} V", load=load)
    number = {"5 mA": 0.005, "20 mA": 0.02, "R3 150": 150.0, "0": 0.0}[load]
    found = outside(supply=supply, series=220.0, zener=5.1, load=number, load_is=load_is)
    assert value(block, "output") == pytest.approx(found["output"], abs=1e-5)
    assert value(block, "series_current") == pytest.approx(found["series"], abs=1e-7)
    assert value(block, "zener_current") == pytest.approx(found["zener"], abs=1e-7)
    assert value(block, "series_power") == pytest.approx(
        (supply - found["output"]) * found["series"], abs=1e-6
    )
    assert value(block, "zener_power") == pytest.approx(found["output"] * found["zener"], abs=1e-6)
    assert block.checks[0].ok == (block.values["zener_current"].low > 0)


@pytest.mark.parametrize("load, number, load_is", [("12 mA", 0.012, "A"), ("R3 470", 470.0, "ohm")])
def test_every_failure_against_nodal_analysis(load: str, number: float, load_is: str) -> None:
    faults = {("R2", "open"): {"series": math.inf}, ("R2", "high"): {"series": 440.0}, ("ZD1", "open"): {"fault": "open"},
              ("ZD1", "short"): {"fault": "short"}}  # fmt: skip
    if load_is == "ohm":  # a load with a designator is a part of this circuit
        faults |= {("R3", "open"): {"load": 0.0, "load_is": "A"}, ("R3", "high"): {"load": 2 * number}}
    seen = set()
    for failure in regulator(load=load).failures:
        fault = faults[failure.part, failure.failed]
        found = outside(
            **{"supply": 12.0, "series": 220.0, "zener": 5.1, "load": number, "load_is": load_is, **fault}
        )
        for name, key in (("output", "output"), ("series_current", "series"), ("zener_current", "zener")):
            assert failure.values[name].value == pytest.approx(found[key], abs=1e-5), (
                failure.part,
                failure.failed,
                name,
            )
        seen.add((failure.part, failure.failed))
    assert seen == faults.keys()


def test_open_zener_is_the_dangerous_one() -> None:
    assert [(f.part, f.failed) for f in regulator().failures if f.dangerous] == [("ZD1", "open")]


def test_zener_that_stops_conducting_inside_the_band() -> None:
    """Between a resistor's two ends the zener lets go; the resistor's heat is least just there. Source: scipy on Ohm's law."""
    block = regulator(load="31 mA 0%", zener="ZD1 5V1 400mW 0%")

    def heat(series: float) -> float:
        output = min(5.1, 12 - 0.031 * series)
        return (12 - output) ** 2 / series

    least = minimize_scalar(heat, bounds=(209, 231), options={"xatol": 1e-7})
    result = block.values["series_power"]
    assert result.low == pytest.approx(least.fun, rel=1e-5)
    assert result.high == pytest.approx(max(heat(209), heat(231)), rel=1e-9)
    assert block.values["output"].low == pytest.approx(12 - 0.031 * 231)
    assert block.values["zener_current"].low == 0.0


def test_heat_of_a_toleranced_zener_peaks_at_half_the_supply() -> None:
    """z·(V − z)/R is largest at z = V/2 = 6 V, inside 5.7 to 6.9 V. Source: calculus."""
    block = regulator(zener="ZD1 6V3 10% 1W", series="R2 220 0% 1W")
    assert block.values["zener_power_no_load"].high == pytest.approx(6.0 * 6.0 / 220, rel=1e-6)


def test_max_load_is_where_the_zener_has_nothing_left() -> None:
    """6.9 V across 220 ohm: 31.4 mA. Ohm's law, by hand."""
    assert value(regulator(), "max_load") == pytest.approx(0.0313636, abs=1e-6)
    assert value(regulator(supply="5 V"), "max_load") == 0.0


@pytest.mark.parametrize("parameter, text", [
    ("supply", "0 V"), ("supply", "-12 V"), ("supply", "nan"), ("supply", "1e400"), ("supply", "12 ohm"), ("series", "0"),
    ("series", "220 V"), ("zener", "ZD1 400mW"), ("zener", "ZD1 5 ohm"), ("load", "-1 mA"), ("load", "3 V"), ("zenner", "5V1"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert names_it("zener-regulator", parameter, **{**EXAMPLE, parameter: text})


def test_missing_zener_is_named() -> None:
    assert "zener-regulator needs zener" in told("zener-regulator", **{**EXAMPLE, "zener": ""})


def test_a_zener_stands_higher_at_more_than_its_test_current() -> None:
    """Its voltage is stated at 5 mA; data sheets of small zeners give 5 to 15 ohm at 5 to 30 mA (from memory), so with 31.4 mA
    less 12 mA up to 0.014 A * 15 ohm = 0.22 V more; what 5 % make of it besides goes both ways alike."""

    def above(load: str) -> float:
        shown = nets(
            built(f"""
blocks: {{z: {{kind: zener-regulator, supply: 12 V 0%, series: R2 220 0%, zener: ZD1 5V1, load: {load} 0%}}}}
""")
        )["z.out"]["volts"]["running"]["dc"]
        return shown["high"] - shown["value"] - (shown["value"] - shown["low"])

    assert above("12 mA") == pytest.approx(0.014 * 15, abs=0.04)
    assert abs(above("27 mA")) < 0.03
