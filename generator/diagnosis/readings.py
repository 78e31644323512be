"""What a meter showed against what it should: the verdict on a reading (read by generator.notation.reading)."""

from __future__ import annotations

import math
from dataclasses import dataclass

from generator.circuit.block import Result
from generator.diagnosis.evidence import STRAY_LEAK
from generator.language import _
from generator.notation.printed import format_value
from generator.notation.quantity import QuantityError, accuracy_of
from generator.notation.reading import OPEN_FROM, Meter, Shown, read_shown, resolution

__all__ = ["OPEN_FROM", "Meter", "Shown", "Verdict", "read_accuracy", "read_shown", "resolution", "verdict"]


def read_accuracy(text: str, meter: Meter) -> Meter:
    """A meter with the accuracy that a text states ("2 % + 5"); the same meter where it states none.

    Raises QuantityError for a text that is no accuracy.
    """
    if not text.strip():
        return meter
    found = accuracy_of(text)
    if found is None:
        raise QuantityError(f"{text[:30]} is not an accuracy of a meter", "such as 1 % + 3")
    return Meter(*found, meter.input)


# ohm that test leads and probe tips add to any reading in ohms, at most; common practice, no source
LEADS = 0.4
# V: where less than the one is due, what lies within the other is nothing: the last counts of a range (data sheets of meters: 3 to 5)
DEAD, LAST_COUNTS = 0.001, 0.005


@dataclass(frozen=True)
class Verdict:
    """A reading against what it should be. word: within, low, high, open or short; difference in words."""

    word: str
    difference: str
    ok: bool


def verdict(shown: Shown, expected: Result) -> Verdict:
    """Whether a reading is within the expected band, allowing for the meter and its leads."""
    if shown.state == "open":
        ok = math.isinf(expected.high)
        return Verdict("within" if ok else "open", "", ok)
    if math.isinf(expected.low) and shown.unit == "ohm" and shown.middle >= STRAY_LEAK:
        return Verdict("within", "", True)  # as good as open
    below, above = (
        LAST_COUNTS if shown.unit == "V" and abs(end) < DEAD else 0.0 for end in (expected.low, expected.high)
    )
    if shown.high < expected.low - below:
        word = "short" if shown.state == "short" else "low"
        return Verdict(word, _difference(shown.middle, expected, shown.unit), False)
    if shown.low > expected.high + (LEADS if shown.unit == "ohm" else above):
        return Verdict("high", _difference(shown.middle, expected, shown.unit), False)
    difference = _difference(shown.middle, expected, shown.unit)
    if difference and shown.value is not None and not expected.low <= shown.value <= expected.high:
        meter = format_value(shown.spread, shown.unit)
        difference = _("%(difference)s; the meter ±%(spread)s") % {"difference": difference, "spread": meter}
    return Verdict("within", difference, True)


def _difference(read: float, expected: Result, unit: str) -> str:
    nominal = expected.value if expected.value is not None else (expected.low + expected.high) / 2
    if not math.isfinite(nominal) or not math.isfinite(read) or read == nominal:
        return ""
    gap = read - nominal
    sign = "+" if gap >= 0 else "−"
    text = f"{sign}{format_value(abs(gap), unit)}"
    return (
        f"{text} ({sign}{abs(gap / nominal) * 100:.0f} %)"
        if nominal and 0.005 <= abs(gap / nominal) < 10
        else text
    )
