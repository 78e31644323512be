"""Failures that go two ways: a dead regulator may take its own current as before, and worn brushes show ohms to a meter that the
running current hardly meets."""

from __future__ import annotations

import pytest

from tests.diagnosis.noted import judged_note

NOTE = """---
title: Two ways
date: 2026-11-01
device: {kind: fan}
symptoms: [weak]
blocks:
"""
SUPPLY = """
  supply: {kind: transformer-supply, transformer: T1, rectifier: bridge D1-D4, secondary: 9 V, regulation: 20 %, rated_current: 300 mA,
           smoothing: C1 1000u 25V}
  reg: {kind: linear-regulator, input: supply, output: 5 V, regulator: U1, load: 40 mA, quiescent: 8 mA}
readings: [{at: supply.plus, read: 14.2 V}, {at: reg.out, read: 0 V}, {at: supply.plus, read: RIPPLE AC}]
---
"""
MOTOR = """
  pack: {kind: battery-pack, cells: 2, chemistry: li-ion, capacity: 2 Ah}
  motor: {kind: dc-motor, supply: pack, motor: M1, winding: 0.7 ohm, running_current: 1.5 A}
  shunt: {kind: sense-resistor, shunt: R1 0R02, load: 1.5 A}
joins: [[motor.minus, shunt.top]]
readings: [{at: pack.plus, read: 7.3 V}, {at: shunt.top, read: 29 mV}, {ohms: M1, read: READ}]
---
"""


@pytest.mark.parametrize("ripple", ["22 mV", "0 mV"])
def test_a_regulator_without_output_takes_its_own_current_or_none(ripple: str) -> None:
    """8 mA off 1000 µF for some 9 ms of each half-wave are 72 mV from peak to peak, a saw-tooth of 72/√12 = 21 mV RMS."""
    _device, judgement = judged_note(NOTE + SUPPLY.replace("RIPPLE", ripple))
    first = judgement.fits[0]
    assert (first.change.called, first.change.mode, first.doubted) == ("U1", "open", ())
    assert first.share > 0.9


def test_worn_brushes_are_ohms_to_a_meter_alone() -> None:
    """It draws its 1.5 A, which 7 Ω of copper behind 7.3 V would never let through (7.3 V/7 Ω is 1 A, and then it stands): the
    film on a commutator drops about a volt at any current, at a meter's milliampere that is many ohms (common practice, no
    source). So the reading stands, and M1 is what it is of."""
    _device, judgement = judged_note(NOTE + MOTOR.replace("READ", "7.1 ohm"))
    motor = next(fit for fit in judgement.fits if fit.change.called == "M1")
    assert motor.change.mode == "high" and not motor.doubted and not motor.contradicts
    assert motor is judgement.fits[0]


def test_a_regulator_gives_no_more_than_a_little_above_its_rating() -> None:
    """3.1 ohm across the output of one for 250 mA, which limits at 1 to 2.5 times that (from memory, data sheets): 0.25 A to 0.63 A
    leave 0.78 V to 1.9 V there, where one for an ampere or two would leave 3 V of its 3.3 V."""
    blocks = """
  reg: {kind: linear-regulator, input: 5 V, output: 3.3 V, dropout: 0.3 V, regulator: U2 250mA, load: 5 mA, output_capacitor: C4 10u ceramic}
readings: [{at: reg.out, read: 1.2 V}, {ohms: [reg.out, reg.common], read: 3.1 ohm}]
---
"""
    _device, judgement = judged_note(NOTE + blocks)
    first = judgement.fits[0]
    assert first.change.called in ("C4", "load") and first.change.also is None and not first.doubted


@pytest.mark.parametrize(
    ("plus", "ripple", "out", "called"),
    [("11.9 V", "0.23 V", "5 V", "D3"), ("0 V", "0 V", "0 V", "D3"), ("12.1 V", "0.10 V", "5 V", "")],
)
def test_one_shorted_diode_of_a_bridge_leaves_half_waves_or_nothing(
    plus: str, ripple: str, out: str, called: str
) -> None:
    """Where the winding bears it, each second half-wave goes through the shorted diode and its neighbour back into the winding,
    the others fill the capacitor through one diode: 48 mA off 1000 µF for some 17 ms are 0.8 V from peak to peak, a saw-tooth of
    0.8/√12 = 0.23 V RMS, where a whole bridge leaves less than half of that. Else nothing is left of it."""
    readings = f"{{at: supply.plus, read: {plus}}}, {{at: reg.out, read: {out}}}, {{at: supply.plus, read: {ripple} AC}}"
    ohms = ", {ohms: D3, read: 0.2 ohm}" if called else ""
    blocks = SUPPLY.partition("readings:")[0]
    _device, judgement = judged_note(NOTE + blocks + f"readings: [{readings}{ohms}]\n---\n")
    first = judgement.fits[0]
    assert (first.change.called, first.sound, first.doubted) == (called, not called, ())
