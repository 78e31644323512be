"""What a block comes to: each of its values with its band, and with formula and working where they are asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from generator.circuit.band import Axis, exists, extremes
from generator.circuit.formula import STATED, Formula, Solved
from generator.circuit.point import Point
from generator.circuit.value import Result, Value
from generator.circuit.working import worked

ValuesAt = Callable[[Point], dict[str, float]]


def bare_results(
    values_at: ValuesAt, point: Point, axes: list[Axis], definitions: tuple[Value, ...]
) -> dict[str, Result]:
    """Every value that exists somewhere in the tolerance box, in the order of its definitions; no working.

    A value has a single number where it exists at the point and does not depend on a range.
    """
    solved = values_at(point)
    rangeless = without_single_value(values_at, point, axes)
    bands = extremes(values_at, point, axes, definitions, solved)
    found = {}
    for d in definitions:
        if d.name in bands:
            single = exists(solved.get(d.name), d.unit) and d.name not in rangeless
            nominal = solved[d.name] if single else None
            found[d.name] = Result(d.name, d.unit, nominal, *bands[d.name], definition=d)
    return found


def nominal_results(
    values_at: ValuesAt, point: Point, axes: list[Axis], definitions: tuple[Value, ...]
) -> dict[str, Result]:
    """Every value that exists at the point, in the order of its definitions; a band only where a value depends on a range."""
    solved = values_at(point)
    rangeless = without_single_value(values_at, point, axes)
    there = [d for d in definitions if exists(solved.get(d.name), d.unit)]
    bands = (
        extremes(values_at, point, axes, [d for d in there if d.name in rangeless], solved)
        if rangeless
        else {}
    )
    found = {}
    for d in there:
        low, high = bands.get(d.name, (solved[d.name], solved[d.name]))
        found[d.name] = Result(
            d.name, d.unit, None if d.name in bands else solved[d.name], low, high, definition=d
        )
    return found


def results(
    values_at: ValuesAt,
    chosen: Solved,
    point: Point,
    axes: list[Axis],
    definitions: tuple[Value, ...],
    units: Mapping[str, str],
) -> dict[str, Result]:
    """The same with the formula that holds at the point, and its working. chosen: what solve gives there."""
    numbers = {k: v for k, v in point.__dict__.items() if isinstance(v, (int, float))}
    numbers.update({k: v for k, v in values_at(point).items() if isinstance(v, (int, float))})
    found = {}
    for name, bare in bare_results(values_at, point, axes, definitions).items():
        given, formula = chosen.get(name), bare.definition.formula if bare.definition else ""
        if isinstance(given, Formula) and given is not STATED:
            formula = str(given)
        text = ""
        if bare.value is not None:
            known, its_units = scope(numbers, name), scope(units, name)
            text = worked(formula, known, its_units, bare.value, bare.unit)
            if not text and bare.value in (0.0, 1.0):  # what solve says without a formula
                formula = f"{bare.value:g}"
                text = worked(formula, known, its_units, bare.value, bare.unit)
        found[name] = replace(bare, formula=formula, working=text)
    return found


def without_single_value(values_at: ValuesAt, point: Point, axes: list[Axis]) -> set[str]:
    """Names of the values that depend on an input of which only a range is known."""
    names: set[str] = set()
    for axis in axes:
        if axis.ranged:
            first, last = (
                values_at(point.changed(**dict.fromkeys(axis.names, end))) for end in (axis.low, axis.high)
            )
            names |= {name for name in first.keys() | last.keys() if first.get(name) != last.get(name)}
    return names


def scope(entries: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    """For a cut point's value ("heat off.output"), its own values also under their last word."""
    cut, dot, _ = name.rpartition(".")
    if not dot:
        return entries
    own = {key[len(cut) + 1 :]: entry for key, entry in entries.items() if key.startswith(cut + ".")}
    return {**entries, **own}
