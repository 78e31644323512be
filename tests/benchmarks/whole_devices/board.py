"""A board described part by part: each call adds a part as it really behaves, and the ways in which it
fails.

A resistive element has a value powered and a value unplugged; a fault is a set of changed elements. Text
for ngspice and the conductances for an ohmmeter come from the same list.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field

from whole_devices.spreads import CELL, THERMAL_VOLTAGE, Draw

OPEN, SHORT, NONE = 1e10, 0.02, 1e12  # ohm: a gap, a solder joint, nothing there
LEAKS = (100.0, 1e3, 1e4, 1e5, 1e6)
DRIFT_UP, DRIFT_DOWN = (1.4, 2.0, 4.0, 10.0, 30.0), (0.7, 0.5, 0.25, 0.1, 0.03)
WET = (1e3, 1e4, 1e5)
CONTACT = (1.0, 3.0, 10.0, 30.0, 100.0)
LOST = (0.5, 0.25, 0.1, 0.03)  # of a capacitor's farads

Changes = dict[str, float]


@dataclass(frozen=True)
class Fault:
    """One way to fail. sizes are the grid that the tie judge uses; change gives the elements for a size."""

    part: str
    failed: str
    change: Callable[[float], Changes]
    sizes: tuple[float, ...] = (0.0,)
    between: tuple[str, str] = ("", "")  # two nets, for a bridge

    @property
    def sized(self) -> bool:
        return len(self.sizes) > 1


@dataclass
class Supply:
    """What charges the swept rail: a transformer with rectifier, or a capacitor in the mains line."""

    kind: str  # "transformer" or "dropper"
    rail: str
    common: str
    primary: tuple[str, str]
    values: dict[str, float]
    bridge: bool = True
    inside: tuple[str, str] = ("", "")  # before and after a dropper's capacitor


def ohms(text: str | float) -> float:
    """4k7 -> 4700; 0R22 -> 0.22; 100n -> 1e-7."""
    if not isinstance(text, str):
        return float(text)
    found = re.fullmatch(r"(\d+)([RkMunpm.]?)(\d*)([kMunpm]?)", text)
    assert found, text
    whole, letter, rest, prefix = found.groups()
    scale = {"R": 1, "": 1, ".": 1, "k": 1e3, "M": 1e6, "m": 1e-3, "u": 1e-6, "n": 1e-9, "p": 1e-12}
    return float(f"{whole}.{rest or 0}") * scale[letter] * scale[prefix]


@dataclass
class Board:
    draw: Draw
    states: tuple[str, ...]
    resistors: dict[str, tuple[str, str, float, float]] = field(default_factory=dict)
    lines: list[str] = field(default_factory=list)  # for ngspice, in every mode
    live: list[str] = field(default_factory=list)  # only while plugged in
    params: dict[str, float] = field(default_factory=dict)  # each a source named v_<param>
    by_state: dict[str, Changes] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    parts: dict[str, tuple[str, str]] = field(default_factory=dict)
    junctions: dict[str, tuple[str, str]] = field(default_factory=dict)
    small: list[tuple[str, str, float]] = field(default_factory=list)
    supply: Supply | None = None
    islands: dict[str, str] = field(default_factory=dict)  # node -> its common, where that is not 0
    load_parts: tuple[str, ...] = ()
    coils: dict[str, tuple[str, str, float]] = field(
        default_factory=dict
    )  # relay -> its ends, volts to pull in
    contacts: dict[str, tuple[str, str]] = field(
        default_factory=dict
    )  # relay -> the ends that its coil joins
    line: tuple[str, str] = ("", "")  # where the mains come in
    fuses: dict[str, tuple[str, float]] = field(default_factory=dict)  # part -> its element, amperes to blow
    thermal: dict[str, tuple[str, str, str]] = field(
        default_factory=dict
    )  # part -> its element, the heater it sits at, the motor that cools it
    pairs: tuple[tuple[str, str], ...] = ()  # where the one meter can be put; none is there by default
    loaded: bool = True  # else no net carries a meter

    # --- the elements everything is made of

    def element(self, name: str, a: str, b: str, powered: float, unplugged: float | None = None) -> str:
        name = re.sub(r"\W", "_", name.lower())
        assert name not in self.resistors, name
        self.resistors[name] = (a, b, powered, powered if unplugged is None else unplugged)
        return name

    def param(self, name: str, value: float) -> str:
        self.params[name] = value
        return f"v(p_{name})"

    def in_state(self, states: str, changes: Changes) -> None:
        for state in states.split():
            self.by_state.setdefault(state, {}).update(changes)

    def fault(self, part: str, failed: str, change: Changes) -> None:
        self.faults.append(Fault(part, failed, lambda _size, change=change: change))

    def sized(
        self, part: str, failed: str, sizes: tuple[float, ...], change: Callable[[float], Changes]
    ) -> None:
        self.faults.append(Fault(part, failed, change, sizes))

    def _bypass(self, part: str, a: str, b: str, leaks: bool = True) -> None:
        """Short and leaky: a resistance beside the part."""
        beside = self.element(f"p_{part}", a, b, NONE)
        self.fault(part, "short", {beside: SHORT})
        if leaks:
            self.sized(part, "leaky", LEAKS, lambda size: {beside: size})

    def _lead(self, part: str, a: str) -> str:
        """A node behind the part's own lead, which can be open."""
        inner = re.sub(r"\W", "_", f"{part}_i".lower())
        lead = self.element(f"s_{part}", a, inner, 1e-3)
        self.fault(part, "open", {lead: OPEN})
        return inner

    # --- parts

    def r(self, part: str, a: str, b: str, value: str | float, tolerance: float = 5) -> None:
        real = self.draw.percent(ohms(value), tolerance)
        name = self.element(part, a, b, real)
        self.parts[part] = (a, b)
        self.fault(part, "open", {name: OPEN})
        self.fault(part, "short", {name: SHORT})
        self.sized(part, "high", DRIFT_UP, lambda size: {name: real * size})
        self.sized(part, "low", DRIFT_DOWN, lambda size: {name: real * size})

    def c(self, part: str, a: str, b: str) -> None:
        """A capacitor that a DC meter sees only when it leaks."""
        self.parts[part] = (a, b)
        self._bypass(part, a, b)

    def across_line(self, part: str, a: str, b: str) -> None:
        """A capacitor or varistor across the mains: a leak of more than half a watt soon is a short."""
        self.parts[part] = (a, b)
        self._bypass(part, a, b, leaks=False)
        self.sized(part, "leaky", LEAKS[3:], lambda size: {f"p_{part}".lower(): size})

    def _junction(
        self, part: str, a: str, k: str, model: tuple[float, float, float], extra: str = ""
    ) -> None:
        saturation, emission, resistance = model
        name = re.sub(r"\W", "_", part.lower())
        self.lines += [
            f"d_{name} {a} {k} dm_{name}",
            f".model dm_{name} d(is={saturation:.4g} n={emission} rs={resistance:.3g}{extra})",
        ]
        self.small.append((a, k, saturation / (emission * THERMAL_VOLTAGE)))

    def diode(self, part: str, a: str, k: str, kind: str = "signal") -> None:
        inner = self._lead(part, a)
        self._junction(part, inner, k, self.draw.diode(kind))
        self._bypass(part, a, k)
        self.parts[part] = self.junctions[part] = (a, k)

    def led(self, part: str, a: str, k: str, colour: str) -> None:
        inner = self._lead(part, a)
        self._junction(part, inner, k, self.draw.saturation_of_led(colour))
        self._bypass(part, a, k)
        self.parts[part] = self.junctions[part] = (a, k)

    def zener(self, part: str, k: str, a: str, volts: float, tolerance: float = 5) -> None:
        """Breakdown at 5 mA to the class; its slope from generic 5V1 to 24 V data sheets, from memory."""
        inner = self._lead(part, k)
        slope = 0.02 if volts >= 6 else 0.12  # emission coefficient times thermal voltage, V per e-fold
        breakdown = self.draw.percent(volts, tolerance)
        self._junction(
            part,
            a,
            inner,
            (2e-14, 1.05, 2.0),
            f" bv={breakdown:.4g} ibv=5m nbv={slope / THERMAL_VOLTAGE:.3g}",
        )
        self._bypass(part, k, a)
        self.parts[part], self.junctions[part] = (k, a), (a, k)

    def npn(self, part: str, c: str, b: str, e: str, group: str = "b", polarity: str = "npn") -> None:
        name = part.lower()
        inner = self._lead(part, c)
        saturation = self.draw.decades(4e-15, 1e-14, 3e-14)
        self.lines += [
            f"q_{name} {inner} {b} {e} qm_{name}",
            f".model qm_{name} {polarity}(is={saturation:.4g} bf={self.draw.gain(group):.4g} br=5 vaf=80"
            f" rb=10 rc={self.draw.between(0.3, 0.6, 1.5):.3g} re=0.2)",
        ]
        self._bypass(part, c, e)
        self.parts[part] = (c, e)
        self.junctions[f"{part} b-e"] = (b, e) if polarity == "npn" else (e, b)

    def pnp(self, part: str, c: str, b: str, e: str, group: str = "b") -> None:
        self.npn(part, c, b, e, group, "pnp")

    def nmos(self, part: str, d: str, g: str, s: str, vth: tuple[float, float, float], rds: float) -> None:
        """Square law; threshold by data-sheet limits, on-resistance up to half as much again when warm."""
        name = part.lower()
        inner = self._lead(part, d)
        self.lines += [
            f"m_{name} {inner} {g} {s} {s} mm_{name}",
            f".model mm_{name} nmos(level=1 vto={self.draw.between(*vth):.4g} kp=8"
            f" rd={self.draw.between(0.6 * rds, rds, 1.5 * rds):.4g})",
        ]
        self._bypass(part, d, s)
        gate = self.element(f"gs_{part}", g, s, NONE)
        self.sized(part, "leaky gate", LEAKS[:4], lambda size: {gate: size})
        self.lines += [
            f"db_{name} {s} {inner} dbm_{name}",
            f".model dbm_{name} d(is=1e-12 n=1 rs=0.02)",
        ]  # body diode
        self.small.append((s, inner, 1e-12 / THERMAL_VOLTAGE))
        self.parts[part], self.junctions[part] = (d, s), (s, d)

    def regulator(
        self,
        part: str,
        a: str,
        out: str,
        common: str,
        volts: float,
        quiescent: float = 5e-3,
        dropout: tuple[float, float, float] = (1.5, 1.8, 2.2),
    ) -> None:
        """Three-terminal: 5 V types are 4.8 to 5.2 V; dropout typically 1.7 to 2 V at half load; data
        sheets.
        """
        name = part.lower()
        real = self.draw.percent(volts, 4)
        target, alive = self.param(f"set_{name}", real), self.param(f"on_{name}", 1.0)
        short_of = f"(v({a},{common})-{self.draw.between(*dropout):.3g})"
        over = f"(v({name}_e,{out})-0.075)"  # 50 milliohm: limits from 1.5 A on
        # an ideal follower: a very steep junction, whose base stands where the output should
        self.live += [
            f"b_{name} {name}_b {common} v={alive}*(0.5*({target}+0.024+{short_of}"
            f"-sqrt(({target}-{short_of})^2+0.004))-30*({over}+sqrt({over}^2+1e-6)))-0.5*(1-{alive})",
            f"q_{name} {a} {name}_b {name}_e qm_{name}",
            f".model qm_{name} npn(is=1e-6 nf=0.1 bf=1e5 br=1)",
            f"bq_{name} {a} {common} i={alive}*{self.draw.between(0.6, 1, 1.4) * quiescent:.4g}*tanh(v({a},{common})/2)",
        ]
        self.element(f"z_{name}", f"{name}_e", out, 0.05, NONE)
        self.fault(part, "open", {f"on_{name}": 0.0})
        self.sized(part, "low", (0.9, 0.7, 0.4), lambda size: {f"set_{name}": real * size})
        self.sized(part, "high", (1.1, 1.3, 1.8), lambda size: {f"set_{name}": real * size})
        beside = self.element(f"p_{part}", a, out, NONE)
        self.fault(part, "short", {beside: SHORT})
        self.parts[part] = (a, out)

    def chip(
        self, part: str, vdd: str, common: str, volts: float, amps: float, tolerance: float = 25
    ) -> None:
        """What a controller draws, nearly in proportion to its supply; typical, give or take a quarter."""
        drawn = self.draw.percent(amps, tolerance) * (self.draw.load_factor if part in self.load_parts else 1)
        name = self.element(part, vdd, common, volts / drawn, NONE)
        self.sized(part, "short", (0.05, 0.5, 5.0, 30.0), lambda size: {name: size})

    def pin(self, name: str, node: str, vdd: str, on: str) -> None:
        """An output pin: supply or common behind 20 to 45 ohm; on lists the states in which it is high."""
        driven = self.param(f"pin_{name}", 0.0)
        source = f"pin_{name}"
        self.live.append(f"b_pin_{name} {source} 0 v={driven}*v({vdd})")
        self.element(f"z_{name}", source, node, self.draw.between(20, 30, 45), NONE)
        self.element(f"zg_{name}", source, "0", NONE)
        self.in_state(on, {f"pin_{name}": 1.0})

    def coil(self, part: str, a: str, b: str, resistance: float, volts: float) -> None:
        """Coil ±10 % (data sheets); it pulls in somewhere from 55 to 75 % of its volts."""
        real = self.draw.percent(resistance, 10)
        name = self.element(f"{part}_coil", a, b, real)
        pulled = self.draw.between(0.55, 0.65, 0.75) * volts
        self.coils[part] = (a, b, pulled)
        self.fault(f"{part} coil", "open", {name: OPEN})
        self.sized(f"{part} coil", "low", (0.5, 0.2, 0.05), lambda size: {name: real * size})
        self.parts[f"{part} coil"] = (a, b)

    def contact(self, part: str, a: str, b: str, amps: float) -> None:
        """The contact of the coil of that name: it fails to close, welds, or burns to some ohms.

        amps: of its load. A contact that turned more than some 15 W to heat would not stay as it is.
        """
        low = part.lower()
        worst = min(100.0, 15 / amps**2)
        self.contacts[part] = (f"{low}_ct", b)
        inner = f"{low}_ct"
        worn = self.element(f"{part}_worn", a, inner, self.draw.between(0.01, 0.03, 0.08))
        plus, minus, pulled = self.coils[part]
        self.live += [
            f"s_{low} {inner} {b} {plus} {minus} sm_{low}",
            f".model sm_{low} sw(vt={pulled:.4g} vh=0 ron=0.01 roff=1e10)",
        ]
        welded = self.element(f"{part}_weld", inner, b, NONE)
        self.fault(f"{part} contact", "stuck open", {worn: OPEN})
        self.fault(f"{part} contact", "stuck closed", {welded: SHORT})
        self.sized(
            f"{part} contact",
            "worn",
            tuple(worst * share for share in (0.06, 0.15, 0.4, 1)),
            lambda size: {worn: size},
        )
        self.parts[f"{part} contact"] = (a, b)

    def switch(self, part: str, a: str, b: str, on: str, amps: float = 0.1) -> None:
        """A hand-worked contact; open when unplugged. amps as for a relay's."""
        top = min(100.0, 15 / amps**2)
        name = self.element(part, a, b, NONE, NONE)
        worn = self.element(f"{part}_worn", f"{part.lower()}_x", a, 0.02)
        a_real = f"{part.lower()}_x"
        self.resistors[name] = (a_real, b, NONE, NONE)
        self.in_state(on, {name: self.draw.between(0.02, 0.05, 0.3)})
        welded = self.element(f"{part}_weld", a, b, NONE)
        self.fault(part, "open", {worn: OPEN})
        self.fault(part, "short", {welded: SHORT})
        self.sized(
            part, "worn", tuple(top * size / CONTACT[-1] for size in CONTACT), lambda size: {worn: size}
        )
        self.parts[part] = (a, b)

    def fuse(self, part: str, a: str, b: str, resistance: float, amps: float) -> None:
        """It carries 1.5 times its rating for an hour and opens within half an hour at 2.1 times, IEC 60127-2."""
        name = self.element(part, a, b, resistance)
        self.fuses[part] = (name, amps * self.draw.between(1.5, 1.8, 2.1))
        self.fault(part, "open", {name: OPEN})
        self.parts[part] = (a, b)

    def thermal_fuse(
        self, part: str, a: str, b: str, resistance: float, heater: str = "", fan: str = ""
    ) -> None:
        """It opens for good where the heater is on and the fan stands."""
        name = self.element(part, a, b, resistance)
        if heater:
            self.thermal[part] = (name, heater, fan)
        self.fault(part, "open", {name: OPEN})
        self.parts[part] = (a, b)

    def joint(self, part: str, a: str, b: str) -> None:
        """A pin of a connector or a soldered joint."""
        name = self.element(f"j_{part}", a, b, 0.005)
        self.fault(part, "open", {name: OPEN})
        self.sized(part, "worn", (10.0, 100.0, 1e3), lambda size: {name: size})

    def heater(self, part: str, a: str, b: str, watts: float, volts: float) -> None:
        """+5/-10 % of the rated power, IEC 60335-1."""
        real = volts**2 / (watts * self.draw.between(0.9, 0.98, 1.05))
        name = self.element(part, a, b, real)
        self.fault(part, "open", {name: OPEN})
        self.sized(part, "low", (0.6, 0.45, 0.3, 0.2, 0.1), lambda size: {name: real * size})
        self.parts[part] = (a, b)

    def motor(self, part: str, a: str, b: str, winding: float, volts: float, amps: float) -> None:
        """Running, it looks like volts/amps; stopped, like its winding. Running current ±30 % with its
        load.
        """
        factor = self.draw.load_factor if part in self.load_parts else 1
        running = volts / (self.draw.percent(amps, 30 if factor == 1 else 3) * factor)
        cold = self.draw.percent(winding, 10)
        name = self.element(part, a, b, running, cold)
        self.fault(part, "open", {name: OPEN})
        self.fault(part, "stalled", {name: cold})
        self.parts[part] = (a, b)

    def ntc(self, part: str, a: str, b: str, r25: str, beta: float, tolerance: float, **at: float) -> None:
        """at: temperatures in °C by state, where it is not the room."""
        name, real = self._sensor(part, a, b, self.draw.ntc(ohms(r25), beta, tolerance))
        for state, celsius in at.items():
            kelvin = celsius + 273.15 + self.draw.between(-1, 0, 1)
            self.in_state(state, {name: real * math.exp(beta * (1 / kelvin - 1 / 298.15))})

    def ldr(self, part: str, a: str, b: str, at_ten_lux: str, tolerance: float, **at: float) -> None:
        """Ohms at 10 lux, or at the lux of a state; the light is set to ±15 %, gamma 0.6 to 0.8."""
        sheet, gamma = self.draw.percent(ohms(at_ten_lux), tolerance), self.draw.between(0.6, 0.7, 0.8)
        name, _ = self._sensor(part, a, b, sheet * self.draw.between(0.85, 1, 1.15) ** -gamma)
        for state, lux in at.items():
            self.in_state(state, {name: sheet * (lux * self.draw.between(0.85, 1, 1.15) / 10) ** -gamma})

    def _sensor(self, part: str, a: str, b: str, real: float) -> tuple[str, float]:
        name = self.element(part, a, b, real)
        self.parts[part] = (a, b)
        self.fault(part, "open", {name: OPEN})
        self.fault(part, "short", {name: SHORT})
        self.sized(part, "high", DRIFT_UP[:4], lambda size: {f"x:{name}": size})
        self.sized(part, "low", DRIFT_DOWN[:4], lambda size: {f"x:{name}": size})
        return name, real

    def opto(self, part: str, a: str, k: str, c: str, e: str, ratio: tuple[float, float, float]) -> None:
        """Current transfer ratio in percent by rank (an unranked one: 50 to 600 %), data sheet."""
        name = part.lower()
        inner = self._lead(part, a)
        self._junction(f"{part}_led", inner, f"{name}_s", (2e-14 * self.draw.decades(0.2, 1, 5), 1.6, 3.0))
        gain = self.param(f"ctr_{name}", 1.0)
        factor = self.draw.decades(*ratio) / 100 / 300
        self.lines += [
            f"v_s_{name} {name}_s {k} 0",
            f"q_{name} {c} {name}_b {e} qm_{name}",
            f".model qm_{name} npn(is=1e-14 bf=300 br=5 vaf=80 rc=2)",
        ]
        self.live += [f"b_{name} {e} {name}_b i={gain}*{factor:.5g}*i(v_s_{name})"]
        self.element(f"bg_{part}", f"{name}_b", e, 1e9)
        beside = self.element(f"p_{part}", c, e, NONE)
        self.fault(part, "short", {beside: SHORT})
        self.sized(part, "leaky", LEAKS[1:4], lambda size: {beside: size})
        self.sized(part, "low", (0.3, 0.1, 0.03), lambda size: {f"ctr_{name}": size})
        self.parts[part], self.junctions[part] = (c, e), (a, k)

    def comparator(
        self, part: str, plus: str, minus: str, out: str, common: str = "0", supply: str = ""
    ) -> None:
        """Open collector: some 100 ohm to common while plus is below minus; input offset up to 5 mV."""
        name = part.lower()
        stuck, alive = self.param(f"stuck_{name}", 0.0), self.param(f"on_{name}", 1.0)
        offset = self.draw.between(-5e-3, 0, 5e-3)
        sinks = f"{alive}*0.5*(1+tanh(150*(v({minus})-v({plus})+{offset:.3g}+{stuck})))"
        self.live.append(f"b_{name} {out} {common} i={sinks}*0.012*tanh(v({out},{common})*{1 / 0.9:.3g})")
        if supply:
            self.element(f"{part}_supply", supply, common, self.draw.percent(8e3, 30), NONE)
        self.fault(part, "stuck low", {f"stuck_{name}": 100.0})
        self.fault(part, "stuck high", {f"on_{name}": 0.0})

    def battery(self, part: str, plus: str, minus: str, chemistry: str, cells: int, internal: float) -> None:
        """Rest volts by its charge, empty to full; the sweep stands at 1 and scales nothing."""
        empty, nominal, full = CELL[chemistry]
        charge = self.draw.charge
        rest = (
            empty + (nominal - empty) * charge / 0.5
            if charge < 0.5
            else nominal + (full - nominal) * (charge - 0.5) * 2
        )
        name = re.sub(r"\W", "_", part.lower())
        volts = self.param(f"emf_{name}", rest * cells)
        self.live.append(f"b_{name} emf_{name} {minus} v={volts}")
        lead = self.element(f"z_{name}", f"emf_{name}", plus, self.draw.between(0.6, 1, 1.6) * internal, NONE)
        self.element(f"zg_{name}", f"emf_{name}", minus, NONE)
        self.fault(part, "dead", {f"emf_{name}": 0.0})
        self.fault(part, "open", {lead: OPEN})
        self.sized(part, "high", (5.0, 20.0, 60.0), lambda size: {lead: internal * size})  # inner resistance
        self.parts[part] = (plus, minus)

    def adapter(self, part: str, plus: str, minus: str, volts: float, internal: float = 0.15) -> None:
        """A regulated plug-in adapter, ±5 % as its label allows, behind its cord."""
        name = part.lower()
        given = self.param(f"emf_{name}", self.draw.percent(volts, 3))
        self.live.append(f"b_{name} emf_{name} {minus} v={given}")
        self.element(f"z_{name}", f"emf_{name}", plus, internal, NONE)
        self.element(f"zg_{name}", f"emf_{name}", minus, NONE)
        self.fault(part, "dead", {f"emf_{name}": 0.0})

    def mains(self, live: str = "ml", neutral: str = "mn") -> None:
        """The line's RMS volts as a steady source: resistive loads take the same RMS from it. What a
        transformer or a dropper takes is added by mains.py.
        """
        self.line = (live, neutral)
        volts = self.param("mains", self.draw.mains())
        self.live.append(f"b_mains emf_mains {neutral} v={volts}")
        self.element("z_mains", "emf_mains", live, 0.4, NONE)
        self.element("zg_mains", "emf_mains", neutral, NONE)
        if neutral != "0":
            self.element("tie_mains", neutral, "0", 1e9)
        self.fault("mains", "dead", {"mains": 0.0})

    def transformer(
        self,
        part: str,
        primary: tuple[str, str],
        plus: str,
        common: str,
        secondary: float,
        va: float,
        diodes: str,
        smoothing: tuple[str, str],
        primary_ohms: float,
        bridge: bool = True,
    ) -> None:
        """Secondary at rated load; small cores have no-load factors from 1.15 (15 VA) to 1.4 (2 VA), data
        sheets.
        """
        regulation = self.draw.between(0.9, 1, 1.1) * (0.4 * (2 / va) ** 0.5)
        winding = secondary * regulation / (va / secondary)
        saturation, emission, _ = self.draw.diode("rectifier")
        capacitor, farads = smoothing
        real = self.draw.percent(ohms(farads), 20)
        self.supply = Supply(
            "transformer",
            plus,
            common,
            primary,
            {
                "ratio": secondary * (1 + regulation) / 230,
                "winding": winding,
                "farads": real,
                "is": saturation,
                "n": emission,
                "mode": 0.0,
                "turns": 1.0,
            },
            bridge,
        )
        self.element(f"{part}_primary", *primary, 20e3, self.draw.percent(primary_ohms, 10))
        self.fault(part, "open", {"supply.turns": 0.0})
        self.parts[f"{part} primary"] = primary
        self.parts[capacitor] = (plus, common)
        self.fault(diodes, "open", {"supply.mode": 1.0 if bridge else 3.0})
        self.fault(diodes, "short", {"supply.mode": 2.0 if bridge else 3.0})
        beside = self.element(f"p_{capacitor}", plus, common, NONE)
        self.fault(capacitor, "open", {"supply.farads": 1e-7})
        self.fault(capacitor, "short", {beside: SHORT})
        self.sized(capacitor, "low", LOST, lambda size: {"supply.farads": real * size})
        self.sized(capacitor, "leaky", (30.0, 100.0, 300.0, 1e3), lambda size: {beside: size})
        for n in range(2):  # the bridge, for the diode range from common to plus
            self.lines.append(f"d_br{n} {common if n == 0 else 'br0'} {'br0' if n == 0 else plus} dm_br")
        self.lines.append(f".model dm_br d(is={saturation:.4g} n={emission} rs=0.03)")
        self.small += [(common, "br0", saturation / 0.046), ("br0", plus, saturation / 0.046)]

    def dropper(
        self,
        capacitor: tuple[str, str],
        series: tuple[str, str],
        line: tuple[str, str],
        plus: str,
        common: str,
        smoothing: tuple[str, str],
        diodes: str,
        bridge: bool = False,
        discharge: tuple[str, str] | None = None,
    ) -> None:
        """Film capacitor ±10 % and a resistor in the line; half-wave returns through clamp or diode. The
        discharge resistor lies across the capacitor; film resistors do not short.
        """
        part, farads = capacitor
        real = self.draw.percent(ohms(farads), 10)
        resistor, value = series
        resistance = self.draw.percent(ohms(value), 5)
        inner, after = f"{part.lower()}_l", f"{part.lower()}_r"  # before and after the capacitor
        ahead = self.element(resistor, line[0], inner, resistance)
        self.parts[resistor] = (line[0], inner)
        drawn = self.draw.percent(ohms(discharge[1]), 5) if discharge else NONE
        store, store_farads = smoothing
        stored = self.draw.percent(ohms(store_farads), 20)
        self.supply = Supply(
            "dropper",
            plus,
            common,
            line,
            {"farads": stored, "line_farads": real, "series": resistance, "discharge": drawn, "mode": 0.0},
            bridge,
            (inner, after),
        )
        self.fault(part, "open", {"supply.line_farads": 1e-12})
        self.sized(part, "low", (0.7, 0.5, 0.35, 0.2), lambda size: {"supply.line_farads": real * size})
        self.fault(resistor, "open", {ahead: OPEN, "supply.series": OPEN})
        self.fault(store, "open", {"supply.farads": 1e-8})
        self.parts[store] = (plus, common)
        beside = self.element(f"p_{store}", plus, common, NONE)
        self.fault(store, "short", {beside: SHORT})
        self.sized(store, "low", LOST[1:], lambda size: {"supply.farads": stored * size})
        self.sized(store, "leaky", (100.0, 300.0, 1e3, 3e3), lambda size: {beside: size})
        self.fault(diodes, "open", {"supply.mode": 1.0})
        if discharge:
            across = discharge[0]
            name = self.element(across, inner, after, drawn)
            self.parts[across] = (inner, after)
            self.fault(across, "open", {name: OPEN, "supply.discharge": OPEN})
            self.sized(
                across, "high", DRIFT_UP, lambda size: {name: drawn * size, "supply.discharge": drawn * size}
            )

    def bridges(self, *pairs: str) -> None:
        """Neighbouring nets, each 'a b': a bridge of solder or a wet track may join them."""
        for pair in pairs:
            a, b = pair.split()
            name = self.element(f"br_{a}_{b}", a, b, NONE)
            self.faults.append(
                Fault("", "bridge", lambda size, name=name: {name: size}, (SHORT, *WET), (a, b))
            )
