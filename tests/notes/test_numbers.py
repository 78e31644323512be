"""Numbers that stay, by hand."""

from __future__ import annotations

from generator.notes.numbers import Numbered, next_number, number_notes, twice

A, B, C = (
    Numbered("2024-01-01", "a", None),
    Numbered("2025-01-01", "b", None),
    Numbered("2026-01-01", "c", None),
)


def test_without_any_they_are_counted_by_date_from_101() -> None:
    assert number_notes([C, A, B]) == {"a": 101, "b": 102, "c": 103}


def test_stated_ones_stay_and_the_others_follow_the_highest() -> None:
    assert number_notes([A, B._replace(stated=250), C]) == {"b": 250, "a": 251, "c": 252}
    assert number_notes([A, B._replace(stated=7), C]) == {"b": 7, "a": 101, "c": 102}


def test_one_number_stated_twice() -> None:
    """The earlier note keeps it."""
    both = [B._replace(stated=105), A._replace(stated=105), C._replace(stated=1)]
    assert number_notes(both) == {"a": 105, "c": 1, "b": 106}
    assert twice(both) == {105: ["a", "b"]}


def test_the_next_free_one() -> None:
    assert next_number([]) == 101 and next_number([3, 250, 120]) == 251
