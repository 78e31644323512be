"""Faults injected into independent circuits: does the ranking name what was broken?

The circuits (network, circuits, physics, rectifiers) share nothing with the generator. For each case part values are
drawn within their tolerances and the mains within its band, one part is broken (or none), one to three readings are
taken with a meter's errors, and the ranking is asked for. What can be told apart at all is decided by the independent
circuits too: see Cases.distinguishable.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from dataclasses import dataclass
from functools import cache

from benches import every_bench
from lab import SOUND, Bench, Failed, Shown, accuracy, display

from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.diagnosis.bench import fitting
from generator.diagnosis.fit import Fit

SEED = 20
ROUNDS = 3  # of every failure of every bench
SOUND_CASES = 8  # of every bench
SAMPLES = 32  # of a circuit under each failure, to learn what it can show


@dataclass(frozen=True)
class Case:
    """A circuit with what was done to it, what the meter's display said and the ranking."""

    bench: Bench
    failed: Failed
    readings: dict[str, str]
    fits: list[Fit]
    distinguishable: bool

    @property
    def place(self) -> int:
        """Where the true failure stands: 1 for first or tied first."""
        here = next((f for f in self.fits if _is(f, self.failed)), None)
        if here is None:
            return 99
        return 1 + sum(f.score > here.score * 1.02 + 1e-12 for f in self.fits)


def _is(fit: Fit, failed: Failed) -> bool:
    hypothesis = fit.hypothesis
    return not hypothesis.block if failed == SOUND else (hypothesis.part, hypothesis.failed) == failed


@cache
def block_of(number: int) -> Block:
    bench = every_bench()[number]
    block, troubles = build_block(bench.kind, bench.parameters, Mains())
    assert block is not None, troubles
    return block


class Boxes:
    """What a bench can show under each failure: the lowest and highest of sampled circuits, corners among them."""

    def __init__(self, bench: Bench, seed: int) -> None:
        chance = random.Random(seed)
        self.seen: dict[Failed, list[Shown]] = {}
        for failed in [SOUND, *bench.faults]:
            self.seen[failed] = [
                bench.shown(bench.drawn(chance, corners=n % 4 > 0), failed) for n in range(SAMPLES)
            ]

    def could_show(self, failed: Failed, name: str, value: float, unit: str) -> bool:
        found = [shown.get(name) for shown in self.seen[failed]]
        numbers = [v for v in found if v is not None and math.isfinite(v)]
        if math.isinf(value) or (unit == "ohm" and value > 20e6):
            return any(v is not None and (math.isinf(v) or (unit == "ohm" and v > 20e6)) for v in found)
        if not numbers:
            return False
        slack = accuracy(value, unit)
        return min(numbers) - slack <= value <= max(numbers) + slack


def distinguishable(boxes: Boxes, failed: Failed, shown: Shown, units: dict[str, str]) -> bool:
    """Whether what stands at the meter lies, in one place or another, outside what anything else can show there."""
    others = [other for other in boxes.seen if other != failed]
    return all(
        any(not boxes.could_show(other, n, v, units[n]) for n, v in shown.items() if v is not None)
        for other in others
    )


def cases_of(number: int, bench: Bench, seed: int) -> list[Case]:
    block = block_of(number)
    units = {name: result.unit for name, result in block.values.items()}
    boxes = Boxes(bench, seed)
    chance = random.Random(seed * 1000 + number)
    found = []
    for failed in [SOUND] * SOUND_CASES + bench.faults * ROUNDS:
        true = bench.shown(bench.drawn(chance), failed)
        readable = [name for name, value in true.items() if value is not None]
        names = chance.sample(readable, min(len(readable), chance.randint(1, 3)))
        if not names:
            continue
        picked = {name: true[name] for name in names}
        readings = {
            name: display(float(value), units[name], chance)
            for name, value in picked.items()
            if value is not None
        }
        result = fitting(block, readings)
        assert not result.problems and result.judgement is not None, result.problems
        found.append(
            Case(
                bench, failed, readings, result.judgement.fits, distinguishable(boxes, failed, picked, units)
            )
        )
    return found


@cache
def all_cases(seed: int = SEED) -> tuple[Case, ...]:
    return tuple(case for number, bench in enumerate(every_bench()) for case in cases_of(number, bench, seed))


def confusion(cases: tuple[Case, ...]) -> str:
    """How often which sort of failure was taken for which, over the distinguishable cases and the sound ones."""
    counted: Counter[tuple[str, str]] = Counter()
    for case in cases:
        if case.distinguishable or case.failed == SOUND:
            first = case.fits[0].hypothesis
            named = case.failed[1] if case.place == 1 else first.failed
            same = case.place == 1 or (first.part == case.failed[0])
            counted[
                case.failed[1] or "sound",
                ("" if same else "another part ") + (named if named != "none" else "sound") or "sound",
            ] += 1
    rows = sorted({true for true, _ in counted})
    columns = sorted({named for _, named in counted})
    width = max(len(r) for r in rows) + 2
    lines = ["".ljust(width) + "".join(c.rjust(len(c) + 2) for c in columns)]
    lines += [
        r.ljust(width) + "".join(str(counted[r, c] or ".").rjust(len(c) + 2) for c in columns) for r in rows
    ]
    return "\n".join(lines)


def summary(cases: tuple[Case, ...]) -> dict[str, tuple[int, int]]:
    """(how many, of how many) for each requirement."""
    told = [c for c in cases if c.failed != SOUND and c.distinguishable]
    sound = [c for c in cases if c.failed == SOUND]
    return {
        "first": (sum(c.place == 1 for c in told), len(told)),
        "in the first three": (sum(c.place <= 3 for c in told), len(told)),
        "sound accused": (sum(c.place != 1 for c in sound), len(sound)),
    }


def misses(cases: tuple[Case, ...]) -> list[str]:
    found = []
    for case in cases:
        if case.place > 1 and (case.distinguishable or case.failed == SOUND):
            first = ", ".join(
                f"{f.hypothesis.part} {f.hypothesis.failed} {f.score:.3f}" for f in case.fits[:3]
            )
            found.append(
                f"{case.bench.kind} {' '.join(case.failed) or 'sound'} {case.readings} place {case.place}: {first}"
            )
    return found


def test_there_are_enough_cases() -> None:
    """At least 500 cases, and in most of them the failure can be told from all others by its readings."""
    cases = all_cases()
    assert len(cases) >= 500
    assert sum(c.distinguishable for c in cases if c.failed != SOUND) >= 250
    assert len({c.bench.kind for c in cases}) == 25


def test_the_true_failure_ranks_first() -> None:
    """First or tied first in 90 % of what can be told apart, in the first three in 98 %."""
    cases = all_cases()
    print("\n" + confusion(cases))
    counted = summary(cases)
    hits, of = counted["first"]
    assert hits >= 0.90 * of, misses(cases)
    hits, of = counted["in the first three"]
    assert hits >= 0.98 * of, misses(cases)


def test_health_is_not_accused() -> None:
    """A sound circuit ranks a failure first in at most 1 % of the cases."""
    hits, of = summary(all_cases())["sound accused"]
    assert hits <= 0.01 * of, misses(all_cases())
