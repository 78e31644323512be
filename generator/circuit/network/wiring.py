"""What a kind's `wire(block, w)` calls to put its parts between its terminals. See the package's docstring.

A number of an element is given as the name of a parameter (its value and tolerance are taken), as a plain number
(exact), or as a function of the block's point; its band follows from the block's tolerance axes, and where the note
states no tolerance from spread.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from generator.circuit.failing import MODES
from generator.circuit.network import chips, junctions, passive, sources
from generator.circuit.network.element import Element, Number, exact
from generator.circuit.spread import SPREADS

if TYPE_CHECKING:
    from generator.circuit.block import Block, Point
    from generator.notation.parts import Part

Given = str | float | Callable[["Point"], float] | None


@dataclass(frozen=True)
class Probe:
    """Where a named value is measured. how: "volts" (plus, minus), "amps" (element), "ohms" (plus, minus; unplugged),
    "rail" (element, figure: what its steady state says). times: a factor, such as an amplifier's gain. failed: what has
    to be done to the circuit for it, as (key, mode): a sensor unplugged."""

    how: str
    plus: str = ""
    minus: str = ""
    element: str = ""
    figure: str = ""
    times: float = 1.0
    failed: tuple[tuple[str, str], ...] = ()


@dataclass
class Wired:
    """A block's share of the network."""

    elements: list[Element] = field(default_factory=list)
    probes: dict[str, Probe] = field(default_factory=dict)
    same: list[tuple[str, str]] = field(default_factory=list)  # nets that are one
    feeds: dict[str, tuple[str, str]] = field(
        default_factory=dict
    )  # parameter -> terminals (plus, minus) that it feeds
    drive: str = ""  # the parameter that drives it
    loads: dict[str, tuple[str, str]] = field(default_factory=dict)  # parameter of a stated load -> its rail
    commons: list[tuple[str, str]] = field(
        default_factory=list
    )  # (terminal, "mains" or ""): what is a common
    goes: dict[str, str] = field(default_factory=dict)  # terminal -> block that a chip's pin names
    outputs: tuple[str, ...] = ()  # terminals of its output where the usual names do not say it


class Wiring:
    """Collects the elements of one block. Terminals and inner nets are plain names; `common` is 0 V of the block."""

    def __init__(
        self, block: Block, fed: Iterable[str] = (), *, air: float = 25.0, light: float = 10.0
    ) -> None:
        """fed: parameters that a join gives; air in °C and light in lux: what the sensors stand in."""
        self.block, self.x = block, block.point
        self.air, self.light = air, light
        self.fed = frozenset(fed)
        self.wired = Wired()

    # --- what the note states -----------------------------------------------------------------------------------

    def has(self, parameter: str) -> bool:
        """Whether the note (or a default) gives the parameter."""
        return self.block.inputs.get(parameter) is not None

    def part(self, parameter: str) -> Part | None:
        """The part behind a parameter."""
        return self.block.part(parameter)

    def net(self, terminal: str) -> str:
        """The net's name in the whole device: "reg.out"."""
        return f"{self.block.name}.{terminal}"

    def number(self, given: Given, spread: str = "") -> Number:
        """A number with its band; spread: the entry of spread.py where the note states no tolerance."""
        if isinstance(given, (int, float)):
            return self._spread(float(given), "", spread)
        read = (lambda x: x.__dict__.get(given)) if isinstance(given, str) else given
        assert read is not None
        value = read(self.x)
        if value is None:
            raise KeyError(f"{self.block.name}: nothing gives {given}")
        ends = []
        for axis in self.block.axes:
            if any(name in self.block.sources for name in axis.names):
                continue
            if isinstance(given, str) and given not in axis.names:
                continue
            low, high = (
                read(self.x.changed(**dict.fromkeys(axis.names, end))) for end in (axis.low, axis.high)
            )
            if low != value or high != value:
                ends.append((self._axis(axis.names[0]), float(low), float(high)))
        if spread and isinstance(given, str) and not ends and not self._toleranced(given):
            return self._spread(float(value), given, spread)
        return Number(float(value), tuple(ends))

    def _axis(self, name: str) -> str:
        """What a tolerance axis is called in the whole device; the mains' band is one for all."""
        param = self.block.kind.param(name)
        return "mains" if param and param.moves_with_mains else self.net(name)

    def _toleranced(self, name: str) -> bool:
        given = self.block.inputs.get(name)
        return bool(
            getattr(getattr(given, "value", None), "toleranced", False) or getattr(given, "toleranced", False)
        )

    def _spread(self, value: float, name: str, spread: str) -> Number:
        if not spread:
            return exact(value)
        low, high = SPREADS[spread].ends(value)
        return Number(value, ((self.net(name or spread), low, high),))

    # --- parts --------------------------------------------------------------------------------------------------

    def add(self, element: Element) -> Element:
        """Put an element of any class in; its nets are names as this block writes them."""
        from dataclasses import replace

        nets: dict[str, Any] = {t: self.net(getattr(element, t)) for t in element.TERMINALS}
        placed = replace(element, **nets)
        self.wired.elements.append(placed)
        return placed

    def resistor(
        self, key: str, a: str, b: str, ohms: Given = None, *, spread: str = "", ac: bool = False
    ) -> Element | None:
        """The part of parameter key between two nets; nothing where the note has none. ohms: else the parameter's value."""
        if not self._there(key, ohms):
            return None
        return self.add(
            passive.Resistor(
                **self.who(key), a=a, b=b, ohms=self.number(key if ohms is None else ohms, spread), ac=ac
            )
        )

    def capacitor(
        self, key: str, a: str, b: str, farads: Given = None, *, ac: bool = False
    ) -> Element | None:
        """A capacitor; nothing where the note has none."""
        if not self._there(key, farads):
            return None
        return self.add(
            passive.Capacitor(
                **self.who(key), a=a, b=b, farads=self.number(key if farads is None else farads), ac=ac
            )
        )

    def winding(self, key: str, a: str, b: str, ohms: Given = None, *, henries: Given = 0.0, emf: Given = 0.0, spread: str = "",
                ac: bool = False) -> Element | None:  # fmt: skip
        """A coil of a relay, motor, choke or transformer; emf: what a turning motor sets against it, a to b."""
        if not self._there(key, ohms):
            return None
        found: dict[str, Any] = {
            "ohms": self.number(key if ohms is None else ohms, spread),
            "henries": self.number(henries),
            "emf": self.number(emf),
        }
        return self.add(passive.Winding(**self.who(key), a=a, b=b, **found, ac=ac))

    def contact(
        self, key: str, a: str, b: str, *, closed: bool = True, rest: bool = False, ac: bool = False
    ) -> Element | None:
        """A switch, key, fuse holder, relay's or thermostat's contact. A part RLn or Kn follows the coil of that name; `nc`
        among its words: closed at rest."""
        if not self._there(key, None):
            return None
        part = self.part(key)
        words = {w.lower() for w in part.words} if part else set()
        called = part.designator if part else ""
        coil = called if called.startswith(("RL", "K")) else ""
        element = passive.Contact(
            **self.who(key), a=a, b=b, closed=exact(closed), coil=coil, rest="nc" in words or rest, ac=ac
        )
        return self.add(element)

    def diode(self, key: str, anode: str, cathode: str, *, forward: Given = 0.7, at: float = 0.01, sort: str = "silicon",
              breakdown: Given = 0.0, required: bool = True) -> Element | None:  # fmt: skip
        """A diode: forward V at `at` A. sort: silicon, schottky, led, zener (breakdown: its volts). required False: only
        where the note has the part."""
        if not required and not self._there(key, None):
            return None
        silicon = sort in ("silicon", "zener")
        wide = {
            "silicon": "silicon junction",
            "zener": "silicon junction",
            "schottky": "schottky",
            "led": "led",
        }[sort]
        return self.add(junctions.Diode(
            **self.who(key), anode=anode, cathode=cathode, forward=self.number(forward, wide), at=at,
            emission=junctions.EMISSION[sort], breakdown=self.number(breakdown, "zener" if sort == "zener" else ""),
            tested=junctions.TESTED if silicon and self.number(forward).value < 1.0 else 0.0,
        ))  # fmt: skip

    def transistor(self, key: str, base: str, collector: str, emitter: str, *, hfe: Given, vbe: Given = 0.7, vce_sat: Given = 0.2,
                   at: float = 1e-3, forced: float = 0.0, pnp: bool = False) -> Element:  # fmt: skip
        """A bipolar transistor; at: base current (A) and forced: collector over base current at which vbe and vce_sat hold."""
        return self.add(junctions.Transistor(
            **self.who(key), base=base, collector=collector, emitter=emitter, hfe=self.number(hfe, "hfe"),
            vbe=self.number(vbe, "silicon junction"), vce_sat=self.number(vce_sat, "saturation"), at=max(at, 1e-7), forced=forced, pnp=pnp,
        ))  # fmt: skip

    def mosfet(self, key: str, gate: str, drain: str, source: str, *, vth: Given, rds: Given, at: float = 3.0,
               p_channel: bool = False) -> Element:  # fmt: skip
        """A MOSFET; at: volts of the gate above the threshold (V) with which rds holds."""
        return self.add(junctions.Mosfet(
            **self.who(key), gate=gate, drain=drain, source=source, vth=self.number(vth, "threshold"), rds=self.number(rds, "on-resistance"),
            at=at, p_channel=p_channel,
        ))  # fmt: skip

    def regulator(
        self,
        key: str,
        input: str,
        output: str,
        common: str,
        *,
        volts: Given,
        dropout: Given,
        quiescent: Given,
    ) -> Element:
        """A linear regulator."""
        return self.add(chips.Regulator(
            **self.who(key), input=input, output=output, common=common, volts=self.number(volts, "regulator"),
            dropout=self.number(dropout), quiescent=self.number(quiescent, "quiescent"),
        ))  # fmt: skip

    def coupler(self, key: str, anode: str, cathode: str, collector: str, emitter: str, *, ctr: Given, forward: Given = 1.2,
                at: float = 0.005, saturated: float = 100.0) -> Element:  # fmt: skip
        """An optocoupler; at: its LED's working current in A; saturated: ohm of its transistor fully on."""
        return self.add(chips.Coupler(
            **self.who(key), anode=anode, cathode=cathode, collector=collector, emitter=emitter, ctr=self.number(ctr, "ctr"),
            forward=self.number(forward, "led"), at=at, saturated=saturated,
        ))  # fmt: skip

    # --- what feeds, drives and loads it ------------------------------------------------------------------------

    def supply(self, parameter: str, plus: str, minus: str = "common", *, ac: bool = False) -> Element | None:
        """The parameter feeds the net plus: a source of its own where the note gives plain volts; else a join does."""
        self.wired.feeds[parameter] = (plus, minus)
        if parameter in self.fed or not self.has(parameter):
            return None
        wave = f"sin {self.block.mains.frequency:g}" if ac else ""
        return self.add(
            sources.Source(
                **self.who(parameter, ("dead",)),
                plus=plus,
                minus=minus,
                volts=self.number(parameter),
                ac=ac,
                waveform=wave,
            )
        )

    def drive(
        self, parameter: str, plus: str, minus: str = "common", *, on: Given = None, idle: Given = 0.0
    ) -> Element | None:
        """As supply, for what switches the block: on (the parameter's volts) while the state drives it, else idle."""
        self.wired.feeds[parameter] = (plus, minus)
        self.wired.drive = parameter
        if parameter in self.fed or not (on is not None or self.has(parameter)):
            return None
        volts = self.number(parameter if on is None else on)
        return self.add(
            sources.Drive(
                **self.who(parameter, ("dead",)), plus=plus, minus=minus, volts=volts, idle=self.number(idle)
            )
        )

    def load(self, parameter: str, plus: str, minus: str = "common") -> Element | None:
        """A stated load: a current that is 0 when cold, or a resistor. What is joined to the rail is part of it."""
        if not self.has(parameter) or not self.x.__dict__.get(parameter):
            return None
        if self.x.__dict__.get(f"{parameter}_is") != "A":
            return self.resistor(
                parameter, plus, minus, spread="load" if self.part(parameter) is None else ""
            )
        self.wired.loads[parameter] = (plus, minus)
        return self.add(
            sources.Load(**self.who(parameter), a=plus, b=minus, amperes=self.number(parameter, "load"))
        )

    def feed_current(self, parameter: str, into: str, common: str = "common") -> Element | None:
        """A current that is known and whose source is not: the parameter's amperes into a net."""
        self.wired.feeds[parameter] = (into, common)
        if parameter in self.fed or not self.has(parameter):
            return None
        element = sources.Feed(**self.who(parameter), plus=into, minus=common, amperes=self.number(parameter))
        return self.add(element)

    # --- nets and places ----------------------------------------------------------------------------------------

    def same(self, one: str, other: str) -> None:
        """Two names of one net: the pin of a divider without a series resistor is its tap."""
        self.wired.same.append((self.net(one), self.net(other)))

    def common(self, terminal: str = "common", *, mains: bool = False) -> None:
        """The terminal is a 0 V. mains: one at mains potential; without it, of the low-voltage side. "common" is one of
        itself; blocks on the mains side say so."""
        self.wired.commons.append((self.net(terminal), "mains" if mains else ""))

    def volts(
        self,
        value: str,
        plus: str,
        minus: str = "common",
        *,
        times: float = 1.0,
        failed: tuple[tuple[str, str], ...] = (),
    ) -> None:
        """The named value is the voltage between two nets; failed: with these (key, mode), as "sensor unplugged" is."""
        self.wired.probes[value] = Probe("volts", self.net(plus), self.net(minus), times=times, failed=failed)

    def amps(self, value: str, key: str, *, times: float = 1.0) -> None:
        """The named value is the current through the element of that key, first terminal to second."""
        self.wired.probes[value] = Probe("amps", element=self.net(key), times=times)

    def ohms(self, value: str, a: str, b: str) -> None:
        """The named value is what an ohmmeter shows between two nets with the device unplugged."""
        self.wired.probes[value] = Probe("ohms", self.net(a), self.net(b))

    def of_rail(self, value: str, key: str, figure: str) -> None:
        """The named value is one that a rectified supply's steady state gives: ripple, trough, mean, no_load, ..."""
        self.wired.probes[value] = Probe("rail", element=self.net(key), figure=figure)

    # --- inside -------------------------------------------------------------------------------------------------

    def _there(self, key: str, given: Given) -> bool:
        return (
            given is not None
            or self.x.__dict__.get(key) is not None
            or self.block.inputs.get(key) is not None
        )

    def who(self, key: str, modes: tuple[str, ...] | None = None) -> dict[str, Any]:
        """Name, block, key, designator and failures of the part of a parameter or extra part."""
        failing = next((part for part in self.block.failing_parts if part.key == key), None)
        if failing is not None:
            called, modes = failing.called, failing.modes if modes is None else modes
        else:
            called = self.block.label(key)
        return {
            "name": self.net(key),
            "block": self.block.name,
            "key": key,
            "called": called,
            "modes": modes or (),
        }


def wire(block: Block, fed: Iterable[str] = (), *, air: float = 25.0, light: float = 10.0) -> Wired | None:
    """A block's share of the network, None where its kind has no wiring."""
    if not block.kind.is_wired:
        return None
    w = Wiring(block, fed, air=air, light=light)
    block.kind.wire(block, w)
    return w.wired


__all__ = ["MODES", "Probe", "Wired", "Wiring", "wire"]
