"""Comparator with hysteresis, held against application notes and nodal analysis."""

from __future__ import annotations

import math
from itertools import product
from typing import Any

import pytest
from bench import made, names_it, told, value
from nodal import Network

from generator.circuit.block import Block

EXAMPLE = {
    "supply": "6 V",
    "reference": "2 V",
    "input_resistor": "R5 10k",
    "feedback": "R6 220k",
    "pull_up": "R7 10k",
}


def comparator(**changes: Any) -> Block:
    return made("comparator", **{**EXAMPLE, **changes})


def plus_input(
    *, source: float, into: float, feedback: float, pull_up: float, level: float, high: bool
) -> float:
    """Volts at the + input: the source behind one resistor, the output stage behind the other. high: pulled up, else held low."""
    net = (
        Network().voltage("source", "s", "0", source).resistor("s", "+", into).resistor("+", "out", feedback)
    )
    if high and pull_up:
        net.voltage("rail", "rail", "0", level).resistor("rail", "out", pull_up)
    else:
        net.voltage("stage", "out", "0", level)
    return net.solve()[0]["+"]


def thresholds(*, inverting: bool, reference: float, into: float, feedback: float, pull_up: float = 0.0, high: float = 6.0,
               low: float = 0.0) -> tuple[float, float]:  # fmt: skip
    """(upper, lower): with the reference at +, or the signal that brings + to the reference (linear, so from two solutions)."""
    found = []
    for level, is_high in ((high, True), (low, False)):
        stage = {"into": into, "feedback": feedback, "pull_up": pull_up, "level": level, "high": is_high}
        if inverting:
            found.append(plus_input(source=reference, **stage))
        else:
            at_zero, at_one = plus_input(source=0.0, **stage), plus_input(source=1.0, **stage)
            found.append((reference - at_zero) / (at_one - at_zero))
    return (found[0], found[1]) if inverting else (found[1], found[0])


def test_reference_design_with_400_mv_of_hysteresis() -> None:
    """5 V, 100 k and 100 k as the reference, 576 k of feedback: 2.7 V and 2.3 V.

    Source: Texas Instruments TIDU020, Comparator with hysteresis reference design; from memory. The divider is 2.5 V
    behind 50 k, of which the input resistor stands for 1 k here.
    """
    block = comparator(
        supply="5 V",
        reference="2.5 V",
        reference_resistance="49k",
        input_resistor="1k",
        feedback="576k",
        pull_up="",
    )
    assert value(block, "upper_threshold") == pytest.approx(2.7, abs=0.002)
    assert value(block, "lower_threshold") == pytest.approx(2.3, abs=0.002)


def test_three_equal_resistors_switch_at_thirds_of_the_supply() -> None:
    """15 V and three times 1 M: 10 V and 5 V. Source: National Semiconductor AN-74 on the LM139, inverting comparator with
    hysteresis; from memory."""
    block = comparator(
        supply="15 V",
        reference="7.5 V",
        reference_resistance="490k",
        input_resistor="10k",
        feedback="1M",
        pull_up="",
    )
    assert value(block, "upper_threshold") == pytest.approx(10.0)
    assert value(block, "lower_threshold") == pytest.approx(5.0)


@pytest.mark.parametrize(
    "inverting, pull_up, reference", list(product((True, False), (0.0, 10e3, 100e3), (1.0, 2.0, 4.5)))
)
def test_thresholds_against_nodal_analysis(inverting: bool, pull_up: float, reference: float) -> None:
    block = comparator(
        reference=f"{reference} V", pull_up=f"{pull_up / 1e3}k" if pull_up else "", output_low="0.2 V",
        input="inverting" if inverting else "non-inverting",
    )  # fmt: skip
    upper, lower = thresholds(
        inverting=inverting, reference=reference, into=10e3, feedback=220e3, pull_up=pull_up, low=0.2
    )
    assert value(block, "upper_threshold") == pytest.approx(upper, rel=1e-4)
    assert value(block, "lower_threshold") == pytest.approx(lower, rel=1e-4)
    assert value(block, "hysteresis") == pytest.approx(upper - lower, rel=2e-3)


@pytest.mark.parametrize("inverting", [True, False])
def test_failures_against_nodal_analysis(inverting: bool) -> None:
    """Open and high resistors, one after the other; an open one leaves the network."""
    block = comparator(input="inverting" if inverting else "non-inverting")
    names = {"R5": "into", "R6": "feedback", "R7": "pull_up"}
    sound = {"into": 10e3, "feedback": 220e3, "pull_up": 10e3}
    compared = 0
    for failure in block.failures:
        if failure.part not in names:
            continue
        name = names[failure.part]
        if failure.failed == "open" and name == "into" and not inverting:
            assert not failure.values and "no longer reaches" in failure.remark
            continue
        factor = math.inf if failure.failed == "open" else 2.0
        upper, lower = thresholds(inverting=inverting, reference=2.0, **{**sound, name: sound[name] * factor})
        assert failure.values["upper_threshold"].value == pytest.approx(upper, abs=2e-3)
        assert failure.values["lower_threshold"].value == pytest.approx(lower, abs=2e-3)
        compared += 1
    assert compared == (6 if inverting else 5)


def test_band_is_that_of_the_corners() -> None:
    """Resistors of 5 %: the ends of all corners by nodal analysis."""
    result = comparator().values["upper_threshold"]
    corners = [
        thresholds(inverting=True, reference=2.0, into=10e3 * a, feedback=220e3 * b, pull_up=10e3 * c)[0]
        for a, b, c in product((0.95, 1.05), repeat=3)
    ]
    assert result.low == pytest.approx(min(corners), rel=1e-4)
    assert result.high == pytest.approx(max(corners), rel=1e-4)


def test_a_dead_comparator_leaves_only_what_its_output_adds() -> None:
    failures = {f.failed: f for f in comparator().failures if f.part == "comparator"}
    assert set(failures["short"].values) == {"lower_threshold"} and "stays low" in failures["short"].remark
    assert set(failures["open"].values) == {"upper_threshold"} and "stays high" in failures["open"].remark


def test_a_comparator_that_cannot_switch_is_told() -> None:
    """A reference at the supply, a threshold above it or below common: it latches."""
    assert not comparator(reference="6 V").checks[0].ok
    assert comparator().checks[0].ok
    latching = comparator(reference="0.2 V", input="non-inverting", feedback="R6 100k", pull_up="")
    assert value(latching, "lower_threshold") == pytest.approx(0.2 - 5.8 * 0.1)  # Ohm's law, by hand
    assert any(
        not c.ok and "lower threshold" in c.what and "never brings the output back" in c.what
        for c in latching.checks
    )


@pytest.mark.parametrize("parameter, text", [
    ("supply", "0 V"), ("supply", "-5 V"), ("reference", "nan"), ("reference", "1e400"), ("reference", "2 ohm"),
    ("input_resistor", "-1k"), ("feedback", "1 V"), ("pull_up", "2 A"), ("input", "sideways"), ("output_low", "7 V"), ("feeback", "1k"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert names_it("comparator", parameter, **{**EXAMPLE, parameter: text})


def test_missing_feedback_is_named() -> None:
    assert "comparator needs feedback" in told("comparator", **{**EXAMPLE, "feedback": ""})


def test_signal_resistor_counts_where_the_signal_feeds_the_plus_input() -> None:
    """Non-inverting: 10k + 4.7k from the signal, 220k feedback, 2 V reference, 6 V output: nodal analysis finds 2 V at + at either
    threshold. Inverting: no current flows in it, the thresholds stay."""
    given = {"supply": "6 V", "reference": "2 V", "input_resistor": "10k", "feedback": "220k"}
    block = made("comparator", **given, input="non-inverting", signal_resistor="4k7", capacitor="10n")
    for name, level in (("upper_threshold", 0.0), ("lower_threshold", 6.0)):
        net = Network().voltage("signal", "s", "0", value(block, name)).voltage("out", "o", "0", level)
        net.resistor("s", "x", 4700.0).resistor("x", "plus", 10e3).resistor("plus", "o", 220e3)
        assert net.solve()[0]["plus"] == pytest.approx(2.0, abs=1e-4)
    assert value(block, "input_time_constant") == pytest.approx(47e-6)
    plain, filtered = (
        made("comparator", **given),
        made("comparator", **given, signal_resistor="4k7", capacitor="10n"),
    )
    assert value(plain, "upper_threshold") == value(filtered, "upper_threshold")


@pytest.mark.parametrize(("part", "mode", "says", "changes"), [
    ("R9", "open", "the signal no longer reaches the comparator", {}), ("C9", "short", "the signal no longer reaches the comparator", {}),
    ("C9", "open", "the input follows faster", {}), ("R6", "open", "the output chatters", {}), ("R7", "open", "the output never rises", {}),
    ("R5", "open", "the input no longer reaches", {"input": "non-inverting"}), ("R5", "open", "the + input follows the output", {"input": "inverting"}),
    ("R9", "high", "", {}),
])  # fmt: skip
def test_what_a_failure_does(part: str, mode: str, says: str, changes: dict[str, str]) -> None:
    """From the circuit: a low-pass before the input, the feedback that makes the hysteresis, the pull-up of an open collector."""
    block = comparator(signal_resistor="R9 10k", capacitor="C9 10n", **changes)
    remarks = [
        failure.remark for failure in block.failures if failure.part == part and failure.failed == mode
    ]
    assert remarks and all(says in remark if says else not remark for remark in remarks), remarks
