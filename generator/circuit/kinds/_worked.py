"""Kinds that state all their values as numbers or formulas."""

from __future__ import annotations

from generator.circuit.block import Kind, Solved
from generator.circuit.formula import Formula as F
from generator.circuit.point import Point

__all__ = ["F", "FormulaKind", "Values"]

Values = dict[str, "float | F | None"]


class FormulaKind(Kind):
    """A kind whose solve is whole: a value that it leaves out does not exist."""

    def stated(self, x: Point) -> Values:
        """Every value and helper at a point."""
        raise NotImplementedError

    def solve(self, x: Point) -> Solved:
        return {**dict.fromkeys(value.name for value in self.values), **self.stated(x)}
