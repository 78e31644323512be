"""Worst-case bands: the extremes of values over a box of tolerances.

Each toleranced input is an axis. A value that is monotone along every axis has its extremes at corners of the box; a
value marked `interior` is followed along each axis from its best corner, by golden section. A test samples every
kind's box at random and holds the bands to contain each sample.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, TypeGuard

from generator.circuit.point import Point
from generator.circuit.value import Value

MOST_CORNER_AXES = 6  # 64 corners; beyond that the corners are chosen by the direction of each axis
_GOLDEN = (math.sqrt(5) - 1) / 2
_NUDGE = 1e-4
# along the edges on which a value ends: so many at first, then in each round
_FIRST, _HALVINGS, _ROUNDS = 8, 6, 4


@dataclass(frozen=True)
class Axis:
    """A toleranced input: the names in the point that it moves together, and the ends of its band.

    ranged: the author knows a range only, so that what depends on it has no single value.
    """

    names: tuple[str, ...]
    low: float
    high: float
    ranged: bool = False

    def at(self, share: float) -> float:
        """The value at a share of the band, from 0 (low) to 1 (high)."""
        return (
            self.low if share == 0 else self.high if share == 1 else self.low + (self.high - self.low) * share
        )


Solve = Callable[[Any], dict[str, float]]
_Edge = tuple[tuple[float, ...], int, float, float]  # place, axis, last share with a value, first one without


class _Box:
    """solve() at points of the box, each worked out once. A place is a tuple of shares of each axis."""

    def __init__(self, solve: Solve, point: Point, axes: list[Axis]) -> None:
        self.solve, self.point, self.axes = solve, point, axes
        self.seen: dict[tuple[float, ...], dict[str, float]] = {}

    def __call__(self, place: tuple[float, ...]) -> dict[str, float]:
        found = self.seen.get(place)
        if found is None:
            inputs = {name: axis.at(share) for axis, share in zip(self.axes, place) for name in axis.names}
            found = self.seen[place] = self.solve(self.point.changed(**inputs))
        return found


def exists(value: float | None, unit: str) -> TypeGuard[float]:
    """Whether a value is one: finite, or a time that never comes, or the resistance of an open part."""
    return value is not None and (math.isfinite(value) or (value == math.inf and unit in ("s", "ohm")))


def extremes(
    solve: Solve,
    point: Point,
    axes: list[Axis],
    definitions: Iterable[Value],
    nominal: dict[str, float] | None = None,
) -> dict[str, tuple[float, float]]:
    """(low, high) of each value over the box. A value absent everywhere is left out.

    nominal: what solve gives at the point, where that is known already. Never narrower than the truth for values that
    are monotone along each axis, or marked interior and with one extreme along an axis.
    """
    box = _Box(solve, point, axes)
    centre = nominal if nominal is not None else solve(point)
    if len(axes) <= MOST_CORNER_AXES:
        corners = [(place, box(place)) for place in itertools.product((0.0, 1.0), repeat=len(axes))]
    else:
        corners = _chosen_corners(box, point, axes, definitions)
    bands = {}
    for definition in definitions:
        name = definition.name
        seen = [
            v for found in (centre, *(c for _, c in corners)) if exists(v := found.get(name), definition.unit)
        ]
        if not seen:
            continue
        seen += _where_it_ends(box, corners, definition)
        low, high = min(seen), max(seen)
        if definition.interior and axes:
            low = min(low, -_climb(box, corners, name, -1.0))
            high = max(high, _climb(box, corners, name, 1.0))
        bands[name] = (low, high)
    return bands


def _where_it_ends(
    box: _Box, corners: list[tuple[tuple[float, ...], dict[str, float]]], definition: Value
) -> list[float]:
    """A value that some corners have and others have not, at its last points along the edges between those.

    A monotone value that ends inside the box (a firing angle, beyond which nothing fires) has its extremes there.
    """
    name = definition.name

    def has(place: tuple[float, ...]) -> bool:
        return exists(box(place).get(name), definition.unit)

    def closer(edge: _Edge, halvings: int) -> _Edge:
        """The edge closed in on the end of the value."""
        place, i, inside, outside = edge
        for _ in range(halvings):
            middle = (inside + outside) / 2
            inside, outside = (
                (middle, outside) if has(place[:i] + (middle,) + place[i + 1 :]) else (inside, middle)
            )
        return place[:i] + (inside,) + place[i + 1 :], i, inside, outside

    with_it = [place for place, found in corners if exists(found.get(name), definition.unit)]
    if len(with_it) == len(corners):
        return []
    rising: list[_Edge] = []
    falling: list[_Edge] = []
    for place in with_it:
        for i, share in enumerate(place):
            if not has(place[:i] + (1.0 - share,) + place[i + 1 :]):
                edge = closer((place, i, share, 1.0 - share), _FIRST)
                (rising if box(edge[0])[name] >= box(place)[name] else falling).append(edge)
    for edges, best_first in ((rising, True), (falling, False)):
        for _ in range(_ROUNDS):  # each round closes in on the outer half of the edges that are left
            edges.sort(key=lambda edge: box(edge[0])[name], reverse=best_first)
            edges[:] = [closer(edge, _HALVINGS) for edge in edges[: max(2, len(edges) // 2)]]
    return [box(edge[0])[name] for edge in rising + falling]


def _chosen_corners(
    box: _Box, point: Point, axes: list[Axis], definitions: Iterable[Value]
) -> list[tuple[tuple[float, ...], dict[str, float]]]:
    """Two corners a value: where the direction in which each axis moves it at the middle of the box leads. Where another
    value's corner is better, another regime begins on the way, and it is followed along the edges from there."""
    middle = (0.5,) * len(axes)
    ends = [tuple(box(middle[:i] + (end,) + middle[i + 1 :]) for end in (0.0, 1.0)) for i in range(len(axes))]
    own: dict[tuple[str, float], tuple[float, ...]] = {}
    for definition in definitions:
        name = definition.name
        rising = tuple(1.0 if (b.get(name) or 0.0) >= (a.get(name) or 0.0) else 0.0 for a, b in ends)
        own[name, 1.0], own[name, -1.0] = rising, tuple(1.0 - share for share in rising)
    places = set(own.values())
    for (name, sign), corner in own.items():
        best = max(sorted(places), key=lambda place: _height(box, place, name, sign))  # noqa: B023 - used at once
        if _height(box, best, name, sign) > _height(box, corner, name, sign):
            places.add(_along_edges(box, best, name, sign))
    return [(place, box(place)) for place in sorted(places)]


def _height(box: _Box, place: tuple[float, ...], name: str, sign: float) -> float:
    value = box(place).get(name)
    return -math.inf if value is None or math.isnan(value) else sign * value


def _along_edges(box: _Box, corner: tuple[float, ...], name: str, sign: float) -> tuple[float, ...]:
    """The corner that no edge leaves for a larger sign·value; one where the value ends is no way on."""
    best, left, i = _height(box, corner, name, sign), len(corner), 0
    while left:  # until no edge in a round has led on
        place = corner[:i] + (1.0 - corner[i],) + corner[i + 1 :]
        there = _height(box, place, name, sign)
        if there > best:
            corner, best, left = place, there, len(corner)
        left -= 1
        i = (i + 1) % len(corner)
    return corner


def _climb(
    box: _Box, corners: list[tuple[tuple[float, ...], dict[str, float]]], name: str, sign: float
) -> float:
    """The largest sign·value reached from the best corner by going along one axis after another."""

    def of(found: dict[str, float]) -> float:
        value = found.get(name)
        return -math.inf if value is None or math.isnan(value) else sign * value

    def height(place: tuple[float, ...]) -> float:
        return of(box(place))

    corner, _ = max(corners, key=lambda corner: of(corner[1]))
    if len(corner) > MOST_CORNER_AXES:
        return _climb_from(height, corner)
    middle = (0.5,) * len(corner)  # a ridge across the box may be out of reach from any corner
    reached = _climb_from(height, corner)
    return max(reached, _climb_from(height, middle)) if _bends(height, middle) else reached


def _bends(height: Callable[[tuple[float, ...]], float], place: tuple[float, ...]) -> bool:
    """Whether a line along any axis through the place has its highest point inside."""
    lines = (lambda s, i=i: height((*place[:i], s, *place[i + 1 :])) for i in range(len(place)))
    return not all(_higher_end(line)[1] for line in lines)


def _higher_end(height: Callable[[float], float]) -> tuple[float, bool]:
    """The end of an axis that is higher, and whether it is still rising there: with one extreme none lies inside then."""
    end = max((0.0, 1.0), key=height)
    return end, height(end) > -math.inf and height(end) >= height(abs(end - _NUDGE))


def _climb_from(height: Callable[[tuple[float, ...]], float], place: tuple[float, ...]) -> float:
    """The largest height reached from a place by going along one axis after another."""
    best = height(place)
    for _ in range(4):
        before = best
        for i in range(len(place)):
            before_it, after_it = place[:i], place[i + 1 :]
            share, reached = _along(lambda s: height((*before_it, s, *after_it)))  # noqa: B023 - used at once
            if reached > best:
                place, best = place[:i] + (share,) + place[i + 1 :], reached
        if best <= before + abs(before) * 1e-9:
            break
    return best


def _along(height: Callable[[float], float]) -> tuple[float, float]:
    """(share, height) of the highest point along one axis, looking past a few samples and then closing in."""
    end, rises = _higher_end(height)
    if rises:
        return end, height(end)
    samples = [0.0, _NUDGE, 0.25, 0.5, 0.75, 1.0 - _NUDGE, 1.0]
    heights = [height(s) for s in samples]
    top = max(range(len(samples)), key=lambda i: heights[i])
    if samples[top] in (0.0, 1.0):
        return samples[top], heights[top]
    a, b = samples[max(0, top - 1)], samples[min(len(samples) - 1, top + 1)]
    best = (samples[top], heights[top])
    c, d = b - _GOLDEN * (b - a), a + _GOLDEN * (b - a)
    hc, hd = height(c), height(d)
    for _ in range(24):
        best = max(best, (c, hc), (d, hd), key=lambda pair: pair[1])
        if b - a < 1e-6:
            break
        if hc >= hd:
            b, d, hd = d, c, hc
            c = b - _GOLDEN * (b - a)
            hc = height(c)
        else:
            a, c, hc = c, d, hd
            d = a + _GOLDEN * (b - a)
            hd = height(d)
    return best
