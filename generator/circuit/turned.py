"""A sum turned round: which part gives the value that is wanted, and what the nearest part to be had comes to."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from generator.circuit import catalogue
from generator.circuit.block import Block
from generator.circuit.circuit import build_block
from generator.circuit.param import Load, Part, Quantity
from generator.circuit.point import Mains
from generator.circuit.roots import first_root
from generator.notation.part_classes import CLASSES
from generator.notation.preferred import E24, E96, nearest_in
from generator.notation.quantity import QuantityError, exactly, parse

ASKED = "?"
# Between what ends a part is looked for, in its unit; parts that are made in the series of IEC 60063 come from these.
RANGES = {"ohm": (0.01, 1e8), "F": (1e-12, 0.1), "H": (1e-9, 10.0), "V": (0.01, 1e4), "A": (1e-6, 100.0), "W": (1e-3, 1e5),
          "s": (1e-6, 1e6), "Hz": (0.1, 1e7), "": (1e-3, 1e4), "°C": (-50.0, 300.0)}  # fmt: skip
IN_SERIES = {"ohm": (("E24", E24), ("E96", E96)), "F": (("E24", E24),), "H": (("E24", E24),)}
_TRIED = ("1k", "100", "10k", "100n", "10u", "1m", "5", "12", "1", "0.1", "100 mA")


class TurnedError(ValueError):
    """It cannot be turned round; the text is for people."""


@dataclass(frozen=True)
class Turned:
    """parameter: what was asked for; exact: its value; wanted: the value's name and what it is to be; nearest: (series, value,
    block with that part), the exact value alone where parts of that sort are made in no series."""

    parameter: str
    unit: str
    exact: float
    wanted: tuple[str, float]
    nearest: tuple[tuple[str, float, Block], ...]


def turn_round(kind_name: str, given: Mapping[str, Any], mains: Mains) -> Turned:
    """The parameter that is `?`, for the one value among the given names that is wanted. Raises TurnedError."""
    kind = catalogue.kind(kind_name)
    asked = [name for name, entry in given.items() if entry == ASKED]
    values = {value.name: value for value in kind.values}
    wanted = [name for name in given if kind.param(name) is None and name in values]
    if len(asked) != 1 or len(wanted) != 1:
        raise TurnedError(f"one parameter is ? and one value is wanted, such as {_such_as(kind)}")
    param, value = kind.param(asked[0]), values[wanted[0]]
    if param is None or not isinstance(param, (Part, Quantity, Load)):
        raise TurnedError(f"{asked[0]}: no single value of {kind_name} that can be looked for")
    unit = (
        CLASSES[param.part].unit
        if isinstance(param, Part)
        else "ohm"
        if isinstance(param, Load)
        else param.unit
    )
    if unit not in RANGES:
        raise TurnedError(f"{param.name}: this is not a value that can be looked for")
    try:
        target = parse(given[value.name], value.unit, positive=False, zero=True).middle
    except QuantityError as error:
        raise TurnedError(f"{value.name}: {error}") from None
    if value.unit == "A" and re.fullmatch(r"[\d.,]+", str(given[value.name]).strip()):
        figure = given[value.name]
        raise TurnedError(f"{value.name}: the unit of {figure} is missing, such as {figure} mA")
    others = {name: entry for name, entry in given.items() if name not in (param.name, value.name)}
    block = _any_block(kind_name, others, param.name, mains)

    def off(size: float) -> float:
        try:
            found = block.kind.values_at(block.point.changed(**{param.name: size})).get(value.name)
        except (ArithmeticError, ValueError):
            found = None
        return math.nan if found is None else found - target

    exact = first_root(off, *RANGES[unit])
    if exact is None:
        raise TurnedError(f"no {param.name} makes {value.name} {given[value.name]} here")
    sizes = [(name, nearest_in(series, exact)) for name, series in IN_SERIES.get(unit, ())] or [("", exact)]
    nearest = []
    for name, size in dict((s, (n, s)) for n, s in reversed(sizes)).values():
        text = exactly(size, unit).text if unit else f"{size:.6g}"
        made, troubles = build_block(kind_name, {**others, param.name: text}, mains)
        if made is None:
            raise TurnedError(f"{param.name} would be {text}: " + "; ".join(t.what for t in troubles))
        nearest.append((name, size, made))
    return Turned(param.name, unit, exact, (value.name, target), tuple(reversed(nearest)))


def _such_as(kind: Any) -> str:
    part = next(
        (name for name, entry in kind.example.items() if isinstance(kind.param(name), Part)), "resistor"
    )
    value = next((v.name for v in kind.values), "current")
    return f"{part}=? {value}=..."


def _any_block(kind: str, others: Mapping[str, Any], name: str, mains: Mains) -> Block:
    """The block with some value in the place of what is asked for. Raises TurnedError with what is wrong otherwise."""
    told: list[str] = []
    for text in (str(catalogue.kind(kind).example.get(name, "")), *_TRIED):
        block, troubles = build_block(kind, {**others, name: text}, mains) if text else (None, [])
        if block is not None:
            return block
        told = told or [
            t.what + (f"; {t.hint}" if t.hint else "") for t in troubles if not t.path or t.path[0] != name
        ]
    raise TurnedError(told[0] if told else f"{name} cannot be looked for")
