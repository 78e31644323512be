"""A note's blocks as nodes of its block diagram."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping

from generator.circuit.block import Block
from generator.circuit.circuit import Circuit
from generator.drawing.diagram import BlockDiagram, Node, block_diagram
from generator.language import _, value_name
from generator.pages.blockview import shown
from generator.pages.readingview import ReadingsView

LONGEST_NAME, LONGEST_KEY = 20, 24  # letters that a box has room for
CONTROLLER = "microcontroller"
CHARGERS = ("charge-resistor", "lithium-charger")
_PIN = re.compile(r"(->|<-)\s*(\S.*)")
_TELLING = (
    "mean", "rail", "output_voltage", "output", "current", "load_current", "delay", "resistance", "peak",
)  # fmt: skip


def diagram_view(
    circuit: Circuit,
    readings: ReadingsView,
    failed: frozenset[str],
    numbers: Mapping[str, int],
    joined: Iterable[tuple[str, str]],
    rails: Mapping[str, str],
    live: Collection[str],
) -> BlockDiagram | None:
    """The block diagram; None where a single block, or none, would stand in it.

    numbers: of the sheets; joined: (block, block) where the device's nets say that one feeds the other; rails: block ->
    the volts that it gives; live: the blocks at mains potential.
    """
    if len(circuit.blocks) < 2:
        return None
    feeds = _links(circuit)
    for source, target in (_current_way(circuit, *pair) for pair in joined):
        if source not in feeds.get(target, {}):  # a chip's pin says the way round
            feeds.setdefault(source, {})[target] = None
    off = {row.block for row in readings.rows if not row.ok}
    nodes = []
    for name in sorted(circuit.blocks, key=lambda n: numbers[n]):
        block = circuit.blocks[name]
        nodes.append(
            Node(
                name=name,
                number=numbers[name],
                title=_(block.kind.title),
                group=_group(circuit, name, feeds),
                key=key_value(block),
                rail=rails.get(name, ""),
                feeds=tuple(feeds.get(name, ())),
                mains=("mains" in block.cautions or name in live) and not block.kind.isolates,
                isolates=block.kind.isolates,
                controls=block.kind.name == CONTROLLER,
                failed=not block.designators.isdisjoint(failed),
                off=name in off,
                flags="".join(readings.flags_of(name).values()),
            )
        )
    return block_diagram(nodes)


def _group(circuit: Circuit, name: str, feeds: Mapping[str, Iterable[str]]) -> str:
    """Where a block stands: parts written one by one on the way of the power, a filter in front of a regulator, in its row."""
    own = circuit.blocks[name].kind.group
    into = [other for other in feeds.get(name, ()) if other in circuit.blocks]
    return (
        "Power" if own == "Structure" and any(circuit.blocks[o].kind.group == "Power" for o in into) else own
    )


def _links(circuit: Circuit) -> dict[str, dict[str, None]]:
    """Which block feeds which, in order: by values taken, by a chip's pins, by one relay in two blocks."""
    found: dict[str, dict[str, None]] = {}

    def add(source: str, target: str) -> None:
        if source != target:
            found.setdefault(source, {})[target] = None

    for name, givers in circuit.givers.items():
        for giver in givers:
            add(*_current_way(circuit, giver, name))
    for name, block in circuit.blocks.items():
        for text in block.inputs.get("pins") or ():
            pin = _PIN.search(str(text))
            other = pin[2].strip() if pin else ""
            if pin and other in circuit.blocks:
                add(*((name, other) if pin[1] == "->" else (other, name)))
    for name, block in circuit.blocks.items():
        coil = block.part("load")
        for other, second in circuit.blocks.items():
            contact = second.part("contact")
            if coil and contact and coil.designator and coil.designator == contact.designator:
                add(name, other)
    return found


def _current_way(circuit: Circuit, source: str, target: str) -> tuple[str, str]:
    """(source, target), turned round where what charges a battery was told the battery's volts."""
    kinds = [circuit.blocks[name].kind.name if name in circuit.blocks else "" for name in (source, target)]
    return (target, source) if kinds[0] == "battery-pack" and kinds[1] in CHARGERS else (source, target)


def key_value(block: Block) -> str:
    """The value by which a block is known, with its name: "mean 11.0 V"; "" where none is computed."""
    values = {name: r for name, r in block.values.items() if "." not in name}
    name = next((n for n in _TELLING if n in values), "") or next(iter(values), "")
    if not name:
        return ""
    text = f"{value_name(name)} {shown(values[name])}"
    return text if len(text) <= LONGEST_KEY else shown(values[name])
