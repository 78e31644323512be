"""Where a function is zero."""

from __future__ import annotations

import math
from collections.abc import Callable

STEPS = 240  # looked at between the ends of a range, so that a value that turns back is met as well


def root(f: Callable[[float], float], low: float, high: float, *, tolerance: float = 1e-12) -> float:
    """A zero of f between low and high, where its sign changes; the end nearer zero where it does not.

    Regula falsi with the Illinois step, so that a smooth f takes about ten calls. tolerance is relative to the span.
    """
    f_low, f_high = f(low), f(high)
    if f_low == 0 or f_high == 0 or f_low * f_high > 0:
        return low if abs(f_low) <= abs(f_high) else high
    stop = abs(high - low) * tolerance
    side = 0
    for _ in range(100):
        middle = (f_low * high - f_high * low) / (f_low - f_high)
        f_middle = f(middle)
        if f_middle * f_high > 0:
            if abs(high - middle) <= stop:
                return middle
            high, f_high = middle, f_middle
            f_low, side = (f_low / 2, -1) if side == -1 else (f_low, -1)
        else:
            if abs(middle - low) <= stop:
                return middle
            low, f_low = middle, f_middle
            f_high, side = (f_high / 2, 1) if side == 1 else (f_high, 1)
    return (low + high) / 2


def first_root(f: Callable[[float], float], low: float, high: float) -> float | None:
    """The first place from below where f changes its sign, by ratio where both ends are above zero; None where it does not.

    f may be nan or infinite in places.
    """
    shares = [step / STEPS for step in range(STEPS + 1)]
    ratio = low > 0
    sizes = [low * (high / low) ** share if ratio else low + (high - low) * share for share in shares]
    last: tuple[float, float] | None = None
    for size in sizes:
        here = f(size)
        if math.isnan(here) or math.isinf(here):
            last = None
            continue
        if here == 0:
            return size
        if last is not None and last[1] * here < 0:
            if ratio:
                return math.exp(root(lambda x: f(math.exp(x)), math.log(last[0]), math.log(size)))
            return root(f, last[0], size)
        last = (size, here)
    return None
