"""The working: a formula with numbers in place of names, and the result behind it.

It evaluates to the printed result, for which the numbers get as many digits as that takes.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from generator.circuit.formula import NAME, evaluate, names_in
from generator.language import Later, decimal_mark, localized
from generator.notation.printed import format_value, round_significant

_MOST_DIGITS = 8


def working(
    formula: str, numbers: Mapping[str, float], units: Mapping[str, str], value: float, unit: str
) -> str:
    """The formula with numbers and its result: "12 V·√2 − 2·0.7 V = 15.6 V".

    numbers and units are keyed by the names in the formula; value is the result in unit. Returns ""
    where the formula does not come to value (a solved value, a name without a number).
    """
    names = set(names_in(formula))
    if not names <= numbers.keys() or not math.isfinite(value):
        return ""
    used = {name: numbers[name] for name in names}
    if not all(isinstance(number, (int, float)) and math.isfinite(number) for number in used.values()):
        return ""
    printed = format_value(value, unit)
    for digits in range(3, _MOST_DIGITS + 1):
        rounded = {name: round_significant(number, digits) for name, number in used.items()}
        try:
            result = evaluate(formula, rounded)
        except (ArithmeticError, ValueError):
            return ""
        if format_value(result, unit) == printed:
            return f"{_with_numbers(formula, used, units, digits)} = {printed}"
    return ""


def worked(
    formula: str, numbers: Mapping[str, float], units: Mapping[str, str], value: float, unit: str
) -> str:
    """The working for later: put into the language in use where it is printed."""
    names = names_in(formula)
    own = {name: numbers[name] for name in names if name in numbers}
    return Later(working, formula, own, {name: units.get(name, "") for name in names}, value, unit)


def _with_numbers(formula: str, numbers: Mapping[str, float], units: Mapping[str, str], digits: int) -> str:
    def put(match: re.Match[str]) -> str:
        name = match.group()
        if name not in numbers:
            return name
        text = format_value(numbers[name], units.get(name, ""), digits, trim=True)
        tail = formula[match.end() : match.end() + 1]
        if text.startswith("−") or (tail == "²" and " " in text):
            return f"({text})"
        return text

    if decimal_mark() == ",":
        formula = localized(formula).replace(", ", "; ")  # max(0,7 V; 0)
    return NAME.sub(put, formula)
