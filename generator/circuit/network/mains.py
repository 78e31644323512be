"""What only the mains know: transformers, what takes watts, triacs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from generator.circuit.network.element import OPEN, SHORT, Element, Number, Sized, exact, leak_lines, siemens
from generator.circuit.network.passive import NONE, Resistor
from generator.circuit.network.stamps import Stamp, conductance

SHORTED_TURNS = 5e-4  # siemens: 26 W at 230 V, as much as makes a small transformer too hot to touch (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class Transformer(Element):
    """A mains transformer: at its rated current the secondary gives ratio times the primary's volts.

    above: share by which it gives more, because less is taken; ohms: of the secondary, as the meter finds it; primary: of
    the primary, inf where nobody states it, and then likely is what the secondary's lets expect (0: nothing); idle: A that it takes for each volt across it (siemens), next to nothing.
    """

    TERMINALS: ClassVar[tuple[str, ...]] = ("live", "neutral", "plus", "minus")

    live: str
    neutral: str
    plus: str
    minus: str
    ratio: Number
    above: Number = exact(0.0)
    ohms: Number = exact(0.0)
    primary: Number = NONE
    likely: float = 0.0
    idle: Number = exact(1e-5)

    def groups(self) -> tuple[tuple[str, ...], ...]:
        return (self.live, self.neutral), (self.plus, self.minus)

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return (
            conductance(self.live, self.neutral, siemens(p["primary"])),
            conductance(self.plus, self.minus, siemens(p["ohms"])),
        )

    def admittance(self, p: Mapping[str, float], omega: float) -> tuple[tuple[str, str, complex], ...]:
        return ((self.live, self.neutral, complex(p["idle"])),)

    def failed(self, p: Mapping[str, float], mode: str, size: float | None = None) -> dict[str, float]:
        if mode == "open":  # the primary, whose wire is the thinner and has the thermal fuse
            return {**p, "ratio": 0.0, "primary": math.inf, "idle": 0.0}
        if mode == "shorted turns":  # a ring that takes its load of the primary; in ohms little is missing
            drawn = max(p["idle"], SHORTED_TURNS)
            return {**p, "ratio": p["ratio"] * (size or 0.6), "primary": p["primary"] * 0.9, "idle": drawn}
        return super().failed(p, mode, size)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        live, neutral, plus, minus = (node[net] for net in self.nets)
        return [
            f"E{name} {plus} {minus} {live} {neutral} {p['ratio'] * (1 + p['above']):.8g}",
            f"R{name}_idle {live} {neutral} {1 / max(p['idle'], 1e-12):.8g}",
        ]


@dataclass(frozen=True, kw_only=True)
class Plugged(Element):
    """Something on the mains that takes watts or amperes at a power factor: its admittance at rated volts.

    volts, watts; at_rest: ohm on the meter, the plug out (inf: a current that is not there without its volts).
    """

    live: str
    neutral: str
    volts: Number
    watts: Number
    at_rest: Number = NONE
    TERMINALS: ClassVar[tuple[str, ...]] = ("live", "neutral")

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return (conductance(self.live, self.neutral, siemens(p["at_rest"])),)

    def admittance(self, p: Mapping[str, float], omega: float) -> tuple[tuple[str, str, complex], ...]:
        return ((self.live, self.neutral, complex(p["watts"] / p["volts"] ** 2)),)

    def failed(self, p: Mapping[str, float], mode: str, size: float | None = None) -> dict[str, float]:
        if mode == "open":
            return {**p, "watts": 0.0, "at_rest": math.inf}
        if mode == "short":
            return {**p, "watts": p["volts"] ** 2 / max(size or 0.0, SHORT), "at_rest": size or 0.0}
        if mode not in ("high", "low"):
            raise ValueError(f"{self.name} does not fail {mode}")
        factor = size or (2.0 if mode == "high" else 0.5)
        if math.isinf(p["at_rest"]):  # what draws a current draws more or less of it
            return {**p, "watts": p["watts"] * factor}
        return {**p, "watts": p["watts"] / factor, "at_rest": p["at_rest"] * factor}

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        return [
            f"R{name} {node[self.live]} {node[self.neutral]} {p['volts'] ** 2 / max(p['watts'], 1e-6):.8g}"
        ]


@dataclass(frozen=True, kw_only=True)
class Pot(Resistor):
    """A pot as a resistor from its wiper: an ohmmeter is put across its whole track, at work a share of that is left."""

    turned: Number = exact(0.0)

    def admittance(self, p: Mapping[str, float], omega: float) -> tuple[tuple[str, str, complex], ...]:
        left = p["ohms"] if math.isinf(p["ohms"]) else p["ohms"] * p["turned"]
        return ((self.a, self.b, complex(siemens(left))),)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        left = min(OPEN, max(SHORT, p["ohms"] if math.isinf(p["ohms"]) else p["ohms"] * p["turned"]))
        return [f"R{name} {node[self.a]} {node[self.b]} {left:.8g}"]


@dataclass(frozen=True, kw_only=True)
class Diac(Resistor):
    """A diac from its capacitor (a) to a triac's gate (b): next to nothing, but for the moment in which it fires.

    breakover: V at which it does; breakback: V that it takes off the capacitor; path: ohm over which the capacitor is charged.
    """

    FAILS = {"open": {"alive": 0.0}, "short": {"ohms": Sized(0.0)}, "leaky": {"ohms": Sized(1e4)}}

    ohms: Number = NONE
    alive: Number = exact(1.0)
    breakover: Number
    breakback: Number
    path: Number


@dataclass(frozen=True, kw_only=True)
class Triac(Element):
    """A triac between its main terminals: ohms while it is fired (driven 1), insulation else; an ohmmeter does not fire it.

    follows: another circuit of the note fires it, not the state by itself. gate: where it does; no part of its current.
    fires, blocks: rad after the zero crossing, where a diac fires it late in each half-cycle. Its RMS volts and those of its
    load are then as across what impedance (late + j·lags, ohm, at the mains frequency) stands in series with it: at any
    time one of the two has all of the mains, so the squares of both add up to the square of that.
    """

    TERMINALS: ClassVar[tuple[str, ...]] = ("gate", "a", "b")

    gate: str
    a: str
    b: str
    ohms: Number
    driven: Number = exact(1.0)
    alive: Number = exact(1.0)
    leak: Number = NONE
    fires: Number = exact(0.0)
    blocks: Number = exact(0.0)
    late: Number = exact(0.0)
    lags: Number = exact(0.0)
    follows: bool = False
    frequency: float = 50.0

    def groups(self) -> tuple[tuple[str, ...], ...]:
        return ((self.a, self.b),)

    def _siemens(self, p: Mapping[str, float]) -> complex:
        fired = 1 / complex(max(p["ohms"], SHORT) + p["late"], p["lags"])
        return (fired if p["driven"] and p["alive"] else 1 / OPEN) + siemens(p["leak"])

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return (conductance(self.a, self.b, siemens(p["leak"])),)

    def admittance(self, p: Mapping[str, float], omega: float) -> tuple[tuple[str, str, complex], ...]:
        return ((self.a, self.b, self._siemens(p)),)

    def failed(self, p: Mapping[str, float], mode: str, size: float | None = None) -> dict[str, float]:
        changed = {"open": {"alive": 0.0}, "short": {"leak": size or 0.0}, "leaky": {"leak": size or 1e4}}
        return {**p, **changed[mode]}

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        a, b = node[self.a], node[self.b]
        on = bool(p["driven"] and p["alive"])
        if not on or not p["fires"]:
            held = max(1 / OPEN, abs(self._siemens({**p, "late": 0.0, "lags": 0.0})))
            return [f"R{name} {a} {b} {1 / held:.8g} ; triac, {'fired' if on else 'not fired'}"]
        turn = 2 * math.pi * self.frequency
        starts, lasts = p["fires"] / turn, (math.pi + p["blocks"] - p["fires"]) / turn
        return [
            f"V{name}_g {name}_g 0 PULSE(0 1 {starts:.8g} 1u 1u {lasts:.8g} {math.pi / turn:.8g})",
            f"S{name} {a} {b} {name}_g 0 m_{name} ; triac, fired {math.degrees(p['fires']):.4g} degrees after the zero crossing",
            f".model m_{name} SW(VT=0.5 VH=0 RON={max(p['ohms'], SHORT):.8g} ROFF=1e9)",
            *leak_lines(f"{name}_leak", a, b, p["leak"]),
        ]
