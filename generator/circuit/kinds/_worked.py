"""Values given as formulas: said once, computed from the text that is printed."""

from __future__ import annotations

from typing import Any

from generator.circuit.block import Kind
from generator.circuit.point import Point
from generator.circuit.working import _FUNCTIONS, _compiled, parallel


class F(str):
    """A value as the formula that it is computed by."""

    __slots__ = ()


Values = dict[str, Any]
_SCOPE = {**_FUNCTIONS, "pi": 3.141592653589793, "parallel": parallel, "__builtins__": {}}


class FormulaKind(Kind):
    """A kind that states its values as numbers or formulas, in an order in which they can be computed."""

    def stated(self, x: Point) -> Values:
        """Every value and helper at a point."""
        raise NotImplementedError

    def solve(self, x: Point) -> dict[str, float]:
        found = self.stated(x)
        scope = {**_SCOPE, **x.__dict__}
        inner: dict[
            str, Any
        ] = {}  # of a key or cut point, whose values go by their last word among themselves
        group = ""
        for name, entry in found.items():
            before, dot, last = name.rpartition(".")
            if dot and before != group:
                group, inner = before, dict(scope)
            known = inner if dot else scope
            if isinstance(entry, F):
                entry = found[name] = float(eval(_compiled(entry), known))  # noqa: S307 - only our own formulas
            known[last if dot else name] = entry
        return found

    def formulas(self, x: Point, solved: dict[str, float]) -> dict[str, str]:
        return {
            name: entry if isinstance(entry, str) else f"{entry:g}" for name, entry in self.stated(x).items()
        }
