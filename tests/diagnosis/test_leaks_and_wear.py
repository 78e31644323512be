"""Failures without a fixed size: a leak across a part, a coupler that has lost its light.

The circuits are worked out here a second time, from nodal equations (Kirchhoff's current law) and the exponential of a
charging capacitor; nothing of the blocks' own maths is used. Readings scatter as a meter's do.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest

from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.diagnosis.bench import Found, fitting
from generator.diagnosis.fit import Fit

SEEDS = range(25)


def built(kind: str, **parameters: str) -> Block:
    block, troubles = build_block(kind, parameters, Mains())
    assert block is not None and not troubles
    return block


def node(*branches: tuple[float, float]) -> float:
    """The voltage of a node from (volts of the far end, ohm) of each branch: nodal analysis, one equation."""
    conductances = np.array([1 / ohm for _, ohm in branches])
    return float(conductances @ np.array([volts for volts, _ in branches]) / conductances.sum())


def shown(value: float, unit: str, dice: random.Random) -> str:
    """A value on a meter within 0.5 % of it, with four digits."""
    return f"{value * dice.uniform(0.995, 1.005):.4g} {unit}"


def named(found: Found, part: str, failed: str) -> Fit:
    assert found.judgement is not None and not found.problems
    return next(
        fit for fit in found.judgement.fits if (fit.hypothesis.part, fit.hypothesis.failed) == (part, failed)
    )


def first(found: Found) -> tuple[str, str]:
    assert found.judgement is not None
    best = found.judgement.fits[0].hypothesis
    return best.part, best.failed


def holds(fit: Fit, true: float) -> bool:
    return (
        fit.drift is not None and fit.drift[0] * 0.98 <= true <= fit.drift[1] * 1.02 and not fit.contradicts
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_a_leak_across_a_photoresistor(seed: int) -> None:
    """Dark and bright tell a leak from a drifted sensor: a leak hardly shows in the light."""
    dice = random.Random(seed)
    leak = 10 ** dice.uniform(3.3, 4.7)
    block = built("light-divider", supply="6 V", fixed="R1 33k", sensor="LDR1 10k gamma0.7")
    fixed = 33e3 * dice.uniform(0.96, 1.04)
    # the cell's power law, R = R10·(E/10 lux)^−gamma, at 0.1 and 1000 lux (makers' data sheets)
    dark, bright = (
        node((6.0, fixed), (0.0, 10e3 * (lux / 10) ** -0.7), (0.0, leak)) for lux in (0.1, 1000.0)
    )
    found = fitting(block, {"dark_output": shown(dark, "V", dice), "bright_output": shown(bright, "V", dice)})
    assert first(found) == ("LDR1", "leaky")
    assert holds(named(found, "LDR1", "leaky"), leak)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_wet_contact_and_a_leaky_capacitor_beside_it(seed: int) -> None:
    """Both pull the idle pin down and no outright failure does; the one behind the series resistor is told as larger."""
    dice = random.Random(seed)
    leak = 10 ** dice.uniform(3.0, 4.6)
    block = built("button-input", supply="5 V", pull_up="R12 10k", series="R13 1k", capacitor="C9 100n")
    pin = node((5.0, 10e3 * dice.uniform(0.96, 1.04)), (0.0, leak))
    found = fitting(block, {"idle_voltage": shown(pin, "V", dice)})
    assert holds(named(found, "button", "leaky"), leak)
    assert holds(
        named(found, "C9", "leaky"), leak * 1.1
    )  # seen through 11 k, 1.1 times the leak divides alike
    assert {first(found)} <= {("button", "leaky"), ("C9", "leaky")}


@pytest.mark.parametrize("seed", SEEDS)
def test_a_timing_capacitor_that_leaks(seed: int) -> None:
    """Thevenin's equivalent charges it: towards V·leak/(R + leak), through R beside the leak."""
    dice = random.Random(seed)
    leak = 10 ** dice.uniform(5.3, 6.0)  # with 100 k and 3.2 V of 5 V it still gets there from 178 k up
    block = built("rc-delay", resistor="R24 100k 1%", capacitor="C11 10u 5%", supply="5 V", threshold="3.2 V")
    towards, through = 5.0 * leak / (100e3 + leak), 1 / (1 / 100e3 + 1 / leak)
    delay = through * 10e-6 * math.log(towards / (towards - 3.2))
    found = fitting(
        block, {"delay": shown(delay, "s", dice), "time_constant": shown(through * 10e-6, "s", dice)}
    )
    assert holds(named(found, "C11", "leaky"), leak)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_coupler_that_has_lost_its_light(seed: int) -> None:
    dice = random.Random(seed)
    ratio = dice.uniform(0.02, 0.17)  # of 0.8; below it the output is in between
    block = built(
        "optocoupler",
        input_supply="12 V",
        input_resistor="R1 2k2",
        ctr="80 %",
        output_supply="5 V",
        pull_up="R2 4k7",
    )
    led = (12.0 - 1.2) / 2200.0
    output = 5.0 - ratio * led * 4700.0
    found = fitting(block, {"led_current": shown(led, "A", dice), "output": shown(output, "V", dice)})
    assert first(found) == ("coupler LED", "weak")
    assert holds(named(found, "coupler LED", "weak"), ratio)


def test_what_has_no_size_is_none_of_the_failures_and_says_how_large_it_is() -> None:
    """The failures of a block are those of its parts' sorts; a leak is found from readings alone."""
    block = built("light-divider", supply="6 V", fixed="R1 33k", sensor="LDR1 10k gamma0.7")
    assert "leaky" not in {failure.failed for failure in block.failures}
    found = fitting(block, {"dark_output": "0.94 V", "bright_output": "0.07 V"})
    assert "kΩ lie across LDR1" in found.as_text()
    entry = found.as_data()["fits"][0]
    assert (entry["part"], entry["failed"], entry["drift"]["nominal"]) == ("LDR1", "leaky", "inf")
    sound = fitting(block, {"dark_output": "5.29 V", "bright_output": "0.0715 V"})
    assert sound.as_data()["fits"][0]["failed"] == "none"
    assert all(fit["failed"] != "leaky" for fit in sound.as_data()["fits"])
