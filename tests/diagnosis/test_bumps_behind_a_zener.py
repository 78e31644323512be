"""An open smoothing capacitor lets the troughs through to what a zener holds, against ngspice step by step."""

from __future__ import annotations

from pathlib import Path

import pytest
import spice
from noted import judged_note

NOTE = """---
title: Clock runs slow
date: 2026-03-14
device: {kind: clock, category: Small home electrical}
symptoms: [slow]
outcome: repairable
blocks:
  supply: {kind: transformer-supply, secondary: 8 V, rectifier: bridge D1-D4, smoothing: C1 1000u 25V, regulation: 15 %, rated_current: 500 mA}
  rail: {kind: zener-regulator, supply: supply, series: R1 220, zener: ZD1 5V1, load: LOAD mA}
readings: [{at: supply.plus, read: PLUS V}, {at: rail.out, read: OUT V}]
---
Text.
"""
BOARD = """
V1 s1 s0 SIN(0 13.011 50)
R0 s1 a 2.4
D1 a plus d
D2 s0 plus d
D3 0 a d
D4 0 s0 d
R1 plus out 220
D5 0 out z
B1 out 0 I={load}m*min(1,max(0,V(out)/0.3))
.model d D(IS=1e-9 N=1.8)
.model z D(IS=1e-14 BV=5.1 IBV=5m NBV=1.5)
"""


@pytest.mark.parametrize("load", [3, 8, 14])
def test_the_mean_of_what_a_zener_leaves_of_the_bumps(load: int, tmp_path: Path) -> None:
    """8 V RMS and 15 % more without load behind 2.4 ohm, four diodes, no capacitor: the DC meter's mean, and the cause."""
    spice.needed()
    shown = spice.means(
        BOARD.format(load=load), ["plus", "out"], start=0.04, stop=0.12, step=2e-5, folder=tmp_path
    )
    text = (
        NOTE.replace("LOAD", str(load))
        .replace("PLUS", f"{shown['plus']:.2f}")
        .replace("OUT", f"{shown['out']:.2f}")
    )
    _, found = judged_note(text)
    ranking = found.ranking
    assert ranking is not None
    row = next(n for n, own in enumerate(ranking.changes) if (own.called, own.mode) == ("C1", "open"))
    assert shown["out"] < 4.6
    assert ranking.predicted.mean[row, 1] == pytest.approx(shown["out"], rel=0.15)
    assert found.fits[0].change.called == "C1" and not found.doubted
