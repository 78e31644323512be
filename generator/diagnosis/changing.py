"""A change of one part as changed parameters of the network's elements."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from generator.circuit.device.states import Changed, together
from generator.circuit.network.passive import Bridge
from generator.circuit.network.wiring import BULK

if TYPE_CHECKING:
    from generator.circuit.device import Device, Place
    from generator.circuit.network.element import Element
    from generator.diagnosis.hypotheses import Change, Identity

# of its output, which a converter without feedback makes at most before it is stopped (common practice, no source)
MOST_MADE = 1.5


def changed_by(
    device: Device, change: Change, own: Mapping[str, Mapping[str, float]], state: str = ""
) -> Changed:
    """Element -> parameters under a change; own: what the state has changed already. Empty for health."""
    found = _whole(device, change, own)
    if change.also is not None:
        second = _whole(device, change.also, own)
        if second.keys() & found.keys():  # two parts of one rail: the second fails beside the first
            second = _whole(device, change.also, together(own, found))
        found = together(found, second)
    for source, upper, lower in device.regulated:
        if source not in found and (upper in found or lower in found):
            found = {**found, source: _regulated(device, source, upper, lower, found)}
    if change.pressed[0] and state == change.pressed[1]:
        button = change.pressed[0]
        found = {**found, button: {"closed": 1.0, **found.get(button, {})}}
    return found


def _regulated(device: Device, source: str, upper: str, lower: str, found: Changed) -> dict[str, float]:
    """What a converter makes where its feedback divider is no longer what it was: the reference stays on the lower part,
    until the converter can give no more or its controller stops it."""
    before, now = (
        {
            name: values.get(name, nominal)["ohms"]
            for name, nominal in ((n, device.elements[n].nominal()) for n in (upper, lower))
        }
        for values in ({}, found)
    )
    there = device.elements[source].nominal()
    if not now[lower] or math.isinf(now[upper]):
        return {**there, "volts": there["volts"] * MOST_MADE}
    times = (1 + now[upper] / now[lower]) / (1 + before[upper] / before[lower])
    return {**there, "volts": there["volts"] * min(times, MOST_MADE)}


def each_alone(change: Change) -> list[Identity]:
    """The identities of two failures at once, each by itself."""
    assert change.also is not None
    own = change.group[: len(change.group) - len(change.also.group)]
    return [(own, change.size, change.leg, change.pressed, None), change.also.identity]


def _whole(device: Device, change: Change, own: Mapping[str, Mapping[str, float]]) -> Changed:
    """The same of one part alone; what shorts a junction lies beside its own resistance too. Worked out once for all states that
    have left the part as it is."""
    known: dict[object, Changed] = device.kept.setdefault("changed", {})
    found = known.get(change.alone)
    if found is not None and _untouched(device, found, own):
        return found
    found = _changed(device, change, own)
    if change.mode == "short":
        bulks = [name + BULK for name in found if name + BULK in device.elements]
        found.update((name, {"ohms": 0.0}) for name in bulks)
    if _untouched(device, found, own):
        known[change.alone] = found
    return found


def _untouched(device: Device, names: Iterable[str], own: Mapping[str, Mapping[str, float]]) -> bool:
    """Whether a state has left elements as they are."""
    for name in names:
        there = own.get(name)
        if there is not None and not there.items() <= device.elements[name].nominal().items():
            return False
    return True


def _changed(device: Device, change: Change, own: Mapping[str, Mapping[str, float]]) -> Changed:
    if change.sound:
        return {}
    mode = f"{change.mode} {change.leg}".strip()
    if change.element:
        element = device.system.elements.get(change.element) or device.elements[change.element]
        if isinstance(element, Bridge):
            return {
                element.name: element.failed(_there(element, own), change.mode, change.size),
                **_held_there(device, change, own),
            }
        found: Changed = {element.name: element.failed(_there(element, own), mode, change.size)}
        for other in device.of_part(change.block, change.key) if change.key else ():
            if change.key in other.wear:  # one diode of a bridge, and the rail that it feeds
                worn = other.worn(_there(other, own), change.key, mode, change.size)
                found.update({other.name: worn} if worn is not None else {})
        return found
    found = {}
    for element in device.of_part(change.block, change.key) if change.block else ():
        if any(name in found for name in _before(element.name)):
            continue
        worn = element.worn(_there(element, own), change.key, mode, change.size)
        if worn is not None:
            found[element.name] = worn
    return found


def _held_there(device: Device, change: Change, own: Mapping[str, Mapping[str, float]]) -> Changed:
    """A comparator whose inputs are joined, on the side where its feedback holds it."""
    held = device.of_part(change.block, "comparator") if change.leg else []
    return {e.name: e.failed(_there(e, own), f"held {change.leg}") for e in held}


def _there(element: Element, own: Mapping[str, Mapping[str, float]]) -> dict[str, float]:
    return {**element.nominal(), **own.get(element.name, {})}


def _before(name: str) -> tuple[str, ...]:
    """Of parts that a block has several of (the diodes of a bridge) one fails: the name without its number."""
    first, numbered, _ = name.partition("#")
    return (first,) if numbered else ()


def put_by(device: Device, place: Place, own: Mapping[str, Mapping[str, float]]) -> Changed:
    """What has to be done to the circuit for a place: a sensor unplugged, one in the dark, a motor held still."""
    found: Changed = {}
    for key, mode in place.failed:
        for element in device.of_block(place.block):
            if element.key == key:
                found[element.name] = element.failed(_there(element, own), mode)
    for key, number, value in place.put:
        for element in device.of_block(place.block):
            if element.key == key:
                found[element.name] = {**found.get(element.name, {}), number: value}
    return found
