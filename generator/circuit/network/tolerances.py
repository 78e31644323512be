"""The tolerance axes of a network: what moves together, and by how much it may be off."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from generator.circuit.network.element import Element

Parameters = Mapping[str, Mapping[str, float]]  # element -> its parameters
SURROUNDINGS = ("air", "light")  # axes that are another thing in each state

# A lamp over a bench gives 500 lux (EN 12464-1, for fine work), a sensor's usual band goes to half of 10 lux: so many times
# the logarithm of that
BENCH_LIGHT = math.log(50) / math.log(2)
NUDGE = 1e-3  # of the way to an axis's end, where a slope is taken


@dataclass(frozen=True)
class Axis:
    """name: the parameter in the whole device ("drive.base"), or "mains". moves: element -> parameter -> (low, high).

    low, high: how far its ends lie from nominal, in units of the end that lies further (-1..0 and 0..1).
    """

    name: str
    moves: dict[str, dict[str, tuple[float, float]]]
    low: float
    high: float

    def at(
        self, nominal: Parameters, share: float, now: Mapping[str, Mapping[str, float]] | None = None
    ) -> dict[str, dict[str, float]]:
        """The changed parameters at a share of the way to the end that lies further (see shares).

        now: what a state has made of them (a sensor that is hot); their tolerance stands in proportion to them.
        """
        end = 1 if self.high >= -self.low else 0
        found: dict[str, dict[str, float]] = {}
        for element, moved in self.moves.items():
            for name, ends in moved.items():
                before = nominal[element][name]
                there = (now or {}).get(element, {}).get(name, before)
                step = share * (ends[end] - before)
                found.setdefault(element, {})[name] = there + (step * there / before if before else step)
        return found

    def ends(
        self, nominal: Parameters | None = None, now: Parameters | None = None
    ) -> tuple[dict[str, dict[str, float]], dict[str, dict[str, float]]]:
        """The changed parameters at the low and at the high end; nominal, now: as for at."""
        return self._end(0, nominal or {}, now or {}), self._end(1, nominal or {}, now or {})

    def _end(self, end: int, nominal: Parameters, now: Parameters) -> dict[str, dict[str, float]]:
        found: dict[str, dict[str, float]] = {}
        for element, moved in self.moves.items():
            there, before = now.get(element, {}), nominal.get(element, {})
            found[element] = {
                name: ends[end]
                * (there[name] / before[name] if there.get(name) and before.get(name) else 1.0)
                for name, ends in moved.items()
            }
        return found

    @property
    def shares(self) -> tuple[float, float]:
        """(low, high) in units of the step to the end that lies further: one of them is 1."""
        return (self.low, self.high) if self.high >= -self.low else (-self.low, -self.high)


def ends_of(axes: Iterable[Axis]) -> list[dict[str, dict[str, float]]]:
    """The low and the high end of each axis, one after another."""
    return [end for axis in axes for end in axis.ends()]


def on_the_bench(axes: Iterable[Axis], nominal: Parameters) -> list[Axis]:
    """The axes with the plug out: nobody says in what light the device then lies open, from where a state has it at most
    down to a lamp over the bench."""
    return [_in_bench_light(axis, nominal) if axis.name == "light" else axis for axis in axes]


def _in_bench_light(axis: Axis, nominal: Parameters) -> Axis:
    """A sensor's ohms follow a power of the light, which the end with less of it gives."""
    moves = {
        element: {
            name: (dark, nominal[element][name] * (nominal[element][name] / dark) ** BENCH_LIGHT)
            for name, (dark, _bright) in moved.items()
        }
        for element, moved in axis.moves.items()
    }
    return Axis(axis.name, moves, axis.low, axis.high)


def axes(elements: Iterable[Element]) -> list[Axis]:
    """Every tolerance axis of the elements, in the order in which they come."""
    moves: dict[str, dict[str, dict[str, tuple[float, float]]]] = {}
    sizes: dict[str, tuple[float, float]] = {}
    for element in elements:
        for name, number in element.numbers.items():
            for axis, low, high in number.ends:
                moves.setdefault(axis, {}).setdefault(element.name, {})[name] = (low, high)
                down, up = abs(number.value - low), abs(high - number.value)
                most = max(down, up)
                if most > 0:
                    sizes.setdefault(axis, (-down / most, up / most))
    return [Axis(name, moves[name], *sizes[name]) for name in moves if name in sizes]
