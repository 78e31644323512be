"""Counts of repairs, by hand."""

from __future__ import annotations

import pytest

from generator.finding.record import Record
from generator.finding.statistics import count_repairs, percent


def repair(outcome: str = "fixed", **more: object) -> Record:
    return Record("a", "", outcome=outcome, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "count, of, wanted", [(1, 4, None), (4, 4, None), (0, 0, None), (1, 5, 20), (2, 3, None), (1, 8, 12)]
)
def test_no_percentage_of_fewer_than_five(count: int, of: int, wanted: int | None) -> None:
    """A fifth is 20 %, an eighth 12.5 %, to even."""
    assert percent(count, of) == wanted


def test_outcomes_and_barriers() -> None:
    found = count_repairs(
        [repair()] * 3 + [repair("end of life", barrier="lack of equipment")] * 2 + [repair("")] * 1
    )
    assert [(c.name, c.count, c.percent) for c in found.outcomes] == [
        ("fixed", 3, 50), ("repairable", 0, 0), ("end of life", 2, 33), ("unknown", 1, 17),
    ]  # fmt: skip
    assert [(c.name, c.count, c.percent) for c in found.barriers] == [("lack of equipment", 2, None)]
    mended = count_repairs([repair("fixed", barrier="lack of equipment")])
    assert mended.barriers == ()  # collections state one for what was mended as well


def test_ages_costs_and_times() -> None:
    """The median of 1, 4 and 30 is 4; of 1 and 2 it is 1.5."""
    found = count_repairs([
        repair(age=1.0, cost=1.0, currency="EUR"), repair(age=4.0, cost=2.0, currency="EUR", minutes=90.0),
        repair(age=30.0, cost=9.0, currency="GBP"),
    ])  # fmt: skip
    assert [(c.name, c.count) for c in found.ages] == [
        ("0–2", 1),
        ("3–5", 1),
        ("6–10", 0),
        ("11–20", 0),
        ("21+", 1),
    ]
    assert found.age and (found.age.low, found.age.middle, found.age.high) == (1, 4, 30)
    assert [(span.unit, span.of, span.middle) for span in found.costs] == [("EUR", 2, 1.5), ("GBP", 1, 9.0)]
    assert found.minutes and found.minutes.middle == 90


def test_of_nothing_there_is_nothing() -> None:
    found = count_repairs([])
    assert (
        found.all == 0
        and found.ages == ()
        and found.age is None
        and found.costs == ()
        and found.minutes is None
    )
