"""Formulas as people write them, the same with the numbers in, and what they come to.

A formula is text: "secondary·√2 − n·diode_drop". Names stand for the block's inputs, values and helper
quantities. The working is the formula with numbers in place of names and the result behind it; it evaluates to the
printed result, for which the numbers get as many digits as that takes.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import lru_cache
from types import CodeType

from generator.language import decimal_mark, localized
from generator.notation.quantity import format_value, round_significant

_NAME = re.compile(r"[A-Za-z_][A-Za-z_0-9]*")
_FUNCTIONS = {"exp": math.exp, "ln": math.log, "sin": math.sin, "cos": math.cos, "min": min, "max": max,
              "floor": math.floor, "sqrt": math.sqrt}  # fmt: skip
_MOST_DIGITS = 8


def parallel(*resistances: float) -> float:
    """Resistances side by side, in ohm; 0 shorts the rest, inf counts for nothing. Ohm's law."""
    conductance = 0.0
    for resistance in resistances:
        if resistance == 0:
            return 0.0
        conductance += 1.0 / resistance
    return 1.0 / conductance if conductance else math.inf


@lru_cache(maxsize=1024)
def _compiled(formula: str) -> CodeType:
    text = formula.replace("·", "*").replace("−", "-").replace("π", " pi ").replace("²", "**2")
    text = re.sub(r"√(\d+|[A-Za-z_]\w*)", r"sqrt(\1)", text).replace("√(", "sqrt(")
    text = re.sub(r"(\w+|\([^()]*\))∥(\w+|\([^()]*\))", r"parallel(\1,\2)", text)
    return compile(text.strip(), "<formula>", "eval")


@lru_cache(maxsize=1024)
def names_in(formula: str) -> tuple[str, ...]:
    """The names that a formula uses, without functions and π."""
    return tuple(
        name for name in _NAME.findall(formula) if name not in _FUNCTIONS and name not in ("pi", "parallel")
    )


def evaluate(formula: str, numbers: Mapping[str, float]) -> float:
    """What a formula of this project's own comes to. Raises ArithmeticError, ValueError, NameError."""
    scope = {**_FUNCTIONS, "pi": math.pi, "parallel": parallel, **numbers}
    return float(eval(_compiled(formula), {"__builtins__": {}}, scope))  # noqa: S307 - only our own formulas


def working(
    formula: str,
    numbers: Mapping[str, float],
    units: Mapping[str, str],
    value: float,
    unit: str,
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
        rounded = {name: _as_printed(number, digits) for name, number in used.items()}
        try:
            result = evaluate(formula, rounded)
        except (ArithmeticError, ValueError):
            return ""
        if format_value(result, unit) == printed:
            return f"{_with_numbers(formula, used, units, digits)} = {printed}"
    return ""


def _as_printed(number: float, digits: int) -> float:
    return round_significant(number, digits)


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
    return _NAME.sub(put, formula)
