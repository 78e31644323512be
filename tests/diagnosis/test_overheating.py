"""A thermal fuse does not open by itself: what let its element run too hot is looked for with it."""

from __future__ import annotations

import pytest
from noted import judged_note

from generator.diagnosis.asking import next_readings
from generator.diagnosis.overheating import overheating
from generator.diagnosis.readings import Meter
from generator.diagnosis.suspects import suspects

WARMER = """---
title: Air warmer is dead
date: 2026-11-30
device: {kind: air warmer}
symptoms: [dead]
states: {resting: {}, warming: {on: [heat, air]}}
blocks:
  inlet: {kind: mains-inlet, load: 300 W, fuse: F1 3A, thermal_fuses: [TF1 110C LINE]}
  supply: {kind: transformer-supply, primary: inlet, transformer: T1, rectifier: D1-D4 bridge, secondary: 9 V,
           rated_current: 400 mA, smoothing: C1 1000u 25V 20%}
  heat: {kind: transistor-switch, drive: 5 V, base: R1 2k2, transistor: Q1 hfe200 500mA 45V, load: RL1 120 9V,
         load_supply: supply, flyback: D5}
  air: {kind: mosfet-switch, drive: 5 V, gate: R2 100, transistor: Q2 vth2 rds0R05 5A 30V, load: M1 45,
        load_supply: supply, flyback: D6}
  element: {kind: heater, power: HE1 250 W, rated_voltage: 230 V, supply: inlet, contact: RL1 5A}
readings: [READINGS]
---
Text.
"""


@pytest.mark.parametrize("line", ["live", "neutral"])
def test_what_overheats_an_element(line: str) -> None:
    """On where it should be off: the contact welded, or its transistor shorted. On without its fan: the motor, or what feeds
    it, open. What only keeps the element off, or the fan on, overheats nothing (all by reading the drawing)."""
    device, _ = judged_note(WARMER.replace("LINE", line).replace("READINGS", ""))
    found = {(own.called, own.mode) for own in overheating(device, suspects(device))}
    assert found >= {("RL1", "short"), ("Q1", "short"), ("M1", "open"), ("Q2", "open")}
    assert not found & {("RL1", "open"), ("Q1", "open"), ("Q2", "short")}


@pytest.mark.parametrize("mode", ["open", "stalled"])
def test_a_fan_that_stands_is_a_cause_as_a_block_of_its_own_too(mode: str) -> None:
    """As above, the fan written as the motor that it is: it moves no air when it is open, nor when its shaft is held."""
    motor = "  fan: {kind: dc-motor, winding: M1 12 ohm, running_current: 200 mA}\njoins: [[fan.plus, supply.plus], [fan.minus, air.drain]]\n"
    text = WARMER.replace("LINE", "live").replace("READINGS", "").replace("load: M1 45,\n", "\n")
    device, _ = judged_note(text.replace("readings:", motor + "readings:"))
    changes = suspects(device)
    assert {own.part_class for own in changes if own.called == "M1"} == {"motor"}
    assert ("M1", mode) in {(own.called, own.mode) for own in overheating(device, changes)}


def test_the_cause_is_asked_for_with_the_fuse() -> None:
    """A thermal fuse is found open: the page asks on, and a contact that conducts with the plug out is its cause."""
    dead = "{at: supply.plus, read: 0 V, when: warming}, {ohms: TF1, read: open}"
    device, judgement = judged_note(WARMER.replace("LINE", "live").replace("READINGS", dead))
    named = [fit.change.also.called for fit in judgement.fits[:4] if fit.change.also is not None]
    assert named and set(named) == {"TF1"}
    assert next_readings(judgement, device, Meter())
    welded = f"{dead}, {{ohms: RL1 contact, read: 0.2 ohm}}"
    _, judgement = judged_note(WARMER.replace("LINE", "live").replace("READINGS", welded))
    best = judgement.fits[0].change
    assert (
        (best.called, best.mode) == ("RL1", "short") and best.also is not None and best.also.called == "TF1"
    )


def test_an_element_behind_a_fuse_in_the_neutral() -> None:
    """With the neutral interrupted no current flows, whatever the live line has (Kirchhoff)."""
    shown = "{across: HE1, read: 0 V AC, when: warming}, {ohms: TF1, read: open}"
    _, judgement = judged_note(WARMER.replace("LINE", "neutral").replace("READINGS", shown))
    assert judgement.fits[0].change.called == "TF1" and not judgement.fits[0].contradicts
