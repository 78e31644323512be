"""Decks for `ngspice -b` and what comes back. One process sweeps many faults of several decks."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from whole_devices.board import NONE, Board, Changes

METER = 10e6  # ohm, of a hand-held meter on its volts ranges
BOARD = 1e9  # ohm, from each net to its common where no meter is: dust and flux, and without it ngspice searches long
OPTIONS = ".options gmin=1e-12 reltol=1e-3 abstol=1e-9 vntol=1e-5 itl1=200 itl2=100"


def nodes_of(board: Board) -> list[str]:
    """The nets that a probe can touch."""
    found = {node for a, b in board.parts.values() for node in (a, b)}
    return sorted(found - {"0"})


def deck(board: Board, state: str, title: str = "board", swept: bool = True) -> str:
    """The device powered in one state, its rectified rail an ideal source that the sweep moves."""
    changed = board.by_state.get(state, {})
    text = [f"* {title}", OPTIONS]
    text += [
        f"r_{name} {a} {b} {changed.get(name, powered):.6g}"
        for name, (a, b, powered, _) in board.resistors.items()
    ]
    text += [f"v_p_{name} p_{name} 0 {changed.get(name, value):.6g}" for name, value in board.params.items()]
    text += [
        f"r_meter_{node} {node} {board.islands.get(node, '0')} {METER if board.loaded else BOARD:g}"
        for node in nodes_of(board)
    ]
    text += [f"r_mm_{a}_{b} {a} {b} {NONE:g}" for a, b in board.pairs]
    text += board.lines + board.live
    if swept:
        rail, common = (board.supply.rail, board.supply.common) if board.supply else ("sweep", "0")
        text.append(f"v_sweep {rail} {common} 1")
        if not board.supply:
            text.append("r_sweep sweep 0 1k")
    return "\n".join(text) + "\n"


def unplugged_deck(board: Board, probes: dict[str, tuple[str, str]]) -> str:
    """The device with its plug out, a current source for the diode range at each junction asked for."""
    text = ["* unplugged", OPTIONS]
    text += [f"r_{name} {a} {b} {cold:.6g}" for name, (a, b, _, cold) in board.resistors.items()]
    text += [f"v_p_{name} p_{name} 0 {value:.6g}" for name, value in board.params.items()]
    text += board.lines
    text += [f"i_probe{n} {b} {a} 0" for n, (a, b) in enumerate(probes.values())]
    return "\n".join(text) + "\n"


def _alter(board: Board, changes: Changes, back: Changes, cold: bool = False) -> tuple[list[str], list[str]]:
    there, again = [], []
    for name, value in changes.items():
        if name.startswith("supply.") or name == "rail":
            continue
        if name.startswith("m:"):  # the meter at a net
            there.append(f"alter r_meter_{name[2:]} = {value:.6g}")
            again.append(f"alter r_meter_{name[2:]} = {METER if board.loaded else BOARD:.6g}")
            continue
        if name.startswith("mm:"):  # the one meter between two nets
            there.append(f"alter r_mm_{name[3:]} = {value:.6g}")
            again.append(f"alter r_mm_{name[3:]} = {NONE:.6g}")
            continue
        if name.startswith("x:"):
            name = name[2:]
            value *= back.get(name, board.resistors[name][3 if cold else 2])
        if name in board.resistors:
            sound = back.get(name, board.resistors[name][3 if cold else 2])
            there.append(f"alter r_{name} = {value:.6g}")
            again.append(f"alter r_{name} = {sound:.6g}")
        else:
            there.append(f"alter v_p_{name} = {value:.6g}")
            again.append(f"alter v_p_{name} = {back.get(name, board.params[name]):.6g}")
    return there, again


def sweeps(
    jobs: Sequence[tuple[Board, str, Sequence[Changes]]], stop: float, step: float
) -> list[list[np.ndarray | None]]:
    """For each job (board, state, faults): volts of nodes_of() and the rail's amperes, points x (nodes + 1).

    None where ngspice found no solution. A fault's "rail" is where to stop instead, in few steps.
    """
    folder = Path(tempfile.mkdtemp(prefix="ngspice-", dir="/dev/shm" if Path("/dev/shm").is_dir() else None))
    try:
        script = ["* all", ".control", "set filetype=binary"]
        for number, (board, state, faults) in enumerate(jobs):
            path = folder / f"b{number}.cir"
            path.write_text(deck(board, state) + ".end\n")
            script.append(f"source {path}")
            for index, changes in enumerate(faults):
                there, again = _alter(board, changes, board.by_state.get(state, {}))
                sweep = f"dc v_sweep 0 {stop:g} {step:g}" if board.supply else "dc v_sweep 1 1 1"
                if board.supply and "rail" in changes:
                    last = max(changes["rail"], 0.01)
                    sweep = f"dc v_sweep 0 {last * 1.001:.6g} {last / 8:.6g}"
                script += [*there, sweep, f"write {folder}/o{number}_{index}.raw", "destroy all", *again]
            script.append("remcirc")
        _run(folder, script)
        return [
            [_read(folder / f"o{number}_{index}.raw", nodes_of(board)) for index in range(len(faults))]
            for number, (board, _, faults) in enumerate(jobs)
        ]
    finally:
        shutil.rmtree(folder)


def diode_range(board: Board, probes: dict[str, tuple[str, str]], faults: Sequence[Changes]) -> np.ndarray:
    """Volts at 1 mA for each fault and probe; above 2 V the meter shows no number. nan: no solution."""
    folder = Path(tempfile.mkdtemp(prefix="ngspice-", dir="/dev/shm" if Path("/dev/shm").is_dir() else None))
    try:
        path = folder / "u.cir"
        path.write_text(unplugged_deck(board, probes) + ".end\n")
        script = ["* all", ".control", "set filetype=binary", f"source {path}"]
        for index, changes in enumerate(faults):
            there, again = _alter(board, changes, {}, cold=True)
            script += there
            for n in range(len(probes)):
                script += [
                    f"alter i_probe{n} = 1m",
                    "op",
                    f"write {folder}/o{index}_{n}.raw",
                    "destroy all",
                    f"alter i_probe{n} = 0",
                ]
            script += again
        _run(folder, script)
        found = np.full((len(faults), len(probes)), np.nan)
        for index in range(len(faults)):
            for n, (a, b) in enumerate(probes.values()):
                read = _read(folder / f"o{index}_{n}.raw", [x for x in (a, b) if x != "0"], amperes=False)
                if read is not None:
                    at = dict(zip([x for x in (a, b) if x != "0"], read[0]))
                    found[index, n] = at.get(a, 0.0) - at.get(b, 0.0)
        return found
    finally:
        shutil.rmtree(folder)


def _run(folder: Path, script: list[str]) -> None:
    path = folder / "run.cir"
    path.write_text("\n".join([*script, "quit", ".endc", ".end"]) + "\n")
    subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, cwd=folder, timeout=1800)


def _read(path: Path, nodes: Sequence[str], amperes: bool = True) -> np.ndarray | None:
    try:
        data = path.read_bytes()
    except OSError:
        return None
    head, _, body = data.partition(b"Binary:\n")
    lines = head.decode("latin1").splitlines()
    names, points, variables = [], 0, False
    for line in lines:
        if line.startswith("No. Points"):
            points = int(line.split(":")[1])
        elif line.startswith("Variables:"):
            variables = True
        elif variables:
            names.append(line.split("\t")[2].casefold())
    table = np.frombuffer(body[: 8 * points * len(names)]).reshape(points, len(names))
    where = {name: index for index, name in enumerate(names)}
    columns = [table[:, where[f"v({node})"]] if f"v({node})" in where else np.zeros(points) for node in nodes]
    if amperes:
        columns.append(-table[:, where["i(v_sweep)"]])
    return np.stack(columns, 1)


def conductances(board: Board, changes: Changes) -> tuple[list[str], np.ndarray]:
    """Nodes and the inverse of the unplugged board's conductance matrix, for an ohmmeter below 0.3 V."""
    names = sorted(
        {n for a, b, _, _ in board.resistors.values() for n in (a, b)}
        | {n for a, b, _ in board.small for n in (a, b)}
    )
    names = [n for n in names if n != "0"]
    index = {n: i for i, n in enumerate(names)}
    matrix = np.eye(len(names)) * 1e-12

    def add(a: str, b: str, siemens: float) -> None:
        for one, other in ((a, b), (b, a)):
            if one in index:
                matrix[index[one], index[one]] += siemens
                if other in index:
                    matrix[index[one], index[other]] -= siemens

    for name, (a, b, _, cold) in board.resistors.items():
        value = changes.get(name, cold) * changes.get(f"x:{name}", 1)
        if value < NONE:
            add(a, b, 1 / value)
    for a, b, siemens in board.small:
        add(a, b, siemens)
    return names, np.linalg.inv(matrix)


def resistance(names: list[str], inverse: np.ndarray, a: str, b: str) -> float:
    """Ohms between two nodes."""
    where = {n: i for i, n in enumerate(names)}
    i, j = where.get(a, -1), where.get(b, -1)
    ii, jj = (inverse[i, i] if i >= 0 else 0.0), (inverse[j, j] if j >= 0 else 0.0)
    return float(ii + jj - (2 * inverse[i, j] if i >= 0 and j >= 0 else 0))
