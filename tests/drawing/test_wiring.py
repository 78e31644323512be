"""Each drawing's connections against the kind's own wiring, so that a drawing cannot differ from what is computed.

The sheet knows its wires; the network knows its nets. Both are brought to the same form: for every net, the parts with
a designator that lie on it, and which of them lies there with its anode, base, collector, emitter, gate, drain, source.
"""

from __future__ import annotations

from collections.abc import Iterable

import pytest
from kind_cases import EVERY_SORT, every_case

from generator.circuit import catalogue
from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.circuit.converter import Link
from generator.circuit.device import Told, work_out
from generator.circuit.network.element import Element
from generator.circuit.network.junctions import Diode, Mosfet, Transistor
from generator.circuit.network.newton import operating_points
from generator.circuit.network.sources import Rail
from generator.circuit.network.wiring import wire
from generator.circuit.sheet import Line
from generator.drawing import symbols
from generator.drawing.layout import Layout
from generator.drawing.sheet import Sheet
from tests.circuit.network.alone import Alone

Point = tuple[float, float]
HALF = symbols.LENGTH * symbols.UNIT / 2
# the arrow of a current and the volts of a node: wire, no part
WIRES = {symbols.two_terminal(word, way).svg for word in ("current", "node") for way in ("left", "right")}
# what a drawing calls parts of which the network has several, or which go by another role there
DRAWN_AS = {
    "cells": "battery",
    "one cell": "battery",
    "a cell of the battery": "battery",
    "cell": "battery",
    "pack": "protection",
    "brushes": "M1",
}


TERMINALS = ("base", "collector", "emitter", "gate", "drain", "source")


class Drawn:
    """The nets of a sheet: polylines of wire, and the ends of parts that lie on them."""

    def __init__(self, block: Block) -> None:
        sheet = Sheet()
        block.kind.draw(block, sheet)
        self.layout = Layout(sheet)
        self.wires: list[list[Point]] = []
        self.ends: list[tuple[str, Point]] = []
        self.dots = [self.layout.point(place) for place in sheet.dots]
        for places in sheet.wires:
            self.wires.append(self._bent([self.layout.point(p) for p in places]))
        for v in sheet.verticals:
            x, top, bottom = self.layout.x[v.column], self.layout.y[v.first], self.layout.y[v.last]
            middle = (self.layout.y[v.segment[0]] + self.layout.y[v.segment[1]]) / 2
            ends = ((x, top), (x, middle - HALF), (x, middle + HALF), (x, bottom))
            self._two(named(v.lines), *ends, turned=v.symbol.box[1] < -1)
        for h in sheet.horizontals:
            y, first, last = self.layout.y[h.row], self.layout.x[h.first], self.layout.x[h.last] - h.short
            middle = (first + last) / 2
            name = named(h.lines)
            if h.symbol.svg in WIRES:
                self.wires.append([(first, y), (last, y)])
            else:
                ends = ((first, y), (middle - HALF, y), (middle + HALF, y), (last, y))
                self._two(name, *ends, turned=h.symbol.box[0] < -1)
        for d in sheet.devices:
            x, y = self.layout.x[d.column] + d.origin[0], self.layout.y[d.row] + d.origin[1]
            for anchor, (dx, dy) in d.symbol.anchors.items():
                if anchor not in ("center", "vd", "vs", "tapS2"):
                    self.ends.append((named(d.lines), (x + dx, y + dy)))
                    if named(d.lines) and anchor in TERMINALS:
                        self.ends.append((f"{named(d.lines)} {anchor}", (x + dx, y + dy)))

    @staticmethod
    def _bent(points: list[Point]) -> list[Point]:
        """A wire runs along the row first, then the column."""
        path = [points[0]]
        for x, y in points[1:]:
            if abs(x - path[-1][0]) > 0.01 and abs(y - path[-1][1]) > 0.01:
                path.append((x, path[-1][1]))
            path.append((x, y))
        return path

    def _two(self, name: str, a: Point, a_end: Point, b_end: Point, b: Point, *, turned: bool) -> None:
        """turned: its symbol points up or left; where a symbol begins, a diode has its anode."""
        self.wires += [[a, a_end], [b_end, b]]
        self.ends += [(name, a_end), (name, b_end)]
        if name:
            self.ends.append((f"{name} anode", b_end if turned else a_end))

    def _meets(self, end: Point, other: list[Point]) -> bool:
        """Whether the end of a wire joins another: at its end or corner, at a dot, or as a T; a cross without a dot does
        not join."""
        if not on(end, other) or any(close(end, corner) for corner in other):
            return on(end, other)
        here = sum(close(end, tip) for wire in self.wires for tip in (wire[0], wire[-1]))
        here += any(close(end, tip) for _name, tip in self.ends)  # where a part's lead goes on as a wire
        return here < 2 or any(close(end, dot) for dot in self.dots)

    def arms(self, point: Point) -> int:
        """How many wires and leads come to a point, by the ways in which they leave it."""
        ways: set[str] = set()
        x, y = point
        for path in self.wires:
            for (ax, ay), (bx, by) in zip(path, path[1:]):
                if on(point, [(ax, ay), (bx, by)]) and abs(ay - by) < 0.3:
                    ways |= {"left"} if min(ax, bx) < x - 0.3 else set()
                    ways |= {"right"} if max(ax, bx) > x + 0.3 else set()
                elif on(point, [(ax, ay), (bx, by)]):
                    ways |= {"up"} if min(ay, by) < y - 0.3 else set()
                    ways |= {"down"} if max(ay, by) > y + 0.3 else set()
        parts = {
            name
            for name, tip in self.ends
            if close(tip, point) and name.split(" ")[-1] not in (*TERMINALS, "anode")
        }
        return len(ways) + len(parts)

    def nets(self) -> list[frozenset[str]]:
        """The parts on each net."""
        parent = list(range(len(self.wires)))

        def root(n: int) -> int:
            while parent[n] != n:
                n = parent[n]
            return n

        for n, one in enumerate(self.wires):
            for m, other in enumerate(self.wires[:n]):
                if any(self._meets(p, other) for p in (one[0], one[-1])) or any(
                    self._meets(p, one) for p in (other[0], other[-1])
                ):
                    parent[root(n)] = root(m)
        found: dict[object, set[str]] = {}
        for position, (name, point) in enumerate(self.ends):
            ending = {root(n) for n, path in enumerate(self.wires) if any(close(point, tip) for tip in path)}
            passing = {root(n) for n, path in enumerate(self.wires) if on(point, path)}
            for net in ending or passing or {("alone", position)}:
                found.setdefault(net, set()).add(name)
        return [frozenset(parts - {""}) for parts in found.values()]


def close(one: Point, other: Point) -> bool:
    """Whether two points are one."""
    return abs(one[0] - other[0]) < 0.3 and abs(one[1] - other[1]) < 0.3


def on(point: Point, path: list[Point]) -> bool:
    """Whether a point lies on a polyline, its ends and corners included."""
    x, y = point
    for (ax, ay), (bx, by) in zip(path, path[1:]):
        if min(ax, bx) - 0.3 <= x <= max(ax, bx) + 0.3 and min(ay, by) - 0.3 <= y <= max(ay, by) + 0.3:
            return True
    return len(path) == 1 and close(path[0], point)


def named(lines: Iterable[Line]) -> str:
    """The designator of a label, else the role by which the part goes, "" where it has neither."""
    found = list(lines)
    designator = next((line.of or line.text for line in found if line.style == "d"), "")
    return designator or next((line.text for line in found if line.style == "r"), "")


def computed(block: Block) -> list[frozenset[str]]:
    """The parts on each net of the kind's own wiring."""
    wired = wire(block, set())
    if wired is None:
        return []
    parent: dict[str, str] = {}

    def root(net: str) -> str:
        net = net if "." in net else f"{block.name}.{net}"
        while net in parent:
            net = parent[net]
        return net

    # nets that are one; and a junction's own resistance, which is a part of the part
    inner = [e.nets for e in wired.elements if not e.called and any(net.endswith(" bulk") for net in e.nets)]
    # the resistance of a pack without protection is that of its cells
    inner += [
        e.nets for e in wired.elements if e.called == "pack" and block.inputs.get("fet_resistance") is None
    ]
    for one, other in [*wired.same, *inner]:
        if root(one) != root(other):
            parent[root(one)] = root(other)
    found: dict[str, set[str]] = {}
    for element in wired.elements:
        for net in element.nets:
            # a converter is a behaviour in the network, no wiring of its coil and switch; a rectified rail stands for its
            # diodes as a whole, which lie on neither of its commons by themselves
            whole = isinstance(element, (Rail, Link))
            found.setdefault(root(net), set()).add(
                "" if whole else DRAWN_AS.get(element.called, element.called)
            )
        for terminal, net in terminals(element):
            found[root(net)].add(f"{element.called} {terminal}")
    return [frozenset(parts - {""}) for parts in found.values()]


def terminals(element: Element) -> list[tuple[str, str]]:
    """The terminals of a part that differ from each other, each with its net."""
    if isinstance(element, Diode):
        return [("anode", element.anode)]
    if isinstance(element, (Transistor, Mosfet)):
        return [(name, getattr(element, name)) for name in TERMINALS if hasattr(element, name)]
    return []


def shared(nets: list[frozenset[str]], parts: set[str]) -> set[frozenset[str]]:
    """The nets on which two or more of the parts meet; several diodes in series are drawn as one part."""
    found = {net & parts for net in nets}
    return {net for net in found if len({name.partition(" ")[0] for name in net}) > 1}


def cases() -> list[tuple[str, int]]:
    return [(name, n) for name in catalogue.names() for n in range(1 + len(catalogue.kind(name).variants))]


@pytest.mark.parametrize(("name", "number"), cases())
def test_what_is_drawn_is_what_is_computed(name: str, number: int) -> None:
    kind = catalogue.kind(name)
    changes = {} if number == 0 else kind.variants[number - 1].changes
    block, troubles = build_block(name, kind.example_with(changes), Mains())
    assert block is not None, troubles
    wired, drawn = computed(block), Drawn(block).nets()
    parts = {part for net in wired for part in net} & {part for net in drawn for part in net}
    if (
        "R5-R7" in parts
    ):  # a balancer: one resistor and one cell stand for all, and the transistors are in a chip
        parts -= {"R5-R7", "protection"}
    if len(parts) < 2:
        pytest.skip("not wired, or nothing that two nets could tell apart")
    assert shared(drawn, parts) == shared(wired, parts)


def test_a_network_is_drawn_as_it_is_computed() -> None:
    device = work_out({"net": {"kind": "network", "parts": EVERY_SORT}}, Mains(), Told())
    assert not device.circuit.troubles, device.circuit.troubles
    nets: dict[str, set[str]] = {}
    for element in device.elements.values():
        for net in element.nets:
            nets.setdefault(net, set()).add(element.called)
        for terminal, net in terminals(element):
            nets[net].add(f"{element.called} {terminal}")
    drawn = Drawn(device.circuit.blocks["net"]).nets()
    chips = {"U5", "U6"}  # boxes with named pins
    parts_of_both = {part for net in nets.values() for part in net} - chips
    told = shared([frozenset(net) for net in nets.values()], parts_of_both)
    assert len(told) > 10 and shared(drawn, parts_of_both) == told


# Currents that the network of a block by itself does not show: of alternating current, of a sensor that nothing passes, of
# a balancer that waits.
AT_REST = {"capacitor_current", "sink_current", "balance_current"}


@pytest.mark.parametrize(("name", "number"), cases())
def test_a_current_stands_on_the_branch_that_carries_it(name: str, number: int) -> None:
    """A current written at a part is that which the network of the block has in that part (Kirchhoff)."""
    kind = catalogue.kind(name)
    changes = {} if number == 0 else kind.variants[number - 1].changes
    block, troubles = build_block(name, kind.example_with(changes), Mains())
    assert block is not None, troubles
    sheet = Sheet()
    kind.draw(block, sheet)
    told = [(named(own.lines), line.of) for own in (*sheet.verticals, *sheet.horizontals) for line in own.lines
            if line.flows and line.of in block.values]  # fmt: skip
    wired = wire(block)
    if not told or wired is None:
        pytest.skip("no current is told at a part, or it is not wired")
    alone = Alone(block)
    for part, value in told:
        element = next((e for e in alone.elements if e.called == part), None)
        if element is None or element.ac or value.startswith("peak") or value in AT_REST:
            continue  # of a pulsed current the network has the mean
        if name == "solenoid" and block.point.feed != "dc":
            continue
        here = abs(float(operating_points(alone.system, [{}]).amperes(element.name)[0]))
        wanted = abs(block.values[value].value or 0.0)
        assert here == pytest.approx(wanted, rel=0.01), (part, value)


@pytest.mark.parametrize("number", range(3))
def test_a_droppers_current_stands_before_the_clamp(number: int) -> None:
    """The clamp takes what the load leaves (Kirchhoff), so that behind it the branch carries less."""
    kind = catalogue.kind("capacitive-dropper")
    changes = {} if number == 0 else kind.variants[number - 1].changes
    block, troubles = build_block("capacitive-dropper", kind.example_with(changes), Mains())
    assert block is not None, troubles
    sheet = Sheet()
    kind.draw(block, sheet)
    told = [column for column, lines in sheet.tags if any(line.of == "current" for line in lines)]
    clamp = [v.column for v in sheet.verticals if named(v.lines) == "ZD1"]
    assert len(told) == len(clamp) == 1 and told[0] <= clamp[0]


@pytest.mark.parametrize("name", sorted({name for name, _ in every_case()}))
def test_a_dot_stands_where_three_lines_meet(name: str) -> None:
    """IEC 61082: a dot joins; where two ends meet, or none, it says nothing or something wrong. A transformer's dots mark how it
    is wound."""
    for given in (given for kind, given in every_case() if kind == name):
        block, _troubles = build_block(name, given, Mains())
        drawn = Drawn(block) if block is not None else None
        idle = [dot for dot in drawn.dots if drawn.arms(dot) < 3] if drawn else []
        assert [dot for dot in idle if name != "flyback-supply" or drawn and drawn.arms(dot)] == []
