"""What is read of a network, and what it comes to in many variants."""

from __future__ import annotations

from dataclasses import dataclass

from generator.circuit.network.primitives import Array


@dataclass(frozen=True)
class Reading:
    """What is read: the volts between two nets, or (element) the current into an element at a net (plus; "" its first
    terminal's), less that into another at its first."""

    plus: str = ""
    minus: str = ""
    element: str = ""
    less: str = ""


@dataclass(frozen=True)
class Seen:
    """What the readings come to in every variant.

    values (variants, readings): an ideal meter's; source (variants, readings): ohm that the place has, by which a real
    meter divides it (0 for currents); unit (variants, readings, axes): how far each tolerance axis moves them, linearised,
    with shares (axes, 2) of that at its low and at its high end. solved: whether an operating point was found.
    """

    values: Array
    source: Array
    unit: Array
    shares: Array
    solved: Array

    def some(self, readings: slice) -> Seen:
        """Of some readings."""
        return Seen(
            self.values[:, readings],
            self.source[:, readings],
            self.unit[:, readings],
            self.shares,
            self.solved,
        )

    @property
    def slopes(self) -> Array:
        """How far each tolerance axis moves the readings from nominal to its low and high ends, (..., 2)."""
        ends: Array = self.unit[..., None] * self.shares
        return ends
