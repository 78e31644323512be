"""A motor with electronic commutation, as a meter finds it: what it takes on average, and where its windings stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from generator.circuit.network.element import Element, Number, exact
from generator.circuit.network.sources import Motor
from generator.circuit.network.stamps import Stamp

HELD = 1e-3  # S by which the mean of the star is held: a meter's 10 Mohm does not move it


@dataclass(frozen=True, kw_only=True)
class Commutated(Motor):
    """What the bridge of a brushless motor takes from its supply, on average over a turn. Its windings are elements of
    their own, which an ohmmeter finds between the leads and not at the supply."""

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return ()


@dataclass(frozen=True, kw_only=True)
class Star(Element):
    """Where the windings stand on average while the motor turns: each lead is driven, at 0 V and free for a third of a turn
    each, its mean is half of what the bridge gives on average. share: of the supply."""

    TERMINALS: ClassVar[tuple[str, ...]] = ("star", "plus", "minus")

    star: str
    plus: str
    minus: str
    share: Number = exact(0.5)

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        own = (self.star, self.minus)
        return (Stamp("linear", own, (own, (self.plus, self.minus)), (0.0, HELD, -HELD * p["share"])),)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        star, plus, minus = (node[net] for net in self.nets)
        return [f"B{name} {star} {minus} I={HELD}*(V({star},{minus})-{p['share']:.8g}*V({plus},{minus}))"]


@dataclass(frozen=True, kw_only=True)
class Toggling(Element):
    """An open-collector output that a turning shaft moves up and down: on a meter's DC range, high (what feeds it) for a
    half of the time and low V for the other. open: it stays high; shorted: low; nothing else fails here. held: S of what
    drives it, where something drives it both ways; reaches: share of the supply to which it is driven."""

    TERMINALS: ClassVar[tuple[str, ...]] = ("out", "supply", "common")

    out: str
    supply: str
    common: str
    low: Number
    up: Number = exact(0.5)  # share of the time in which it is high
    reaches: Number = exact(1.0)
    held: float = HELD

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        own, high, g = (self.out, self.common), (self.supply, self.common), self.held
        mean = -g * (1 - p["up"]) * p["low"], g, -g * p["up"] * p["reaches"]
        return (Stamp("linear", own, (own, high), mean),)

    def failed(self, p: Mapping[str, float], mode: str, size: float | None = None) -> dict[str, float]:
        return {**p, "up": {"open": 1.0, "short": 0.0}[mode]}

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        out, supply, common = (node[net] for net in self.nets)
        mean = f"{(1 - p['up']) * p['low']:.8g}+{p['up'] * p['reaches']:.8g}*V({supply},{common})"
        return [f"B{name} {out} {common} I={self.held}*(V({out},{common})-({mean}))"]
