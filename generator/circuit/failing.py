"""How parts fail: the ways of each class of part, and what becomes of their value."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from generator.circuit.point import Point
from generator.circuit.value import Result

# How each class of part fails (DESIGN: open, short, drift), and nothing else.
MODES: dict[str, tuple[str, ...]] = {
    "resistor": ("open", "high"), "potentiometer": ("open", "high"), "capacitor": ("open", "short", "low"),
    "thermistor": ("open", "short"), "photoresistor": ("open", "short"), "inductor": ("open",),
    "diode": ("open", "short"), "zener": ("open", "short"), "led": ("open", "short"), "diac": ("open", "short"),
    "transistor": ("open", "short"), "mosfet": ("open", "short"), "triac": ("open", "short"),
    "pnp or p-channel transistor": ("open", "short"), "brush": ("open",), "loudspeaker": ("open",),
    "optocoupler": ("open", "short"), "switch": ("open", "short", "high resistance"),
    "contact": ("open", "short", "high resistance"), "fuse": ("open",), "thermal fuse": ("open",),
    "coil": ("open",), "winding": ("open",), "element": ("open",), "varistor": ("short",), "chip": ("open", "short"),
    "cell": ("open", "short"), "any": (),
}  # fmt: skip

HIGH_FACTOR = 2.0  # a resistor gone high
LOW_DIVISOR = 5.0  # a capacitor that has lost its capacitance
BAD_CONTACT_SHARE = (
    0.1  # of the supply across a burnt contact: an assumption, to have a figure to compare with
)


def fail_value(value: float | None, part_class: str, mode: str) -> float | None:
    """What a two-terminal part's value becomes: ohm for resistive parts, farad for capacitors.

    A shorted capacitor keeps its value here: the kind asks point.failed() and computes the short.
    """
    if value is None:
        return None
    if part_class == "capacitor":
        return {"open": 0.0, "low": value / LOW_DIVISOR}.get(mode, value)
    if mode == "open":
        return math.inf
    if mode == "short":
        return 0.0
    return value * HIGH_FACTOR if mode == "high" else value


RESISTIVE = {"resistor", "potentiometer", "thermistor", "photoresistor", "capacitor"}


class FailingPart(NamedTuple):
    """A part of a block that can fail. key: its parameter or extra part; called: its designator or role."""

    key: str
    part_class: str
    called: str
    modes: tuple[str, ...]


@dataclass(frozen=True)
class ExtraPart:
    """A part that a kind has though no parameter states it (the diodes of a rectifier).

    named_by: the parameter that may carry its designator. where: whether this circuit has the part, if not always.
    """

    key: str
    part: str
    role: str
    named_by: str = ""
    where: Callable[[Point], bool] | None = None


@dataclass(frozen=True)
class Failure:
    """One way in which one part fails, and what each measurable value becomes.

    key: the parameter or extra part; part: designator or role. remark: words such as "blows the fuse". dangerous:
    a failure to look for first because of what it does.
    """

    key: str
    part: str
    failed: str
    values: dict[str, Result]
    remark: str = ""
    dangerous: bool = False
