"""What every block is: parameters, values with formulas and bands, rating checks, failures.

A kind of block (one file in kinds/) describes itself with Kind. Its physics is `solve`: a pure function from one
point (every input a plain number in V, A, ohm, F, s, W, ...) to all values. Bands and failures come from calling
`solve` at other points: at the ends of the tolerances, and with one part failed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from generator.circuit.band import Axis, exists, extremes
from generator.circuit.parts import Part
from generator.circuit.quantity import Quantity
from generator.circuit.working import working

if TYPE_CHECKING:
    from generator.circuit.sheet import Sheet

REQUIRED = "<required>"  # default of a parameter that a note has to give


@dataclass(frozen=True)
class Mains:
    """The supply at the wall: RMS volts, hertz, and the band as a share (EN 50160: ±10 %)."""

    voltage: float = 230.0
    frequency: float = 50.0
    band: float = 0.10


@dataclass(frozen=True)
class Param:
    """One parameter of a kind.

    shape: "value" (a quantity of unit), "part" (a part of class part, whose value has the class's unit), "load"
    (a current or a resistor), "parts" (a list of parts), "choice" (one of choices; may carry a designator where part is
    set), "cut_points" (name -> one of cuts), "count" (a whole number), "numbers" (a list), "text", "lines" (a
    list of texts), "tree" (parts, nested). default: REQUIRED, "" for absent, else the text a note could have
    written; "mains" for the library's voltage, "frequency" for its frequency, "=name" for another parameter,
    "mains~name" for the mains where the other parameter is near it, else that parameter.
    """

    name: str
    what: str
    unit: str = ""
    shape: str = "value"
    default: str = REQUIRED
    part: str = ""
    role: str = ""  # what failures and drawings call the part without a designator
    choices: tuple[str, ...] = ()
    named: Mapping[str, float] = field(default_factory=dict)  # words that stand for a part's value: red -> 1.8 (V)
    cuts: Mapping[str, str] = field(default_factory=dict)  # key of a cut point -> its unit
    zero: bool = False  # 0 is accepted
    signed: bool = False  # below zero is accepted
    follows_mains: bool = False  # a transformer's secondary
    exact: bool = False  # shown, but nothing is computed from it
    modes: tuple[str, ...] | None = None  # how it fails, where that is not as its class does; () = never, but for a
    # load with a designator, which is a part of this circuit and does not stand for another block

    @property
    def required(self) -> bool:
        return self.default == REQUIRED

    @property
    def called(self) -> str:
        return self.role or self.name.replace("_", " ")


@dataclass(frozen=True)
class Value:
    """One computed value of a kind: how it is named, its unit, formula and source.

    measurable: a meter can show it. interior: its extremes may lie inside the tolerance box, not at a corner.
    at: where to put the meter, in words. hazard: "mains" or "charged" where measuring it is dangerous; cold: it is
    read with the plug out. whole: a count. Where a meter's own resistance moves the reading: impedance is the formula of
    the node's source resistance, by which the meter divides the value (inputs, values and helpers; an absent part
    counts as inf); across is the resistor that the meter lies across, so that both drain what is measured.
    averages_to: for the worst moment of something that goes up and down, the value of the same block that a slow meter
    sees in its stead; what is fed by it is computed for that moment, but read as an average.
    """

    name: str
    unit: str
    what: str
    formula: str
    source: str = ""
    measurable: bool = True
    interior: bool = False
    at: str = ""
    hazard: str = ""
    cold: bool = False
    whole: bool = False
    impedance: str = ""
    across: str = ""
    averages_to: str = ""


@dataclass(frozen=True)
class ExtraPart:
    """A part that a kind has though no parameter states it (the diodes of a rectifier).

    named_by: the parameter that may carry its designator. where: whether this circuit has the part, if not always.
    """

    key: str
    part: str
    role: str
    named_by: str = ""
    where: Callable[[Point], bool] | None = None


@dataclass(frozen=True)
class Result:
    """A value worked out. value None: a range, or absent in this band. inf: a time that never comes."""

    name: str
    unit: str
    value: float | None
    low: float
    high: float
    formula: str = ""
    working: str = ""
    definition: Value | None = None


@dataclass(frozen=True)
class Check:
    """A rating held against what the part sees. margin: share of the limit left over; below 0 is exceeded.

    part is a designator or role. remark: worth saying, but no failure of the check.
    """

    part: str
    what: str
    ok: bool
    margin: float | None = None
    remark: bool = False


@dataclass(frozen=True)
class Failure:
    """One way in which one part fails, and what each measurable value becomes.

    key: the parameter or extra part; part: designator or role. remark: words such as "blows the fuse". dangerous:
    a failure to look for first because of what it does.
    """

    key: str
    part: str
    failed: str
    values: dict[str, Result]
    remark: str = ""
    dangerous: bool = False


class Point:
    """One point of the tolerance box: every input a plain number (or None), and at most one failed part."""

    _failure: tuple[str, str] = ("", "")

    def __init__(self, **inputs: Any) -> None:
        self.__dict__.update(inputs)

    def __getattr__(self, name: str) -> Any:
        raise AttributeError(f"this kind has no input {name}")

    def each(self, name: str) -> list[float]:
        """The values of a list of parts, in order."""
        return [getattr(self, f"{name}_{i}") for i in range(getattr(self, f"{name}_count"))]

    def changed(self, **inputs: Any) -> Point:
        point = Point()
        point.__dict__ = {**self.__dict__, **inputs}
        return point

    def failed(self, key: str) -> str:
        """How the part under this key has failed: "open", "short", "high", "low", ... or ""."""
        return self._failure[1] if self._failure[0] == key else ""


# How each class of part fails (DESIGN: open, short, drift), and nothing else.
MODES: dict[str, tuple[str, ...]] = {
    "resistor": ("open", "high"), "potentiometer": ("open", "high"), "capacitor": ("open", "short", "low"),
    "thermistor": ("open", "short"), "photoresistor": ("open", "short"), "inductor": ("open",),
    "diode": ("open", "short"), "zener": ("open", "short"), "led": ("open", "short"), "diac": ("open", "short"),
    "transistor": ("open", "short"), "mosfet": ("open", "short"), "triac": ("open", "short"),
    "optocoupler": ("open", "short"), "switch": ("open", "short", "high resistance"),
    "contact": ("open", "short", "high resistance"), "fuse": ("open",), "thermal fuse": ("open",),
    "coil": ("open",), "winding": ("open",), "element": ("open",), "varistor": ("short",), "chip": ("open", "short"),
    "cell": ("open", "short"), "any": (),
}  # fmt: skip

HIGH_FACTOR = 2.0  # a resistor gone high
LOW_DIVISOR = 5.0  # a capacitor that has lost its capacitance


def fail_value(value: float | None, part_class: str, mode: str) -> float | None:
    """What a two-terminal part's value becomes: ohm for resistive parts, farad for capacitors.

    A shorted capacitor keeps its value here: the kind asks point.failed() and computes the short.
    """
    if value is None:
        return None
    if part_class == "capacitor":
        return {"open": 0.0, "low": value / LOW_DIVISOR}.get(mode, value)
    if mode == "open":
        return math.inf
    if mode == "short":
        return 0.0
    return value * HIGH_FACTOR if mode == "high" else value


_RESISTIVE = {"resistor", "potentiometer", "thermistor", "photoresistor", "capacitor"}


@dataclass(frozen=True)
class Kind:
    """A kind of block. All that is particular to it is here or in the functions it names.

    solve(point) -> {value or helper name: number}; a missing name is an absent value.
    formulas(point, solved) -> {name: formula} where the regime changes a formula (optional).
    checks(block) -> [Check]; draw(block, sheet) puts the symbols on the sheet.
    fail(point, key, mode) -> (point with the failure's numbers, remark) beyond what fail_value does (optional).
    vet(inputs) -> [(parameter, what, hint)]: contradictory parameters (optional).
    names(inputs) -> [(path, block)]: the other blocks of the note that it names without taking a value (optional).
    cut_values(definition of a cut point) -> [Value]: the values that each cut point adds (optional).
    helper_units: unit of each helper name that formulas use.
    dangerous: (parameter, failure) pairs to look for first, or a function of the point where they depend on the circuit.
    """

    name: str
    title: str
    group: str
    what: str
    params: tuple[Param, ...]
    values: tuple[Value, ...]
    solve: Callable[[Point], dict[str, float]]
    draw: Callable[[Block, Sheet], None]
    example: Mapping[str, Any]
    checks: Callable[[Block], list[Check]] = lambda block: []
    formulas: Callable[[Point, dict[str, float]], dict[str, str]] | None = None
    fail: Callable[[Point, str, str], tuple[Point, str]] | None = None
    vet: Callable[[dict[str, Any]], list[tuple[str, str, str]]] | None = None
    extra_parts: tuple[ExtraPart, ...] = ()
    cut_values: Callable[[], tuple[Value, ...]] | None = None
    names: Callable[[dict[str, Any]], list[tuple[tuple[str | int, ...], str]]] | None = None
    helper_units: Mapping[str, str] = field(default_factory=dict)
    dangerous: frozenset[tuple[str, str]] | Callable[[Point], frozenset[tuple[str, str]]] = frozenset()
    cautions: tuple[str, ...] = ()  # "mains", "charge", "lithium", "heat"
    cautions_at: Callable[[Point], tuple[str, ...]] | None = None  # those that this circuit calls for, if not all
    assumes: str = ""
    variants: tuple[Mapping[str, Any], ...] = ()  # what to change in the example to see the other drawings; "" drops

    def __reduce__(self) -> tuple[Any, ...]:
        """A kind crosses process borders by its name, for some of its functions cannot."""
        from generator.circuit.catalogue import kind

        return kind, (self.name,)

    def param(self, name: str) -> Param | None:
        return next((p for p in self.params if p.name == name), None)


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
    sources: dict[str, str] = field(default_factory=dict)  # parameter -> "supply.trough" where it came by name
    units: dict[str, str] = field(default_factory=dict)  # input -> unit, for the working
    cautions: tuple[str, ...] = ()

    @cached_property
    def solved(self) -> dict[str, float]:
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
        from generator.circuit.ratings import preferred_values

        return self.kind.checks(self) + preferred_values(self)

    @cached_property
    def failures(self) -> list[Failure]:
        """Every failure of every part, with what each measurable value becomes."""
        return [self.failure(key, mode) for key, mode in self.failure_modes]

    @property
    def failure_modes(self) -> list[tuple[str, str]]:
        return [(key, mode) for key, part_class, _, modes in self._failing for mode in modes]

    def failure(self, key: str, mode: str, point: Point | None = None, axes: list[Axis] | None = None) -> Failure:
        """One failure worked out; point and axes may carry other inputs (an upstream failure)."""
        point = self.point if point is None else point
        base_axes = self.axes if axes is None else axes
        _, part_class, called, _ = next(entry for entry in self._failing if entry[0] == key)
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
                values[d.name] = Result(d.name, d.unit, solved[d.name] if single else None, *bands[d.name], definition=d)
        marked = self.kind.dangerous
        dangerous = marked if isinstance(marked, frozenset) else marked(point)
        return Failure(key, called, mode, values, remarks[0], (key, mode) in dangerous)

    def with_failure(self, point: Point, key: str, part_class: str, mode: str) -> tuple[Point, str]:
        """The point with one part failed, and what else is to be said about that."""
        changed = point.changed(_failure=(key, mode))
        if part_class in _RESISTIVE and isinstance(getattr(point, key, None) if key in point.__dict__ else None, (int, float)):
            changed.__dict__[key] = fail_value(point.__dict__[key], part_class, mode)
        if self.kind.fail:
            return self.kind.fail(changed, key, mode)
        return changed, ""

    @cached_property
    def _failing(self) -> list[tuple[str, str, str, tuple[str, ...]]]:
        """(key, class, what it is called, how it fails) of every part of the block that can fail."""
        found = []
        for param in self.kind.params:
            given = self.inputs.get(param.name)
            if isinstance(given, Part) and param.shape in ("part", "load"):
                modes = MODES[given.part_class] if param.modes is None else param.modes
                if param.shape == "load" and given.designator:
                    modes = MODES[given.part_class]
                found.append((param.name, given.part_class, given.name(param.called), modes))
            elif param.shape == "parts" and given:
                for position, part in enumerate(given):
                    modes = MODES[part.part_class] if param.modes is None else param.modes
                    found.append((f"{param.name}_{position}", part.part_class, part.name(param.called), modes))
        for extra in self.kind.extra_parts:
            if extra.where is not None and not extra.where(self.point):
                continue
            named = self.inputs.get(extra.named_by) if extra.named_by else None
            called = named.name(extra.role) if isinstance(named, Part) else extra.role
            found.append((extra.key, extra.part, called, MODES[extra.part]))
        return found

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
        result = self.values.get(name)
        return result.low if result else 0.0

    def mains_top(self, name: str = "supply") -> float:
        """The top of the mains band for a supply, in volts RMS, also where the note states the mains exactly."""
        given = self.quantity(name)
        if given is None:
            return self.mains.voltage * (1 + self.mains.band)
        return max(given.high, given.middle * (1 + self.mains.band))


def without_single_value(solve: Callable[[Point], dict[str, float]], point: Point, axes: list[Axis]) -> set[str]:
    """Names of the values that depend on an input of which only a range is known."""
    names: set[str] = set()
    for axis in axes:
        if axis.ranged:
            first, last = (solve(point.changed(**dict.fromkeys(axis.names, end))) for end in (axis.low, axis.high))
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
