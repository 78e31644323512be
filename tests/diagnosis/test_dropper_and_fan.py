"""A board on the mains beside a fan: what is measured first, and what its starved rail shows."""

from __future__ import annotations

import pytest
from noted import judged_note

HEATER = """---
title: Heater stays cold
date: 2026-03-14
device: {kind: fan heater, category: Small home electrical}
symptoms: [stays cold]
outcome: repairable
blocks:
  inlet: {kind: mains-inlet, load: 40 W, fuse: F1 10A 250V, thermal_fuses: [TF1 117C 10A live]}
  low: {kind: capacitive-dropper, supply: inlet, dropper: C2 680n X2 275V, series: R2 47 1W, discharge: R3 470k,
        rectifier: half-wave D1, output: 4.9 V, clamp: ZD1 5V6 1W, smoothing: C3 470u 16V, load: 14 mA}
  fan: {kind: induction-motor, supply: inlet, main: L1 420, running_current: 90 mA}
readings: [READINGS]
---
Text.
"""


@pytest.mark.parametrize("place", ["at: inlet.live_out", "across: L1", "at: fan.live"])
def test_mains_volts_at_a_fan_beside_a_dropper(place: str) -> None:
    """230 V ± 10 % (EN 50160), less what 0.2 A leave in a fuse of 0.01 to 0.3 ohm: nothing that shows."""
    _, found = judged_note(HEATER.replace("READINGS", f"{{{place}, read: 231 V AC}}"))
    expected, verdict = found.judged[0].expected, found.judged[0].verdict
    assert expected is not None and verdict is not None and verdict.ok
    assert [expected.low, expected.value, expected.high] == pytest.approx([207, 230, 253], abs=0.5)


def test_no_volts_behind_a_fuse_name_the_fuses() -> None:
    """With either fuse open the fan's winding pulls live_out to neutral, while the plug still brings 230 V."""
    _, found = judged_note(
        HEATER.replace(
            "READINGS",
            "{at: inlet.live, read: 229 V AC}, {at: inlet.live_out, read: 0 V AC}, {at: low.plus, read: 0 V}",
        )
    )
    assert {(fit.change.called, fit.change.mode) for fit in found.fits[:2]} == {
        ("F1", "open"),
        ("TF1", "open"),
    }
