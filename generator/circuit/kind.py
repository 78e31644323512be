"""What a kind of block is: its parameters, its values with formulas and sources, how its parts fail.

A kind (one file in kinds/) describes itself with Kind. Its physics is `solve`: a pure function from one point (every
input a plain number in V, A, ohm, F, s, W, ...) to all values.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from generator.circuit.block import Block
    from generator.circuit.network.wiring import Wiring
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
    named: Mapping[str, float] = field(
        default_factory=dict
    )  # words that stand for a part's value: red -> 1.8 (V)
    cuts: Mapping[str, str] = field(default_factory=dict)  # key of a cut point -> its unit
    zero: bool = False  # 0 is accepted
    signed: bool = False  # below zero is accepted
    follows_mains: bool = False  # a transformer's secondary
    exact: bool = False  # shown, but nothing is computed from it
    modes: tuple[str, ...] | None = (
        None  # how it fails, where that is not as its class does; () = never, but for a
    )
    # load with a designator, which is a part of this circuit and does not stand for another block

    @property
    def required(self) -> bool:
        """Whether a note has to give it."""
        return self.default == REQUIRED

    @property
    def called(self) -> str:
        """What failures and drawings call it."""
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

    part is a designator or role. remark: worth saying, but no failure of the check. least: the limit is one that must
    be reached; margin below 0 is what it falls short by.
    """

    part: str
    what: str
    ok: bool
    margin: float | None = None
    remark: bool = False
    least: bool = False


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


@dataclass(frozen=True)
class Wear:
    """A slow failure of no fixed size: a leak across a part, a coupler that has lost its light.

    key: the part; failed: what it is called. apply(point, size) is the point with that wear; its size lies between least
    and most, which are shares of sound(point) where that is finite, else ohm across the part. It is looked for where
    readings are off, and is none of the block's failures, which have a size.
    """

    key: str
    failed: str
    least: float
    most: float
    apply: Callable[[Point, float], Point]
    sound: Callable[[Point], float] = lambda point: math.inf


LEAK = (100.0, 20e6)  # ohm; below it is a short, above it a meter reads it as open


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
        """The same point with other inputs."""
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


RESISTIVE = {"resistor", "potentiometer", "thermistor", "photoresistor", "capacitor"}


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
    cautions_at: Callable[[Point], tuple[str, ...]] | None = (
        None  # those that this circuit calls for, if not all
    )
    assumes: str = ""
    wear: tuple[Wear, ...] = ()
    wire: Callable[[Block, Wiring], None] | None = None  # where its parts lie: generator/circuit/network
    variants: tuple[
        Mapping[str, Any], ...
    ] = ()  # what to change in the example to see the other drawings; "" drops

    def __reduce__(self) -> tuple[Any, ...]:
        """A kind crosses process borders by its name, for some of its functions cannot."""
        from generator.circuit.catalogue import kind

        return kind, (self.name,)

    def worn(self, key: str, failed: str) -> Wear | None:
        return next((wear for wear in self.wear if (wear.key, wear.failed) == (key, failed)), None)

    def param(self, name: str) -> Param | None:
        """The parameter of that name, None where there is none."""
        return next((p for p in self.params if p.name == name), None)
