"""Faults that take a fuse along: what an ohmmeter then finds is the short and the fuse that it blew."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from generator.circuit.network.passive import Resistor
from generator.circuit.network.sources import Rail
from generator.diagnosis.changing import changed_by
from generator.diagnosis.hypotheses import Change

if TYPE_CHECKING:
    from generator.circuit.device import Device

BLEW = 0.7  # share of the shorts that can blow a fuse which do, before somebody measures (common practice, no source)


def consequences(device: Device, faults: Iterable[Change]) -> list[Change]:
    """The shorts among the faults that blow a fuse, each with its fuse open."""
    opens = {
        change.called: change for change in faults if change.part_class == "fuse" and change.mode == "open"
    }
    fuses = [(fuse, opens[fuse.called]) for fuse in device.side.fuses if fuse.called in opens]
    if not fuses:
        return []
    shorts = [change for change in faults if change.mode == "short" and change.part_class != "fuse"]
    found = []
    for change in _smallest(shorts):
        for fuse, opened in fuses:
            if _blows(device, change, fuse):
                found.append(replace(change, weight=change.weight * BLEW, also=opened, caused=True))
    return found


def _smallest(shorts: list[Change]) -> Iterable[Change]:
    """One of each part, with the least ohms, and the weight of all of its sizes."""
    parts: dict[tuple[str, ...], list[Change]] = {}
    for change in shorts:
        parts.setdefault(change.group, []).append(change)
    for own in parts.values():
        yield replace(
            min(own, key=lambda change: change.size or 0.0), weight=sum(change.weight for change in own)
        )


def _blows(device: Device, change: Change, fuse: Resistor) -> bool:
    """On the mains side by the current; behind a transformer wherever the short lies in or across a rail that it feeds."""
    for row, _state in enumerate(device.states):
        own = device.solved.changes[row]
        changed = changed_by(device, change, own)
        if any(name in device.side.elements for name in changed):
            solved = device.side.solve([{**own, **{n: {**own.get(n, {}), **p} for n, p in changed.items()}}])
            if float(solved.amperes(fuse.name)[0]) > fuse.blows:
                return True
    rails = [e for e in device.elements.values() if isinstance(e, Rail) and e.fed]
    for rail in rails:
        across = any(
            set(device.elements[name].nets) >= {rail.plus, rail.minus}
            for name in changed
            if name in device.elements
        )
        if across or rail.name in changed:
            return True
    return False
