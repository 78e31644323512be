"""Preferred values of IEC 60063: the E series, as published (the E24 rounding is historical, not computed)."""

from __future__ import annotations

import math
from functools import lru_cache

E24 = (1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8,
       7.5, 8.2, 9.1)  # fmt: skip
E96 = tuple(round(10 ** (i / 96), 2) for i in range(96))


@lru_cache(maxsize=4096)
def nearest_preferred(value: float) -> float:
    """The value itself where it is one of E24 or E96, else the value of E24 that is nearest by ratio; above zero.

    Source: IEC 60063.
    """
    decade = math.floor(math.log10(value) + 1e-12)
    mantissa = value / 10**decade
    for series in (E24, E96):
        for step in (*series, 10.0):
            if abs(mantissa - step) <= step * 1e-6:
                return value
    near = min((*E24, 10.0), key=lambda step: abs(math.log(mantissa / step)))
    return float(f"{near * 10**decade:.6g}")


def nearest_in(series: tuple[float, ...], value: float) -> float:
    """The value of a series (E24, E96) that is nearest by ratio; above zero. Source: IEC 60063."""
    decade = math.floor(math.log10(value) + 1e-12)
    near = min((*series, series[0] * 10), key=lambda step: abs(math.log(value / 10**decade / step)))
    return float(f"{near * 10**decade:.6g}")
