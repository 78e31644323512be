"""A chip's protection diodes, from each of its pins to its supply and from its common: a pin that something else drives is held near
those two, and down with a supply that has died."""

from __future__ import annotations

from collections.abc import Sequence

from generator.circuit.network.element import Element
from generator.circuit.network.junctions import Clamp
from generator.circuit.network.passive import Capacitor


def where_they_count(elements: Sequence[Element]) -> list[Element]:
    """The elements without the clamps of pins to which nothing leads but from the chip's own supply and common."""
    clamps = [e for e in elements if isinstance(e, Clamp)]
    rails: dict[str, set[str]] = {}  # of each block
    for clamp in clamps:
        rails.setdefault(clamp.block, set()).update({clamp.anode, clamp.cathode} - {clamp.pin})
    idle = set()
    for clamp in clamps:
        there = [e for e in elements if clamp.pin in e.nets and not isinstance(e, Clamp | Capacitor)]
        if {net for e in there for net in e.nets} <= {clamp.pin, *rails[clamp.block]}:
            idle.add(clamp.name)
    return [e for e in elements if e.name not in idle]
