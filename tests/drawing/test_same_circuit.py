"""The same circuit, met again: worked out and drawn once, and never mistaken for another."""

from __future__ import annotations

from typing import Any

import pytest

from generator import language
from generator.circuit import builder
from generator.circuit.circuit import Mains, build
from generator.drawing import schematic as drawing
from generator.drawing.frame import TitleBlock

BUTTON = {"kind": "button-input", "supply": "5 V", "pull_up": "R12 10k", "capacitor": "C9 100n"}


@pytest.fixture(autouse=True)
def _nothing_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(builder, "_kept", {})


def made(name: str, parameters: dict[str, Any], mains: Mains = Mains()) -> Any:  # noqa: B008 - frozen
    return build({name: parameters}, mains).blocks[name]


def svg(block: Any) -> str:
    return drawing.draw(block, TitleBlock(block.name)).svg


def test_drawn_once(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = 0
    plain = drawing.Sheet

    def counting(**options: Any) -> Any:
        nonlocal drawn
        drawn += 1
        return plain(**options)

    monkeypatch.setattr(drawing, "Sheet", counting)
    one, other = made("start", BUTTON), made("gamma", dict(BUTTON))
    pictures = svg(one), svg(other)
    assert drawn == 1
    assert pictures[0] == pictures[1].replace("gamma", "start")
    assert one.values == other.values and one.failures is not None
    assert (one.name, other.name) == ("start", "gamma")


@pytest.mark.parametrize(
    "change",
    [
        {"pull_up": "R12 22k"},
        {"pull_up": "R13 10k"},
        {"pull_up": "R12 10k 1%"},
        {"capacitor": "C9 100n 16V"},
        {"supply": "3.3 V"},
    ],
)
def test_another_circuit_is_another(change: dict[str, str]) -> None:
    """By value, designator, tolerance, rating: whatever is changed shows."""
    first, other = made("start", BUTTON), made("start", {**BUTTON, **change})
    assert (svg(first), first.values, first.checks) != (svg(other), other.values, other.checks)


def test_another_mains_and_another_language_are_another() -> None:
    supply = {
        "kind": "transformer-supply",
        "secondary": "12 V",
        "smoothing": "C3 1000u 35V",
        "load": "120 mA",
    }
    narrow, wide = (made("supply", supply, Mains(band=band)) for band in (0.06, 0.10))
    assert wide.values["peak"].high > narrow.values["peak"].high
    english = svg(wide)
    try:
        language.use("de")
        assert svg(made("supply", supply)) != english
    finally:
        language.use("en")


def test_a_value_by_name_keeps_its_source() -> None:
    """Two blocks with one number from different places: each knows its own place."""
    reg = {"kind": "led-indicator", "resistor": "R14 470", "forward": "LD1 red"}
    supply = {"kind": "divider", "supply": "10 V", "upper": "R1 10k 1%", "lower": "R2 10k 1%"}
    blocks = build(
        {
            "a": supply,
            "b": dict(supply),
            "one": {**reg, "supply": "a.output"},
            "two": {**reg, "supply": "b.output"},
        },
        Mains(),
    ).blocks
    assert blocks["one"].sources == {"supply": "a.output"} and blocks["two"].sources == {"supply": "b.output"}
