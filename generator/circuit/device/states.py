"""A device in each of its states: what is driven, which contacts are closed, what the rails get of the mains, solved."""

from __future__ import annotations

import math
from cmath import phase
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

from generator.circuit.device.circuitry import fired_by
from generator.circuit.network import sources
from generator.circuit.network.charging import CHARGES, OnCharge
from generator.circuit.network.compile import System
from generator.circuit.network.mains import Pot, Triac
from generator.circuit.network.newton import Point, operating_points
from generator.circuit.network.phasors import Alternating, MainsSide
from generator.circuit.network.tolerances import Parameters
from generator.circuit.phase_cut import across_triac, cut, firing_angle_without_capacitor

if TYPE_CHECKING:
    from generator.circuit.device.circuitry import Circuitry
    from generator.circuit.device.told import State

PICKS_UP = 0.7  # of a coil's volts, from which its contacts close (relay data sheets: 70 to 80 %)
AT_ONCE = MappingProxyType({"fires": 0.0, "blocks": 0.0, "late": 0.0, "lags": 0.0})
SHORTED, NO_CAPACITOR = 1e3, 1e-6  # ohm of a diac that is none any more; rad by which nothing is delayed
FIRES = 0.5  # of what a gate gets where it gets most, from which its triac fires
LEAST_GATE = 0.2  # V on a gate below which no triac fires (data sheets: "non-trigger voltage", 0.2 V)
SHARE_DIGITS = 3  # of what a rail gets of the mains: states that differ by less have the same rail
RISE_UNSURE = 0.3  # share of a secondary's rise at light load: stated regulations are round figures; common practice, no source
MOST_ROUNDS = 6  # of contacts that feed the coils of others

Changed = dict[str, dict[str, float]]


@dataclass(frozen=True)
class Solved:
    """changes: what each state changes of the elements; point: the DC side; mains: the mains side, states in order."""

    changes: list[Changed]
    point: Point
    mains: Alternating


def driven(device: Circuitry, state: State) -> Changed:
    """Drives and chip pins as a state has them."""
    changed: Changed = {}
    for name, element in device.elements.items():
        if isinstance(element, sources.Drive):
            changed[name] = {"driven": float(element.block in state.on)}
        elif isinstance(element, Triac):
            if not element.follows:
                changed[name] = {"driven": float(element.block in state.on)}
        elif isinstance(element, sources.Pin):
            target = device.pin_targets.get(name, "")
            high = (target in state.on) != device.inverse.get(target, False)
            changed[name] = {"high": float(high), "low": float(not high)}
    return changed


def sensed(device: Circuitry, state: State) -> Changed:
    """Sensors where the state says in what air and light they stand, pots where it turns them, sources as it has them."""
    changed: Changed = {}
    for block, volts in state.fed.items():
        source = sources.own_of(device.of_block(block))
        if source is not None:
            changed[source.name] = {"volts": volts} if volts else {"on": 0.0}
    if not state.sensors:
        return changed
    for element in device.rewired(state):
        own = device.elements.get(element.name)
        if own is not None and own.nominal() != element.nominal():
            changed[element.name] = element.nominal()
    return changed


def fired(
    device: Circuitry, changes: Sequence[Changed], state: Parameters = MappingProxyType({})
) -> list[Changed]:
    """Triacs that a diac fires: when it does in each half-cycle, if it does, by what reaches its capacitor while the triac
    blocks. state: what all have changed already."""
    found: list[Changed] = [{} for _ in changes]
    triacs = [e for e in device.elements.values() if isinstance(e, Triac) and e.follows]
    for triac, diac in ((e, diac) for e in triacs if (diac := fired_by(device, e))):
        cut_off = {e.name: {"ohms": math.inf} for e in device.of_block(diac.block) if isinstance(e, Pot)}
        off, on, alone = (
            device.side.solve([together(own, {triac.name: {**AT_ONCE, "driven": way}}, more) for own in changes], state)
            for way, more in ((0.0, {}), (1.0, {}), (0.0, cut_off))
        )  # fmt: skip
        charged, blocked, passes = (
            off.across(diac.a, triac.b),
            alone.across(triac.a, triac.b),
            on.through(triac.name),
        )
        lost = blocked - on.across(triac.a, triac.b)
        for row, there in enumerate(changes):
            p = {**diac.nominal(), **state.get(diac.name, {}), **there.get(diac.name, {})}
            behind = complex(lost[row] / passes[row]) if passes[row] else 0j
            found[row][triac.name] = _firing(p, complex(blocked[row]), complex(charged[row]), behind)
    return found


def _firing(p: Mapping[str, float], blocked: complex, charged: complex, behind: complex) -> dict[str, float]:
    """What a triac's numbers become. p: of its diac; blocked: RMS volts across the triac while it blocks and nothing is charged;
    charged: those on the diac's capacitor; behind: ohm of what is in series with it, its load."""
    if not p["alive"] or not charged or not blocked:
        return {**AT_ONCE, "driven": 0.0}
    share = blocked / charged  # (1 + j·k)/gain of what charges the capacitor
    peak, k = abs(blocked) * math.sqrt(2) / max(share.real, 1e-9), max(0.0, share.imag / share.real)
    lag = max(0.0, phase(behind)) if behind.real > 0 else 0.0
    shorted = p["ohms"] < SHORTED
    if shorted or k < NO_CAPACITOR:
        drop, least = (0.0, 0.0) if shorted else (max(0.0, p["breakover"] - p["breakback"]), p["breakover"])
        alone = firing_angle_without_capacitor(peak=peak, resistance=p["path"], drop=drop, least=least)
        angles = None if alone is None else (alone, 0.0)
    else:
        back = min(p["breakback"], p["breakover"])
        angles = cut(peak=peak, k=k, breakover=p["breakover"], breakback=back, lag=lag)
    if angles is None:
        return {**AT_ONCE, "driven": 0.0}
    across = across_triac(*angles)
    late = 1j * behind * across / math.sqrt(max(1 - across * across, 1e-12))
    return {"driven": 1.0, "fires": angles[0], "blocks": angles[1], "late": late.real, "lags": late.imag}


def following(
    device: Circuitry, volts: Mapping[str, Sequence[float]], row: int, thresholds: Mapping[str, float]
) -> Changed:
    """What follows the volts on coils and gates in a state (row)."""
    return {
        own.element: {own.number: float((abs(volts[own.drive][row]) >= thresholds[own.drive]) != own.rest)}
        for own in device.followers
    }


def shares(device: Circuitry, mains: Alternating, row: int) -> Changed:
    """What each rail gets of the volts at which it is rated."""
    changed: Changed = {}
    for name, element in device.elements.items():
        if isinstance(element, sources.Rail) and element.fed:
            live, neutral, rated = element.fed
            changed[name] = {"share": round(float(mains.volts(live, neutral)[row]) / rated, SHARE_DIGITS)}
    return changed


def rails_of(device: Circuitry) -> dict[str, sources.Rail]:
    """Transformer -> the rail that it feeds."""
    return {
        transformer.name: rail
        for transformer in device.side.transformers
        for rail in device.of_block(transformer.block)
        if isinstance(rail, sources.Rail) and rail.fed and rail.figures
    }


def lightly_loaded(device: Circuitry, changes: Parameters, amperes: Mapping[str, float]) -> Changed:
    """How far each transformer's secondary stands above its rated volts, as its rail takes less; amperes: of the rails."""
    return {
        transformer: {"above": above(rail, changes.get(rail.name, {}), amperes[rail.name])}
        for transformer, rail in rails_of(device).items()
        if rail.name in amperes
    }


def above(rail: sources.Rail, changed: Mapping[str, float], amperes: float) -> float:
    """By which share a secondary stands above its rated volts while its rail gives so many amperes."""
    p = {**rail.nominal(), **changed}
    assert rail.figures is not None
    return rail.figures(p, float(f"{abs(amperes):.3g}")).get("above", 0.0) if p["share"] else 0.0


def charging(device: Circuitry, point: Point, row: int) -> Changed:
    """What is given in a state into the nets of cells that can be charged."""
    found: Changed = {}
    for cells in (own for own in device.elements.values() if isinstance(own, OnCharge) and own.lasts):
        beside = (own for own in device.elements.values() if cells.plus in own.nets and own is not cells)
        into = [-float(point.amperes(own.name, cells.plus)[row]) for own in beside]
        given = sum(amperes for amperes in into if amperes > 0)
        if given > CHARGES:
            found[cells.name] = {"given": float(f"{given:.2g}")}
    return found


def together(*several: Parameters) -> Changed:
    """Changes one over the other."""
    found: Changed = {}
    for changed in several:
        for name, parameters in changed.items():
            found[name] = {**found.get(name, {}), **parameters}
    return found


def solve(
    device: Circuitry, system: System, side: MainsSide, states: Sequence[State], start: Point | None = None,
    more: Mapping[str, Mapping[str, float]] | None = None,
) -> Solved:  # fmt: skip
    """Every state, with contacts, fuses and rails in agreement. Raises NoOperatingPoint."""
    own = {name: dict(parameters) for name, parameters in (more or {}).items()}
    base = [together(own, driven(device, state), sensed(device, state)) for state in states]
    drives = {own.drive: own.nets for own in device.followers}
    resting = {drive: [0.0] * len(states) for drive in drives}
    now = [following(device, resting, row, dict.fromkeys(drives, math.inf)) for row in range(len(states))]
    thresholds: dict[str, float] = {}
    x = None if start is None else start.x
    for round_ in range(MOST_ROUNDS):
        changes = [together(own, contact) for own, contact in zip(base, now)]
        changes = [together(own, triacs) for own, triacs in zip(changes, fired(device, changes))]
        mains = side.solve(changes)
        blown = [side.blown(mains, row) for row in range(len(states))]
        if any(blown):
            changes = [together(own, fuses) for own, fuses in zip(changes, blown)]
            mains = side.solve(changes)
        changes = [together(own, shares(device, mains, row)) for row, own in enumerate(changes)]
        point = operating_points(system, changes, x)
        x = point.x
        charged = [] if round_ else [charging(device, point, row) for row in range(len(states))]
        base = [together(*both) for both in zip(base, charged)] if any(charged) else base
        if not drives and not any(charged):
            break
        volts = {drive: [float(v) for v in point.volts(*nets)] for drive, nets in drives.items()}
        thresholds = thresholds or picks_up(device, volts, states)
        after = [following(device, volts, row, thresholds) for row in range(len(states))]
        if after == now and not any(charged):
            break
        now = after
    device.thresholds.update(thresholds)
    return Solved(changes, point, mains)


def picks_up(
    device: Circuitry, volts: Mapping[str, Sequence[float]], states: Sequence[State]
) -> dict[str, float]:
    """From how many volts what follows them does. A coil closes its contacts at 70 % of what is stated, else of what it gets
    where it is driven; a triac fires at half of what its gate gets at most."""
    found = {}
    for own in device.followers:
        if own.number in ("driven", "on"):
            found[own.drive] = max(LEAST_GATE, FIRES * max(abs(v) for v in volts[own.drive]))
            continue
        element = device.elements[device.coils[own.drive]]
        part = device.blocks[element.block].part(element.key)
        stated = part.ratings.get("V") if part else None
        rows = [row for row, state in enumerate(states) if element.block in state.on] or list(
            range(len(states))
        )
        gets = abs(volts[own.drive][rows[0]])
        found[own.drive] = PICKS_UP * (stated if stated else gets) if stated or gets > 0.5 else math.inf
    return found
