"""AC volts across a fuse, which tell what current flows without opening the circuit."""

from __future__ import annotations

import pytest
from noted import judged_note

DRYER = """---
title: Dryer stays warm
date: 2026-11-30
device: {kind: dryer}
symptoms: [stays warm]
states: {drying: {on: [relay]}, idle: {}}
blocks:
  inlet: {kind: mains-inlet, fuse: F1 3A 250V, load: 100 W}
  main: {kind: transformer-supply, primary: inlet, secondary: 9 V, smoothing: C3 1000u 25V, load: 60 mA}
  relay: {kind: transistor-switch, drive: 5 V, base: R5 2k2, transistor: Q2 hfe200 500mA 45V, load: RL1 200 9V, load_supply: main, flyback: D8}
  element: {kind: heater, power: HE1 100 W, rated_voltage: 230 V, supply: inlet, contact: RL1 10A}
readings:
  - {across: F1, read: 0.022 V AC, when: drying}
  - {across: F1, read: IDLE V AC, when: idle}
---
Text.
"""


@pytest.mark.parametrize("idle, stuck", [("0.001", False), ("0.021", True)])
def test_what_flows_at_rest(idle: str, stuck: bool) -> None:
    """100 W at 230 V are 0.43 A, and 0.43 A through some 50 mohm are 22 mV; the transformer alone leaves about a millivolt (Ohm's
    law). Pick-up makes no 20 mV in 50 mohm: as much at rest is the element's current."""
    _, judgement = judged_note(DRYER.replace("IDLE", idle))
    resting = judgement.judged[1].verdict
    assert resting is not None and resting.ok != stuck
    best = judgement.fits[0]
    assert best.sound != stuck
    if stuck:  # closed by its own weld, or by what drives it
        assert best.change.called in ("RL1", "Q2")


def test_an_open_fuse_has_the_mains_across_it_and_no_more() -> None:
    """A fuse that is whole may have twice or half of its usual ohms; one that is open has 230 V across it, ±10 % (IEC 60038)."""
    text = DRYER.replace("IDLE", "0").replace("0.022 V AC", "232 V AC")
    _, judgement = judged_note(text)
    (fit,) = [f for f in judgement.fits if f.change.called == "F1" and not f.change.also]
    expected = fit.expected[0]
    assert expected is not None and 190 < expected[0] < 232 < expected[1] < 260
