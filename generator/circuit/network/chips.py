"""Chips as elements: linear regulators, operational amplifiers and comparators, optocouplers, with their limits."""

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
from generator.circuit.network.junctions import EMISSION, THERMAL
from generator.circuit.network.passive import NONE
from generator.circuit.network.sources import COLD_LOAD
from generator.circuit.network.stamps import BEFORE, FLOOR, J, Stamp, conductance, junction

PULLS = 60.0  # ohm from a broken output to common, where it stays low (common practice, no source)
HELD = 1e3  # V between the inputs of a comparator that its feedback holds on one side, whatever lies there
LEAKS = 1e-9  # S of a chip from its supply and its output to common (comparator data sheets: nanoamperes)
OWN_DIVIDER = 2e5  # ohm: of the divider inside, so that an output without a load stands where it is regulated


@dataclass(frozen=True, kw_only=True)
class Regulator(Element):
    """A linear regulator: holds volts between output and common, or input less dropout; only ever gives current.

    volts, dropout in V; quiescent in A from input to common. across: ohm of a failed pass element. limited: A that it
    gives where its own current limit holds it (then with alive 0), 0 where it regulates.
    """

    FAILS = {
        "open": {"alive": 0.0, "quiescent": 0.0}, "open output": {"alive": 0.0}, "short": {"across": 0.0}, "leaky": {"across": Sized(1e3)},
        "high": {"volts": Times(1.3)}, "low": {"volts": Times(0.7)},
    }  # fmt: skip

    TERMINALS: ClassVar[tuple[str, ...]] = ("input", "output", "common")

    input: str
    output: str
    common: str
    volts: Number
    dropout: Number = exact(2.0)
    quiescent: Number = exact(0.005)
    across: Number = NONE
    limited: Number = exact(0.0)
    alive: Number = exact(1.0)

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        pair, own = (self.input, self.output), (self.input, self.common)
        return (
            Stamp(
                "regulator",
                pair,
                (pair, (self.output, self.common), J),
                (p["volts"], p["dropout"], 1.0, 1.0 - p["alive"]),
                True,
            ),
            Stamp("load", own, (own,), (p["quiescent"], COLD_LOAD)),
            Stamp("load", pair, (pair,), (p["limited"], max(p["dropout"], COLD_LOAD))),
            conductance(*pair, siemens(p["across"])),
            conductance(self.output, self.common, p["alive"] / OWN_DIVIDER),
        )

    def held(self, p: Mapping[str, float], limit: float, gives: float) -> dict[str, float]:
        """The parameters that hold it at its limit (A); gives: A without."""
        return {"limited": limit, "alive": 0.0}

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return (conductance(self.input, self.output, siemens(p["across"])),)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        i, o, c = node[self.input], node[self.output], node[self.common]
        lines = leak_lines(f"{name}_across", i, o, p["across"])
        if p["quiescent"]:
            lines.append(f"B{name}_own {i} {c} I={p['quiescent']:.8g}*min(1,V({i},{c})/{COLD_LOAD})")
        if p["alive"]:
            lines += [
                f"R{name}_own {o} {c} {OWN_DIVIDER:.8g}",
                f"B{name} {name}_p {c} V=min({p['volts']:.8g}, V({i},{c})-{p['dropout']:.8g})",
                f"D{name} {name}_p {name}_q m_{name}", f".model m_{name} D(IS=1e-9 N=0.01)",
                f"V{name} {name}_q {o} 0", f"F{name} {i} {c} V{name} 1",
            ]  # fmt: skip
        return lines


@dataclass(frozen=True, kw_only=True)
class Loop(Regulator):
    """A regulator that holds volts between a sense input and common instead of at its own output."""

    TERMINALS: ClassVar[tuple[str, ...]] = ("input", "output", "common", "sense")

    sense: str

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        held, *rest = super().stamps(p)
        pair, _own, through = held.controls
        return held._replace(controls=(pair, (self.sense, self.common), through)), *rest

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        i, o, c, f = node[self.input], node[self.output], node[self.common], node[self.sense]
        if not p["alive"]:
            return leak_lines(f"{name}_across", i, o, p["across"])
        wanted = f"V({o},{c})+1000*({p['volts']:.8g}-V({f},{c}))"
        lines = [line for line in super().spice(p, node, name) if not line.startswith(f"B{name} ")]
        return [f"B{name} {name}_p {c} V=min({wanted}, V({i},{c})-{p['dropout']:.8g})", *lines]


@dataclass(frozen=True, kw_only=True)
class Amplifier(Element):
    """An operational amplifier or comparator with limits; its inputs draw nothing.

    gain: V/V of the difference over its swing; ohms: of the output; low: V above common; lost: V below the supply that it
    does not reach; high: a fixed upper level in V (0: follows the supply); quiescent in A from supply to common.
    open_collector: it only pulls down. leak, lift: ohm from the output to common and to the supply. offset: V that its inputs
    differ by besides.
    """

    FAILS = BROKEN | {
        "stuck low": {"alive": 0.0, "leak": Sized(PULLS)}, "stuck high": {"alive": 0.0, "lift": Sized(PULLS)},
        "held low": {"offset": -HELD}, "held high": {"offset": HELD},
    }  # fmt: skip

    TERMINALS: ClassVar[tuple[str, ...]] = ("plus", "minus", "output", "supply", "common")

    plus: str
    minus: str
    output: str
    supply: str
    common: str
    gain: float = 1e5
    ohms: Number = exact(30.0)
    low: Number = exact(0.0)
    lost: Number = exact(0.0)
    high: Number = exact(0.0)
    quiescent: Number = exact(0.0)
    offset: Number = exact(0.0)
    open_collector: bool = False
    alive: Number = exact(1.0)
    leak: Number = NONE
    lift: Number = NONE

    def groups(self) -> tuple[tuple[str, ...], ...]:
        return (self.nets,)

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        difference, out, span = (
            (self.plus, self.minus),
            (self.output, self.common),
            (self.supply, self.common),
        )
        rest = (
            Stamp("load", span, (span,), (p["quiescent"] * p["alive"], COLD_LOAD)),
            conductance(*out, siemens(p["leak"]) + LEAKS), conductance(*span, LEAKS),
            conductance(self.supply, self.output, siemens(p["lift"])), conductance(*difference, FLOOR),
        )  # fmt: skip
        shut = 1.0 - p["alive"]
        if self.open_collector:
            return (
                Stamp(
                    "sink",
                    out,
                    (difference, out, J),
                    (self.gain, p["ohms"], p["low"], shut, p["offset"]),
                    True,
                ),
                *rest,
            )
        numbers = (self.gain, p["ohms"], p["low"], p["lost"], p["high"], shut, p["offset"])
        return (
            Stamp("amplifier", (self.common, self.output), (difference, out, span, J), numbers, True),
            Stamp("draw", span, (BEFORE, span), ()),
            *rest,
        )

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        n, m, o, s, c = (node[net] for net in self.nets)
        lines = leak_lines(f"{name}_leak", o, c, p["leak"]) + leak_lines(f"{name}_lift", s, o, p["lift"])
        if not p["alive"]:
            return lines
        if p["quiescent"]:
            lines.append(f"B{name}_own {s} {c} I={p['quiescent']:.8g}*min(1,V({s},{c})/{COLD_LOAD})")
        sign = "-" if self.open_collector else ""
        u = f"({sign}{self.gain:.8g}*(V({n},{m})+{p['offset']:.8g}))"
        share = f"(0.5+0.5*{u}/sqrt(1+{u}*{u}))"
        if self.open_collector:
            return [*lines, f"B{name} {o} {c} I={share}*max(V({o},{c})-{p['low']:.8g},0)/{p['ohms']:.8g}"]
        high = f"V({s},{c})-{p['lost']:.8g}"
        high = f"min({p['high']:.8g},{high})" if p["high"] else high
        low = f"min({p['low']:.8g},max(V({s},{c}),0))"
        target = f"({low}+max({high}-{low},0)*{share})"
        current = f"(V({o},{c})-{target})/{p['ohms']:.8g}"
        return [*lines, f"B{name}_down {o} {c} I=max({current},0)", f"B{name}_up {o} {s} I=min({current},0)"]


@dataclass(frozen=True, kw_only=True)
class Coupler(Element):
    """An optocoupler: an LED (forward volts at `at` amperes) and a transistor that carries ctr times its current.

    ctr as a ratio; saturated: ohm of its transistor fully on; leak: ohm of its output.
    """

    FAILS = BROKEN | {"dark": {"lit": 0.0}, "low": {"ctr": Times(0.2)}, "high": {"ctr": Times(3.0)}}

    TERMINALS: ClassVar[tuple[str, ...]] = ("anode", "cathode", "collector", "emitter")

    anode: str
    cathode: str
    collector: str
    emitter: str
    ctr: Number
    forward: Number = exact(1.2)
    at: float = 0.005
    saturated: Number = exact(100.0)
    leak: Number = NONE
    lit: Number = exact(1.0)
    alive: Number = exact(1.0)

    def groups(self) -> tuple[tuple[str, ...], ...]:
        return (self.anode, self.cathode), (self.collector, self.emitter)

    def _saturation(self, p: Mapping[str, float]) -> float:
        return self.at * math.exp(-p["forward"] / (EMISSION["led"] * THERMAL)) * p["lit"]

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        led, out, width = (
            (self.anode, self.cathode),
            (self.collector, self.emitter),
            EMISSION["led"] * THERMAL,
        )
        saturation = self._saturation(p)
        return (
            junction(led, saturation, width),
            Stamp("coupler", out, (led, out), (saturation, width, p["ctr"] * p["alive"], 1 / p["saturated"])),
            conductance(*out, siemens(p["leak"]) + FLOOR),
        )

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        led = (self.anode, self.cathode)
        leak = conductance(self.collector, self.emitter, siemens(p["leak"]))
        tested = junction(led, self._saturation(p), EMISSION["led"] * THERMAL)
        return (leak,) if mode == "ohms" else (tested, leak)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        a, k, c, e = (node[net] for net in self.nets)
        leak = leak_lines(f"{name}_leak", c, e, p["leak"])
        if not p["lit"]:
            return leak
        lines = [
            f"V{name} {a} {name}_a 0",
            f"D{name} {name}_a {k} m_{name}",
            f".model m_{name} D(IS={self._saturation(p):.8g} N={EMISSION['led']})",
        ]
        gain = p["ctr"] * p["alive"]
        if gain:
            given, passed = f"{gain:.8g}*I(V{name})", f"max(V({c},{e}),0)/{p['saturated']:.8g}"
            lines.append(f"B{name} {c} {e} I=min({given},{passed})")
        return lines + leak
