"""One block as a network of its own: what holds a kind's wiring and its `solve` together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from generator.circuit.block import Block
from generator.circuit.network import sources
from generator.circuit.network.compile import System
from generator.circuit.network.described import Wired
from generator.circuit.network.element import Element
from generator.circuit.network.newton import operating_points
from generator.circuit.network.ohms import Unplugged
from generator.circuit.network.phasors import MainsSide
from generator.circuit.network.wiring import wire


def merged(wired: Wired) -> tuple[list[Element], dict[str, str]]:
    """The elements with nets that are one under one name, and name -> that name."""
    one: dict[str, str] = {}

    def name(net: str) -> str:
        while net in one:
            net = one[net]
        return net

    for a, b in wired.same:
        if name(a) != name(b):
            one[name(b)] = name(a)
    return [element.renamed(name) for element in wired.elements], {net: name(net) for net in list(one)}


class Alone:
    """A block's own network. Driven where it can be; switches as they are wired."""

    def __init__(self, block: Block, *, air: float = 25.0, light: float = 10.0) -> None:

        wired = wire(block, air=air, light=light)
        if wired is None:
            raise ValueError(f"{block.kind.name} has no wiring")
        self.wired = wired
        self.elements, self.one = merged(wired)
        commons = [f"{block.name}.common", *(net for net, _ in wired.commons)]
        self.commons = [self.one.get(net, net) for net in commons]
        self.system = System(self.elements, self.commons)
        self.mains = MainsSide(self.elements, block.mains.frequency, self.commons)

    def failed(self, key: str, mode: str, size: float | None = None) -> dict[str, Mapping[str, float]]:
        """The parameters that a failure of the part of that key changes, by element."""
        return failure(self.elements, key, mode, size)

    def value(self, name: str, changes: Mapping[str, Mapping[str, float]] | None = None) -> float:
        """What a meter shows where the named value is measured."""

        probe = self.wired.probes[name]
        changed = dict(changes or {})
        for key, mode in probe.failed:
            changed |= self.failed(key, mode)
        for key, number, put in probe.put:
            name = next(element.name for element in self.elements if element.key == key)
            changed[name] = {number: put, **changed.get(name, {})}
        plus, minus = (self.one.get(net, net) for net in (probe.plus, probe.minus))
        if probe.how == "ohms":
            return probe.times * Unplugged(self.elements, changed).ohms(plus, minus)
        if probe.element in self.mains.elements or (
            plus in self.mains.index and plus not in self.system.index
        ):
            alternating = self.mains.solve([changed])
            blown = self.mains.blown(alternating, 0)
            if blown:
                alternating = self.mains.solve([{**changed, **blown}])
            found = (
                alternating.volts(plus, minus) if probe.how == "volts" else alternating.amperes(probe.element)
            )
            return probe.times * float(found[0])
        point = operating_points(self.system, [changed])
        if probe.how == "volts":
            return probe.times * float(point.volts(plus, minus)[0])
        amperes = float(point.amperes(probe.element)[0])
        if probe.how == "amps":
            return probe.times * amperes
        rail = self.system.elements[probe.element]
        assert isinstance(rail, sources.Rail) and rail.figures is not None
        return rail.figures({**rail.nominal(), **changed.get(rail.name, {})}, -amperes)[probe.figure]


def failure(
    elements: Iterable[Element], key: str, mode: str, size: float | None = None, block: str = ""
) -> dict[str, Mapping[str, float]]:
    """What a failure of the part of a block's key changes: the element, and the rail whose steady state it is part of.

    Raises KeyError where nothing in the network fails so.
    """
    changed: dict[str, Mapping[str, float]] = {}
    for element in elements:
        if block and element.block != block:
            continue
        if any(name in changed for name in (element.name, element.name.split("#")[0])):
            continue
        if (worn := element.worn(element.nominal(), key, mode, size)) is not None:
            changed[element.name] = worn
    if not changed:
        raise KeyError(f"{key} {mode}")
    return changed
