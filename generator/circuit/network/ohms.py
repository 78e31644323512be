"""The device unplugged: what an ohmmeter and the meter's diode range show between any two places, in circuit.

Below 0.3 V no junction conducts, so that the ohmmeter sees a network of resistances with all parallel paths. The diode
range drives 1 mA, up to 2 V, through junctions and whatever lies beside them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.network.compile import INSULATION
from generator.circuit.network.element import Element
from generator.circuit.network.primitives import Array
from generator.circuit.network.stamps import Stamp, current, junction
from generator.circuit.network.tolerances import Axis

if TYPE_CHECKING:
    from generator.circuit.network.newton import Point

OPEN_FROM = 100e6  # ohm: beyond this a meter shows that nothing conducts
DIODE_CURRENT = 1e-3  # A
DIODE_LIMIT = 2.0  # V: from here on most meters show OL
DIODE_OPEN = 3.0  # V that a meter gives at most on its diode range (data sheets, from memory)


@dataclass(frozen=True, kw_only=True)
class _Cold(Element):
    """An element as the meter meets it: fixed stamps."""

    made: tuple[Stamp, ...] = ()
    at: tuple[str, ...] = ()

    @cached_property
    def nets(self) -> tuple[str, ...]:
        return self.at

    def groups(self) -> tuple[tuple[str, ...], ...]:
        return tuple(stamp.out for stamp in self.made)

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        return self.made


class Unplugged:
    """The cold network. Failures: element -> changed parameters."""

    def __init__(
        self, elements: Sequence[Element], changes: Mapping[str, Mapping[str, float]] | None = None
    ) -> None:
        self.elements = {element.name: element for element in elements}
        self.changes = changes or {}
        self.nets = {
            net: position
            for position, net in enumerate(dict.fromkeys(net for e in elements for net in e.nets))
        }

    def parameters(self, name: str) -> dict[str, float]:
        """An element's parameters at rest: contacts as nothing moves them, then what has failed."""
        element = self.elements[name]
        p = element.nominal()
        if "closed" in p:
            p["closed"] = 1.0 if getattr(element, "rest", False) else 0.0
        return {**p, **self.changes.get(name, {})}

    @cached_property
    def rest(self) -> dict[str, dict[str, float]]:
        """Every element's parameters at rest."""
        return {name: self.parameters(name) for name in self.elements}

    def conductances(
        self, name: str, parameters: Mapping[str, float] | None = None
    ) -> list[tuple[int, int, float]]:
        """The element's (net, net, siemens) for the ohmmeter."""
        found = self.elements[name].cold(self.rest[name] if parameters is None else parameters, "ohms")
        return [(self.nets[stamp.out[0]], self.nets[stamp.out[1]], stamp.numbers[1]) for stamp in found]

    def inverse(self, parameters: Mapping[str, Mapping[str, float]] | None = None) -> Array:
        """Volts of every net for an ampere into every net, (nets, nets); each net is held by its insulation.

        parameters: of elements that are otherwise than at rest.
        """
        count = len(self.nets)
        matrix = np.eye(count) * INSULATION
        for name in self.elements:
            for a, b, g in self.conductances(name, (parameters or {}).get(name)):
                matrix[[a, b], [a, b]] += g
                matrix[[a, b], [b, a]] -= g
        return np.linalg.inv(matrix)

    @cached_property
    def _at_rest(self) -> Array:
        return self.inverse()

    def ohms(self, one: str, other: str) -> float:
        """Ohm between two nets, inf where a meter shows that nothing conducts."""
        if one == other:
            return 0.0
        inverse = self._at_rest
        a, b = self.nets[one], self.nets[other]
        found = float(inverse[a, a] + inverse[b, b] - 2 * inverse[a, b])
        return math.inf if found > OPEN_FROM else found

    def bands(
        self, pairs: Sequence[tuple[str, str]], axes: Sequence[Axis]
    ) -> list[tuple[float, float, float]]:
        """(nominal, low, high) ohm between each pair of nets; each tolerance by itself exactly, then added up."""
        inverse = self._at_rest
        a, b = (np.array([self.nets[pair[end]] for pair in pairs], dtype=int) for end in (0, 1))
        driven = inverse[:, a] - inverse[:, b]  # volts of every net for an ampere through each pair
        value = driven[a, np.arange(len(pairs))] - driven[b, np.arange(len(pairs))]
        low, high = value.copy(), value.copy()
        for axis in axes:
            moved = [self._moved(inverse, driven, end) for end in axis.ends()]
            low += np.minimum(0.0, np.minimum(*moved))
            high += np.maximum(0.0, np.maximum(*moved))
        return [
            (float(v), float(max(0.0, lo)), float(hi)) if v < OPEN_FROM else (math.inf, math.inf, math.inf)
            for v, lo, hi in zip(value, low, high)
        ]

    def _moved(self, inverse: Array, driven: Array, end: Mapping[str, Mapping[str, float]]) -> Array:
        """By how much each pair's ohms change where some elements' parameters do: a change of a few conductances."""
        total = np.zeros(driven.shape[1])
        for name, parameters in end.items():
            before = self.conductances(name)
            after = self.conductances(name, {**self.rest[name], **parameters})
            for (i, k, g), (_, _, changed) in zip(before, after):
                step = changed - g
                if step:
                    across = driven[i] - driven[k]
                    own = inverse[i, i] + inverse[k, k] - 2 * inverse[i, k]
                    total -= step * across * across / (1 + step * own)
        return total

    def stamps(self, name: str, parameters: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        """What an element of the network is to the meter with these parameters."""
        return self.elements[name].cold(parameters, mode)

    def diode_range(self, pairs: Sequence[tuple[str, str]]) -> Point:
        """The operating points with the meter's diode range across each pair of nets in turn, red lead on the first."""
        from generator.circuit.network.compile import System
        from generator.circuit.network.newton import solved

        cold: list[Element] = [
            _Cold(name=name, made=self.stamps(name, self.parameters(name), "diode"), at=element.nets)
            for name, element in self.elements.items()
        ]
        meters = [
            _Cold(
                name=f"<meter {number}>",
                made=(current(black, red, DIODE_CURRENT), junction((red, black), *_CLAMP, floor=0.0)),
                at=(red, black),
            )
            for number, (red, black) in enumerate(pairs)
        ]
        system = System([*cold, *meters], [black for _, black in pairs])
        numbers = system.numbers([{}] * len(pairs))
        for row, state in enumerate(numbers):
            for number, meter in enumerate(meters):
                if number != row:
                    state[list(system.of[meter.name]), 0] = 0.0  # neither drives nor conducts
        return solved(system, numbers)

    def diode(self, red: str, black: str) -> float:
        """Volts on the diode range with the red lead on the first net; inf above 2 V ("OL")."""
        if red == black:
            return 0.0
        found = float(self.diode_range([(red, black)]).volts(red, black)[0])
        return math.inf if found > DIODE_LIMIT else found


_CLAMP = 1e-3 * math.exp(-2.5 / 0.08), 0.08  # the meter's own source ends at about 2.5 V
__all__ = ["DIODE_CURRENT", "DIODE_LIMIT", "OPEN_FROM", "Unplugged"]
