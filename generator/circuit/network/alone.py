"""One block as a network of its own: what holds a kind's wiring and its `solve` together."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from generator.circuit.network import sources
from generator.circuit.network.element import Element
from generator.circuit.network.wiring import Probe, Wired, wire

if TYPE_CHECKING:
    from generator.circuit.block import Block
    from generator.circuit.network.newton import Point


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
    return [renamed(element, name) for element in wired.elements], {net: name(net) for net in list(one)}


def renamed(element: Element, name: Callable[[str], str]) -> Element:
    """The element with each of its nets under another name; name: a function of the net's name."""
    from dataclasses import replace

    nets: dict[str, Any] = {terminal: name(getattr(element, terminal)) for terminal in element.TERMINALS}
    if isinstance(element, sources.Rail) and element.fed:
        live, neutral, volts = element.fed
        return replace(element, **nets, fed=(name(live), name(neutral), volts))
    return replace(element, **nets)


class Alone:
    """A block's own network. Driven where it can be; switches as they are wired."""

    def __init__(self, block: Block, *, air: float = 25.0, light: float = 10.0) -> None:
        from generator.circuit.network.compile import System

        wired = wire(block, air=air, light=light)
        if wired is None:
            raise ValueError(f"{block.kind.name} has no wiring")
        self.wired = wired
        self.elements, self.one = merged(wired)
        commons = [f"{block.name}.common", *(net for net, _ in wired.commons)]
        self.commons = [self.one.get(net, net) for net in commons]
        self.system = System(self.elements, self.commons)

    def failed(self, key: str, mode: str, size: float | None = None) -> dict[str, Mapping[str, float]]:
        """The parameters that a failure of the part of that key changes, by element."""
        for element in self.elements:
            if isinstance(element, sources.Rail) and key in element.wear:
                return {element.name: element.failed(element.nominal(), mode, size, key)}
            if element.key == key:
                return {element.name: element.failed(element.nominal(), mode, size)}
        raise KeyError(key)

    def value(self, name: str, changes: Mapping[str, Mapping[str, float]] | None = None) -> float:
        """What a meter shows where the named value is measured."""
        from generator.circuit.network.newton import operating_points
        from generator.circuit.network.ohms import Unplugged

        probe = self.wired.probes[name]
        changed = dict(changes or {})
        for key, mode in probe.failed:
            changed |= self.failed(key, mode)
        if probe.how == "ohms":
            found = Unplugged(self.elements, changed).ohms(self._net(probe.plus), self._net(probe.minus))
            return probe.times * found
        return probe.times * self._read(probe, operating_points(self.system, [changed]), changed)

    def _read(self, probe: Probe, point: Point, changed: Mapping[str, Mapping[str, float]]) -> float:
        if probe.how == "volts":
            return float(point.volts(self._net(probe.plus), self._net(probe.minus))[0])
        if probe.how == "amps":
            return float(point.amperes(probe.element)[0])
        rail = self.system.elements[probe.element]
        assert isinstance(rail, sources.Rail) and rail.figures is not None
        parameters = {**rail.nominal(), **changed.get(rail.name, {})}
        return rail.figures(parameters, -float(point.amperes(rail.name)[0]))[probe.figure]

    def _net(self, net: str) -> str:
        return self.one.get(net, net)
