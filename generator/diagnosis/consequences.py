"""Faults that take a fuse along: what an ohmmeter then finds is the short and the fuse that it blew."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from generator.circuit.device.states import Changed, together
from generator.circuit.network.passive import Resistor
from generator.circuit.network.sources import Rail
from generator.diagnosis.changing import changed_by
from generator.diagnosis.hypotheses import Change, by_failure

if TYPE_CHECKING:
    from generator.circuit.device import Device

BLEW = 0.7  # share of the shorts that can blow a fuse which do, before somebody measures (common practice, no source)


def consequences(device: Device, faults: Iterable[Change]) -> list[Change]:
    """The shorts among the faults that blow a fuse, each with its fuse open."""
    faults = list(faults)
    opens = {
        change.called: change for change in faults if change.part_class == "fuse" and change.mode == "open"
    }
    fuses = [fuse for fuse in device.side.fuses if fuse.called in opens]
    shorts = smallest(change for change in faults if change.mode == "short" and change.part_class != "fuse")
    return [
        replace(change, weight=change.weight * BLEW, also=opens[fuse.called], caused=True)
        for fuse in fuses
        for change, blows in zip(shorts, _blows(device, shorts, fuse))
        if blows
    ]


def smallest(faults: Iterable[Change]) -> list[Change]:
    """One of each failure, of a short that with the least ohms, and the weight of all of its sizes."""
    return [
        replace(min(own, key=lambda change: change.size or 0.0), weight=sum(change.weight for change in own))
        for own in by_failure(faults).values()
    ]


def _blows(device: Device, shorts: Sequence[Change], fuse: Resistor) -> list[bool]:
    """On the mains side by the current; behind a transformer wherever the short lies in or across a rail that the fuse feeds."""
    states = device.solved.changes
    changed = [[changed_by(device, change, own) for own in states] for change in shorts]
    found = [_in_rail(device, rows[0], _fed_through(device, fuse)) for rows in changed]
    near = [
        n for n, rows in enumerate(changed) if not found[n] and rows[0].keys() & device.side.elements.keys()
    ]
    solved = device.side.solve([together(own, row) for n in near for own, row in zip(states, changed[n])])
    amperes = solved.amperes(fuse.name).reshape(len(near), len(states))
    for n, own in zip(near, amperes):
        found[n] = bool((own > fuse.blows).any())
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


def _in_rail(device: Device, changed: Changed, rails: Sequence[Rail]) -> bool:
    """Whether a change is of a part in a rail, or of one from its plus to its minus."""
    elements = [device.elements[name] for name in changed if name in device.elements]
    return any(
        rail.name in changed or any({rail.plus, rail.minus} <= {*element.nets} for element in elements)
        for rail in rails
    )
