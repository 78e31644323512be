"""What holds a charger's current: a limit in series with its regulator."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from generator.circuit.network.element import Element, Number, siemens
from generator.circuit.network.passive import NONE
from generator.circuit.network.stamps import Stamp, conductance

KNEE = 1e-3  # V across it, up to which it lets everything through


@dataclass(frozen=True, kw_only=True)
class Limiter(Element):
    """Lets up to some amperes through from a to b, at next to no drop below that."""

    a: str
    b: str
    amperes: Number
    bypass: Number = NONE

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        lies = (self.a, self.b)
        return Stamp("load", lies, (lies,), (p["amperes"], KNEE)), conductance(*lies, siemens(p["bypass"]))

    def failed(self, p: Mapping[str, float], mode: str, size: float | None = None) -> dict[str, float]:
        return {**p, **{"open": {"amperes": 0.0}, "short": {"bypass": 0.0}}[mode]}

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        a, b = node[self.a], node[self.b]
        lines = [f"B{name} {a} {b} I={p['amperes']:.10g}*min(1,V({a},{b})/{KNEE})"]
        return (
            lines
            if p["bypass"] == NONE.value
            else [*lines, f"R{name}_bypass {a} {b} {max(p['bypass'], 0.01):.8g}"]
        )
