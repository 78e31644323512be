"""A bench for fault injection: circuits with real part values, faults put into them, and a meter with errors.

Shares no code with the generator: what a part does, how it fails and what a meter shows is written here afresh.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass

OPEN = 1e12  # ohm of a broken part
METER = 10e6  # ohm, input resistance of a hand-held multimeter; common practice, no source

Values = dict[str, float]
Failed = tuple[str, str]  # part and how it has failed; SOUND for none
Shown = dict[
    str, float | None
]  # value -> what stands at the meter; None: cannot be read so; inf: open, or never
SOUND: Failed = ("", "")

# How sorts of parts fail, with the strength of the drifts (DESIGN: resistor high x2, capacitor low /5).
MODES: dict[str, tuple[str, ...]] = {
    "R": ("open", "high"), "C": ("open", "short", "low"), "T": ("open", "short"), "D": ("open", "short"),
    "switch": ("open", "short", "high resistance"), "one": ("open",), "varistor": ("short",), "sound": (),
}  # fmt: skip
LEAKY_BELOW = 1e-13  # F that are left of a broken capacitor


@dataclass(frozen=True)
class Real:
    """A part: what the block calls it, its sort (a key of MODES), nominal value and tolerance as a share."""

    name: str
    sort: str
    value: float = 0.0
    tolerance: float = 0.0


@dataclass(frozen=True)
class Bench:
    """A circuit on the bench. measure(values by part name, failure) gives what a perfect meter would show."""

    kind: str
    parameters: Mapping[str, object]
    parts: tuple[Real, ...]
    measure: Callable[[Values, Failed], Shown]
    mains: bool = False  # "mains" is among the values: 230 V within 10 %
    severe: tuple[float, float] = (
        1.0,
        1.0,
    )  # between what "severity" is drawn: how bad a bad contact is, and the like

    @property
    def faults(self) -> list[Failed]:
        return [(part.name, mode) for part in self.parts for mode in MODES[part.sort]]

    def drawn(self, chance: random.Random, corners: bool = False) -> Values:
        """Values within the tolerances, and the mains within its band (EN 50160)."""

        def share() -> float:
            return chance.choice((-1.0, 1.0)) if corners else chance.uniform(-1, 1)

        values = {part.name: part.value * (1 + part.tolerance * share()) for part in self.parts}
        if self.mains:
            values["mains"] = 230.0 * (1 + 0.1 * share())
        low, high = self.severe
        values["severity"] = low * (high / low) ** ((1 + share()) / 2)
        return values

    def shown(self, values: Values, failed: Failed, factor: float | None = None) -> Shown:
        """What a perfect meter would show with one part failed; factor: of a drifted part's value."""
        return self.measure(self.broken(values, failed, factor), failed)

    def broken(self, values: Values, failed: Failed, factor: float | None = None) -> Values:
        name, mode = failed
        sort = next((part.sort for part in self.parts if part.name == name), "")
        values = dict(values)
        if sort in ("R", "T") and mode == "open":
            values[name] = OPEN
        elif sort == "T" and mode == "short":
            values[name] = 1e-3
        elif sort == "C" and mode == "open":
            values[name] = LEAKY_BELOW
        elif factor is not None:
            values[name] *= factor
        elif mode == "high":
            values[name] *= 2.0
        elif mode == "low":
            values[name] /= 5.0
        return values


# --- the meter ------------------------------------------------------------------------------------------------------

_SMALLEST_RANGE = {"V": 0.2, "A": 200e-6, "ohm": 200.0, "F": 2e-9, "Hz": 200.0}
_PREFIXES = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u"), (1e-9, "n"))
_NAMES = {"ohm": "ohm", "degree": "degree", "": ""}


def last_digit(value: float, unit: str) -> float:
    """What a count stands for on a 3½-digit display (1999) in the range that holds the value."""
    full = _SMALLEST_RANGE.get(unit, 2e-3)
    while full < abs(value):
        full *= 10
    return full / 2000


def accuracy(value: float, unit: str) -> float:
    """Half width of a hand-held meter's error, in unit: 1 % and 3 counts; times, angles, shares: 1 %."""
    counted = 3 * last_digit(value, unit) if unit in _SMALLEST_RANGE else 0.0
    return 0.01 * abs(value) + counted


def display(value: float, unit: str, chance: random.Random) -> str:
    """The display's text for a value at its terminals, errors included."""
    if math.isinf(value) or (unit == "ohm" and value > 20e6):
        return "open" if unit == "ohm" else "never"
    read = value + chance.uniform(-1, 1) * accuracy(value, unit)
    step = last_digit(read, unit)
    read = max(0.0, round(read / step) * step) if unit != "°C" else round(read, 1)
    if unit not in ("V", "A", "ohm", "s", "Hz", "F"):
        return f"{read:.4g} {_NAMES.get(unit, unit)}".strip()
    size, prefix = next(((s, p) for s, p in _PREFIXES if max(read, step) >= s * 0.999), _PREFIXES[-1])
    digits = max(0, -math.floor(math.log10(step / size) + 1e-9))
    return f"{read / size:.{digits}f} {prefix}{unit}"
