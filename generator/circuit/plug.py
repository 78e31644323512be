"""What a capacitor across the mains leaves on the pins of the plug after it is pulled."""

from __future__ import annotations

import math

from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved
from generator.circuit.ratings import within
from generator.notation.parts import Part

LIMIT = 34.0  # V between the pins
AFTER = 1.0  # s after the plug is pulled
FROM = 100e-9  # F; smaller capacitors are not held to it
SOURCE = "IEC 60335-1, clause 22.5: 34 V one second after the plug is pulled, for 0.1 µF and more (from memory, check your edition)"
RULE = "exponential discharge of a capacitor through a resistor"


def solved(
    kind: Kind, x: Point, *, stored: float, resistor: str, capacitor: str, apart: bool = False
) -> Solved:
    """plug_voltage_1s and discharge_time_34v where the formulas of the kind's table do not hold.

    stored: volts when the plug is pulled, at the crest, the worst moment. resistor, capacitor: the inputs that drain and
    hold it; without a resistor nothing drains it. apart: stored is not the kind's value peak, so that numbers are given.
    """
    capacitance, resistance = x.__dict__[capacitor], x.__dict__[resistor]
    found: dict[str, float | Formula] = {}
    if capacitance is None:
        return found
    if capacitance == 0 or resistance == 0:
        return {"plug_voltage_1s": 0.0, "discharge_time_34v": 0.0}
    if resistance is None:
        found = {"plug_voltage_1s": Formula("peak"), "discharge_time_34v": math.inf}
    if stored <= LIMIT:
        found["discharge_time_34v"] = 0.0
    if apart:
        at = x.changed(peak=stored, wait=AFTER, limit=LIMIT)
        for name in ("plug_voltage_1s", "discharge_time_34v"):
            entry = found.get(name, kind.formula(name))
            found[name] = entry.of(at) if isinstance(entry, Formula) else entry
    return found


def held_to_it(capacitance: float) -> bool:
    """Whether a rated capacitance (F) is large enough for the limit to apply."""
    return capacitance >= FROM * (1 - 1e-6)


def is_x_rated(part: Part) -> bool:
    """Whether a capacitor is marked for use across the mains (IEC 60384-14, class X)."""
    return any(word.upper() in ("X", "X1", "X2") for word in part.words)


def check(block: Block, name: str) -> Check:
    """plug_voltage_1s at the bad end of the tolerances and at the top of the mains band against the limit."""
    supply = block.quantity("supply")
    left = block.high("plug_voltage_1s") * (block.mains_top() / supply.high if supply else 1.0)
    return within(name, LIMIT, left, "V", "leaves at the plug, 1 s after it is pulled,", "allowed")
