"""Chain: the network that is drawn is the network that is written, by its resistance between the rails."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from nodal import Network

from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.circuit.kinds.chain import IN_A_LINE, MOST_PARTS, symbol_and_part
from generator.drawing.frame import TitleBlock
from generator.drawing.schematic import draw
from generator.drawing.sheet import Sheet
from generator.notation.part_reading import parse_part

Place = tuple[int, int]


def chain(elements: list[Any], between: tuple[str, ...] = ("12 V", "0 V")) -> Block:
    block, troubles = build_block("chain", {"elements": elements, "between": list(between)}, Mains())
    assert block is not None, troubles
    return block


def resistance(items: list[Any]) -> float:
    """Ohms from the start of a chain to the common rail, by series and parallel (Ohm's law)."""
    if not items:
        return 0.0
    first, rest = items[0], items[1:]
    if isinstance(first, str):
        return float(first.split()[1]) + resistance(rest)
    branch = resistance(first)
    return 1 / (1 / branch + 1 / resistance(rest)) if rest else branch


class Drawn:
    """The nets of a sheet: what its wires and junctions connect. A wire turns along its row first, then its column."""

    def __init__(self, block: Block) -> None:
        self.sheet = Sheet()
        block.kind.draw(block, self.sheet)
        self.parent: dict[Place, Place] = {}
        segments: list[tuple[Place, Place]] = []
        for wire in self.sheet.wires:
            path: list[Place] = []
            for place in wire:
                assert isinstance(place, tuple)
                if path and path[-1][0] != place[0] and path[-1][1] != place[1]:
                    path.append((place[0], path[-1][1]))
                path.append(place)
            segments += pairwise(path)
        for a, b in segments:
            self.join(a, b)
        for dot in self.sheet.dots:
            assert isinstance(dot, tuple)
            for a, b in segments:
                if self.on(dot, a, b):
                    self.join(dot, a)

    @staticmethod
    def on(p: Place, a: Place, b: Place) -> bool:
        return min(a[0], b[0]) <= p[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= p[1] <= max(a[1], b[1])

    def net(self, place: Place) -> Place:
        while self.parent.get(place, place) != place:
            place = self.parent[place]
        return place

    def join(self, a: Place, b: Place) -> None:
        self.parent[self.net(a)] = self.net(b)

    def resistance(self) -> float:
        """Ohms between the two ports, by nodal analysis of what is drawn."""
        top, bottom = ((p.column, p.row) for p in self.sheet.ports)
        net = Network()
        across = [((h.first, h.row), (h.last, h.row), h.lines) for h in self.sheet.horizontals]
        down = [((v.column, v.first), (v.column, v.last), v.lines) for v in self.sheet.verticals]
        for a, b, lines in across + down:
            ohm = float(lines[1].text.removesuffix(" Ω"))
            net.resistor(self.name(a, bottom), self.name(b, bottom), ohm)
        _, amperes = net.voltage("rail", self.name(top, bottom), "0", 1.0).solve()
        return 1.0 / amperes["rail"]

    def name(self, place: Place, common: Place) -> str:
        return "0" if self.net(place) == self.net(common) else str(self.net(place))


CASES = [
    ["R1 100"], ["R1 100", "R2 200", "R3 300"], ["R1 100", ["R2 200"]], [["R1 100"], "R2 200"],
    ["R1 100", ["R2 200", "R3 300"], "R4 400"], ["R1 100", ["R2 200", ["R3 300"], ["R4 400"]], ["R5 500"], "R6 600", "R7 700"],
    [["R1 100", ["R2 200"], "R3 300", ["R4 400", "R5 500"], "R6 600"], "R7 700"],
]  # fmt: skip


@pytest.mark.parametrize("elements", CASES)
def test_drawn_network_has_the_resistance_that_is_written(elements: list[Any]) -> None:
    assert Drawn(chain(elements)).resistance() == pytest.approx(resistance(elements), rel=1e-4)


def _trees(depth: int) -> st.SearchStrategy[list[Any]]:
    part = st.integers(1, 999).map(lambda n: f"R{n} {n}")
    return st.lists(st.one_of(part, _trees(depth - 1)) if depth else part, min_size=1, max_size=4)


def _count(items: list[Any]) -> int:
    return sum(1 if isinstance(item, str) else _count(item) for item in items)


@settings(max_examples=60, deadline=None)
@given(_trees(2).filter(lambda tree: _count(tree) <= MOST_PARTS))
def test_any_tree_is_drawn_as_it_is_written(elements: list[Any]) -> None:
    assert Drawn(chain(elements)).resistance() == pytest.approx(resistance(elements), rel=1e-4)


@settings(max_examples=60, deadline=None)
@given(_trees(2).filter(lambda tree: _count(tree) <= MOST_PARTS))
def test_no_two_symbols_stand_in_one_place(elements: list[Any]) -> None:
    sheet = Sheet()
    block = chain(elements)
    block.kind.draw(block, sheet)
    taken = [(v.column, v.first) for v in sheet.verticals]
    assert len(taken) == len(set(taken))
    lying = [(h.row, h.first) for h in sheet.horizontals]
    assert len(lying) == len(set(lying))
    assert len(taken) + len(lying) == _count(elements)


@pytest.mark.parametrize("count", [IN_A_LINE, IN_A_LINE + 1, 2 * IN_A_LINE, 2 * IN_A_LINE + 1, MOST_PARTS])
def test_long_chain_is_folded_and_still_in_series(count: int) -> None:
    elements = [f"R{n} {n}" for n in range(1, count + 1)]
    drawn = Drawn(chain(elements))
    assert drawn.resistance() == pytest.approx(count * (count + 1) / 2, rel=1e-4)
    assert max(h.last for h in drawn.sheet.horizontals) <= IN_A_LINE


@pytest.mark.parametrize("designator, symbol", [
    ("R1", "resistor"), ("C1", "capacitor"), ("D1", "diode"), ("L1", "inductor"), ("F1", "fuse"), ("SW1", "switch"), ("S1", "switch"),
    ("M1", "motor"), ("LP1", "lamp"), ("H1", "lamp"), ("B1", "battery"), ("BT1", "battery"), ("TF1", "thermal fuse"),
    ("K1", "relay coil"), ("RL2 400", "relay coil"), ("K1 contact", "switch"), ("E1 1200 W", "element"), ("PB1", "button"),
    ("VR1 10k", "variable resistor"), ("VDR1 275V", "varistor"), ("FAN1", "motor"), ("X1", "unit"), ("RV1", "unit"), ("TH1", "thermistor"),
])  # fmt: skip
def test_letters_choose_the_symbol(designator: str, symbol: str) -> None:
    """Class letters of designators (IEC 81346-2 and common practice, from memory)."""
    assert symbol_and_part(parse_part(designator, "any"))[0] == symbol


def test_values_read_as_at_the_bench() -> None:
    """A value is shown in the unit of its class; what cannot be read stays as written; polarised ones show it."""
    assert symbol_and_part(parse_part("R1 4k7", "any"))[1].label == "4.7 kΩ"
    assert symbol_and_part(parse_part("C1 100u 25V", "any"))[0] == "electrolytic"
    assert symbol_and_part(parse_part("C1 100n X2", "any"))[0] == "capacitor"
    assert symbol_and_part(parse_part("R1", "any"))[1].designator == "R1"
    assert symbol_and_part(parse_part("R1 see text", "any"))[1].label == "see text"
    drawn = {letters: symbol_and_part(parse_part(f"{letters}1", "any"))[0] for letters in "RCLDFSMHBU"}
    assert [letters for letters, word in drawn.items() if word == "unit"] == ["U"]  # a chip is a box


def test_every_part_and_both_rails_are_on_the_drawing() -> None:
    elements = ["F1 2A", ["C1 100n", "R1 47"], "M1 fan"]
    root = ET.fromstring(draw(chain(elements, ("live", "neutral")), TitleBlock("Chain")).svg)
    texts = {e.text for e in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"F1", "C1", "R1", "M1", "live", "neutral", "47 Ω", "100 nF"} <= texts


def test_nothing_is_computed() -> None:
    block = chain(["R1 100"])
    assert block.values == {} and block.failures == []
    assert [p.designator for p in chain(["S1 a", ["K1 b"]]).parts] == ["S1", "K1"]


@pytest.mark.parametrize("changes, words", [
    ({"elements": [[]]}, "a branch without parts"), ({"elements": ["R1 1", []]}, "a branch without parts"),
    ({"elements": ["R1 1"] * (MOST_PARTS + 1)}, f"{MOST_PARTS + 1} parts"),
    ({"elements": [[[["R1 1"]]]]}, "nested too deep"), ({"elements": [""]}, "nothing is stated here"),
    ({"elements": ["R" * 90]}, "longer than 80"), ({"between": ["12 V"]}, "1 rails"), ({"between": ["a", "b", "c"]}, "3 rails"),
    ({"between": ""}, "chain needs between"), ({"elements": ""}, "chain needs elements"), ({"element": "R1"}, "no such parameter"),
])  # fmt: skip
def test_bad_input_is_told(changes: dict[str, Any], words: str) -> None:
    parameters = {
        k: v for k, v in {"elements": ["R1 100"], "between": ["12 V", "0 V"], **changes}.items() if v != ""
    }
    block, troubles = build_block("chain", parameters, Mains())
    assert block is None
    assert any(words in t.what and "chain" in t.what for t in troubles), troubles
