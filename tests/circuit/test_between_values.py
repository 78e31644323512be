"""What holds between the values of a block, whatever its kind: at the top of the mains, in its plot, in its failures."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import pytest
from kind_cases import every_case

from generator.circuit.band import _along as highest_along
from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.circuit.curves import Diagram
from generator.circuit.failing import fail_value
from generator.circuit.network.element import Element, Times
from generator.circuit.network.passive import Capacitor, Resistor


@pytest.fixture(scope="module")
def blocks() -> list[tuple[str, Block]]:
    found = [
        (f"{name} {n}", build_block(name, given, Mains())[0]) for n, (name, given) in enumerate(every_case())
    ]
    return [(case, block) for case, block in found if block is not None]


@pytest.fixture(scope="module")
def plots(blocks: list[tuple[str, Block]]) -> list[tuple[str, Block, Diagram]]:
    drawn = [(case, block, block.kind.plot(block)) for case, block in blocks]
    return [(case, block, picture) for case, block, picture in drawn if picture is not None]


def test_at_the_top_of_the_mains_a_rectified_peak_is_a_tenth_higher(blocks: list[tuple[str, Block]]) -> None:
    """EN 50160: at most 10 % above the nominal voltage; what the diodes drop, up to 2 V, stays as it is, and a transformer
    without its load gives more by its regulation."""
    compared = 0
    for case, block in blocks:
        if {"peak", "high_mains_peak"} <= block.values.keys() and (block.values["peak"].value or 0) > 5:
            idle = block.point.regulation if block.kind.param("regulation") else 0.0
            peak, top = (block.values[name].value for name in ("peak", "high_mains_peak"))
            assert peak and top and 1.1 * peak - 0.01 <= top <= 1.1 * (1 + idle) * (peak + 2.0), case
            compared += 1
    assert compared > 10


# --- plots ---------------------------------------------------------------------------------------------------


def test_a_plot_shows_its_curves_whole(plots: list[tuple[str, Block, Diagram]]) -> None:
    """Every curve is a line of finite points from one end of the axis to the other, within both."""
    assert len({block.kind.name for _case, block, _picture in plots}) > 8
    for case, _block, picture in plots:
        (_x, _xunit, first, last), (_y, _yunit, low, high) = picture.x, picture.y
        for curve in picture.curves:
            xs, ys = zip(*curve.points)
            assert all(math.isfinite(value) for value in (*xs, *ys)), (case, curve.name)
            assert all(one <= other for one, other in pairwise(xs)), (case, curve.name)
            slack = 0.001 * (high - low)
            assert low - slack <= min(ys) and max(ys) <= high + slack, (case, curve.name, min(ys), max(ys))
            assert first <= xs[0] and xs[-1] <= last * (1 + 1e-9), (case, curve.name)
        for mark in picture.marks:
            assert low <= mark.y <= high, (case, mark)


# which part of the period feeds the output: all of it, or only while the switch is off
FEEDS = {"buck-converter": (True, True), "boost-converter": (False, True)}


def test_a_coils_current_carries_the_load(plots: list[tuple[str, Block, Diagram]]) -> None:
    """Charge balance of the output's capacitor: over a period its coil delivers what the load takes. Volt-second balance: the
    current ends each period where it began."""
    compared = 0
    for case, block, picture in plots:
        if block.kind.name not in FEEDS or picture.name != "inductor current over two periods":
            continue
        points = picture.curves[0].points
        period, duty = picture.x[3] / 2, block.solved["duty"]
        rising, falling = FEEDS[block.kind.name]
        charge = 0.0
        for (t, amperes), (then, after) in pairwise(points):
            on = (t + then) / 2 / period % 1.0 < duty
            charge += (amperes + after) / 2 * (then - t) * (rising if on else falling)
        load = next(mark.y for mark in picture.marks if mark.level)
        assert charge / (2 * period) == pytest.approx(load, rel=0.1), case  # drawn as a few straight pieces
        assert points[0][1] == pytest.approx(points[-1][1], abs=0.03 * picture.y[3]), case
        compared += 1
    assert compared >= 4


# --- failures ------------------------------------------------------------------------------------------------


def every_element(of: type[Element] = Element) -> Iterator[type[Element]]:
    for own in of.__subclasses__():
        yield own
        yield from every_element(own)


def test_what_fails_high_is_higher_and_what_fails_low_lower() -> None:
    """By the words: of each number that a failure of a part changes by a factor."""
    compared = 0
    for element in every_element():
        for mode in {"high", "low"} & element.FAILS.keys():
            for number, change in element.FAILS[mode].items():
                if isinstance(change, Times):
                    assert (change > 1) == (mode == "high") and change > 0, (element.__name__, mode, number)
                    compared += 1
    assert compared > 10


@pytest.mark.parametrize(
    ("element", "part_class", "mode", "number"),
    [(Resistor, "resistor", "high", "ohms"), (Capacitor, "capacitor", "low", "farads")],
)
def test_a_blocks_table_and_its_network_fail_by_as_much(
    element: type[Element], part_class: str, mode: str, number: str
) -> None:
    """A row of a block's failures and the same failure in the device are one and the same."""
    assert fail_value(1.0, part_class, mode) == pytest.approx(float(element.FAILS[mode][number]))


# --- bands ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("peak", [0.003, 0.02, 0.1, 0.24, 0.26, 0.37, 0.5, 0.618, 0.74, 0.9, 0.97, 0.998])
@pytest.mark.parametrize("steep", [1.0, 400.0])
def test_the_highest_point_of_a_line_is_found_wherever_it_lies(peak: float, steep: float) -> None:
    """A hill of height 1 with its top at a place that is known."""
    share, height = highest_along(lambda s: 1 / (1 + steep * (s - peak) ** 2))
    assert share == pytest.approx(peak, abs=1e-3) and height == pytest.approx(1.0, abs=1e-4)
