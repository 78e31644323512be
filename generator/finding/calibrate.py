"""How sure the likelihoods of causes may be: measured on the library itself, when its index is built.

The softmax of a score is surer than it is right, the more so the fewer notes speak of each cause. Its
logarithms are therefore multiplied by one number, mostly below 1 (temperature scaling: Guo, Pleiss, Sun,
Weinberger, On Calibration of Modern Neural Networks, 2017): the one by which causes of notes that were left
out are likeliest, held to what is usual where there are few of them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from generator.finding.asked import fitting, taken_apart, texts
from generator.finding.kinds import kinds_near, say_of
from generator.finding.likely import Pair, likelihoods, says, shares_of

if TYPE_CHECKING:
    from generator.finding.entry import Entry
    from generator.finding.reader import Reader

NOTES = 400  # that are looked at; of a larger library, notes evenly spaced
FOLDS = 3  # parts of which one is asked for, the others being the library
ASKED = 100  # answers that are enough
LEAST = 20  # notes below which nothing can be measured
# what holds then: between what generated libraries of 100 and of 2,000 notes came to, 0.65 and 1.0
USUAL = 0.8
FIRMLY = 30.0  # how firmly it is held to that: a number twice or half as large must make up for FIRMLY * ln(2)^2 of -ln P
STEPS = [n / 20 for n in range(4, 29)]  # what is tried: 0.2 to 1.4
SMALLEST = 1e-6  # a likelihood that was rounded to nothing

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
    import numpy as np

    if not cases:
        return USUAL
    held = [
        [(chance, cause == right) for (_, cause), chance in likely.items() if cause >= 0]
        for likely, right in cases
    ]
    case = np.repeat(np.arange(len(cases)), [len(some) for some in held])
    chances, hit = np.asarray([pair for some in held for pair in some], dtype=np.float64).T

    def surprise(temperature: float) -> float:
        """The sum of -ln of the likelihood of the cause that it was."""
        grown = chances**temperature
        right, whole = (np.bincount(case, some, len(cases)) for some in (grown * hit, grown))
        return -float(np.log(np.maximum(SMALLEST, right / np.maximum(SMALLEST, whole))).sum())

    return min(STEPS, key=lambda step: surprise(step) + FIRMLY * float(np.log(step / USUAL)) ** 2)


def _cases(
    some: Sequence[Entry], index_of: Callable[[Sequence[Entry]], Reader]
) -> tuple[list[Case], list[Case]]:
    """What notes that are left out and asked for make likely: without their kind of device, and with it."""
    bare: list[Case] = []
    kind: list[Case] = []
    for fold in range(FOLDS):
        index = index_of([entry for n, entry in enumerate(some) if n % FOLDS != fold])
        # a note's words are all known: typos cost much time
        index.constants = {**index.constants, "similar_most": 0}
        near = lru_cache(lambda kind, index=index: kinds_near(index, kind))
        for entry in some[fold::FOLDS]:
            right = index.cause_numbers.get(next(iter(entry.causes)), -1)
            if right < 0:  # how often that happens is told apart: likely.unseen()
                continue
            asked = taken_apart(index, ". ".join(entry.record.symptoms))
            text, told = texts(index, asked), says(index, asked.said)
            for cases, close in ((bare, {}), (kind, near(entry.record.device_kind))):
                say = say_of(index, close)
                share = shares_of(index, text, say)
                matching, fits = fitting(index, asked, share, say)
                if (
                    fits
                    and (close or cases is bare)
                    and sum(bool(index.causes_of[n]) for n in matching) >= index.constants["few"]
                ):
                    likely = likelihoods(index, share, say, told, bool(close))
                    if any(cause == right for _, cause in likely):
                        cases.append((likely, right))
        if len(bare) >= ASKED:
            break
    return bare, kind
