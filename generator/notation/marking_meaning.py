"""What a marking means, and the quantities that a code states: shared by colour bands and printed codes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from generator.notation import marking_tables as t
from generator.notation.preferred import nearest_preferred
from generator.notation.printed import format_band, format_value
from generator.notation.quantity import Quantity, QuantityError
from generator.notation.tolerance import TOLERANCE_LETTERS

SUCH_AS = "codes such as 103, 4K7, 4n7J, 01C, or colours such as yellow violet orange gold"


class MarkingError(QuantityError):
    """A text is no marking. what says why, hint what would be accepted."""


@dataclass(frozen=True)
class Decoded:
    """One meaning of a code. part: class of part; quantity: None for a dielectric; coefficient: in 10⁻⁶/K."""

    part: str
    quantity: Quantity | None
    system: str
    tolerance: str = ""
    coefficient: int | None = None
    note: str = ""

    def as_data(self) -> dict[str, Any]:
        """The reading as data, in plain units."""
        q = self.quantity
        return {
            "part": self.part, "value": q.value if q else None, "low": q.low if q else None, "high": q.high if q else None,
            "unit": q.unit if q else "", "tolerance": self.tolerance, "coefficient": self.coefficient, "system": self.system,
            "note": self.note,
        }  # fmt: skip

    def as_text(self) -> str:
        """The reading as a line for a terminal."""
        words = [self.part]
        if self.quantity is not None:
            words.append(format_value(self.quantity.middle, self.quantity.unit, 4, trim=True))
            if self.tolerance:
                words.append(
                    f"{self.tolerance} ({format_band(self.quantity.low, self.quantity.high, self.quantity.unit, 4)})"
                )
        if self.coefficient is not None:
            words.append(f"{self.coefficient}·10⁻⁶/K")
        return f"{' '.join(words)}: {self.system}" + (f"; {self.note}" if self.note else "")


def _exact(value: float) -> float:
    return float(f"{value:.12g}")


def plain(value: float, unit: str, text: str) -> Quantity:
    """A quantity without a tolerance."""
    value = _exact(value)
    return Quantity(value, value, value, unit, text)


def toleranced(value: float, unit: str, text: str, below: float, above: float) -> Quantity:
    """below and above: shares of the value."""
    value = _exact(value)
    return Quantity(value, value * (1 - below), value * (1 + above), unit, text, True)


def lettered(value: float, unit: str, text: str, letter: str | None) -> tuple[Quantity, str]:
    """The quantity with the tolerance of a letter, and that in words. Below 10 pF some letters are absolute."""
    if not letter or value == 0:
        return plain(value, unit, text), ""
    if unit == "F" and value < t.SMALL_CAPACITOR and letter in t.SMALL_CAPACITOR_LETTERS:
        spread = t.SMALL_CAPACITOR_LETTERS[letter]
        value = _exact(value)
        return Quantity(
            value, max(value - spread, 0.0), value + spread, unit, text, True
        ), f"±{spread * 1e12:g} pF"
    below, above = TOLERANCE_LETTERS[letter]
    return toleranced(value, unit, text, below, above), t.tolerance_words(below, above)


def preferred(quantity: Quantity | None) -> bool:
    """Whether the value is in an E series; 0 (a link) counts."""
    return quantity is not None and (
        quantity.middle == 0 or nearest_preferred(quantity.middle) == quantity.middle
    )
