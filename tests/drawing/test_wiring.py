"""Each drawing's connections against the kind's own wiring, so that a drawing cannot differ from what is computed.

The sheet knows its wires; the network knows its nets. Both are brought to the same form: for every net, the parts with
a designator that lie on it, and which of them lies there with its anode, base, collector, emitter, gate, drain, source.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
from kind_cases import EVERY_SORT, every_case

from generator.circuit import catalogue
from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.circuit.converter import Link
from generator.circuit.device import Told, work_out
from generator.circuit.network.charging import OnCharge
from generator.circuit.network.converted import Converted
from generator.circuit.network.element import Element
from generator.circuit.network.junctions import Diode, Mosfet, Transistor
from generator.circuit.network.newton import operating_points
from generator.circuit.network.sources import Rail
from generator.circuit.network.wiring import wire
from generator.circuit.sheet import At, Line
from generator.drawing import symbols
from generator.drawing.items import BOX_PAD
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

# what a drawing writes at its edge, and the kinds' terminals that this may be
PORTS = {
    "L": ("live",), "N": ("neutral",), "PE": ("earth",), "L, through load": ("load",), "return": ("neutral",),
    "supply": ("supply", "in", "live", "plus"), "load supply": ("load_supply",), "driver": ("supply",), "0 V": ("common", "minus"),
    "input": ("in", "input"), "input common": ("in_common", "input_common"), "output": ("out", "tap"),
    "+": ("plus",), "−": ("minus", "common"), "load current": ("top",), "drive": ("drive",), "collector": ("collector",),
    "drain": ("drain",), "to the controller": ("pin",), "pin": ("pin",), "battery": ("battery", "out"),
    "reference": ("reference",), "chip supply": ("plus",), "gate drive": ("gate",), "LED lit": ("out",),
}  # fmt: skip


class Drawn:
    """The nets of a sheet: polylines of wire, and the ends of parts that lie on them."""

    def __init__(self, block: Block) -> None:
        sheet = Sheet()
        block.kind.draw(block, sheet)
        self.layout = Layout(sheet)
        self.wires: list[list[Point]] = []
        self.ends: list[tuple[str, Point]] = []
        self.leads: list[Point] = []  # of parts, chips and ports, each once
        self.ports: dict[Point, bool] = {}  # whether it stands at the right edge
        self.tags = [(self.layout.x[column], self.layout.y[0]) for column, _lines in sheet.tags]
        self.dots = [self.layout.point(place) for place in sheet.dots]
        for places in sheet.wires:
            self.wires.append(self._bent([self.layout.point(p) for p in places]))
        for v in sheet.verticals:
            x, top, bottom = self.layout.x[v.column], self.layout.y[v.first], self.layout.y[v.last]
            middle = (self.layout.y[v.segment[0]] + self.layout.y[v.segment[1]]) / 2
            ends = ((x, top), (x, middle - HALF), (x, middle + HALF), (x, bottom))
            self._two(named(v.lines), *ends, turned=v.symbol.turned)
        for h in sheet.horizontals:
            y, first, last = self.layout.y[h.row], self.layout.x[h.first], self.layout.x[h.last] - h.short
            middle = (first + last) / 2
            name = named(h.lines)
            if h.symbol.svg in WIRES:
                self.wires.append([(first, y), (last, y)])
            else:
                ends = ((first, y), (middle - HALF, y), (middle + HALF, y), (last, y))
                self._two(name, *ends, turned=h.symbol.turned)
        for d in sheet.devices:
            x, y = self.layout.x[d.column] + d.origin[0], self.layout.y[d.row] + d.origin[1]
            for anchor, (dx, dy) in d.symbol.anchors.items():
                if "second" not in anchor:
                    self.leads.append((x + dx, y + dy))
                if anchor not in ("second in", "second out"):
                    self.ends.append((named(d.lines), (x + dx, y + dy)))
                    if named(d.lines) and anchor in TERMINALS:
                        self.ends.append((f"{named(d.lines)} {anchor}", (x + dx, y + dy)))
            if "second in" in d.symbol.anchors:  # a choke, of which the network has one winding for both
                self.wires.append(
                    [
                        (x + dx, y + dy)
                        for dx, dy in (d.symbol.anchors["second in"], d.symbol.anchors["second out"])
                    ]
                )
        for b in sheet.boxes:
            x, top, bottom = (
                self.layout.x[b.column],
                self.layout.y[b.first] - BOX_PAD,
                self.layout.y[b.last] + BOX_PAD,
            )
            pins = {name: (x - b.half, self.layout.y[row]) for row, name in b.left.items()}
            pins |= {name: (x + b.half, self.layout.y[row]) for row, name in b.right.items()}
            pins |= {f"{b.top} above": (x, top), f"{b.bottom} below": (x, bottom)}
            self.leads += pins.values()
            self.ends += [(named(b.title), pin) for pin in pins.values()]
            self.ends += [(f"pin {name}", pin) for name, pin in pins.items()]
        for port in sheet.ports:
            where = self.layout.x[port.column], self.layout.y[port.row]
            self.leads.append(where)
            self.ports[where] = port.right
            called = PORTS.get(port.lines[0].text, ()) if port.lines else ()
            self.ends += [(f"terminal {own}", where) for own in called if own in block.kind.terminals]
            self.ends.append((f"port {named(port.lines)}", where))

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
        self.leads += [a_end, b_end]
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

    def ways(self, point: Point) -> set[str]:
        """The ways in which wires leave a point."""
        found: set[str] = set()
        x, y = point
        for path in self.wires:
            for (ax, ay), (bx, by) in zip(path, path[1:]):
                if on(point, [(ax, ay), (bx, by)]) and abs(ay - by) < 0.3:
                    found |= {"left"} if min(ax, bx) < x - 0.3 else set()
                    found |= {"right"} if max(ax, bx) > x + 0.3 else set()
                elif on(point, [(ax, ay), (bx, by)]):
                    found |= {"up"} if min(ay, by) < y - 0.3 else set()
                    found |= {"down"} if max(ay, by) > y + 0.3 else set()
        return found

    def arms(self, point: Point) -> int:
        """How many wires and leads come to a point, wires by the ways in which they leave it."""
        return len(self.ways(point)) + sum(close(point, lead) for lead in self.leads)

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
    # what cells stand higher by on charge is in the cells
    inner += [e.nets for e in wired.elements if isinstance(e, OnCharge)]
    for one, other in [*wired.same, *inner]:
        if root(one) != root(other):
            parent[root(one)] = root(other)
    found: dict[str, set[str]] = {}
    for element in wired.elements:
        for net in element.nets:
            # a converter is a behaviour in the network, no wiring of its coil and switch; a rectified rail stands for its
            # diodes as a whole, which lie on neither of its commons by themselves
            whole = isinstance(element, (Rail, Link, OnCharge, Converted))
            found.setdefault(root(net), set()).add(
                "" if whole else DRAWN_AS.get(element.called, element.called)
            )
        for terminal, net in terminals(element):
            found[root(net)].add(f"{element.called} {terminal}")
    for terminal in block.kind.terminals:
        if root(terminal) in found:
            found[root(terminal)].add(f"terminal {terminal}")
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


# Chips and strings that the network has as a behaviour: what is drawn of their inside is no wiring of its own there.
BEHAVIOURS = {
    "audio-stage": {"R7"},
    "buck-converter": {"U3", "switch"},
    "lithium-charger": {"charger"},
    "pulse-sensor": {"U4"},
    "led-string": {"terminal common"},  # the last of a string, behind a dashed line
    "mains-rectifier": {"terminal neutral"},  # of a doubler, which is a rail there
}
OWN_TEST = (
    "chain",
    "network",
    "microcontroller",
)  # not wired by a kind, or pins with names of the note's own


@pytest.mark.parametrize(("name", "number"), [case for case in cases() if case[0] not in OWN_TEST])
def test_what_is_drawn_is_what_is_computed(name: str, number: int) -> None:
    kind = catalogue.kind(name)
    changes = {} if number == 0 else kind.variants[number - 1].changes
    block, troubles = build_block(name, kind.example_with(changes), Mains())
    assert block is not None, troubles
    wired = computed(block)
    all_wired = {part for net in wired for part in net}
    # of a string the first LED is drawn, and the network has each by itself
    drawn = [
        frozenset(part if part in all_wired else part.replace("LD1-LD12", "LD1") for part in net)
        for net in Drawn(block).nets()
    ]
    parts = all_wired & {part for net in drawn for part in net}
    parts -= BEHAVIOURS.get(name, set())
    if (
        "R5-R7" in parts
    ):  # a balancer: one resistor and one cell stand for all, and the transistors are in a chip
        parts -= {"R5-R7", "protection"}
    if block.inputs.get("reference_resistance"):  # stands beside the terminal in words
        parts -= {"terminal reference"}
    assert len(parts) > 1, (wired, drawn)
    assert shared(drawn, parts) == shared(wired, parts)


# by hand, from the order in which the example and its variants name the parts
CHAINS = (
    ("live F1", "F1 TF1", "TF1 S1", "S1 C1 M1", "C1 R1", "R1 M1 neutral"),
    ("spring B1", "B1 S1", "S1 LP1", "LP1 case"),
    ("+12_V R1", "R1 C1 L1", "L1 C2 D1 M1", "C2 R2", "C1 R2 D1 M1 0_V"),
)


@pytest.mark.parametrize("number", range(3))
def test_a_chain_is_drawn_in_the_order_of_its_parts(number: int) -> None:
    kind = catalogue.kind("chain")
    block, troubles = build_block(
        "chain", kind.example_with(kind.variants[number - 1].changes if number else {}), Mains()
    )
    assert block is not None, troubles
    drawn = {
        frozenset(name.removeprefix("port ") for name in net if not name.endswith(" anode"))
        for net in Drawn(block).nets()
    }
    assert drawn == {frozenset(part.replace("_", " ") for part in net.split()) for net in CHAINS[number]}


@pytest.mark.parametrize("number", range(2))
def test_a_chips_pins_lead_where_the_note_says(number: int) -> None:
    """Its example: 2 heater -> heater-drive, 3 air <- air, 4 menu <- menu, 5 lamp -> heat-lamp, 1 VDD, 8 GND."""
    kind = catalogue.kind("microcontroller")
    block, troubles = build_block(
        "microcontroller", kind.example_with(kind.variants[number - 1].changes if number else {}), Mains()
    )
    assert block is not None, troubles
    nets = Drawn(block).nets()
    for pin, port in (("heater", "heater-drive"), ("air", "air"), ("menu", "menu"), ("lamp", "heat-lamp"),
                      ("VDD above", "supply"), ("GND below", "0 V")):  # fmt: skip
        assert any(f"pin {pin}" in net and f"port {port}" in net and len(net) == 3 for net in nets), (
            pin,
            nets,
        )


def networks() -> list[list[str]]:
    kind = catalogue.kind("network")
    return [EVERY_SORT, kind.example["parts"], *(own.changes["parts"] for own in kind.variants)]


@pytest.mark.parametrize("number", range(4))
def test_a_network_is_drawn_as_it_is_computed(number: int) -> None:
    device = work_out({"net": {"kind": "network", "parts": networks()[number]}}, Mains(), Told())
    assert not device.circuit.troubles, device.circuit.troubles
    nets: dict[str, set[str]] = {}
    for element in device.elements.values():
        for net in element.nets:
            nets.setdefault(net, set()).add(element.called)
        for terminal, net in terminals(element):
            nets[net].add(f"{element.called} {terminal}")
    drawn = Drawn(device.circuit.blocks["net"]).nets()
    chips = {"U5", "U6", "U7"}  # boxes with named pins
    parts_of_both = {part for net in nets.values() for part in net} - chips
    told = shared([frozenset(net) for net in nets.values()], parts_of_both)
    assert told and shared(drawn, parts_of_both) == told


# Currents that the network of a block by itself does not show: of alternating current, of a sensor that nothing passes, of
# a balancer that waits.
AT_REST = {"capacitor_current", "sink_current", "balance_current"}


# Kinds on whose drawings a direct current stands at a part of their network; on the others none does.
WITH_CURRENT = {
    "high-side-switch",
    "led-indicator",
    "led-string",
    "mosfet-switch",
    "series-pass",
    "solenoid",
    "transistor-switch",
}


@pytest.mark.parametrize("name", catalogue.names())
def test_a_current_stands_on_the_branch_that_carries_it(name: str) -> None:
    """A current written at a part is that which the network of the block has in that part (Kirchhoff)."""
    kind, compared = catalogue.kind(name), 0
    for given in (kind.example, *(kind.example_with(own.changes) for own in kind.variants)):
        block, troubles = build_block(name, given, Mains())
        assert block is not None, troubles
        sheet = Sheet()
        kind.draw(block, sheet)
        told = [(named(own.lines), line.of) for own in (*sheet.verticals, *sheet.horizontals) for line in own.lines
                if line.flows and line.of in block.values]  # fmt: skip
        if not told or wire(block) is None or (name == "solenoid" and block.point.feed != "dc"):
            continue
        alone = Alone(block)
        for part, value in told:
            element = next((e for e in alone.elements if e.called == part), None)
            if element is None or element.ac or value.startswith("peak") or value in AT_REST:
                continue  # of a pulsed current the network has the mean
            here = abs(float(operating_points(alone.system, [{}]).amperes(element.name)[0]))
            wanted = abs(block.values[value].value or 0.0)
            assert here == pytest.approx(wanted, rel=0.01), (given, part, value)
            compared += 1
    assert bool(compared) == (name in WITH_CURRENT)


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


@cache
def blocks_of(name: str) -> list[tuple[dict[str, Any], Block]]:
    """Every case of a kind that can be built."""
    built = [(given, build_block(name, given, Mains())[0]) for kind, given in every_case() if kind == name]
    return [(given, block) for given, block in built if block is not None]


@pytest.mark.parametrize("name", sorted({name for name, _ in every_case()}))
def test_lines_end_at_something_and_a_dot_joins_three(name: str) -> None:
    """IEC 61082: a dot joins; where two ends meet, or none, it says nothing or something wrong. No line ends in the open, and
    a line leaves a port away from its name. A transformer's dots mark how it is wound."""
    for _given, block in blocks_of(name):
        drawn = Drawn(block)
        idle = [dot for dot in drawn.dots if drawn.arms(dot) < 3]
        assert [dot for dot in idle if name != "flyback-supply" or drawn.arms(dot)] == []
        corners = {point for path in drawn.wires if path[0] != path[-1] for point in path}
        joints = [point for point in corners if drawn.arms(point) == 3]
        assert [point for point in joints if not any(close(point, dot) for dot in drawn.dots)] == []
        tips = {tip for path in drawn.wires if path[0] != path[-1] for tip in (path[0], path[-1])}
        tagged = [tip for tip in tips if any(close(tip, tag) for tag in drawn.tags)]
        assert [tip for tip in tips if drawn.arms(tip) < 2 and tip not in tagged] == []
        assert [tag for tag in drawn.tags if not drawn.arms(tag)] == []
        for port, right in drawn.ports.items():
            assert drawn.ways(port) <= {"left" if right else "right", "up", "down"}, port


# Kinds whose chips, coils, strings and transformers are a column or a row larger than what stands at their ends.
LARGER = {"audio-stage", "bldc-motor", "flyback-supply", "induction-motor", "led-string", "lithium-charger", "mains-rectifier",
          "microcontroller", "pulse-sensor", "sense-resistor", "triac-switch"}  # fmt: skip


@pytest.mark.parametrize("name", sorted({name for name, _ in every_case()} - {"network"}))
def test_no_column_and_no_row_of_a_drawing_stands_empty(name: str) -> None:
    """Between the first and the last something ends, joins or stands in each: a gap would be room for nothing."""
    for given, block in blocks_of(name):
        sheet = Sheet()
        block.kind.draw(block, sheet)
        places = [(p.column, p.row) if isinstance(p, At) else p for wire in sheet.wires for p in wire]
        places += [(v.column, row) for v in sheet.verticals for row in (v.first, v.last)]
        places += [(column, h.row) for h in sheet.horizontals for column in (h.first, h.last)]
        places += [(own.column, own.row) for own in (*sheet.devices, *sheet.ports)]
        places += [(b.column, row) for b in sheet.boxes for row in (b.first, b.last, *b.left, *b.right)]
        for taken in ({column for column, _ in places}, {row for _, row in places}):
            steps = [b - a for a, b in pairwise(sorted(taken))]
            assert max(steps, default=1) <= (2 if name in LARGER else 1), given
