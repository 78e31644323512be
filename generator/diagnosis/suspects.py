"""The parts of a device that may have failed, each with the ways in which its elements can."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING

from generator.circuit.device.apart import is_joint, is_pin
from generator.circuit.network import chips, junctions, mains, passive, sources
from generator.diagnosis.coldnet import rail_name, rails
from generator.diagnosis.hypotheses import HEALTH_WEIGHT, RAIL_OHMS, WEIGHTS, Change, changes_of
from generator.diagnosis.spots import net_name
from generator.notation.parts import ELECTROLYTIC_FROM, Part, each_of, type_of_capacitor

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.circuit.network.element import Element

HELD_SHARE = 0.04  # share of readings taken with a button held, in a state of which the note does not say so; common practice, no source
# ohm from which a resistor's film is so thin that it breaks up, and up to which one burns through (common practice, no
# source)
HIGH_OHM, LOW_OHM = 1e5, 1e3
PACK = "cells"  # the key of what stands for a battery as a whole
MOST_MEMBERS = 7  # of a string of LEDs, told apart one by one; of longer ones the first stands for all
_BY_TYPE: tuple[tuple[type, str], ...] = (
    (passive.Bridge, "bridge"), (sources.Load, "load"), (mains.Plugged, "load"), (sources.Pin, "chip"), (sources.Source, "source"),
    (passive.Capacitor, "capacitor"), (passive.Winding, "winding"), (passive.Contact, "contact"), (passive.Resistor, "resistor"),
    (junctions.Diode, "diode"), (junctions.Transistor, "transistor"), (junctions.Mosfet, "mosfet"), (chips.Coupler, "optocoupler"),
    (chips.Regulator, "chip"), (chips.Amplifier, "chip"), (mains.Transformer, "winding"),
)  # fmt: skip
# a dead regulator takes its own current as before, or none; of a motor gone high it is the winding, or the film on its
# brushes, which is nothing to its running current
_TWO_WAYS: tuple[tuple[type, tuple[str, str]], ...] = (
    (chips.Regulator, ("open", "output")), (sources.Motor, ("high", "brushes")),
)  # fmt: skip


def suspects(device: Device) -> list[Change]:
    """Every single failure of the device, in the order of its parts; health is not among them. Kept with the device."""
    if "suspects" not in device.kept:
        device.kept["suspects"] = _suspects(device)
    return list(device.kept["suspects"])


def _suspects(device: Device) -> list[Change]:
    found: list[Change] = []
    seen: set[tuple[str, str]] = set()
    for element in device.elements.values():
        beyond = is_pin(device, element) or is_joint(element)  # of any block
        own = "pin" if beyond else _one_of_several(element, seen)
        if own:
            found += changes_of(own, WEIGHTS[own], block=element.block, key=element.key, called=element.called,
                                element=element.name)  # fmt: skip
        elif (element.block, element.key) not in seen and element.key:
            seen.add((element.block, element.key))
            found += _of_part(device, element)
        for key, (called, modes) in element.wear.items():
            if (element.block, key) not in seen and not any(
                (e.block, e.key) == (element.block, key) for e in device.elements.values()
            ):
                seen.add((element.block, key))
                part_class = class_of(device, element, key)
                found += changes_of(part_class, modes, block=element.block, key=key, called=called)
    for block in device.blocks.values():  # parts that only their block's own formulas know
        for part in block.failing_parts:
            if (block.name, part.key) not in seen:
                own = part.part_class if part.part_class in WEIGHTS else "any"
                found += changes_of(own, part.modes, block=block.name, key=part.key, called=part.called)
    for a, b, name in device.bridges:
        called = f"{net_name(device, a)} ~ {net_name(device, b)}"
        joint = f"{a} ~ {b}"
        bridged = changes_of("bridge", ("bridge",), block=name, key=joint, called=called, element=joint)
        if _holds_itself(device, name, {a, b}):
            legs = ("high", "low")
            bridged = [replace(one, leg=leg, weight=one.weight / 2) for one in bridged for leg in legs]
        found += bridged
    return found


def _holds_itself(device: Device, block: str, joined: set[str]) -> bool:
    """Whether nets that are joined are the two inputs of a comparator whose output feeds back: it stays on either side."""
    if not {f"{block}.feedback", f"{block}.comparator"} <= device.elements.keys():
        return False
    inputs = (f"{block}.{name}" for name in ("input", "reference", "_signal", "_reference", "_plus"))
    return joined <= {device.net(name) for name in inputs if name in device.all_nets}


def one_of_a_bridge(device: Device, pairs: Collection[tuple[str, str]]) -> list[Change]:
    """Open and shorted diodes of a rectifier that were measured themselves, between these nets: "D1-D4" is any of them, but a
    meter on D3 tells D3 from the rest."""
    asked = {frozenset(pair) for pair in pairs}
    found: list[Change] = []
    for element in device.elements.values():
        if not isinstance(element, junctions.Diode) or not element.ac or frozenset(element.nets) not in asked:
            continue
        alike = [
            e for e in device.elements.values() if (e.block, e.key) == (element.block, element.key) and e.ac
        ]
        names = each_of(element.called, len(alike))
        if len(alike) > 1 and names:
            changes = changes_of("diode", ("open", "short"), block=element.block, key=element.key,
                                 called=names[alike.index(element)], element=element.name)  # fmt: skip
            others = [e for e in device.elements.values() if e.block == element.block]
            bears = any(_one_bears(other, element.key) for other in others)
            found += [
                replace(change, leg=leg, weight=change.weight / len(alike) / len(legs))
                for change in changes
                for legs in [("", "one") if bears and change.mode == "short" else ("",)]
                for leg in legs
            ]
    return found


def _one_of_several(element: Element, seen: set[tuple[str, str]]) -> str:
    """The class of an LED that stands behind others of its string and goes by a designator of its own."""
    if not isinstance(element, junctions.Diode) or element.emission != junctions.EMISSION["led"]:
        return ""
    place = element.name.partition("#")[2]
    return "led" if place and int(place) <= MOST_MEMBERS and (element.block, element.key) in seen else ""


def _of_part(device: Device, element: Element) -> list[Change]:
    if not (element.called or element.modes) or isinstance(element, sources.Rail):
        return []
    if isinstance(element, sources.Load) and not element.amperes.value:
        return []  # all of it is what is joined
    part_class = class_of(device, element, element.key)
    alike = [e for e in device.elements.values() if (e.block, e.key) == (element.block, element.key)]
    others = [e for e in device.elements.values() if e.block == element.block]
    modes = [
        mode
        for mode in WEIGHTS.get(part_class, WEIGHTS["any"])
        if any(_takes(e, mode) for e in alike)
        or any(mode in other.wear.get(element.key, ("", {}))[1] for other in others)
    ]
    ohms = element.ohms.value if isinstance(element, passive.Resistor) else math.inf
    called = next((e.called for e in alike if e.called), "")
    found = changes_of(part_class, modes, block=element.block, key=element.key, called=called, ohms=ohms)
    mode, leg = next((own for sort, own in _TWO_WAYS if isinstance(element, sort)), ("", ""))
    if isinstance(element, junctions.Diode) and any(_one_bears(other, element.key) for other in others):
        mode, leg = "short", "one"
    both = [(change, ("", leg) if change.mode == mode else (change.leg,)) for change in found]
    return [
        own if len(legs) == 1 else replace(own, leg=one, weight=own.weight / len(legs))
        for own, legs in both
        for one in legs
    ]


def _one_bears(rail: Element, key: str) -> bool:
    """Whether a rail goes on, in half-waves, where one of the diodes that feed it is shorted: if nothing blows."""
    return "short one" in rail.wear.get(key, ("", {}))[1]


def _takes(element: Element, mode: str) -> bool:
    try:
        changed = element.failed(element.nominal(), mode) != element.nominal()
        # one that is closed may be stuck so in another state
        return changed or isinstance(element, passive.Contact)
    except (KeyError, ValueError, TypeError):
        return False


def class_of(device: Device, element: Element, key: str) -> str:
    """The class of a part, as hypotheses.WEIGHTS has it."""
    if isinstance(element, passive.Inside):
        return "controller"
    block = device.blocks.get(element.block)
    part = block.part(key) if block is not None else None
    failing = (
        next((own for own in block.failing_parts if own.key == key), None) if block is not None else None
    )
    found = failing.part_class if failing else part.part_class if isinstance(part, Part) else ""
    if found == "any" or found not in WEIGHTS:
        found = next((name for sort, name in _BY_TYPE if isinstance(element, sort)), "any")
    if isinstance(element, sources.Load) and block is not None and block.kind.name == "microcontroller":
        return "chip's current"
    if found == "winding" and isinstance(element, sources.Motor):
        return "motor"
    if found == "source" and key == PACK:
        return "pack"
    if found == "source" and element.ac:
        return "mains"
    if found == "resistor" and isinstance(element, passive.Resistor):
        ohms = element.ohms.value
        return "high-ohm resistor" if ohms >= HIGH_OHM else "low-ohm resistor" if ohms <= LOW_OHM else found
    if found == "capacitor" and _electrolytic(part, element):
        return "electrolytic"
    if found == "capacitor" and element.ac:
        return "mains capacitor"
    return found


def _electrolytic(part: Part | None, element: Element) -> bool:
    said = type_of_capacitor(part.words) if part is not None else ""
    if said:
        return said == "electrolytic"
    farads = getattr(element, "farads", None)
    return farads is not None and farads.value >= ELECTROLYTIC_FROM


def held_buttons(device: Device) -> list[Change]:
    """A sound device in which somebody holds one button in one state, or what turns has stopped at a sensor: no note says so, and
    it is no fault. Or one with so many ohms from a rail to its common, the plug out: what chips let through that nothing drives."""
    contacts = [e for e in device.elements.values() if isinstance(e, passive.Contact)]
    buttons = [e for e in contacts if not (e.coil or e.rest or e.ac)]
    held = HEALTH_WEIGHT * HELD_SHARE / max(1, sum(not e.free for e in buttons))
    return [
        Change(weight=HEALTH_WEIGHT if e.free else held, pressed=(e.name, state.name))
        for e in buttons
        for state in device.states
    ] + [
        Change(weight=HEALTH_WEIGHT / len(RAIL_OHMS), pressed=(rail_name(*nets), ohms), size=float(ohms))
        for nets in rails(device)
        for ohms in RAIL_OHMS
    ]


def held_share(device: Device, held: Change) -> float:
    """How likely it is beside a device in which nothing is held, whatever has failed."""
    element = device.elements.get(held.pressed[0])
    button = isinstance(element, passive.Contact) and not element.free
    return HELD_SHARE if button else held.weight / HEALTH_WEIGHT
