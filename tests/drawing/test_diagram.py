"""Block diagrams of made-up devices: every block one box, none on another, lines from box to box, all within the edge."""

from __future__ import annotations

import random
from itertools import combinations

import pytest

from generator.drawing.diagram import BlockDiagram, Box, Node, block_diagram

GROUPS = ("Power", "Power", "Sensing", "Timing", "Switching", "Motors and heaters")


def device(chance: random.Random, controllers: int) -> list[Node]:
    """Up to sixteen blocks, each of which feeds some of those behind it; power first."""
    count = chance.randint(1, 16)
    groups = sorted((chance.choice(GROUPS) for _ in range(count)), key=GROUPS.index)
    names = [f"b{n}" for n in range(count)] + [f"c{n}" for n in range(controllers)]
    nodes = []
    for n, name in enumerate(names):
        behind = (
            names[n + 1 :] if n < count else [own for own in names[:count] if groups[int(own[1:])] != "Power"]
        )
        feeds = tuple(chance.sample(behind, min(len(behind), chance.randint(0, 3))))
        group = groups[n] if n < count else "Controllers"
        rail = chance.choice(("", "5 V"))
        nodes.append(
            Node(name, n + 1, name, group, rail=rail, feeds=feeds, controls=n >= count, failed=not n)
        )
    return nodes


def at_a_side(box: Box, x: float, y: float) -> bool:
    across, down = box.x - 1 <= x <= box.x + box.width + 1, box.y - 1 <= y <= box.y + box.height + 1
    upright = min(abs(x - box.x), abs(x - box.x - box.width)) <= 5
    return across and down and (upright or min(abs(y - box.y), abs(y - box.y - box.height)) <= 5)


def drawn(controllers: int) -> list[tuple[list[Node], BlockDiagram]]:
    chance = random.Random(9 + controllers)
    return [(nodes, block_diagram(nodes)) for nodes in (device(chance, controllers) for _ in range(60))]


@pytest.mark.parametrize("controllers", (0, 1, 2))
def test_every_block_has_one_box_and_none_meets_another(controllers: int) -> None:
    """12 pixels are free around all of it and 8 between two (common practice, no source)."""
    for nodes, diagram in drawn(controllers):
        assert sorted(box.node.name for box in diagram.boxes) == sorted(node.name for node in nodes)
        for box in diagram.boxes:
            assert box.width > 40 and box.height > 20
            assert box.x >= 12 and box.y >= 12
            assert box.x + box.width <= diagram.width - 12 and box.y + box.height <= diagram.height - 12
        for a, b in combinations(diagram.boxes, 2):
            aside = a.x + a.width + 8 <= b.x or b.x + b.width + 8 <= a.x
            assert aside or a.y + a.height + 8 <= b.y or b.y + b.height + 8 <= a.y, (a, b)


@pytest.mark.parametrize("controllers", (0, 1, 2))
def test_lines_lead_from_box_to_box(controllers: int) -> None:
    """Level and upright, from the side of one box to the side of another; a rail to nothing ends before its column does."""
    for _nodes, diagram in drawn(controllers):
        for edge in diagram.edges:
            assert all(a[0] == b[0] or a[1] == b[1] for a, b in zip(edge.points, edge.points[1:])), edge
            assert all(0 <= x <= diagram.width and 0 <= y <= diagram.height for x, y in edge.points), edge
            begins, ends = (any(at_a_side(box, *edge.points[n]) for box in diagram.boxes) for n in (0, -1))
            assert begins and (ends or edge.label), edge
            if edge.label:
                continue
            sources, targets = (
                [box.node for box in diagram.boxes if at_a_side(box, *edge.points[n])] for n in (0, -1)
            )
            assert any(b.name in a.feeds or a.name in b.feeds for a in sources for b in targets), edge
            for n, before in (
                (0, 1),
                (-1, -2),
            ):  # it comes from outside the box, and ends at the edge, no further in
                assert not any(
                    box.x + 6 < edge.points[before][0] < box.x + box.width - 6
                    and box.y + 6 < edge.points[before][1] < box.y + box.height - 6
                    for box in diagram.boxes
                    if at_a_side(box, *edge.points[n])
                ), edge


def test_a_controller_is_as_tall_as_what_stands_beside_it() -> None:
    """Lines to and from it are level: it reaches from the first row beside it to the last."""
    for nodes, diagram in drawn(1):
        (own,) = (box for box in diagram.boxes if box.node.controls)
        beside = [box for box in diagram.boxes if box.node.group != "Power" and box is not own]
        fed = [box for box in beside if box.node.name in own.node.feeds]
        for box in fed:
            assert own.y <= box.y + 1 and box.y + box.height <= own.y + own.height + 1, (nodes, own, box)


def through(box: Box, a: tuple[float, float], b: tuple[float, float]) -> bool:
    """Whether a level or upright line goes through the inside of a box."""
    (left, right), (top, foot) = sorted((a[0], b[0])), sorted((a[1], b[1]))
    inside_x = left < box.x + box.width - 1 and right > box.x + 1
    return inside_x and top < box.y + box.height - 1 and foot > box.y + 1


def test_no_line_is_led_behind_a_box() -> None:
    """Where blocks stand in the order in which one feeds another, a line that is seen to enter a box ends there. Five boxes side by
    side are what a page has room for at a size that is read (common practice, no source)."""
    for _nodes, diagram in drawn(0):
        assert len({box.x for box in diagram.boxes}) <= 5
        for edge in diagram.edges:
            for a, b in zip(edge.points, edge.points[1:]):
                assert not [box.node.name for box in diagram.boxes if through(box, a, b)], edge
