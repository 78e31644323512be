"""Semiconductors: diodes of every sort, bipolar transistors, MOSFETs.

One exponential model for all junctions, set by the forward voltage at a stated current (Shockley's equation), as SPICE
has it, so that the exported netlist says the same.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from generator.circuit.network.element import (
    BROKEN,
    Element,
    Number,
    Sized,
    Times,
    exact,
    leak_lines,
    siemens,
)
from generator.circuit.network.passive import NONE
from generator.circuit.network.stamps import FLOOR, Stamp, conductance, junction

THERMAL = 0.0258649  # V: kT/q at 27 °C, which is also SPICE's temperature
# V across a junction at the 1 mA of a meter's diode range: silicon (common practice), a Schottky diode of 1 to 3 A (from memory,
# data sheets: 0.15 to 0.25 V)
TESTED = {"silicon": 0.6, "zener": 0.6, "schottky": 0.2}
TESTED_BASE = 0.67  # the same of a small transistor's base (common practice, no source)
EMISSION = {"silicon": 1.8, "schottky": 1.1, "led": 2.0, "zener": 1.8}  # typical of data sheets, from memory
KNEE_EMISSION = 1.5  # how a zener breaks down; typical of small zeners' data sheets, from memory
KNEE = THERMAL * KNEE_EMISSION  # V for each e-fold of its current
BREAKDOWN_AT = 5e-3  # A at which a zener's voltage is stated (the usual test current of small zeners)


@dataclass(frozen=True, kw_only=True)
class Diode(Element):
    """A junction: forward volts at `at` amperes; breakdown: zener volts at 5 mA (0: none); leak: ohm beside it.

    emission: slope of the exponential. tested: volts on the diode range (1 mA), 0 where the model itself says it.
    """

    FAILS = BROKEN | {
        "short one": BROKEN["short"],
        "high": {"forward": Times(1.3), "breakdown": Times(1.3)},
        "low": {"forward": Times(0.7), "breakdown": Times(0.7)},
    }

    TERMINALS: ClassVar[tuple[str, ...]] = ("anode", "cathode")

    anode: str
    cathode: str
    forward: Number = exact(0.7)
    at: float = 0.01
    emission: float = EMISSION["silicon"]
    breakdown: Number = exact(0.0)
    tested: float = 0.0
    leak: Number = NONE
    alive: Number = exact(1.0)

    def _junction(self, p: Mapping[str, float], forward: float, at: float) -> Stamp:
        width = self.emission * THERMAL
        zener = BREAKDOWN_AT if p["breakdown"] and p["alive"] else 0.0
        saturation = at * math.exp(-forward / width) * p["alive"]
        return junction((self.anode, self.cathode), saturation, width, (p["breakdown"], zener, KNEE))

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        leak = conductance(self.anode, self.cathode, siemens(p["leak"]))
        return self._junction(p, p["forward"], self.at), leak

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        leak = conductance(self.anode, self.cathode, siemens(p["leak"]))
        if mode == "ohms":
            return (leak,)
        forward, at = (self.tested, 1e-3) if self.tested else (p["forward"], self.at)
        return self._junction(p, forward, at), leak

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        saturation = self._junction(p, p["forward"], self.at).numbers[0]
        zener = f" BV={p['breakdown']:.8g} IBV={BREAKDOWN_AT} NBV={KNEE_EMISSION}" if p["breakdown"] else ""
        lines = []
        if p["alive"]:
            lines = [f"D{name} {node[self.anode]} {node[self.cathode]} m_{name}",
                     f".model m_{name} D(IS={saturation:.8g} N={self.emission}{zener})"]  # fmt: skip
        return lines + leak_lines(f"{name}_leak", node[self.anode], node[self.cathode], p["leak"])


@dataclass(frozen=True, kw_only=True)
class Clamp(Diode):
    """A chip's own protection diode at one of its pins: upper, from the pin to the supply, else from common to the pin. Not met by
    an ohmmeter, nor on the diode range, where one chip has it and the next has not."""

    ON_BOARD: ClassVar[bool] = False

    upper: bool

    @property
    def pin(self) -> str:
        """The net of its pin."""
        return self.anode if self.upper else self.cathode

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return ()


@dataclass(frozen=True, kw_only=True)
class Transistor(Element):
    """A bipolar transistor by Ebers and Moll's equations (transport form).

    hfe; vbe and vce_sat in V, both as they are at its working point: base current `at` (A) and collector current over
    base current `forced`. leak: ohm from collector to emitter. joined: 0 where its collector's bond has burnt off. Valid for switches and slow stages; no Early effect.
    """

    FAILS = BROKEN | {
        "open collector": {"joined": 0.0}, "low": {"hfe": Times(0.2)}, "high": {"hfe": Times(3.0)},
    }  # fmt: skip

    TERMINALS: ClassVar[tuple[str, ...]] = ("base", "collector", "emitter")

    base: str
    collector: str
    emitter: str
    hfe: Number
    vbe: Number = exact(0.7)
    vce_sat: Number = exact(0.2)
    at: float = 1e-3
    forced: float = 0.0  # 0: not saturated there; vce_sat then holds at half of hfe
    pnp: bool = False
    leak: Number = NONE
    joined: Number = exact(1.0)
    alive: Number = exact(1.0)

    def _model(self, p: Mapping[str, float]) -> tuple[float, float, float]:
        """(saturation current in A, forward gain, reverse gain) that give vbe and vce_sat at the working point."""
        nominal = self.hfe.value
        forced = self.forced if 0 < self.forced < 0.95 * nominal else nominal / 2
        x = math.exp(-p["vce_sat"] / THERMAL)
        reverse = x * (1 + forced) / max(1 - x - forced / nominal, 1e-3)
        # of the base current per unit of transport
        share = 1 / nominal + (x / reverse if self.forced else 0.0)
        saturation = self.at * math.exp(-p["vbe"] / THERMAL) / share
        return saturation * p["alive"], max(p["hfe"], 1e-3), max(reverse, 1e-6)

    def _signs(self) -> tuple[tuple[str, str], tuple[str, str], tuple[str, str]]:
        """Base-emitter, base-collector and collector-emitter in the direction in which current flows."""
        lies = (self.base, self.emitter), (self.base, self.collector), (self.collector, self.emitter)
        return tuple((b, a) for a, b in lies) if self.pnp else lies  # type: ignore[return-value]

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        saturation, forward, reverse = self._model(p)
        be, bc, ce = self._signs()
        return (
            junction(be, saturation / forward, THERMAL),
            junction(bc, saturation / reverse * p["joined"], THERMAL),
            Stamp("transport", ce, (be, bc), (saturation * p["joined"], THERMAL)),
            conductance(*ce, siemens(p["leak"])),
        )

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        be, bc, ce = self._signs()
        leak = conductance(*ce, siemens(p["leak"]))
        if mode == "ohms":
            return (leak,)
        saturation = p["alive"] * 1e-3 * math.exp(-TESTED_BASE / THERMAL)
        return junction(be, saturation, THERMAL), junction(bc, saturation * p["joined"], THERMAL), leak

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        saturation, forward, reverse = self._model(p)
        c, b, e = node[self.collector], node[self.base], node[self.emitter]
        leak = leak_lines(f"{name}_leak", c, e, p["leak"])
        lines = []
        if not p["joined"]:
            c = f"{name}_bond"
            lines.append(f"R{name}_bond {c} {e} 1e12")
        if p["alive"]:
            sort = "PNP" if self.pnp else "NPN"
            lines += [
                f"Q{name} {c} {b} {e} m_{name}",
                f".model m_{name} {sort}(IS={saturation:.8g} BF={forward:.8g} BR={reverse:.8g})",
            ]
        return lines + leak


@dataclass(frozen=True, kw_only=True)
class Mosfet(Element):
    """A MOSFET by the square law, with its body diode. vth in V; rds in ohm with the gate `at` volts above vth.

    leak: ohm from drain to source; gate_leak: from gate to source.
    """

    FAILS = BROKEN | {
        "high": {"rds": Times(10.0)}, "low": {"rds": Times(0.5)}, "leaky gate": {"gate_leak": Sized(1e3)},
    }  # fmt: skip

    TERMINALS: ClassVar[tuple[str, ...]] = ("gate", "drain", "source")

    gate: str
    drain: str
    source: str
    vth: Number = exact(2.0)
    rds: Number = exact(0.05)
    at: float = 3.0
    p_channel: bool = False
    leak: Number = NONE
    gate_leak: Number = NONE
    alive: Number = exact(1.0)

    def _factor(self, p: Mapping[str, float]) -> float:
        return p["alive"] / (max(p["rds"], 1e-4) * max(self.at, 0.1))

    def _signs(self) -> tuple[tuple[str, str], tuple[str, str]]:
        lies = (self.gate, self.source), (self.drain, self.source)
        return tuple((b, a) for a, b in lies) if self.p_channel else lies  # type: ignore[return-value]

    def _body(self, p: Mapping[str, float], forward: float, at: float) -> Stamp:
        width = EMISSION["silicon"] * THERMAL
        drain, source = self._signs()[1]
        return junction((source, drain), at * math.exp(-forward / width) * p["alive"], width)

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        gs, ds = self._signs()
        return (
            Stamp("channel", ds, (gs, ds), (p["vth"], self._factor(p), FLOOR)),
            self._body(p, 0.7, 0.1),
            conductance(*ds, siemens(p["leak"])),
            conductance(*gs, max(FLOOR, siemens(p["gate_leak"]))),
        )

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        gs, ds = self._signs()
        leaks = conductance(*ds, siemens(p["leak"])), conductance(*gs, siemens(p["gate_leak"]))
        return leaks if mode == "ohms" else (self._body(p, TESTED["silicon"], 1e-3), *leaks)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        d, g, s = node[self.drain], node[self.gate], node[self.source]
        leak = [
            *leak_lines(f"{name}_leak", d, s, p["leak"]),
            *leak_lines(f"{name}_gate", g, s, p["gate_leak"]),
        ]
        if not p["alive"]:
            return leak
        sort, sign = ("PMOS", -1) if self.p_channel else ("NMOS", 1)
        body = self._body(p, 0.7, 0.1)
        a, k = (node[net] for net in body.out)
        return [
            f"M{name} {d} {g} {s} {s} m_{name} L=1u W=1u",
            f".model m_{name} {sort}(LEVEL=1 VTO={sign * p['vth']:.8g} KP={self._factor(p):.8g} IS=1e-30)",
            f"D{name}_body {a} {k} m_{name}_body",
            f".model m_{name}_body D(IS={body.numbers[0]:.8g} N={EMISSION['silicon']})",
            *leak,
        ]
