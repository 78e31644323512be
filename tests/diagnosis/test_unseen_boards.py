"""What boards do that no drawing shows: a dead rail fed through a chip's pins, a Schottky diode
that lets an ohmmeter through backwards, a motor that asks for its torque at any speed."""

from __future__ import annotations

import pytest

from tests.diagnosis.noted import judged_note

HEAD = """---
title: Unseen
date: 2026-11-01
device: {kind: inflator}
symptoms: [dead]
"""
LOGIC = """blocks:
  logic: {kind: linear-regulator, regulator: U1, input: 12 V, output: 5 V, quiescent: 4 mA, output_capacitor: C2 10u 16V}
  sense: {kind: divider, supply: 12 V, upper: R3 22k 1%, lower: R4 8k2 1%}
  brain: {kind: microcontroller, designator: U2, supply: logic, current: 8 mA, pins: [1 VDD, 6 volts <- sense, 8 GND]}
"""


@pytest.mark.parametrize("read", ["90 mV", "0.3 V", "0.62 V"])
def test_a_dead_supply_fed_through_a_pin(read: str) -> None:
    """12 V less two junctions through 22k are 0.5 mA into the rail of a chip, which takes next to nothing below the threshold of its
    transistors: anything up to about a volt stands there (common practice, no source). U1 is dead all the same, and alone."""
    _, judgement = judged_note(
        HEAD
        + LOGIC
        + f"readings: [{{at: logic.in, read: 12.1 V}}, {{at: logic.out, read: {read}}}, {{ohms: [logic.out, logic.common], read: 4.4k}}]\n---\n"
    )
    first = judgement.fits[0]
    assert (first.change.called, first.change.mode, first.change.also) == ("U1", "open", None)
    assert not judgement.doubted


def test_an_open_coil_of_a_converter_with_a_schottky_diode_beside_it() -> None:
    """A Schottky diode backwards is 10 kΩ and more to an ohmmeter: 26 mV over a saturation current of 2 µA (I = Is·(e^(V/nVt) - 1), of a
    1N5819's model, from memory). So the coil that is open reads 239 kΩ and not OL."""
    blocks = """blocks:
  logic: {kind: buck-converter, input: 24 V, output: 5 V, inductor: L1 100u 1A, frequency: 150 kHz, capacitor: C2 220u 10V, chip: U1, diode: D1, load: 15 mA}
  half: {kind: divider, supply: logic, upper: R1 10k, lower: R2 10k}
"""
    _, judgement = judged_note(
        HEAD + blocks + "readings: [{at: logic.out, read: 0 V}, {ohms: L1, read: 239k}]\n---\n"
    )
    first = judgement.fits[0]
    assert (first.change.called, first.change.mode) == ("L1", "open") and not judgement.doubted


def test_a_worn_contact_before_a_motor_with_a_piston() -> None:
    """12.2 V less 9.4 V at the motor over 6 A through the shunt's 10 mΩ: 0.47 Ω in the plug (Ohm's law). A piston asks for its torque at
    any speed, so the current is nearly that of a sound plug."""
    blocks = """states: {resting: {}, pumping: {on: [drive]}}
blocks:
  pack: {kind: battery-pack, cells: 6, chemistry: lead-acid, capacity: 45 Ah, load: 8 A}
  drive: {kind: mosfet-switch, drive: 10 V, gate: R7 150, pull_down: R8 22k, transistor: Q1 vth2 rds0R012 60A 55V, load_supply: pack, flyback: D1}
  motor: {kind: dc-motor, motor: M1, winding: 0.35 ohm, running_current: 7 A}
  shunt: {kind: sense-resistor, shunt: R9 0R01 2W 1%, load: 7 A}
joins: [[motor.plus, pack.plus], [motor.minus, drive.drain], [drive.common, shunt.top]]
connectors: {CN1: [pack.plus -> M1, drive.drain]}
"""
    volts = "{at: pack.plus, read: 12.2 V, when: pumping}, {across: M1, read: 9.37 V, when: pumping}, {at: drive.drain, read: 0.114 V, when: pumping}"
    _, judgement = judged_note(
        HEAD + blocks + f"readings: [{volts}, {{at: shunt.top, read: 60 mV, when: pumping}}]\n---\n"
    )
    first = judgement.fits[0]
    assert (first.change.called, first.change.mode) == ("CN1 pin 1", "high resistance")
    assert first.change.size is not None and 0.3 < first.change.size < 0.7


def test_two_failures_where_the_ohms_go_through_a_rail() -> None:
    """LDR1 open: 0 V at its tap whatever the light, and between its ends R5 in series with what the rail lets through, 10k + 6.7k.
    R12 open: its tap goes where the chip's diode holds it, 0.6 V above 5 V. Neither does what the other does."""
    blocks = """states: {night: {dusk: 1 lux}, day: {dusk: 500 lux}}
blocks:
  logic: {kind: linear-regulator, regulator: U1, input: 24 V, output: 5 V, output_capacitor: C2 10u 16V}
  dusk: {kind: light-divider, supply: logic, fixed: R5 10k, sensor: LDR1 10k gamma0.7, sensor_side: upper}
  volts: {kind: divider, supply: logic.in, upper: R11 100k 1%, lower: R12 15k 1%}
  brain: {kind: microcontroller, designator: U2, supply: logic, current: 12 mA, pins: [1 VDD, 5 dusk <- dusk, 7 volts <- volts, 8 GND]}
"""
    readings = (
        "{at: dusk.tap, read: 0 V, when: day}, {at: dusk.tap, read: 0 V, when: night}, {at: logic.out, read: 4.94 V, when: day}, "
        "{ohms: LDR1, read: 16.7k}, {ohms: R5, read: 9.6k}, {at: volts.tap, read: 5.62 V, when: day}"
    )
    _, judgement = judged_note(HEAD + blocks + f"readings: [{readings}]\n---\n")
    first = judgement.fits[0]
    assert first.change.also is not None and not first.doubted
    assert {first.change.called, first.change.also.called} == {"LDR1", "R12"}
