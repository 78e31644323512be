"""The divider that several kinds share, by Ohm's law and by hand, with parts open and shorted; which nets solder may join."""

from __future__ import annotations

import math
from typing import Any

import pytest

from generator.circuit import divided
from generator.circuit.circuit import Mains
from generator.circuit.device import Told, work_out
from generator.circuit.formula import Formula
from generator.circuit.point import Point
from generator.finding import words
from generator.notation.quantity import parse as parse_quantity

INF = math.inf


@pytest.mark.parametrize(
    ("upper", "lower", "volts"),
    [(15e3, 10e3, 2.4), (INF, 10e3, 0.0), (15e3, INF, 6.0), (0.0, 10e3, 6.0), (15e3, 0.0, 0.0), (INF, INF, 0.0), (0.0, 0.0, 0.0)],
)  # fmt: skip
def test_a_tap(upper: float, lower: float, volts: float) -> None:
    """6 V·10k/25k = 2.4 V; nothing above pulls it to 0 V, nothing below to the supply. The formula comes to the same."""
    assert divided.tap_voltage(supply=6.0, upper=upper, lower=lower) == volts
    formula = divided.tap_formula("above", upper, "below", lower)
    assert formula.of(Point(supply=6.0, above=upper, below=lower)) == volts


@pytest.mark.parametrize(
    ("output", "side", "ohms"),
    [(2.0, "lower", 5e3), (2.0, "upper", 20e3), (6.0, "lower", INF), (0.0, "upper", INF), (7.0, "lower", INF), (-1.0, "lower", None),
     (7.0, "upper", None), (0.0, "lower", 0.0), (6.0, "upper", 0.0)],
)  # fmt: skip
def test_which_sensor_brings_the_tap_there(output: float, side: str, ohms: float | None) -> None:
    """Beside 10 kΩ on 6 V: 2 V across one of 5 kΩ, 4 V across one of 20 kΩ; open it has all of the supply, and never more."""
    found: Any = divided.sensor_for_tap(Point(supply=6.0, fixed=10e3), output, side)
    got = found.of(Point(supply=6.0, fixed=10e3, output=output)) if isinstance(found, Formula) else found
    assert got == (pytest.approx(ohms) if ohms is not None else None)
    assert divided.sensor_for_tap(Point(supply=6.0, fixed=INF), output, side) is None
    if ohms is not None and 0 <= output <= 6 and math.isfinite(ohms):
        assert divided.sensor_tap_voltage(Point(supply=6.0, fixed=10e3), side, ohms) == pytest.approx(output)


@pytest.mark.parametrize(
    ("text", "fine"), [("2 V", True), ("0 V", False), ("6 V", False), ("7 V", False), ("5.9 V", True)]
)
def test_a_cut_point_lies_between_the_rails(text: str, fine: bool) -> None:
    told = divided.vet_tap("on", parse_quantity(text, "V", zero=True), parse_quantity("6 V", "V"))
    assert told == (
        [] if fine else [("cut_points", f"on: the tap never comes to {text}", "it lies between 0 and 6 V")]
    )


def test_solder_joins_neighbours_between_which_nothing_lies() -> None:
    """R1 from in to mid, R2 from mid to out, R3 from out to common: one net further than a part reaches, each once, and no net
    with itself."""
    parts = [
        "R1 1k from in to mid",
        "R2 1k from mid to out",
        "R3 1k from out to common",
        "R4 1k from out to common",
    ]
    device = work_out({"n": {"kind": "network", "parts": parts}}, Mains(), Told())
    found = [frozenset(net.removeprefix("n.") for net in (a, b)) for a, b, _block in device.bridges]
    assert sorted(map(sorted, found)) == [["common", "mid"], ["in", "out"]]


def test_a_stem_is_most_of_the_shorter_word() -> None:
    """Three quarters of it, and four letters at least; else the pairs of letters and the letters themselves count (Dice)."""
    assert words.similarity("heatable", "heatsink") < words.STEM  # 4 of 8 letters
    assert words.similarity("pump", "pumping") == pytest.approx(max(words.STEM, 2 * 8 / (9 + 15)))
    # ^h he ea a? ?$ and h e a ?: 3 pairs and 3 letters of 9 alike
    assert words.similarity("heap", "heat") == pytest.approx(2 * 6 / 18) and words.STEM > 2 * 6 / 18
