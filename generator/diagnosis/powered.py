"""What readings on the plugged-in device come to under every change: one state, direct current and the mains side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.device.states import Changed, together
from generator.circuit.network import sources
from generator.circuit.network.primitives import Array
from generator.circuit.network.sensitivity import read
from generator.circuit.network.variants import Reading
from generator.diagnosis.solved import Batch, state_under

if TYPE_CHECKING:
    from generator.circuit.device import Device, Place
    from generator.diagnosis.hypotheses import Change

STRAY_CURRENT = 1e-6  # A: what an input pin or a wet board leaks (data sheets of controllers: at most 1 µA)
WITH_INPUTS = ("microcontroller", "comparator")
MOST_STRAY = 2e6  # ohm: beyond it a place floats


@dataclass(frozen=True)
class Told:
    """Readings (R) of variants (H): mean (H, R), shift (H, R, K) along the device's axes, good (H): solved; stray (H, R): by how much what
    no drawing shows may move a place of its source resistance."""

    mean: Array
    shift: Array
    good: Array
    stray: Array


class Powered:
    """One state of a device with the plug in, and some places whose readings need the same done to the circuit."""

    def __init__(self, device: Device, state: str, places: Sequence[Place], meter: float) -> None:
        self.device, self.places, self.meter = device, list(places), meter
        needs = next((place for place in places if place.failed or place.put), None)
        self.there = state_under(device, state, needs)
        self.direct = [n for n, place in enumerate(places) if not place.ac]
        self.alternating = [n for n, place in enumerate(places) if place.ac]
        self.rails = [n for n in self.direct if places[n].how == "rail"]
        chips = any(block.kind.name in WITH_INPUTS for block in device.blocks.values())
        self.stray = STRAY_CURRENT if chips else 0.0

    def read(self, changes: Sequence[Change]) -> Told:
        """What the places show under each change."""
        batch = self.there.solved(changes)
        size, count, axes = len(changes), len(self.places), len(self.device.axes)
        mean, shift = np.full((size, count), np.nan), np.zeros((size, count, axes))
        stray = np.zeros((size, count))
        if self.direct:
            self._direct(batch, mean, shift, stray)
        if self.alternating:
            self._alternating(batch.variants, mean, shift)
        for number, place in enumerate(self.places):
            if place.times != 1.0:
                mean[:, number] *= place.times
                shift[:, number] *= place.times
        return Told(mean, shift, batch.solution.good, stray)

    def _direct(self, batch: Batch, mean: Array, shift: Array, stray: Array) -> None:
        readings = [self._reading(self.places[n]) for n in self.direct]
        seen = read(batch.solution, readings, self.there.spread, batch.nudged)
        divided = np.where(
            np.array([not r.element for r in readings]),
            self.meter / (self.meter + np.minimum(seen.source, 1e15)),
            1.0,
        )
        low, high = seen.shares.T
        middle, half = seen.unit @ ((low + high) / 2), seen.unit * ((high - low) / 2)
        for position, n in enumerate(self.direct):
            if n in self.rails:
                self._rail(self.places[n], -seen.values[:, position], batch, mean[:, n], shift[:, n])
                continue
            mean[:, n] = (seen.values[:, position] + middle[:, position]) * divided[:, position]
            shift[:, n] = half[:, position] * divided[:, position, None]
            stray[:, n] = self.stray * np.minimum(seen.source[:, position], MOST_STRAY) * divided[:, position]

    @staticmethod
    def _reading(place: Place) -> Reading:
        if place.how in ("amps", "rail"):
            return Reading(element=place.element)
        return Reading(place.plus, place.minus)

    def _rail(self, place: Place, amperes: Array, batch: Batch, mean: Array, shift: Array) -> None:
        """A figure of a rectified rail's steady state; it scatters as it does in the sound device, in proportion."""
        rail = self.device.elements[place.element]
        assert isinstance(rail, sources.Rail) and rail.figures is not None
        own, name, figures = self.there.own, rail.name, rail.figures
        sound = {**rail.nominal(), **own.get(name, {})}
        # most changes leave the rail as it is
        known: dict[str, float] = self.device.kept.setdefault(
            ("rail", name, place.figure, self.there.row), {}
        )

        def figure(parameters: Mapping[str, float], taken: str) -> float:
            return figures(parameters, float(taken))[place.figure]

        for number, variant in enumerate(batch.variants):
            taken = f"{float(amperes[number]):.4g}"
            if name in variant:
                mean[number] = figure({**sound, **variant[name]}, taken)
            else:
                if taken not in known:
                    known[taken] = figure(sound, taken)
                mean[number] = known[taken]
        taken = f"{-float(self.device.solved.point.amperes(name)[self.there.row]):.4g}"
        first = figure(sound, taken)
        for number, axis in enumerate(self.device.axes):
            moved = axis.moves.get(name)
            if moved:
                ends = [figure({**sound, **{k: v[end] for k, v in moved.items()}}, taken) for end in (0, 1)]
                share = (ends[1] - ends[0]) / 2 / first if first else 0.0
                shift[:, number] = share * mean

    def _alternating(self, variants: Sequence[Changed], mean: Array, shift: Array) -> None:
        side, places = self.device.side, [self.places[n] for n in self.alternating]
        touched = [n for n, variant in enumerate(variants) if any(name in side.elements for name in variant)]
        ends = [end for axis in self.device.axes for end in axis.ends()]
        all_of = [
            self.there.own,
            *(together(self.there.own, end) for end in ends),
            *(together(self.there.own, variants[n]) for n in touched),
        ]
        solved = side.solve(all_of)
        for n, place in zip(self.alternating, places):
            found = (
                solved.amperes(place.element)
                if place.how == "amps"
                else solved.volts(place.plus, place.minus)
            )
            mean[:, n] = found[0]
            mean[touched, n] = found[1 + len(ends) :]
            low, high = found[1 : 1 + len(ends) : 2], found[2 : 2 + len(ends) : 2]
            relative = (high - low) / 2 / found[0] if found[0] > 1e-9 else np.zeros(len(self.device.axes))
            shift[:, n] = mean[:, n, None] * relative
