"""What a meter shows, as people write it: one grammar for notes, the command line and the page.

"17.4 V", "231 V AC", "47k..56k", "open", "O.L", "0L", "short", "about 9.8 V", "12,3 V DC", "<1 mA",
"12.1 V after 10 min", "9.8 V (warm)". Words and units stand in tables; table() hands them to the page's script
(themes/bench/static/helper/readings.js), which reads the same texts as the same numbers: a test compares the two.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from generator.language import _, localized
from generator.notation import quantity
from generator.notation.quantity import QuantityError, parse
from generator.notation.units import (
    IN_WORDS,
    KINDS_OF_VALUE,
    PREFIXES,
    PREFIXES_WRITTEN_OUT,
    UNITS,
    WRITTEN_OUT,
    in_symbols,
)

LONGEST = 80
OPEN = ("open", "ol", "o.l", "o.l.", "0l", "0.l", "0.l.", ".ol", "inf", "infinite", "infinity", "overload", "overrange", "∞", "never", "offen",
        "unendlich", "ouvert", "oneindig")  # fmt: skip
SHORT = ("short", "shorted", "kurzschluss", "court-circuit", "kortsluiting")
ABOUT = ("about", "approximately", "approx.", "approx", "roughly", "around", "ca.", "ca", "circa", "etwa", "rund",
         "environ", "ongeveer", "~", "≈")  # fmt: skip
# what follows them is a remark
BEHIND = ("after", "nach", "at", "when", "in", "with", "without", "on", "across", "while", "during", "bei")
# What a display without a number means in a unit; elsewhere it says that the range was too small.
OPEN_IN = ("ohm", "V", "s", "°C", "K", "lux")
OPEN_FROM = 20e6  # ohm; the top range of a hand-held meter, beyond which it shows "open"
SHORT_BELOW = 1.0  # ohm; test leads and contact, common practice, no source
COUNTS = 2000  # of a 3½-digit display
SMALLEST_RANGE = {"V": 0.2, "ohm": 200.0, "A": 2e-4, "F": 2e-9, "Hz": 200.0}  # of such meters, from memory
WITHOUT_COUNTS = ("s", "", "°C", "K", "degree", "lux")
# Of the digit written: "0 A" on the 10 A range of a hand-held meter is less than 10 mA; from memory
BARE_ZERO = 0.01

# On which range it was read, by what stands behind the unit; AC is RMS.
RANGES = {
    "AC": "ac", "ac": "ac", "~": "ac", "rms": "ac", "RMS": "ac", "eff": "ac", "DC": "dc", "dc": "dc", "=": "dc", "⎓": "dc",
    "pp": "pp", "p-p": "pp", "pk-pk": "pp", "peak to peak": "pp", "peak-to-peak": "pp", "peak": "peak", "pk": "peak", "p": "peak",
}  # fmt: skip

# What a value is -> range on which it was read -> factor from what the meter shows to the value, or why it is another one.
WAVES: dict[str, dict[str, float | str]] = {
    "dc": {"dc": 1.0, "ac": "steady", "pp": "dc", "peak": "dc"},
    "rms": {"ac": 1.0, "dc": "alternates", "pp": "rms", "peak": "rms"},
    "sine peak": {"peak": 1.0, "pp": 0.5, "ac": math.sqrt(2), "dc": "alternates"},
    "peak to peak": {"pp": 1.0, "ac": "ripple", "dc": "mean", "peak": "ripple"},
}


def reasons() -> dict[str, str]:
    """Why what one range shows is not the value, in words for people."""
    return {
        "ripple": _(
            "an AC range shows the RMS of a ripple; peak to peak is read with an oscilloscope, and written as Vpp"
        ),
        "mean": _("a DC range shows the mean, not the ripple; read it with an oscilloscope, and write Vpp"),
        "steady": _("this is a DC voltage: an AC range shows only the ripple on it"),
        "dc": _("this is a DC value: read it on the DC range"),
        "alternates": _("this alternates: a DC range shows next to nothing"),
        "rms": _("this is an RMS value: read it on the AC range"),
    }


_BLANK = r"[ \t\n\r\u00a0\u2009\u202f]+"
_REMARK = r"(?: ?\([^()]*\)|[,;](?: [^0-9%]*)?)$"
_MINUS = r"^[-–—] ?(?=[0-9.])"
_BEHIND = r" +(?:" + "|".join(dict.fromkeys(BEHIND)) + r") .*$"
_RANGE_BEHIND = (
    r"^(.*[0-9] ?[pnuµμmkM]?[VvAa]) ?("
    + "|".join(re.escape(word) for word in sorted(RANGES, key=len, reverse=True))
    + r")$"
)
_RANGE_BEFORE = r"^(AC|DC) ?(?=[0-9+\-.,<≤])"
_TOLERANCE = r" ?(?:±|\+/-|\+-)? ?([0-9]+(?:[.,][0-9]+)?) ?%$"
_FIGURE = re.compile(r"([+−-]?\d+(?:[.,]\d+)?)\s*([pnuµmkMG]?)(V|A|Ω|F|W|s|Hz)((?: (?:AC|DC))?)")
_UNIT_BEHIND = re.compile(r"([pnµmkMG]?)(V|A|Ω|F|W|s|Hz)$")


@dataclass(frozen=True)
class Meter:
    """A meter: accuracy as a share of the reading plus counts of the last digit; its input resistance in ohm."""

    share: float = 0.01
    counts: int = 3
    input: float = 10e6


@dataclass(frozen=True)
class Shown:
    """What the meter showed, in the unit of the value: an interval, or open, or short.

    value is None for a bracket ("47k..56k"); low and high include the meter's accuracy. range: "ac", "dc", "pp", "peak"
    where the text says on which it was read.
    """

    text: str
    unit: str
    value: float | None
    low: float
    high: float
    state: str = ""  # "open" or "short" where the meter shows no number
    range: str = ""

    @property
    def spread(self) -> float:
        """Half the width of the interval."""
        return (self.high - self.low) / 2

    def meets(self, other: Shown) -> bool:
        """Whether two readings can be of one and the same value."""
        return self.low <= other.high and other.low <= self.high

    @property
    def middle(self) -> float:
        """The value, or the middle of a bracket."""
        return (self.low + self.high) / 2 if self.value is None else self.value


def read_shown(text: str, unit: str, meter: Meter, wave: str = "") -> Shown:
    """What the meter showed, as an interval in unit. wave: what the value is (a key of WAVES), "" where that is not known.

    Raises QuantityError in words for people: no reading, or one on a range that shows something else than the value.
    """
    plain = re.sub(_BLANK, " ", text).strip(" ").replace("−", "-")
    plain = re.sub(_MINUS, "-", plain)
    if len(plain) > LONGEST or any(c.isdecimal() and not c.isascii() for c in plain):
        raise QuantityError(f"{plain[:20]} is not a reading", quantity.expected(unit))
    bare = _without_about(re.sub(_REMARK, "", plain))
    word = re.split("[ ,;]", bare.lower())[0]
    if is_open(bare):
        if unit not in OPEN_IN:
            hint = f"{quantity.expected(unit)}; 0 where nothing flows"
            raise QuantityError(f"{plain} says that the range was too small", hint)
        return Shown(plain, unit, math.inf, OPEN_FROM if unit == "ohm" else math.inf, math.inf, "open")
    if word in SHORT:
        return Shown(plain, unit, 0.0, 0.0, SHORT_BELOW if unit == "ohm" else 0.0, "short")
    number = bare if unit == "s" and re.match(r"^[0-9.,]+ ?[A-Za-z]+$", bare) else re.sub(_BEHIND, "", bare)
    number = in_symbols(number)
    number, meter_range = _range_of(number) if unit in ("V", "A") else (number, "")
    factor = _factor(meter_range, wave, plain)
    shown = _interval(plain, number, unit, meter)
    value = None if shown.value is None else shown.value * factor
    return Shown(plain, unit, value, shown.low * factor, shown.high * factor, "", meter_range)


def is_open(text: str) -> bool:
    """Whether a meter showed that there is nothing to measure, or more than its range holds: `O.L`, `open`."""
    return re.split("[ ,;]", text.lower())[0] in OPEN


def _without_about(text: str) -> str:
    for word in ABOUT:
        if text.lower().startswith(word) and (
            not word[-1].isalpha() or text[len(word) : len(word) + 1] == " "
        ):
            return text[len(word) :].lstrip(" ")
    return text


def _range_of(text: str) -> tuple[str, str]:
    """(the text without it, the range that it names)."""
    if found := re.match(_RANGE_BEHIND, text):
        return found[1], RANGES[found[2]]
    if found := re.match(_RANGE_BEFORE, text):
        return text[found.end() :], RANGES[found[1]]
    return text, ""


def _factor(meter_range: str, wave: str, plain: str) -> float:
    found = WAVES.get(wave, {}).get(meter_range, 1.0)
    if isinstance(found, str):
        raise QuantityError(f"{plain}: {reasons()[found]}")
    return found


def _interval(plain: str, number: str, unit: str, meter: Meter) -> Shown:
    """A number with what the meter and the digits written leave open."""
    if number[:1] in ("<", "≤"):
        most = parse(number[1:].removeprefix("="), unit, positive=False, zero=True)
        if most.toleranced and most.value is not None:
            raise QuantityError(f"{plain}: a limit has no tolerance", quantity.expected(unit))
        limit = most.high
        return Shown(plain, unit, None, min(0.0, limit), max(0.0, limit))
    if number[:1] in (">", "≥"):
        hint = "write open where the meter ran out of range, else a range such as 2M..20M"
        raise QuantityError(f"{plain}: more than how much?", hint)
    stated = re.search(_TOLERANCE, number) if unit else None
    body = number[: stated.start()] if stated and stated.start() else number
    if "%" in body and unit:
        raise QuantityError(f"{plain} is not a reading", quantity.expected(unit))
    found = parse(body, unit, positive=False, zero=True)
    share = float(stated[1].replace(",", ".")) / 100 if stated and stated.start() else 0.0
    if share >= 1 or found.toleranced and found.value is not None:
        raise QuantityError(f"{plain} is not a reading", quantity.expected(unit))
    if found.value is None:
        widen = max(meter.share, share)
        return Shown(
            plain, unit, None, found.low - abs(found.low) * widen, found.high + abs(found.high) * widen
        )
    written = _last_digit(body, unit)
    if found.value == 0 and not re.search(r"[.,][0-9]", body):
        written *= 2 * BARE_ZERO  # "0 A" says that nothing flows, not that less than half an ampere does
    own = abs(found.value) * meter.share + meter.counts * resolution(found.value, unit) + written / 2
    reach = max(abs(found.value) * share, own)
    return Shown(plain, unit, found.value, found.value - reach, found.value + reach)


def resolution(value: float, unit: str) -> float:
    """What the last digit of a 3½-digit display stands for, on the smallest range that holds the value."""
    if unit in WITHOUT_COUNTS:
        return 0.0
    smallest = SMALLEST_RANGE.get(unit)
    size = max(abs(value), smallest / 10 if smallest else 1e-12)
    full = 2 * 10.0 ** math.ceil(math.log10(size / 2) - 1e-12)
    return max(full, smallest or 0.0) / COUNTS


def _last_digit(text: str, unit: str) -> float:
    """What one unit of the last digit written stands for: 0.1 V for "17.4 V", 100 ohm for "4k7", 1 mA for "0 mA"."""
    plain = re.sub("^[+-]+", "", text)
    last = max(i for i, c in enumerate(plain) if c in "0123456789")
    one = re.sub("[0-9]", "0", plain[:last]) + "1" + plain[last + 1 :]
    try:
        return abs(parse(one, unit, positive=False, zero=True).middle)
    except QuantityError:
        return 0.0


def in_the_unit_of(read: str, band: str) -> str:
    """A reading in the unit of the figures beside it: "380 mV" beside "1.20 to 1.50 V" is 0.380 V. As many digits as
    the meter showed; as it was written where that is no plain figure, or would begin with zeros."""
    figure, wanted = _FIGURE.fullmatch(read.strip()), _UNIT_BEHIND.search(band)
    if not figure or not wanted or figure[3] != wanted[2] or figure[2] == wanted[1]:
        return read
    digits = figure[1].replace(",", ".").replace("−", "-")
    times = PREFIXES[figure[2]] / PREFIXES[wanted[1]]
    number, places = float(digits) * times, len(digits.partition(".")[2]) - round(math.log10(times))
    if not (0 <= places <= 4) or not (number == 0 or 0.01 <= abs(number) < 10_000):
        return read
    return localized(f"{number:.{places}f} {wanted[1]}{wanted[2]}{figure[4]}".replace("-", "−"))


def table(units: Collection[str] = ()) -> dict[str, Any]:
    """Every word, unit and figure of this grammar, as the page's script takes it. units: those in which something is read
    there, if it is not all of them."""
    found = {
        "prefixes": PREFIXES,
        "units": {name: own for name, own in UNITS.items() if not units or own[0] in units},
        "writtenOut": WRITTEN_OUT, "prefixesWrittenOut": PREFIXES_WRITTEN_OUT,
        "limits": {unit: (smallest, largest) for unit, (_w, _e, smallest, largest) in KINDS_OF_VALUE.items()
                   if not units or unit in units},
        "pointFirst": quantity.POINT_FIRST, "own": quantity.OWN_LETTERS, "lettered": quantity.LETTERED.pattern,
        "open": OPEN, "short": SHORT, "about": ABOUT, "openIn": OPEN_IN, "ranges": RANGES,
        "patterns": {
            "minus": _MINUS, "blank": _BLANK, "remark": _REMARK, "behind": _BEHIND, "rangeBehind": _RANGE_BEHIND, "rangeBefore": _RANGE_BEFORE,
            "inWords": IN_WORDS, "tolerance": _TOLERANCE, "number": quantity.NUMBER, "ends": quantity.RANGE.pattern,
        },
        "waves": WAVES, "reasons": reasons(),
        "openFrom": OPEN_FROM, "shortBelow": SHORT_BELOW, "counts": COUNTS, "smallest": {unit: own for unit, own in SMALLEST_RANGE.items() if not units or unit in units},
        "withoutCounts": WITHOUT_COUNTS, "bareZero": BARE_ZERO, "longest": LONGEST,
    }  # fmt: skip
    return dict(json.loads(json.dumps(found)))  # plain lists, as the page has them
