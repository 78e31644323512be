"""What an ohmmeter and the diode range show on the unplugged device under every change."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.network.around import Around
from generator.circuit.network.linear import solved
from generator.circuit.network.ohms import DIODE_OPEN, OPEN_FROM
from generator.circuit.network.primitives import Array
from generator.circuit.network.solution import Solution
from generator.circuit.network.variants import Wanted, solve_all
from generator.diagnosis.changing import changed_by
from generator.diagnosis.coldnet import cold_network

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.circuit.network.compile import System
    from generator.circuit.network.ohms import Unplugged
    from generator.diagnosis.hypotheses import Change, Identity

# V by which junctions differ on the diode range, and the share by which LEDs do, of which a dozen sorts have one colour; from
# memory, small-signal diodes and forward voltage bins of LEDs
JUNCTION, LIT = 0.05, 0.06
# of a conductance's share in what holds its nets, below which the short way loses its digits
LEAST_LEFT = 1e-2
Pair = tuple[str, str]


class Ohms:
    """Resistances between pairs of nets. The network is linear: changes of a few conductances need no new solution, and all
    of them are worked out together."""

    def __init__(self, device: Device, pairs: Sequence[Pair]) -> None:
        self.net = cold_network(device)
        nets = self.net.cold.nets
        a, b = (np.array([nets[pair[end]] for pair in pairs], dtype=int) for end in (0, 1))
        self.asked = self.net.between(a, b)
        # volts of every net for an ampere through each pair, (nets, pairs)
        self.driven = np.linalg.solve(self.net.matrix, self.asked.T)

    def read(self, changes: Sequence[Change]) -> tuple[Array, Array]:
        """mean (H, pairs), inf where nothing conducts, and shift (H, pairs, axes + 2), the last two for windings of unstated ohms
        and for what no drawing shows, which at most halves what is read."""
        net, driven = self.net, self.driven
        moved = [net.moved_by(change) for change in changes]
        lies, spread = net.lies[net.moved], net.half[:, None] * net.axes
        at_rest = (self.asked.T * driven).sum(0)
        mean = np.repeat(at_rest[None], len(changes), 0)
        sound = -((lies @ driven) ** 2).T @ spread
        shift = np.repeat(sound[None], len(changes), 0)
        rows = np.array([row for row, own in enumerate(moved) if own.steps], dtype=int)
        if rows.size:
            some = [moved[row] for row in rows]
            steps, more = _padded([own.steps for own in some])
            across = net.across[steps]  # (rows, steps, nets)
            among = (across @ net.lies[steps].transpose(0, 2, 1)).transpose(0, 2, 1)
            held = np.eye(steps.shape[1]) + more[:, :, None] * among
            at = net.lies[steps] @ driven  # (rows, steps, pairs)
            taken = solved(held, more[:, :, None] * at)
            mean[rows] = at_rest - (at * taken).sum(1)
            volts = lies @ driven - (across @ lies.T).transpose(0, 2, 1) @ taken
            lost = np.flatnonzero(np.abs(np.linalg.det(held)) < LEAST_LEFT)
            if lost.size:  # a step held a net that nothing else holds: what is left is all rounding
                after = net.matrices(np.array([net.after(some[row]) for row in lost]))
                anew = np.linalg.solve(after, np.repeat(self.asked.T[None], len(lost), 0))
                mean[rows[lost]], volts[lost] = (self.asked.T * anew).sum(1), lies @ anew
            shift[rows] = -((volts**2).transpose(0, 2, 1) * net.less(some)[:, None]) @ spread
        mean = np.maximum(mean, 0.0)
        shift[..., -1] *= mean / np.maximum(mean + np.abs(shift[..., -1]), 1e-9)
        return np.where(mean > OPEN_FROM, math.inf, mean), shift


def alone(device: Device, element: str, changes: Sequence[Change]) -> tuple[Array, Array]:
    """What an ohmmeter shows of a part with one leg lifted: mean (H), inf where it does not conduct, and half its band (H)."""
    net = cold_network(device)
    own = net.place.get(element, [])
    siemens = np.full(len(changes), sum(net.before[m] for m in own))
    for row, change in enumerate(changes):
        siemens[row] += sum(step for m, step in net.moved_by(change).steps if m in own)
    with np.errstate(divide="ignore"):
        mean = 1 / np.maximum(siemens, 0.0)
    mean = np.where(mean > OPEN_FROM, math.inf, mean)
    return mean, net.tolerance(element) * np.where(np.isfinite(mean), mean, 0.0)


def _padded(steps: Sequence[Sequence[tuple[int, float]]]) -> tuple[Array, Array]:
    """(which conductances, by how many S), padded with what moves by nothing."""
    found = np.zeros((len(steps), max(map(len, steps)), 2))
    for row, own in zip(found, steps):
        row[: len(own)] = own
    return found[..., 0].astype(int), found[..., 1]


def diode_range(device: Device, pairs: Sequence[Pair], changes: Sequence[Change]) -> tuple[Array, Array]:
    """What the diode range shows, red lead on the first net of each pair: mean (H, pairs), inf for OL, and its standard
    deviation (H, pairs). Each pair under each change is worked out once and kept with the device."""
    known: dict[Pair, Junction] = device.kept.setdefault("junctions", {})
    fresh = [pair for pair in dict.fromkeys(pairs) if pair not in known]
    if fresh:
        stamps = device.kept.setdefault("diode stamps", Stamps(device, device.unplugged()))
        point = device.unplugged().diode_range(fresh)
        known.update((pair, Junction(pair, Around(point, row), stamps)) for row, pair in enumerate(fresh))
    own = {change.identity: change for change in changes}
    several = [known[pair] for pair in dict.fromkeys(pairs)]
    missing = [{key: own[key] for key in own if key not in junction.known} for junction in several]
    solved_now = solve_all([junction.wanted(those) for junction, those in zip(several, missing)])
    for junction, those, solution in zip(several, missing, solved_now):
        junction.known.update(zip(those, junction.shown(solution).tolist()))
    mean = np.array([[known[pair].known[change.identity] for pair in pairs] for change in changes])
    finite = np.where(np.isfinite(mean), mean, 0.0)
    scatter = np.where(finite > 0.15, np.maximum(JUNCTION, LIT * finite), 0.05 * np.abs(finite) + 0.002)
    return mean, scatter


@dataclass
class Stamps:
    """What changes do to the cold network's stamps on the diode range, each worked out once."""

    device: Device
    cold: Unplugged
    known: dict[Identity, dict[int, tuple[float, ...]]] = field(default_factory=dict)

    def of(self, key: Identity, change: Change, system: System) -> dict[int, tuple[float, ...]]:
        """Stamp -> numbers, those that a change moves. key: its identity."""
        if key not in self.known:
            found = self.known[key] = {}
            for name, parameters in changed_by(self.device, change, self.cold.rest).items():
                if name in self.cold.elements and parameters != self.cold.rest[name]:
                    for m, stamp in zip(system.of[name], self.cold.stamps(name, parameters, "diode")):
                        if stamp.numbers != system.stamps[m].numbers:
                            found[m] = stamp.numbers
        return self.known[key]


@dataclass
class Junction:
    """The cold network with the diode range across one pair of nets. known: what it shows under each change."""

    pair: Pair
    around: Around
    stamps: Stamps
    known: dict[Identity, float] = field(default_factory=dict)

    def wanted(self, changes: Mapping[Identity, Change]) -> Wanted:
        """The changes as they are to be solved."""
        system = self.around.system
        return Wanted(self.around, [self.stamps.of(key, change, system) for key, change in changes.items()])

    def shown(self, solution: Solution) -> Array:
        """Volts in each variant, inf for OL, nan where no operating point is found."""
        volts = solution.volts(self.pair[0]) - solution.volts(self.pair[1])
        found: Array = np.where(solution.good, np.where(volts > DIODE_OPEN, math.inf, volts), np.nan)
        return found
