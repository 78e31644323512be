"""What gives a rail its volts gives no more than it can: nobody states how much that is, so that a short of some ohms leaves anything
from what the least of regulators bring to what the strongest do."""

from __future__ import annotations

import pytest

from tests.diagnosis.noted import judged_note

REGULATED = """---
title: Shaver
date: 2026-11-01
device: {{kind: lint shaver}}
symptoms: [dead]
blocks:
  cell: {{kind: battery-pack, cells: 1, chemistry: li-ion, capacity: 1200 mAh, load: 20 mA}}
  reg: {{kind: linear-regulator, input: cell, output: 2.8 V, dropout: 0.2 V, regulator: U3{rated}, load: 10 mA, output_capacitor: C3 10u}}
  cpu: {{kind: microcontroller, designator: U4, supply: reg, pins: [1 VDD, 8 GND]}}
readings:
  - {{at: reg.out, read: {volts}}}
  - {{ohms: [reg.out, reg.common], read: 6.1 ohm}}
---
"""


@pytest.mark.parametrize("volts", ["2.7 V", "1.8 V"])
def test_some_ohms_behind_a_regulator(volts: str) -> None:
    """0.3 A into 6.1 Ω are 1.8 V, 0.44 A are 2.7 V: small regulators give in at either (output current limits in data sheets, 0.2 to
    1 A, from memory). One part of some ohms explains both readings."""
    _device, judgement = judged_note(REGULATED.format(volts=volts, rated=""))
    first = judgement.fits[0].change
    assert first.also is None and first.called in ("C3", "U4") and first.mode in ("leaky", "short")
    assert not judgement.fits[0].doubted


def test_a_regulator_gives_what_is_printed_on_it() -> None:
    """One for 1 A gives an ampere, which 6.1 Ω do not take of 2.8 V (Ohm's law: 0.46 A): at 1.8 V there it is not its limit."""
    found = {}
    for rated in (" 300mA", " 1A"):
        _device, judgement = judged_note(REGULATED.format(volts="1.8 V", rated=rated))
        first = judgement.fits[0].change
        found[rated] = first.also is None and first.called in ("C3", "U4")
    assert found == {" 300mA": True, " 1A": False}


CONVERTED = """---
title: Grinder
date: 2026-11-01
device: {{kind: grinder}}
symptoms: [dead]
blocks:
  buck: {{kind: buck-converter, input: 24 V, output: 12 V, load: 60 mA, inductor: L1 1m 0.3A, frequency: 66 kHz, capacitor: C2 100u 25V, chip: U1 60V 0.3A, diode: D2}}
  lamp: {{kind: divider, supply: buck, upper: R1 100, lower: R2 100}}
readings:
{readings}
---
"""


def test_a_chokes_copper() -> None:
    """Chokes have from 0.02 Ω (10 µH for 3 A) to 5 Ω (1 mH for 0.3 A) (from memory, data sheets): no such figure is a fault."""
    for read in ("0.1 ohm", "2.6 ohm"):
        _device, judgement = judged_note(CONVERTED.format(readings=f"  - {{ohms: L1, read: {read}}}"))
        verdict = judgement.judged[0].verdict
        assert verdict is not None and verdict.word == "within" and judgement.fits[0].sound
    _device, judgement = judged_note(CONVERTED.format(readings="  - {ohms: L1, read: OL}"))
    assert (judgement.fits[0].change.called, judgement.fits[0].change.mode) == ("L1", "open")


def test_a_short_behind_a_converter_does_not_leave_its_volts() -> None:
    """Ohm's law: 11 V across 5 Ω are 2.2 A, which a switch for 0.3 A does not give; 1 V there is 0.2 A, which it does."""
    doubted = {}
    for volts in ("11 V", "1.0 V"):
        readings = (
            f"  - {{at: buck.out, read: {volts}}}\n  - {{ohms: [buck.out, buck.common], read: 5.0 ohm}}"
        )
        _device, judgement = judged_note(CONVERTED.format(readings=readings))
        doubted[volts] = judgement.fits[0].doubted
    assert doubted == {"11 V": (1,), "1.0 V": ()}


def test_a_converter_that_makes_nothing_has_no_limit() -> None:
    """Its input is less than what its switch drops: no volts, no current, and the rest of the note is judged."""
    text = CONVERTED.replace(
        "input: 24 V, output: 12 V,", "input: 1 V, output: 12 V, switch_drop: 1.2 V,"
    ).replace(" 60V 0.3A", "")
    _device, judgement = judged_note(
        text.format(
            readings="  - {{ohms: R1, read: 100 ohm}}\n  - {{at: buck.out, read: 0 V}}".replace(
                "{{", "{"
            ).replace("}}", "}")
        )
    )
    assert [own.verdict and own.verdict.word for own in judgement.judged] == ["within", "within"]
