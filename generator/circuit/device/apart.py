"""Places of one net that a note reads apart: between them lies a wire, a joint or a track, and that may be broken."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import TYPE_CHECKING

from generator.circuit.device.nets import Nets
from generator.circuit.device.places import contact_at, pin_of, read_place
from generator.circuit.network.element import Element, exact
from generator.circuit.network.passive import Resistor

if TYPE_CHECKING:
    from generator.circuit.device.circuitry import Circuitry

CONNECTION = "connection at "
PIN_OHMS = 0.01  # of a connector's pin, and of a joint


def read_apart(device: Circuitry, places: Iterable[str]) -> tuple[str, ...]:
    """The terminals that places name, where those of two blocks are one net and each is read: 12 V at the supply and none at
    the fan are of two ends of a wire. Not of 0 V, which every reading is taken to."""
    nets: dict[str, dict[str, str]] = {}  # net -> block -> its terminal
    behind = {e.block for e in device.elements.values() if is_pin(device, e)}
    for text in places:
        name = _terminal(device, text)
        net, block = device.net(name) if name else "", name.partition(".")[0]
        if net and net not in device.commons and block not in behind:  # whose wires are its connector's pins
            nets.setdefault(net, {}).setdefault(block, name)
    found = [
        name
        for net, blocks in nets.items()
        if len(blocks) > 1 and not contact_at(device, net, list(blocks))
        for name in blocks.values()
    ]
    # what is fed is cut off before what feeds it
    return tuple(sorted(found, key=lambda name: -device.all_nets.order[name]))


def _terminal(device: Circuitry, text: str) -> str:
    """The name of a net that a place stands for, as the note has it; "" where it is none."""
    text = " ".join(text.split())
    text = device.test_points.get(text, text)
    if (pin := pin_of(device, text)) is not None:
        text = device.connectors[pin[0]][pin[1] - 1] if 0 < pin[1] <= len(device.connectors[pin[0]]) else ""
    if text in device.all_nets:
        return text
    if text in device.blocks and (found := device.output(text)):
        return found[0]
    part = device.elements.get(device.parts.get(text, ""))
    if part is None or not device.blocks[part.block].kind.off_board:
        return ""
    place = read_place(device, text)
    ends = [net for net in (place.plus, place.minus) if net not in device.commons]
    own = (name for net in ends for name in device.members.get(net, ()))
    return next((name for name in own if name.startswith(f"{part.block}.")), "")


def is_pin(device: Circuitry, element: Element) -> bool:
    """Whether an element is a connector's pin, before what lies beyond it."""
    return element.key.partition(" pin ")[0] in device.connectors


def joint_before(nets: Nets, elements: list[Element], terminal: str) -> list[Element]:
    """The elements with a joint between a terminal's net and what its block has there."""
    net, block = nets.root(terminal), terminal.partition(".")[0]
    moved = {e.name: e.ac for e in elements if e.block == block and net in e.nets}
    rest = nets.part(terminal) if moved else ""
    if not rest:
        return elements

    names = {True: {net: terminal}, False: {net: rest}}
    renamed = [e.renamed(partial(_other, names[e.name in moved])) for e in elements]
    return [*renamed, joint(CONNECTION + terminal, block, rest, terminal, all(moved.values()))]


def _other(names: dict[str, str], net: str) -> str:
    return names.get(net, net)


def is_joint(element: Element) -> bool:
    """Whether an element is such a joint, which is no part that has a name on the board."""
    return element.name.startswith(CONNECTION)


def joint(name: str, block: str, net: str, beyond: str, ac: bool) -> Resistor:
    """A joint, or a connector's pin, between two nets."""
    return Resistor(
        name=name, block=block, key=name, called=name, modes=("open", "high resistance"), a=net, b=beyond,
        ohms=exact(PIN_OHMS), ac=ac,
    )  # fmt: skip
