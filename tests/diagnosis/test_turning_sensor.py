"""Nobody states where what turns past a sensor has stopped, or whether it turns: its output stands high, low or between."""

from __future__ import annotations

import pytest

from tests.diagnosis.noted import judged_note

FAN = """---
title: Fan
date: 2026-11-01
device: {{kind: fan}}
symptoms: [does not turn]
blocks:
  reg: {{kind: linear-regulator, input: 12 V, output: 5 V, regulator: U1, load: 20 mA}}
  hall: {{kind: pulse-sensor, supply: reg, pull_up: R3 10k, sensor: U2 hall, speed: 1200 rpm, capacitor: C3 1n}}
readings:
  - {{at: reg.out, read: 5.02 V}}
  - {{at: hall.pin, read: {read}}}
---
"""


@pytest.mark.parametrize("read", ["5.01 V", "0.18 V", "2.61 V"])
def test_a_sensor_that_conducts_or_not_or_turns_is_sound(read: str) -> None:
    """5 V not conducting, some 0.2 V of an open collector that does (data sheets of Hall switches, from memory), and turning the
    mean of a wave that is low for half of the time: 0.5·0.2 V + 0.5·5 V = 2.6 V."""
    _device, judgement = judged_note(FAN.format(read=read))
    assert judgement.fits[0].sound
    assert [judged.verdict.word for judged in judgement.judged if judged.verdict] == ["within", "within"]


@pytest.mark.parametrize("read", ["0.00 V", "4.3 V"])
def test_what_no_sensor_leaves_there_is_told(read: str) -> None:
    """Less than any open collector leaves, or high but pulled down a little: a short or a leak to common, a worn pull-up."""
    _device, judgement = judged_note(FAN.format(read=read))
    first = judgement.fits[0]
    assert not first.sound and first.change.block == "hall" and first.change.called in ("R3", "C3", "U2")
