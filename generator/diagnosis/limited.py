"""Regulators and converters that are asked for more than they can give: nobody states how much that is, so it lies between a low and
a high limit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.device.states import Changed, together
from generator.circuit.network.chips import Regulator
from generator.circuit.network.converted import Converted
from generator.circuit.network.newton import currents

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.circuit.network.compile import System
    from generator.circuit.network.solution import Solution

# A that a regulator gives at most, least and most of them, and as a multiple of what it gives in the sound device: from
# 100 mA types to those for 1.5 A, which give 2.2 A; from memory, data sheets
LIMITS = (0.3, 1.3), (2.0, 3.0)
# times the current that is printed on one, where the note states it; from memory, data sheets
OF_RATED = (1.0, 2.5)
# times the current at which a converter's controller gives in, from where it may; and of what it then gives on average, from one that
# only tries again now and then to one that goes on at its limit (common practice, no source)
GIVES_IN, TRIES, GOES_ON = 0.7, 0.1, 1.5


def limited(
    device: Device, system: System, row: int, variants: Sequence[Changed], solution: Solution
) -> tuple[dict[int, float], list[Changed]]:
    """The variants of a state that may ask too much of what gives them their volts, each with the chance that they do not, every
    limit being as likely on a logarithmic scale; and all of them with a low, then with a high limit."""
    whole: dict[int, float] = {}
    limits: tuple[dict[int, Changed], dict[int, Changed]] = {}, {}
    several = [
        own
        for own in device.elements.values()
        if isinstance(own, Regulator | Converted) and own.name in system.of
    ]
    for element in sorted(several, key=lambda own: isinstance(own, Converted)):
        name = element.name
        from_, *ends = _ends(device, element, row)
        if min(ends) <= 0:  # a converter that does not make anything
            continue
        nothing = np.zeros((1, solution.around.count))  # its current is one of the solution's own numbers
        gives = np.abs(currents(system, solution.x, nothing, name))
        for n in np.flatnonzero(solution.good & (gives > from_)).tolist():
            own, least = {**element.nominal(), **variants[n].get(name, {})}, max(from_, ends[0])
            bears = max(0.0, math.log(ends[1] / gives[n]) / math.log(ends[1] / least))
            whole[n] = min(whole.get(n, 1.0), bears)
            for end, limit in zip(limits, ends):
                # behind a regulator that is held low, a converter has no more to give
                spared = isinstance(element, Converted) and end is limits[0] and any(end.get(n, {}).values())
                held = element.held(own, limit, float(gives[n])) if gives[n] > limit and not spared else {}
                end.setdefault(n, {})[name] = held
    return whole, [together(variants[n], end[n]) for end in limits for n in whole]


def _ends(device: Device, element: Regulator | Converted, row: int) -> tuple[float, float, float]:
    """A from which it may not give more, and what it gives then, least and most."""
    sound = abs(float(device.solved.point.amperes(element.name)[row]))
    if isinstance(element, Converted):
        limit = element.limit.value
        return (
            max(GIVES_IN * limit, LIMITS[1][0] * sound),
            TRIES * limit,
            max(GOES_ON * limit, LIMITS[1][1] * sound),
        )
    rated = _rated(device, element)
    ends = [share * rated for share in OF_RATED] if rated else list(LIMITS[0])
    low, high = (max(limit, times * sound) for limit, times in zip(ends, LIMITS[1]))
    return low, low, high


def _rated(device: Device, element: Regulator) -> float:
    """A that a regulator is rated for, 0 where nobody states it."""
    block = device.blocks.get(element.block)
    part = block.part(element.key) if block is not None else None
    return part.ratings.get("A", 0.0) if part is not None else 0.0
