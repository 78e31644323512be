"""A load that a note has joined beside a triac, between its load and neutral, instead of between live and the triac."""

from __future__ import annotations

from typing import TYPE_CHECKING

from generator.circuit.device.nets import islands
from generator.circuit.network.mains import Plugged, Triac
from generator.circuit.network.passive import Resistor, Winding
from generator.problems import WARNING, Trouble

if TYPE_CHECKING:
    from generator.circuit.device.device import Device

A_LOAD = 1e5  # ohm: more is what empties a capacitor, or a meter


def loads_beside_triacs(device: Device) -> list[Trouble]:
    """A warning for each triac between whose load and neutral another block's load lies, the triac not being its own way there."""
    triacs = [own for own in device.elements.values() if isinstance(own, Triac)]
    driving = {own.block for own in triacs}
    loads = [own for own in device.side.elements.values() if own.block not in driving and _is_load(own)]
    found = []
    for triac in triacs:
        live = device.net(f"{triac.block}.live")
        nets = {net for own in loads for net in own.nets} | {triac.a, triac.b}
        island = islands([[net for net in own.nets if net != live] for own in loads], nets)
        if triac.a == live or island(triac.a) != island(triac.b):
            continue
        names = sorted(
            {own.block for own in loads if live not in own.nets and island(own.nets[0]) == island(triac.a)}
        )
        what = f"{' and '.join(names)}: between {triac.block}.load and neutral, beside the triac, which does not switch it"
        hint = f"the load lies between live and {triac.block}.load, the triac between there and neutral: join its other end to live"
        found.append(Trouble(("blocks", triac.block), what, hint, WARNING))
    return found


def _is_load(own: object) -> bool:
    return isinstance(own, Winding | Plugged) or isinstance(own, Resistor) and own.ohms.value < A_LOAD
