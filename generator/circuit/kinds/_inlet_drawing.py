"""The drawing of a mains inlet, from left to right."""

from __future__ import annotations

from generator.circuit import leakage
from generator.circuit.block import Block
from generator.circuit.labels import label_of, named, part_label
from generator.circuit.sheet import At, Line, Sheet
from generator.notation.parts import Part


def in_neutral(part: Part) -> bool:
    """Whether a part says that it lies in the neutral."""
    return any(word.lower() in ("neutral", "n") for word in part.words)


def in_the_lines(block: Block, sheet: Sheet, column: int) -> int:
    """Switch and thermal fuses in series, each in its line; returns the column of the load."""
    fuses: list[Part] = block.inputs["thermal_fuses"] or []
    series: list[tuple[str, int, list[Line]]] = []
    if block.part("switch") is not None:
        series.append(("switch", 0, part_label(block, "switch")))
    series += [("thermal fuse", 1 if in_neutral(p) else 0, [*label_of(p, "thermal fuse")]) for p in fuses]
    reached = [column, column]
    for symbol, row, label in series:
        sheet.across(symbol, row, reached[row], reached[row] + 1, label, below=row == 1)
        reached[row] += 1
    end = max(*reached, column + 1)
    for row in (0, 1):
        if reached[row] < end:
            sheet.wire((reached[row], row), (end, row))
    return end


def limiters(block: Block, sheet: Sheet) -> int:
    """Fuse, fusible resistor, inrush limiter and choke in the line; the column behind them."""
    column = 0
    for name, symbol in (
        ("fuse", "fuse"),
        ("fuse_resistor", "resistor"),
        ("inrush", "thermistor across"),
        ("choke", "choke"),
    ):
        if block.part(name) is None:
            continue
        label = [
            *part_label(block, name),
            *(named(block, "surge_current", "surge") if column == 0 and name != "fuse" else []),
        ]
        if name == "choke":
            column = _choke(sheet, column, label)
        else:
            sheet.across(symbol, 0, column, column + 1, label)
            sheet.wire((column, 1), (column + 1, 1))
        column += 1
    if column == 0:
        for row in (0, 1):
            sheet.wire((0, row), (1, row))
    return max(column, 1)


def _choke(sheet: Sheet, column: int, label: list[Line]) -> int:
    """Two windings on one core, one in each line, between a column and the next; which column that is."""
    if column == 0:
        for row in (0, 1):
            sheet.wire((0, row), (1, row))
    column = max(column, 1)
    coil = sheet.device("choke", column, 0, "in", label, label_above=True)
    sheet.wire(coil["out"], (column + 1, 0))
    sheet.wire((column, 1), coil["second in"])
    sheet.wire((column + 1, 1), At(column, 1, coil["second out"].dx), coil["second out"])
    return column


def to_earth(block: Block, sheet: Sheet, column: int) -> int:
    """The Y capacitors from their lines down to earth; the column behind them."""
    parts: list[Part] = block.inputs["y_capacitors"] or []
    if not parts:
        return column
    sheet.port(0, 2, [Line("PE", "e"), *named(block, "earth_leakage", "leaks")])
    for part in parts:
        line = 1 if leakage.at_neutral(part.words) else 0
        sheet.dot((column, line))
        sheet.down("capacitor", column, line, 2, label_of(part, "Y capacitor"), segment=(1, 2))
        for row in (0, 1):
            sheet.wire((column, row), (column + 1, row))
        column += 1
    sheet.wire((0, 2), (column - 1, 2))
    sheet.dot(*((n, 2) for n in range(column - len(parts), column - 1)))
    return column
