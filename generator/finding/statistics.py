"""What became of some repairs: outcomes, barriers, ages, costs and times, counted. No percentage of fewer than five."""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from generator.finding.record import Record
from generator.notes.standard import OUTCOMES

LEAST = 5  # repairs below which a percentage says nothing
AGES = ((0, 2), (3, 5), (6, 10), (11, 20), (21, None))  # years; the last one is open
_MOST_BARRIERS = 6


@dataclass(frozen=True)
class Count:
    """How many there were of one sort, and the percentage of all whose sort is known; None of fewer than LEAST."""

    name: str
    count: int
    percent: int | None


@dataclass(frozen=True)
class Span:
    """Numbers at a glance: how many, the smallest, the middle one, the largest; unit as it is written behind them."""

    of: int
    low: float
    middle: float
    high: float
    unit: str = ""


@dataclass(frozen=True)
class Statistics:
    """all: how many repairs; ages in years. A tuple is empty, and a span None, where nothing is known."""

    all: int
    notes: int
    outcomes: tuple[Count, ...]
    barriers: tuple[Count, ...]
    ages: tuple[Count, ...]
    age: Span | None
    costs: tuple[Span, ...]
    minutes: Span | None


def count_repairs(records: Iterable[Record]) -> Statistics:
    """The statistics of some repairs, notes and rows of collections together."""
    held = list(records)
    outcomes = Counter(record.outcome if record.outcome in OUTCOMES else "unknown" for record in held)
    barriers = Counter(record.barrier for record in held if record.barrier and record.outcome != "fixed")
    ages = [record.age for record in held if record.age is not None]
    spent: dict[str, list[float]] = {}
    for record in held:
        if record.cost is not None:
            spent.setdefault(record.currency, []).append(record.cost)
    first = sorted(barriers, key=lambda name: (-barriers[name], name))[:_MOST_BARRIERS]
    costs = [_span(numbers, currency) for currency, numbers in sorted(spent.items())]
    return Statistics(
        all=len(held),
        notes=sum(not record.source for record in held),
        outcomes=_counts([(name, outcomes[name]) for name in OUTCOMES], len(held)),
        barriers=_counts([(name, barriers[name]) for name in first], barriers.total()),
        ages=_counts([(age_name(low, high), _between(ages, low, high)) for low, high in AGES], len(ages))
        if ages
        else (),
        age=_span(ages),
        costs=tuple(span for span in costs if span),
        minutes=_span([record.minutes for record in held if record.minutes is not None]),
    )


def age_name(low: int, high: int | None) -> str:
    """A range of ages in years, as it is written."""
    return f"{low}–{high}" if high is not None else f"{low}+"


def percent(count: int, of: int) -> int | None:
    """A whole percentage; None of fewer than LEAST."""
    return round(100 * count / of) if of >= LEAST else None


def _counts(counted: Sequence[tuple[str, int]], of: int) -> tuple[Count, ...]:
    return tuple(Count(name, count, percent(count, of)) for name, count in counted)


def _between(ages: Sequence[float], low: int, high: int | None) -> int:
    return sum(low <= int(age) and (high is None or int(age) <= high) for age in ages)


def _span(numbers: Sequence[float], unit: str = "") -> Span | None:
    if not numbers:
        return None
    return Span(len(numbers), min(numbers), statistics.median(numbers), max(numbers), unit)
