"""What readings on the plugged-in device come to under every change: one state, direct current and the mains side."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.device.states import SHARE_DIGITS, Changed, together
from generator.circuit.network import sources
from generator.circuit.network.passive import Contact
from generator.circuit.network.primitives import Array
from generator.circuit.network.sensitivity import Nudges, nudges, read
from generator.circuit.network.variants import Reading, Solution
from generator.diagnosis.changing import changed_by, put_by

if TYPE_CHECKING:
    from generator.circuit.device import Device, Place
    from generator.diagnosis.hypotheses import Change

STRAY_CURRENT = 1e-6  # A: what an input pin or a wet board leaks (data sheets of controllers: at most 1 µA)
WITH_INPUTS = ("microcontroller", "comparator")
MOST_STRAY = 2e6  # ohm: beyond it a place floats
MOST_ROUNDS = 3  # of contacts that move because of a change


@dataclass(frozen=True)
class Told:
    """Readings (R) of variants (H): mean (H, R), shift (H, R, K) along the device's axes, good (H): solved; stray (H, R): by how much what
    no drawing shows may move a place of its source resistance."""

    mean: Array
    shift: Array
    good: Array
    stray: Array


class Powered:
    """One state of a device with the plug in. under: failures and numbers under which its places are read (see Probe)."""

    def __init__(self, device: Device, state: str, places: Sequence[Place], meter: float) -> None:
        self.device, self.places, self.meter = device, list(places), meter
        self.row = device.row(state)
        self.state = device.states[self.row].name
        self.own: Changed = device.solved.changes[self.row]
        self.around = device.around(state)
        self.under = put_by(device, places[0], self.own) if places else {}
        self.there = together(self.own, self.under)
        self.spread: Nudges = nudges(self.around, device.axes, self.own)
        self.direct = [n for n, place in enumerate(places) if not place.ac]
        self.alternating = [n for n, place in enumerate(places) if place.ac]
        self.rails = [n for n in self.direct if places[n].how == "rail"]
        chips = any(block.kind.name in WITH_INPUTS for block in device.blocks.values())
        self.stray = STRAY_CURRENT if chips else 0.0
        self.contacts = [
            e for e in device.elements.values() if isinstance(e, Contact) and e.coil in device.coils
        ]

    def read(self, changes: Sequence[Change]) -> Told:
        """What the places show under each change."""
        variants: list[Changed] = [
            together(self.under, changed_by(self.device, change, self.there, self.state))
            for change in changes
        ]
        self._with_mains(variants, range(len(variants)))
        solution = self._solve(variants)
        for _ in range(MOST_ROUNDS):
            moved = self._contacts(solution, variants)
            if not moved:
                break
            for number, contact in moved.items():
                variants[number] = together(variants[number], contact)
            self._with_mains(variants, moved)
            solution = solution.with_rows(list(moved), self._solve([variants[number] for number in moved]))
        return self._told(solution, variants)

    # --- solving ----------------------------------------------------------------------------------------------------

    def _solve(self, variants: Sequence[Changed]) -> Solution:
        return self.around.solve(self.around.changes(variants, self.own))

    def _with_mains(self, variants: list[Changed], rows: Iterable[int]) -> None:
        """Add to variants (those of rows) what follows on the mains side: fuses that blow, what the rails get."""
        side = self.device.side
        touched = [row for row in rows if any(name in side.elements for name in variants[row])]
        if not touched:
            return
        solved = side.solve([together(self.own, variants[row]) for row in touched])
        blown = []
        for fuse in side.fuses:
            for n in np.flatnonzero(solved.amperes(fuse.name) > fuse.blows):
                variants[touched[n]] = together(variants[touched[n]], {fuse.name: {"ohms": np.inf}})
                blown.append(int(n))
        if blown:
            solved = side.solve([together(self.own, variants[row]) for row in touched])
        for name, rail in self.device.elements.items():
            if isinstance(rail, sources.Rail) and rail.fed:
                live, neutral, rated = rail.fed
                before = self.own.get(name, {}).get("share", 1.0)
                for row, volts in zip(touched, solved.volts(live, neutral)):
                    share = round(float(volts) / rated, SHARE_DIGITS)
                    if share != before:
                        variants[row] = together(variants[row], {name: {"share": share}})

    def _contacts(self, solution: Solution, variants: Sequence[Changed]) -> dict[int, Changed]:
        """Variants in which a relay's coil gets another voltage than it should, and the contacts that follow."""
        moved: dict[int, Changed] = {}
        for contact in self.contacts:
            coil = self.device.elements[self.device.coils[contact.coil]]
            a, b = coil.nets
            volts = np.abs(solution.volts(a) - solution.volts(b))
            pulled = volts >= self.device.thresholds.get(contact.coil, np.inf)
            closed = (pulled != contact.rest).astype(float)
            before = self.own.get(contact.name, contact.nominal())["closed"]
            for number in np.flatnonzero(solution.good).tolist():
                own = variants[number].get(contact.name, {})
                stuck = "ohms" in own or ("closed" in own and own["closed"] == closed[number])
                if closed[number] != own.get("closed", before) and not stuck:
                    moved.setdefault(int(number), {})[contact.name] = {"closed": float(closed[number])}
        return moved

    # --- reading ----------------------------------------------------------------------------------------------------

    def _told(self, solution: Solution, variants: Sequence[Changed]) -> Told:
        size, count, axes = len(variants), len(self.places), len(self.device.axes)
        mean, shift = np.full((size, count), np.nan), np.zeros((size, count, axes))
        stray = np.zeros((size, count))
        if self.direct:
            self._direct(solution, variants, mean, shift, stray)
        if self.alternating:
            self._alternating(variants, mean, shift)
        for number, place in enumerate(self.places):
            mean[:, number] *= place.times
            shift[:, number] *= place.times
        return Told(mean, shift, solution.good, stray)

    def _direct(
        self, solution: Solution, variants: Sequence[Changed], mean: Array, shift: Array, stray: Array
    ) -> None:
        readings = [self._reading(self.places[n]) for n in self.direct]
        seen = read(solution, readings, self.spread)
        divided = np.where(
            np.array([not r.element for r in readings]),
            self.meter / (self.meter + np.minimum(seen.source, 1e15)),
            1.0,
        )
        low, high = seen.shares.T
        middle, half = seen.unit @ ((low + high) / 2), seen.unit * ((high - low) / 2)
        for position, n in enumerate(self.direct):
            if n in self.rails:
                self._rail(self.places[n], -seen.values[:, position], variants, mean[:, n], shift[:, n])
                continue
            mean[:, n] = (seen.values[:, position] + middle[:, position]) * divided[:, position]
            shift[:, n] = half[:, position] * divided[:, position, None]
            stray[:, n] = self.stray * np.minimum(seen.source[:, position], MOST_STRAY) * divided[:, position]

    @staticmethod
    def _reading(place: Place) -> Reading:
        if place.how in ("amps", "rail"):
            return Reading(element=place.element)
        return Reading(place.plus, place.minus)

    def _rail(
        self, place: Place, amperes: Array, variants: Sequence[Changed], mean: Array, shift: Array
    ) -> None:
        """A figure of a rectified rail's steady state; it scatters as it does in the sound device, in proportion."""
        rail = self.device.elements[place.element]
        assert isinstance(rail, sources.Rail) and rail.figures is not None
        sound = {**rail.nominal(), **self.own.get(rail.name, {})}

        def figure(parameters: Mapping[str, float], taken: float) -> float:
            assert rail.figures is not None
            return rail.figures(parameters, float(f"{taken:.4g}"))[place.figure]

        for number, variant in enumerate(variants):
            mean[number] = figure({**sound, **variant.get(rail.name, {})}, float(amperes[number]))
        taken = -float(self.device.solved.point.amperes(rail.name)[self.row])
        first = figure(sound, taken)
        for number, axis in enumerate(self.device.axes):
            moved = axis.moves.get(rail.name)
            if moved:
                ends = [figure({**sound, **{k: v[end] for k, v in moved.items()}}, taken) for end in (0, 1)]
                share = (ends[1] - ends[0]) / 2 / first if first else 0.0
                shift[:, number] = share * mean

    def _alternating(self, variants: Sequence[Changed], mean: Array, shift: Array) -> None:
        side, places = self.device.side, [self.places[n] for n in self.alternating]
        touched = [n for n, variant in enumerate(variants) if any(name in side.elements for name in variant)]
        ends = [end for axis in self.device.axes for end in axis.ends()]
        all_of = [
            self.own,
            *(together(self.own, end) for end in ends),
            *(together(self.own, variants[n]) for n in touched),
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
