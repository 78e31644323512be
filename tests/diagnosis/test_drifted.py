"""How far a part has drifted where its readings fit, and which diode of several: in words and in shares, by hand."""

from __future__ import annotations

import math

import pytest
from noted import judged_note

from generator.diagnosis.hypotheses import WEIGHTS, Change
from generator.diagnosis.judging import Fit
from generator.diagnosis.naming import drift_text
from generator.diagnosis.suspects import one_of_a_bridge


def told(mode: str, low: float, high: float, nominal: float, unit: str, **more: object) -> str:
    change = Change(block="b", key="k", mode=mode, called="X1", **more)  # type: ignore[arg-type]
    return drift_text(Fit(change, 1.0, 0.0, (), (), (), (), (low, high, nominal, unit)))


@pytest.mark.parametrize(("mode", "low", "high", "nominal", "unit", "text"), [
    ("low", 60e-6, 90e-6, 1e-3, "F", "fits if X1 has fallen to 60.0 to 90.0 µF of 1000 µF"),
    ("low", 1e-6, 90e-6, 1e-3, "F", "fits if X1 has fallen to 90.0 µF or less of 1000 µF"),  # a thousandth: as good as none
    ("high", 20e3, 47e3, 10e3, "ohm", "fits if X1 has risen to 20.0 to 47.0 kΩ of 10 kΩ"),
    ("high", 20e3, 5e6, 10e3, "ohm", "fits if X1 has risen to 20.0 kΩ or more of 10 kΩ"),  # 500 times: as good as open
    ("leaky", 100.0, 300.0, math.inf, "ohm", "fits if 100 to 300 Ω lie across X1"),
    ("leaky", 0.001, 300.0, math.inf, "ohm", "fits if 300 Ω or less lie across X1"),
    ("bridge", 100.0, 300.0, math.inf, "ohm", "fits if the bridge has 100 to 300 Ω"),
    ("high resistance", 2.0, 6.0, math.inf, "ohm", "fits if X1 has 2.00 to 6.00 Ω"),
])  # fmt: skip
def test_how_far_it_has_drifted(
    mode: str, low: float, high: float, nominal: float, unit: str, text: str
) -> None:
    assert told(mode, low, high, nominal, unit) == text


def test_of_two_failures_no_drift_is_told() -> None:
    other = Change(block="c", key="k", mode="open", called="X2")
    assert told("low", 60e-6, 90e-6, 1e-3, "F", also=other) == ""


BRIDGE = """---
title: Radio dead
date: 2026-02-02
device: {kind: radio, category: Misc}
symptoms: [dead]
outcome: unknown
blocks:
  supply: {kind: transformer-supply, transformer: T1, rectifier: D1-D4 bridge, secondary: 12 V, smoothing: C1 2200u 25V, load: 60 mA}
---
"""


def test_four_diodes_share_what_one_of_them_fails_by() -> None:
    """All four together are as likely to fail as "one of D1-D4" (the sum of what excludes each other); each under its own name."""
    device, _ = judged_note(BRIDGE)
    diodes = [e for e in device.elements.values() if e.key == "diodes"]
    assert len(diodes) == 4
    found = one_of_a_bridge(device, [(e.nets[0], e.nets[1]) for e in diodes])
    for mode in ("open", "short"):
        assert {change.called for change in found if change.mode == mode} == {"D1", "D2", "D3", "D4"}
        assert sum(change.weight for change in found if change.mode == mode) == pytest.approx(
            WEIGHTS["diode"][mode]
        )
    (first,) = {change.called for change in one_of_a_bridge(device, [diodes[2].nets[:2]])}  # type: ignore[list-item]
    assert first == "D3"
