"""The mains side at the mains frequency: linear, by phasors; volts and amperes are RMS."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from generator.circuit.network.compile import INSULATION, Changes
from generator.circuit.network.element import Element
from generator.circuit.network.mains import Transformer
from generator.circuit.network.passive import Resistor
from generator.circuit.network.primitives import Array
from generator.circuit.network.sources import Source

SOURCE = 1e-3  # ohm of the mains, so that two of its sources on one net have an answer


@dataclass(frozen=True)
class Alternating:
    """Solved variants of the mains side. volts: complex, (variants, nets)."""

    side: MainsSide
    solution: Array
    changes: Sequence[Changes]
    state: Changes

    def volts(self, plus: str, minus: str = "") -> Array:
        """RMS volts between two nets in each variant; 0 for nets that are not on the mains side."""
        return np.abs(self.across(plus, minus))

    def across(self, plus: str, minus: str = "") -> NDArray[np.complex128]:
        """The same with its phase."""
        return np.asarray(self._of(plus) - (self._of(minus) if minus else 0.0), np.complex128)

    def _of(self, net: str) -> Array:
        at = self.side.index.get(net)
        return np.zeros(len(self.solution), complex) if at is None else self.solution[:, at]

    def amperes(self, element: str) -> Array:
        """RMS amperes into an element at the first of its terminals that carries any, in each variant."""
        return np.abs(self.through(element))

    def watts(self, element: str, plus: str, minus: str) -> Array:
        """Real power that an element's current into it at plus draws from two nets, W; what is only reactive draws none."""
        found: Array = ((self._of(plus) - self._of(minus)) * np.conj(self.through(element, plus))).real
        return found

    def through(self, element: str, at: str = "") -> NDArray[np.complex128]:
        """RMS amperes with their phase into an element at a net of it, else at the first that carries any."""
        found = self.side.elements[element]
        if element in self.side.branches:
            own: NDArray[np.complex128] = self.solution[:, self.side.branches[element]]
            return own
        there = {**found.nominal(), **self.state.get(element, {})}
        first = at or next(iter(found.groups()), found.nets)[0]
        flows = np.zeros(len(self.solution), complex)
        changed = [row for row, own in enumerate(self.changes) if element in own]
        alike = np.delete(np.arange(len(flows)), changed)
        for rows, p in (
            (alike, there),
            *((np.array([row]), {**there, **self.changes[row][element]}) for row in changed),
        ):
            for a, b, y in found.admittance(p, self.side.omega):
                if first in (a, b):
                    across = self.solution[rows, self.side.index[a]] - self.solution[rows, self.side.index[b]]
                    flows[rows] += y * across * ((a == first) - (b == first))
        return flows


class MainsSide:
    """The elements on the mains' alternating current. references: nets that are 0 V (neutral)."""

    def __init__(self, elements: Iterable[Element], frequency: float, references: Iterable[str] = ()) -> None:
        self.elements = {element.name: element for element in elements if element.ac}
        self.omega = 2 * math.pi * frequency
        nets = list(dict.fromkeys(net for element in self.elements.values() for net in element.nets))
        self.index = {net: position for position, net in enumerate(nets)}
        self.sources = [e for e in self.elements.values() if isinstance(e, Source)]
        self.transformers = [e for e in self.elements.values() if isinstance(e, Transformer)]
        self.branches = {
            e.name: len(nets) + position for position, e in enumerate([*self.sources, *self.transformers])
        }
        self.size = len(nets) + len(self.branches)
        self.tied = [self.index[net] for net in self._one_of_each_island(references)]

    def _one_of_each_island(self, references: Iterable[str]) -> list[str]:
        """Of the references, one for all nets that elements join, where the mains come in: what is behind a fuse in the
        neutral is at 0 V only through it."""
        island = {net: net for net in self.index}

        def root(net: str) -> str:
            while island[net] != net:
                net = island[net]
            return net

        for element in self.elements.values():
            for group in element.groups():
                for net in group[1:]:
                    island[root(net)] = root(group[0])
        come_in = [source.minus for source in self.sources]
        known = sorted({*references} & {*self.index}, key=lambda net: (net not in come_in, net))
        return list({root(net): net for net in reversed(known)}.values())

    def solve(
        self, variants: Sequence[Changes] = ({},), state: Changes = MappingProxyType({})
    ) -> Alternating:
        """Every variant (element -> changed parameters); state: what all of them have changed already."""
        base, sources = (own.copy() for own in self._base)
        for name in state.keys() & self.elements.keys():
            self._change(base, sources, name, {}, state[name])
        matrices, rights = np.repeat(base[None], len(variants), 0), np.repeat(sources[None], len(variants), 0)
        for matrix, right, changed in zip(matrices, rights, variants):
            for name in changed:
                if name in self.elements:
                    before = state.get(name, {})
                    self._change(matrix, right, name, before, {**before, **changed[name]})
        solution = np.linalg.solve(matrices, rights[..., None])[..., 0] if self.size else rights
        return Alternating(self, solution, variants, state)

    def _change(
        self, matrix: Array, right: Array, name: str, before: Mapping[str, float], after: Mapping[str, float]
    ) -> None:
        if before != after:
            self._stamp(matrix, right, name, before, -1.0)
            self._stamp(matrix, right, name, after, 1.0)

    @cached_property
    def _base(self) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
        """The equations of the sound network: matrix and right side."""
        base, sources = np.zeros((self.size, self.size), complex), np.zeros(self.size, complex)
        for name in self.elements:
            self._stamp(base, sources, name, {}, 1.0)
        at = np.arange(len(self.index))
        base[at, at] += INSULATION
        for net in self.tied:
            base[net, net] += 1.0
        return base, sources

    @cached_property
    def fuses(self) -> list[Resistor]:
        """The elements that open where they carry too much."""
        return [e for e in self.elements.values() if isinstance(e, Resistor) and e.blows < math.inf]

    def blown(self, solved: Alternating, row: int) -> dict[str, dict[str, float]]:
        """The fuses that would open in a variant, as changed parameters."""
        return {e.name: {"ohms": math.inf} for e in self.fuses if solved.amperes(e.name)[row] > e.blows}

    def _stamp(
        self, matrix: Array, right: Array, name: str, changed: Mapping[str, float], sign: float
    ) -> None:
        element = self.elements[name]
        p = {**element.nominal(), **changed}
        for a, b, y in element.admittance(p, self.omega):
            i, k = self.index[a], self.index[b]
            for row, column, way in ((i, i, 1), (k, k, 1), (i, k, -1), (k, i, -1)):
                matrix[row, column] += sign * way * y
        j = self.branches.get(name)
        if j is None:
            return
        if isinstance(element, Source):
            plus, minus = self.index[element.plus], self.index[element.minus]
            self._branch(matrix, j, plus, minus, sign)
            matrix[j, j] -= sign * (SOURCE + p["ohms"] if p["on"] else 1e12)
            right[j] += sign * (p["volts"] if p["on"] else 0.0)
        elif isinstance(element, Transformer):
            plus, minus = self.index[element.plus], self.index[element.minus]
            live, neutral = self.index[element.live], self.index[element.neutral]
            self._branch(matrix, j, plus, minus, sign)
            ratio = p["ratio"] * (1 + p["above"])
            matrix[j, live] -= sign * ratio
            matrix[j, neutral] += sign * ratio
            matrix[live, j] -= sign * ratio
            matrix[neutral, j] += sign * ratio
            matrix[j, j] -= sign * (SOURCE + min(p["ohms"], 1e9))

    @staticmethod
    def _branch(matrix: Array, j: int, plus: int, minus: int, sign: float) -> None:
        matrix[plus, j] += sign
        matrix[minus, j] -= sign
        matrix[j, plus] += sign
        matrix[j, minus] -= sign
