"""The block diagram of a device: every block a box, and what leads from one to another, as places on a page.

Mains at the left, power along the top from left to right; below it what senses at the left of the controller, what it
drives at the right. Without a controller the blocks stand in the order in which one feeds another. Places are pixels;
the theme draws them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

WIDTH, HEIGHT = 148.0, 52.0  # of a box
ACROSS, BETWEEN = 40.0, 12.0  # from box to box in a row, and from row to row
EDGE = 12.0  # around all of it
BELOW_POWER = 26.0  # from the row of power to what it feeds
CONTROLLER = 132.0
MOST_POWER = 6  # boxes in a row
MOST_COLUMNS = 5  # side by side where there is no controller: more would be too small to be read


@dataclass(frozen=True)
class Node:
    """A block as the diagram has it. group: of its kind; feeds: the names of the blocks that take something from it.

    key: its most telling value in a line. rail: the volts that it gives, for its line. mains: it stands at mains potential;
    isolates: it keeps mains from the rest.
    """

    name: str
    number: int
    title: str
    group: str
    key: str = ""
    rail: str = ""
    feeds: tuple[str, ...] = ()
    mains: bool = False
    isolates: bool = False
    controls: bool = False
    failed: bool = False
    off: bool = False
    flags: str = ""


@dataclass(frozen=True)
class Box:
    """A node at its place. fed: the numbers of the sheets of power from which it takes something, without a line."""

    node: Node
    x: float
    y: float
    width: float = WIDTH
    height: float = HEIGHT
    fed: tuple[int, ...] = ()
    marked: bool = False

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def foot(self) -> float:
        return self.y + self.height

    @property
    def middle(self) -> tuple[float, float]:
        return self.x + self.width / 2, self.y + self.height / 2


@dataclass(frozen=True)
class Edge:
    """A line from box to box, or a stub where a rail goes to more boxes than lines would show, ending in an arrow.

    marked: the fault goes on along it. label: the rail's volts.
    """

    points: tuple[tuple[float, float], ...]
    marked: bool
    isolated: bool
    label: str = ""
    label_at: tuple[float, float] = (0.0, 0.0)  # its middle, on the line of writing

    @property
    def path(self) -> str:
        """The line as an SVG path."""
        return "M" + "L".join(f"{x:.0f},{y:.0f}" for x, y in self.points)

    @property
    def middle(self) -> tuple[float, float]:
        """The middle of its longest piece."""
        pieces = list(zip(self.points, self.points[1:]))
        (ax, ay), (bx, by) = max(pieces, key=lambda p: abs(p[0][0] - p[1][0]) + abs(p[0][1] - p[1][1]))
        return (ax + bx) / 2, (ay + by) / 2


@dataclass(frozen=True)
class BlockDiagram:
    """All boxes and lines, and the size of the whole."""

    boxes: tuple[Box, ...]
    edges: tuple[Edge, ...]
    width: float
    height: float


def block_diagram(nodes: Sequence[Node]) -> BlockDiagram:
    """Boxes and lines of a device."""
    controlled = any(n.controls for n in nodes)
    layout = _with_controller(nodes) if controlled else _in_order(nodes)
    boxes = {box.node.name: box for box in layout}
    marked = _downstream(nodes)
    edges = []
    fed: dict[str, list[int]] = {}
    for node in nodes:
        for name in node.feeds:
            if name not in boxes or name == node.name:
                continue
            if controlled and node.group == "Power" and boxes[name].node.group != "Power":
                # lines from every rail to every box would hide the rest
                fed.setdefault(name, []).append(node.number)
                continue
            a, b = boxes[node.name], boxes[name]
            edges.append(_around(_edge(a, b, node.name in marked and name in marked), a, b, layout))
    edges = _with_rails(nodes, boxes, edges)
    layout = [
        replace(box, fed=tuple(fed.get(box.node.name, ())), marked=box.node.name in marked) for box in layout
    ]
    ends = [x for edge in edges for x, _y in edge.points]
    width = max([*ends, *(box.right for box in layout)]) + EDGE
    height = max(box.foot for box in layout) + EDGE
    return BlockDiagram(tuple(layout), tuple(edges), width, height)


def _with_rails(nodes: Sequence[Node], boxes: Mapping[str, Box], edges: list[Edge]) -> list[Edge]:
    """The lines with the volts of each rail at the first that leaves its block; a stub where none does."""
    found = list(edges)
    for node in nodes:
        if not node.rail:
            continue
        box = boxes[node.name]
        right = box.right
        own = [n for n, edge in enumerate(found) if _leaves(edge, box)]
        if own:
            level = found[own[0]].points[0][1]
            upwards = any(y < level - 1 for n in own for _x, y in found[n].points[:3])
            at = (right + ACROSS / 2, level + (14 if upwards else -5))
            found[own[0]] = replace(found[own[0]], label=node.rail, label_at=at)
        elif not any(right < other.x < right + ACROSS + 1 and _level(other, box) for other in boxes.values()):
            y = box.middle[1]
            end = (right + ACROSS - 4, y)
            found.append(Edge(((right, y), end), False, False, node.rail, (right + ACROSS / 2, y - 5)))
    return found


def _leaves(edge: Edge, box: Box) -> bool:
    """Whether a line leaves a box at its right side."""
    (ax, ay), (_bx, by) = edge.points[:2]
    return ax == box.right and ay == by and box.y <= ay <= box.foot


def _level(one: Box, other: Box) -> bool:
    return one.y < other.foot and other.y < one.foot


def _downstream(nodes: Sequence[Node]) -> set[str]:
    """The blocks that the fault is in, and those behind them where something was read off."""
    by_name = {n.name: n for n in nodes}
    found = {n.name for n in nodes if n.failed}
    waiting = list(found)
    while waiting:
        for name in by_name[waiting.pop()].feeds:
            if name in by_name and name not in found and by_name[name].off:
                found.add(name)
                waiting.append(name)
    return found


# --- with a controller ----------------------------------------------------------------------------------------------


def _with_controller(nodes: Sequence[Node]) -> list[Box]:
    controllers = [n for n in nodes if n.controls]
    power = _chain([n for n in nodes if n.group == "Power"])
    rest = [n for n in nodes if not n.controls and n.group != "Power"]
    fed_by_controller = {name for c in controllers for name in c.feeds}
    into = {n.name for n in rest if any(c.name in n.feeds for c in controllers)}
    senses = {n.name for n in rest if n.group in ("Sensing", "Timing")} - fed_by_controller
    left = [n for n in rest if n.name in into | senses]
    right = [n for n in rest if n not in left]
    drivers = [n for n in right if n.name in fed_by_controller]
    driven = [n for n in right if n not in drivers]
    y = EDGE + (HEIGHT + BELOW_POWER if power else 0.0)
    if len(power) > MOST_POWER:
        y += HEIGHT + BETWEEN
    columns_left = 1 if len(left) <= 6 else 2
    boxes = _grid(power, EDGE, EDGE, MOST_POWER) + _grid(left, EDGE, y, columns_left)
    x = EDGE + (columns_left * (WIDTH + ACROSS) if left else 0.0)
    rows = max(
        -(-len(left) // columns_left), len(drivers) + _extra_rows(drivers, driven), len(controllers), 1
    )
    tall = rows * HEIGHT + (rows - 1) * BETWEEN
    for n, controller in enumerate(controllers):
        part = (tall - (len(controllers) - 1) * BETWEEN) / len(controllers)
        boxes.append(Box(controller, x, y + n * (part + BETWEEN), CONTROLLER, part))
    x += CONTROLLER + ACROSS
    return boxes + _driving(drivers, driven, x, y)


def _extra_rows(drivers: Sequence[Node], driven: Sequence[Node]) -> int:
    """Rows for what is driven by nothing here."""
    fed = [n.name for n in driven if any(n.name in d.feeds for d in drivers)]
    downwards = len(drivers) == len(fed) == 1
    return len(driven) - (0 if downwards else len(fed))


def _driving(drivers: Sequence[Node], driven: Sequence[Node], x: float, y: float) -> list[Box]:
    """What the controller drives, a row each, and behind each what that drives."""
    boxes: list[Box] = []
    left = {n.name: n for n in driven}
    row = 0
    for driver in drivers:
        boxes.append(Box(driver, x, y + row * (HEIGHT + BETWEEN)))
        behind = [left.pop(name) for name in driver.feeds if name in left]
        if len(drivers) == len(behind) == 1:  # one way only: downwards, which a phone has room for
            left = {behind[0].name: behind[0], **left}
            behind = []
        for n, node in enumerate(behind):
            boxes.append(Box(node, x + WIDTH + ACROSS, y + (row + n) * (HEIGHT + BETWEEN)))
        row += max(1, len(behind))
    for node in left.values():
        boxes.append(Box(node, x, y + row * (HEIGHT + BETWEEN)))
        row += 1
    return boxes


def _chain(nodes: list[Node]) -> list[Node]:
    """Nodes in the order in which one feeds another, those of the mains first."""
    names = {n.name for n in nodes}
    depth = _depths(nodes, names)
    return sorted(nodes, key=lambda n: (not n.mains, depth[n.name]))


def _grid(nodes: Sequence[Node], x: float, y: float, columns: int) -> list[Box]:
    return [
        Box(node, x + (n % columns) * (WIDTH + ACROSS), y + (n // columns) * (HEIGHT + BETWEEN))
        for n, node in enumerate(nodes)
    ]


# --- without one ----------------------------------------------------------------------------------------------------


def _in_order(nodes: Sequence[Node]) -> list[Box]:
    """Columns by how many blocks stand before, so that every line leads to the right; a long row goes on in a band below."""
    depth = _depths(nodes, {n.name for n in nodes})
    columns: dict[int, list[Node]] = {}
    for node in nodes:
        columns.setdefault(depth[node.name], []).append(node)
    if len(columns) == 1:  # nothing leads anywhere
        return _grid(nodes, EDGE, EDGE, min(4, len(nodes)))
    boxes: list[Box] = []
    y = EDGE
    for first in range(0, len(columns), MOST_COLUMNS):
        band = range(first, min(first + MOST_COLUMNS, len(columns)))
        boxes += [
            Box(node, EDGE + (column - first) * (WIDTH + ACROSS), y + row * (HEIGHT + BETWEEN))
            for column in band
            for row, node in enumerate(columns[column])
        ]
        y += max(len(columns[column]) for column in band) * (HEIGHT + BETWEEN) - BETWEEN + BELOW_POWER
    return boxes


def _depths(nodes: Sequence[Node], names: set[str]) -> Mapping[str, int]:
    """How long the longest way to each node is, counted in lines; a circle is gone round once."""
    depth = {n.name: 0 for n in nodes}
    for _ in nodes:
        for node in nodes:
            for name in node.feeds:
                if name in names and name != node.name and depth[name] <= depth[node.name] < len(nodes):
                    depth[name] = depth[node.name] + 1
        if max(depth.values(), default=0) >= len(nodes):
            return {n.name: 0 for n in nodes}
    return depth


# --- lines ----------------------------------------------------------------------------------------------------------


def _edge(a: Box, b: Box, marked: bool) -> Edge:
    """A line from one box to another: straight where their sides face each other, else with one step between."""
    isolated = a.node.mains != b.node.mains and not (a.node.isolates or b.node.isolates)
    (start, ay), (end, by) = a.middle, b.middle

    def line(*points: tuple[float, float]) -> Edge:
        return Edge(points, marked, isolated)

    if b.x >= a.right:  # to the right
        top, foot = max(a.y, b.y), min(a.foot, b.foot)
        if foot - top > 12:
            level = (top + foot) / 2
            return line((a.right, level), (b.x, level))
        middle = (a.right + b.x) / 2 if b.x - a.right <= ACROSS + 1 else b.x - ACROSS / 2
        return line((a.right, ay), (middle, ay), (middle, by), (b.x, by))
    if b.y >= a.foot:  # below, or to the left and below
        left, right = max(a.x, b.x), min(a.right, b.right)
        if right - left > 12:
            at = (left + right) / 2
            return line((at, a.foot), (at, b.y))
        gap, into = a.foot + BELOW_POWER / 2, b.y
    else:
        gap, into = max(a.foot, b.foot) + BETWEEN / 2, b.foot
    return line((start, a.foot), (start, gap), (end, gap), (end, into))


def _around(edge: Edge, a: Box, b: Box, boxes: Sequence[Box]) -> Edge:
    """The line led through the gap between two rows, where straight on it would pass behind another box; from one band of
    columns to the next, through the gap between the two."""
    (ax, level), (end, _level) = edge.points[:2]
    into = b.middle[1]
    if not any(box.node.controls for box in boxes) and b.x < a.right and b.y >= a.foot:
        out, turn, left = a.middle[1], a.right + ACROSS / 2, b.x - EDGE * 2 / 3
        gap = min(box.y for box in boxes if box.x == b.x and box.y >= a.foot) - BELOW_POWER / 2
        points = (a.right, out), (turn, out), (turn, gap), (left, gap), (left, into), (b.x, into)
        return replace(edge, points=points)
    others = (box for box in boxes if box is not a and box is not b)
    if ax != a.right or not any(
        box.x < end and box.right > ax and box.y < level < box.foot for box in others
    ):
        return edge
    before, after = ax + ACROSS / 2, b.x - ACROSS / 2
    gap = a.foot + BETWEEN / 2 if b.y >= a.y else a.y - BETWEEN / 2
    points = (ax, level), (before, level), (before, gap), (after, gap), (after, into), (b.x, into)
    return replace(edge, points=points)
