"""Boards, faults and states in; what a perfect meter would show at every net out."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Sequence
from dataclasses import dataclass, replace
from types import ModuleType

import numpy as np
from whole_devices import makes
from whole_devices.board import NONE, Board, Changes, Supply
from whole_devices.mains import Line, blown, line_of
from whole_devices.ngspice import METER, conductances, diode_range, nodes_of, resistance, sweeps
from whole_devices.supplies import Rails, dropper_rails, transformer_rails


def all_makes() -> dict[str, ModuleType]:
    """The devices by name."""
    names = sorted(found.name for found in pkgutil.iter_modules(makes.__path__))
    return {name: importlib.import_module(f"whole_devices.makes.{name}") for name in names}


@dataclass(frozen=True)
class Powered:
    """One board in one state under many faults: mean volts by net, and what the mains side does.

    volts: faults x nodes; nan where ngspice found no solution. ripple: RMS volts of the rectified rail.
    lines: of each fault the mains side, its phasors, and whether the fan turns. inside: RMS volts across the
    resistor and the capacitor of a dropper, by their ends.
    """

    nodes: list[str]
    volts: np.ndarray
    ripple: np.ndarray
    lines: list[tuple[Line, np.ndarray, bool] | None]
    inside: dict[tuple[str, str], np.ndarray]

    def between(self, a: str, b: str) -> np.ndarray:
        """Volts of each fault; RMS where one end is on the mains."""
        if (a, b) in self.inside:
            return self.inside[a, b]
        if self.on_mains(a, b):
            return np.array([own[0].read(own[1], (a, b)) if own else np.nan for own in self.lines])
        zero = np.zeros(len(self.volts))
        one = self.volts[:, self.nodes.index(a)] if a != "0" else zero
        return one - (self.volts[:, self.nodes.index(b)] if b != "0" else zero)

    def take(self, fault: int, other: Powered) -> None:
        """Put the only fault of another in place of this one's."""
        self.volts[fault], self.ripple[fault], self.lines[fault] = (
            other.volts[0],
            other.ripple[0],
            other.lines[0],
        )
        for pair, volts in self.inside.items():
            volts[fault] = other.inside[pair][0]

    def on_mains(self, a: str, b: str) -> bool:
        """Whether a meter between these nets is on AC."""
        known = next((own[0].nodes for own in self.lines if own), {})
        return (a, b) in self.inside or a in known or b in known


def powered(make: ModuleType, jobs: Sequence[tuple[Board, str, Sequence[Changes]]]) -> list[Powered]:
    """Each job is (board, state, faults)."""
    stop, step = make.SWEEP or (1.0, 1.0)
    unique: list[tuple[Board, str, list[Changes]]] = []
    where: list[list[int]] = []
    for board, state, faults in jobs:
        seen: dict[tuple[tuple[str, float], ...], int] = {}
        kept: list[Changes] = []
        places = []
        for changes in faults:
            plain = {k: v for k, v in changes.items() if not k.startswith("supply.")}
            key = tuple(sorted(plain.items()))
            if key not in seen:
                seen[key] = len(kept)
                kept.append(plain)
            places.append(seen[key])
        unique.append((board, state, kept))
        where.append(places)
    swept = sweeps(unique, stop, step)
    if make.SWEEP is None:
        return [
            _steady(board, [found[n] for n in places])
            for (board, _, _), found, places in zip(jobs, swept, where)
        ]
    return _on_the_mains(jobs, [[found[n] for n in places] for found, places in zip(swept, where)], step)


def _steady(board: Board, tables: list[np.ndarray | None]) -> Powered:
    nodes = nodes_of(board)
    volts = np.full((len(tables), len(nodes)), np.nan)
    for row, table in enumerate(tables):
        if table is not None and len(table):
            volts[row] = table[0, :-1]
    return Powered(nodes, volts, np.zeros(len(tables)), [None] * len(tables), {})


def _on_the_mains(
    jobs: Sequence[tuple[Board, str, Sequence[Changes]]], tables: list[list[np.ndarray | None]], step: float
) -> list[Powered]:
    """All rows of all jobs through the cycle of the mains together."""
    supply = jobs[0][0].supply
    assert supply
    rows = [(n, f) for n, job in enumerate(jobs) for f in range(len(job[2]))]
    points = max(len(t) for found in tables for t in found if t is not None)
    good = [(n, f) for n, f in rows if tables[n][f] is not None and len(tables[n][f]) == points]
    if not good:
        return [_steady(board, [None] * len(faults)) for board, _, faults in jobs]
    currents = np.stack([tables[n][f][:, -1] for n, f in good])
    given = {name: np.empty(len(good)) for name in supply.values}
    for row, (n, f) in enumerate(good):
        for name, value in jobs[n][0].supply.values.items():
            given[name][row] = jobs[n][2][f].get(f"supply.{name}", value)
    lines = [line_of(jobs[n][0], jobs[n][1], jobs[n][2][f], set()) for n, f in good]
    rails = _rails(supply, currents, step, given, lines)
    for row, (n, f) in enumerate(good):
        pulled = _pulled(jobs[n][0], rails.weights[row] @ tables[n][f][:, :-1])
        if pulled:
            lines[row] = line_of(jobs[n][0], jobs[n][1], jobs[n][2][f], pulled)
    rails = _rails(supply, currents, step, given, lines)
    result = []
    places = {place: row for row, place in enumerate(good)}
    for n, (board, _, faults) in enumerate(jobs):
        nodes = nodes_of(board)
        volts, ripple = np.full((len(faults), len(nodes)), np.nan), np.full(len(faults), np.nan)
        sides: list[tuple[Line, np.ndarray, bool] | None] = [None] * len(faults)
        resistor, capacitor = np.full(len(faults), np.nan), np.full(len(faults), np.nan)
        for f in range(len(faults)):
            row = places.get((n, f))
            if row is not None and rails.weights[row, -2:].sum() < 0.01:  # beyond the sweep is not simulated
                volts[f] = rails.weights[row] @ tables[n][f][:, :-1]
                ripple[f] = rails.ripple[row]
                ratio = given["ratio"][row] * given["turns"][row] if "ratio" in given else 1.0
                phasors = lines[row].volts(rails.amperes[row] * ratio)
                sides[f] = lines[row], phasors, _turns(board, nodes, volts[f], faults[f])
                if supply.kind == "dropper":
                    series = given["series"][row]
                    open_line = abs(lines[row].between(phasors, supply.primary))
                    resistor[f] = open_line if series > 1e6 else series * abs(rails.amperes[row])
                    capacitor[f] = rails.capacitor[row]
        own = board.supply
        inside = (
            {(own.primary[0], own.inside[0]): resistor, own.inside: capacitor}
            if own and own.inside[0]
            else {}
        )
        result.append(Powered(nodes, volts, ripple, sides, inside))
    return result


def _rails(
    supply: Supply, currents: np.ndarray, step: float, given: dict[str, np.ndarray], lines: list[Line]
) -> Rails:
    source = np.array([line.source for line in lines])
    before = np.array([line.resistance for line in lines])
    if supply.kind == "transformer":
        ratio = given["ratio"] * given["turns"]
        return transformer_rails(
            currents,
            step,
            source * ratio,
            given["winding"] + before * ratio**2,
            given["farads"],
            given["is"],
            given["n"],
            given["mode"],
            supply.bridge,
        )
    return dropper_rails(
        currents,
        step,
        source,
        given["line_farads"],
        given["series"] + before,
        given["discharge"],
        given["farads"],
        given["mode"],
        supply.bridge,
    )


def _pulled(board: Board, row: np.ndarray) -> set[str]:
    """The relays whose coils have enough."""
    at = dict(zip(nodes_of(board), row)) | {"0": 0.0}
    return {relay for relay, (a, b, volts) in board.coils.items() if at[a] - at[b] >= volts}


def _turns(board: Board, nodes: list[str], row: np.ndarray, changes: Changes) -> bool:
    """Whether the fan that cools a heater turns: it has 4 V at least and is neither stuck nor open."""
    at = dict(zip(nodes, row)) | {"0": 0.0}
    fans = [fan.lower() for _, _, fan in board.thermal.values()]
    return all(
        fan not in changes and abs(at[board.resistors[fan][0]] - at[board.resistors[fan][1]]) > 4
        for fan in fans
    )


def metered_across(board: Board, part: str, changes: Changes) -> Changes:
    """The changes with the one meter across this part and none at any net."""
    beside = f"p_{part.lower()}"
    leak = changes.get(beside, board.resistors[beside][2])
    away = {f"m:{node}": NONE for node in nodes_of(board)}
    return {**changes, **away, beside: 1 / (1 / METER + 1 / leak)}


def _rail(board: Board, found: Powered, fault: int) -> float:
    """The mean volts of the rectified rail."""
    return (
        float(np.nan_to_num(found.volts[fault, found.nodes.index(board.supply.rail)]))
        if board.supply
        else 1.0
    )


def fixed(jobs: Sequence[tuple[Board, str, Sequence[Changes]]]) -> list[Powered]:
    """Each job with its rail held where the faults say: what a meter changes, not what the rail does."""
    tables = sweeps(jobs, 1, 1)
    return [
        _steady(board, [None if t is None else t[-1:] for t in own])
        for (board, _, _), own in zip(jobs, tables)
    ]


def measured(
    make: ModuleType,
    boards: Sequence[Board],
    changes: Sequence[Sequence[Changes]],
    pairs: Sequence[tuple[str, str]],
) -> tuple[np.ndarray, np.ndarray, list[list[Changes]]]:
    """What a meter shows between these nets, the only one on the board: boards x states x faults x pairs. The
    ripple: boards x states x faults. The changes, and the fuses that they blew.
    """
    states = boards[0].states
    bare = [replace(board, loaded=False, pairs=tuple(pairs)) for board in boards]
    jobs = [(board, state, given) for board, given in zip(bare, changes) for state in states]
    found = powered(make, jobs)
    settled = [list(given) for given in changes]
    again: list[tuple[int, int]] = []
    for n, board in enumerate(bare):
        for f, given in enumerate(changes[n]):
            sides = [found[n * len(states) + s].lines[f] for s in range(len(states))]
            gone = blown(board, given, [side for side in sides if side])
            if gone:
                settled[n][f] = {**given, **gone}
                again.append((n, f))
    if again:
        redone = powered(make, [(bare[n], state, [settled[n][f]]) for n, f in again for state in states])
        for place, (n, f) in enumerate(again):
            for s in range(len(states)):
                found[n * len(states) + s].take(f, redone[place * len(states) + s])
    values = np.full((len(boards), len(states), len(changes[0]), len(pairs)), np.nan)
    ripple = np.full(values.shape[:3], np.nan)
    at_mean = [
        [{**c, "rail": _rail(board, one, f)} for f, c in enumerate(settled[k // len(states)])]
        for k, ((board, _, _), one) in enumerate(zip(jobs, found))
    ]
    none = found
    if make.SWEEP:
        none = fixed([(board, state, given) for (board, state, _), given in zip(jobs, at_mean)])
    everywhere = fixed(
        [(replace(b, loaded=True), state, given) for (b, state, _), given in zip(jobs, at_mean)]
    )
    alone: dict[int, list[tuple[int, int]]] = {}
    for k, one in enumerate(found):
        n, s = divmod(k, len(states))
        ripple[n, s] = one.ripple
        for i, pair in enumerate(pairs):
            values[n, s, :, i] = one.between(*pair)
            if not one.on_mains(*pair):  # where other meters make a difference, this one is put there alone
                bare_volts, loaded = none[k].between(*pair), everywhere[k].between(*pair)
                for f in np.nonzero(np.abs(bare_volts - loaded) > 0.006 + 0.004 * np.abs(bare_volts))[0]:
                    alone.setdefault(k, []).append((int(f), i))
    asked = [
        (*jobs[k][:2], [{**at_mean[k][f], "mm:" + "_".join(pairs[i]): METER} for f, i in wanted])
        for k, wanted in alone.items()
    ]
    for (k, wanted), shown in zip(alone.items(), fixed(asked) if asked else []):
        n, s = divmod(k, len(states))
        for place, (f, i) in enumerate(wanted):
            values[n, s, f, i] += shown.between(*pairs[i])[place] - none[k].between(*pairs[i])[f]
    return values, ripple, settled


def ohmmeter(board: Board, pairs: dict[str, tuple[str, str]], faults: Sequence[Changes]) -> np.ndarray:
    """faults x pairs, ohms, unplugged."""
    found = np.empty((len(faults), len(pairs)))
    for row, changes in enumerate(faults):
        names, inverse = conductances(board, changes)
        found[row] = [min(resistance(names, inverse, a, b), 1e9) for a, b in pairs.values()]
    return found


__all__ = ["Powered", "all_makes", "diode_range", "measured", "ohmmeter", "powered"]
