"""Where a band and a reading lie on a scale that holds both."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

DECADES = 30.0  # from here on a scale has steps of ten: on an even one the lower end could not be seen
FAR = 20.0  # times the band's end: a reading beyond that would leave nothing of the band to see
MARGIN = 0.08  # of the scale's length, left free at its ends


@dataclass(frozen=True)
class Scale:
    """Where band and reading lie on a scale, in per cent of its length. beyond: the reading has no end on it."""

    low: float
    high: float
    read: float
    beyond: bool


def scale(low: float, high: float, read: float) -> Scale | None:
    """low, high: the band; read: the reading, inf or nan where it has no end. None where the band begins nowhere."""
    if not math.isfinite(low):
        return None
    high = high if math.isfinite(high) else max(low * 2, read if math.isfinite(read) else 0)
    beyond = not math.isfinite(read) or read > FAR * max(abs(high), abs(low)) > 0
    ends = [low, high] if beyond else [low, high, read]
    first, last = min(ends), max(ends)
    if first == last:
        first, last = (first * 0.5, last * 1.5) if first else (-1.0, 1.0)
    if first > 0 and last / first > DECADES:
        place = _by_decades(first, last)
    else:
        first = 0.0 if 0 < first < 0.6 * last else first
        room = (last - first) * MARGIN
        place = _evenly(first - (room if first else 0.0), last + room)
    return Scale(place(low), place(high), 100.0 if beyond else place(read), beyond)


def _evenly(first: float, last: float) -> Callable[[float], float]:
    return lambda value: round(100 * (value - first) / (last - first), 1)


def _by_decades(first: float, last: float) -> Callable[[float], float]:
    low, high = math.log(first) - 0.2, math.log(last) + 0.2
    return lambda value: round(100 * (math.log(max(value, first)) - low) / (high - low), 1)
