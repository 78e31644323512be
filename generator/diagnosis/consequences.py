"""Faults that take a fuse along: what an ohmmeter then finds is the short and the fuse that it blew."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.device.states import Changed, together
from generator.circuit.network.fuses import BLOWS
from generator.circuit.network.passive import Resistor
from generator.circuit.network.sources import Rail
from generator.diagnosis.changing import changed_by
from generator.diagnosis.hypotheses import Change
from generator.diagnosis.overheating import overheating

if TYPE_CHECKING:
    from generator.circuit.device import Device

BLEW = 0.7  # share of the shorts that can blow a fuse which do, before somebody measures (common practice, no source)
# times its rating, where a fuse has opened before somebody measures: at 2.1 within half an hour, at 1.5 not within one (IEC 60127-2, from memory)
OPENS = 1.8
# RMS current on the mains over the power that a rectified rail takes by the volts (common practice, no source)
MAINS_OVER_RAIL = 1.7
NEXT_TO_NOTHING = 10.0  # ohm in a short's way that limit nothing on a rail of some hundred volts


def consequences(device: Device, faults: Sequence[Change]) -> list[Change]:
    """The faults that take a fuse along, each with that fuse open: by their current, and a thermal one by their heat."""
    return [*_blowing(device, faults), *overheating(device, faults)]


def spared(faults: Sequence[Change], caused: Sequence[Change]) -> list[Change]:
    """The faults by themselves, those that can blow a fuse as seldom as they leave it whole."""
    blowing = {change.group[:3] for change in caused if change.mode == "short"}
    return [
        replace(change, weight=change.weight * (1 - BLEW)) if change.group in blowing else change
        for change in faults
    ]


def _blowing(device: Device, faults: Sequence[Change]) -> list[Change]:
    """The faults that blow a fuse: shorts, and on the mains side what has gone low."""
    called = {fuse.called for fuse in device.side.fuses}
    opens = {change.called: change for change in faults if change.mode == "open" and change.called in called}
    fuses = [fuse for fuse in device.side.fuses if fuse.called in opens]
    if not fuses:
        return []
    heavy = [
        change
        for change in faults
        if change.mode == "short" and change.leg != "one" and change.called not in called
    ]
    heavy += [change for change in faults if change.mode == "low" and change.part_class == "element"]
    return [
        replace(change, weight=change.weight * BLEW, also=opens[fuse.called], caused=True)
        for fuse in fuses
        for change, blows in zip(heavy, _blows(device, heavy, fuse))
        if blows
    ]


def _blows(device: Device, changes: Sequence[Change], fuse: Resistor) -> list[bool]:
    """On the mains side by the current; behind a rectifier wherever a short lies in or across a rail that the fuse feeds."""
    states = device.solved.changes
    changed = [[changed_by(device, change, own) for own in states] for change in changes]
    rails, opens = _fed_through(device, fuse), fuse.blows * OPENS / BLOWS
    found = [
        change.mode == "short" and any(_across(device, rows[0], rail, opens) for rail in rails)
        for change, rows in zip(changes, changed)
    ]
    near = [
        n for n, rows in enumerate(changed) if not found[n] and rows[0].keys() & device.side.elements.keys()
    ]
    solved = device.side.solve([together(own, row) for n in near for own, row in zip(states, changed[n])])
    amperes = solved.amperes(fuse.name).reshape(len(near), len(states))
    for n, own in zip(near, amperes):
        found[n] = bool((own > opens).any())
    return found


def _fed_through(device: Device, fuse: Resistor) -> list[Rail]:
    """The rails that get nothing of the mains once the fuse is open."""
    own = device.solved.changes[0]
    solved = device.side.solve([own, together(own, {fuse.name: {"ohms": math.inf}})])
    found = []
    for rail in device.elements.values():
        if isinstance(rail, Rail) and rail.fed:
            whole, cut = solved.volts(*rail.fed[:2])
            if cut < whole / 2:
                found.append(rail)
    return found


def _across(device: Device, changed: Changed, rail: Rail, opens: float) -> bool:
    """Whether a short is of a part in the rail, of one from its plus to its minus, or of one with next to nothing in its way,
    so that the mains would give more than the fuse bears (opens, A)."""
    if rail.name in changed:
        return True
    assert rail.fed is not None
    ends, cold = (rail.plus, rail.minus), device.unplugged()
    volts = float(np.abs(device.solved.point.volts(*ends)).max())
    for name in changed:
        element = device.elements.get(name)
        if element is None:
            continue
        nets = {*element.nets}
        if {*ends} <= nets:
            return True
        way = sum(
            min((cold.ohms(end, net) for net in nets & cold.nets.keys()), default=math.inf) for end in ends
        )
        if way <= NEXT_TO_NOTHING and MAINS_OVER_RAIL * volts**2 / max(way, 0.1) / rail.fed[2] > opens:
            return True
    return False
