"""What a load shows behind a triac that is off, and a charger's own cells where another block is fed from them."""

from __future__ import annotations

import pytest

from tests.diagnosis.noted import judged_note

HEAD = """---
title: Off
date: 2026-11-01
device: {kind: thing}
symptoms: [x]
"""
PLATE = """
states: {off: {}, warming: {on: [triac]}}
blocks:
  inlet: {kind: mains-inlet, load: 100 W, fuse: F1 1A 250V}
  element: {kind: heater, power: HE1 100 W, rated_voltage: 230 V}
  triac: {kind: triac-switch, triac: TR1 4A 600V}
joins: [[element.live, inlet.live_out], [element.neutral, triac.load], [inlet.neutral_out, triac.neutral], [triac.live, inlet.live_out]]
readings: [{at: inlet.live_out, read: 248 V AC, when: off}, {at: triac.load, read: 248 V AC, when: off}]
---
"""
CHARGER = """
states: {charging: {}, resting: {charge: 0 V}}
blocks:
  charge: {kind: lithium-charger, charger: U1, input: 5 V, battery: 3.8 V, resistance: 200 mohm, program: R1 2k, program_factor: 1000 V,
           capacity: 800 mAh}
  gauge: {kind: divider, supply: charge.battery, upper: R2 220k 1%, lower: R3 220k 1%}
readings: [{at: charge.battery, read: 3.90 V}, {at: charge.battery, read: 3.80 V, when: resting}]
---
"""


def test_what_lies_behind_a_triac_that_is_off_follows_the_mains() -> None:
    """248 V of 230 V ± 10 % (EN 50160) at the inlet are 248 V at the element's far end too, through which next to nothing flows."""
    _device, judgement = judged_note(HEAD + PLATE)
    assert judgement.fits[0].sound
    expected = judgement.judged[1].expected
    assert (
        expected is not None
        and expected.low == pytest.approx(207, abs=1)
        and expected.high == pytest.approx(253, abs=1)
    )


def test_a_charger_keeps_its_cells_where_another_block_is_fed_from_them() -> None:
    """1000 V over 2k are 0.5 A, 0.1 V across 200 mΩ: 3.9 V while they are charged, their 3.8 V at rest (Ohm's law)."""
    _device, judgement = judged_note(HEAD + CHARGER)
    values = [judged.expected.value for judged in judgement.judged if judged.expected]
    assert values == pytest.approx([3.9, 3.8], abs=0.02)
    assert judgement.fits[0].sound
