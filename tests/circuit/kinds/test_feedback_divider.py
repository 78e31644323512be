"""Feedback divider, held against data sheets and nodal analysis of the closed loop."""

from __future__ import annotations

import math
from typing import Any

import pytest
from bench import made, names_it, told, value
from nodal import Network

from generator.circuit.block import Block

LOWER = {"reference": "2.5 V", "upper": "R14 18k 1%", "lower": "R15 4k7 1%", "bias_current": "2 uA"}
UPPER = {
    "reference": "1.25 V",
    "upper": "R1 240 1%",
    "lower": "R2 1k5 1%",
    "bias_current": "50 uA",
    "reference_across": "upper",
}


def divider(parameters: dict[str, Any]) -> Block:
    return made("feedback-divider", **parameters)


def closed_loop(*, reference: float, upper: float, lower: float, bias: float, across: str) -> float:
    """The output at which the loop sees its reference, from two nodal solutions (the circuit is linear)."""

    def error(output: float) -> float:
        net = (
            Network()
            .voltage("loop", "out", "0", output)
            .resistor("out", "mid", upper)
            .resistor("mid", "0", lower)
        )
        net.current("mid", "0", bias) if across == "lower" else net.current("0", "mid", bias)
        middle = net.solve()[0]["mid"]
        return (middle if across == "lower" else output - middle) - reference

    at_zero, at_one = error(0.0), error(1.0)
    return -at_zero / (at_one - at_zero)


def test_shunt_reference_with_equal_resistors_gives_five_volts() -> None:
    """Two equal resistors set 2.495 V to 4.99 V, and 2 µA into the reference pin add 20 mV with 10 k.

    Source: TL431 data sheet, Vref 2495 mV and Iref 2 µA typical, formula VO = Vref·(1 + R1/R2) + Iref·R1; from memory.
    """
    block = divider({"reference": "2.495 V", "upper": "10k", "lower": "10k", "bias_current": "2 uA"})
    assert value(block, "output") == pytest.approx(4.99 + 0.02)


def test_adjustable_regulator_with_its_usual_resistors() -> None:
    """240 ohm and 2 k: 1.25·(1 + 2000/240) + 50 µA·2000 = 11.767 V; 5.2 mA in the divider.

    Source: LM317 data sheet, VO = 1.25 V·(1 + R2/R1) + IADJ·R2 with IADJ 50 µA typical; worked by hand.
    """
    block = divider({**UPPER, "lower": "R2 2k"})
    assert value(block, "output") == pytest.approx(11.7667, abs=1e-4)
    assert value(block, "divider_current") == pytest.approx(5.2083e-3, abs=1e-7)


@pytest.mark.parametrize("parameters, upper, lower", [(LOWER, 18e3, 4700.0), (UPPER, 240.0, 1500.0)])
def test_output_against_the_closed_loop(parameters: dict[str, Any], upper: float, lower: float) -> None:
    block = divider(parameters)
    across = parameters.get("reference_across", "lower")
    reference, bias = (2.5, 2e-6) if across == "lower" else (1.25, 50e-6)
    loop = {"reference": reference, "bias": bias, "across": across}
    assert value(block, "output") == pytest.approx(closed_loop(upper=upper, lower=lower, **loop), rel=1e-4)
    corners = [  # a reference that states no tolerance: ±2 %, data sheets of shunt references, from memory
        closed_loop(upper=upper * a, lower=lower * b, **{**loop, "reference": reference * c})
        for a in (0.99, 1.01)
        for b in (0.99, 1.01)
        for c in (0.98, 1.02)
    ]
    assert block.values["output"].low == pytest.approx(min(corners), rel=1e-4)
    assert block.values["output"].high == pytest.approx(max(corners), rel=1e-4)
    for failure in block.failures:
        changed = {"upper": upper, "lower": lower}
        name = "upper" if failure.key == "upper" else "lower"
        changed[name] = math.inf if failure.failed == "open" else 2 * changed[name]
        if failure.dangerous and failure.failed == "open":
            assert "output" not in failure.values and "rises to its input" in failure.remark
            continue
        assert failure.values["output"].value == pytest.approx(closed_loop(**changed, **loop), rel=2e-4)


@pytest.mark.parametrize("parameters, dangerous", [(LOWER, "R14"), (UPPER, "R2")])
def test_the_resistor_that_sends_the_output_up_is_named(parameters: dict[str, Any], dangerous: str) -> None:
    """With the loop blind it opens fully: the resistor away from the reference is the dangerous one. Common practice, no source."""
    failures = divider(parameters).failures
    assert {(f.part, f.failed) for f in failures if f.dangerous} == {(dangerous, "open"), (dangerous, "high")}
    blind = next(f for f in failures if f.dangerous and f.failed == "open")
    assert blind.values["divider_current"].value == 0.0


def test_heat_is_checked_at_the_worst_corner() -> None:
    """2.5 V across 100 ohm − 1 %: 63.1 mW; the rated 62 mW pass only nominally. Joule's law, by hand."""
    block = divider({"reference": "2.5 V 0%", "upper": "R1 100 1%", "lower": "R2 100 1% 63mW"})
    check = next(c for c in block.checks if c.part == "R2")
    assert not check.ok and check.margin == pytest.approx(1 - 2.5**2 / 99 / 0.063)


@pytest.mark.parametrize("parameter, text", [
    ("reference", "0 V"), ("reference", "-1 V"), ("reference", "nan"), ("reference", "1e400"), ("reference", "2 mA"),
    ("upper", "-1k"), ("lower", "5 V"), ("bias_current", "-1 uA"), ("reference_across", "both"), ("uper", "1k"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert names_it("feedback-divider", parameter, **{**LOWER, parameter: text})


def test_missing_resistor_is_named() -> None:
    assert "feedback-divider needs lower" in told("feedback-divider", **{"reference": "2.5 V", "upper": "1k"})
