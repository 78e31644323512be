"""Labels of drawings: what stands beside a part, and computed values at a node."""

from __future__ import annotations

import math

from generator.circuit.block import Block, Result
from generator.circuit.diodes import is_schottky
from generator.circuit.says import measured, phrase
from generator.circuit.sheet import LONGEST_LINE, Line, shortened
from generator.language import _, value_name
from generator.notation.parts import Part, each_of, type_of_capacitor
from generator.notation.printed import format_band, format_value
from generator.notation.quantity import Quantity

MOST_CUTS = 4  # cut points that stand at a tap
LEAST_OF_A_NAME = 12  # characters of a cut point's name that stay on the drawing beside a range
# of capacitors on the mains (IEC 60384-14); a substitute has to keep it
SAFETY_CLASSES = {"X", "X1", "X2", "Y", "Y1", "Y2"}


def part_label(block: Block, name: str, *, ratings: bool = True) -> list[Line]:
    """Designator (or role), value and ratings of the part behind a parameter, a line each."""
    given = block.inputs.get(name)
    param = block.kind.param(name)
    role = param.called if param else name
    if isinstance(given, Part):
        return label_of(given, role, ratings=ratings)
    if isinstance(given, Quantity):
        return [Line(role, "r"), Line(format_value(given.middle, given.unit, trim=True))]
    return [Line(role, "r")] if given is None else [Line(role, "r"), Line(str(given))]


def label_of(part: Part, role: str, *, ratings: bool = True) -> list[Line]:
    """The same for a part of a list."""
    first = Line(part.designator, "d") if part.designator else Line(role, "r")
    lines = [first, Line(part.label)]
    if ratings:
        classes = [
            word for word in part.words if part.part_class == "capacitor" and word.upper() in SAFETY_CLASSES
        ]
        lines.append(Line(" ".join([part.ratings_label, *classes]).strip()))
        if part.part_class in ("thermistor", "photoresistor"):
            curve = (
                f"{word} {format_value(found.middle, found.unit, 4, trim=True)}"
                for word, found in part.extras.items()
            )
            lines.append(Line(" ".join(curve)))
    return [line for line in lines if line.text]


def with_further_values(part: Part, role: str) -> list[Line]:
    """Designator, further values (hFE, threshold, on-resistance) and ratings of a transistor."""
    further = (
        text
        for word, found in part.extras.items()
        for text in (word, measured(found.middle, found.unit, trim=True))
    )
    first = Line(part.designator, "d") if part.designator else Line(role, "r")
    return [first, Line(phrase(*further)), Line(part.ratings_label)]


def capacitor_word(block: Block, name: str) -> str:
    """The word for the symbol of the capacitor behind a parameter."""
    part = block.part(name)
    return capacitor_symbol(part, getattr(block.kind.param(name), "unmarked", "")) if part else "capacitor"


def capacitor_symbol(part: Part, unmarked: str = "") -> str:
    """The same for a part of a list. unmarked: the type of one that says nothing of itself, else by its size."""
    kept = type_of_capacitor(part.words) or unmarked or part.capacitor_type
    return "electrolytic" if kept == "electrolytic" else "capacitor"


def diode_symbol(part: Part | None) -> str:
    """The word for a diode's symbol, by what the note says of it."""
    return "schottky" if is_schottky(part) else "diode"


def each_label(block: Block, name: str, count: int, role: str) -> list[list[Line]]:
    """The labels of several like parts under one parameter: "D1-D4" as D1, D2, D3 and D4, else once beside the last."""
    part = block.part(name)
    if part is None or not part.designator:
        return [[]] * (count - 1) + [[Line(role, "r")]]
    if each := each_of(part.designator, count):
        return [[Line(own, "d", part.designator)] for own in each]
    return [[]] * (count - 1) + [[Line(part.designator, "d")]]


def written(result: Result) -> str:
    """A computed value as a person would write it: a charge rate as 0.08 C; from a cut point given as a range, which has no single value, the range."""
    if result.unit == "1/h" and result.value is not None:
        return f"{format_value(result.value, '', 2, trim=True)} C"
    return (
        format_band(result.low, result.high, result.unit)
        if result.value is None
        else format_value(result.value, result.unit)
    )


def computed(block: Block, *names: str) -> list[Line]:
    """Computed values as lines for a node: "peak 15.6 V". A stated input is shown in the same way."""
    lines = []
    for name in names:
        result = block.values.get(name)
        if result is not None:
            lines.append(Line(f"{value_name(name)} {written(result)}", "n", name, _flows(result)))
        elif (given := block.quantity(name)) is not None:
            # stated as finely: 2.495 V
            digits = 4 if math.isclose(given.middle, float(f"{given.middle:.4g}"), rel_tol=1e-9) else 3
            lines.append(Line(format_value(given.middle, given.unit, digits, trim=True)))
    return lines


# currents that nothing carries as it works
_NO_BRANCH = ("limit", "trip", "set", "stall", "surge", "available")


def _flows(result: Result) -> bool:
    """Whether a value is the current of the branch that it is written at."""
    return result.unit == "A" and not any(word in result.name for word in _NO_BRANCH)


def named(block: Block, name: str, called: str = "") -> list[Line]:
    """One computed value under a shorter name, or none: "takes 2.20 kW". Nothing where it is absent."""
    result = block.values.get(name)
    if result is None:
        return []
    return [Line(f"{_(called)} {written(result)}".strip(), "n", name, _flows(result))]


def at_tap_line(block: Block, name: str, words: str) -> list[Line]:
    """A computed value under words of its own: "at 25 °C 2.50 V"; nothing where the value is absent."""
    result = block.values.get(name)
    if result is None:
        return []
    number = written(result)
    room = max(LONGEST_LINE - 1 - len(number), LEAST_OF_A_NAME)
    return [Line(f"{shortened(_(words), room)} {number}".strip(), "n")]


def cut_lines(block: Block, value: str) -> list[Line]:
    """A line for each cut point at the tap: "heat off 1.92 V"; the table has those beyond the first few."""
    cuts = list(block.point.cuts)[:MOST_CUTS]
    return [line for cut in cuts for line in at_tap_line(block, f"{cut}.{value}", cut)]
