"""What a meter shows at places of the sound device, with its band: as results.py has nets, every tolerance at its worst end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from generator.circuit.device.results import ends, reach, solve_ends
from generator.circuit.network.reading import Reading
from generator.circuit.network.tolerances import SURROUNDINGS

if TYPE_CHECKING:
    from generator.circuit.device.device import Device
    from generator.circuit.device.places import Place


def ohms_band(device: Device, place: Place, middle: float) -> tuple[float, float] | None:
    """The band of a resistance (ohm, middle: nominal) with the plug out, each tolerance by itself exactly, as `nets` has it.
    None where windings of unstated ohms lie beside it, which that does not know, and for a part by itself."""
    if place.alone:
        return None
    # a named value says itself what it stands in
    axes = [axis for axis in device.axes_unplugged if not (place.value and axis.name in SURROUNDINGS)]
    ((value, low, high),) = device.unplugged().bands([(place.plus, place.minus)], axes)
    return (low, high) if math.isclose(value, middle, rel_tol=1e-3) else None


def solved_bands(
    device: Device, asked: Sequence[tuple[str, Place, str]]
) -> list[tuple[float, float, float] | None]:
    """(low, nominal, high) of volts or currents where every tolerance at its worst end was solved, for a net against its common
    as the chart has it: what bends is not made straight. None where a reading is something else than that. asked: how it is
    measured, where, and in which state."""
    found: list[tuple[float, float, float] | None] = [None] * len(asked)
    solve_ends(device, (state for how, _, state in asked if how in ("volts", "amps")))
    between: dict[int, tuple[str, Reading]] = {}
    index = device.system.index
    for n, (how, place, state) in enumerate(asked):
        stands = any(axis.name in SURROUNDINGS for axis in device.axes) and place.value
        other = how not in ("volts", "amps") or place.ac or place.failed or place.put or place.times != 1.0
        if other or stands or place.plus not in index:
            continue
        if how == "amps":
            between[n] = state, Reading(place.plus, element=place.element)
        elif place.minus == device.common_of(place.plus):
            at = index[place.plus]
            if at < device.system.size:
                low, high = (float(end[at]) for end in ends(device, state))
                found[n] = low, float(device.solved.point.x[device.row(state)][at]), high
        elif place.minus in index:
            between[n] = state, Reading(place.plus, place.minus)
    for n, (low, whole, high) in zip(between, reach(device, list(between.values()))):
        turned = asked[n][1].either and whole < 0
        found[n] = (-high, -whole, -low) if turned else (low, whole, high)
    return found
