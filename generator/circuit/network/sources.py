"""Elements that give or take something of themselves: sources, drives, loads, driven pins, rectified rails."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import ClassVar, Self

from generator.circuit.network.element import (
    RESISTIVE,
    Element,
    Number,
    Plus,
    Sized,
    Times,
    exact,
    leak_lines,
    siemens,
)
from generator.circuit.network.passive import NONE
from generator.circuit.network.stamps import J, Stamp, conductance, no_current, voltage

DRIVES = 1e3  # V behind a stated current whose source is not known
CURRENT_LIKE = 1000.0  # ohm: a rail that falls by more for each ampere is drawn as a source of current
PIN = 30.0  # ohm of a chip's output, to its supply or to common
COLD_LOAD = 0.05  # V: below about this a load stated in amperes dies with its supply
FRICTION = (
    0.5  # of a motor's torque where it runs: a fan has next to none, a gear or a piston next to nothing else
)


@dataclass(frozen=True, kw_only=True)
class Source(Element):
    """A voltage source: volts from plus to minus behind ohms; on = 0 takes it off the circuit (floating).

    inside: its ohms are met by an ohmmeter too (a battery is out, a source of plain volts is open: both False).
    """

    FAILS = {
        "open": {"on": 0.0}, "dead": {"volts": 0.0}, "short": {"volts": 0.0},
        "low": {"volts": Times(0.7)}, "high": {"volts": Times(1.3)}, "high resistance": {"ohms": Plus(1.0)},
    }  # fmt: skip

    TERMINALS: ClassVar[tuple[str, ...]] = ("plus", "minus")

    plus: str
    minus: str
    volts: Number
    ohms: Number = exact(0.0)
    on: Number = exact(1.0)
    waveform: str = ""  # "sin 50": alternating, volts RMS, only at the mains frequency

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        if self.ac:
            return ()
        made = voltage(self.plus, self.minus, p["volts"], p["ohms"])
        return (made if p["on"] and math.isfinite(p["ohms"]) else no_current(self.plus, self.minus),)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        plus, minus = node[self.plus], node[self.minus]
        if not p["on"]:
            return []
        shape = f"DC {p['volts']:.10g}"
        if self.waveform:
            shape = f"DC 0 AC {p['volts']:.10g} SIN(0 {p['volts'] * math.sqrt(2):.10g} {self.waveform.split()[1]})"
        if p["ohms"]:
            return [f"V{name} {name}_s {minus} {shape}", f"R{name} {name}_s {plus} {p['ohms']:.10g}"]
        return [f"V{name} {plus} {minus} {shape}"]


@dataclass(frozen=True, kw_only=True)
class Drive(Source):
    """A source that drives a block: volts while the state drives it (driven 1), idle volts while not."""

    idle: Number = exact(0.0)
    driven: Number = exact(1.0)

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        return super().stamps({**p, "volts": p["volts"] if p["driven"] else p["idle"]})

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        return super().spice({**p, "volts": p["volts"] if p["driven"] else p["idle"]}, node, name)


def own_of(elements: Iterable[Element]) -> Source | None:
    """The source that a block has of its own, the first of several; what drives it is none."""
    return next((e for e in elements if isinstance(e, Source) and not isinstance(e, Drive)), None)


@dataclass(frozen=True, kw_only=True)
class Load(Element):
    """A load stated in amperes, from a to b: it dies with its supply, never drives, and is nothing unplugged."""

    FAILS = {
        "open": {"amperes": 0.0}, "short": {"leak": 0.0}, "leaky": {"leak": Sized(1e3)},
        "high": {"amperes": Times(2.0)}, "low": {"amperes": Times(0.5)},
    }  # fmt: skip

    a: str
    b: str
    amperes: Number
    leak: Number = NONE

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        lies = (self.a, self.b)
        if self.ac:
            return ()
        return Stamp("load", lies, (lies,), (p["amperes"], COLD_LOAD)), conductance(*lies, siemens(p["leak"]))

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return (conductance(self.a, self.b, siemens(p["leak"])),)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        a, b = node[self.a], node[self.b]
        lines = leak_lines(f"{name}_leak", a, b, p["leak"])
        if p["amperes"]:
            lines.append(f"B{name} {a} {b} I={p['amperes']:.10g}*min(1,V({a},{b})/{COLD_LOAD})")
        return lines


@dataclass(frozen=True, kw_only=True)
class Motor(Element):
    """A brushed motor that turns under its load: its speed follows what its supply leaves beyond its winding, and its current
    follows its torque, which is friction at any speed and for the rest grows with the square of the speed, as of fans and
    pumps.

    amperes: running current; emf: V that it generates there (0 or less: it draws those amperes at any volts); friction: its
    share of the torque there; ohms: brush to brush, which is all that an ohmmeter and a motor at rest show; stalled: 1
    where the shaft is held; film: ohm of its brushes besides, at a meter's currents alone (a brush drops about the same volts
    at any current; common practice, no source). Source: the equivalent circuit of a brushed motor, V = I·R + k·speed and torque = k·I.
    """

    FAILS = RESISTIVE | {"stalled": {"stalled": 1.0}}

    a: str
    b: str
    amperes: Number
    ohms: Number
    emf: Number = exact(0.0)
    friction: Number = exact(FRICTION)
    stalled: Number = exact(0.0)
    film: Number = exact(0.0)

    def failed(self, p: Mapping[str, float], mode: str, size: float | None = None) -> dict[str, float]:
        if mode == "high brushes":
            return {**p, "film": p["ohms"] * ((size or 10.0) - 1)}
        return super().failed(p, mode, size)

    @staticmethod
    def _turns(p: Mapping[str, float]) -> bool:
        return not p["stalled"] and 0 < p["ohms"] < math.inf

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        lies, turns = (self.a, self.b), self._turns(p)
        turning = p["emf"] > 0
        friction, emf = (p["friction"], p["emf"]) if turning else (1.0, 1.0)
        own = (p["amperes"] if turns else 0.0, p["ohms"] if turns else 1.0, emf, friction)
        return Stamp("motor", lies, (lies,), own), conductance(*lies, 0.0 if turns else siemens(p["ohms"]))

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return (conductance(self.a, self.b, siemens(p["ohms"] + p["film"])),)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        a, b = node[self.a], node[self.b]
        if not self._turns(p):
            return [f"R{name} {a} {b} {1 / siemens(p['ohms']) if p['ohms'] < math.inf else 1e12:.10g}"]
        held = p["amperes"] * (p["friction"] if p["emf"] > 0 else 1.0)
        rest, ohms = p["amperes"] - held, p["ohms"]
        volts, squared = f"abs(V({a},{b}))", p["emf"] ** 2
        beyond = (
            f"{rest:.10g}*pow((sqrt({squared:.10g}+{4 * ohms * rest:.10g}*max({volts}-{held * ohms:.10g},0))-{p['emf']:.10g})/{2 * ohms * rest:.10g},2)"
            if rest
            else "0"
        )
        return [
            f"B{name} {a} {b} I=sgn(V({a},{b}))*min({volts}/{max(ohms, COLD_LOAD / max(held, 1e-12)):.10g},{held:.10g}+{beyond})"
        ]


@dataclass(frozen=True, kw_only=True)
class Feed(Element):
    """A stated current into plus and back from minus; what drives it into an open net gives DRIVES volts at most."""

    TERMINALS: ClassVar[tuple[str, ...]] = ("plus", "minus")

    plus: str
    minus: str
    amperes: Number

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        lies = (self.plus, self.minus)
        return (Stamp("linear", lies, (lies,), (-p["amperes"], p["amperes"] / DRIVES, 0.0)),)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        plus, minus, amperes = node[self.plus], node[self.minus], p["amperes"]
        return [f"I{name} {minus} {plus} {amperes:.10g}", f"R{name} {plus} {minus} {DRIVES / amperes:.10g}"]


@dataclass(frozen=True, kw_only=True)
class Pin(Element):
    """A pin that is driven: its net to the supply (high 1) or to common (low 1) behind ohms; both 0: high-impedance.

    supply: what it has when on; where it is driven by a voltage of its own, see Source.
    """

    FAILS = {
        "open": {"high": 0.0, "low": 0.0},
        "stuck high": {"high": 1.0, "low": 0.0, "ohms": Sized(PIN)},
        "stuck low": {"high": 0.0, "low": 1.0, "ohms": Sized(PIN)},
    }  # fmt: skip

    TERMINALS: ClassVar[tuple[str, ...]] = ("pin", "supply", "common")

    pin: str
    supply: str
    common: str
    ohms: Number = exact(PIN)
    high: Number = exact(0.0)
    low: Number = exact(1.0)

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        g = siemens(p["ohms"])
        return (
            conductance(self.pin, self.supply, g if p["high"] else 0.0), conductance(self.pin, self.common, g if p["low"] else 0.0),
        )  # fmt: skip

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        to = self.supply if p["high"] else self.common
        return [f"R{name} {node[self.pin]} {node[to]} {p['ohms']:.8g}"] if p["high"] or p["low"] else []


# RMS of a sawtooth without its mean, of its peak-to-peak value: what an AC range shows of a rail's ripple
SAWTOOTH = 1 / (2 * 3**0.5)

Curve = tuple[tuple[float, ...], tuple[float, ...]]  # amperes taken, rising from 0; volts there


@dataclass(frozen=True, kw_only=True)
class Rail(Element):
    """A rectified supply, by its solved steady state: mean volts as a function of the mean current taken.

    curve(p) gives POINTS currents and voltages for the numbers in given; figures(p, amperes) what else is known of the
    steady state there (ripple, trough, ...). fed: the mains nets that feed it and the volts RMS at which it is rated;
    the number `share` is what it gets of them. clamp: the element across it that takes what the load leaves, and is no part
    of the current that figures are asked for. below: the far end of another like it in series, which ripples in turn with it,
    so that both together ripple as one of them. swings: which of the figures an AC range shows, peak to peak for "ripple",
    else as it stands. starved(p): V that it may show although it brings next to nothing. Its wear: the parts that are in the curve (transformer, diodes, smoothing
    capacitor).
    """

    TERMINALS: ClassVar[tuple[str, ...]] = ("plus", "minus")

    plus: str
    minus: str
    curve: Callable[[Mapping[str, float]], Curve]
    given: Mapping[str, Number] = field(default_factory=dict)
    figures: Callable[[Mapping[str, float], float], dict[str, float]] | None = None
    starved: Callable[[Mapping[str, float]], float] | None = None
    fed: tuple[str, str, float] | None = None
    clamp: str = ""
    below: str = ""
    swings: str = "ripple"

    @cached_property
    def numbers(self) -> dict[str, Number]:
        return {"share": exact(1.0), **self.given}

    @cached_property
    def _curves(self) -> dict[tuple[float, ...], Curve]:
        """What curve gave: states, failures and tolerances ask for the same."""
        return {}

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        key = tuple(p.values())
        if key not in self._curves:
            self._curves[key] = self.curve(p)
        amperes, volts = self._curves[key]
        lies = (self.plus, self.minus)
        return (Stamp("rail", lies, (lies, J), (*amperes, *volts), True),)

    def renamed(self, name: Callable[[str], str]) -> Self:
        element = replace(super().renamed(name), below=name(self.below) if self.below else "")
        if not element.fed:
            return element
        live, neutral, volts = element.fed
        return replace(element, fed=(name(live), name(neutral), volts))

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        amperes, volts = self.curve(p)
        about = f"* {self.block}: rectified supply by its solved steady state, mean volts as a table over the mean current taken"
        # a source of current rather than volts
        if abs(volts[0] - volts[-3]) > CURRENT_LIKE * (amperes[-3] - amperes[0]):
            points = sorted({*zip(volts, amperes), (2 * volts[0], 0.0)})
            table = ", ".join(f"{v:.8g}, {i:.8g}" for v, i in points)
            plus, minus = node[self.plus], node[self.minus]
            return [about, f"B{name} {minus} {plus} I=max(pwl(V({plus},{minus}), {table}), 0)"]
        table = ", ".join(f"{i:.8g}, {v:.8g}" for i, v in zip(amperes, volts))
        return [
            about,
            f"B{name} {name}_t {node[self.minus]} V=pwl(max(I(V{name}),0), {table})",
            f"D{name} {name}_t {name}_r m_{name}", f".model m_{name} D(IS=1e-9 N=0.01)",
            f"V{name} {name}_r {node[self.plus]} 0",
        ]  # fmt: skip
