"""The device as a SPICE netlist: the same network in the syntax that general circuit simulators read, first state.

Node 0 is the low-voltage common; every other common and every isolated part is tied to it by 1 G. The mains is a sine; a
rectified supply stands as a table of its solved steady state. The transient is integrated by Gear's rule: by the
trapezoidal one a capacitor that a table feeds rings from step to step, and the steps shrink to nanoseconds, as they do where a converter takes what its output
gives and volts are wanted closer than to 0.1 mV.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from generator.circuit.device.nets import is_inner, islands
from generator.circuit.network.chips import Amplifier
from generator.circuit.network.element import Element
from generator.circuit.network.junctions import Diode, Mosfet
from generator.circuit.network.passive import Bridge, Capacitor

if TYPE_CHECKING:
    from generator.circuit.device.device import Device

TIE = "1e9"
HOLD = "1e11"  # ohm: the insulation of a net that nothing but capacitors or inputs touch
PERIODS = 10  # of the mains, over which it settles


def netlist(device: Device, state: str = "") -> str:
    """The netlist text. state: by its name, the first for ""."""
    solved, row = device.solved, device.row(state)
    node = nodes(device)
    own = device.states[row]
    lines = [
        f"* {' '.join(device.blocks)}: state {own.name}",
        "* made by benchlore from a repair note: volts at a sound device",
    ]
    for net in node:
        names = [member for member in device.members.get(net, [net]) if not is_inner(member)] or [net]
        lines.append(f"* {node[net]} = {' '.join(names)}")
    for name, element in shown(device).items():
        p = {**element.nominal(), **solved.changes[row].get(name, {})}
        lines += element.spice(p, node, word(name))
    tied = {0: None}
    for position, reference in enumerate(references(device, node)):
        if node[reference] != "0" and node[reference] not in tied.values():
            tied[position + 1] = node[reference]  # type: ignore[assignment]
            lines.append(f"Rtie{position} {node[reference]} 0 {TIE}")
    has_path = _has_path(device, node)
    held = [net for net in node if node[net] != "0" and not has_path(net)]
    lines += [f"Rhold{position} {node[net]} 0 {HOLD}" for position, net in enumerate(held)]
    lines += [".options gmin=1e-12 reltol=1e-4 abstol=1e-12 vntol=1e-4 chgtol=1e-11 method=gear", ".op"]
    if any(element.ac for element in device.elements.values()):
        lines.append(f".tran {0.005 / device.frequency:.6g} {PERIODS / device.frequency:.6g}")
        lines.append(
            ".print tran " + " ".join(f"v({node[net]})" for net in device.side.index if node[net] != "0")
        )
    return "\n".join([*lines, ".end", ""])


def shown(device: Device) -> dict[str, Element]:
    """The elements that the netlist has: no bridges, and no rectifier diodes, which are in the table of their rail."""
    return {
        name: element
        for name, element in device.elements.items()
        if not (isinstance(element, Bridge) or (element.ac and isinstance(element, Diode)))
    }


def _has_path(device: Device, node: dict[str, str]) -> Callable[[str], bool]:
    """Whether a direct current can leave a net: not through a capacitor, an amplifier's input or a gate."""
    groups: list[tuple[str, ...]] = []
    for element in shown(device).values():
        if isinstance(element, Amplifier):
            groups.append((element.output, element.supply, element.common))
        elif isinstance(element, Mosfet):
            groups.append((element.drain, element.source))
        elif not isinstance(element, Capacitor):
            groups += element.groups()
    island = islands(groups, node)
    held = {island(net) for net in references(device, node)}
    return lambda net: island(net) in held


def nodes(device: Device) -> dict[str, str]:
    """net -> node of the netlist, words without dots or spaces; the low-voltage common is 0."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for element in device.elements.values():
        for net in element.nets:
            if net in found:
                continue
            called = (
                "0" if net == (device.common or next(iter(sorted(device.mains_commons)), "")) else word(net)
            )
            while called in taken:
                called += "x"
            found[net] = called
            taken.add(called)
    return found


def references(device: Device, node: dict[str, str]) -> list[str]:
    """One net of every island, its common where it has one."""
    groups = [group for e in shown(device).values() for group in e.groups()]
    island = islands(groups, node)
    first: dict[str, str] = {}
    for net in [*device.commons, *node]:
        if net in node:
            first.setdefault(island(net), net)
    return list(first.values())


def word(name: str) -> str:
    """A name as SPICE takes it."""
    return re.sub(r"[^A-Za-z0-9]+", "_", name).strip("_").lower()
