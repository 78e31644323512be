"""Diagrams as points to draw: what some kinds do over time, temperature or light, at many places by the same functions.

A diagram is a picture beside the table of values, never the only place where a number stands.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from generator.circuit.value import Result

SAMPLES = 160
ROOM = 0.2  # share of the range of cut points that is shown beyond them

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Curve:
    """A line of a diagram. aside: what the main line is seen against; area: filled down to 0."""

    name: str
    points: Points
    aside: bool = False
    area: bool = False


@dataclass(frozen=True)
class Mark:
    """A point of a diagram with a name; x to x_high where only a range is known. level: a line across at y."""

    name: str
    x: float
    y: float
    x_high: float = math.nan
    level: bool = False


@dataclass(frozen=True)
class Diagram:
    """One picture. x, y: (name, unit, lowest, highest); log: the x axis goes in decades."""

    name: str
    x: tuple[str, str, float, float]
    y: tuple[str, str, float, float]
    curves: tuple[Curve, ...]
    marks: tuple[Mark, ...] = ()
    log: bool = False


def spaced(low: float, high: float, log: bool = False) -> list[float]:
    """SAMPLES + 1 places from low to high, evenly or in decades."""
    if log:
        return [low * (high / low) ** (i / SAMPLES) for i in range(SAMPLES + 1)]
    return [low + (high - low) * i / SAMPLES for i in range(SAMPLES + 1)]


def points(f: Callable[[float], float], xs: Iterable[float]) -> Points:
    """A function at each of xs."""
    return tuple((x, f(x)) for x in xs)


def rail_diagram(
    source: Callable[[float], float], rail: Callable[[float], float], *,
    f: float, crest: float, top: float, mean: float, trough: tuple[float, float],
) -> Diagram:  # fmt: skip
    """A rectified rail and what feeds it over two periods of the mains of f Hz. crest: of the source, V; top, mean: of the
    rail, V; trough: (s, V)."""
    times = spaced(0.0, 2 / f)
    marks = (Mark("top", 0.0, top, level=True), Mark("mean", 0.0, mean, level=True), Mark("trough", *trough))
    curves = (Curve("source", points(source, times), aside=True), Curve("rail", points(rail, times)))
    called = "rail over two mains periods"
    return Diagram(called, ("time", "s", 0.0, 2 / f), ("voltage", "V", 0.0, crest), curves, marks)


def cut_marks(cuts: Iterable[str], values: Mapping[str, Result], along: str) -> tuple[Mark, ...]:
    """The cut points that have both coordinates, as values or as ranges of values."""
    marks = []
    for cut in cuts:
        x, y = values.get(f"{cut}.{along}"), values.get(f"{cut}.output")
        if x is None or y is None or not all(map(math.isfinite, (x.low, x.high, y.low, y.high))):
            continue
        if x.value is None or y.value is None:
            # a range of temperatures against the range of voltages that goes with it: ends belong together crosswise
            marks.append(Mark(cut, _middle(x), _middle(y), x.high if x.value is None else math.nan))
        else:
            marks.append(Mark(cut, x.value, y.value))
    return tuple(marks)


def _middle(result: Result) -> float:
    return (result.low + result.high) / 2 if result.value is None else result.value


def around(
    values: list[float], *, least: tuple[float, float], most: tuple[float, float]
) -> tuple[float, float]:
    """A range that shows all values with room beside them, at least as wide as least, never beyond most."""
    low, high = min([least[0], *values]), max([least[1], *values])
    room = (high - low) * ROOM
    low, high = low - (room if low < least[0] else 0.0), high + (room if high > least[1] else 0.0)
    return max(low, most[0]), min(high, most[1])
