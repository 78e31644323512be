"""The unplugged device as conductances: what each change makes of them, and which tolerances move them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.network.chips import Amplifier, Regulator
from generator.circuit.network.compile import INSULATION
from generator.circuit.network.junctions import EMISSION, Diode
from generator.circuit.network.mains import Transformer
from generator.circuit.network.passive import Inside
from generator.circuit.network.primitives import Array
from generator.circuit.network.sources import Source
from generator.diagnosis.changing import changed_by

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.circuit.network.tolerances import Axis
    from generator.diagnosis.hypotheses import Change, Identity


# ohm of a transformer's primary that nobody states, and the share by which its conductance may be off: from 100 VA down to
# 1 VA it is 20 ohm to 5 kohm; from memory, data sheets of small transformers
PRIMARY, PRIMARY_BAND = 1.5e3, 1.0
# S that a chip without its supply may let through from that or from its output to common, and what stands behind stated volts:
# nothing, or what 200 kilohm do (common practice, no source)
CHIP_LEAK = 5e-6
# S that a junction may let through at the half volt of a meter's upper ranges: 1N4007 and its like some tenths of a microampere,
# a Schottky diode tens (common practice, no source)
JUNCTION_LEAK = {EMISSION["silicon"]: 2e-6, EMISSION["schottky"]: 1e-4}


@dataclass(frozen=True)
class Moved:
    """What a change does to the cold network. steps: (conductance, by how many S); less: (places among the conductances that
    have a tolerance, what is left of that)."""

    steps: tuple[tuple[int, float], ...] = ()
    less: tuple[tuple[list[int], float], ...] = ()


CHIPS = (Amplifier, Regulator, Inside, Source)
FED = (Regulator, Inside)  # what makes a rail, or is fed by one
BEYOND = ""  # no element's name: what no drawing shows
LEAST_HELD = 1e-2  # of what holds a net of which a tolerance takes nearly all

NOTHING = Moved()


def rails(device: Device) -> list[tuple[str, str]]:
    """Each rail of a board and its common: the output of a regulator, the supply of a chip."""
    fed = (e for e in device.elements.values() if isinstance(e, FED) and not e.ac)
    return sorted({(e.nets[-2], e.nets[-1]) for e in fed if e.nets[-2] != e.nets[-1]})


def rail_name(plus: str, minus: str) -> str:
    """How what a rail lets through to its common is called among the conductances."""
    return f"{plus} to {minus}"


def cold_network(device: Device) -> ColdNetwork:
    """The cold network of a device, kept with it."""
    if "cold network" not in device.kept:
        device.kept["cold network"] = ColdNetwork(device)
    found: ColdNetwork = device.kept["cold network"]
    return found


class ColdNetwork:
    """Conductances between nets, bridges of solder among them (0 S). Currents are driven in at one net and out at another,
    never into one net alone: what floats on its insulation would stand at so many volts that a difference of them is all
    rounding."""

    def __init__(self, device: Device) -> None:
        self.device, axes = device, device.axes_unplugged  # which settles what loads come to
        self.cold = device.unplugged()
        nets = self.cold.nets
        self.primaries = [
            name
            for name, element in self.cold.elements.items()
            if isinstance(element, Transformer) and math.isinf(element.primary.value)
        ]
        windings = {name: self._winding(name) for name in self.primaries}
        self.rest = {**self.cold.rest, **windings}
        own = [
            (name, entry)
            for name in self.cold.elements
            for entry in self.cold.conductances(name, self.rest[name])
        ]
        own += [
            (f"{a} ~ {b}", (nets[a], nets[b], 0.0))
            for a, b, _block in device.bridges
            if a in nets and b in nets
        ]
        beyond = dict.fromkeys(self._at_chips(), CHIP_LEAK) | self._at_junctions()
        self.leaks = list(beyond.values())  # of each, S
        own += [(BEYOND, (a, b, 0.0)) for a, b in beyond]
        self.rails = {}  # rail -> its conductance
        for plus, minus in rails(device):
            if {plus, minus} <= nets.keys():
                self.rails[rail_name(plus, minus)] = len(own)
                own.append((rail_name(plus, minus), (nets[plus], nets[minus], 0.0)))
        self.place: dict[str, list[int]] = {}  # element -> its conductances
        for position, (name, _entry) in enumerate(own):
            self.place.setdefault(name, []).append(position)
        columns = np.array([entry for _, entry in own]).reshape(-1, 3)
        self.one, self.other = columns[:, 0].astype(int), columns[:, 1].astype(int)
        self.siemens = columns[:, 2]
        self.before = self.siemens.tolist()
        self.lies = self.between(self.one, self.other)
        self.matrix = self.matrices(self.siemens[None])[0]
        # volts for an ampere through each, (those, nets)
        self.across = np.linalg.solve(self.matrix, self.lies.T).T
        self.known: dict[Identity, Moved] = {}
        self._spread(axes)

    def _at_chips(self) -> list[tuple[int, int]]:
        """Each pair of nets between which a chip without supply may conduct, or what stands behind stated volts."""
        nets = self.cold.nets
        pairs = {
            tuple(sorted((nets[net], nets[e.nets[-1]])))
            for e in self.device.elements.values()
            if isinstance(e, CHIPS) and not e.ac
            for net in e.nets[-3:-1]
            if {net, e.nets[-1]} <= nets.keys()
        }
        return [(a, b) for a, b in sorted(pairs) if a != b]

    def _at_junctions(self) -> dict[tuple[int, int], float]:
        """Each pair of nets with a diode between, and what that may let through, S."""
        nets = self.cold.nets
        found: dict[tuple[int, int], float] = {}
        for e in self.device.elements.values():
            leak = JUNCTION_LEAK.get(e.emission) if isinstance(e, Diode) and e.ON_BOARD else None
            a, b = sorted(nets.get(net, -1) for net in e.nets[:2])
            if leak and 0 <= a < b:
                found[a, b] = max(leak, found.get((a, b), 0.0))
        return found

    def _winding(self, name: str) -> dict[str, float]:
        """A transformer whose primary nobody states, its secondary perhaps neither: as much copper in each."""
        p, transformer = self.cold.rest[name], self.cold.elements[name]
        assert isinstance(transformer, Transformer)
        primary = transformer.likely or PRIMARY
        return {**p, "primary": primary, "ohms": p["ohms"] or primary * p["ratio"] ** 2}

    def between(self, one: Array, other: Array) -> Array:
        """An ampere in at one net and out at another, (such, nets)."""
        found = np.zeros((len(one), len(self.cold.nets)))
        at = np.arange(len(one))
        found[at, one] += 1.0
        found[at, other] -= 1.0
        return found

    def matrices(self, siemens: Array) -> Array:
        """The nodal equations with these conductances, (variants, nets, nets); each net is held by its insulation."""
        held = np.eye(len(self.cold.nets)) * INSULATION
        found: Array = (self.lies.T * siemens[:, None, :]) @ self.lies + held
        return found

    def _spread(self, axes: Sequence[Axis]) -> None:
        """Conductances that tolerance axes move: which, half its change in S, axis; and whose they are."""
        found: list[tuple[int, float, int]] = []
        self.owned: dict[str, list[int]] = {}
        for number, axis in enumerate(axes):
            low, high = axis.ends()
            for name in axis.moves:
                if name in self.place:
                    for m, f, g in zip(
                        self.place[name], self._siemens(name, low[name]), self._siemens(name, high[name])
                    ):
                        if f != g:
                            self.owned.setdefault(name, []).append(len(found))
                            found.append((m, (self._step(m, g) - self._step(m, f)) / 2, number))
        for name in self.primaries:
            stated = self.cold.rest[name]["ohms"] > 0
            for m in self.place[name][: 1 if stated else 2]:
                self.owned.setdefault(name, []).append(len(found))
                found.append((m, self.before[m] * PRIMARY_BAND, len(axes)))
        for m, leak in zip(self.place.get(BEYOND, ()), self.leaks):
            found.append((m, self._step(m, leak), len(axes) + 1))
        columns = np.array(found).reshape(-1, 3)
        self.moved, self.half = columns[:, 0].astype(int), columns[:, 1]
        # the last axes are for windings of unstated ohms, and for what no drawing shows
        self.axes = np.zeros((len(found), len(axes) + 2))
        self.axes[np.arange(len(found)), columns[:, 2].astype(int)] = 1.0

    def _step(self, m: int, siemens: float) -> float:
        """By how much a conductance changes, S, in proportion to what that does to the resistances around it: a tolerance
        that reaches far bends them. Source: Sherman-Morrison formula, e.g. Golub and Van Loan, Matrix Computations, 2.1.4."""
        step, own = siemens - self.before[m], float(self.lies[m] @ self.across[m])
        return float(step / max(1 + step * own, LEAST_HELD))

    def _siemens(self, name: str, changed: Mapping[str, float]) -> list[float]:
        rest = self.rest.get(name)
        if rest is None:  # a bridge between two nets
            return [1 / max(changed["ohms"], 1e-3)]
        return [g for _, _, g in self.cold.conductances(name, {**rest, **changed})]

    def tolerance(self, name: str) -> float:
        """Half the band of an element's conductance, as a share of it."""
        rest = sum(self.before[m] for m in self.place.get(name, ()))
        ends = [axis.ends() for axis in self.device.axes_unplugged if rest and name in axis.moves]
        reach = [
            abs(sum(self._siemens(name, high[name])) - sum(self._siemens(name, low[name])))
            for low, high in ends
        ]
        return float(sum(reach)) / 2 / rest if rest else 0.0

    def moved_by(self, change: Change) -> Moved:
        """What a change does to it, worked out once."""
        key = change.identity
        if key not in self.known:
            self.known[key] = self._moved_by(change)
        return self.known[key]

    def _moved_by(self, change: Change) -> Moved:
        rail = self.rails.get(change.pressed[0])
        if rail is not None:
            own = self.moved_by(change.plugged)
            return Moved((*own.steps, (rail, 1 / float(change.pressed[1]))), own.less)
        steps: list[tuple[int, float]] = []
        less: list[tuple[list[int], float]] = []
        for name, parameters in changed_by(self.device, change, self.rest).items():
            members = self.place.get(name)
            if not members or parameters == self.rest.get(name):
                continue
            now, before = self._siemens(name, parameters), [self.before[m] for m in members]
            if now != before:
                steps += [(m, g - own) for m, g, own in zip(members, now, before) if g != own]
                # of what conducts less than it should, what is left scatters in proportion
                left = {m: min(1.0, g / own) for m, g, own in zip(members, now, before) if own}
                for entry in self.owned.get(name, ()):
                    share = left.get(int(self.moved[entry]), 1.0)
                    less.append(([entry], share if self.cold.elements[name].SCATTERS or share == 1 else 0.0))
        return Moved(tuple(steps), tuple(less)) if steps else NOTHING

    def after(self, moved: Moved) -> Array:
        """All conductances with a change, S."""
        siemens = self.siemens.copy()
        for m, step in moved.steps:
            siemens[m] += step
        return siemens

    def less(self, several: Sequence[Moved]) -> Array:
        """What is left of the tolerances under each change, (changes, those)."""
        found = np.ones((len(several), len(self.moved)))
        for row, moved in zip(found, several):
            for entries, share in moved.less:
                row[entries] = share
        return found
