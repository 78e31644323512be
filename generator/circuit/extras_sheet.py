"""Parts between named nets on a sheet: a network block, and what else (`also`) is soldered to another block."""

from __future__ import annotations

from collections.abc import Sequence

from generator.circuit.extras import Extra
from generator.circuit.labels import capacitor_symbol, diode_symbol, label_of, with_further_values
from generator.circuit.sheet import Line, Sheet

HIGH = ("plus", "supply", "in", "out", "vcc", "vdd")  # names of nets that stand on top of a drawing
LOW = ("common", "neutral", "minus")  # and at its foot
STEP = 3  # rows from one net to the next, so that a box has room between them
SYMBOLS = {"potentiometer": "variable resistor", "coil": "relay coil", "winding": "motor"}
# sort of a transistor -> its symbol, and which of its nets is at the top, at the control and at the bottom of it
TRANSISTORS = {
    "npn": ("npn", ("collector", "base", "emitter"), (1, 0, 2)),
    "pnp": ("pnp", ("emitter", "base", "collector"), (2, 0, 1)),
    "nmos": ("n-mosfet", ("drain", "gate", "source"), (1, 0, 2)),
    "pmos": ("p-mosfet", ("source", "gate", "drain"), (2, 0, 1)),
}


def draw_extras(extras: Sequence[Extra], sheet: Sheet, top: int = 0) -> None:
    """Column by column in the order written, from the row `top` down; each net a line, ordered by its volts.

    A transistor or regulator stands in a row of its own between the lines of its nets.
    """
    nets = dict.fromkeys(net for extra in extras for net in extra.nets)
    lines = _Lines(sheet, {net: top + STEP * n for n, net in enumerate(sorted(nets, key=_height))})
    column = 1
    for extra in extras:
        if extra.sort in TRANSISTORS:
            column = lines.transistor(extra, column)
        elif extra.sort == "regulator":
            column = lines.regulator(extra, column)
        else:
            column = lines.between(extra, column)
    lines.close()


def _height(net: str) -> int:
    last = net.rpartition(".")[2].lower()
    return 0 if last in HIGH else 2 if last in LOW else 1


def _symbol(extra: Extra) -> str:
    """The word for the symbol of a part with two ends."""
    part, words = extra.part, {word.lower() for word in extra.part.words}
    if extra.sort == "capacitor":
        return capacitor_symbol(part)
    if extra.sort == "diode":
        return diode_symbol(part)
    if extra.sort == "switch" and "button" in words:
        return "button"
    if extra.sort == "battery" and "cell" in words:
        return "cell"
    return SYMBOLS.get(extra.sort, extra.sort)


class _Lines:
    """The line of each net, and the columns in which something is joined to it."""

    def __init__(self, sheet: Sheet, rows: dict[str, int]) -> None:
        self.sheet, self.rows = sheet, rows
        self.joined: dict[str, list[int]] = {net: [0] for net in rows}

    def between(self, extra: Extra, column: int) -> int:
        """A part with two ends; the plus of an electrolytic is not written, and stands at the upper line."""
        word, (start, end) = _symbol(extra), (self.rows[net] for net in extra.nets)
        first, last = min(start, end), max(start, end)
        reverse = start > end and word != "electrolytic"
        label = label_of(extra.part, "")
        self.sheet.down(word, column, first, last, label, reverse=reverse, segment=(first, first + STEP))
        self._join(extra.nets, (column, column))
        return column + 1

    def transistor(self, extra: Extra, column: int) -> int:
        """Upright in the line from its upper to its lower net, its control led to it from the left."""
        word, names, order = TRANSISTORS[extra.sort]
        upper, control, lower = (extra.nets[n] for n in order)
        flip = self.rows[upper] > self.rows[lower]
        if flip:
            upper, lower, names = lower, upper, names[::-1]
        high, low = self.rows[upper], self.rows[lower]
        row = 1 + max(high, min(self.rows[control], low - STEP))
        body = column + 1
        label = with_further_values(extra.part, "transistor")
        at = self.sheet.device(word, body, row, names[0], label, also=names[1], flip=flip)
        self.sheet.wire((column, self.rows[control]), (column, row), at[names[1]])
        self.sheet.wire((body, high), at[names[0]])
        beside = body if low > row else body + 1  # round it, where both its ends are on one net
        self.sheet.wire(at[names[2]], (beside, low))
        self._join((control, upper, lower), (column, body, beside))
        return beside + 1

    def regulator(self, extra: Extra, column: int) -> int:
        """A box below the lines of what goes in and comes out, its common at the foot, or led up at its top."""
        into, out, common = extra.nets
        row = 1 + max(self.rows[into], self.rows[out])
        side = "bottom" if self.rows[common] > row else "top"
        pins = self.sheet.box(
            column + 1, row, row + 1, label_of(extra.part, ""), left={row: "in"}, right={row: "out"},
            top="common" if side == "top" else "", bottom="common" if side == "bottom" else "",
        )  # fmt: skip
        self.sheet.wire((column, self.rows[into]), (column, row), pins[f"left {row}"])
        self.sheet.wire(pins[f"right {row}"], (column + 2, row), (column + 2, self.rows[out]))
        self.sheet.wire(pins[side], (column + 1, self.rows[common]))
        self._join(extra.nets, (column, column + 2, column + 1))
        return column + 3

    def _join(self, nets: Sequence[str], columns: Sequence[int]) -> None:
        for net, column in zip(nets, columns):
            self.joined[net].append(column)

    def close(self) -> None:
        """The lines themselves, with their names and junctions."""
        for net, row in self.rows.items():
            columns = sorted(set(self.joined[net]))
            self.sheet.wire((0, row), (columns[-1], row))
            self.sheet.port(0, row, [Line(net.replace(".", " "), "r", own=True)])
            self.sheet.dot(*((at, row) for at in columns[1:-1]))
