"""A note's blocks as one device, for machines: states and nets in note.json, and the network as a netlist beside it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from generator.circuit.device import NOTHING, Device, assemble
from generator.circuit.device.netlist import netlist
from generator.circuit.device.results import nets
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


@dataclass(frozen=True)
class Whole:
    """What page and data say of the device as a whole, solved once. device: None where there is no network."""

    device: Device | None
    states: tuple[str, ...] = ()
    nets: dict[str, Any] = field(default_factory=dict)
    netlist: str = ""  # device.cir: the network in SPICE's syntax


def whole(note: Note) -> Whole:
    """The device of a note's blocks; everything empty where there is no network."""
    device = solved_device(note)
    if device is None:
        return Whole(None)
    return Whole(device, tuple(state.name for state in device.states), nets(device), netlist(device))
