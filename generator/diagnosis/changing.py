"""A change of one part as changed parameters of the network's elements."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from generator.circuit.device import Device, Place
    from generator.circuit.network.element import Element
    from generator.diagnosis.hypotheses import Change

Changed = dict[str, dict[str, float]]


def changed_by(
    device: Device, change: Change, own: Mapping[str, Mapping[str, float]], state: str = ""
) -> Changed:
    """Element -> parameters under a change; own: what the state has changed already. Empty for health."""
    if change.pressed[0]:
        return {change.pressed[0]: {"closed": 1.0}} if state == change.pressed[1] else {}
    if change.also is not None:
        first, second = (
            changed_by(device, replace(change, also=None), own),
            changed_by(device, change.also, own),
        )
        return {name: {**first.get(name, {}), **second.get(name, {})} for name in {**first, **second}}
    if not change.block and not change.element:
        return {}
    if change.element:
        element = device.system.elements.get(change.element) or device.elements[change.element]
        p = {**element.nominal(), **own.get(element.name, {})}
        return {element.name: element.failed(p, change.mode, change.size)}
    found: Changed = {}
    for element in elements_of(device, change.block):
        p = {**element.nominal(), **own.get(element.name, {})}
        if any(name in found for name in _before(element.name)):
            continue
        if (worn := element.worn(p, change.key, change.mode, change.size)) is not None:
            found[element.name] = worn
    return found


def elements_of(device: Device, block: str) -> list[Element]:
    """The elements of a block."""
    return [element for element in device.elements.values() if element.block == block]


def _before(name: str) -> tuple[str, ...]:
    """Of parts that a block has several of (the diodes of a bridge) one fails: the name without its number."""
    first, numbered, _ = name.partition("#")
    return (first,) if numbered else ()


def put_by(device: Device, place: Place, own: Mapping[str, Mapping[str, float]]) -> Changed:
    """What has to be done to the circuit for a place: a sensor unplugged, one in the dark, a motor held still."""
    found: Changed = {}
    for key, mode in place.failed:
        for element in elements_of(device, place.block):
            if element.key == key:
                found[element.name] = element.failed({**element.nominal(), **own.get(element.name, {})}, mode)
    for key, number, value in getattr(place, "put", ()):
        for element in elements_of(device, place.block):
            if element.key == key:
                found[element.name] = {**found.get(element.name, {}), number: value}
    return found
