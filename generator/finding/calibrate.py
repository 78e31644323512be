"""How sure the likelihoods of causes may be: measured on the library itself, when its index is built.

The softmax of a score is surer than it is right, the more so the fewer notes speak of each cause. Its
logarithms are therefore multiplied by one number, mostly below 1 (temperature scaling: Guo, Pleiss, Sun,
Weinberger, On Calibration of Modern Neural Networks, 2017): the one by which causes of notes that were left
out are likeliest, held to what is usual where there are few of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from generator.finding.asked import Asked, taken_apart, texts
from generator.finding.kinds import kinds_near, say_of
from generator.finding.likely import Pair, by_cause, likelihoods, shares_of

if TYPE_CHECKING:
    from generator.finding.entry import Entry
    from generator.finding.reader import Reader

NOTES = 500  # that are looked at; of a larger library, notes evenly spaced
FOLDS = 4  # parts of which one is asked for, the others being the library
ASKED = 400  # notes that are asked for, at most
LEAST = 20  # notes below which nothing can be measured
USUAL = (
    0.7  # what holds then: between what generated libraries of 20 and of 2,000 notes came to, 0.4 and 0.95
)
FIRMLY = 4.0  # how firmly it is held to that: a number twice or half as large must make up for FIRMLY * ln(2)^2 of -ln P
STEPS = [n / 20 for n in range(4, 29)]  # what is tried: 0.2 to 1.4
SMALLEST = 1e-6  # a likelihood that was rounded to nothing

Near = Mapping[str, Mapping[int, float]]
Case = tuple[Mapping[Pair, float], int]  # what a query made likely, and the cause that it was


def temperatures(notes: Sequence[Entry], index_of: Callable[[Sequence[Entry]], Reader]) -> list[float]:
    """What to multiply logarithms of likelihoods by: where no kind of device is given, and where one is.

    notes: those with a page; index_of: makes the index of some of them, as yet without this. Takes about as
    long for any library of more than NOTES.
    """
    useful = [entry for entry in notes if entry.causes and entry.record.symptoms]
    if len(useful) < LEAST:
        return [USUAL, USUAL]
    some = useful[:: -(-len(useful) // NOTES)]
    return [best_step(cases) for cases in _cases(some, index_of)]


def best_step(cases: Sequence[Case]) -> float:
    """The temperature by which the causes that it was are likeliest."""
    return min(STEPS, key=lambda step: _surprise(cases, step) + FIRMLY * math.log(step / USUAL) ** 2)


def _surprise(cases: Sequence[Case], temperature: float) -> float:
    """The sum of -ln of the likelihood of the cause that it was."""
    return -sum(
        math.log(max(SMALLEST, by_cause(likely, temperature).get(right, 0.0))) for likely, right in cases
    )


def _cases(
    some: Sequence[Entry], index_of: Callable[[Sequence[Entry]], Reader]
) -> tuple[list[Case], list[Case]]:
    """What notes that are left out and asked for make likely: without their kind of device, and with it."""
    bare: list[Case] = []
    kind: list[Case] = []
    stride = -(-len(some) // ASKED)
    for fold in range(FOLDS):
        index = index_of([entry for n, entry in enumerate(some) if n % FOLDS != fold])
        index.constants = {
            **index.constants,
            "similar_most": 0,
        }  # a note's words are all known: typos cost much time
        near = lru_cache(lambda kind, index=index: kinds_near(index, kind))
        for entry in some[fold::FOLDS][::stride]:
            right = index.cause_numbers.get(next(iter(entry.causes)), -1)
            if right < 0:  # how often that happens is told apart: likely.unseen()
                continue
            asked = taken_apart(index, ". ".join(entry.record.symptoms))
            text = texts(index, asked)
            for cases, close in ((bare, {}), (kind, near(entry.record.device_kind))):
                likely = _likely(index, asked, text, close)
                if any(cause == right for _, cause in likely):
                    cases.append((likely, right))
    return bare, kind


def _likely(index: Reader, asked: Asked, text: Sequence[float], near: Near) -> Mapping[Pair, float]:
    """What a query makes likely; nothing where so few notes match that no causes would be told."""
    say = say_of(index, near)
    share = shares_of(index, text, say)
    least = index.constants["match"]
    known = sum(s > 0 and part >= least and bool(mine) for s, part, mine in zip(say, share, index.causes_of))
    return likelihoods(index, share, say, asked.said, bool(near)) if known >= index.constants["few"] else {}
