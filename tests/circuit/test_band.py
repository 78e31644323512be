"""Bands over a box of tolerances against a search of the whole box by scipy and numpy, for functions of every sort."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq

from generator.circuit.band import Axis, exists, extremes
from generator.circuit.cells import CHEMISTRIES, cells_behind, lithium_cells
from generator.circuit.point import Point
from generator.circuit.value import Value
from generator.diagnosis.columns import ohms_in_column, volts_in_column

Function = Callable[..., float | None]


def band(
    f: Function,
    ends: dict[str, tuple[float, float]],
    *,
    interior: bool = False,
    unit: str = "V",
    centre: bool = True,
) -> tuple[float, float] | None:
    """The band of f over the box, and how often f was asked."""

    def solve(x: Point) -> dict[str, float]:
        found = f(**{name: getattr(x, name) for name in ends})
        return {} if found is None else {"y": found}

    point = Point(**{name: (low + high) / 2 for name, (low, high) in ends.items()})
    axes = [Axis((name,), low, high) for name, (low, high) in ends.items()]
    nominal = None if centre else {}
    return extremes(solve, point, axes, [Value("y", unit, "a value", "", interior=interior)], nominal).get(
        "y"
    )


def searched(f: Function, ends: dict[str, tuple[float, float]], steps: int = 41) -> tuple[float, float]:
    """The least and the greatest on a grid over the box."""
    grid = itertools.product(*(np.linspace(*own, steps) for own in ends.values()))
    found = [y for place in grid if (y := f(**dict(zip(ends, place)))) is not None]
    return min(found), max(found)


def test_at_the_corners() -> None:
    """a·b/c is monotone along each axis: by hand 2·5/4 and 3·7/3."""
    assert band(lambda a, b, c: a * b / c, {"a": (2, 3), "b": (5, 7), "c": (3, 4)}) == pytest.approx(
        (2.5, 7.0)
    )
    assert band(lambda a: a, {"a": (-2, 3)}) == (-2, 3)
    assert Axis(("a",), 2.0, 6.0).at(0.25) == 3.0 and Axis(("a",), 0.1, 0.3).at(1) == 0.3


INSIDE: list[tuple[Function, dict[str, tuple[float, float]]]] = [
    (lambda a, b: a * b / (a + b) ** 2, {"a": (1.0, 3.7), "b": (1.3, 2.9)}),  # power transfer: greatest where both are alike
    (lambda a, b: (a - 1.23) ** 2 + b, {"a": (0.0, 3.0), "b": (1.0, 2.0)}),
    (lambda a, b: -((a - 2.71) ** 2) - (b - 1.77) ** 2 + 0.3 * a * b, {"a": (0.0, 5.0), "b": (1.0, 3.0)}),
    (lambda a: a * math.exp(-a), {"a": (0.2, 6.0)}),
    (lambda a: -a * math.exp(-a), {"a": (0.9998, 6.0)}),
    (lambda a: math.sin(a), {"a": (0.0, 3.3)}),
    (lambda a, b: -abs(a - b), {"a": (0.0, 1.0), "b": (0.2, 0.7)}),
]  # fmt: skip


@pytest.mark.parametrize(("f", "ends"), INSIDE)
@pytest.mark.parametrize("sign", (1, -1))
def test_an_extreme_inside_the_box(f: Function, ends: dict[str, tuple[float, float]], sign: int) -> None:
    got = band(lambda **at: sign * f(**at), ends, interior=True)  # type: ignore[operator]
    assert got is not None
    low, high = searched(lambda **at: sign * f(**at), ends, 301 if len(ends) < 2 else 141)  # type: ignore[operator]
    assert got[0] <= low + 1e-6 and got[1] >= high - 1e-6
    assert got == pytest.approx((low, high), abs=2e-3)


def test_a_place_is_worked_out_once_and_near_an_end_closely() -> None:
    """The peak of −(a − 0.37)² lies at 0.37, to a millionth of the axis; a rising line costs no more than its two ends, the
    middle and what tells that it rises."""
    asked: list[float] = []

    def peak(a: float) -> float:
        asked.append(a)
        return -((a - 0.37) ** 2)

    got = band(peak, {"a": (0.0, 1.0)}, interior=True)
    assert got is not None and got[1] == pytest.approx(0.0, abs=1e-11) and got[0] == pytest.approx(-(0.63**2))
    assert len(asked) == len(set(asked)) + 1  # but for the middle as it was given
    assert len(asked) < 60
    asked.clear()
    band(lambda a: asked.append(a) or 3 * a, {"a": (0.0, 1.0)}, interior=True)  # type: ignore[func-returns-value]
    assert len(asked) <= 9


def test_where_a_value_ends_inside_the_box() -> None:
    """√(1 − a·b) exists up to a·b = 1, where it is 0: the ends along the edges, to a thousandth of the edge."""
    f: Function = lambda a, b: math.sqrt(1 - a * b) if a * b <= 1 else None  # noqa: E731
    ends = {"a": (0.5, 2.0), "b": (0.6, 1.4)}
    got = band(f, ends)
    assert got is not None and got[1] == pytest.approx(math.sqrt(0.7))
    assert 0 <= got[0] < 0.02
    # an arc cosine: what is below the place where it ends is as it was at the last corner that has it
    g: Function = lambda a, b: math.acos(a / b) if a <= b else None  # noqa: E731
    low, high = searched(g, {"a": (0.5, 2.0), "b": (1.0, 1.5)})
    got = band(g, {"a": (0.5, 2.0), "b": (1.0, 1.5)})
    assert got is not None and got == pytest.approx((low, high), abs=0.03)
    assert band(lambda a: None, {"a": (1, 2)}) is None
    assert band(lambda a: 3.0 if a > 1.4 else None, {"a": (1, 2)}, centre=False) == (3.0, 3.0)
    only_middle = band(lambda a: None if a in (1, 2) else a, {"a": (1, 2)})
    assert only_middle == (1.5, 1.5)
    # a value that grows to its end at a = 1.7, in one corner only
    h: Function = lambda a, b: a * b if a < 1.7 else None  # noqa: E731
    assert band(h, {"a": (1, 2), "b": (3, 4)}) == pytest.approx((3.0, 6.8), abs=0.004)


def test_many_axes() -> None:
    """Beyond six the corners are chosen: a sum of opposite signs, by hand; two regimes, by all 256 corners."""
    names = "abcdefgh"
    ends = {name: (1.0 + n, 2.0 + n) for n, name in enumerate(names)}
    alternating: Function = lambda **x: sum((-1) ** n * x[name] for n, name in enumerate(names))  # noqa: E731
    assert band(alternating, ends) == pytest.approx((-8.0, 0.0))
    regimes: Function = lambda **x: x["a"] * x["b"] + x["c"] - max(0.0, x["d"] + x["e"] - 9.3) * x["f"] * 2  # noqa: E731
    corners = [regimes(**dict(zip(names, place))) for place in itertools.product(*ends.values())]
    low, high = min(y for y in corners if y is not None), max(y for y in corners if y is not None)
    assert band(regimes, ends) == pytest.approx((low, high))
    hill: Function = lambda **x: x["h"] + x["g"] - (x["a"] - 1.5) ** 2  # noqa: E731
    got = band(hill, ends, interior=True)
    assert got is not None and got == pytest.approx((7 + 8 - 0.25, 8 + 9), abs=1e-6)


def test_what_counts_as_a_value() -> None:
    """A number; a time that never comes; the resistance of an open part."""
    assert exists(0.0, "V") and exists(-1.0, "A") and exists(math.inf, "s") and exists(math.inf, "ohm")
    assert (
        not exists(None, "V")
        and not exists(math.nan, "V")
        and not exists(math.inf, "V")
        and not exists(-math.inf, "s")
    )
    assert band(lambda a: math.inf, {"a": (1, 2)}, unit="s") == (math.inf, math.inf)
    assert brentq(lambda x: x * x - 2, 0, 2) == pytest.approx(math.sqrt(2))  # what the search above rests on


def test_how_many_cells() -> None:
    """As many as show the voltage when full: 12.6 V are three of 4.2 V, 12.7 V four; a car's 12.78 V six of 2.13 V."""
    cell = CHEMISTRIES["li-ion"]
    assert [cells_behind(v, cell) for v in (0.5, 4.2, 4.21, 12.6, 12.7, 16.8)] == [1, 1, 2, 3, 4, 4]
    assert (
        cells_behind(12.78, CHEMISTRIES["lead-acid"]) == 6 and cells_behind(9.6, CHEMISTRIES["alkaline"]) == 6
    )
    # lithium, empty to full: 2.5 to 4.2 V each, so that 4.5 V is none, 5 V two and 30 V eight
    assert [lithium_cells(v) for v in (2.4, 2.5, 3.7, 4.5, 5.0, 7.4, 11.1, 30.0, 42.0, 42.5)] == [
        0,
        1,
        1,
        0,
        2,
        2,
        3,
        8,
        10,
        0,
    ]


def test_bands_in_a_narrow_column() -> None:
    """One figure within 3 %, a span beyond; direct volts first; what is below 10 mV is none, below 0.5 Ω the test leads."""
    assert volts_in_column({"dc": {"low": 11.9, "high": 12.1}}) == "12.0 V"
    assert volts_in_column({"dc": {"low": 11.0, "high": 13.0}}) == "11.0–13.0 V"
    assert volts_in_column({"dc": {"low": -0.004, "high": 0.004}, "ac": {"low": 0.0, "high": 0.009}}) == "0 V"
    assert (
        volts_in_column({"dc": {"low": 5.0, "high": 5.0}, "ac": {"low": 0.02, "high": 0.02}})
        == "5.00 V, 20.0 mV~"
    )
    assert volts_in_column({"ac": {"low": 228.0, "high": 232.0}}) == "230 V~" and volts_in_column({}) == ""
    assert ohms_in_column(None) == ohms_in_column({"low": math.inf, "high": math.inf}) == "open"
    assert (
        ohms_in_column({"low": 0.1, "high": 0.49}) == "0 Ω"
        and ohms_in_column({"low": 0.1, "high": 0.6}) != "0 Ω"
    )
    assert ohms_in_column({"low": 98.9, "high": 101.1}) == "100 Ω" and "–" in ohms_in_column(
        {"low": 98.0, "high": 101.1}
    )
