"""A switching converter on average: what it makes at its output, and what that takes at its input."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from generator.circuit.network.element import Number
from generator.circuit.network.sources import Source
from generator.circuit.network.stamps import BEFORE, Stamp

GIVES_UP = 0.4  # of its input: below it the power that it takes goes down with what is left


@dataclass(frozen=True, kw_only=True)
class Converted(Source):
    """The regulated output as a source from plus to minus; its power over its efficiency is taken between fed and back.

    takes: W at the input for each W at the output; input: V for which it is made; limit: A at the output from which its
    controller gives in, down to next to nothing at twice as many, for it only tries again now and then.
    """

    TERMINALS: ClassVar[tuple[str, ...]] = ("plus", "minus", "fed", "back")
    ON_BOARD: ClassVar[bool] = False

    fed: str
    back: str
    takes: Number
    input: Number
    limit: Number

    def held(self, p: Mapping[str, float], limit: float, gives: float) -> dict[str, float]:
        """The parameters that hold it at its limit (A), on a load as it is where it gives so many A without: behind ohms, and its power
        in proportion."""
        more = p["volts"] / limit - p["volts"] / gives
        return {"ohms": p["ohms"] + more, "takes": p["takes"] * limit / gives}

    def groups(self) -> tuple[tuple[str, ...], ...]:
        return (self.plus, self.minus), (self.fed, self.back)

    def _power(self, p: Mapping[str, float]) -> tuple[float, float, float]:
        return p["takes"] * p["volts"], GIVES_UP * p["input"], p["limit"]

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        fed = (self.fed, self.back)
        return *super().stamps(p), Stamp("power", fed, (BEFORE, fed), self._power(p))

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        lines = super().spice(p, node, name)
        if not lines:
            return []
        watts, least, most = self._power(p)
        fed, back = node[self.fed], node[self.back]
        given = f"max(min(-I(V{name}),{2 * most:.8g}+I(V{name})),0)"
        taken = f"{given}*V({fed},{back})/max(V({fed},{back}),{least:.8g})^2"
        return [*lines, f"B{name}_fed {fed} {back} I={watts:.8g}*{taken}"]
