"""What a meter showed, as an interval: the reading with the meter's accuracy, and its verdict against a band."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from generator.circuit.block import Result
from generator.language import _
from generator.notation.quantity import QuantityError, accuracy_of, format_value, parse

OPEN_FROM = 20e6  # ohm; the top range of a hand-held meter, beyond which it shows "open"
SHORT_BELOW = 1.0  # ohm; test leads and contact, common practice, no source
BARE_ZERO = (
    0.01  # of the digit written: "0 A" on the 10 A range of a hand-held meter is less than 10 mA; from memory
)
COUNTS = 2000  # of a 3½-digit display

_ABOUT = re.compile(
    r"^(?:(?:about|approx(?:imately|\.)?|roughly|around|ca\.?|circa|etwa|rund)\s+|[~≈]\s*)", re.IGNORECASE
)
_REMARK = re.compile(r"\s*\([^()]*\)$")
_AFTER = re.compile(r"\s+(?:after|nach|at|when|in)\s+.*$", re.IGNORECASE)


@dataclass(frozen=True)
class Meter:
    """A meter: accuracy as a share of the reading plus counts of the last digit; its input resistance in ohm."""

    share: float = 0.01
    counts: int = 3
    input: float = 10e6


@dataclass(frozen=True)
class Shown:
    """What the meter showed, in the unit of the value: an interval, or open, or short.

    value is None for a bracket ("47k..56k"); low and high include the meter's accuracy.
    """

    text: str
    unit: str
    value: float | None
    low: float
    high: float
    state: str = ""  # "open" or "short" where the meter shows no number

    @property
    def spread(self) -> float:
        """Half the width of the interval."""
        return (self.high - self.low) / 2

    @property
    def middle(self) -> float:
        """The value, or the middle of a bracket."""
        return (self.low + self.high) / 2 if self.value is None else self.value


def read_accuracy(text: str, meter: Meter) -> Meter:
    """A meter with the accuracy that a text states ("2 % + 5"); the same meter where it states none.

    Raises QuantityError for a text that is no accuracy.
    """
    if not text.strip():
        return meter
    found = accuracy_of(text)
    if found is None:
        raise QuantityError(f"{text[:30]} is no accuracy of a meter", "such as 1 % + 3")
    return Meter(*found, meter.input)


def read_shown(text: str, unit: str, meter: Meter) -> Shown:
    """What the meter showed, as an interval in unit. Raises QuantityError in words for people.

    "17.4 V", "open", "short", "47k..56k", "12.1 V after 10 min" or "(warm)" (a remark), "about 9.8 V", "<1 mA".
    """
    plain = text.strip()
    bare = _ABOUT.sub("", _REMARK.sub("", plain))
    word = re.split(r"[ ,;]", bare.casefold())[0]
    if word in ("open", "ol", "o.l", "o.l.", "0l", "0.l", ".ol", "infinite", "∞", "never"):
        return Shown(plain, unit, math.inf, OPEN_FROM if unit == "ohm" else math.inf, math.inf, "open")
    if word in ("short", "shorted"):
        return Shown(plain, unit, 0.0, 0.0, SHORT_BELOW if unit == "ohm" else 0.0, "short")
    number = _AFTER.sub("", bare) if unit != "s" or not re.match(r"^[\d.,]+\s*\w+$", bare) else bare
    if number[:1] in ("<", "≤"):
        limit = parse(number[1:], unit, positive=False, zero=True).high
        return Shown(plain, unit, None, min(0.0, limit), max(0.0, limit))
    if number[:1] in (">", "≥"):
        raise QuantityError(
            f"{plain}: how much more is not said",
            "write open where the meter ran out of range, else a range such as 2M..20M",
        )
    found = parse(number, unit, positive=False, zero=True)
    if found.value is None:
        widen = meter.share
        return Shown(
            plain, unit, None, found.low - abs(found.low) * widen, found.high + abs(found.high) * widen
        )
    written = _last_digit(number, unit)
    if found.value == 0 and not re.search(r"[.,]\d", number):
        written *= 2 * BARE_ZERO  # "0 A" says that nothing flows, not that less than half an ampere does
    stated = found.high - found.value if found.toleranced else 0.0
    reach = max(
        stated, abs(found.value) * meter.share + meter.counts * resolution(found.value, unit) + written / 2
    )
    return Shown(plain, unit, found.value, found.value - reach, found.value + reach)


def resolution(value: float, unit: str) -> float:
    """What the last digit of a 3½-digit display stands for, on the smallest range that holds the value."""
    smallest = {"V": 0.2, "ohm": 200.0, "A": 2e-4, "F": 2e-9, "Hz": 200.0}.get(unit)
    if unit in ("s", "", "°C", "K", "degree", "lux"):
        return 0.0
    size = max(abs(value), smallest / 10 if smallest else 1e-12)
    decade = math.ceil(math.log10(size / 2 + 1e-300) - 1e-12)
    full = 2 * 10.0**decade
    if smallest:
        full = max(full, smallest)
    return full / COUNTS


def _last_digit(text: str, unit: str) -> float:
    """What one unit of the last digit written stands for: 0.1 V for "17.4 V", 100 ohm for "4k7", 1 mA for "0 mA"."""
    plain = re.sub(r"\s*(?:±|\+/-).*$", "", text.strip().lstrip("+-<>≤≥"))
    digits = re.findall(r"\d", plain.split("%")[0])
    if not digits:
        return 0.0
    last = max(i for i, c in enumerate(plain) if c.isdigit())
    one = re.sub(r"\d", "0", plain[:last]) + "1" + plain[last + 1 :]
    try:
        return abs(parse(one, unit, positive=False, zero=True).middle)
    except QuantityError:
        return 0.0


@dataclass(frozen=True)
class Verdict:
    """A reading against what it should be. word: within, low, high, open or short; difference in words."""

    word: str
    difference: str
    ok: bool


def verdict(shown: Shown, expected: Result) -> Verdict:
    """Whether a reading is within the expected band, allowing for the meter."""
    if shown.state == "open":
        ok = math.isinf(expected.high)
        return Verdict("within" if ok else "open", "", ok)
    if shown.high < expected.low:
        word = "short" if shown.state == "short" else "low"
        return Verdict(word, _difference(shown.middle, expected, shown.unit), False)
    if shown.low > expected.high:
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
