"""What people find on a board: the nets that have a name there, those that carry power, the parts.

The texts are such as a note accepts and device.place() reads back: test points and connector pins first, then
block.terminal, then the part.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from generator.circuit.converter import Link
from generator.circuit.device.apart import is_joint
from generator.circuit.device.nets import is_inner
from generator.circuit.device.places import Place, PlaceError
from generator.circuit.network import sources
from generator.circuit.network.mains import Plugged
from generator.circuit.network.passive import Contact, Winding
from generator.diagnosis.spots import DESIGNATOR
from generator.notation.parts import each_of

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.circuit.network.element import Element

# nothing that probes can be put across
_NO_PART = (sources.Source, sources.Feed, sources.Rail, sources.Pin, Link)


def names_of(device: Device) -> dict[str, str]:
    """Every net that has a name for people: the test point, else the connector's pin, else block.terminal, a rail's own first."""
    found: dict[str, str] = {}
    for point, target in device.test_points.items():
        if target in device.all_nets:
            found.setdefault(device.net(target), point)
    for connector, pins in device.connectors.items():
        for number, target in enumerate(pins, 1):
            if target and target in device.all_nets:
                found.setdefault(device.net(target), f"{connector} pin {number}")
    for net, block in rails_at(device).items():
        output = (device.output(block) or ("",))[0]
        if output and _shown(device, output):
            found.setdefault(net, output)
    for net, members in device.members.items():
        first = next((member for member in members if not is_inner(member) and _shown(device, member)), "")
        if first:
            found.setdefault(net, first)
    return found


def _shown(device: Device, member: str) -> bool:
    """Whether block.terminal names the net itself: a named value of the block goes before its terminal."""
    block, _, terminal = member.partition(".")
    wired = device.wired.get(block)
    return wired is not None and not (terminal in wired.probes and device.blocks[block].values.get(terminal))


def rails_at(device: Device) -> dict[str, str]:
    """The nets that carry power -> the block that gives it."""
    found: dict[str, str] = {}
    for name, block in device.blocks.items():
        output = device.output(name) if block.kind.group == "Power" else None
        if output:
            found.setdefault(device.net(output[0]), name)
    return found


def place_of(device: Device, text: str) -> Place | None:
    """The place that a text names, None where it names none."""
    try:
        return device.place(text)
    except PlaceError:
        return None


def parts_of(device: Device) -> list[tuple[str, Element]]:
    """Every part by the text that names it; of a relay in two blocks its coil and its contact."""
    sides: dict[str, set[str]] = {}
    for element in device.elements.values():
        side = "coil" if isinstance(element, Winding) else "contact" if isinstance(element, Contact) else ""
        if side and element.called:
            sides.setdefault(element.called, set()).add(side)
    found = []
    for called, name in device.parts.items():
        if (first := each_of(called)[:1]) and device.parts.get(first[0]) == name:
            continue  # "D1-D4" would be D1, which is told by its own name
        for side in sorted(sides.get(called, ())) if len(sides.get(called, ())) > 1 else [""]:
            text = f"{called} {side}" if side else called
            place = place_of(device, text)
            if place is None or place.how != "part" or place.element not in device.elements:
                continue
            element = device.elements[place.element]
            if _on_the_board(device, called, element):
                found.append((text, element))
    return found


def _on_the_board(device: Device, called: str, element: Element) -> bool:
    """Whether a person finds a part: by its designator, else by where it stands, each end at a terminal or at another part.
    What a note only states of a rail, its load, is nowhere."""
    if isinstance(element, _NO_PART) or is_joint(element):
        return False
    if DESIGNATOR.fullmatch(called):
        return True
    parts = [own for own in device.elements.values() if own.called not in ("", called)]
    return not isinstance(element, sources.Load | Plugged) and all(
        not is_inner(net) or any(net in map(device.net, own.nets) for own in parts)
        for net in map(device.net, element.nets[:2])
    )
