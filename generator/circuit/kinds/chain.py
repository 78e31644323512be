"""Parts in series with branches, between two rails: drawn where no other kind fits, nothing computed."""

from __future__ import annotations

import re
from typing import Any

from generator.circuit import param
from generator.circuit.block import Block, Kind, Variant
from generator.circuit.extras import LETTERS, SORTS
from generator.circuit.extras_sheet import SYMBOLS
from generator.circuit.labels import capacitor_symbol, diode_symbol, label_of
from generator.circuit.sheet import Line, Sheet
from generator.notation.part_reading import parse_part
from generator.notation.parts import Part
from generator.notation.quantity import QuantityError

MOST_PARTS = 24
IN_A_LINE = 6  # parts of an unbranched chain that stand side by side before it folds

Item = Any  # a Part, or a list of items: a branch

# Letters of a designator -> (symbol, class of part by which its value is read), where a network has no such part.
_OWN = {
    "M": ("motor", "any"), "FAN": ("motor", "any"), "LP": ("lamp", "any"), "LA": ("lamp", "any"), "H": ("lamp", "any"),
    "E": ("element", "element"), "PB": ("button", "switch"),
    "RV": ("unit", "any"),  # a varistor to some, a variable resistor to others
}  # fmt: skip


def _meant_by(letters: str) -> tuple[str, str]:
    """(symbol, class of part) by the letters of a designator; what has more than two ends is a box."""
    sort = LETTERS.get(letters, "")
    if letters in _OWN or not sort or len(SORTS[sort].terminals) > 2:
        return _OWN.get(letters, ("unit", "any"))
    return SYMBOLS.get(sort, sort), SORTS[sort].part_class


POLARISED = {"diode", "schottky", "zener", "led", "electrolytic", "battery"}  # which way round they lie shows


def symbol_and_part(part: Part) -> tuple[str, Part]:
    """The symbol for a part by the letters of its designator, and the part read as what those letters say."""
    letters = part.designator.rstrip("abcdefghijklmnopqrstuvwxyz").rstrip("0123456789-")
    word, part_class = _meant_by(letters)
    if word == "relay coil" and re.search(r"\bcontacts?\b", part.text, re.IGNORECASE):
        word, part_class = _meant_by("S")
    try:
        read = parse_part(f"{part.designator} {part.text}".strip(), part_class)
    except QuantityError:
        return word, part
    if read.designator != part.designator:  # "R1" alone, without a value, is no 0.1 ohm here
        return word, part
    if word == "capacitor":
        return capacitor_symbol(read), read
    return (diode_symbol(read) if word == "diode" else word), read


def _lying(word: str) -> str:
    """The symbol in a row: its letters stay upright."""
    return f"{word} across" if word in ("motor", "thermistor", "varistor") else word


def height(items: list[Item]) -> int:
    """How many rows a branch takes."""
    row = deepest = 0
    for item in items:
        if isinstance(item, Part):
            row += 1
            deepest = max(deepest, row)
        else:
            deepest = max(deepest, row + height(item))
    return deepest


def _count(items: list[Item]) -> tuple[int, bool]:
    """(parts in all, whether some branch has none)."""
    count, empty = 0, not items
    for item in items:
        if isinstance(item, Part):
            count += 1
        else:
            inner, hollow = _count(item)
            count, empty = count + inner, empty or hollow
    return count, empty


class _Branches:
    """Puts the items of a chain on a sheet. common is the row of the second rail."""

    def __init__(self, sheet: Sheet, common: int) -> None:
        self.sheet, self.common = sheet, common
        self.returns: list[int] = []  # columns that come down to the second rail

    def main(self, items: list[Item]) -> int:
        """The chain itself along row 0; its last part stands upright."""
        node = used = 0  # the column that the chain has reached, and the last one taken
        for position, item in enumerate(items):
            if isinstance(item, Part) and position < len(items) - 1:
                word, part = symbol_and_part(item)
                self.sheet.across(_lying(word), 0, node, used + 1, label_of(part, ""))
                node = used = used + 1
                continue
            start = used + 1 if used > node or node == 0 or node in self.returns else node
            if start != node:
                self.sheet.wire((node, 0), (start, 0))
                node = start
            if position < len(items) - 1:
                self.sheet.dot((node, 0))
            used = self.branch(item if isinstance(item, list) else [item], node, 0)
        self.sheet.wire((0, self.common), (max(self.returns), self.common))
        self.sheet.dot(*((column, self.common) for column in sorted(set(self.returns))[:-1]))
        return self.common

    def branch(self, items: list[Item], column: int, row: int) -> int:
        """A branch down a column to the second rail; returns the last column that it takes.

        Branches of the branch leave to the right, the lowest one nearest, so that no wire crosses another.
        """
        below: list[tuple[int, list[Item]]] = []
        for item in items:
            if isinstance(item, Part):
                word, part = symbol_and_part(item)
                self.sheet.down(word, column, row, row + 1, label_of(part, ""))
                row += 1
            else:
                below.append((row, item))
        if isinstance(items[-1], Part):
            self.sheet.wire((column, row), (column, self.common))
            self.returns.append(column)
        ends_open = not isinstance(items[-1], Part)
        used = column
        for position, (at, inner) in enumerate(reversed(below)):
            farther = [r for r, _ in list(reversed(below))[position + 1 :]]
            self.sheet.wire((column, at), (used + 1, at))
            if not (ends_open and at == row and len([r for r, _ in below if r == at]) == 1):
                self.sheet.dot((column, at))
            if at in farther:
                self.sheet.dot((used + 1, at))
            used = self.branch(inner, used + 1, at)
        return used


def _folded(items: list[Part], sheet: Sheet) -> int:
    """A long chain without branches, line under line, there and back; returns the row of the second rail."""
    rows = -(-len(items) // IN_A_LINE)
    column = row = 0
    for row in range(rows):
        line = items[row * IN_A_LINE : (row + 1) * IN_A_LINE]
        back = row % 2 == 1
        for item in line:
            word, part = symbol_and_part(item)
            after = column + (-1 if back else 1)
            turned = back and word in POLARISED
            sheet.across(
                _lying(word), row, min(column, after), max(column, after), label_of(part, ""), reverse=turned
            )
            column = after
        sheet.wire((column, row), (column, row + 1))
    sheet.wire((0, rows), (column, rows))
    return rows


class Chain(Kind):
    title = "Chain of parts"
    group = "Structure"
    what = (
        "Parts in series between two rails, with branches: a drawing for what no other kind covers. Nothing "
        "is computed."
    )
    assumes = (
        "The letters of a designator choose the symbol. Where a branch comes last, the chain ends in it. A "
        "diode points away from the first rail, a battery lies with its plus towards it."
    )

    elements = param.Tree("parts in series from the first rail; a list in the list is a branch to the second")
    between = param.Lines("the names of the two rails, the second one common")

    example = {
        "elements": ["F1 2A", "TF1 90C", "S1 door", ["C1 100n X2", "R1 47"], "M1 shaded pole"],
        "between": ["live", "neutral"],
    }  # fmt: skip
    variants = (
        Variant("a torch", {"elements": ["B1 3V", "S1 slide switch", "LP1 2.5V"],
            "between": ["spring", "case"]}),
        Variant("a filter with branches", {"elements": ["R1 10", ["C1 100n"], "L1 1mH", ["C2 100n", "R2 10"], ["D1"], "M1 fan"],
            "between": ["+12 V", "0 V"]}),
    )  # fmt: skip

    def vet(self, given: dict[str, Any]) -> list[tuple[str, str, str]]:
        found = []
        if len(given["between"]) != 2:
            found.append(
                ("between", f"{len(given['between'])} rails", "the names of two rails, such as [12 V, 0 V]")
            )
        count, empty = _count(given["elements"])
        if empty or not count:
            found.append(
                ("elements", "a branch without parts", "a list in the list is a branch to the common rail")
            )
        elif count > MOST_PARTS:
            found.append(("elements", f"{count} parts", f"at most {MOST_PARTS} are drawn in one chain"))
        return found

    def draw(self, block: Block, sheet: Sheet) -> None:
        """From the first rail along the top, branches and the last part down to the second rail at the bottom."""
        items: list[Item] = block.inputs["elements"]
        first_rail, second_rail = block.inputs["between"]
        sheet.port(0, 0, [Line(first_rail, "r", own=True)])
        if all(isinstance(item, Part) for item in items) and len(items) > IN_A_LINE:
            common = _folded(items, sheet)
        else:
            common = _Branches(
                sheet, max(1, height(items[-1:]), *(height(i) for i in items if not isinstance(i, Part)))
            ).main(items)
        sheet.port(0, common, [Line(second_rail, "r", own=True)])
