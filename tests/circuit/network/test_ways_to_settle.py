"""Each way by which an operating point is found where plain iteration does not settle, by itself."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from generator.circuit.network import newton
from generator.circuit.network.compile import System
from generator.circuit.network.element import Element, exact
from generator.circuit.network.junctions import Diode, Transistor
from generator.circuit.network.passive import Resistor
from generator.circuit.network.sources import Source


def r(name: str, a: str, b: str, ohms: float) -> Resistor:
    return Resistor(name=name, a=a, b=b, ohms=exact(ohms))


# Stated so that each net's voltage is known by Ohm's law: a diode passes 5 mA at 0.7 V, so 5.7 V through 1 kΩ leave 0.7 V on
# it; a zener's voltage is that at 5 mA, so 10.1 V through 1 kΩ leave 5.1 V. A transistor of hFE 100 whose base takes 10 µA at
# 0.65 V gets them through 935 kΩ from 10 V; 4.7 kΩ at its collector then drop 4.7 V.
CIRCUITS: dict[str, tuple[list[Element], dict[str, float]]] = {
    "divider": ([r("a", "plus", "x", 3e3), r("b", "x", "0", 1e3)], {"plus": 12.0, "x": 3.0}),
    "diode": (
        [r("a", "plus", "x", 1e3), Diode(name="d", anode="x", cathode="0", forward=exact(0.7), at=5e-3)],
        {"plus": 5.7, "x": 0.7},
    ),
    "zener": (
        [r("a", "plus", "x", 1e3), Diode(name="z", anode="0", cathode="x", breakdown=exact(5.1))],
        {"plus": 10.1, "x": 5.1},
    ),
    "transistor": (
        [
            r("b", "plus", "x", 935e3),
            r("c", "plus", "y", 4.7e3),
            Transistor(
                name="q", base="x", collector="y", emitter="0", hfe=exact(100.0), vbe=exact(0.65), at=1e-5
            ),
        ],
        {"plus": 10.0, "x": 0.65, "y": 5.3},
    ),
}


def together(system: System, numbers: Any) -> tuple[Any, bool]:
    x, good = newton._held_together(system, numbers)
    return x, bool(good[0])


@pytest.mark.parametrize("name", CIRCUITS)
@pytest.mark.parametrize("way", [together, newton._held, newton._raised, newton._in_time])
def test_every_way_comes_to_the_voltages_by_hand(way: Callable[..., tuple[Any, bool]], name: str) -> None:
    elements, wanted = CIRCUITS[name]
    plus = Source(name="v", plus="plus", minus="0", volts=exact(wanted["plus"]), ohms=exact(1e-3))
    system = System([*elements, plus], ["0"])
    x, good = way(system, system.numbers([{}]))
    assert good
    point = newton.solved(system, system.numbers([{}]), np.asarray(x)[0])
    assert {net: float(point.volts(net)[0]) for net in wanted} == pytest.approx(wanted, abs=0.02)
    assert {net: float(np.asarray(x)[0][system.index[net]]) for net in wanted} == pytest.approx(
        wanted, abs=0.02
    )


@pytest.mark.parametrize("way", [together, newton._held, newton._raised, newton._in_time])
def test_a_way_that_gets_nowhere_says_so_and_ends(
    way: Callable[..., tuple[Any, bool]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where no step settles, or none but the first few, it is given up: no voltages are handed out that solve nothing."""
    elements, wanted = CIRCUITS["diode"]
    plus = Source(name="v", plus="plus", minus="0", volts=exact(wanted["plus"]), ohms=exact(1e-3))
    system = System([*elements, plus], ["0"])
    for settling in (0, 1, 3):
        calls = []

        def fails(
            system: System,
            numbers: Any,
            x: Any,
            *more: Any,
            settling: int = settling,
            calls: list[int] = calls,
            **named: Any,
        ) -> Any:
            calls.append(1)
            assert len(calls) < 300
            return x, np.full(len(x), len(calls) <= settling)

        monkeypatch.setattr(newton, "iterate", fails)
        assert way(system, system.numbers([{}]))[1] is False, settling


def test_where_no_way_leads_there_the_nets_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    elements, wanted = CIRCUITS["divider"]
    plus = Source(name="v", plus="plus", minus="0", volts=exact(wanted["plus"]), ohms=exact(1e-3))
    system = System([*elements, plus], ["0"])
    monkeypatch.setattr(
        newton, "iterate", lambda system, numbers, x, *more, **named: (x, np.zeros(len(x), bool))
    )
    with pytest.raises(newton.NoOperatingPoint, match="no operating point: plus"):
        newton.operating_points(system)
