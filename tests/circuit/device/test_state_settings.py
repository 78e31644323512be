"""A state that turns a pot or pulls out what feeds the device, from a note's text; by hand and by scipy."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest
from scipy.optimize import brentq

from generator.circuit.device import Device
from generator.circuit.device.circuitry import Follower
from generator.circuit.device.states import picks_up
from generator.circuit.point import Mains
from generator.notes.note import parse_note
from generator.notes.whole import put_together
from generator.problems import Problem

NOTE = """---
title: Lamp on a dimmer, and a pack on its dock
date: 2026-11-30
device: {kind: lamp}
symptoms: [dark]
states: {up: {}, down: {knob: 220k}, undocked: {charge: 0 V}, unplugged: {inlet: 0 V}EXTRA}
blocks:
  inlet: {kind: mains-inlet, load: 100 W}
  lamp: {kind: triac-switch, supply: inlet, load: LA1 100 W, triac: TR1 4A 600V}
  knob: {kind: phase-control, supply: inlet, fixed: R1 4k7, pot: VR1 220k, capacitor: C1 68n, breakover: DB1 32V}
  charge: {kind: lithium-charger, charger: U1, input: 10 V, battery: pack, cells: 2, resistance: 90 mohm, program: R2 2k 1%, program_factor: 1000 V}
  pack: {kind: battery-pack, cells: 2, chemistry: li-ion, capacity: 2000 mAh, load: 50 mA}
joins: [[knob.gate, lamp.gate]]
---
Text.
"""


def made(extra: str = "") -> tuple[Device, list[Problem]]:
    note, problems = parse_note(NOTE.replace("EXTRA", extra), "note", "note.md", None, Mains())
    assert note is not None, problems
    return put_together(note.circuit, note.told), problems


def test_a_pot_turned_down() -> None:
    """220 kohm more: the time constant is 2π·50·(225.2 k)·68n = 4.81 rad; the capacitor keeps 22 V·e^(−π/4.81) to the next
    half-wave, so that it has to rise by 43.5 V; the angle by scipy, the volts by the mean square of what is cut off."""
    device, problems = made()
    assert not [p for p in problems if p.severity == "error"], problems
    k = 100 * math.pi * (4700 + 220e3 + 529) * 68e-9
    level = 32 + 22 * math.exp(-math.pi / k)
    a = brentq(
        lambda x: 325.27 / (1 + k * k) * (math.sin(x) - k * math.cos(x) + k * math.exp(-x / k)) - level,
        0.2,
        2.5,
    )
    share = a / math.pi - math.sin(2 * a) / (2 * math.pi)
    up, down, _, unplugged = device.solved.mains.volts(device.net("lamp.load"), device.net("lamp.neutral"))
    assert float(up) < 12 and float(down) == pytest.approx(230 * math.sqrt(share), rel=0.02)
    assert float(unplugged) == pytest.approx(0, abs=0.01)


def test_an_adapter_pulled_out() -> None:
    """10 V at the dock, in the state without it what the charger lets back of the pack, and no source holds it."""
    device, _ = made()
    volts = device.solved.point.volts(device.net("charge.in"), device.common)
    assert float(volts[0]) == pytest.approx(10.0, abs=0.01) and abs(float(volts[2])) < 8.5
    assert device.solved.changes[2]["charge.input"] == {"on": 0.0}


def test_what_cannot_be_set_is_told_at_its_place() -> None:
    _, problems = made(", wrong: {lamp: 60 C}, other: {lamp: 3 V}")
    told = [p for p in problems if p.severity == "error"]
    assert ["no sensor" in p.what for p in told] == [True, False]
    assert "lamp has no source of its own" in told[1].what and {p.line for p in told} == {6}


@pytest.mark.parametrize(("gate", "from_"), [((0.0, 3.0), 1.5), ((-5.0, 2.0), 2.5), ((0.0, 0.1), 0.2)])
def test_a_triac_fires_at_half_of_what_its_gate_gets(gate: tuple[float, ...], from_: float) -> None:
    """Whichever way its gate is driven; below 0.2 V none does (data sheets: non-trigger voltage V_GD 0.2 V)."""
    device: Any = SimpleNamespace(followers=[Follower("triac", "driven", "TR1", ("gate", "common"), False)])
    assert picks_up(device, {"TR1": gate}, []) == {"TR1": pytest.approx(from_)}
