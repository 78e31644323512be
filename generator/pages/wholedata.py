"""A note's blocks as one device, for machines: states and nets in note.json, and the network as a netlist beside it."""

from __future__ import annotations

from typing import Any

from generator.circuit.device import NOTHING, Device, assemble
from generator.circuit.network.element import NoOperatingPoint
from generator.notes.note import Note


def solved_device(note: Note) -> Device | None:
    """The device of a note's blocks; None where nothing of it has a network, or that has no operating point."""
    device = assemble(note.circuit, note.told or NOTHING)
    if not device.elements:
        return None
    try:
        _ = device.solved
    except NoOperatingPoint:
        return None
    return device


def whole_data(note: Note) -> dict[str, Any]:
    """note.json's `states` and `nets`; both empty where there is no network."""
    device = solved_device(note)
    if device is None:
        return {"states": [], "nets": {}}
    return {"states": [state.name for state in device.states], "nets": device.nets()}


def netlist_text(note: Note) -> str:
    """device.cir: the network in SPICE's syntax, "" where there is none."""
    device = solved_device(note)
    return device.netlist() if device else ""
