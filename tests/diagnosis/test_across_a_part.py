"""Volts across a part are noted without a word on which lead was where."""

from __future__ import annotations

import pytest
from noted import judged_note
from test_asking import WARMER, device_of

from generator.diagnosis.judging import judge
from generator.diagnosis.readings import Meter


@pytest.mark.parametrize("read", ["12.0 V", "-12.0 V"])
def test_a_blocked_flyback_diode(read: str) -> None:
    """At rest 0 V, while the relay pulls 12 V less the transistor's 0.1 to 0.3 V across the diode, cathode up: 12 V by one way
    of putting the probes, -12 V from anode to cathode. Neither says that anything is wrong."""
    device, readings = device_of(WARMER, {"across": "D1", "read": read, "when": "warming"})
    found = judge(device, readings, Meter())
    assert found.judged[0].verdict is not None and found.judged[0].verdict.ok
    assert found.fits[0].sound


DROPPER = """---
title: Night light flickers
date: 2026-03-14
device: {kind: night light, category: Lamp}
symptoms: [flickers]
outcome: repairable
blocks:
  supply: {kind: capacitive-dropper, dropper: C1 330n X2 275V, series: R1 100 1W, discharge: R2 470k, output: 4.9 V,
           load: 7 mA, smoothing: C2 470u 16V, clamp: ZD1 5V6 1W}
readings: [{at: supply.plus, read: 4.7 V}, {across: C2, read: READ V AC}]
---
Text.
"""


@pytest.mark.parametrize("read, was", [("0.06", ""), ("0.36", "C2")])
def test_alternating_volts_on_a_droppers_rail(read: str, was: str) -> None:
    """7 mA for the half of the period that brings nothing, and a little more, out of 470 uF: about 0.18 V peak to peak and
    0.06 V RMS (ngspice: 0.057 V). Six times that is a capacitor that has dried out."""
    _, judgement = judged_note(DROPPER.replace("READ", read))
    verdict, best = judgement.judged[1].verdict, judgement.fits[0]
    assert verdict is not None and verdict.ok == (not was)
    assert best.sound if not was else (best.change.key, best.change.mode) == ("smoothing", "low")
