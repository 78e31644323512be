"""What is left across a fuse that is whole, and what opens it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from generator.circuit.network.element import Number

if TYPE_CHECKING:
    from generator.notation.parts import Part

# ohm of a thermal fuse, of a fuse whose rating is not stated or of another part that is next to nothing at work, and its
# ends (data sheets, from memory)
LINK_OHMS = 0.05, 0.01, 0.3
# ohm of a cold fuse by its rating in A: at 1 A, and the power with which it falls; the same of its least and its most, and
# what clips and holder add. 0.2 to 0.5 ohm at 500 mA, some 5 mohm at 10 A (data sheets of 5x20 mm fuses, from memory).
FUSE_OHMS, FUSE_FALLS, FUSE_BAND, HOLDER = 0.12, 1.4, (0.5, 1.6), 0.05
# times its rated power, where a fusible resistor opens within seconds (data sheets, from memory)
FUSES = 25.0
BLOWS = 4.0  # times its rating, where a fuse opens within the second (IEC 60127's curves, from memory)


def rating_of(fuse: Part | None) -> float:
    """A at which a fuse is rated, inf for what is none (a thermal fuse) or states none."""
    stated = fuse is not None and fuse.part_class == "fuse" and fuse.value is not None
    return fuse.value.middle if stated and fuse.value.unit == "A" else math.inf  # type: ignore[union-attr]


def fuse_ohms(axis: str, rating: float) -> Number:
    """What is left across a sound fuse of a rating in A, ohm; inf for one that is not known."""
    if math.isinf(rating):
        return Number(LINK_OHMS[0], ((axis, *LINK_OHMS[1:]),))
    ohms = FUSE_OHMS / rating**FUSE_FALLS
    low, high = (ohms * share for share in FUSE_BAND)
    return Number(ohms + HOLDER / 2, ((axis, low, high + HOLDER),))
