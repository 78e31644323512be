"""A block of a note worked out: values with bands, rating checks, failures.

Bands and failures come from calling the kind's `solve` at other points: at the ends of the tolerances, and with one part
failed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from generator.circuit.band import Axis, exists, extremes
from generator.circuit.kind import (
    MODES,
    REQUIRED,
    RESISTIVE,
    Check,
    ExtraPart,
    Failure,
    Kind,
    Mains,
    Param,
    Point,
    Result,
    Value,
    Wear,
    fail_value,
)
from generator.circuit.working import working
from generator.notation.parts import Part
from generator.notation.quantity import Quantity

__all__ = [
    "MODES", "REQUIRED", "Block", "Check", "ExtraPart", "Failure", "Kind", "Mains", "Param", "Point", "Result", "Value", "Wear", "scope",
]  # fmt: skip


class FailingPart(NamedTuple):
    """A part of a block that can fail. key: its parameter or extra part; called: its designator or role."""

    key: str
    part_class: str
    called: str
    modes: tuple[str, ...]


@dataclass
class Block:
    """A block of a note: its kind with the inputs read, and everything that follows from them."""

    name: str
    kind: Kind
    inputs: dict[str, Any]  # parameter -> Quantity, Part, str, list, dict or None
    point: Point
    axes: list[Axis]
    mains: Mains
    definitions: tuple[Value, ...]
    sources: dict[str, str] = field(
        default_factory=dict
    )  # parameter -> "supply.trough" where it came by name
    units: dict[str, str] = field(default_factory=dict)  # input -> unit, for the working
    cautions: tuple[str, ...] = ()
    drawings: dict[bool, tuple[str, tuple[float, float, float, float]]] = field(
        default_factory=dict
    )  # once drawn: zig-zag? -> SVG text, extent

    @cached_property
    def solved(self) -> dict[str, float]:
        """Every value and helper of the kind's solve at the nominal point, in plain units."""
        return self.kind.solve(self.point)

    @cached_property
    def values(self) -> dict[str, Result]:
        """Every value of the block in the order of its kind; absent ones are left out."""
        solved = self.solved
        special = self.kind.formulas(self.point, solved) if self.kind.formulas else {}
        numbers = {k: v for k, v in self.point.__dict__.items() if isinstance(v, (int, float))}
        numbers.update({k: v for k, v in solved.items() if isinstance(v, (int, float))})
        units = {**self.units, **{v.name: v.unit for v in self.definitions}, **self.kind.helper_units}
        bands = extremes(self.kind.solve, self.point, self.axes, self.definitions)
        rangeless = without_single_value(self.kind.solve, self.point, self.axes)
        results = {}
        for definition in self.definitions:
            band = bands.get(definition.name)
            if band is None:
                continue
            value = solved.get(definition.name)
            if definition.name in rangeless or not exists(value, definition.unit):
                value = None
            formula = special.get(definition.name, definition.formula)
            text = ""
            if value is not None:
                known, its_units = scope(numbers, definition.name), scope(units, definition.name)
                text = working(formula, known, its_units, value, definition.unit)
            results[definition.name] = Result(
                definition.name, definition.unit, value, band[0], band[1], formula, text, definition
            )
        return results

    @cached_property
    def checks(self) -> list[Check]:
        """The kind's rating checks, then remarks on values in no E series."""
        from generator.circuit.ratings import preferred_values

        return self.kind.checks(self) + preferred_values(self)

    @cached_property
    def failures(self) -> list[Failure]:
        """Every failure of every part, with what each measurable value becomes."""
        return [self.failure(key, mode) for key, mode in self.failure_modes]

    @property
    def failure_modes(self) -> list[tuple[str, str]]:
        """(key, mode) of every single failure."""
        return [(part.key, mode) for part in self.failing_parts for mode in part.modes]

    def failure(
        self, key: str, mode: str, point: Point | None = None, axes: list[Axis] | None = None
    ) -> Failure:
        """One failure worked out; point and axes may carry other inputs (an upstream failure)."""
        point = self.point if point is None else point
        _, part_class, called, _ = self.failing_part(key)
        base_axes = self.axes if axes is None else axes
        if part_class in RESISTIVE and fail_value(1.0, part_class, mode) in (
            0.0,
            math.inf,
        ):  # its own tolerance is gone
            base_axes = [axis for axis in base_axes if axis.names != (key,)]
        remarks: list[str] = []

        def solve(at: Point) -> dict[str, float]:
            failed, remark = self.with_failure(at, key, part_class, mode)
            remarks[:] = [remark]
            return self.kind.solve(failed)

        solved = solve(point)
        measured = tuple(d for d in self.definitions if d.measurable)
        bands = extremes(solve, point, base_axes, measured, solved)
        rangeless = without_single_value(solve, point, base_axes)
        values = {}
        for d in measured:
            if d.name in bands:
                single = exists(solved.get(d.name), d.unit) and d.name not in rangeless
                values[d.name] = Result(
                    d.name, d.unit, solved[d.name] if single else None, *bands[d.name], definition=d
                )
        marked = self.kind.dangerous
        dangerous = marked if isinstance(marked, frozenset) else marked(point)
        return Failure(key, called, mode, values, remarks[0], (key, mode) in dangerous)

    def with_failure(self, point: Point, key: str, part_class: str, mode: str) -> tuple[Point, str]:
        """The point with one part failed, and what else is to be said about that."""
        changed = point.changed(_failure=(key, mode))
        if part_class in RESISTIVE and isinstance(
            getattr(point, key, None) if key in point.__dict__ else None, (int, float)
        ):
            changed.__dict__[key] = fail_value(point.__dict__[key], part_class, mode)
        if self.kind.fail:
            return self.kind.fail(changed, key, mode)
        return changed, ""

    @cached_property
    def failing_parts(self) -> list[FailingPart]:
        """Every part of the block that can fail."""
        found = []
        for param in self.kind.params:
            given = self.inputs.get(param.name)
            if isinstance(given, Part) and param.shape in ("part", "load"):
                modes = MODES[given.part_class] if param.modes is None else param.modes
                if param.shape == "load" and given.designator:
                    modes = MODES[given.part_class]
                found.append(FailingPart(param.name, given.part_class, given.name(param.called), modes))
            elif param.shape == "parts" and given:
                for position, part in enumerate(given):
                    modes = MODES[part.part_class] if param.modes is None else param.modes
                    found.append(
                        FailingPart(
                            f"{param.name}_{position}", part.part_class, part.name(param.called), modes
                        )
                    )
        for extra in self.kind.extra_parts:
            if extra.where is not None and not extra.where(self.point):
                continue
            named = self.inputs.get(extra.named_by) if extra.named_by else None
            called = named.name(extra.role) if isinstance(named, Part) else extra.role
            found.append(FailingPart(extra.key, extra.part, called, MODES[extra.part]))
        return found

    def failing_part(self, key: str) -> FailingPart:
        """The part that fails under a key of failure_modes."""
        return next(part for part in self.failing_parts if part.key == key)

    @property
    def parts(self) -> list[Part]:
        """Every part that the note states, in the order of the parameters."""
        found: list[Part] = []
        for param in self.kind.params:
            given = self.inputs.get(param.name)
            if isinstance(given, Part):
                found.append(given)
            elif isinstance(given, (list, tuple)):
                found.extend(_parts_in(given))
        return found

    def part(self, name: str) -> Part | None:
        """The part behind a parameter; None where it is absent or stated otherwise."""
        given = self.inputs.get(name)
        return given if isinstance(given, Part) else None

    def label(self, name: str) -> str:
        """What checks and drawings call the part behind a parameter."""
        param = self.kind.param(name)
        part = self.part(name)
        role = param.called if param else name
        return part.name(role) if part else role

    def quantity(self, name: str) -> Quantity | None:
        """The value of an input, whether stated plainly or as a part."""
        given = self.inputs.get(name)
        if isinstance(given, Part):
            return given.value
        return given if isinstance(given, Quantity) else None

    def high(self, name: str) -> float:
        """The upper end of a value's band; 0 where the value is absent."""
        result = self.values.get(name)
        return result.high if result else 0.0

    def low(self, name: str) -> float:
        """The lower end of a value's band; 0 where the value is absent."""
        result = self.values.get(name)
        return result.low if result else 0.0

    def mains_top(self, name: str = "supply") -> float:
        """The top of the mains band for a supply, in volts RMS, also where the note states the mains exactly."""
        given = self.quantity(name)
        if given is None:
            return self.mains.voltage * (1 + self.mains.band)
        return max(given.high, given.middle * (1 + self.mains.band))


def without_single_value(
    solve: Callable[[Point], dict[str, float]], point: Point, axes: list[Axis]
) -> set[str]:
    """Names of the values that depend on an input of which only a range is known."""
    names: set[str] = set()
    for axis in axes:
        if axis.ranged:
            first, last = (
                solve(point.changed(**dict.fromkeys(axis.names, end))) for end in (axis.low, axis.high)
            )
            names |= {name for name in first.keys() | last.keys() if first.get(name) != last.get(name)}
    return names


def _parts_in(items: Any) -> list[Part]:
    found = []
    for item in items:
        if isinstance(item, Part):
            found.append(item)
        elif isinstance(item, (list, tuple)):
            found.extend(_parts_in(item))
    return found


def scope(entries: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    """For a cut point's value ("heat off.output"), its own values also under their last word."""
    cut, dot, _ = name.rpartition(".")
    if not dot:
        return entries
    own = {key[len(cut) + 1 :]: entry for key, entry in entries.items() if key.startswith(cut + ".")}
    return {**entries, **own}
