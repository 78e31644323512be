"""The drawing of a transformer supply between the secondary and the rail."""

from __future__ import annotations

from generator.circuit.block import Block
from generator.circuit.labels import computed, each_label, part_label
from generator.circuit.sheet import At, Place, Sheet


def to_rectifier(block: Block, sheet: Sheet, coil: dict[str, At]) -> int:
    """From the secondary's upper end, through its fuse, to the rectifier; the column in which that begins."""
    sheet.wire(coil["s1"], (2, 1))
    if block.part("secondary_fuse") is None:
        return 2
    label = [*part_label(block, "secondary_fuse"), *computed(block, "secondary_current")]
    sheet.across("fuse", 1, 2, 3, label, below=True)
    return 3


def _bridge(block: Block, sheet: Sheet, coil: dict[str, At], first: int) -> int:
    second = At(first + 1, coil["s2"].row, 0, coil["s2"].dy)
    sheet.wire(coil["s2"], second)
    names = each_label(block, "rectifier", 4, "rectifier")
    nodes: list[tuple[int, Place]] = [(first, (first, 1)), (first + 1, second)]
    for n, (column, node) in enumerate(nodes):
        sheet.down("diode", column, 0, 1, names[n], reverse=True)
        sheet.wire((column, 1), (column, 2))
        sheet.down("diode", column, 2, 3, names[n + 2], reverse=True)
        sheet.dot(node)
        sheet.wire((column, 0), (column + 1, 0))
        sheet.wire((column, 3), (column + 1, 3))
    sheet.dot((first + 1, 0), (first + 1, 3))
    return first + 2


def _centre_tap(block: Block, sheet: Sheet, coil: dict[str, At], first: int) -> int:
    tap = coil["tapS2"]
    sheet.wire(coil["s2"], At(first + 1, coil["s2"].row, 0, coil["s2"].dy), (first + 1, 1))
    bend = At(tap.column, tap.row, tap.dx + 14, tap.dy)
    sheet.wire(tap, bend, At(tap.column, 3, tap.dx + 14), (first + 2, 3))
    names = each_label(block, "rectifier", 2, "rectifier")
    sheet.down("diode", first, 0, 1, names[0], reverse=True)
    sheet.down("diode", first + 1, 0, 1, names[1], reverse=True)
    sheet.wire((first, 0), (first + 2, 0))
    sheet.dot((first + 1, 0))
    return first + 2


def _half_wave(block: Block, sheet: Sheet, coil: dict[str, At], first: int) -> int:
    sheet.wire(coil["s2"], At(2, coil["s2"].row, 0, coil["s2"].dy), (2, 3), (first + 1, 3))
    sheet.down("diode", first, 0, 1, each_label(block, "rectifier", 1, "rectifier")[0], reverse=True)
    sheet.wire((first, 0), (first + 1, 0))
    return first + 1


RECTIFIERS = {"bridge": _bridge, "centre-tap": _centre_tap, "half-wave": _half_wave}
