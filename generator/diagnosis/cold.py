"""What an ohmmeter and the diode range show on the unplugged device under every change."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.network.compile import INSULATION
from generator.circuit.network.linear import solved
from generator.circuit.network.ohms import DIODE_LIMIT, OPEN_FROM
from generator.circuit.network.primitives import Array
from generator.circuit.network.variants import Around
from generator.diagnosis.changing import changed_by, identity

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
_Now = dict[str, list[float]]  # element -> its conductances, S


class Ohms:
    """Resistances between pairs of nets. The network is linear: changes of a few conductances need no new solution, and all
    of them are worked out together. Currents are driven in at one net and out at another, never into one net alone: what
    floats on its insulation would stand at so many volts that a difference of them is all rounding."""

    def __init__(self, device: Device, pairs: Sequence[Pair]) -> None:
        self.device, self.pairs = device, list(pairs)
        self.cold: Unplugged = device.unplugged()
        self.rest = self.cold.rest
        nets = self.cold.nets
        own = [(name, entry) for name in self.cold.elements for entry in self.cold.conductances(name)]
        for a, b, _block in device.bridges:
            if a in nets and b in nets:
                own.append((f"{a} ~ {b}", (nets[a], nets[b], 0.0)))
        self.place: dict[str, list[int]] = {}  # element -> its conductances
        for position, (name, _entry) in enumerate(own):
            self.place.setdefault(name, []).append(position)
        columns = np.array([entry for _, entry in own]).reshape(-1, 3)
        self.one, self.other, self.siemens = (
            columns[:, 0].astype(int),
            columns[:, 1].astype(int),
            columns[:, 2],
        )
        self.before = self.siemens.tolist()
        self.lies = self._between(self.one, self.other)
        self.a, self.b = (np.array([nets[pair[end]] for pair in pairs], dtype=int) for end in (0, 1))
        self.asked = self._between(self.a, self.b)
        matrix = self._matrices(self.siemens[None])[0]
        self.driven = np.linalg.solve(
            matrix, self.asked.T
        )  # volts of every net for an ampere through each pair
        self.across = np.linalg.solve(
            matrix, self.lies.T
        ).T  # the same through each conductance, (those, nets)
        self._spread()

    def _between(self, one: Array, other: Array) -> Array:
        """An ampere in at one net and out at another, (such, nets)."""
        found = np.zeros((len(one), len(self.cold.nets)))
        at = np.arange(len(one))
        found[at, one] += 1.0
        found[at, other] -= 1.0
        return found

    def _matrices(self, siemens: Array) -> Array:
        """The nodal equations with these conductances, (variants, nets, nets); each net is held by its insulation."""
        held = np.eye(len(self.cold.nets)) * INSULATION
        found: Array = (self.lies.T * siemens[:, None, :]) @ self.lies + held
        return found

    def _spread(self) -> None:
        """Conductances that tolerance axes move: which, half its change in S, axis; and whose they are."""
        found: list[tuple[int, float, int]] = []
        self.owned: dict[str, list[int]] = {}
        for number, axis in enumerate(self.device.axes):
            low, high = axis.ends()
            for name in axis.moves:
                if name in self.place:
                    for m, f, g in zip(
                        self.place[name], self._siemens(name, low[name]), self._siemens(name, high[name])
                    ):
                        if f != g:
                            self.owned.setdefault(name, []).append(len(found))
                            found.append((m, (g - f) / 2, number))
        columns = np.array(found).reshape(-1, 3)
        self.moved, self.half = columns[:, 0].astype(int), columns[:, 1]
        self.axes = np.zeros((len(found), len(self.device.axes)))
        self.axes[np.arange(len(found)), columns[:, 2].astype(int)] = 1.0

    def _siemens(self, name: str, changed: Mapping[str, float]) -> list[float]:
        if name not in self.rest:  # a bridge between two nets
            return [1 / max(changed["ohms"], 1e-3)]
        return [g for _, _, g in self.cold.conductances(name, {**self.rest[name], **changed})]

    def read(self, changes: Sequence[Change]) -> tuple[Array, Array]:
        """mean (H, pairs), inf where nothing conducts, and shift (H, pairs, axes)."""
        now = []
        for change in changes:
            changed = changed_by(self.device, change, self.rest)
            now.append({name: self._siemens(name, changed[name]) for name in changed if name in self.place})
        steps, more = self._steps(now)
        one, other = self.one[steps], self.other[steps]
        across = self.across[steps]  # (H, steps, nets)
        among = np.take_along_axis(across, one[:, None], 2) - np.take_along_axis(across, other[:, None], 2)
        held = np.eye(steps.shape[1]) + more[:, :, None] * among
        at = self.driven[one] - self.driven[other]  # (H, steps, pairs)
        taken = solved(held, more[:, :, None] * at)
        mean = (self.asked.T * self.driven).sum(0) - (at * taken).sum(1)
        lies = self.lies[self.moved]
        volts = lies @ self.driven - (across @ lies.T).transpose(0, 2, 1) @ taken
        lost = np.flatnonzero(np.abs(np.linalg.det(held)) < LEAST_LEFT)
        if lost.size:  # a step held a net that nothing else holds: what is left is all rounding
            after = self._matrices(np.array([self._after(now[row]) for row in lost]))
            driven = np.linalg.solve(after, np.repeat(self.asked.T[None], len(lost), 0))
            mean[lost], volts[lost] = (self.asked.T * driven).sum(1), lies @ driven
        half = self.half * np.array([self._less(own) for own in now]).reshape(len(changes), -1)
        shift = (volts**2).transpose(0, 2, 1) @ (-half[:, :, None] * self.axes)
        return np.where(mean > OPEN_FROM, math.inf, np.maximum(mean, 0.0)), shift

    def _steps(self, now: Sequence[_Now]) -> tuple[Array, Array]:
        """(which conductances each change moves, by how many S), padded with what moves by nothing."""
        several = [
            [
                (m, siemens - self.before[m])
                for name, own in each.items()
                for m, siemens in zip(self.place[name], own)
                if siemens != self.before[m]
            ]
            for each in now
        ]
        found = np.zeros((len(now), max(map(len, several), default=0), 2))
        for row, steps in zip(found, several):
            if steps:
                row[: len(steps)] = steps
        return found[..., 0].astype(int), found[..., 1]

    def _after(self, now: _Now) -> Array:
        """All conductances with a change."""
        siemens = self.siemens.copy()
        for name, several in now.items():
            siemens[self.place[name]] = several
        return siemens

    def _less(self, now: _Now) -> Array:
        """Of parts that conduct less than they should, their share: what is left scatters in proportion."""
        found = np.ones(len(self.moved))
        for name, several in now.items():
            if name in self.owned:
                before = [self.before[m] for m in self.place[name]]
                found[self.owned[name]] = min([1.0, *(g / own for g, own in zip(several, before) if own)])
        return found


def diode_range(device: Device, pairs: Sequence[Pair], changes: Sequence[Change]) -> tuple[Array, Array]:
    """What the diode range shows, red lead on the first net of each pair: mean (H, pairs), inf for OL, and its standard
    deviation (H, pairs). Each pair under each change is worked out once and kept with the device."""
    known: dict[Pair, Junction] = device.kept.setdefault("junctions", {})
    fresh = [pair for pair in dict.fromkeys(pairs) if pair not in known]
    cold = device.unplugged()
    if fresh:
        point = cold.diode_range(fresh)
        known.update((pair, Junction(device, cold, Around(point, row))) for row, pair in enumerate(fresh))
    keys = [identity(change) for change in changes]
    mean = np.stack([known[pair].read(pair, keys, changes) for pair in pairs], 1)
    finite = np.where(np.isfinite(mean), mean, 0.0)
    return mean, np.where(finite > 0.15, JUNCTION, 0.05 * np.abs(finite) + 0.002)


@dataclass
class Junction:
    """The cold network with the diode range across one pair of nets. known: what it shows under each change."""

    device: Device
    cold: Unplugged
    around: Around
    known: dict[tuple[object, ...], float] = field(default_factory=dict)

    def read(self, pair: Pair, keys: Sequence[tuple[object, ...]], changes: Sequence[Change]) -> Array:
        """Volts under each change, inf for OL, nan where no operating point is found."""
        fresh = {key: change for key, change in zip(keys, changes) if key not in self.known}
        solution = self.around.solve([self._stamps(change) for change in fresh.values()])
        volts = solution.volts(pair[0]) - solution.volts(pair[1])
        shown = np.where(solution.good, np.where(volts > DIODE_LIMIT, math.inf, volts), np.nan)
        self.known.update(zip(fresh, shown.tolist()))
        return np.array([self.known[key] for key in keys])

    def _stamps(self, change: Change) -> dict[int, tuple[float, ...]]:
        system, found = self.around.system, {}
        for name, parameters in changed_by(self.device, change, self.cold.rest).items():
            if name in self.cold.elements:
                for m, stamp in zip(system.of[name], self.cold.stamps(name, parameters, "diode")):
                    if stamp.numbers != system.stamps[m].numbers:
                        found[m] = stamp.numbers
        return found
