"""What lies behind a big electrolytic and nothing else holds: any volts up to those of its other end may stand there."""

from __future__ import annotations

import pytest
from noted import judged_note

NOTE = """---
title: Radio is silent
date: 2026-03-14
device: {kind: radio, category: Hi-Fi separates}
symptoms: [silent]
outcome: repairable
blocks:
  amp: {kind: audio-stage, supply: 12 V 0%, bias_upper: R1 100k, bias_lower: R2 100k, bias_capacitor: C1 10u, feedback: R3 22k,
        gain_resistor: R4 1k, gain_capacitor: C2 47u, output_capacitor: C3 1000u 16V, load: LS1 8R}
readings: [{at: amp.output_dc, read: 6.0 V}, {at: amp.out, read: READ}]
---
Text.
"""


@pytest.mark.parametrize("read", ["0.6 V", "3.1 V", "5.4 V"])
def test_an_open_loudspeaker_leaves_any_volts(read: str) -> None:
    """6 V behind 1000 uF: data sheets allow microamperes of leak (0.01·C·V, from memory), 10 Mohm draw 0.6 uA at 6 V. From none to
    nearly all of the 6 V may show, and with the loudspeaker in place none."""
    _, found = judged_note(NOTE.replace("READ", read))
    best = {(fit.change.called, fit.change.mode) for fit in found.fits[:2]}
    assert ("LS1", "open") in best and 0 not in found.doubted and 1 not in found.doubted


def test_a_whole_loudspeaker_holds_it_at_nothing() -> None:
    _, found = judged_note(NOTE.replace("READ", "0.000 V"))
    verdict = found.judged[1].verdict
    assert found.fits[0].change.mode == "none" and verdict is not None and verdict.ok
