"""A chip's protection diodes, from each of its pins to its supply and from its common: a pin that something else drives is held near
those two, and down with a supply that has died."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.network.element import Element
from generator.circuit.network.junctions import Clamp
from generator.circuit.network.passive import Capacitor
from generator.circuit.network.primitives import Array

if TYPE_CHECKING:
    from generator.circuit.device.device import Device

DROP = 0.6  # V across one while it holds its pin; as other small silicon junctions
TURN = np.sqrt(2) * np.sin(np.linspace(0, 2 * np.pi, 96, endpoint=False))


def apart(elements: Sequence[Element]) -> tuple[list[Element], list[Clamp]]:
    """The elements without the clamps, and these: whether a net carries alternating current is not theirs to say."""
    clamps = [e for e in elements if isinstance(e, Clamp)]
    return [e for e in elements if not isinstance(e, Clamp)], clamps


def where_they_count(elements: Sequence[Element], clamps: Sequence[Clamp]) -> list[Element]:
    """The elements with the clamps, but for those of pins to which nothing leads but from the chip's own supply and common, or
    nothing but alternating current, which is worked out by itself."""
    rails: dict[str, set[str]] = {}  # of each block
    for clamp in clamps:
        rails.setdefault(clamp.block, set()).update({clamp.anode, clamp.cathode} - {clamp.pin})
    idle = set()
    for clamp in clamps:
        there = [e for e in elements if clamp.pin in e.nets and not isinstance(e, Capacitor)]
        ends = {net for e in there for net in e.nets}
        if ends <= {clamp.pin, *rails[clamp.block]} or all(e.ac for e in there):
            idle.add(clamp.name)
    return [*elements, *(clamp for clamp in clamps if clamp.name not in idle)]


def clipped(device: Device, net: str, row: int, rms: Array) -> Array:
    """What a meter's AC range shows at a net of so many V of alternating current (any shape) in a state: at a chip's pin the wave
    is clipped a junction below common and one above the chip's supply, and the meter leaves out its mean."""
    chip = next((name for name in device.members.get(net, ()) if _at_chip(device, name)), "")
    if not chip:
        return rms
    fed = device.net(f"{chip.partition('.')[0]}.supply")
    supply = max(0.0, float(device.solved.point.volts(fed, device.common_of(fed))[row]))
    shown: Array = np.clip(rms[..., None] * TURN, -DROP, supply + DROP).std(-1)
    return shown


def _at_chip(device: Device, name: str) -> bool:
    """Whether the name of a net is a controller's pin."""
    block = device.blocks.get(name.partition(".")[0])
    return block is not None and block.kind.name == "microcontroller"
