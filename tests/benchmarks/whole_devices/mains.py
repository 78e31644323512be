"""The mains side of a board: RMS volts and amperes as phasors, the line's own sine the real axis.

Fuses, contacts and heaters are resistive and solved by nodal analysis; what the transformer or the dropper
draws is a current phasor at its two ends. One meter of 10 Mohm stands where it reads, nowhere else.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from whole_devices.board import NONE, OPEN, Board, Changes, Supply
from whole_devices.ngspice import METER
from whole_devices.supplies import FREQUENCY


@dataclass(frozen=True)
class Line:
    """nodes without the neutral that the mains come in by; inverse of their conductances; volts without the
    supply's current, and volts per ampere of it; own: ohms between any node and the neutral as a meter meets
    them, with the dropper there: across a blown fuse before it nearly all of the line is read.
    """

    nodes: dict[str, int]
    idle: np.ndarray
    per_ampere: np.ndarray
    own: np.ndarray
    primary: tuple[str, str]

    def between(self, values: np.ndarray, pair: tuple[str, str]) -> complex:
        """Phasor between two nodes, without a meter."""
        return sum(sign * values[self.nodes[n]] for sign, n in zip((1, -1), pair) if n in self.nodes)

    @property
    def source(self) -> float:
        """RMS volts at the supply's ends while it draws nothing."""
        return float(np.real(self.between(self.idle, self.primary)))

    @property
    def resistance(self) -> float:
        """Ohms before the supply, source to ends and back."""
        return float(np.real(self.between(self.per_ampere, self.primary)))

    def volts(self, amperes: complex) -> np.ndarray:
        """Phasors at the nodes while the supply draws this current."""
        return self.idle - self.per_ampere * amperes

    def read(self, volts: np.ndarray, pair: tuple[str, str]) -> float:
        """RMS volts that one meter shows between two nodes."""
        index = [(s, self.nodes[n]) for s, n in zip((1, -1), pair) if n in self.nodes]
        own = sum(s * t * self.own[i, j] for s, i in index for t, j in index)
        return float(abs(self.between(volts, pair) * METER / (METER + own)))


def line_nodes(board: Board) -> list[str]:
    """Every node that the line reaches without its neutral."""
    neutral = board.line[1]
    found = {board.line[0]}
    ends = [(a, b) for a, b, _, _ in board.resistors.values()] + list(board.contacts.values())
    while True:
        more = {n for a, b in ends if (a in found) != (b in found) for n in (a, b)} - found
        more -= {neutral, "0", "emf_mains"}
        if not more:
            return sorted(found)
        found |= more


def line_of(board: Board, state: str, changes: Changes, closed: set[str]) -> Line:
    """The mains side with these relays pulled in."""
    assert board.supply
    names = {n: i for i, n in enumerate(line_nodes(board))}
    matrix = np.eye(len(names)) * 1e-12
    here = board.by_state.get(state, {})

    def add(a: str, b: str, siemens: float) -> None:
        for one, other in ((a, b), (b, a)):
            if one in names:
                matrix[names[one], names[one]] += siemens
                if other in names:
                    matrix[names[one], names[other]] -= siemens

    source = changes.get("mains", board.params["mains"])
    current = np.zeros(len(names))
    for name, (a, b, powered, _) in board.resistors.items():
        value = changes.get(name, here.get(name, powered)) * changes.get(f"x:{name}", 1)
        if name == "z_mains":
            add(b, board.line[1], 1 / value)
            current[names[b]] += source / value
        elif (a in names or b in names) and "emf_mains" not in (a, b) and value < NONE:
            add(a, b, 1 / value)
    for relay, (a, b) in board.contacts.items():
        if relay in closed:
            add(a, b, 100.0)
    inverse = np.linalg.inv(matrix)
    drawn = np.zeros(len(names))
    for sign, end in zip((1, -1), board.supply.primary):
        if end in names:
            drawn[names[end]] += sign
    own = np.linalg.inv(matrix + np.outer(drawn, drawn) * _admittance(board.supply, changes))
    return Line(names, inverse @ current, inverse @ drawn, own, board.supply.primary)


def _admittance(supply: Supply, changes: Changes) -> complex:
    """Siemens of a dropper; a transformer's magnetising current is a resistor of the board."""
    if supply.kind != "dropper":
        return 0
    value = {name: changes.get(f"supply.{name}", at) for name, at in supply.values.items()}
    if value["mode"]:
        return 0
    return 1 / (
        value["series"] + 1 / (2j * np.pi * FREQUENCY * value["line_farads"] + 1 / value["discharge"])
    )


def blown(board: Board, changes: Changes, lines: list[tuple[Line, np.ndarray, bool]]) -> Changes:
    """The elements of fuses that open in one of the states: lines has the mains side, its volts and whether
    the fan turns in each.
    """
    gone: Changes = {}
    for name, most in board.fuses.values():
        a, b, ohms, _ = board.resistors[name]
        for line, volts, _ in lines:
            amperes = abs(line.between(volts, (a, b))) / changes.get(name, ohms)
            if amperes > most:
                gone[name] = OPEN
    if gone:  # faster than heat
        return gone
    for name, heaters, _ in board.thermal.values():
        for line, volts, turns in lines:
            for heater in heaters.split():
                a, b, ohms, _ = board.resistors[re.sub(r"\W", "_", heater.lower())]
                watts = abs(line.between(volts, (a, b))) ** 2 / changes.get(heater.lower(), ohms)
                if not turns and watts > 0.3 * 230**2 / ohms:
                    gone[name] = OPEN
    return gone
