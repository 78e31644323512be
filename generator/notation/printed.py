"""Values as a person would write them: `4.70 kΩ`, `330 nF`, `14.0 to 17.2 V`; the other way round from quantity.py."""

from __future__ import annotations

import math
from functools import lru_cache

from generator.language import _, localized, pgettext

SYMBOLS = {"ohm": "Ω", "degree": "°"}
_SCALED = {"V", "A", "ohm", "F", "H", "s", "W", "Hz", "V/K", "W/K", "Ah", "Wh"}
_STEPS = ((1e9, "G"), (1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"), (1e-12, "p"))
MOST_APART = 1000.0  # times that the ends of a band may differ and have one unit, as a meter left on one range shows them


def round_significant(value: float, digits: int) -> float:
    """value rounded to so many significant digits (0 and infinities stay)."""
    if value == 0 or not math.isfinite(value):
        return value
    return float(f"{value:.{digits - 1}e}")


def format_value(value: float | None, unit: str, digits: int = 3, *, trim: bool = False) -> str:
    """A value as a person would write it: "15.6 V", "4.70 kΩ", "330 nF", "12 min".

    digits are significant ones; trim drops zeros behind the point (for values that the author stated).
    """
    if value is None:
        return "–"
    if math.isinf(value):
        return (
            _("never")
            if unit == "s"
            else pgettext("reading", "open")
            if unit == "ohm"
            else _("without limit")
        )
    return localized(_formatted(value, unit, digits, trim))


@lru_cache(maxsize=16384)  # the same values are printed in tables, bands, drawings and sentences
def _formatted(value: float, unit: str, digits: int, trim: bool) -> str:
    """A finite value as printed, with a decimal point."""
    rounded = round_significant(value, digits)
    if unit == "" and value == round(value) and 10**digits <= abs(value) < 1e6:
        return str(round(value)).replace("-", "−")  # a count keeps all its digits
    if unit == "s" and abs(rounded) >= 120:
        size, name = (3600.0, "h") if abs(rounded) >= 7200 else (60.0, "min")
        return f"{_decimal(value / size, digits, trim)} {name}"
    if unit not in _SCALED:
        return _decimal(value, digits, trim) + ("°" if unit == "degree" else f" {unit}" if unit else "")
    # capacitors are made from tenths of a picofarad
    if 0 < abs(rounded) < (1e-13 if unit == "F" else _STEPS[-1][0]):
        return f"0 {SYMBOLS.get(unit, unit)}"  # less than a pico-anything: nothing that a bench can show
    size, prefix = _step(abs(rounded))
    if unit in ("V", "ohm") and prefix == "m" and abs(rounded) >= 0.1:
        size, prefix = 1.0, ""  # the trade writes 0.7 V and 0.47 Ω
    if unit == "F" and prefix in ("", "m") and rounded:
        size, prefix = 1e-6, "µ"  # the trade writes 4700 µF, not 4.7 mF
    return f"{_decimal(value / size, digits, trim)} {prefix}{SYMBOLS.get(unit, unit)}"


def _step(size: float) -> tuple[float, str]:
    if size == 0:
        return 1.0, ""
    for factor, prefix in _STEPS:
        if size >= factor * 0.9999999:
            return factor, prefix
    return _STEPS[-1]


def _decimal(value: float, digits: int, trim: bool) -> str:
    rounded = round_significant(value, digits)
    if rounded == 0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(rounded)) + 1e-12))
    text = f"{rounded:.{places}f}"
    if trim and "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", "−")


def format_span(low: float, high: float, unit: str) -> str:
    """A band for a narrow column: "14.0–17.2 V"."""
    first, last = _ends(low, high, unit, 3)
    return f"{first}–{last}" if first else last


def format_band(low: float, high: float, unit: str, digits: int = 3) -> str:
    """A band: "14.0 to 17.2 V". One value where both ends read the same."""
    first, last = _ends(low, high, unit, digits)
    return _("%(low)s to %(high)s") % {"low": first, "high": last} if first else last


def _ends(low: float, high: float, unit: str, digits: int) -> tuple[str, str]:
    """A band's ends, the first without its unit where it is that of the last; the first is "" where both read the same."""
    first, last = format_value(low, unit, digits), format_value(high, unit, digits)
    if first == last:
        return "", last
    (number, _gap, name), (other, _gap, common) = first.rpartition(" "), last.rpartition(" ")
    if not number or not other or name == common or low == 0:
        return (number if number and other else first), last
    if unit in _SCALED and unit != "s" and abs(low) < abs(high) < MOST_APART * abs(low):
        prefix = common.removesuffix(SYMBOLS.get(unit, unit))
        size = next(factor for factor, own in _STEPS if own == prefix)
        return localized(_decimal(low / size, digits, False)), last
    return first, last
