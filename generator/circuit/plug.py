"""What a capacitor across the mains leaves on the pins of the plug after it is pulled."""

from __future__ import annotations

import math

from generator.circuit.block import Block, Check
from generator.circuit.ratings import within
from generator.notation.parts import Part

LIMIT = 34.0  # V between the pins
AFTER = 1.0  # s after the plug is pulled
FROM = 100e-9  # F; smaller capacitors are not held to it
SOURCE = "IEC 60335-1, clause 22.5: 34 V one second after the plug is pulled, for 0.1 µF and more (from memory, check your edition)"
RULE = "exponential discharge of a capacitor through a resistor"


def voltage_after(
    *, peak: float, resistance: float | None, capacitance: float, seconds: float = AFTER
) -> float:
    """Volts left on a capacitor: peak·exp(−t/(R·C)). Pulled at the crest, the worst moment.

    resistance: ohm, None or inf for none (nothing drains it); capacitance: F, 0 for an open one (nothing is stored).
    """
    if capacitance == 0 or resistance == 0:
        return 0.0
    if resistance is None or math.isinf(resistance):
        return peak
    return peak * math.exp(-seconds / (resistance * capacitance))


def time_down_to(*, peak: float, resistance: float | None, capacitance: float, limit: float = LIMIT) -> float:
    """Seconds from peak down to limit: R·C·ln(peak/limit); 0 where it starts below, inf where nothing drains it."""
    if capacitance == 0 or resistance == 0 or peak <= limit:
        return 0.0
    if resistance is None or math.isinf(resistance):
        return math.inf
    return resistance * capacitance * math.log(peak / limit)


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
