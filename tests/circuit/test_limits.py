"""How much a block may state: what is beyond it is refused in words that give the limit."""

from __future__ import annotations

from typing import Any

import pytest

from generator.circuit.catalogue import kind
from generator.circuit.circuit import Mains, build_block


def wrong(name: str, **changes: Any) -> list[str]:
    """What is told of the kind's example with these changes, as "what; hint"."""
    block, troubles = build_block(name, {**kind(name).example, **changes}, Mains())
    assert (block is None) == bool(troubles)
    return [f"{trouble.what}; {trouble.hint}" for trouble in troubles]


@pytest.mark.parametrize(
    "count, told", [(20, []), (21, ["thermistor-divider cut_points: 21 cut points; at most 20"])]
)
def test_cut_points(count: int, told: list[str]) -> None:
    """Twenty may be stated; each costs time in every band."""
    assert (
        wrong(
            "thermistor-divider",
            cut_points={f"cut {n}": {"temperature": f"{n} C"} for n in range(1, count + 1)},
        )
        == told
    )


@pytest.mark.parametrize("count, told", [(20, []), (21, ["heater positions: 21 positions; at most 20"])])
def test_positions(count: int, told: list[str]) -> None:
    """Twenty of a selector as well."""
    positions = {f"step {n}": ["E1"] for n in range(1, count + 1)}
    changes = {"power": "", "elements": ["E1 500W", "E2 1000W"], "positions": positions}
    given = {k: v for k, v in {**kind("heater").example, **changes}.items() if v}
    block, troubles = build_block("heater", given, Mains())
    assert (block is None) == bool(troubles)
    assert [f"{trouble.what}; {trouble.hint}" for trouble in troubles] == told


@pytest.mark.parametrize("letters, fine", [(40, True), (41, False)])
def test_name_of_a_cut_point(letters: int, fine: bool) -> None:
    """Forty characters, the first of them a letter."""
    told = wrong("thermistor-divider", cut_points={"c" * letters: {"temperature": "20 C"}})
    assert told == (
        []
        if fine
        else [
            f"thermistor-divider cut_points: {'c' * 40!r} is not a name for a cut point; letters, digits, spaces and -, at most 40"
        ]
    )


def test_list() -> None:
    """Forty entries may stand in a list of lines."""
    assert wrong("microcontroller", pins=[f"{n} PB{n}" for n in range(1, 42)]) == [
        "microcontroller pins: 41 entries; at most 40"
    ]


def test_a_tolerance_that_counts_for_nothing_is_refused() -> None:
    """The secondary follows the mains band of the library, whatever the primary says."""
    (told,) = wrong("transformer-supply", primary="230 V 5%")
    assert told.startswith("transformer-supply primary: 230 V 5%: a tolerance counts for nothing here")
    assert wrong("transformer-supply", primary="240 V") == []
