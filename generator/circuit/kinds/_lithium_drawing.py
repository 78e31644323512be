"""The drawing of the cells behind a charger, with what balances and what protects them."""

from __future__ import annotations

from generator.circuit.block import Block
from generator.circuit.labels import computed, named, part_label
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet


def draw_cells(block: Block, sheet: Sheet, column: int, cells: int) -> int:
    """The cells with what balances and what protects them; returns the row of the common rail.

    With a balancer the first and the last cell are drawn, each with its resistor and the charger's switch beside it.
    """
    count = Line(_("%(count)s in series") % {"count": cells}) if cells > 1 else Line("")
    x = block.point
    whole = [Line(measured(sum(x.each("battery")), "V", trim=True))] if x.battery_count else []
    label = [Line("battery", "r"), count, *(whole or computed(block, "battery"))]
    balanced = block.has("balancer")
    tops = [0] if cells == 1 or not balanced else [0, 3 if cells > 2 else 2]
    last, foot = column + balanced, tops[-1] + 2
    balancer = [*part_label(block, "balancer"), Line(_("each cell")), *named(block, "balance_current")]
    for top in tops:
        word = "cell" if cells == 1 or balanced else "battery"
        sheet.down(word, column, top, top + 2, label if top == 0 else [], segment=(top, top + 2))
        if balanced:
            sheet.down("resistor", last, top, top + 1, balancer if top == 0 else [])
            sheet.down("switch", last, top + 1, top + 2)
            for row in (top, top + 2):
                sheet.wire((column, row), (last, row))
                sheet.dot((column, row))
    if foot == 5:
        sheet.down("more", column, 2, 3)
    if balanced:
        sheet.dot((last, 0))
        if len(tops) > 1 and foot == 4:
            sheet.dot((last, 2))
    sheet.dot((column, 0))
    sheet.tag(column, *computed(block, "charge_current"))
    sheet.wire((last, 0), (last + 1, 0))
    sheet.port(last + 1, 0, [Line("battery", "r"), *named(block, "terminal")], right=True)
    common = foot + 1
    if block.has("fet_resistance"):
        fets = [
            Line("protection", "r"),
            *computed(block, "fet_resistance"),
            *named(block, "trip_current", "trips at"),
        ]
        sheet.down("unit", column, foot, common, fets)
    else:
        sheet.wire((column, foot), (column, common))
    sheet.wire((1, common), (last + 1, common))
    sheet.dot((1, common), (column, common))
    sheet.port(last + 1, common, [Line("0 V", "r")], right=True)
    return common
