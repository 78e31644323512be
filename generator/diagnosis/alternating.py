"""What an AC range shows on the plugged-in device under every change, in one state: the mains side, worked out in phasors."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.device.clamps import clipped
from generator.circuit.device.states import RISE_UNSURE, Changed, above, fired, rails_of, together
from generator.circuit.network.mains import Triac
from generator.circuit.network.newton import currents
from generator.circuit.network.primitives import Array
from generator.circuit.network.tolerances import ends_of
from generator.circuit.spread import SPREADS
from generator.diagnosis.solved import Batch, StateUnder

if TYPE_CHECKING:
    from generator.circuit.device import Device, Place

HUM = 0.06  # V AC: the same on the mains side, where what is off leaks too: a triac by up to 0.5 mA (data sheets, from memory)
LEAKS = 6e-4  # A: such leaks and pick-up, which drop nothing across a fuse that is whole
LEAST_CARRIED = 0.05  # of its usual current, from which a triac is one that is fired
FIRED = 1e-3  # A through a triac that is fired; one that is not leaks up to half of that (from memory, data sheets)
CLIPPED_UNSURE = 0.1  # of what a clipped wave shows, as a chip is clamped by one junction or another
ON = SPREADS["on-state"].ends(1.2)  # V across a triac that is on


def _held(amperes: Array) -> Array:
    """By what the volts across a fired triac, worked out as of a resistance, are more than a junction's, which hardly change with
    its current: of the first variant's current that share is left in each. What is not fired lets next to nothing through."""
    sound = amperes[0]
    carries = (amperes > LEAST_CARRIED * sound) & (sound > LEAST_CARRIED * amperes) & (sound > FIRED)
    return np.where(carries, sound / np.where(carries, amperes, 1.0), 1.0)


@dataclass(frozen=True)
class AlternatingPlaces:
    """places: by their position among all that are read in this state."""

    there: StateUnder
    places: Mapping[int, Place]

    @property
    def device(self) -> Device:
        """The device whose state this is."""
        return self.there.device

    def tell(self, batch: Batch, mean: Array, shift: Array, stray: Array, nominal: Array) -> None:
        """Put what they show under each variant (H) into mean (H, all places), shift (H, all places, axes), stray and nominal."""
        side, variants = self.device.side, batch.variants
        touched = [n for n, variant in enumerate(variants) if any(name in side.elements for name in variant)]
        axes = [
            n for n, axis in enumerate(self.device.axes) if not side.elements.keys().isdisjoint(axis.moves)
        ]
        ends = ends_of(self.device.axes[n] for n in axes)
        sound, above = self._lightly_loaded(batch)
        all_of = [
            together(self.there.under, sound),
            *(together(end, self.there.under, sound) for end in ends),
            *(together(variants[n], {t: {"above": rises[n]} for t, rises in above.items()}) for n in touched),
        ]
        late = fired(self.device, all_of[: 1 + len(ends)], self.there.own)
        all_of = [*(together(*both) for both in zip(all_of, late)), *all_of[1 + len(ends) :]]
        solved = side.solve(all_of, self.there.own)
        for n, place in self.places.items():
            through = place.how == "amps"
            found = solved.amperes(place.element) if through else solved.volts(place.plus, place.minus)
            if place.how != "amps":
                whole, found = found, clipped(self.device, place.plus, self.there.row, found)
                stray[:, n] += CLIPPED_UNSURE * np.minimum(found[0], whole[0] - found[0])
            for triac in self._triacs(place):
                found = found * _held(solved.amperes(triac))
            mean[:, n] = found[0]
            at = [t for t in sound if {place.plus, place.minus} & set(side.elements[t].nets[2:])]
            at = list({side.elements[t].block: t for t in at}.values())  # both halves of one are one
            for transformer in at:  # all that hangs on a secondary goes up and down with it
                mean[:, n] *= (1 + above[transformer]) / (1 + sound[transformer]["above"])
            mean[touched, n] = found[1 + len(ends) :]
            nominal[:, n] = mean[:, n]
            for triac in self._triacs(place):  # what only a failure fires scatters as any that is on
                lit = solved.amperes(triac) > FIRED
                fresh = np.array(touched, dtype=int)[lit[1 + len(ends) :] & ~lit[0]]
                stray[fresh, n] += mean[fresh, n] * (ON[1] - ON[0]) / (ON[1] + ON[0])
            if found[0] > 1e-9:
                low, high = (found[first : 1 + len(ends) : 2] / found[0] for first in (1, 2))
                shift[:, n, axes] = mean[:, n, None] * (high - low) / 2
                stays = self._unscattered(batch, touched, axes)
                shift[:, n, axes] *= stays
                # the middle of bands that reach further one way
                mean[:, n] *= 1 + (((low + high) / 2 - 1) * stays).sum(1)
            if not through:
                hum = self._hum(place, variants)
                stray[:, n] += np.where(np.abs(mean[:, n]) < HUM, hum, 0.0)
            for transformer in at:
                stray[:, n] += RISE_UNSURE * np.abs(above[transformer]) * mean[:, n]

    def _unscattered(self, batch: Batch, touched: Sequence[int], axes: Sequence[int]) -> Array:
        """0 where a variant has changed what an axis moves and does not scatter in proportion (Element.SCATTERS), or is open, else 1."""
        found = np.ones((len(batch.variants), len(axes)))
        elements = self.device.elements
        for row in touched:
            worn = {
                name
                for name, own in batch.variants[row].items()
                if name in elements and (not elements[name].SCATTERS or own.get("ohms") == math.inf)
            }
            for column, axis in enumerate(axes) if worn else ():
                found[row, column] = worn.isdisjoint(self.device.axes[axis].moves)
        return found

    def _hum(self, place: Place, variants: Sequence[Changed]) -> Array:
        """V that hum and leaks make at a place in each variant: next to none across what conducts well, as a fuse does."""
        side = self.device.side
        across = [
            e for e in side.elements.values() if len(e.nets) == 2 and set(e.nets) == {place.plus, place.minus}
        ]
        whole = {e.name: {**e.nominal(), **self.there.own.get(e.name, {})} for e in across}

        def conducts(own: Changed) -> float:
            flows = (e.admittance({**whole[e.name], **own.get(e.name, {})}, side.omega) for e in across)
            return float(abs(sum(y for paths in flows for _, _, y in paths)))

        found = np.full(len(variants), sound := conducts({}))
        for row, own in enumerate(variants):
            if not whole.keys().isdisjoint(own):
                found[row] = min(sound, conducts(own))
        hum: Array = np.minimum(HUM, LEAKS / np.maximum(found, 1e-12))
        return hum

    def _triacs(self, place: Place) -> list[str]:
        """The triac between whose main terminals volts are read, if any."""
        ends = {place.plus, place.minus}
        alike = (
            name for name, e in self.device.elements.items() if isinstance(e, Triac) and {e.a, e.b} == ends
        )
        return list(alike) if place.how != "amps" else []

    def _lightly_loaded(self, batch: Batch) -> tuple[Changed, dict[str, Array]]:
        """How far secondaries that are read stand above their rated volts, in the sound device and, by transformer, in each
        variant."""
        read_at = {net for place in self.places.values() for net in (place.plus, place.minus)}
        device = self.device
        sound, found = {}, {}
        nothing = np.zeros((1, batch.solution.around.count))
        for transformer, rail in rails_of(device).items():
            if read_at.isdisjoint(device.side.elements[transformer].nets[2:]):
                continue
            gives = float(device.solved.point.amperes(rail.name)[self.there.row])
            sound[transformer] = {"above": above(rail, self.there.own.get(rail.name, {}), gives)}
            amperes = np.abs(currents(batch.solution.around.system, batch.solution.x, nothing, rail.name))
            found[transformer] = self.there.figure(rail, "above", amperes, batch)
        return sound, found
