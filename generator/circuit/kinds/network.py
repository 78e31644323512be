"""Parts between named nets, as many as there are: what no other kind covers, computed with the rest of the device."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from generator.circuit import param
from generator.circuit.block import Block, Kind, Point, Variant
from generator.circuit.extras import MOST_EXTRAS, SORTS, Extra, read_extra, readable
from generator.circuit.labels import label_of
from generator.circuit.sheet import Line, Sheet
from generator.notation.quantity import QuantityError

if TYPE_CHECKING:
    from generator.circuit.network.wiring import Wiring

HIGH = ("plus", "supply", "in", "out", "vcc", "vdd")  # names of nets that stand on top of a drawing
SYMBOLS = {
    "potentiometer": "variable resistor",
    "coil": "relay coil",
    "winding": "inductor",
}  # where they have another name


def rows_of(extras: list[Extra]) -> dict[str, int]:
    """The row of each net: supplies on top, a common at the bottom, the others between in the order in which they come."""
    nets = list(dict.fromkeys(net for extra in extras for net in extra.nets))

    def height(net: str) -> int:
        last = net.rpartition(".")[2].lower()
        return 0 if last in HIGH else 2 if last in ("common", "neutral", "minus") else 1

    return {net: row for row, net in enumerate(sorted(nets, key=height))}


class Network(Kind):
    title = "Network of parts"
    group = "Structure"
    what = "Any parts between named nets: what no other kind covers, drawn and computed with the rest of the device."
    assumes = (
        "The letters of a designator, or a word such as npn, pnp, zener, led, schottky, say what a part is. Terminals "
        "are named in the order base, collector, emitter; gate, drain, source; anode, cathode; in, out, common."
    )

    parts = param.Lines("one part a line, with the nets between which it lies: R30 10k from reg.out to base")

    example = {
        "parts": [
            "R30 10k from in to base", "Q9 npn hfe200 from base collector common", "R31 1k from plus to collector",
            "D3 from common to base",
        ],
    }  # fmt: skip
    variants = (
        Variant("a filter", {"parts": ["R1 1k from in to out", "C1 100n from out to common"]}),
        Variant(
            "a regulator with its capacitors",
            {
                "parts": [
                    "U7 5V regulator from in out common",
                    "C1 100n from in to common",
                    "C2 10u from out to common",
                ]
            },
        ),
    )

    def solve(self, x: Point) -> dict[str, float]:
        """Nothing by itself: its voltages come from the network of the whole device."""
        return {}

    def vet(self, given: dict[str, Any]) -> list[tuple[str, str, str]]:
        found = []
        lines: list[str] = given["parts"]
        if len(lines) > MOST_EXTRAS:
            found.append(("parts", f"{len(lines)} parts", f"at most {MOST_EXTRAS} in one network"))
        named: dict[str, str] = {}
        for line in lines:
            try:
                extra = read_extra(line)
            except QuantityError as error:
                found.append(("parts", error.what, error.hint))
                continue
            designator = extra.part.designator
            if designator and named.setdefault(designator, line) != line:
                found.append(("parts", f"{designator} is in two places", "a designator stands for one part"))
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """Its parts are the block's extra parts, which the device wires."""

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Column by column in the order written; each net a line, ordered by its volts. What has three ends stands below
        them, its wires led up to their nets."""
        extras = [extra for _, extra in readable(block.inputs["parts"])]
        rows = rows_of(extras)
        below = 1 + max(rows.values())
        ends: dict[str, list[int]] = {net: [0] for net in rows}
        column = 1
        for extra in extras:
            label = label_of(extra.part, "")
            at = [rows[net] for net in extra.nets]
            if len(at) == 2:
                word = SYMBOLS.get(extra.sort, extra.sort)
                first, last = min(at), max(at)
                segment = (first, first + 1)
                sheet.down(word, column, first, last, label, reverse=at[0] > at[1], segment=segment)
                for net in extra.nets:
                    ends[net].append(column)
                column += 1
                continue
            pins = {below + n: name for n, name in enumerate(SORTS[extra.sort].terminals)}
            box = column + len(pins)
            places = sheet.box(box, below, below + len(pins) - 1, label, left=pins)
            for n, net in enumerate(extra.nets):
                rise = box - 1 - n  # the uppermost pin next to the box, so that no two of them cross
                sheet.wire((rise, rows[net]), (rise, below + n), places[f"left {below + n}"])
                ends[net].append(rise)
            column = box + 1
        for net, row in rows.items():
            columns = sorted(set(ends[net]))
            sheet.wire((0, row), (columns[-1], row))
            sheet.port(0, row, [Line(net, "r", own=True)])
            sheet.dot(*((at, row) for at in columns[1:-1]))
