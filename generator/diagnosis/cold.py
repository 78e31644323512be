"""What an ohmmeter and the diode range show on the unplugged device under every change."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.network.newton import operating_points
from generator.circuit.network.ohms import DIODE_LIMIT, OPEN_FROM
from generator.circuit.network.primitives import Array
from generator.circuit.network.variants import Around
from generator.diagnosis.changing import changed_by

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.circuit.network.ohms import Unplugged
    from generator.diagnosis.hypotheses import Change

JUNCTION = (
    0.05  # V by which junctions of one sort differ on the diode range; from memory, small-signal diodes
)
LEAST_LEFT = (
    1e-6  # of a conductance's share in what holds its nets, below which the short way loses its digits
)
Pair = tuple[str, str]
NOTHING: Mapping[str, Mapping[str, float]] = {}


class Ohms:
    """Resistances between pairs of nets. The network is linear: a change of a few conductances needs no new solution."""

    def __init__(self, device: Device, pairs: Sequence[Pair]) -> None:
        self.device, self.pairs = device, list(pairs)
        self.cold: Unplugged = device.unplugged()
        self.rest = {name: self.cold.parameters(name) for name in self.cold.elements}
        self.inverse = self.cold.inverse()
        a, b = (np.array([self.cold.nets[pair[end]] for pair in pairs], dtype=int) for end in (0, 1))
        self.a, self.b = a, b
        self.driven = self.inverse[:, a] - self.inverse[:, b]  # (nets, pairs)
        self.entries = self._entries()

    def _entries(self) -> tuple[Array, Array, Array, Array]:
        """Conductances that tolerance axes move: (net, net, half its change in S, axis)."""
        found = []
        self.owners: list[str] = []  # the element of each
        for number, axis in enumerate(self.device.axes):
            for name in axis.moves:
                ends = (self._conductances({name: end[name]}) for end in axis.ends())
                for (i, k, g), (_, _, other) in zip(*ends, strict=True):
                    if g != other:
                        found.append((i, k, (other - g) / 2, number))
                        self.owners.append(name)
        columns = np.array(found).reshape(-1, 4)
        return columns[:, 0].astype(int), columns[:, 1].astype(int), columns[:, 2], columns[:, 3].astype(int)

    def _conductances(self, changed: dict[str, dict[str, float]]) -> list[tuple[int, int, float]]:
        return [
            conductance
            for name, p in changed.items()
            if name in self.cold.elements
            for conductance in self.cold.conductances(name, {**self.rest[name], **p})
        ]

    def read(self, changes: Sequence[Change]) -> tuple[Array, Array]:
        """mean (H, pairs), inf where nothing conducts, and shift (H, pairs, axes)."""
        size, count, axes = len(changes), len(self.pairs), len(self.device.axes)
        mean, shift = np.empty((size, count)), np.zeros((size, count, axes))
        sound = self._shift(self.driven)
        at = np.arange(count)
        base = self.driven[self.a, at] - self.driven[self.b, at]
        for number, change in enumerate(changes):
            changed = changed_by(self.device, change, self.rest)
            driven = self._driven(changed) if changed else None
            if driven is None:
                mean[number], shift[number] = base, sound
            else:
                mean[number] = driven[self.a, at] - driven[self.b, at]
                shift[number] = self._shift(driven, changed)
        return np.where(mean > OPEN_FROM, math.inf, np.maximum(mean, 0.0)), shift

    def _driven(self, changed: dict[str, dict[str, float]]) -> Array | None:
        """Volts of every net for an ampere through each pair, with some conductances changed (Sherman and Morrison)."""
        driven, inverse, moved = self.driven, self.inverse, False
        for name, parameters in changed.items():
            if name in self.cold.elements:
                before, after = (
                    self.cold.conductances(name, self.rest[name]),
                    self.cold.conductances(name, parameters),
                )
            elif name in self.device.system.elements:  # a bridge between two nets
                bridge = self.device.system.elements[name]
                if not all(net in self.cold.nets for net in bridge.nets):
                    continue
                one, other = (self.cold.nets[net] for net in bridge.nets)
                before, after = [(one, other, 0.0)], [(one, other, 1 / max(parameters["ohms"], 1e-3))]
            else:
                continue
            for (i, k, g), (_, _, now) in zip(before, after):
                if now == g:
                    continue
                moved = True
                across = inverse[:, i] - inverse[:, k]
                own = across[i] - across[k]
                left = 1 + (now - g) * own
                if abs(left) < LEAST_LEFT:
                    # it held a net that nothing else holds: what is left is all rounding
                    return self._anew(changed)
                factor = (now - g) / left
                driven = driven - np.outer(across, factor * (driven[i] - driven[k]))
                inverse = inverse - factor * np.outer(across, across)
        return driven if moved else None

    def _anew(self, changed: dict[str, dict[str, float]]) -> Array:
        inverse = self.device.unplugged(changed).inverse()
        return inverse[:, self.a] - inverse[:, self.b]

    def _shift(self, driven: Array, changed: Mapping[str, Mapping[str, float]] = NOTHING) -> Array:
        """(pairs, axes): by how much half of each tolerance band moves the ohms, linearised."""
        i, k, half, axis = self.entries
        for name in changed:
            if name in self.cold.elements:
                half = np.where(
                    [owner == name for owner in self.owners], half * self._less(name, changed), half
                )
        moved = -half[:, None] * (driven[i] - driven[k]) ** 2
        shift = np.zeros((driven.shape[1], len(self.device.axes)))
        np.add.at(shift.T, axis, moved)
        return shift

    def _less(self, name: str, changed: Mapping[str, Mapping[str, float]]) -> float:
        """Of a part that conducts less than it should, its share: what is left scatters in proportion."""
        before, after = (self.cold.conductances(name, p) for p in (self.rest[name], changed[name]))
        return min([1.0, *(g / own for (*_, own), (*_, g) in zip(before, after) if own)])


def diode_range(device: Device, pair: Pair, changes: Sequence[Change]) -> tuple[Array, Array]:
    """What the diode range shows, red lead on the first net: mean (H), inf for OL, and its standard deviation (H)."""
    cold = device.unplugged()
    rest = {name: cold.parameters(name) for name in cold.elements}
    system = cold.diode_system(*pair)
    around = Around(operating_points(system))
    variants: list[dict[int, tuple[float, ...]]] = []
    for change in changes:
        stamps: dict[int, tuple[float, ...]] = {}
        for name, parameters in changed_by(device, change, rest).items():
            if name not in cold.elements:
                continue
            for m, stamp in zip(system.of.get(name, ()), cold.stamps(name, parameters, "diode")):
                stamps[m] = stamp.numbers
        variants.append(stamps)
    solution = around.solve(variants)
    mean = solution.volts(pair[0]) - solution.volts(pair[1])
    mean = np.where(solution.good, np.where(mean > DIODE_LIMIT, math.inf, mean), np.nan)
    finite = np.where(np.isfinite(mean), mean, 0.0)
    return mean, np.where(finite > 0.15, JUNCTION, 0.05 * np.abs(finite) + 0.002)
