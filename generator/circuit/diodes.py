"""What a diode is by its words, and the volts across it at work."""

from __future__ import annotations

from generator.notation.parts import Part

SILICON_VOLTS, SCHOTTKY_VOLTS = 0.7, 0.35  # at work; from memory: data sheets of 1 to 3 A diodes
SILICON_FROM = 0.6  # V that a silicon junction does not come down to at its working current (from memory)


def is_schottky(part: object) -> bool:
    """Whether a part is called a Schottky diode."""
    return isinstance(part, Part) and "schottky" in {word.lower() for word in part.words}


def sort_of(volts: float) -> str:
    """What a rectifier is by the volts that it drops at work: silicon or schottky."""
    return "schottky" if volts < SILICON_FROM else "silicon"
