"""How sure the likelihoods of causes may be: measured on the library itself, when its index is built.

The softmax of a score is surer than it is right, the more so the fewer notes speak of each cause. Its
logarithms are therefore multiplied by one number, mostly below 1 (temperature scaling: Guo, Pleiss, Sun,
Weinberger, On Calibration of Modern Neural Networks, 2017), chosen so that over notes that were left out the
share of the first cause is, on average, how often that cause is the right one.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from generator.finding.asked import Asked, taken_apart, texts
from generator.finding.kinds import kinds_near, say_of
from generator.finding.likely import Pair, by_cause, likelihoods, shares_of, unseen

if TYPE_CHECKING:
    from generator.finding.entry import Entry
    from generator.finding.index import Index

NOTES = 400  # that are looked at; of a larger library, notes evenly spaced
FOLDS = 4  # parts of which one is asked for, the others being the library
ASKED = 100  # notes that are asked for, at most
LEAST = 20  # notes below which nothing can be measured
USUAL = 0.5  # what holds then
STEPS = [n / 20 for n in range(4, 25)]  # what is tried: 0.2 to 1.2

Near = Mapping[str, Mapping[int, float]]
# What a query made likely, how likely a cause is that is not in the library, and the cause that it was; -1: such
# a one.
Case = tuple[Mapping[Pair, float], float, int]


def temperatures(notes: Sequence[Entry], index_of: Callable[[Sequence[Entry]], Index]) -> list[float]:
    """What to multiply logarithms of likelihoods by: where no kind of device is given, and where one is.

    notes: those with a page; index_of: makes the index of some of them, as yet without this. Takes about as
    long for any library of more than NOTES.
    """
    useful = [entry for entry in notes if entry.causes and entry.record.symptoms]
    if len(useful) < LEAST:
        return [USUAL, USUAL]
    some = useful[:: -(-len(useful) // NOTES)]
    out = []
    for cases in _cases(some, index_of):
        # The excess grows with the temperature: what is looked for lies where it turns positive.
        above = bisect_left(STEPS, 0.0, key=lambda step: _excess(cases, step))
        out.append(min(STEPS[max(0, above - 1) : above + 1], key=lambda step: abs(_excess(cases, step))))
    return out


def _cases(
    some: Sequence[Entry], index_of: Callable[[Sequence[Entry]], Index]
) -> tuple[list[Case], list[Case]]:
    """What notes that are left out and asked for make likely: without their kind of device, and with it."""
    bare: list[Case] = []
    kind: list[Case] = []
    for fold in range(FOLDS):
        if fold * len(some) >= FOLDS * ASKED:
            break
        index = index_of([entry for n, entry in enumerate(some) if n % FOLDS != fold])
        index.constants = {
            **index.constants,
            "similar_most": 0,
        }  # a note's words are all known: typos cost much time
        near = lru_cache(lambda kind, index=index: kinds_near(index, kind))
        for entry in some[fold::FOLDS]:
            right = index.cause_numbers.get(next(iter(entry.causes)), -1)
            asked = taken_apart(index, ". ".join(entry.record.symptoms))
            text = texts(index, asked)
            for cases, close in ((bare, {}), (kind, near(entry.record.device_kind))):
                case = _case(index, asked, text, close, right)
                if case:
                    cases.append(case)
    return bare, kind


def _case(index: Index, asked: Asked, text: Sequence[float], near: Near, right: int) -> Case | None:
    """None where so few notes match that no causes would be told."""
    say = say_of(index, near)
    share = shares_of(index, text, say)
    least = index.constants["match"]
    known = sum(s > 0 and part >= least and bool(mine) for s, part, mine in zip(say, share, index.causes_of))
    if known < index.constants["few"]:
        return None
    return likelihoods(index, share, say, asked.said, bool(near)), unseen(index, say), right


def _excess(cases: Sequence[Case], temperature: float) -> float:
    """How much larger the share of the first cause is, on average, than how often it is right."""
    excess = 0.0
    for likely, unknown, right in cases:
        shares = by_cause(likely, temperature, unknown)
        first = max(shares, key=lambda cause: (shares[cause], -cause), default=-1)
        if first >= 0:
            excess += shares[first] - (first == right)
    return excess / len(cases) if cases else 0.0
