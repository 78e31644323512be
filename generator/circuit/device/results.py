"""What a meter shows at every net, sound: in each state, direct and alternating, with its band; ohms with the plug out.

A band ends where every tolerance stands at the end that moves the net that way: worst case, as everywhere here. On the
direct-current side that circuit is solved, so that no sum of small steps leaves what a transistor or a zener allows.
"""

from __future__ import annotations

import math
from collections.abc import Generator, Iterable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from generator.circuit.device.clamps import clipped
from generator.circuit.device.nets import is_inner
from generator.circuit.device.states import RISE_UNSURE, Changed, fired, lightly_loaded, together
from generator.circuit.network.primitives import Array
from generator.circuit.network.sensitivity import functionals, shown
from generator.circuit.network.sources import Rail
from generator.circuit.network.tolerances import ends_of
from generator.circuit.network.variants import Wanted, in_step, solve_all

if TYPE_CHECKING:
    from generator.circuit.device.device import Device
    from generator.circuit.network.around import Around
    from generator.circuit.network.reading import Reading
    from generator.circuit.network.solution import Solution

NARROW = (0.05, 0.1)  # V, and of the volts: a band so wide is a sum of small steps
LEAST = 1e-6  # V below which a net is at 0
AC_FROM = 1e-3  # V RMS: below it a net has no alternating voltage


def nets(device: Device) -> dict[str, Any]:
    """note.json's `nets`: name -> {"at": names, "volts": {state: {"dc", "ac"}}, "ohms"}."""
    direct, alternating = _direct(device), _alternating(device)
    ohms = _ohms(device)
    found: dict[str, Any] = {}
    for net, members in device.members.items():
        terminals = [member for member in members if not is_inner(member)]
        if not terminals or net not in {n for e in device.elements.values() for n in e.nets}:
            continue
        volts: dict[str, Any] = {}
        for state in device.states:
            shown = {}
            if net in direct and not device.is_mains_net(net):
                shown["dc"] = direct[net][state.name]
            if net in alternating:
                shown["ac"] = alternating[net][state.name]
            volts[state.name] = shown
        found[terminals[0]] = {"at": terminals, "volts": volts}
        if net in ohms:
            found[terminals[0]]["ohms"] = ohms[net]
    return found


def _told(value: float, low: float, high: float) -> dict[str, float]:
    low, high = min(low, value), max(high, value)
    return {"value": _zero(value), "low": _zero(low), "high": _zero(high)}


def _zero(value: float) -> float:
    return 0.0 if abs(value) < LEAST else float(f"{value:.6g}")


def _direct(device: Device) -> dict[str, dict[str, dict[str, float]]]:
    """Volts against the net's own common, for nets of the direct-current side."""
    system = device.system
    found: dict[str, dict[str, dict[str, float]]] = {net: {} for net in system.nets}
    solve_ends(device, (state.name for state in device.states))
    for row, state in enumerate(device.states):
        x = device.solved.point.x[row]
        low, high = ends(device, state.name)
        for net in system.nets:
            at = system.index[net]
            found[net][state.name] = (
                _told(0.0, 0.0, 0.0) if at == system.size else _told(x[at], low[at], high[at])
            )
    return found


def ends(device: Device, state: str) -> tuple[Array, Array]:
    """The lowest and the highest of every net of the direct-current side in a state, worked out once.

    Which end of a tolerance moves a net which way is what it does by itself, as all else bends at the nominal point. What
    they do together is the sum where that is little (NARROW); else the corner where all of them stand is solved.
    """
    row = device.row(state)
    low, high, _ = _ends(device, [row])[row]
    return low, high


def solve_ends(device: Device, states: Iterable[str]) -> None:
    """Works out the ends of several states at once, which costs less than one after the other."""
    _ends(device, sorted({device.row(state) for state in states}))


def reach(device: Device, wanted: Sequence[tuple[str, Reading]]) -> list[tuple[float, float, float]]:
    """(lowest, nominal, highest) of the volts between any two nets, or of a current, each in a state: of all corners at which
    tolerances move it most, by themselves or as they move a net."""
    asked = [(device.row(state), reading) for state, reading in wanted]
    rows = sorted({row for row, _ in asked})
    each, both = _each_end(device, rows, near=False), _ends(device, rows)
    nominal = [float(functionals(_around(device, row), [reading])[0][0]) for row, reading in asked]
    corners = [
        _corners(device, row, each[row], reading, value) for (row, reading), value in zip(asked, nominal)
    ]
    chosen = solve_all([_wanted(device, row, own) for (row, _), own in zip(asked, corners)])
    found = []
    for (row, reading), value, own in zip(asked, nominal, chosen):
        solutions = [each[row].solution, own, *both[row].corners]
        values = np.concatenate([[value], *(shown(one, [reading])[one.good, 0] for one in solutions)])
        found.append((float(values.min()), value, float(values.max())))
    return found


def _corners(device: Device, row: int, each: _Each, reading: Reading, nominal: float) -> list[Changed]:
    """Where all tolerances stand as they move a reading most by themselves."""
    moved, least = shown(each.solution, [reading])[:, 0] - nominal, LEAST * max(1e-3, abs(nominal))
    patterns = [_pattern(way * moved[0::2], way * moved[1::2], least) for way in (-1.0, 1.0)]
    # what does nothing by itself may do much where all else stands at its end: a battery behind a regulator
    patterns = [np.where(pattern, pattern, rest) for pattern in patterns for rest in (-1, 0, 1)]
    return [_corner(device, row, each.pairs, pattern) for pattern in patterns]


def _around(device: Device, row: int) -> Around:
    return device.around(device.states[row].name)


def _wanted(device: Device, row: int, changes: Sequence[Changed], *, near: bool = False) -> Wanted:
    """What is to be solved: changes of a state."""
    around = _around(device, row)
    return Wanted(around, around.changes(changes, device.solved.changes[row]), near)


class _Each(NamedTuple):
    """The ends of each tolerance axis of the direct-current side in a state, and what each does by itself."""

    pairs: list[tuple[Changed, Changed]]
    solution: Solution


def _each_end(device: Device, rows: Sequence[int], *, near: bool) -> dict[int, _Each]:
    """Of some states, worked out once. near: as all else bends at the nominal point."""
    known: dict[int, _Each] = device.kept.setdefault(("each end", near), {})
    fresh = [row for row in rows if row not in known]
    if fresh:
        axes = [axis for axis in device.axes if any(name in device.system.of for name in axis.moves)]
        pairs = [
            [axis.ends(device.system.nominal, device.solved.changes[row]) for axis in axes] for row in fresh
        ]
        wanted = [
            _wanted(device, row, [end for pair in own for end in pair], near=near)
            for row, own in zip(fresh, pairs)
        ]
        known.update(zip(fresh, map(_Each, pairs, solve_all(wanted))))
    return known


class _Ends(NamedTuple):
    """Lowest, highest of every net in a state, and the corners that were solved."""

    low: Array
    high: Array
    corners: list[Solution]


def _ends(device: Device, rows: Sequence[int]) -> dict[int, _Ends]:
    """Of some states, worked out once."""
    known: dict[int, _Ends] = device.kept.setdefault("ends", {})
    fresh = [row for row in rows if row not in known]
    if fresh:
        each = _each_end(device, fresh, near=True)
        known.update(zip(fresh, in_step([_solved_ends(device, row, each[row]) for row in fresh])))
    return known


def _solved_ends(device: Device, row: int, each: _Each) -> Generator[Wanted, Solution, _Ends]:
    around = _around(device, row)
    both = each.solution.x - around.x
    down, up = both[0::2], both[1::2]
    low = around.x + np.minimum(0.0, np.minimum(down, up)).sum(0)
    high = around.x + np.maximum(0.0, np.maximum(down, up)).sum(0)
    wide = high - low > NARROW[0] + NARROW[1] * np.abs(around.x)
    nets = [
        at
        for net, at in device.system.index.items()
        if at < device.system.voltages and wide[at] and not is_inner(net)
    ]
    if not nets:
        return _Ends(low, high, [])
    corners: dict[bytes, list[int]] = {}  # which end of each axis -> the nets that it moves most
    chosen: list[Changed] = []
    for at in nets:
        for way in (-1.0, 1.0):
            pattern = _pattern(way * down[:, at], way * up[:, at])
            if pattern.any():
                if pattern.tobytes() not in corners:
                    chosen.append(_corner(device, row, each.pairs, pattern))
                corners.setdefault(pattern.tobytes(), []).append(at)
    solved = yield _wanted(device, row, chosen)
    found = {at: [around.x[at]] for at in nets}
    for x, good, moved in zip(solved.x, solved.good, corners.values()):
        for at in moved if good else ():
            found[at].append(x[at])
    for at, values in found.items():
        low[at], high[at] = min(values), max(values)
    for x in solved.x[solved.good]:  # a flat battery takes a rail along whose own tolerances are narrow
        low, high = np.minimum(low, x), np.maximum(high, x)
    return _Ends(low, high, [solved])


def _pattern(down: Array, up: Array, least: float = LEAST) -> Array:
    """Which end of each axis moves a reading more in a direction: -1, 1, or 0 where neither does by more than the least."""
    found = np.where(up > down, 1, -1).astype(np.int8)
    found[np.maximum(down, up) <= least] = 0
    return found


def _corner(device: Device, row: int, ends: Sequence[tuple[Changed, Changed]], pattern: Array) -> Changed:
    """The parameters of a state with every axis at the end that the pattern says; one that several axes move is moved by each."""
    found: Changed = {}
    for end, way in zip(ends, pattern):
        for name, parameters in end[1 if way > 0 else 0].items() if way else ():
            there = found.setdefault(name, {})
            before = {**device.system.nominal[name], **device.solved.changes[row].get(name, {})}
            for key, value in parameters.items():
                first = before[key]
                now = there.get(key, first)
                there[key] = now * (value / first) if first and math.isfinite(first) else value
    return found


def _alternating(device: Device) -> dict[str, dict[str, dict[str, float]]]:
    """Volts RMS against neutral, or between a secondary's ends, for nets of the mains side."""
    side = device.side
    of = {net: device.common_of(net) for net in side.index if device.is_mains_net(net)}
    found: dict[str, dict[str, dict[str, float]]] = {net: {} for net in of}
    if not of:
        return found
    axes = [axis for axis in device.axes if any(name in side.elements for name in axis.moves)]
    for row, state in enumerate(device.states):
        own = device.solved.changes[row]
        rails = [e.name for e in device.elements.values() if isinstance(e, Rail) and e.fed]
        loaded = {rail: float(device.solved.point.amperes(rail)[row]) for rail in rails}
        lifted = lightly_loaded(device, own, loaded)
        own = together(own, lifted)
        corners = [{}, *ends_of(axes)]
        late = fired(device, corners, own)
        solved = side.solve([together(*both) for both in zip(corners, late)], own)
        for net, common in of.items():
            volts = clipped(device, net, row, solved.volts(net, common))
            off = volts[1:] - volts[0]
            down, up = off[0::2], off[1::2]
            low = volts[0] + np.minimum(0.0, np.minimum(down, up)).sum()
            high = volts[0] + np.maximum(0.0, np.maximum(down, up)).sum()
            rises = [p["above"] for name, p in lifted.items() if net in side.elements[name].nets[2:]]
            unsure = RISE_UNSURE * abs(sum(rises)) * volts[0]
            found[net][state.name] = _told(
                float(volts[0]), max(0.0, float(low - unsure)), float(high + unsure)
            )
    return {
        net: states
        for net, states in found.items()
        if of[net] or any(s["value"] > AC_FROM for s in states.values())
    }


def _ohms(device: Device) -> dict[str, dict[str, float]]:
    """Ohms from each net to its own common with the plug out; nets without a path are left out."""
    unplugged = device.unplugged()
    pairs = [
        (net, common)
        for net in unplugged.nets
        if (common := device.common_of(net)) and common != net and common in unplugged.nets
    ]
    found = {}
    for (net, _common), (value, low, high) in zip(pairs, unplugged.bands(pairs, device.axes_unplugged)):
        if math.isfinite(value):
            found[net] = _told(value, low, high)
    return found
