"""Values in trade notation: `4k7`, `100 µF`, `12 V 5%`, `47k..56k`, read.

Letter-for-point codes follow IEC 60062; prefixes are those of the SI.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace

from generator.notation import tolerance
from generator.notation.printed import format_value
from generator.notation.tolerance import TOLERANCE_LETTERS, ToleranceError
from generator.notation.units import KINDS_OF_VALUE, PREFIXES, UNITS, in_symbols
from generator.problems import Refusal

NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_PLAIN = re.compile(rf"^({NUMBER})\s*(.*)$")
_LETTER_POINT = re.compile(r"^(\d*)([RVAFLfpnuµμmkKMG])(\d+)\s*(.*)$")
# 10k J; behind a bare figure the letter is a prefix
LETTERED = re.compile(r"(.*[A-Za-zΩ\u2126]\S*) ([FGJKMZ])")
OWN_LETTERS = {"R": "ohm", "V": "V", "A": "A", "F": "F", "L": "H"}  # letters for the point that are a unit
POINT_FIRST = {"ohm": "R", "F": "pnuµμm", "H": "nuµμm"}  # R47, n47, u47, p68: IEC 60062
RANGE = re.compile(r"\s*(?:\.\.\.?|…|–)\s*|\s+(?:to|-)\s+|(?<=[0-9kRMΩVAFCzs%])-(?=[0-9])")
_ACCURACY = re.compile(
    r"(?:±\s*)?\(?([0-9]{1,2}(?:[.,][0-9]{1,4})?)\s*%\s*(?:rdg\.?|of (?:the )?reading|reading)?"
    r"(?:\s*\+\s*([0-9]{1,4})\s*(?:counts?|digits?|dgts?|d|LSD)?)?\)?"
)
_THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}")  # "1,000" is a thousand to some and one to others


class QuantityError(Refusal):
    """A text is no value of the unit asked for. what says why, hint what would be accepted."""


@dataclass(frozen=True)
class Quantity:
    """A value with its band, in plain units (V, A, ohm, F, ...).

    value is None where only a range is known. low <= value <= high. toleranced says that the text
    stated a tolerance (or a range) itself.
    """

    value: float | None
    low: float
    high: float
    unit: str
    text: str = ""
    toleranced: bool = False
    letter_point: bool = False

    @property
    def is_range(self) -> bool:
        """Whether only a range is known."""
        return self.value is None

    @property
    def middle(self) -> float:
        """The value, or the middle of a range."""
        return (self.low + self.high) / 2 if self.value is None else self.value

    def within(self, share: float) -> Quantity:
        """The same value with a tolerance of ±share, where none was stated."""
        if self.toleranced or self.value is None:
            return self
        spread = abs(self.value) * share
        return replace(self, low=self.value - spread, high=self.value + spread)


def exactly(value: float, unit: str, text: str = "") -> Quantity:
    """A value without a band."""
    return Quantity(value, value, value, unit, text or format_value(value, unit, trim=True))


def parse(text: object, unit: str, *, positive: bool = True, zero: bool = False) -> Quantity:
    """Read a value in trade notation as a quantity of the unit.

    text may end in a tolerance ("12 V 5%") or be a range ("47k..56k"). positive refuses what is below
    zero; zero allows 0. Raises QuantityError with words for people: not a value, another quantity
    ("12 A" for a voltage), absurd (beyond any household device).
    """
    source = " ".join(str(text).split()).replace("−", "-")
    if len(source) > 80:
        raise QuantityError(f"{source[:20]}... is too long for a value", expected(unit))
    plain = tolerance.in_one(in_symbols(source))
    ends = RANGE.split(plain)
    if len(ends) == 2 and ends[0] and ends[1]:
        return _parse_range(source, ends[0], ends[1], unit, positive, zero)
    body, shares = _split_tolerance(plain, unit)
    if shares is None and unit in ("ohm", "F", "H") and (lettered := LETTERED.fullmatch(body)):
        body, shares = lettered[1], TOLERANCE_LETTERS[lettered[2]]
    value, letter_point = _parse_number(body, unit, source)
    _refuse_absurd(value, unit, source, positive, zero)
    if shares is None:
        return Quantity(value, value, value, unit, source, False, letter_point)
    low, high = sorted((value - value * shares[0], value + value * shares[1]))
    return Quantity(value, low, high, unit, source, True, letter_point)


def _parse_range(source: str, first: str, second: str, unit: str, positive: bool, zero: bool) -> Quantity:
    """`2..3 mA`: the unit behind the second number belongs to both. Its prefix does too where the first number is
    bare and the smaller of the two as written: `47..56k` is 47k..56k, but `820..1k2` starts at 820."""
    high, _letter = _parse_number(second, unit, source)
    bare = _is_bare(first)
    low, _letter = _parse_number(first + (_tail(second) if bare else ""), unit, source)
    if bare and not _smaller_as_written(first, second):
        low = float(first.strip().replace(",", ".")) * (_factor_of_unit(second, unit))
        if low > high and high < float(_figures(second)):  # 900..1.2mA
            raise QuantityError(f"{source}: the unit of {first.strip()} is missing", "write it after both")
    if low > high:
        low, high = high, low
    for end in (low, high):
        _refuse_absurd(end, unit, source, positive, zero)
    return Quantity(None, low, high, unit, source, True)


def _figures(text: str) -> str:
    """The number of a text as written, without its prefix and unit: `1k2` is 1.2."""
    if match := _LETTER_POINT.match(text.strip()):
        return f"{match[1] or 0}.{match[3]}"
    match = _PLAIN.match(text.strip())
    return match[1].replace(",", ".") if match else "0"


def _smaller_as_written(first: str, second: str) -> bool:
    return abs(float(_figures(first))) < abs(float(_figures(second)))


def _factor_of_unit(text: str, unit: str) -> float:
    """What the unit behind a number stands for without its prefix: 60 in `2 min`, 0.01 in `2 %`, 1 in `2 mA`."""
    tail = _tail(text).strip()
    return UNITS[tail][1] if tail in UNITS and UNITS[tail][0] == unit and tail not in PREFIXES else 1.0


def _is_bare(text: str) -> bool:
    return re.fullmatch(NUMBER, text.strip()) is not None


def _tail(text: str) -> str:
    """What stands behind the figures of a value: `mA` of `3 mA`, `k` of `4k7`."""
    if match := _LETTER_POINT.match(text.strip()):
        return match[2] + match[4] if match[2] in PREFIXES else match[4]
    match = _PLAIN.match(text.strip())
    return match.group(2) if match else ""


def _split_tolerance(source: str, unit: str) -> tuple[str, tolerance.Shares | None]:
    body, stated = tolerance.split(source)
    if (
        not stated
        or not body
        or unit == ""
        and not body.endswith("%")
        and tolerance.EVEN.fullmatch(stated)
        and "±" not in stated
    ):
        return source, None  # "12 %" as a share is the value itself
    try:
        return body, tolerance.read(stated)
    except ToleranceError as error:
        raise QuantityError(f"{source}: {error.what}", error.hint) from None


def _parse_number(body: str, unit: str, source: str) -> tuple[float, bool]:
    text = body.strip()
    match = _LETTER_POINT.match(text)
    if match and (match.group(1) or match.group(2) in POINT_FIRST.get(unit, "R")):
        return _letter_point(match, unit, source), True
    match = _PLAIN.match(text)
    if not match:
        curly = source[:1] in "“”„‟‘’«»"
        raise QuantityError(
            f"{source or 'an empty text'} is not a value",
            "these quotes are part of the text; take them out" if source and curly else expected(unit),
        )
    if _THOUSANDS.fullmatch(match.group(1)):
        plain = match.group(1).replace(",", "")
        point = match.group(1).replace(",", ".").rstrip("0").rstrip(".")
        hint = f"write {plain} or {point}"
        raise QuantityError(f"{source}: {match.group(1)} may mean {plain} or {point}", hint)
    number = float(match.group(1).replace(",", "."))
    return _exact(number * _factor(match.group(2), unit, source)), False


def _letter_point(match: re.Match[str], unit: str, source: str) -> float:
    whole, letter, fraction, rest = match.groups()
    number = float(f"{whole or '0'}.{fraction}")
    own = OWN_LETTERS.get(letter)
    if own:
        if own != unit:
            raise QuantityError(*_wrong_quantity(source, own, unit))
        if rest.strip():  # "2R2 ohm" says its unit twice
            _factor(rest, unit, source)
        return number
    return _exact(number * PREFIXES[letter] * _factor(rest, unit, source))


def _exact(value: float) -> float:
    """Take back the last binary digits that scaling costs: 470n is 4.7e-07, not 4.7000000000000005e-07."""
    return float(f"{value:.15g}")


def _factor(suffix: str, unit: str, source: str) -> float:
    text = suffix.strip()
    if text in UNITS and UNITS[text][0] == unit:
        return UNITS[text][1]
    if unit == "F" and re.fullmatch("[pnuµμm]f|[PNU][Ff]", text):  # "2200uf", "100UF"
        return PREFIXES[text[0].lower()]
    if text in PREFIXES and unit not in ("°C", "degree"):
        if text not in ("K",) or unit != "K":
            return PREFIXES[text]
    if text[:1] in PREFIXES and text[1:].strip() in UNITS:
        measured, factor = UNITS[text[1:].strip()]
        if measured == unit:
            return PREFIXES[text[:1]] * factor
        if text not in UNITS:
            raise QuantityError(*_wrong_quantity(source, measured, unit))
    if text in UNITS:
        raise QuantityError(*_wrong_quantity(source, UNITS[text][0], unit))
    if not text:
        raise QuantityError(f"{source}: the unit is missing", expected(unit))
    raise QuantityError(f"{source}: {text} is not a unit that is known here", expected(unit))


def _wrong_quantity(source: str, found: str, wanted: str) -> tuple[str, str]:
    return f"{source} is {KINDS_OF_VALUE[found][0] if found else 'a share'}", expected(wanted)


def expected(unit: str) -> str:
    """The hint where a value of a unit is wanted: what it measures, with an example."""
    what, example = KINDS_OF_VALUE[unit][:2]
    return f"{what} is expected, such as {example}"


def _refuse_absurd(value: float, unit: str, source: str, positive: bool, zero: bool) -> None:
    what, _example, smallest, largest = KINDS_OF_VALUE[unit]
    if not math.isfinite(value):
        raise QuantityError(f"{source} is not a number that a device can show", expected(unit))
    if unit == "°C":
        if not smallest <= value <= largest:
            raise QuantityError(f"{source} is not a temperature that a device can have", expected(unit))
        return
    if value < 0 and positive:
        raise QuantityError(f"{source} is below zero", expected(unit))
    if value == 0:
        if positive and not zero:
            raise QuantityError(f"{source} is zero", expected(unit))
        return
    if not smallest <= abs(value) <= largest:
        meant = re.sub(r"M(?=[A-Za-z]*$)", "m", source)
        hint = (
            f"M is mega; did you mean {meant}?"
            if meant != source and unit not in ("ohm", "Hz")
            else expected(unit)
        )
        raise QuantityError(f"{source} is not {what} that a household device can have", hint)


def accuracy_of(text: str) -> tuple[float, int] | None:
    """A meter's accuracy as (share of the reading, counts of the last digit): "1 % + 3" -> (0.01, 3); None for other text."""
    found = _ACCURACY.fullmatch(in_symbols(text.strip()))
    return (float(found[1].replace(",", ".")) / 100, int(found[2] or 0)) if found else None
