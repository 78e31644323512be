"""What failed in the library before, beside what a note's readings say: by how much it moves the shares."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from generator.diagnosis.past import Shared, sharpened

TOLD = 3  # failures
WORTH_TELLING = 3  # per cent


@dataclass(frozen=True)
class Moved:
    """A failure with its share in per cent by the readings alone, and by the library's past as well."""

    name: str
    alone: int
    both: int


def moved(fits: Sequence[Shared], rates: Mapping[str, float]) -> list[Moved]:
    """The failures whose shares the past moves so much that it is worth telling, likeliest first."""
    told = [
        Moved(fit.name, round(100 * fit.share), round(100 * share))
        for fit, share in zip(fits, sharpened(fits, rates))
    ]
    return sorted(
        (own for own in told if abs(own.both - own.alone) >= WORTH_TELLING), key=lambda own: -own.both
    )[:TOLD]
