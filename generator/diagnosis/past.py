"""What failed in a library before: how much more often a class of part did than is usual, and what that makes of shares.

A class's rate beside the usual one has a gamma distribution about 1 beforehand; n faults where e were to be expected leave
(BELIEF + n)/(BELIEF + e). Source: the Poisson model with its conjugate prior, A. Gelman et al., Bayesian Data Analysis,
3rd ed., 2013, section 2.6.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from generator.diagnosis.suspects import suspects

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.diagnosis.judging import Fit
    from generator.notes.note import Fault

BELIEF = 5.0  # faults that it takes to believe a library half as much as what is usual
STEPS = 2  # steps of a doubling in which rates are told, so that a further fault seldom changes them

Past = Mapping[str, tuple[int, float]]  # class of part -> how many failed, how many were to be expected


@dataclass(frozen=True)
class Shared:
    """A failure with its share by the readings alone. classes: of its parts, none for a sound circuit."""

    name: str
    classes: tuple[str, ...]
    share: float


def past_of(device: Device, faults: Iterable[Fault]) -> Past:
    """Of one note: the classes of what it found, and what was to be expected among the parts that it has."""
    changes = suspects(device)
    classes = {change.called.casefold(): change.part_class for change in changes if change.called}
    failed = Counter(classes[name] for fault in faults if (name := fault.part.casefold()) in classes)
    if not failed:
        return {}
    weights: dict[str, float] = {}
    for change in changes:
        weights[change.part_class] = weights.get(change.part_class, 0.0) + change.weight
    whole = sum(weights.values())
    return {name: (failed[name], failed.total() * weight / whole) for name, weight in weights.items()}


@dataclass(frozen=True)
class Rates:
    """How much more often than usual each class failed in a library, in steps; classes at 1 are left out. faults: of how
    many, to two digits, so that one more seldom changes it."""

    rates: dict[str, float]
    faults: int

    @classmethod
    def of(cls, pasts: Iterable[Past]) -> Rates:
        """Of all notes together."""
        failed: Counter[str] = Counter()
        usual: dict[str, float] = {}
        for past in pasts:
            for name, (count, expected) in past.items():
                failed[name] += count
                usual[name] = usual.get(name, 0.0) + expected
        steps = {
            name: round(STEPS * math.log2((BELIEF + failed[name]) / (BELIEF + expected)))
            for name, expected in usual.items()
        }
        rates = {name: 2.0 ** (step / STEPS) for name, step in sorted(steps.items()) if step}
        return cls(rates, int(float(f"{failed.total():.1e}")))


def shared(fits: Sequence[Fit], names: Sequence[str]) -> list[Shared]:
    """The failures as a page keeps them."""
    found = []
    for fit, name in zip(fits, names):
        both = (fit.change, fit.change.also) if fit.change.also else (fit.change,)
        classes = () if fit.sound else tuple(change.part_class for change in both)
        found.append(Shared(name, classes, fit.share))
    return found


def sharpened(fits: Sequence[Shared], rates: Mapping[str, float]) -> list[float]:
    """The shares with what failed in the library before; what is not among the fits keeps its own."""
    times = [math.prod(rates.get(name, 1.0) for name in fit.classes) for fit in fits]
    rest = max(0.0, 1.0 - sum(fit.share for fit in fits))
    whole = rest + sum(fit.share * by for fit, by in zip(fits, times))
    return [fit.share * by / whole for fit, by in zip(fits, times)]
