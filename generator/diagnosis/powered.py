"""What readings on the plugged-in device come to under every change: one state, direct current and the mains side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from generator.circuit.network import sources
from generator.circuit.network.junctions import EMISSION, Clamp, Diode, Transistor
from generator.circuit.network.passive import Resistor
from generator.circuit.network.primitives import Array
from generator.circuit.network.reading import Reading
from generator.circuit.network.sensitivity import read, shown
from generator.diagnosis.alternating import AlternatingPlaces
from generator.diagnosis.evidence import EVEN, STRAY_LEAK
from generator.diagnosis.hypotheses import HEALTH
from generator.diagnosis.sagging import inputs, lowered, sags
from generator.diagnosis.solved import Batch, state_under

if TYPE_CHECKING:
    from generator.circuit.device import Device, Place
    from generator.diagnosis.hypotheses import Change

STRAY_CURRENT = 3e-7  # A: what an input pin, a transistor that is off and a board leak together in a room (data sheets of controllers: a pin at most 1 µA when hot, next to nothing at 25 °C)
SAWTOOTH_OFF = 0.15  # of a ripple: by as much it is no sawtooth; step by step in ngspice, half and full wave
FLOATS = 0.6  # share that a meter's own resistance leaves, below which a place floats
# share that a meter leaves, and ohm of the source, between which junctions are looked for
STIFF, MOST_BENT = 0.98, 1e10
WIDTHS = (0.05, 0.16)  # V for each e-fold of the current through an LED, and through three
DEAD = 0.03  # V: what hum, leaks and other rails leave where nothing should be; common practice, no source
# V of a supply that has died and gets its chips' next to nothing through their pins, at most, and the A from which it does: most chips
# take next to nothing below the threshold of their transistors (common practice, no source)
PHANTOM, DRIVEN = 1.0, 2e-5
ALIVE = 1.0  # V from which a place of the sound device is one that can be dead
DARK = 1e5  # ohm of an LED that carries less than a microampere or so
NEXT_TO_NONE = 0.1  # of these volts: what is left of them across a leak, which many a sound LED that is off does not show either
MOST_STRAY = 2e6  # ohm: beyond it a place floats


@dataclass(frozen=True)
class Told:
    """Readings (R) of variants (H): mean (H, R), shift (H, R, K) along the device's axes, good (H): solved; stray (H, R): by how much what
    no drawing shows may move a place of its source resistance; nominal (H, R): with every part at what is stated, where the mean
    is the middle of bands that reach further one way."""

    mean: Array
    shift: Array
    good: Array
    stray: Array
    nominal: Array

    def some(self, rows: slice | list[int]) -> Told:
        """Of these variants."""
        return Told(self.mean[rows], self.shift[rows], self.good[rows], self.stray[rows], self.nominal[rows])


class Powered:
    """One state of a device with the plug in, and some places whose readings need the same done to the circuit."""

    def __init__(self, device: Device, state: str, places: Sequence[Place], meter: float) -> None:
        self.device, self.places, self.meter = device, list(places), meter
        needs = next((place for place in places if place.failed or place.put), None)
        self.there = state_under(device, state, needs)
        self.direct = [n for n, place in enumerate(places) if not place.ac]
        self.alternating = {n: place for n, place in enumerate(places) if place.ac}
        self.rails = [n for n in self.direct if places[n].how == "rail"]
        leaks = any(block.kind.inputs_leak for block in device.blocks.values())
        self.stray = STRAY_CURRENT if leaks else 0.0

    def read(self, changes: Sequence[Change]) -> Told:
        """What the places show under each change."""
        batch, rows, whole = self.there.with_limits(changes)
        told, first, more = self._told(batch), len(changes), len(rows)
        ends = (0, first), (first, first + more), (first + more, first + 2 * more)
        own, low, high = (told.some(slice(*end)) for end in ends)
        if rows:  # a limit that nobody states may hold what gives the volts: between a low and a high one
            held, apart = 1 - whole[:, None], high.mean - low.mean
            variance = apart**2 * (held / 3 - held**2 / 4)  # of a step at the high end, and evenly below it
            own.mean[rows] = high.mean - held / 2 * apart
            own.shift[rows] = low.shift + (1 - held / 2)[..., None] * (high.shift - low.shift)
            own.stray[rows] = np.hypot((low.stray + high.stray) / 2, np.sqrt(EVEN * variance))
            own.good[rows] &= low.good & high.good
        return own

    def _told(self, batch: Batch) -> Told:
        size, count, axes = len(batch.variants), len(self.places), len(self.device.axes)
        mean, shift = np.full((size, count), np.nan), np.zeros((size, count, axes))
        stray, nominal = np.zeros((size, count)), np.full((size, count), np.nan)
        if self.direct:
            self._direct(batch, mean, shift, stray, nominal)
            self._dead(batch, mean, stray)
        if self.alternating:
            AlternatingPlaces(self.there, self.alternating).tell(batch, mean, shift, stray, nominal)
        times = np.array([place.times for place in self.places])
        nominal = np.where(np.isnan(nominal), mean, nominal)
        good = batch.solution.good.copy()
        return Told(mean * times, shift * times[:, None], good, stray * np.abs(times), nominal * times)

    def _direct(self, batch: Batch, mean: Array, shift: Array, stray: Array, nominal: Array) -> None:
        readings = [self._reading(self.places[n]) for n in self.direct]
        supplied = [own.input for own in inputs(self.device)]
        whole = read(batch.solution, readings + supplied, self.there.spread, batch.nudged)
        seen = whole.some(slice(len(readings)))
        volts = np.array([not own.element for own in readings])
        divided = np.where(volts, self.meter / (self.meter + np.minimum(seen.source, 1e15)), 1.0)
        bent = self._behind_junctions(seen.values, seen.source, divided)
        low, high = seen.shares.T
        middle, half = seen.unit @ ((low + high) / 2), seen.unit * ((high - low) / 2)
        at = [position for position, n in enumerate(self.direct) if n not in self.rails]
        to, passed = [self.direct[position] for position in at], divided[:, at]
        nominal[:, to], _ = self._loaded(seen.values[:, at], passed)
        mean[:, to], loss = self._loaded((seen.values + middle)[:, at], passed)
        shift[:, to] = half[:, at] * passed[..., None]
        stray[:, to] = (
            self._stray(batch)[:, None] * np.minimum(seen.source[:, at], MOST_STRAY) * passed
            + loss
            + bent[:, at]
        )
        for sag in sags(self.there, batch, whole.some(slice(len(readings), None))):
            less, scatter = lowered(sag, seen.unit[:, at, sag.axis] * passed)
            mean[:, to] -= less
            stray[:, to] = np.hypot(stray[:, to], scatter * math.sqrt(EVEN))
        for n, top in self.dark.items():
            off = np.abs(mean[:, n]) <= 1.05 * abs(top) + 0.05
            behind = seen.source[:, self.direct.index(n)] > DARK
            mean[off & behind, n], shift[off & behind, n] = 0.0, 0.0
            stray[off, n] = np.where(behind[off], 1.0, NEXT_TO_NONE) * abs(top)
        for n in self.rails:
            position = self.direct.index(n)
            taken = -seen.values[:, position]
            nominal[:, n] = self._rail(self.places[n], taken, batch, mean[:, n], shift[:, n])
            if self.places[n].figure == "ripple":  # in proportion to the current, which scatters too
                moved = half[:, position] / np.maximum(np.abs(taken), 1e-6)[:, None]
                shift[:, n] -= mean[:, n, None] * np.clip(moved, -1, 1)
                stray[:, n] = SAWTOOTH_OFF * np.abs(mean[:, n])

    def _stray(self, batch: Batch) -> Array:
        """A of leaks in each variant (H): where no net has any volts, nothing drives them."""
        nets = [at for net, at in self.device.system.index.items() if net and at < batch.solution.x.shape[1]]
        alive: Array = np.minimum(np.abs(batch.solution.x[:, nets]).max(1) / ALIVE, 1.0)
        return self.stray * alive

    def _dead(self, batch: Batch, mean: Array, stray: Array) -> None:
        """Add what a place may show that has lost its supply: next to nothing is not nothing."""
        device, index = self.device, self.device.system.index
        x = np.append(device.solved.point.x[self.there.row], 0.0)
        volts = [n for n in self.direct if self.places[n].plus in index and self.places[n].minus in index]
        sound = {n: x[index[self.places[n].plus]] - x[index[self.places[n].minus]] for n in volts}
        for n, was in sound.items():
            if n not in self.rails:
                gone = (np.abs(mean[:, n]) < DEAD) & (np.abs(mean[:, n] - was) > DEAD)
                stray[:, n] += np.where(gone, DEAD, 0.0)
        for name, rail in device.elements.items():
            if not isinstance(rail, sources.Rail) or rail.starved is None:
                continue
            full = abs(x[index[rail.plus]] - x[index[rail.minus]])
            for row, variant in enumerate(batch.variants):
                off = rail.starved({**rail.nominal(), **variant[name]}) if name in variant else 0.0
                for n, was in sound.items() if off and full >= ALIVE else ():
                    ripples = n in self.rails and self.places[n].element == name
                    if ripples or abs(mean[row, n]) < off:
                        stray[row, n] += off * (1.0 if ripples else min(1.0, abs(was) / full))
        for supply, (full, fed) in self._through_pins(batch).items():
            for n, was in sound.items():
                if 0 < was <= full and self._hangs_on(supply, self.places[n].plus):
                    most = PHANTOM * was / full
                    stray[:, n] += np.where(fed & (np.abs(mean[:, n]) < most), most, 0.0)

    def _hangs_on(self, supply: str, net: str) -> bool:
        """Whether a net is a supply, or gets its volts from it through resistors."""
        cold = self.device.unplugged()
        return {net, supply} <= cold.nets.keys() and cold.ohms(net, supply) < STRAY_LEAK

    def _through_pins(self, batch: Batch) -> dict[str, tuple[float, NDArray[np.bool_]]]:
        """By supply, of each chip whose pins are driven by something else than that: its volts in the sound device, and in which variants
        it has died and gets what comes in through the protection diodes of these pins."""
        device = self.device
        found: dict[str, tuple[float, NDArray[np.bool_]]] = {}
        for clamp in device.elements.values():
            if not isinstance(clamp, Clamp) or not clamp.upper or clamp.name not in device.system.of:
                continue
            supply = clamp.cathode
            sides = [Reading(supply, device.common_of(supply)), Reading(clamp.anode, element=clamp.name)]
            volts, flows = shown(batch.solution, sides).T
            point = device.solved.point
            full = float(point.volts(supply, device.common_of(supply))[self.there.row])
            fed = (np.abs(volts) < PHANTOM) & (flows > DRIVEN)
            if full >= ALIVE and fed.any():
                _, before = found.get(supply, (full, np.zeros_like(fed)))
                found[supply] = full, before | fed
        return found

    @staticmethod
    def _loaded(ideal: Array, passed: Array) -> tuple[Array, Array]:
        """What the meter's own resistance leaves of the volts, and by how much that may be off: behind what floats there
        may be a junction, of which the meter takes next to nothing away, or all, where it is the junction's reverse current."""
        floats = passed < FLOATS
        return np.where(floats, ideal / 2, ideal * passed), np.where(floats, np.abs(ideal) / 2, 0.0)

    def _behind_junctions(self, volts: Array, source: Array, divided: Array) -> Array:
        """Put into divided what the meter leaves of the volts where its current comes through junctions (H, places): of an
        exponential it takes a logarithm away, and not a share. How many volts that may be off by: one junction or three."""
        loose = np.zeros_like(volts)
        for position, n in enumerate(self.direct):
            through = (divided[:, position] < STIFF) & (source[:, position] < MOST_BENT)
            if through.any():
                through &= self._forward(self.places[n].plus, volts[:, position])
            if not through.any():
                continue
            size = np.maximum(np.abs(volts[through, position]), 1e-9)
            first = size / self.meter * source[through, position]
            least, most = (width * np.log1p(first / width) for width in WIDTHS)
            divided[through, position] = np.maximum(1 - (least + most) / 2 / size, 0.0)
            loose[through, position] = (most - least) / 2
        return loose

    def _forward(self, net: str, volts: Array) -> NDArray[np.bool_]:
        """Where only junctions lead to a net at such volts, and what is off: an LED, and no resistor, which lets through what a
        meter takes and does not block it."""
        there = [own for own in self.device.elements.values() if net in own.nets]
        leads = [own.nets.index(net) for own in there if isinstance(own, Diode)]
        # what an emitter lets through comes out of it, or in where it is a PNP's
        leads += [0 if own.pnp else 1 for own in there if isinstance(own, Transistor) and own.emitter == net]
        alone = not any(isinstance(own, Resistor) for own in there)
        found: NDArray[np.bool_] = alone & ((volts >= 0) & (1 in leads) | (volts < 0) & (0 in leads))
        return found

    @cached_property
    def dark(self) -> dict[int, float]:
        """Places across an LED that is off in the sound device, and the volts there at most: from none to these it shows
        anything, for next to no current decides, as long as nothing that has failed lies across it."""
        places = [n for n in self.direct if self._over_junction(self.places[n])]
        if not places:
            return {}
        batch = self.there.solved([HEALTH])
        seen = read(
            batch.solution, [self._reading(self.places[n]) for n in places], self.there.spread, batch.nudged
        )
        return {
            n: float(seen.values[0, position])
            for position, n in enumerate(places)
            if seen.source[0, position] > DARK
        }

    def _over_junction(self, place: Place) -> bool:
        """Whether the probes stand on both ends of an LED, whose own leak rules where next to no current passes."""
        element = self.device.elements.get(place.element)
        return isinstance(element, Diode) and element.emission == EMISSION["led"]

    def _reading(self, place: Place) -> Reading:
        if place.how == "rail":
            rail = self.device.elements[place.element]
            assert isinstance(rail, sources.Rail)
            return Reading(element=place.element, less=rail.clamp)
        if place.how == "amps":
            return Reading(place.plus, element=place.element)
        return Reading(place.plus, place.minus)

    def _rail(self, place: Place, amperes: Array, batch: Batch, mean: Array, shift: Array) -> Array:
        """A figure of a rectified rail's steady state, as stated; it scatters as it does in the sound device, in proportion."""
        rail = self.device.elements[place.element]
        assert isinstance(rail, sources.Rail)
        found = self.there.figure(rail, place.figure, amperes, batch)
        first, middle, half = self._shares(rail, place.figure)
        mean[:] = found + middle.sum() * np.minimum(found / first, 1.0) if first else found
        shift[:] = found[:, None] * half
        return found

    def _shares(self, rail: sources.Rail, figure: str) -> tuple[float, Array, Array]:
        """A rail's figure in the sound device, by how much the middle of each tolerance axis lies off in it, and by which share half
        of the axis moves it; worked out once."""
        key = ("rail's shares", rail.name, figure, self.there.row)
        if key not in self.device.kept:
            assert rail.figures is not None
            sound = {**rail.nominal(), **self.there.own.get(rail.name, {})}
            point, middle, half = self.device.solved.point, *np.zeros((2, len(self.device.axes)))
            sums = [point.amperes(own)[self.there.row] for own in (rail.name, rail.clamp) if own]
            taken = float(f"{-float(sums[0] - sum(sums[1:])):.4g}")
            first = rail.figures(sound, taken)[figure]
            for number, axis in enumerate(self.device.axes):
                moved = axis.moves.get(rail.name)
                if moved and first:
                    ends = ({**sound, **{k: v[end] for k, v in moved.items()}} for end in (0, 1))
                    low, high = (rail.figures(p, taken)[figure] for p in ends)
                    middle[number], half[number] = (high + low) / 2 - first, (high - low) / 2 / first
            self.device.kept[key] = first, middle, half
        found: tuple[float, Array, Array] = self.device.kept[key]
        return found
