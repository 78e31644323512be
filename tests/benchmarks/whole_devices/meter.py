"""A hand-held meter and the person who writes down what it shows.

Accuracy as such meters state it: 0.5 % of DC volts, 1 % of AC volts, ohms and the diode range, some digits
each, for a display of 2,000 or 6,000 counts (generic data sheets, from memory). One meter's gain error is
the same in all readings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

OPEN_FROM = {2000: 20e6, 6000: 60e6}
SHARE = {"dc": 0.005, "ac": 0.01, "ohms": 0.01, "diode": 0.01}
DIGITS = {"dc": 2, "ac": 5, "ohms": 2, "diode": 1}
LEADS = 0.2  # ohm


@dataclass(frozen=True)
class Written:
    """What was written, the number that it stands for, and how far off that may be (one sigma)."""

    text: str
    value: float
    sigma: float


class Meter:
    """One meter and one person: "4.98 V", "5.0 V" or "about 5 V"."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.counts = int(rng.choice([2000, 6000]))
        self.gain = {
            kind: float(np.clip(rng.normal(0, share / 2), -share, share)) for kind, share in SHARE.items()
        }

    def read(self, kind: str, true: float) -> Written:
        """kind is dc, ac, ohms or diode; true in V or ohm."""
        if kind == "diode" and true > 1.99:
            return Written("OL", 2.0, 0.02)
        if kind == "ohms" and true > OPEN_FROM[self.counts]:
            return Written("open", OPEN_FROM[self.counts], 0.0)
        if kind == "ohms":
            true += LEADS * self.rng.uniform(0.3, 1.5)
        step = self._step(kind, abs(true))
        digits = DIGITS[kind]
        shown = true * (1 + self.gain[kind]) + step * float(
            np.clip(self.rng.normal(0, digits / 2), -digits, digits)
        )
        shown = round(shown / step) * step
        if kind in ("ohms", "ac", "diode"):
            shown = max(shown, 0.0)
        if kind in ("dc", "ac", "diode") and abs(shown) < 0.004:  # nobody writes 0.3 mV for nothing
            return Written("0 V AC" if kind == "ac" else "0 V", 0.0, 0.003)
        style = self.rng.choice(["full", "short", "about"], p=[0.5, 0.38, 0.12])
        if abs(shown) < 20 * step:
            style = "full"
        kept = {"full": step, "short": max(step, _unit(shown, 3)), "about": max(step, _unit(shown, 2))}[style]
        number = round(shown / kept) * kept
        sigma = math.hypot(SHARE[kind] * abs(true) / 2, digits * step / 2, kept / 3.5)
        return Written(("about " if style == "about" else "") + _text(kind, number, kept), number, sigma)

    def _step(self, kind: str, size: float) -> float:
        top = 0.2 if self.counts == 2000 else 0.6
        if kind == "ohms":
            top *= 1000
        elif kind == "diode":
            top = 2.0
        elif kind == "ac":
            top = max(top, 2.0 if self.counts == 2000 else 6.0)
        while size >= top:
            top *= 10
        return top / self.counts


def _unit(value: float, figures: int) -> float:
    return 10.0 ** (math.floor(math.log10(abs(value))) - figures + 1) if value else 0.0


def _text(kind: str, number: float, step: float) -> str:
    if kind == "ohms":
        for scale, letter in ((1e6, "M"), (1e3, "k"), (1.0, " ohm")):
            if abs(number) >= scale or scale == 1:
                return f"{number / scale:.{_places(step / scale)}f}{letter}"
    if kind == "dc" and abs(number) < 0.2 and step <= 2e-4:
        return f"{number * 1000:.{_places(step * 1000)}f} mV"
    return f"{number:.{_places(step)}f} V" + (" AC" if kind == "ac" else "")


def _places(step: float) -> int:
    return max(0, -math.floor(math.log10(step) + 1e-9))
