"""Two readings of one place, and what is broken at one time and not at the other."""

from __future__ import annotations

import pytest
from noted import judged_note

from generator.diagnosis.words import conclusion

LOOSE = """---
title: Lamp comes and goes
date: 2026-02-02
device: {kind: lamp, category: Misc}
symptoms: [comes and goes]
outcome: unknown
blocks:
  cells: {kind: battery-pack, cells: 4, chemistry: alkaline, capacity: 2 Ah}
  level: {kind: divider, supply: cells, upper: R1 10k 1%, lower: R2 10k 1%}
  lamp: {kind: led-indicator, supply: cells, resistor: R3 330, forward: LD1 red}
connectors: {CN1: [cells.plus -> R1, level.tap]}
readings:
  - {at: level.tap, read: 3.0 V}
  - {at: level.tap, read: 0 V}
  - {across: LD1, read: LAMP}
---
"""


@pytest.mark.parametrize("turned", [False, True])
def test_what_comes_and_goes_explains_two_readings_of_one_place(turned: bool) -> None:
    """Half of 6 V at one time and nothing at another: the way through CN1 pin 1 and R1 is open at times; connectors before joints. R2
    open would show 6 V, and R3 and LD1 lie elsewhere."""
    text = LOOSE.replace("LAMP", "1.9 V")
    if turned:  # it was gone at first
        text = (
            text.replace("read: 3.0 V", "read: X")
            .replace("read: 0 V", "read: 3.0 V")
            .replace("read: X", "read: 0 V")
        )
    _, found = judged_note(text)
    said = conclusion(found)[0]
    assert ("0 V and 3.0 V" if turned else "3.0 V and 0 V") in said and "comes and goes" in said
    assert 0 < said.index("CN1 pin 1") < said.index("a joint of R1")
    assert not {"R2", "R3", "LD1"} & set(said.partition("Both hold")[2].replace(",", " ").split())


def test_what_comes_and_goes_has_to_fit_the_other_readings() -> None:
    """4 V across a red LED that is there: nothing that breaks in the divider makes that, so both readings are only kept."""
    _, found = judged_note(LOOSE.replace("LAMP", "4.5 V"))
    assert "comes and goes" not in conclusion(found)[0] and "measure again" in conclusion(found)[0]
