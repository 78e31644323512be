"""What an ohmmeter finds of something that is rated in watts, by what it is called: its resistance at rest, the plug out."""

from __future__ import annotations

import re
from typing import NamedTuple

from generator.notation.parts import Part


class AtRest(NamedTuple):
    """Resistance at rest over that at work, U²/P: nominal, and its ends beyond what the rated power leaves open."""

    share: float
    low: float
    high: float


# A heating element is a resistance, hot or cold. Tungsten's resistivity rises twelve to eighteen times from room temperature
# to a filament's 2,500 to 3,000 K (CRC Handbook of Chemistry and Physics, resistivity of tungsten; from memory). A winding's
# copper is what is left of its impedance. Without a word for what it is, it may be any of them.
ELEMENT = AtRest(1.0, 1.0, 1.0)
LAMP = AtRest(1 / 14, 1 / 20, 1 / 9)
MOTOR = AtRest(0.15, 0.03, 0.6)
ANYTHING = AtRest((LAMP.low + ELEMENT.high) / 2, LAMP.low, ELEMENT.high)

_SORTS = (
    (LAMP, re.compile(r"(?:LA|LP|DS)\d"), {"lamp", "bulb", "halogen", "incandescent", "filament"}),
    (MOTOR, re.compile(r"(?:M|FAN|MOT)\d"), {"motor", "fan", "pump", "compressor"}),
    (ELEMENT, re.compile(r"(?:HE|HTR|EH|E|R|H)\d"), {"heater", "element", "heating"}),
)
ELECTRONIC = {"led", "electronic", "smps"}  # its rectifier blocks what an ohmmeter drives


def resting(part: Part) -> AtRest | None:
    """What a load in watts is at rest; None for one behind a rectifier, which shows nothing."""
    words = {word.lower() for word in part.words}
    if words & ELECTRONIC:
        return None
    said = next((sort for sort, _called, names in _SORTS if names & words), None)
    by_name = next((sort for sort, called, _names in _SORTS if called.match(part.designator)), ANYTHING)
    return said or by_name
