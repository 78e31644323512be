"""Faults that take a thermal fuse along: an element that stays on, or is on while what cools it stands."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from generator.circuit.device.states import together
from generator.diagnosis.hypotheses import HEALTH, Change, by_failure
from generator.diagnosis.solved import solve_all, state_under

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.circuit.network.element import Element

COOKED = 0.5  # share of the faults that overheat something which do, before somebody measures (common practice, no source)
# what decides whether an element is on and whether its fan turns
DECIDING = frozenset(
    {
        "contact",
        "transistor",
        "mosfet",
        "triac",
        "optocoupler",
        "coil",
        "winding",
        "motor",
        "pin",
        "thermistor",
    }
)
MODES = frozenset({"open", "short", "stalled"})
MOTOR = re.compile(r"M\d+")  # IEC 81346-2
ON = 0.5  # share of what is sound, from which an element heats and a fan turns


def overheating(device: Device, faults: Sequence[Change]) -> list[Change]:
    """The faults that leave an element on where it should be off, or on without its fan, each with the thermal fuse in its
    line open; none where there is no such fuse."""
    fuses = [change for change in faults if change.part_class == "thermal fuse" and change.mode == "open"]
    heaters = [name for name, own in device.side.elements.items() if _is(device, own, "heater")]
    if not fuses or not heaters:
        return []
    tried = _smallest(change for change in faults if change.part_class in DECIDING and change.mode in MODES)
    hot = _overheated(device, heaters, tried)
    return [
        replace(change, weight=change.weight * COOKED / len(fuses), also=fuse, caused=True)
        for fuse in fuses
        for change, own in zip(tried, hot & _fed_through(device, fuse, heaters))
        if own.any()
    ]


def _smallest(faults: Iterable[Change]) -> list[Change]:
    """One of each failure, of a short that with the least ohms, and the weight of all of its sizes."""
    return [
        replace(min(own, key=lambda change: change.size or 0.0), weight=sum(change.weight for change in own))
        for own in by_failure(faults).values()
    ]


def _is(device: Device, element: Element, kind: str) -> bool:
    return element.block in device.blocks and device.blocks[element.block].kind.name == kind


def _fed_through(device: Device, fuse: Change, heaters: Sequence[str]) -> NDArray[np.bool_]:
    """Which elements get no current once a fuse is open, whatever switches them."""
    closed = {name: {"on": 1.0} for name, own in device.elements.items() if own.ac and "on" in own.nominal()}
    cut = {
        own.name: {"ohms": math.inf}
        for own in device.of_part(fuse.block, fuse.key)
        if own.called == fuse.called
    }
    solved = device.side.solve([closed, together(closed, cut)])
    return np.array([solved.amperes(name)[1] < ON * solved.amperes(name)[0] for name in heaters])


def _overheated(device: Device, heaters: Sequence[str], tried: Sequence[Change]) -> NDArray[np.bool_]:
    """(changes, heaters): whether one is on in some state where it should be off, or where a fan should turn and stands."""
    found = np.zeros((len(tried), len(heaters)), bool)
    fans = [own for own in device.elements.values() if MOTOR.fullmatch(own.called) and not own.ac]
    states = [state_under(device, state.name, None) for state in device.states]
    solve_all(states, [HEALTH, *tried])
    for state, there in zip(device.states, states):
        batch = there.solved([HEALTH, *tried])
        side = device.side.solve(
            [together(device.solved.changes[device.row(state.name)], v) for v in batch.variants]
        )
        stands = np.zeros(len(tried) + 1, bool)
        for fan in fans:
            volts = np.abs(batch.solution.volts(fan.nets[0]) - batch.solution.volts(fan.nets[1]))
            own = np.array([change.called == fan.called for change in (HEALTH, *tried)])
            stands |= (volts[0] > 1.0) & (own | (volts < ON * volts[0]))
        for n, name in enumerate(heaters):
            amperes = side.amperes(name)
            on = amperes > ON * max(float(amperes[0]), 1e-3)
            found[:, n] |= (on & (stands | (amperes[0] < 1e-3)))[1:]
    return found
