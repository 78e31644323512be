"""A kind of block: what it declares, and its physics as one pure function, solve.

Bands and failures come from calling it at other points: at the ends of the tolerances, and with one part failed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Set
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, ClassVar, Self

from generator.circuit.failing import ExtraPart
from generator.circuit.formula import Formula, Solved, worked_out
from generator.circuit.inputs import Inputs
from generator.circuit.param import Param
from generator.circuit.point import Point
from generator.circuit.value import Check, Value

if TYPE_CHECKING:
    from generator.circuit.curves import Diagram
    from generator.circuit.sheet import Sheet


@dataclass(frozen=True)
class Variant:
    """The example of a kind with other parameters, for what is drawn or computed otherwise. "" leaves one out."""

    caption: str
    changes: Mapping[str, Any]


class Kind:
    """A kind of block: its parameters, its values with formulas and sources, and all that is particular to it.

    Each kind is a class of its own in kinds/; the file's name is its name. It states its parameters as class attributes
    (generator.circuit.param) and has at least solve and draw. A block is a generator.circuit.block.Block, and w a Wiring: both
    know kinds, and are named by those who use them.
    """

    _only: ClassVar[Kind]
    _formulas: ClassVar[dict[str, Formula]] = {}
    _none: ClassVar[dict[str, None]] = {}
    name: ClassVar[str]
    params: ClassVar[tuple[Param, ...]] = ()  # collected from the class attributes

    title: ClassVar[str]
    group: ClassVar[str]
    what: ClassVar[str]
    assumes: ClassVar[str] = ""
    by_regime: ClassVar[bool] = False  # solve states all values of a regime: those it leaves out are absent
    terminals: ClassVar[tuple[str, ...]] = ()  # nets by which it joins other blocks
    values: ClassVar[tuple[Value, ...]] = ()
    cut_values: ClassVar[tuple[Value, ...]] = ()  # those that each cut point adds
    helper_units: ClassVar[Mapping[str, str]] = {}  # of further names that solve gives for formulas
    extra_parts: ClassVar[tuple[ExtraPart, ...]] = ()
    # (part, failure) -> what else is to be said about it; failure "": any other, a list of parts: each of them
    remarks: ClassVar[Mapping[tuple[str, str], str]] = {}
    danger: ClassVar[Set[tuple[str, str]]] = frozenset()  # (part, failure) to look for first
    cautions: ClassVar[tuple[str, ...]] = ()  # "mains", "charge", "lithium", "heat"
    earthed: ClassVar[str] = ""  # what of it lies on protective earth in a device of class I
    isolates: ClassVar[bool] = False  # between its two sides there is no path for a current
    off_board: ClassVar[bool] = False  # on wires: behind a connector's pins where its ends are on them
    inputs_leak: ClassVar[bool] = False  # its inputs take a current that no drawing shows
    load_in_use: ClassVar[bool] = False  # what is joined to it is its load, which only says how it is used
    example: ClassVar[Mapping[str, Any]]
    variants: ClassVar[tuple[Variant, ...]] = ()

    def __init_subclass__(cls) -> None:
        """Collects the parameters in the order of the class. A parameter's name is none that Kind itself uses."""
        own = [entry for entry in vars(cls).values() if isinstance(entry, Param)]
        taken = sorted({p.name for p in own} & vars(Kind).keys())
        if taken:
            raise TypeError(f"{cls.__name__}: {', '.join(taken)} cannot be a parameter's name")
        cls.params = (*cls.params, *own)
        cls._formulas = {value.name: Formula(value.formula) for value in cls.values if value.formula}
        cls._none = dict.fromkeys(value.name for value in cls.values)
        if "name" not in vars(cls):
            cls.name = cls.__module__.rpartition(".")[2].replace("_", "-")

    def __new__(cls) -> Self:
        """There is one of each kind in a process, also where a block comes from another process."""
        if "_only" not in vars(cls):
            cls._only = super().__new__(cls)
        return vars(cls)["_only"]  # type: ignore[no-any-return]

    def solve(self, x: Point) -> Solved:
        """What the table of values does not say at a point: helpers and solved values as plain numbers, Formula where
        another formula holds in this regime, None for a value that does not exist in it. A pure function.
        """
        return {}

    def solved(self, x: Point) -> Solved:
        """What solve gives, with None for what it leaves out in a kind that states whole regimes."""
        return {**self._none, **self.solve(x)} if self.by_regime else self.solve(x)

    def values_at(self, x: Point) -> dict[str, float]:
        """Every value and helper at a point, in plain units; a missing name is an absent value."""
        return worked_out(x.__dict__, self.solved(x), self.table_at(x))

    def formula(self, name: str) -> Formula:
        """The formula of the table of values, for what solve decides by it."""
        return self._formulas[name]

    def table_at(self, x: Point) -> Mapping[str, Formula]:
        """The formulas of the table of values, those of the cut points too."""
        cuts = x.__dict__.get("cuts")
        if not cuts or not self.cut_values:
            return self._formulas
        return _with_cuts(self, tuple(cuts))

    def checks(self, block: Any) -> list[Check]:
        """Ratings held against what each part sees, and what else has to hold."""
        return []

    def draw(self, block: Any, sheet: Sheet) -> None:
        """Put the symbols on the sheet."""
        raise NotImplementedError

    def plot(self, block: Any) -> Diagram | None:
        """What it does over time, temperature or light; None where there is nothing to show."""
        return None

    def wire(self, block: Any, w: Any) -> None:
        """Put its parts between its terminals, in the network of the whole device."""

    def vet(self, given: dict[str, Any]) -> list[tuple[str, str, str]]:
        """(parameter, what, hint) for parameters that contradict each other."""
        return []

    def more_inputs(self, inputs: Inputs) -> None:
        """Inputs that no parameter states and that have a band all the same: how full a battery is."""

    @property
    def is_wired(self) -> bool:
        """Whether it says how its parts lie in the network of the whole device."""
        return type(self).wire is not Kind.wire

    def names(self, given: dict[str, Any]) -> list[tuple[tuple[str | int, ...], str]]:
        """(path, block) for the other blocks of the note that it names without taking a value."""
        return []

    def remark(self, x: Point, key: str, mode: str) -> str:
        """What is to be said about a failure besides what becomes of the values."""
        listed = _NUMBERED.sub("", key)
        places = ((key, mode), (listed, mode), (key, ""), (listed, ""))
        return next((self.remarks[place] for place in places if place in self.remarks), "")

    def dangerous(self, x: Point) -> Set[tuple[str, str]]:
        """(part, failure) pairs to look for first because of what they do, where that depends on the circuit."""
        return self.danger

    def cautions_at(self, x: Point) -> tuple[str, ...]:
        """Those of its cautions that this circuit calls for."""
        return self.cautions

    def example_with(self, changes: Mapping[str, Any]) -> dict[str, Any]:
        """The example's parameters with those of a variant."""
        return {name: entry for name, entry in {**self.example, **changes}.items() if entry != ""}

    def param(self, name: str) -> Param | None:
        """The parameter of that name, None where there is none."""
        return next((p for p in self.params if p.name == name), None)


_NUMBERED = re.compile(r"_\d+$")  # the place in its list of a part


@lru_cache(maxsize=256)
def _with_cuts(kind: Kind, cuts: tuple[str, ...]) -> Mapping[str, Formula]:
    own = {value.name: Formula(value.formula) for value in kind.values if value.formula}
    return own | {f"{cut}.{v.name}": Formula(v.formula) for cut in cuts for v in kind.cut_values}
