"""What holds for any network: it has an answer or says that it has none, currents add up, variants agree with whole solutions."""

from __future__ import annotations

import os

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from generator.circuit.network.around import Around
from generator.circuit.network.chips import Amplifier, Coupler, Regulator
from generator.circuit.network.compile import System
from generator.circuit.network.element import exact
from generator.circuit.network.junctions import Mosfet
from generator.circuit.network.newton import NoOperatingPoint, Point, nearest, operating_points, solved
from generator.circuit.network.passive import Resistor
from generator.circuit.network.reading import Reading
from generator.circuit.network.sensitivity import nudges, read
from generator.circuit.network.sources import Source
from generator.circuit.network.tolerances import axes
from generator.circuit.network.variants import solve
from tests.circuit.network.device import board
from tests.circuit.network.random_networks import random_network

CI = os.environ.get("CI") == "true"


def left_over(point: Point) -> tuple[float, float, float]:
    """(the largest sum of currents into a net, the largest current, what rounding alone may make of the sums), A."""
    system = point.system
    sums = np.abs(point.x @ system.constant.T + point.y @ system.out.T)[0][: system.voltages]
    flows = [abs(y) for y, stamp in zip(point.y[0], system.stamps) if not stamp.branch]
    steep = [float(np.abs(dy).max()) for dy, stamp in zip(point.dy[0], system.stamps) if not stamp.branch]
    rounding = 1e-15 * max(steep, default=0.0) * float(np.abs(point.x[0][: system.voltages]).max(initial=0.0))
    largest = max([*flows, *np.abs(point.x[0][system.voltages :])], default=0.0)
    return float(sums.max(initial=0.0)), float(largest), rounding


@given(st.integers(0, 10**6))
def test_random_networks_have_an_answer(seed: int) -> None:
    """Never a hang or another exception; the currents into every net add up to 1e-9 of the largest."""
    try:
        point = operating_points(System(random_network(seed), ["0"]))
    except NoOperatingPoint as error:
        assert str(error).startswith("no operating point: ")
        return
    assert np.isfinite(point.x).all()
    most, largest, rounding = left_over(point)
    assert most <= 1e-9 * largest + rounding + 1e-15  # A: everything is dead


ACTIVE = (Amplifier, Coupler, Regulator)


def without_an_answer(seeds: range, leave_out: tuple[type, ...] = ()) -> list[int]:
    """The seeds whose network, without some sorts of parts, has none that is found."""
    failed = []
    for seed in seeds:
        parts = [part for part in random_network(seed) if not isinstance(part, leave_out)]
        try:
            operating_points(System(parts, ["0"]))
        except NoOperatingPoint:
            failed.append(seed)
    return failed


def test_passive_parts_and_junctions_always_have_one() -> None:
    """Resistors, sources, junctions and transistors have an operating point however they are joined (from memory: Duffin
       1947 for
    resistors whose current rises with their voltage, Sandberg and Willson 1969 for transistors)."""
    assert without_an_answer(range(150 if CI else 100), ACTIVE) == []


def test_nearly_all_random_networks_have_one() -> None:
    """Regulators and amplifiers between any nets too, fed backwards and each other's load: one in a hundred is given up."""
    assert len(without_an_answer(range(100 if CI else 50))) <= (2 if CI else 1)


def test_variants_agree_with_the_whole_network_solved_anew() -> None:
    """Every failure of a small board, by the deviations of few stamps and by solving all of it: within 0.2 mV."""
    system = System(board(), ["0"])
    point = operating_points(system)
    around = Around(point)
    failures = []
    for element in board():
        for mode, sizes in (
            ("open", [None]),
            ("short", [None]),
            ("leaky", [1e3, 1e5]),
            ("high", [2.0, 10.0]),
            ("low", [0.3]),
        ):
            for size in sizes:
                try:
                    failures.append({element.name: element.failed(element.nominal(), mode, size)})
                except (KeyError, ValueError):
                    continue
    quick = solve(around, around.changes(failures))
    assert quick.good.all() and len(failures) > 60
    whole = solved(system, system.numbers(failures), point.x[0])
    nets = [net for net in system.nets if net != "0"]
    seen = read(quick, [Reading(net, "0") for net in nets])
    expected = np.stack([whole.volts(net) for net in nets], 1)
    held = seen.source < 1e8  # ohm: what nothing but insulation holds, a meter shows as 0 V
    np.testing.assert_allclose(seen.values[held], expected[held], atol=3e-4)
    assert held.mean() > 0.95


@pytest.mark.parametrize("start", [0.0, 12.0, 500.0])
def test_a_gate_that_touches_its_drain_settles_by_the_square_law(start: float) -> None:
    """From wherever it is looked for: 12 V behind 10 ohm on the drain, 10 ohm on to the gate, which 30 ohm hold down. Saturated,
    for the drain is above the gate: Id = K/2·(Vgs − Vth)², K = 1/(rds·3 V) (Shichman-Hodges), solved by scipy."""
    parts = [
        Source(name="v", plus="top", minus="0", volts=exact(12.0)),
        Resistor(name="rd", a="top", b="d", ohms=exact(10.0)),
        Resistor(name="bridge", a="d", b="g", ohms=exact(10.0)),
        Resistor(name="pin", a="g", b="0", ohms=exact(30.0)),
        Mosfet(name="q", gate="g", drain="d", source="0", vth=exact(2.0), rds=exact(0.05)),
    ]
    system = System(parts, ["0"])

    def left(drain: float) -> float:
        channel = 0.5 / (0.05 * 3.0) * max(0.0, 0.75 * drain - 2.0) ** 2
        return (12.0 - drain) / 10.0 - drain / 40.0 - channel

    x, good = nearest(system, system.numbers([{}]), np.full((1, system.size), start))
    assert good.all()
    assert float(system.volts(x, "d")[0]) == pytest.approx(brentq(left, 0.0, 12.0), rel=1e-5)


def test_slopes_are_those_of_solving_again() -> None:
    """What a tolerance does to readings, sound and failed, against a difference quotient of whole solutions."""
    elements = board()
    system = System(elements, ["0"])
    around = Around(operating_points(system))
    wanted = axes(elements)
    readings = [Reading("c", "0"), Reading("out", "0"), Reading("b", "0"), Reading(element="r1")]
    failures = [{}, {"rb": {"ohms": 2e4}}, {"rl": {"ohms": 1e3}}, {"dz": {"alive": 0.0}}]
    seen = read(solve(around, around.changes(failures)), readings, nudges(around, wanted))
    step = 1e-3
    for row, failure in enumerate(failures):
        before = solved(system, system.numbers([failure]), around.x)
        for number, axis in enumerate(wanted):
            moved = {**axis.at(system.nominal, step)}
            if set(moved) & set(failure):
                continue
            after = solved(system, system.numbers([{**moved, **failure}]), before.x[0])
            for r, reading in enumerate(readings):
                if reading.element:
                    quotient = (
                        float(after.amperes(reading.element)[0] - before.amperes(reading.element)[0]) / step
                    )
                else:
                    quotient = float(after.volts(reading.plus)[0] - before.volts(reading.plus)[0]) / step
                unit = seen.slopes[row, r, number, 1] / axis.shares[1]
                assert unit == pytest.approx(quotient, rel=0.02, abs=2e-4), (failure, axis.name, reading)


def test_source_resistance_is_that_of_thevenin() -> None:
    """A divider of 10 k and 10 k on a stiff source: 5 k, by which a meter of 10 Mohm shows 0.05 % less."""
    around = Around(operating_points(System(board(), ["0"])))
    seen = read(solve(around, around.changes([{}])), [Reading("tap", "0")])
    assert float(seen.source[0, 0]) == pytest.approx(5e3, rel=1e-3)
