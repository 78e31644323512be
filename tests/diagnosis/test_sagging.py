"""What a regulator loses where its input comes near the volts that it needs: averages by integration, and what is made of it."""

from __future__ import annotations

import numpy as np
import pytest
from noted import judged_note

from generator.diagnosis.sagging import NODES, WEIGHTS, _missing, inputs
from tests.circuit.device.examples import built

NOTE = """---
title: Radio is faint
date: 2026-02-02
device: {kind: radio, category: Misc}
symptoms: [faint]
outcome: unknown
blocks:
  reg: {kind: linear-regulator, regulator: U1, input: INPUT, output: 5 V 2%, dropout: 0.5 V, load: 50 mA}
readings: [{at: reg.out, read: READ}]
---
"""


@pytest.mark.parametrize("swing", [0.2, 1.0, 3.0])
@pytest.mark.parametrize("room", [-4.0, -0.5, 0.0, 0.1, 0.9, 5.0])
def test_what_is_missing_on_average_below_a_ripple(room: float, swing: float) -> None:
    """The mean of what lies below 0 of an input that swings evenly about its room, summed by numpy."""
    swings = np.linspace(-swing, swing, 200_001)
    wanted = float(np.mean(np.maximum(-(room + swings), 0.0)))
    assert float(_missing(np.array([room]), np.array([swing]))[0]) == pytest.approx(wanted, abs=1e-4)


def test_three_places_stand_for_a_normal_distribution() -> None:
    """Gauss and Hermite: the moments up to the fifth are those of the normal distribution, 1, 0, 1, 0, 3, 0."""
    assert [float((WEIGHTS * NODES**n).sum()) for n in range(6)] == pytest.approx([1, 0, 1, 0, 3, 0])


@pytest.mark.parametrize(("volts", "read", "sound"), [
    ("12 V", "5.02 V", True), ("12 V", "4.6 V", False), ("5.5 V 10%", "5.02 V", True), ("5.5 V 10%", "4.6 V", True), ("5.5 V 10%", "4.0 V", False),
    ("5.5 V 10%", "5.8 V", False), ("5.1 V 1%", "4.6 V", True), ("5.1 V 1%", "5.02 V", False),
])  # fmt: skip
def test_a_regulator_that_has_too_little_at_its_input_is_sound(volts: str, read: str, sound: bool) -> None:
    """5 V ±2 % wants 5.5 V: from 12 V 4.6 V are a fault. From 5.5 V ±10 %, 5.0 to 6.0 V, it gives 4.5 to 5 V, more never; from
    5.1 V 4.6 V and hardly more."""
    _, judgement = judged_note(NOTE.replace("INPUT", volts).replace("READ", read))
    assert judgement.fits[0].sound == sound, [(fit.change.called, fit.share) for fit in judgement.fits[:3]]


STABILISED = """
blocks:
  supply: {kind: transformer-supply, secondary: 12 V, smoothing: C1 1000u 25V, bleeder: R1 4k7}
  reg: {kind: linear-regulator, regulator: U1, input: supply, output: 5 V, load: 50 mA}
  shelf: {kind: zener-regulator, supply: supply, series: R2 470 1W, zener: ZD1 5V1 1W}
  pass: {kind: series-pass, input: supply, series: R3 1k, zener: ZD2 6V2 1W, transistor: Q1 hfe100, load: 50 mA}
  apart: {kind: zener-regulator, supply: 9 V, series: R4 470 1W, zener: ZD3 5V1 1W}
"""


def test_what_may_lose_its_volts_as_the_input_falls() -> None:
    """A regulator, and a zener on a rectified rail, which has ripple; a zener on a source that is stated has its own tolerance, and
    one behind which a transistor passes the current is another circuit."""
    device = built(STABILISED)
    assert {held.element.name: held.input.plus for held in inputs(device)} == {
        "reg.regulator": device.net("supply.plus"), "shelf.zener": device.net("supply.plus"),
    }  # fmt: skip
