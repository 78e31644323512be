"""Two failures at once, where no single one explains the readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from generator.diagnosis.evidence import Readings, weigh
from generator.diagnosis.hypotheses import Change
from generator.diagnosis.inference import Ranking, Weighed, ranked, unsure

FIRST = 8  # failures that explain most by themselves, each tried with another
SECOND = 60  # failures that move a reading that is left over
PAIR = 0.004  # how likely a second failure is beside the first


def rank_pairs(ranking: Ranking, read: Readings) -> list[Weighed]:
    """Pairs of failures, best first, with their shares beside what the ranking already has."""
    faults = [own for own in ranking.weighed if not own.change.sound]
    firsts = sorted(faults, key=lambda own: -own.likelihood)[:FIRST]
    sound = next(own for own in ranking.weighed if own.change.sound)
    odd = [n for n, off in enumerate(sound.off) if off > 2.0]
    seconds = sorted(faults, key=lambda own: -_moves(own, sound, odd))[:SECOND]
    pairs: list[Change] = []
    seen: set[frozenset[tuple[str, ...]]] = set()
    for one in firsts:
        for other in seconds:
            both = frozenset((one.change.group, other.change.group))
            if len(both) < 2 or both in seen or _same_part(one.change, other.change):
                continue
            seen.add(both)
            weight = one.weight * other.weight * PAIR
            pairs.append(replace(one.change, weight=weight, also=other.change))
    if not pairs:
        return []
    predicted = unsure(ranking.predictor, ranking.predictor.predict(pairs))
    return ranked(ranking, pairs, predicted, weigh(predicted, read))


def _moves(own: Weighed, sound: Weighed, odd: Sequence[int]) -> float:
    """By how many standard deviations a failure moves the readings that are off, most of them counting."""
    total = 0.0
    for n in odd:
        gap = (
            abs(own.mean[n] - sound.mean[n])
            if np.isfinite(own.mean[n] + sound.mean[n])
            else 10.0 * (own.mean[n] != sound.mean[n])
        )
        total += min(gap / max(sound.spread[n], 1e-6), 10.0)
    return total


def _same_part(one: Change, other: Change) -> bool:
    return (one.block, one.key, one.element) == (other.block, other.key, other.element)
