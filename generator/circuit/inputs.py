"""The inputs of a block as its parameters read them: what is given, the numbers for a point, the tolerance axes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from generator.circuit.band import Axis
from generator.circuit.spread import widened
from generator.notation.quantity import Quantity, QuantityError
from generator.notation.units import KINDS_OF_VALUE

References = Mapping[str, tuple[str, Quantity]]  # parameter, or "cut:name" -> (as written, what it is)


@dataclass
class Inputs:
    """The inputs of a block: as given (Quantity, Part, ...), as numbers for a point, and their tolerance axes."""

    given: dict[str, Any] = field(default_factory=dict)
    numbers: dict[str, Any] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    axes: list[Axis] = field(default_factory=list)
    cut_names: list[str] = field(default_factory=list)
    # input -> the entry of spread.py that stands in for a tolerance
    spreads: dict[str, str] = field(default_factory=dict)

    def add(self, name: str, found: Quantity, unit: str) -> None:
        """Put a quantity into the numbers, with an axis where it has a band."""
        self.numbers[name] = found.middle
        self.units[name] = unit
        if found.low < found.high:
            self.axes.append(Axis((name,), found.low, found.high, found.is_range))

    def add_spread(self, name: str, found: Quantity, key: str) -> Quantity:
        """As add, with the spread of an entry of spread.py where the note states no tolerance; gives what it added."""
        wide = widened(found, key)
        if wide is not found and wide.low < wide.high:
            self.spreads[name] = key
        self.add(name, wide, found.unit)
        return wide

    def without_spread(self, name: str) -> None:
        """Take back what add_spread spread."""
        if self.spreads.pop(name, ""):
            self.axes = [axis for axis in self.axes if axis.names != (name,)]


class PlacedError(QuantityError):
    """A QuantityError further inside a parameter."""

    def __init__(self, path: tuple[str | int, ...], what: str, hint: str = "") -> None:
        super().__init__(what, hint)
        self.path = path


def fitting(text: str, found: Quantity, units: tuple[str, ...]) -> Quantity:
    """Another block's value, found, written as text, which has to be of one of the units. Raises QuantityError."""
    if found.unit not in units:
        what = f"{text or 'what is joined'} is {KINDS_OF_VALUE[found.unit][0]}"
        wanted = [KINDS_OF_VALUE[unit][0] for unit in units if unit in KINDS_OF_VALUE]
        raise QuantityError(what, f"{' or '.join(wanted)} is expected" if wanted else "state its own value")
    return found
