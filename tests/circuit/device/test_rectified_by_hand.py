"""Diodes written part by part on alternating current: nobody is told 0 V, but that it is not worked out, and by which kinds it is."""

from __future__ import annotations

import pytest

from tests.circuit.device.examples import built
from tests.diagnosis.noted import judged_note

DRYER = """---
title: Dryer blows cold
date: 2026-03-14
device: {kind: hair dryer, category: Small home electrical}
symptoms: [fan stands]
outcome: repairable
blocks:
  inlet: {kind: mains-inlet, load: 1.2 kW, fuse: F1 10A}
  fan:
    kind: network
    parts:
      - M2 180R from inlet.live_out to a
      - D1 from a to plus
      - D2 from inlet.neutral_out to plus
      - D3 from minus to a
      - D4 from minus to inlet.neutral_out
      - M1 12R from plus to minus
      - R9 1k from plus to minus
readings: [READING]
---
Text.
"""


def test_what_discrete_diodes_make_of_the_mains_is_not_judged() -> None:
    """A dropping coil, four diodes and a motor on 230 V: 15 to 20 V at the motor is ordinary; it must not read as 20 V too many."""
    device, found = judged_note(
        DRYER.replace("READING", "{at: fan.plus, read: 18 V}, {across: M1, read: 18 V}")
    )
    told = [t for t in device.troubles if "alternating current" in t.what]
    assert (
        len(told) == 1 and told[0].path == ("blocks", "fan", "parts", 1) and "mains-rectifier" in told[0].hint
    )
    assert all("not worked out" in own.taken.trouble and own.verdict is None for own in found.judged)


def test_ohms_there_are_judged_all_the_same() -> None:
    """The motor's winding beside 1 kohm: 12·1000/1012 = 11.86 ohm, by hand."""
    _, found = judged_note(DRYER.replace("READING", "{ohms: [fan.plus, fan.minus], read: 11.9}"))
    expected, verdict = found.judged[0].expected, found.judged[0].verdict
    assert verdict is not None and verdict.ok and expected is not None
    assert expected.value == pytest.approx(11.86, rel=0.2)


@pytest.mark.parametrize("parts", [
    "R1 10k from s.plus to x, D9 from x to s.common", "C1 100n from inlet.live_out to inlet.neutral_out",
    "Q1 npn hfe200 from b t.gate s.common, R1 1k from s.plus to b",
])  # fmt: skip
def test_other_parts_between_blocks_are_worked_out(parts: str) -> None:
    """Diodes on a rail, a capacitor on the mains, a transistor at a triac's gate."""
    device = built(f"""
blocks:
  inlet: {{kind: mains-inlet, load: 60 W}}
  s: {{kind: transformer-supply, primary: inlet, secondary: 9 V, smoothing: C9 1000u, load: 20 mA}}
  t: {{kind: triac-switch, supply: inlet, load: LA1 40 W, triac: TR1 4A 600V}}
  n: {{kind: network, parts: [{parts}]}}
""")
    assert not device.unknown and not any("alternating" in t.what for t in device.troubles)
