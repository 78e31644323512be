"""A block joined where a triac has its load, by hand calculation; a join that shorts the mains is told at its line."""

from __future__ import annotations

import pytest

from generator.circuit.device import Device
from generator.circuit.point import Mains
from generator.notes.note import parse_note
from generator.notes.whole import put_together
from generator.problems import Problem

HEATER = """---
title: Fan heater blows cold
date: 2026-11-30
device: {kind: fan heater}
symptoms: [blows cold]
states: {heating: {on: [heat]}, standby: {}}
blocks:
  inlet: {kind: mains-inlet, LOADfuse: F1 10A 250V}
  heat: {kind: triac-switch, supply: inlet, triac: TR1 16A 600V}
  element: {kind: heater, power: HE1 1800 W, rated_voltage: 230 VSUPPLY}
joins: JOINS
---
Text.
"""


def made(joins: str, supply: str = "", load: str = "load: 1800 W, ") -> tuple[Device, list[Problem]]:
    text = HEATER.replace("JOINS", joins).replace("SUPPLY", supply).replace("LOAD", load)
    note, problems = parse_note(text, "note", "note.md", None, Mains())
    assert note is not None, problems
    return put_together(note.circuit, note.told), problems


@pytest.mark.parametrize("load", ["load: 1800 W, ", ""])
@pytest.mark.parametrize(
    "joins",
    [
        "[[heat.load, element.live]]",
        "[[heat.load, element.neutral]]",
        "[[heat.load, element.neutral], [inlet.live_out, element.live]]",
    ],
)
def test_a_heater_behind_a_triac(joins: str, load: str) -> None:
    """230 V less the triac's 1.2 V across 230²/1800 = 29.39 ohm: 7.79 A in F1 while it heats, next to nothing at rest."""
    device, problems = made(joins, load=load)
    assert not [p for p in problems if p.severity != "hint"], problems
    mains = device.solved.mains
    assert mains.amperes("inlet.fuse").tolist() == pytest.approx([228.8 / 29.39, 0.0], abs=0.06)
    assert mains.volts("heat.load", device.net("heat.neutral"))[1] == pytest.approx(230.0, abs=0.5)
    assert device.blocks["heat"].values["load_current"].value == pytest.approx(7.8, rel=0.02)
    a, b = device.elements["element.power"].nets
    assert device.unplugged().ohms(a, b) == pytest.approx(29.39, rel=1e-3)


def test_a_join_that_puts_the_triac_straight_across_the_mains() -> None:
    """Hundreds of amperes in a 10 A fuse: a warning at the join, with state, fuse and current."""
    _, problems = made("[[heat.load, element.live]]", supply=", supply: inlet")
    told = [p for p in problems if p.severity == "warning"]
    assert [p.line for p in told] == [11] and "in state heating F1 carries" in told[0].what
    assert "is this join right?" in told[0].hint


def test_a_rail_that_is_joined_twice_is_no_short() -> None:
    """What needs no join to draw its current is not blamed on one."""
    _, problems = made("[[heat.load, element.live], [inlet.live, heat.live]]")
    assert not [p for p in problems if p.severity == "warning"], problems


PUMP = """---
title: Pump does nothing
date: 2026-11-30
device: {kind: pump}
symptoms: [dead]
states: {off: {}, pumping: {on: [high]}}
blocks:
  inlet: {kind: mains-inlet, load: 45 W, fuse: F1 1A}
  brain: {kind: microcontroller, designator: U1, supply: 5 V, pins: [1 VDD, 3 high -> high, 8 GND]}
  high: {kind: triac-switch, supply: inlet, triac: TR1 1A 600V, gate_resistor: R6 470}
  coil: {kind: network, parts: [M2 400R 2H from high.load to inlet.END]}
joins: [[brain.common, inlet.neutral]]
---
Text.
"""


def test_a_part_of_a_network_is_the_load_of_a_triac() -> None:
    """A coil from its load to live takes the triac's place of a stated load: all of 230 V on the triac at rest, 1.2 V or so
    while it conducts (data sheets of triacs)."""
    note, problems = parse_note(PUMP.replace("END", "live_out"), "note", "note.md", None, Mains())
    assert note is not None and not [p for p in problems if p.severity == "error"], problems
    device = put_together(note.circuit, note.told)
    off, on = device.solved.mains.volts("high.load", device.net("high.neutral"))
    assert off == pytest.approx(230.0, rel=1e-3) and 0.5 < on < 2.0
    assert not [p for p in problems if "beside the triac" in p.what]


def test_a_load_beside_a_triac_is_told() -> None:
    """From the triac's load to neutral nothing switches it: a warning that names it and says where it belongs."""
    _, problems = parse_note(PUMP.replace("END", "neutral_out"), "note", "note.md", None, Mains())
    (told,) = (p for p in problems if "beside the triac" in p.what)
    assert (
        told.severity == "warning"
        and told.what.startswith("coil")
        and "between live and high.load" in told.hint
    )
