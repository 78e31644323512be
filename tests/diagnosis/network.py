"""Nodal analysis with piecewise-linear diodes, transistors and regulators: numpy only, nothing of the project's own.

Modified nodal analysis: Ho, Ruehli, Brennan, "The modified nodal approach to network analysis", IEEE Trans. Circuits
and Systems CAS-22 (1975). Each non-linear element is in one of a few linear states; the states are changed, the worst
offender first, until all are consistent.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

LEAK = 1e-13  # S from each node to ground, so that a floating node has a voltage
LEAD = 1e-4  # ohm in a conducting junction, so that junctions side by side have a solution
LINK = 1e-6  # ohm of a wire
MOST_ROUNDS = 80

Row = tuple[dict[str, float], dict[str, float], float]  # node voltages, branch currents, right-hand side


@dataclass
class Branch:
    """One unknown current from node a to node b, with the equation of its state."""

    name: str
    a: str
    b: str
    row: Callable[[], Row]


@dataclass
class Switched:
    """An element with states. offence(volts, amps) -> (how badly its state is violated, the state it wants)."""

    state: str
    offence: Callable[[dict[str, float], dict[str, float]], tuple[float, str]]


@dataclass
class Network:
    """Nodes are names; "0" is ground. Build it up, then solve()."""

    conductances: list[tuple[str, str, float, str]] = field(default_factory=list)
    branches: list[Branch] = field(default_factory=list)
    switched: list[Switched] = field(default_factory=list)

    def resistor(self, a: str, b: str, ohm: float, name: str = "") -> None:
        self.conductances.append((a, b, 1.0 / max(ohm, LINK), name))

    def source(self, a: str, b: str, volts: float, name: str = "") -> None:
        """Ideal voltage source, a positive; its current is counted from a through it to b."""
        self.branches.append(
            Branch(name or f"source {len(self.branches)}", a, b, lambda: ({a: 1.0, b: -1.0}, {}, volts))
        )

    def load(self, a: str, amps: float, name: str) -> None:
        """A current drawn from a node as long as there is voltage: a source with a diode across it."""
        self.branches.append(Branch(name, a, "0", lambda: ({}, {name: 1.0}, amps)))
        self.diode("0", a, 0.0, name + " dry")

    def diode(self, a: str, b: str, drop: float, name: str) -> None:
        """Conducts from a to b at drop volts, else not at all."""
        self_state = Switched("off", lambda v, i: (0.0, ""))

        def row() -> Row:
            if self_state.state == "off":
                return {}, {name: 1.0}, 0.0
            return {a: 1.0, b: -1.0}, {name: -LEAD}, drop

        def offence(v: dict[str, float], i: dict[str, float]) -> tuple[float, str]:
            if self_state.state == "off":
                return v[a] - v[b] - drop, "on"
            return -i[name], "off"

        self_state.offence = offence
        self.branches.append(Branch(name, a, b, row))
        self.switched.append(self_state)

    def transistor(
        self, base: str, collector: str, emitter: str, *, hfe: float, vbe: float, vce_sat: float, name: str
    ) -> None:
        """Bipolar npn: base diode, collector at hfe times the base current or at vce_sat."""
        junction = f"{name} base"
        self.diode(base, emitter, vbe, junction)
        state = Switched("active", lambda v, i: (0.0, ""))
        here = f"{name} collector"

        def row() -> Row:
            if state.state == "active":
                return {}, {here: 1.0, junction: -hfe}, 0.0
            return {collector: 1.0, emitter: -1.0}, {here: -LEAD}, vce_sat

        def offence(v: dict[str, float], i: dict[str, float]) -> tuple[float, str]:
            if state.state == "active":
                return vce_sat - (v[collector] - v[emitter]), "saturated"
            return i[here] - hfe * i[junction], "active"

        state.offence = offence
        self.branches.append(Branch(here, collector, emitter, row))
        self.switched.append(state)

    def regulator(self, into: str, out: str, *, volts: float, dropout: float, name: str) -> None:
        """Holds out at volts, or dropout below its input, or passes nothing."""
        state = Switched("regulates", lambda v, i: (0.0, ""))

        def row() -> Row:
            if state.state == "regulates":
                return {out: 1.0}, {name: LEAD}, volts
            if state.state == "dropout":
                return {into: 1.0, out: -1.0}, {name: -LEAD}, dropout
            return {}, {name: 1.0}, 0.0

        def offence(v: dict[str, float], i: dict[str, float]) -> tuple[float, str]:
            if state.state == "regulates":
                return dropout - (v[into] - v[out]), "dropout"
            if state.state == "dropout":
                return (-i[name], "off") if i[name] < 0 else (v[out] - volts, "regulates")
            return v[into] - v[out] - dropout, "dropout"

        state.offence = offence
        self.branches.append(Branch(name, into, out, row))
        self.switched.append(state)

    def solve(self) -> tuple[dict[str, float], dict[str, float]]:
        """(volts by node, amperes by element name)."""
        for _ in range(MOST_ROUNDS):
            volts, amps = self._linear()
            worst, wanted = None, ""
            most = 1e-9
            for element in self.switched:
                size, state = element.offence(volts, amps)
                if size > most:
                    worst, wanted, most = element, state, size
            if worst is None:
                return volts, amps
            worst.state = wanted
        raise ArithmeticError("the states of the junctions do not settle")

    def _linear(self) -> tuple[dict[str, float], dict[str, float]]:
        nodes = sorted(
            {n for a, b, _, _ in self.conductances for n in (a, b)}
            | {n for x in self.branches for n in (x.a, x.b)}
        )
        nodes = [n for n in nodes if n != "0"]
        place = {n: k for k, n in enumerate(nodes)}
        spots = {x.name: len(nodes) + k for k, x in enumerate(self.branches)}
        size = len(nodes) + len(self.branches)
        matrix, right = np.zeros((size, size)), np.zeros(size)
        for k in range(len(nodes)):
            matrix[k, k] += LEAK
        for a, b, g, _ in self.conductances:
            for p, q in ((a, b), (b, a)):
                if p != "0":
                    matrix[place[p], place[p]] += g
                    if q != "0":
                        matrix[place[p], place[q]] -= g
        for branch in self.branches:
            k = spots[branch.name]
            if branch.a != "0":
                matrix[place[branch.a], k] += 1.0
            if branch.b != "0":
                matrix[place[branch.b], k] -= 1.0
            volts, amps, value = branch.row()
            for node, factor in volts.items():
                if node != "0":
                    matrix[k, place[node]] += factor
            for name, factor in amps.items():
                matrix[k, spots[name]] += factor
            right[k] = value
        found = np.linalg.solve(matrix, right)
        at = {"0": 0.0, **{n: float(found[k]) for n, k in place.items()}}
        through = {name: float(found[k]) for name, k in spots.items()}
        through |= {name: (at[a] - at[b]) * g for a, b, g, name in self.conductances if name}
        return at, through
