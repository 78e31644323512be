"""A comparator whose inputs are bridged holds itself on either side: no reading of its output speaks against the bridge."""

from __future__ import annotations

import pytest
from noted import judged_note

NOTE = """---
title: Thermostat does not switch
date: 2026-03-14
device: {kind: fan heater, category: Small home electrical}
symptoms: [does not switch]
outcome: repairable
blocks:
  five: {kind: linear-regulator, regulator: U1, input: 12 V, output: 5 V}
  air: {kind: divider, supply: five, upper: R1 10k, lower: R2 22k}
  level: {kind: divider, supply: five, upper: R3 10k, lower: R4 10k}
  watch: {kind: comparator, comparator: U2, supply: five, input: non-inverting, input_resistor: R5 10k, feedback: R6 1M, pull_up: R7 4k7}
joins: [[air.tap, watch.input], [level.tap, watch.reference]]
readings: [READINGS]
---
Text.
"""


@pytest.mark.parametrize("out", ["0.06 V", "4.97 V"])
def test_joined_inputs_leave_either_level(out: str) -> None:
    """Both dividers joined stand at 5 V · (22k ∥ 10k)/(10k ∥ 10k + 22k ∥ 10k) = 2.895 V, where they would be 3.44 and 2.50 V;
    the 1 M holds the + input some millivolts above or below that, as the output is (by hand): the joint is named, and
    nothing else besides."""
    _, found = judged_note(NOTE.replace(
        "READINGS",
        "{at: air.tap, read: 2.89 V}, {at: level.tap, read: 2.89 V}, {ohms: [air.tap, level.tap], read: 0.1 ohm}, "
        f"{{at: watch.out, read: {out}}}",
    ))  # fmt: skip
    first = found.fits[0].change
    assert first.mode == "bridge" and first.also is None and not found.doubted
    assert found.fits[0].share > 0.5
