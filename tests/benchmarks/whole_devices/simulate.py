"""Boards, faults and states in; what a perfect meter would show at every net out."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Sequence
from dataclasses import dataclass
from types import ModuleType

import numpy as np
from whole_devices import makes
from whole_devices.board import NONE, Board, Changes
from whole_devices.ngspice import METER, conductances, diode_range, nodes_of, resistance, sweeps
from whole_devices.supplies import dropper_rails, transformer_rails


def all_makes() -> dict[str, ModuleType]:
    """The devices by name."""
    names = sorted(found.name for found in pkgutil.iter_modules(makes.__path__))
    return {name: importlib.import_module(f"whole_devices.makes.{name}") for name in names}


@dataclass(frozen=True)
class Powered:
    """One board in one state under many faults: mean volts (RMS on the mains side) by net, and ripple.

    volts: faults x nodes; nan where ngspice found no solution. ripple: RMS volts of the rectified rail.
    """

    nodes: list[str]
    volts: np.ndarray
    ripple: np.ndarray

    def between(self, a: str, b: str) -> np.ndarray:
        zero = np.zeros(len(self.volts))
        one = self.volts[:, self.nodes.index(a)] if a != "0" else zero
        return one - (self.volts[:, self.nodes.index(b)] if b != "0" else zero)


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
    return Powered(nodes, volts, np.zeros(len(tables)))


def _on_the_mains(
    jobs: Sequence[tuple[Board, str, Sequence[Changes]]], tables: list[list[np.ndarray | None]], step: float
) -> list[Powered]:
    """All rows of all jobs through the cycle of the mains together."""
    supply = jobs[0][0].supply
    assert supply
    rows = [(n, f) for n, job in enumerate(jobs) for f in range(len(job[2]))]
    points = max(len(t) for found in tables for t in found if t is not None)
    good = [(n, f) for n, f in rows if tables[n][f] is not None and len(tables[n][f]) == points]
    currents = np.stack([tables[n][f][:, -1] for n, f in good])
    given = {name: np.empty(len(good)) for name in supply.values}
    line = np.empty(len(good))
    for row, (n, f) in enumerate(good):
        board, _, faults = jobs[n]
        nodes = nodes_of(board)
        table = tables[n][f][0]
        at = {node: table[i] for i, node in enumerate(nodes)} | {"0": 0.0}
        line[row] = at[supply.primary[0]] - at[supply.primary[1]]
        for name, value in board.supply.values.items():
            given[name][row] = faults[f].get(f"supply.{name}", value)
    bridge = np.full(len(good), supply.bridge)
    if supply.kind == "transformer":
        rails = transformer_rails(
            currents,
            step,
            line * given["ratio"] * given["turns"],
            given["winding"],
            given["farads"],
            given["is"],
            given["n"],
            given["mode"],
            bridge,
        )
    else:
        rails = dropper_rails(
            currents,
            step,
            line,
            given["line_farads"],
            given["series"],
            given["farads"],
            given["mode"],
            supply.bridge,
        )
    result = []
    places = {place: row for row, place in enumerate(good)}
    for n, (board, _, faults) in enumerate(jobs):
        nodes = nodes_of(board)
        volts, ripple = np.full((len(faults), len(nodes)), np.nan), np.full(len(faults), np.nan)
        for f in range(len(faults)):
            row = places.get((n, f))
            if row is not None and rails.weights[row, -2:].sum() < 0.01:  # beyond the sweep is not simulated
                volts[f] = rails.weights[row] @ tables[n][f][:, :-1]
                ripple[f] = rails.ripple[row]
        result.append(Powered(nodes, volts, ripple))
    return result


def metered_across(board: Board, part: str, changes: Changes) -> Changes:
    """The changes with the one meter across this part and none at any net, for what floats in a string of
    LEDs.
    """
    beside = f"p_{part.lower()}"
    leak = changes.get(beside, board.resistors[beside][2])
    away = {f"m:{node}": NONE for node in nodes_of(board)}
    return {**changes, **away, beside: 1 / (1 / METER + 1 / leak)}


def across_strings(
    make: ModuleType, board: Board, faults: Sequence[Changes]
) -> dict[tuple[str, str], np.ndarray]:
    """(state, part) -> volts across each LED of a string, measured with nothing else connected."""
    found = {}
    for part in getattr(make, "STRING", ()):
        given = [metered_across(board, part, changes) for changes in faults]
        for state, one in zip(board.states, powered(make, [(board, state, given) for state in board.states])):
            found[state, part] = np.abs(one.between(*board.parts[part]))
    return found


def ohmmeter(board: Board, pairs: dict[str, tuple[str, str]], faults: Sequence[Changes]) -> np.ndarray:
    """faults x pairs, ohms, unplugged."""
    found = np.empty((len(faults), len(pairs)))
    for row, changes in enumerate(faults):
        names, inverse = conductances(board, changes)
        found[row] = [min(resistance(names, inverse, a, b), 1e9) for a, b in pairs.values()]
    return found


__all__ = ["Powered", "across_strings", "all_makes", "diode_range", "ohmmeter", "powered"]
