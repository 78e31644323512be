"""A board on the mains beside a fan: what is measured first, and what its starved rail shows."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import spice
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


BOARD = """
V1 l 0 SIN(0 325.27 50)
R2 l a 47
C2 a x 680n
R3 a x 470k
{parts}
C3 plus 0 {farads} IC={start}
B1 plus 0 I=0.014*min(1,max(0,V(plus)/2))
.model d D(IS=1e-9 N=1.8)
.model z D(IS=1e-9 N=1.8 BV=5.6 IBV=5m NBV=1.5)
"""
FAILED = [  # what is on the board, smoothing, the reading beside the rail's, and what it was
    ("D1 x plus d", "470u", "{diode: ZD1, read: OL}", {("ZD1", "open")}),
    ("DZ 0 x z\nRD x plus 0.05", "470u", "{diode: D1, read: 0.00 V}", {("D1", "short")}),
    ("DZ 0 x z\nD1 x plus d", "47u", "{diode: D1, read: 0.58 V}", {("C3", "low")}),
    ("DZ 0 x z\nD1 x plus d", "20u", "{diode: D1, read: 0.58 V}", {("C3", "low")}),
]


@pytest.mark.parametrize("parts, farads, beside, was", FAILED)
def test_what_starves_the_rail_is_named(
    parts: str, farads: str, beside: str, was: set[tuple[str, str]], tmp_path: Path
) -> None:
    """A rail that hardly anything reaches shows some tenths of a volt either way, and one that its capacitor no longer carries
    over every other half lies below its clamp. Source: ngspice, transient analysis, a chip as the load that takes less and
    less below 2 V; its mean and its RMS without the mean are the readings."""
    spice.needed()
    text = BOARD.format(parts=parts, farads=farads, start=0.1)
    mean, rms = (
        spice.means(text, ["plus"], start=1.8, stop=2.0, step=5e-5, folder=tmp_path, measure=m)["plus"]
        for m in ("avg", "rms")
    )
    ripple = math.sqrt(rms**2 - mean**2)
    readings = f"{{at: low.plus, read: {mean:.3f} V}}, {{at: low.plus, read: {ripple:.3f} V AC}}, {beside}"
    _, found = judged_note(HEATER.replace("READINGS", readings))
    best = found.fits[0].change
    assert {(best.called, best.mode)} == was, readings
    assert not found.doubted


def test_a_zener_at_its_end_is_sound() -> None:
    """5.6 V + 5 % less the 0.6 V of a rectifier at some milliamperes is 5.28 V, 5.6 V − 5 % less 0.8 V is 4.52 V: both are what
    such parts give (E24 tolerance group; data sheets of 1 A rectifiers, from memory)."""
    for read in ("5.25", "4.52"):
        _, found = judged_note(HEATER.replace("READINGS", f"{{at: low.plus, read: {read} V}}"))
        verdict = found.judged[0].verdict
        assert verdict is not None and verdict.ok and found.fits[0].sound


def test_half_of_the_mains_is_no_cause_where_a_capacitor_can_be_worn() -> None:
    """A rail that gets half of its current: X capacitors wear to that, the mains stay within 10 % (EN 50160)."""
    _, found = judged_note(
        HEATER.replace("READINGS", "{at: low.plus, read: 2.4 V}, {diode: D1, read: 0.58 V}")
    )
    shares = {
        (fit.change.called, fit.change.mode): fit.share for fit in found.fits if fit.change.also is None
    }
    assert shares["C2", "low"] > 5 * shares.get(("supply", "low"), 0.0)
