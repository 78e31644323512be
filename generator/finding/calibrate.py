"""How sure the likelihoods of causes may be: measured on the library itself, when its index is built.

The softmax of a score is surer than it is right, the more so the fewer notes speak of each cause. Its logarithms are
therefore multiplied by one number below 1 (temperature scaling: Guo, Pleiss, Sun, Weinberger, On Calibration of Modern
Neural Networks, 2017), chosen so that over notes that were left out the share of the first cause is, on average, how
often that cause is the right one.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from generator.finding.asked import Asked, taken_apart, texts
from generator.finding.kinds import kinds_near, say_of
from generator.finding.likely import Pair, by_cause, likelihoods, shares_of

if TYPE_CHECKING:
    from generator.finding.entry import Entry
    from generator.finding.index import Index

NOTES = 400  # that are looked at; of a larger library, notes evenly spaced
FOLDS = 4  # parts of which one is asked for, the others being the library
ASKED = 100  # notes that are asked for, at most
LEAST = 20  # notes below which nothing can be measured
USUAL = 0.5  # what holds then: between what libraries of 20 and 50 of the benchmark's notes give
GROWTH = 0.2  # by which it grows as the notes for each pair of kind and cause become e times as many (benchmark's notes)
STEPS = [n / 20 for n in range(4, 21)]  # what is tried: 0.2 to 1

Near = Mapping[str, Mapping[int, float]]
Case = tuple[
    Mapping[Pair, float], int
]  # what a query made likely, and the cause that it was; -1: not in the library


def temperatures(notes: Sequence[Entry], index_of: Callable[[Sequence[Entry]], Index]) -> list[float]:
    """What to multiply logarithms of likelihoods by: where no kind of device is given, and where one is.

    notes: those with a page; index_of: makes the index of some of them, as yet without this. Takes about as long for
    any library of more than NOTES.
    """
    useful = [entry for entry in notes if entry.causes and entry.record.symptoms]
    if len(useful) < LEAST:
        return [USUAL, USUAL]
    some = useful[:: -(-len(useful) // NOTES)]
    more = GROWTH * math.log(_spread(useful) / _spread(some))
    out = []
    for cases in zip(*_cases(some, index_of)):
        # The excess grows with the temperature: where it turns positive lies what is looked for.
        best = bisect_left(STEPS, 0.0, key=lambda step: _excess(cases, step))
        out.append(round(min(1.0, STEPS[min(best, len(STEPS) - 1)] + more), 2))
    return out


def _spread(notes: Sequence[Entry]) -> float:
    """Notes for each pair of kind and cause."""
    return len(notes) / len({(entry.device, next(iter(entry.causes))) for entry in notes})


def _cases(
    some: Sequence[Entry], index_of: Callable[[Sequence[Entry]], Index]
) -> Iterator[tuple[Case, Case]]:
    """For each note that is left out and asked for: without its kind of device, and with it."""
    left = ASKED
    for fold in range(FOLDS):
        if left <= 0:
            break
        index = index_of([entry for n, entry in enumerate(some) if n % FOLDS != fold])
        index.constants = {
            **index.constants,
            "similar_most": 0,
        }  # a note's words are all known: typos cost much time
        near = lru_cache(lambda kind, index=index: kinds_near(index, kind))
        for entry in some[fold::FOLDS][:left]:
            left -= 1
            number = index.cause_numbers.get(next(iter(entry.causes)), -1)
            asked = taken_apart(index, ". ".join(entry.record.symptoms))
            text = texts(index, asked)
            bare, kind = (
                _likely(index, asked, text, close) for close in ({}, near(entry.record.device_kind))
            )
            yield (bare, number), (kind, number)


def _likely(index: Index, asked: Asked, text: Sequence[float], near: Near) -> Mapping[Pair, float]:
    say = say_of(index, near)
    return likelihoods(index, shares_of(index, text, say), say, asked.said, bool(near))


def _excess(cases: Sequence[Case], temperature: float) -> float:
    """How much larger the share of the first cause is, on average, than how often it is right."""
    excess = 0.0
    for likely, right in cases:
        shares = by_cause(likely, temperature)
        first = max(shares, key=lambda cause: (shares[cause], -cause), default=-1)
        if first >= 0:
            excess += shares[first] - (first == right)
    return excess / len(cases) if cases else 0.0
