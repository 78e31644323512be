"""How the places of a device scatter under each of its changes, in the few numbers that the page's table holds of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from generator.circuit.network.primitives import Array
from generator.diagnosis.evidence import TRAPEZOID
from generator.diagnosis.hypotheses import Change
from generator.diagnosis.predictions import Predictor

LEAST_SCATTER = 0.05  # of a step: less does not count beside the meter
AT_A_TIME = 4_000_000  # shifts in memory; a device of a hundred blocks has a hundred million


@dataclass(frozen=True)
class Scattering:
    """mean and spread (H, places); step (places): what a meter tells apart; along (places, axes and its own scatter last): how each place scatters in
    the sound device, or, where it does not, as where it scatters most, made small; together (H, places): how much of the
    scatter goes that way, -1 to 1."""

    mean: Array
    spread: Array
    step: Array
    along: Array
    together: Array

    def at(self, places: Sequence[int]) -> Scattering:
        """Of these places."""
        n = np.array(places, dtype=int)
        mean, spread, together = self.mean[:, n], self.spread[:, n], self.together[:, n]
        return Scattering(mean, spread, self.step[n], self.along[n], together)


def scattering(
    predictor: Predictor, changes: Sequence[Change], step_of: Callable[[float, str], float]
) -> Scattering:
    """All of it, a slice of the changes at a time, of which the first is the sound device. step_of: of a mean and its unit."""
    places = len(predictor.sought)
    size = max(1, AT_A_TIME // max(1, places * len(predictor.device.axes)))
    means, lengths, alongs = [], [], []
    # changes, places, shifts of places that are still in the sound device
    odd: list[tuple[Array, Array, Array]] = []
    for first in range(0, len(changes), size):
        told = predictor.tell(changes[first : first + size])
        length = np.where(np.isfinite(told.mean), np.sqrt(TRAPEZOID * told.variance), 0.0)
        if first == 0:
            sound = np.concatenate([told.shift[0], told.own[0, :, None]], 1)
            sound[~np.isfinite(told.mean[0])] = 0.0
            mean = np.where(told.known[0], told.mean[0], np.nan)
            step = np.array([step_of(float(value), own.unit) for value, own in zip(mean, predictor.sought)])
            still = length[0] / math.sqrt(TRAPEZOID) < LEAST_SCATTER * step
        means.append(np.where(told.known, told.mean, np.nan))
        lengths.append(length)
        alongs.append(np.einsum("hpk,pk->hp", told.shift, sound[:, :-1]) + told.own * sound[:, -1])
        which, where = np.nonzero(still & (length > 0))
        shifts = np.concatenate([told.shift[which, where], told.own[which, where, None]], 1)
        odd.append((first + which, where, shifts))
    mean, length, along = np.concatenate(means), np.concatenate(lengths), np.concatenate(alongs)
    directions = sound
    which, where, shifts = (np.concatenate(own) for own in zip(*odd))
    for place in np.unique(where).tolist():
        own = np.flatnonzero(where == place)
        most = int(length[:, place].argmax())
        direction = shifts[own[which[own] == most][0]]
        small = LEAST_SCATTER * step[place] / max(length[most, place] / math.sqrt(TRAPEZOID), 1e-30)
        directions[place] = direction * min(small, 1.0)
        along[:, place] = 0.0
        along[which[own], place] = shifts[own] @ directions[place]
    whole = length * np.sqrt((directions**2).sum(-1))
    return Scattering(mean, length / math.sqrt(TRAPEZOID), step, directions, along / np.maximum(whole, 1e-30))
