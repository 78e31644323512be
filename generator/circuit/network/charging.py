"""What charges: the limit of a charger's current, and what cells stand at while a current flows into them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from generator.circuit.network.element import Element, Number, exact, siemens
from generator.circuit.network.passive import NONE
from generator.circuit.network.stamps import J, Stamp, conductance

KNEE = 1e-3  # V across it, up to which it lets everything through
CHARGES = 5e-3  # A into a cell from which it stands as it does on charge; common practice, no source
LASTS = 0.6  # of what is given: as much may be taken beside it, and cells stand as on charge; common practice, no source
LEAST, MOST = 1e-3, 1e3  # A between which the table of what is taken of a cell lies


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


@dataclass(frozen=True, kw_only=True)
class OnCharge(Element):
    """What cells stand above their volts at rest while a current flows into them (overvoltage), and none of it once as much as
    `given` is taken of them: A that something gives into their net in this state, of which their load takes some or all.

    lasts: they stand so as well while their load takes all that is given (lead, nickel); lithium falls back at once.
    """

    TERMINALS: ClassVar[tuple[str, ...]] = ("plus", "rest")

    plus: str
    rest: str
    volts: Number
    given: Number = exact(0.0)
    lasts: bool = True

    @staticmethod
    def _curve(p: Mapping[str, float]) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """A taken, rising, and the volts there."""
        rest = max(p["given"], 0.0)
        steps = (1.0, 10.0, 100.0)
        below, beyond = (
            (-MOST, *(-step for step in reversed(steps)), -CHARGES),
            (*(rest + s for s in steps), MOST),
        )
        between = (LASTS * rest - CHARGES / 2, rest, rest + LEAST)
        share = (*(1.0 for _ in below), 1.0 if rest else 0.5, 0.0, 0.0, *(0.0 for _ in beyond))
        return (*below, *between, *beyond), tuple(p["volts"] * own for own in share)

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        lies = (self.plus, self.rest)
        amperes, volts = self._curve(p)
        return (Stamp("rail", lies, (lies, J), (*amperes, *volts), True),)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        table = ", ".join(f"{-taken:.8g}, {v:.8g}" for taken, v in reversed([*zip(*self._curve(p))]))
        return [
            f"B{name} {name}_t {node[self.rest]} V=pwl(I(V{name}), {table})",
            f"V{name} {node[self.plus]} {name}_t 0",
        ]
