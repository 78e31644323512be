"""A part as a note states it: designator, value, ratings, tolerance, words."""

from __future__ import annotations

import re
from dataclasses import dataclass

from generator.notation import tolerance
from generator.notation.part_text import CAPACITOR_WORDS
from generator.notation.printed import format_band, format_value
from generator.notation.quantity import Quantity, QuantityError

# Worst case where the note is silent (the library's convention; typical stock parts).
TOLERANCES = {"resistor": 0.05, "potentiometer": 0.05, "film": 0.10, "electrolytic": 0.20, "thermistor": 0.05}
ELECTROLYTIC_FROM = 1e-6  # F; a capacitor without a word for its type


class PartError(QuantityError):
    """A text is no part of the class asked for. what says why, hint what would be accepted."""


@dataclass(frozen=True)
class Part:
    """A part as the note states it. value is None where the class needs none and none is given.

    ratings: unit -> value ({"V": 35.0}). extras: named further values ({"hfe": ..., "B": ...}).
    words: what is left, in order ("X2", "live", "red"). text is the part without its designator.
    """

    part_class: str
    designator: str
    value: Quantity | None
    ratings: dict[str, float]
    extras: dict[str, Quantity]
    words: tuple[str, ...]
    text: str
    shares: tolerance.Shares | None = None  # of an LED whose colour stands for its value (`red 5%`)

    def name(self, role: str) -> str:
        """What failures and checks call it: its designator, else its role in the circuit."""
        return self.designator or role

    @property
    def label(self) -> str:
        """The value as a drawing shows it: "4.7 kΩ", "1000 µF"."""
        if self.value is None:
            return " ".join(self.words)
        if self.value.is_range:
            return format_band(self.value.low, self.value.high, self.value.unit)
        return format_value(self.value.middle, self.value.unit, trim=True)

    @property
    def capacitor_type(self) -> str:
        """ "electrolytic" or "film" (and ceramic), by its words or its size; "" for what is no capacitor or has no value."""
        if self.part_class != "capacitor" or self.value is None:
            return ""
        return tolerance_class("capacitor", self.value, self.words)

    @property
    def ratings_label(self) -> str:
        """The ratings as a drawing shows them: "35 V", "500 mA 45 V"."""
        return " ".join(format_value(v, u, trim=True) for u, v in self.ratings.items())


def tolerance_class(part_class: str, value: Quantity, said: list[str] | tuple[str, ...]) -> str:
    """Which default tolerance a part has: a capacitor is electrolytic by its words or from 1 µF up."""
    if part_class != "capacitor":
        return part_class
    return type_of_capacitor(said) or ("electrolytic" if value.middle >= ELECTROLYTIC_FROM else "film")


def type_of_capacitor(said: list[str] | tuple[str, ...]) -> str:
    """ "electrolytic" or "film" (and ceramic) where a word says so, else ""."""
    return next(
        (known for word in said if (known := CAPACITOR_WORDS.get(word) or CAPACITOR_WORDS.get(word.lower()))),
        "",
    )


_RANGE = re.compile(r"([A-Z]{1,3})(\d+)\s*[-–]\s*(?:[A-Z]{1,3})?(\d+)")
MOST_ALIKE = 50


def each_of(designator: str, count: int = 0) -> list[str]:
    """Each of several like parts under one designator: D1, D2, D3 and D4 of "D1-D4"; none where it does not say so.

    count: how many there have to be, 0 for as many as it says.
    """
    span = _RANGE.fullmatch(designator)
    if span is None:
        return []
    first, last = int(span[2]), int(span[3])
    if not 0 < last - first < MOST_ALIKE or count and last - first != count - 1:
        return []
    return [f"{span[1]}{number}" for number in range(first, last + 1)]
