"""What a sound rail shows whose zener or switch is not the ideal one, and what a diode of little volts shows on the diode range."""

from __future__ import annotations

import pytest

from generator.diagnosis.predictions import Predictor, Sought
from generator.diagnosis.suspects import suspects
from tests.diagnosis.noted import judged_note

DROPPER = """---
title: Press
date: 2026-11-01
device: {{kind: trouser press}}
symptoms: [relay chatters]
states: {{idle: {{}}}}
blocks:
  supply: {{kind: capacitive-dropper, supply: 230 V, series: R1 150 2W, dropper: C1 820n X2 275V, rectifier: bridge BR1, output: 24 V, clamp: ZD1 24V 2W, smoothing: C2 220u 35V}}
  coil: {{kind: divider, supply: supply, upper: R2 500, lower: R3 640}}
readings:
  - {{at: supply.plus, read: {volts}, when: idle}}
  - {{at: supply.plus, read: {ripple}, when: idle}}
---
"""


@pytest.mark.parametrize("ripple", ["0.12 V AC", "0.17 V AC", "0.19 V AC"])
def test_the_ripple_of_a_clamped_rail(ripple: str) -> None:
    """0.17 to 0.21 V AC at 21 mA with a zener of 8 Ω (ngspice, transient analysis), and 24 V zeners have up to 25 Ω at 10 mA
    (data sheets, from memory): nothing is wrong."""
    _device, judgement = judged_note(DROPPER.format(volts="24.1 V", ripple=ripple))
    assert judgement.fits[0].sound


def test_the_ripple_of_a_dried_capacitor() -> None:
    """A tenth of the capacitance leaves ten times the ripple, less what the zener then takes (charge over capacitance)."""
    _device, judgement = judged_note(DROPPER.format(volts="23.6 V", ripple="1.1 V AC"))
    assert (judgement.fits[0].change.called, judgement.fits[0].change.mode) == ("C2", "low")


FLYBACK = """---
title: Sealer
date: 2026-11-01
device: {kind: sealer}
symptoms: [dead]
blocks:
  inlet: {kind: mains-inlet, load: 60 W, fuse: F1 2A 250V}
  bulk: {kind: mains-rectifier, supply: inlet, rectifier: bridge D1-D4, bulk: C1 47u 400V, bleeder: R2 220k 1W}
  flyback: {kind: flyback-supply, input: bulk, output: 12 V, sense: R4 0R3, diode: D5 schottky, capacitor: C2 1000u 16V}
  lamp: {kind: divider, supply: flyback, upper: R6 1k, lower: R7 1k}
joins: [[bulk.plus, flyback.in], [bulk.common, flyback.in_common]]
readings:
  - {at: bulk.plus, read: 309 V}
  - {at: flyback.out, read: 1 mV}
  - {diode: D5, read: 0.17 V}
---
"""


def test_a_shorted_switch_leaves_nothing_on_the_bulk_capacitor() -> None:
    """It lies across the capacitor, with 0.3 Ω and a winding in its way (drawing), whether a note names it or not."""
    device, judgement = judged_note(FLYBACK)
    bulk = Predictor(device, [Sought(device.place("bulk.plus"), "volts", device.states[0].name)])
    shorted = [own for own in suspects(device) if own.key == "transistor" and own.mode == "short"]
    assert shorted and (bulk.predict(shorted).mean[:, 0] < 30).all()
    assert (judgement.fits[0].change.key, judgement.fits[0].change.mode) != ("transistor", "short")


def test_a_schottky_diode_on_the_diode_range() -> None:
    """0.15 to 0.25 V at 1 mA for one of 1 to 3 A (data sheets, from memory)."""
    _device, judgement = judged_note(FLYBACK)
    verdict = judgement.judged[2].verdict
    assert verdict is not None and verdict.word == "within"
