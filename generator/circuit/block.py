"""A block of a note worked out: values with bands, rating checks, failures. What a kind is stands in kind.py."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from generator.circuit.band import Axis
from generator.circuit.extras import Extra
from generator.circuit.failing import MODES, RESISTIVE, ExtraPart, FailingPart, Failure, fail_value
from generator.circuit.formula import STATED, Formula, Found, Solved
from generator.circuit.kind import Kind, Variant
from generator.circuit.point import Mains, Point
from generator.circuit.preferred import unusual_values
from generator.circuit.results import bare_results, nominal_results, results, scope
from generator.circuit.value import Check, Result, Value
from generator.notation.parts import Part, each_of
from generator.notation.quantity import Quantity

__all__ = [
    "STATED",
    "MODES", "Block", "Check", "ExtraPart", "Failure", "Formula", "Found", "Kind", "Mains", "Point", "Result", "Solved", "Value", "Variant", "scope",
]  # fmt: skip


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
    # parameter -> "supply.trough" where it came by name
    sources: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)  # input -> unit, for the working
    spreads: dict[str, str] = field(default_factory=dict)  # input -> entry of spread.py taken for it
    cautions: tuple[str, ...] = ()
    joined: dict[str, str] = field(default_factory=dict)  # parameter -> the block whose name alone it is
    shares: dict[str, str] = field(default_factory=dict)  # parameter -> the block whose supply it is too
    extras: tuple[tuple[int, Extra], ...] = ()  # parts beyond its parameters, with their place in the list
    extras_key: str = "also"  # the list that they stand in
    # once drawn: how -> SVG text, extent
    drawings: dict[Any, tuple[str, tuple[float, float, float, float]]] = field(default_factory=dict)

    @cached_property
    def solved(self) -> dict[str, float]:
        """Every value and helper of the kind's solve at the nominal point, in plain units."""
        return self.kind.values_at(self.point)

    @cached_property
    def values(self) -> dict[str, Result]:
        """Every value of the block in the order of its kind; absent ones are left out."""
        units = {**self.units, **{v.name: v.unit for v in self.definitions}, **self.kind.helper_units}
        chosen = self.kind.solved(self.point)
        return results(self.kind.values_at, chosen, self.point, self.axes, self.definitions, units)

    @cached_property
    def checks(self) -> list[Check]:
        """The kind's rating checks, then remarks on values in no E series."""
        return self.kind.checks(self) + unusual_values(self.stated_parts)

    @cached_property
    def failures(self) -> list[Failure]:
        """Every failure of every part, with what each measurable value becomes."""
        return [self.failure(key, mode) for key, mode in self.failure_modes]

    @cached_property
    def nominal_failures(self) -> list[Failure]:
        """The same with nothing off its nominal: values without bands, but where only a range is known."""
        return [self.failure(key, mode, bands=False) for key, mode in self.failure_modes]

    @property
    def failure_modes(self) -> list[tuple[str, str]]:
        """(key, mode) of every single failure."""
        return [(part.key, mode) for part in self.failing_parts for mode in part.modes]

    def failure(self, key: str, mode: str, *, bands: bool = True) -> Failure:
        """One failure worked out."""
        _, part_class, called, _ = self.failing_part(key)
        axes = self.axes
        # the tolerance of a resistance that is gone is gone as well
        if part_class in RESISTIVE and fail_value(1.0, part_class, mode) in (0.0, math.inf):
            axes = [axis for axis in axes if axis.names != (key,)]

        def solve(at: Point) -> dict[str, float]:
            return self.kind.values_at(self.with_failure(at, key, part_class, mode))

        measurable = tuple(d for d in self.definitions if d.measurable)
        values = (bare_results if bands else nominal_results)(solve, self.point, axes, measurable)
        remark = self.kind.remark(self.point, key, mode)
        return Failure(key, called, mode, values, remark, (key, mode) in self.kind.dangerous(self.point))

    def read_under(self, failure: Failure) -> dict[str, Result]:
        """What a meter shows under a failure: its values, and open where a resistance is gone."""
        gone = {
            name: replace(sound, value=math.inf, low=math.inf, high=math.inf)
            for name, sound in self.values.items()
            if sound.unit == "ohm" and "." not in name and sound.definition and sound.definition.measurable
        }
        found = {**gone, **failure.values}
        return {d.name: found[d.name] for d in self.definitions if d.name in found}

    def with_failure(self, point: Point, key: str, part_class: str, mode: str) -> Point:
        """The point with one part failed."""
        changed = point.changed(_failure=(key, mode))
        stated = point.__dict__.get(key)
        if part_class in RESISTIVE and isinstance(stated, (int, float)):
            changed.__dict__[key] = fail_value(stated, part_class, mode)
        return changed

    @cached_property
    def failing_parts(self) -> list[FailingPart]:
        """Every part of the block that can fail."""
        found = [
            part._replace(called=self.label(param.name)) if param.named_by else part
            for param in self.kind.params
            for part in param.failing(self.inputs.get(param.name))
        ]
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
        return [part for _called, part in self.stated_parts]

    @property
    def designators(self) -> set[str]:
        """What its parts are called, further ones and each of several alike ("D1-D4" and D3) among them."""
        stated = {part.designator for part in (*self.parts, *(extra.part for _, extra in self.extras))} - {""}
        return stated.union(*(each_of(designator) for designator in stated))

    @property
    def stated_parts(self) -> list[tuple[str, Part]]:
        """The same, each with what checks call it."""
        found: list[tuple[str, Part]] = []
        for param in self.kind.params:
            given = self.inputs.get(param.name)
            if isinstance(given, Part):
                found.append((given.name(param.called), given))
            elif isinstance(given, (list, tuple)):
                found.extend((part.name(part.part_class), part) for part in _parts_in(given))
            elif isinstance(given, Mapping):
                found.extend((part.name(part.part_class), part) for part in _parts_in(given.values()))
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
        if param and param.named_by and not (part and part.designator):
            part = self.part(param.named_by) or part
        return part.name(role) if part else role

    def quantity(self, name: str) -> Quantity | None:
        """The value of an input, whether stated plainly or as a part."""
        given = self.inputs.get(name)
        if isinstance(given, Part):
            return given.value
        return given if isinstance(given, Quantity) else None

    def given(self, name: str) -> Quantity:
        """The value of an input that every block of the kind has."""
        found = self.quantity(name)
        assert found is not None, name
        return found

    def has(self, name: str) -> bool:
        """Whether the note gives a parameter, or its default stands in."""
        return self.inputs.get(name) is not None

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


def _parts_in(items: Any) -> list[Part]:
    found = []
    for item in items:
        if isinstance(item, Part):
            found.append(item)
        elif isinstance(item, (list, tuple)):
            found.extend(_parts_in(item))
    return found
