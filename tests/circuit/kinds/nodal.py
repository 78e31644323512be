"""Modified nodal analysis with numpy: the circuit model that the kinds are held against. It knows nothing of them."""

from __future__ import annotations

import math

import numpy as np

GROUND = "0"


class Network:
    """Resistors, voltage sources and current sources between named nodes; "0" is common. Source: Ho, Ruehli and
    Brennan, The modified nodal approach to network analysis, 1975."""

    def __init__(self) -> None:
        self.resistors: list[tuple[str, str, float]] = []
        self.voltages: list[tuple[str, str, str, float]] = []
        self.currents: list[tuple[str, str, float]] = []

    def resistor(self, a: str, b: str, ohm: float) -> Network:
        """inf leaves the resistor out."""
        if not math.isinf(ohm):
            self.resistors.append((a, b, ohm))
        return self

    def voltage(self, name: str, plus: str, minus: str, volt: float) -> Network:
        self.voltages.append((name, plus, minus, volt))
        return self

    def current(self, out_of: str, into: str, ampere: float) -> Network:
        """A source that takes ampere out of one node and puts it into another."""
        self.currents.append((out_of, into, ampere))
        return self

    def solve(self) -> tuple[dict[str, float], dict[str, float]]:
        """(volts of each node to common, amperes that each voltage source delivers out of its plus).

        A meter of 1 GΩ from each node to common defines nodes that float.
        """
        named = {n for a, b, *_ in self.resistors for n in (a, b)} | {
            n for _, a, b, _ in self.voltages for n in (a, b)
        }
        named |= {n for a, b, _ in self.currents for n in (a, b)}
        nodes = sorted(named - {GROUND})
        place = {node: i for i, node in enumerate(nodes)}
        size = len(nodes) + len(self.voltages)
        matrix, right = np.zeros((size, size)), np.zeros(size)
        for a, b, ohm in [*self.resistors, *((node, GROUND, 1e9) for node in nodes)]:
            for p, q in ((a, b), (b, a)):
                if p != GROUND:
                    matrix[place[p], place[p]] += 1 / ohm
                    if q != GROUND:
                        matrix[place[p], place[q]] -= 1 / ohm
        for k, (_, plus, minus, volt) in enumerate(self.voltages, len(nodes)):
            for node, sign in ((plus, 1.0), (minus, -1.0)):
                if node != GROUND:
                    matrix[place[node], k] -= sign
                    matrix[k, place[node]] += sign
            right[k] = volt
        for out_of, into, ampere in self.currents:
            if out_of != GROUND:
                right[place[out_of]] -= ampere
            if into != GROUND:
                right[place[into]] += ampere
        found = np.linalg.solve(matrix, right)
        volts = {GROUND: 0.0, **{node: float(found[i]) for node, i in place.items()}}
        return volts, {name: float(found[len(nodes) + k]) for k, (name, *_) in enumerate(self.voltages)}
