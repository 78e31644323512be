"""What a capacitor across the mains leaves on the pins of the plug after it is pulled."""

from __future__ import annotations

import math

LIMIT = 34.0  # V between the pins
AFTER = 1.0  # s after the plug is pulled
FROM = 100e-9  # F; smaller capacitors are not held to it
SOURCE = "IEC 60335-1, clause 22.5: 34 V one second after the plug is pulled, for 0.1 µF and more (from memory, check your edition)"
RULE = "exponential discharge of a capacitor through a resistor"


def voltage_after(*, peak: float, resistance: float | None, capacitance: float, seconds: float = AFTER) -> float:
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
