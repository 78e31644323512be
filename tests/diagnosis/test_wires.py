"""Two places that are one net on the drawing are two ends of a wire on the bench: what they read is not the same where it is broken.

What is expected follows from Kirchhoff's laws: no current, no drop; with the wire open nothing arrives.
"""

from __future__ import annotations

import pytest
from test_known_at_the_bench import judged, names

from generator.diagnosis.naming import part_name
from generator.diagnosis.probing import probings

FAN = """
states: {rest: {}, run: {on: [drive]}}
blocks:
  supply: {kind: linear-regulator, regulator: U1, input: 18 V, output: 12 V, dropout: 2 V, output_capacitor: C2 100u 25V}
  indicator: {kind: led-indicator, supply: supply, resistor: R7 1k, forward: LD1 green}
  drive: {kind: mosfet-switch, drive: 5 V, gate: R5 1k, pull_down: R6 100k, transistor: Q1 vth2 rds0R05 30V,
          load_supply: supply, flyback: D1}
  fan: {kind: dc-motor, motor: M1, supply: supply, winding: 8, running_current: 200 mA}
joins: [[fan.minus, drive.drain]]
"""


@pytest.mark.parametrize(
    "readings",
    [
        ("at: supply.out, read: 12.0 V, when: run", "at: fan.plus, read: 0 V, when: run"),
        (
            "at: supply.out, read: 12.0 V, when: run",
            "across: [supply.out, fan.plus], read: 12.0 V, when: run",
        ),
        ("ohms: [supply.out, fan.plus], read: open",),
        (
            "at: supply.out, read: 12.0 V, when: run",
            "across: M1, read: 0 V, when: run",
            "at: drive.drain, read: 0.01 V, when: run",
        ),
    ],
)
def test_volts_at_one_end_of_a_wire_and_none_at_the_other(readings: tuple[str, ...]) -> None:
    found = judged(FAN, *readings)
    assert names(found, 1) == [("connection at fan.plus", "open")] and not found.doubted


def test_a_wire_of_some_ohms_drops_what_the_motor_draws() -> None:
    """5 ohm in the wire and 200 mA through it: 1 V by Ohm's law, which the motor goes without."""
    found = judged(
        FAN,
        "at: supply.out, read: 12.0 V, when: run",
        "across: [supply.out, fan.plus], read: 1.0 V, when: run",
    )
    wires = {f"connection at {end}" for end in ("fan.plus", "supply.out")}
    assert found.fits[0].change.called in wires and found.fits[0].change.mode == "high resistance"
    assert found.fits[0].change.size == pytest.approx(5, rel=0.3)


def test_a_whole_wire_says_nothing_against_the_device() -> None:
    found = judged(
        FAN,
        "at: supply.out, read: 12.0 V, when: run",
        "at: fan.plus, read: 12.0 V, when: run",
        "ohms: [supply.out, fan.plus], read: 0.2 ohm",
    )
    assert found.fits[0].sound and not found.doubted


def test_what_lies_behind_a_joint_is_part_of_the_load_as_stated() -> None:
    """A pack whose stated 2 A are its motor's: 12 V less 2 A through what is inside its cells, however many places of that net
    are read; not twice that (by hand: six cells of half of 30 milliohm, 0.18 V)."""
    front = """
states: {run: {on: [drive]}}
blocks:
  pack: {kind: battery-pack, cells: 6, chemistry: lead-acid, capacity: 7 Ah, load: 2 A}
  drive: {kind: mosfet-switch, drive: 5 V, gate: R5 1k, pull_down: R6 100k, transistor: Q1 vth2 rds0R005 30V,
          load_supply: pack, flyback: D1}
  pump: {kind: dc-motor, motor: M1, supply: pack, winding: 0.5, running_current: 2 A}
joins: [[pump.minus, drive.drain]]
"""
    for readings in (
        ["at: pack.plus, read: 11.8 V"],
        ["at: pack.plus, read: 11.8 V", "at: pump.plus, read: 11.8 V"],
    ):
        expected = judged(front, *readings).judged[0].expected
        assert expected is not None and expected.value == pytest.approx(12 - 2 * 6 * 0.015, abs=0.03)


def test_the_wires_of_what_is_plugged_in_are_its_pins() -> None:
    """12 V at the plug of the fan and none across it: its pin is what may be open, and no second joint beside that."""
    found = judged(
        f"{FAN}connectors: {{CN1: [supply.out -> M1, drive.drain]}}",
        "at: supply.out, read: 12.0 V, when: run",
        "across: M1, read: 0 V, when: run",
        "at: drive.drain, read: 0.01 V, when: run",
    )
    assert names(found, 1) == [("CN1 pin 1", "open")]
    assert not any(fit.change.called.startswith("connection") for fit in found.fits)


def test_a_worn_switch_has_the_ohms_that_it_drops() -> None:
    """60 ohm behind a switch of 20 ohm at 12 V: 9 V, by Ohm's law, whatever a good switch may have."""
    lamp = "  lamp: {kind: network, parts: [S2 switch from supply.out to out, R1 60 from out to supply.common]}\njoins:"
    found = judged(
        FAN.replace("joins:", lamp),
        "at: supply.out, read: 12.0 V",
        "at: lamp.out, read: 9.0 V",
        "ohms: S2, read: 20 ohm",
    )
    assert names(found, 1) == [("S2", "high resistance")]
    assert found.fits[0].change.size == pytest.approx(20, rel=0.1)


def test_a_joint_is_named_by_what_it_leads_to_and_never_asked_for_as_a_part() -> None:
    """Nobody finds a joint on the board by a name, so that its ohms are those between the two places."""
    found = judged(FAN, "at: supply.out, read: 12.0 V, when: run", "at: fan.plus, read: 0 V, when: run")
    assert part_name(found.fits[0].change) == "connection at plus of fan"
    assert not any("connection" in text for own in probings(found.device) for text in own.at)
