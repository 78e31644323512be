"""Parts that have drifted, in independent circuits: are they named, and does the range of values hold the true one?"""

from __future__ import annotations

import random
from dataclasses import dataclass
from functools import cache

from benches import every_bench
from lab import SOUND, Bench, Failed, Real, display
from test_injected_faults import Boxes, block_of

from generator.diagnosis.bench import fitting
from generator.diagnosis.fit import Fit

# How far parts drift: resistors go high, capacitors lose capacitance, thermistors go either way.
DRIFTS = {"R": ("high", 1.5, 10.0), "C": ("low", 1 / 20, 1 / 2), "T": ("high", 1.5, 4.0)}
EACH = 3


@dataclass(frozen=True)
class Drifted:
    """A part off its value, what was read, and the fit of that part's drift."""

    bench: Bench
    failed: Failed
    true: float
    readings: dict[str, str]
    fits: list[Fit]

    @property
    def own(self) -> Fit | None:
        return next((f for f in self.fits if (f.hypothesis.part, f.hypothesis.failed) == self.failed), None)

    @property
    def place(self) -> int:
        return 99 if self.own is None else 1 + sum(f.score > self.own.score * 1.02 for f in self.fits)

    @property
    def holds(self) -> bool:
        """Whether the range holds the true value, or none is given because the failure explains all as it is."""
        own = self.own
        return (
            own is not None
            and own.drift is not None
            and own.drift[0] * 0.99 <= self.true <= own.drift[1] * 1.01
        )


def drift_of(bench: Bench, part: Real, chance: random.Random) -> tuple[Failed, float]:
    mode, low, high = DRIFTS[part.sort]
    factor = low * (high / low) ** chance.random()
    return (part.name, mode), factor


@cache
def all_drifted(seed: int = 7) -> tuple[Drifted, ...]:
    found = []
    for number, bench in enumerate(every_bench()):
        block, boxes = block_of(number), None
        units = {name: result.unit for name, result in block.values.items()}
        chance = random.Random(seed * 1000 + number)
        for part in [p for p in bench.parts if p.sort in DRIFTS]:
            for _ in range(EACH):
                boxes = boxes or Boxes(bench, seed)
                failed, factor = drift_of(bench, part, chance)
                values = bench.drawn(chance)
                true = bench.shown(values, failed, factor)
                readable = [n for n, v in true.items() if v is not None]
                picked = {n: true[n] for n in chance.sample(readable, min(3, len(readable)))}
                if not any(
                    v is not None and not boxes.could_show(SOUND, n, v, units[n]) for n, v in picked.items()
                ):
                    continue  # within what a sound circuit shows
                readings = {
                    n: display(float(v), units[n], chance) for n, v in picked.items() if v is not None
                }
                result = fitting(block, readings)
                assert result.judgement is not None
                found.append(
                    Drifted(bench, failed, values[part.name] * factor, readings, result.judgement.fits)
                )
    return tuple(found)


def told(case: Drifted) -> str:
    first = ", ".join(
        f"{f.hypothesis.part} {f.hypothesis.failed} {f.score:.3f} {f.drift}" for f in case.fits[:3]
    )
    return f"{case.bench.kind} {case.failed} to {case.true:.4g} {case.readings}: {first}; own {case.own and case.own.drift}"


def test_a_drifted_part_is_among_the_first() -> None:
    """Several parts may explain a drift alike (any of a chain of resistors); the true one is among the first three."""
    cases = all_drifted()
    assert len(cases) >= 100
    lost = [told(c) for c in cases if c.place > 3]
    assert len(lost) <= 0.02 * len(cases), lost


def test_the_range_of_a_drift_holds_the_truth() -> None:
    """Of the drifts found, the range contains the part's true value in at least 95 %."""
    cases = [c for c in all_drifted() if c.place <= 3]
    wrong = [told(c) for c in cases if not c.holds]
    assert len(wrong) <= 0.05 * len(cases), wrong
