"""Elements that are linear at direct current: resistors, capacitors, windings, contacts, bridges of solder."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from generator.circuit.network.element import (
    LEAKING,
    OPEN,
    RESISTIVE,
    SHORT,
    Element,
    Number,
    Sized,
    Times,
    exact,
    leak_lines,
    siemens,
)
from generator.circuit.network.stamps import Stamp, conductance

CONTACT = 0.02  # ohm of a good contact
NONE = exact(math.inf)  # a leak that is not there


@dataclass(frozen=True, kw_only=True)
class Resistor(Element):
    """A resistance from 0 (a link) to inf (open): resistor, thermistor, heating element, fuse, lamp.

    blows: A beyond which it opens for good (a fuse).
    """

    FAILS = RESISTIVE

    a: str
    b: str
    ohms: Number
    blows: float = math.inf

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        return () if self.ac else (conductance(self.a, self.b, siemens(p["ohms"])),)

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return (conductance(self.a, self.b, siemens(p["ohms"])),)

    def admittance(self, p: Mapping[str, float], omega: float) -> tuple[tuple[str, str, complex], ...]:
        return ((self.a, self.b, complex(siemens(p["ohms"]))),)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        return [
            f"R{name} {node[self.a]} {node[self.b]} {1 / siemens(p['ohms']) if p['ohms'] < OPEN else OPEN:.10g}"
        ]


@dataclass(frozen=True, kw_only=True)
class Resting(Resistor):
    """What is something else to an ohmmeter (at_rest) than at work (ohms): a thermistor in the line, which is next to nothing
    when warm; a loudspeaker, whose rated impedance is no resistance."""

    at_rest: Number

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        failed = p["ohms"] == math.inf or p["ohms"] == 0.0
        return (conductance(self.a, self.b, siemens(p["ohms"] if failed else p["at_rest"])),)


# S and F: an electrolytic passes more than a net's insulation does, and far less than its leak for working circuits counts, so
# that a net behind it which nothing else holds stands where its other end does, for a meter that takes nothing
SEEPS, SEEPS_FROM = 1e-10, 1e-6


@dataclass(frozen=True, kw_only=True)
class Capacitor(Element):
    """Open at direct current, but for its leak (ohm, inf for none); its farads count at the mains frequency."""

    FAILS = LEAKING | {"open": {"farads": 0.0}, "low": {"farads": Times(0.2)}, "high": {"farads": Times(2.0)}}

    a: str
    b: str
    farads: Number
    leak: Number = NONE

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        seeps = SEEPS if p["farads"] >= SEEPS_FROM else 0.0
        return () if self.ac else (conductance(self.a, self.b, siemens(p["leak"]) + seeps),)

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return (conductance(self.a, self.b, siemens(p["leak"])),)

    def admittance(self, p: Mapping[str, float], omega: float) -> tuple[tuple[str, str, complex], ...]:
        return ((self.a, self.b, complex(siemens(p["leak"]), omega * p["farads"])),)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        a, b = node[self.a], node[self.b]
        lines = [f"C{name} {a} {b} {p['farads']:.10g}"]
        return [*lines, *leak_lines(f"{name}_leak", a, b, p["leak"])]


@dataclass(frozen=True, kw_only=True)
class Winding(Element):
    """A coil: its ohms at direct current and on the meter, with henries in series at the mains frequency.

    emf: what a turning motor sets against it (V, a to b), 0 unplugged. turning: what that comes to on the mains, where it
    is in phase with the current, ohm; a winding that is shorted does not turn.
    """

    FAILS = RESISTIVE

    a: str
    b: str
    ohms: Number
    henries: Number = exact(0.0)
    emf: Number = exact(0.0)
    turning: Number = exact(0.0)

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        g = siemens(p["ohms"] + p["turning"] if p["ohms"] > SHORT else p["ohms"])
        return (
            ()
            if self.ac
            else (Stamp("linear", (self.a, self.b), ((self.a, self.b),), (-g * p["emf"], g, 0.0)),)
        )

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return (conductance(self.a, self.b, siemens(p["ohms"])),)

    def admittance(self, p: Mapping[str, float], omega: float) -> tuple[tuple[str, str, complex], ...]:
        if p["ohms"] >= OPEN:
            return ((self.a, self.b, 0j),)
        return ((self.a, self.b, 1 / complex(self._at_work(p), omega * p["henries"])),)

    @staticmethod
    def _at_work(p: Mapping[str, float]) -> float:
        return p["ohms"] + p["turning"] if p["ohms"] > SHORT else SHORT

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        a, b, ohms = node[self.a], node[self.b], min(self._at_work(p), OPEN)
        if p["henries"]:
            return [f"R{name} {a} {name}_l {ohms:.10g}", f"L{name} {name}_l {b} {p['henries']:.10g}"]
        if p["emf"]:
            return [f"R{name} {a} {name}_e {ohms:.10g}", f"V{name} {name}_e {b} {p['emf']:.10g}"]
        return [f"R{name} {a} {b} {ohms:.10g}"]


@dataclass(frozen=True, kw_only=True)
class Contact(Element):
    """A switch, key, relay's or thermostat's contact: ohms where closed (1), insulation where not (0).

    coil: the designator of the relay that moves it, "" for none. rest: whether it is closed while nothing moves it, which
    is also how the ohmmeter finds it. free: whether what turns past it moves it, so that it is as likely closed as not.
    """

    SCATTERS = False  # worn to so many ohm it has those, and not the tenfold by which a good one may be off

    a: str
    b: str
    ohms: Number = exact(CONTACT)
    closed: Number = exact(1.0)
    coil: str = ""
    rest: bool = False
    free: bool = False

    def _siemens(self, p: Mapping[str, float]) -> float:
        return siemens(p["ohms"]) if p["closed"] else 1 / OPEN

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        return () if self.ac else (conductance(self.a, self.b, self._siemens(p)),)

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return (conductance(self.a, self.b, self._siemens(p)),)

    def admittance(self, p: Mapping[str, float], omega: float) -> tuple[tuple[str, str, complex], ...]:
        return ((self.a, self.b, complex(self._siemens(p))),)

    def failed(self, p: Mapping[str, float], mode: str, size: float | None = None) -> dict[str, float]:
        if mode == "high resistance":
            return {**p, "ohms": size or 10.0}
        if mode == "leaky":
            return p if p["closed"] else {**p, "closed": 1.0, "ohms": size or 1e5}  # type: ignore[return-value]
        if mode == "open":
            return {**p, "closed": 0.0}
        return {**p, "closed": {"short": 1.0, "stuck": 1.0}[mode], "ohms": size or CONTACT}

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        return [
            f"R{name} {node[self.a]} {node[self.b]} {1 / self._siemens(p):.10g} ; {'closed' if p['closed'] else 'open'} contact"
        ]


@dataclass(frozen=True, kw_only=True)
class Drain(Resistor):
    """By which what an open fuse cuts off stands at no voltage: on alternating current alone, an ohmmeter does not find it."""

    ac: bool = True

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return ()


@dataclass(frozen=True, kw_only=True)
class Bridge(Resistor):
    """Where solder or a wet track could join two neighbouring nets: nothing, until it fails "bridge" (size: ohm)."""

    FAILS = {"bridge": {"ohms": Sized(0.1)}}

    ohms: Number = NONE

    def groups(self) -> tuple[tuple[str, ...], ...]:
        return ()

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        return [] if math.isinf(p["ohms"]) else [f"R{name} {node[self.a]} {node[self.b]} {p['ohms']:.10g}"]


@dataclass(frozen=True, kw_only=True)
class Inside(Bridge):
    """Where a chip may break down between two of its pins: nothing, until it fails "short" (size: ohm)."""

    FAILS = {"short": {"ohms": Sized(1.0)}}
