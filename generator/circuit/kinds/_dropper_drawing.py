"""The drawing of a capacitive dropper."""

from __future__ import annotations

from generator.circuit.block import Block
from generator.circuit.kinds._dropper_path import before_diode
from generator.circuit.labels import computed, each_label, part_label
from generator.circuit.placing import across, standing
from generator.circuit.sheet import Line, Sheet


def draw(block: Block, sheet: Sheet) -> None:
    """Mains on the left, the dropper with its resistor below it, the rectifier, then what stands across the rail."""
    bridge = block.point.rectifier == "bridge"
    live = 1 if bridge else 0
    parallel = live + 1 if block.part("discharge") else live
    neutral = parallel + 1
    bottom = neutral + 1 if bridge else neutral
    sheet.port(0, live, [Line("L", "r"), *computed(block, "supply")])
    sheet.port(0, neutral, [Line("N", "r")])
    across(block, sheet, "series", live, 0, 1)
    sheet.across("capacitor", live, 1, 2, part_label(block, "dropper"))
    if parallel > live:
        across(block, sheet, "discharge", parallel, 1, 2, below=True)
        sheet.wire((1, live), (1, parallel))
        sheet.wire((2, live), (2, parallel))
        sheet.dot((1, live), (2, live))
    column = _bridge(block, sheet, live, neutral, bottom) if bridge else _half_wave(block, sheet, bottom)
    _across_the_rail(block, sheet, column, live, bottom)


def _diodes(block: Block) -> list[Line]:
    part = block.part("rectifier")
    return [Line(part.designator, "d")] if part else [Line("rectifier diode", "r")]


def _half_wave(block: Block, sheet: Sheet, bottom: int) -> int:
    clamp = before_diode(block.point)
    sheet.wire((2, 0), (3, 0))
    label = part_label(block, "clamp" if clamp else "return_diode")
    sheet.down("zener" if clamp else "diode", 3, 0, bottom, label, reverse=True, segment=(0, 1))
    sheet.across("diode", 0, 3, 4, _diodes(block))
    sheet.wire((0, bottom), (4, bottom))
    sheet.dot((3, 0), (3, bottom))
    return 4


def _bridge(block: Block, sheet: Sheet, live: int, neutral: int, bottom: int) -> int:
    sheet.wire((2, live), (3, live))
    sheet.wire((0, neutral), (4, neutral))
    names = each_label(block, "rectifier", 4, "rectifier diode")
    for n, (column, node) in enumerate(((3, live), (4, neutral))):
        sheet.down("diode", column, 0, live, names[n], reverse=True)
        sheet.wire((column, live), (column, neutral))
        sheet.down("diode", column, neutral, bottom, names[n + 2], reverse=True)
        sheet.dot((column, node))
        sheet.wire((column, 0), (column + 1, 0))
        sheet.wire((column, bottom), (column + 1, bottom))
    sheet.dot((4, 0), (4, bottom))
    return 5


def _across_the_rail(block: Block, sheet: Sheet, column: int, live: int, bottom: int) -> None:
    segment = (live, live + 1)
    first = column
    if not before_diode(block.point):
        column = standing(block, sheet, column, (0, bottom), ("clamp",), segment=segment, reverse=True)
    column = standing(block, sheet, column, (0, bottom), ("smoothing", "load"), segment=segment)
    # before the clamp, which takes of it what the load does not
    sheet.tag(3 if before_diode(block.point) else first, *computed(block, "current"))
    rail = computed(block, "rail") or computed(block, "output")
    sheet.port(column, 0, [Line("+", "r"), *rail], right=True)
    sheet.port(column, bottom, [Line("0 V", "r"), Line("at mains potential", "x")], right=True)
