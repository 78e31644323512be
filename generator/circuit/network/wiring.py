"""What a kind's `wire(block, w)` calls to put its parts between its terminals. See the package's docstring.

A number of an element is given as the name of a parameter (its value and tolerance are taken), as a plain number
(exact), or as a function of the block's point; its band follows from the block's tolerance axes, and where the note
states no tolerance from spread.py.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from generator.circuit.network import chips, junctions, passive
from generator.circuit.network.described import Given, Probe, Wired
from generator.circuit.network.element import Element, Number, exact
from generator.circuit.network.powering import Powering
from generator.notation.parts import each_of

if TYPE_CHECKING:
    from generator.circuit.block import Block

__all__ = ["Given", "Probe", "Wired", "Wiring", "wire"]

# V across an LED's own resistance at its working current: 5 ohm at 10 mA (data sheets, from memory)
LED_BULK = 0.05
# V across a base's own resistance from so many A on: at most 20 ohm (from memory)
BASE_BULK, BASE_BULK_AT = 0.02, 1e-3
BASE_FROM = 1e-5  # A of base current from which it counts
BULK = " bulk"  # what such a resistance and the net behind it are called


class Wiring(Powering):
    """Collects the elements of one block. Terminals and inner nets are plain names; `common` is 0 V of the block."""

    # --- parts --------------------------------------------------------------------------------------------------

    def resistor(
        self, key: str, a: str, b: str, ohms: Given = None, *, spread: str = "", ac: bool = False
    ) -> Element | None:
        """The part of parameter key between two nets; nothing where the note has none. ohms: else the parameter's value."""
        if not self.there(key, ohms):
            return None
        return self.add(
            passive.Resistor(
                **self.who(key), a=a, b=b, ohms=self.number(key if ohms is None else ohms, spread, key), ac=ac
            )
        )

    def capacitor(
        self, key: str, a: str, b: str, farads: Given = None, *, ac: bool = False
    ) -> Element | None:
        """A capacitor; nothing where the note has none."""
        if not self.there(key, farads):
            return None
        return self.add(
            passive.Capacitor(
                **self.who(key), a=a, b=b, farads=self.number(key if farads is None else farads), ac=ac
            )
        )

    def winding(self, key: str, a: str, b: str, ohms: Given = None, *, henries: Given = 0.0, emf: Given = 0.0, turning: Given = 0.0,
                spread: str = "winding", ac: bool = False) -> Element | None:  # fmt: skip
        """A coil of a relay, motor, choke or transformer; emf, turning: what a turning motor sets against it."""
        if not self.there(key, ohms):
            return None
        found: dict[str, Any] = {
            "ohms": self.number(key if ohms is None else ohms, spread, key),
            "henries": self.number(henries),
            "emf": self.number(emf),
            "turning": self.number(turning),
        }
        return self.add(passive.Winding(**self.who(key), a=a, b=b, **found, ac=ac))

    def contact(
        self, key: str, a: str, b: str, *, closed: bool = True, rest: bool | None = None, ac: bool = False
    ) -> Element | None:
        """A switch, key, relay's or thermostat's contact. A part RLn or Kn follows the coil of that name.

        closed: while the device is in use; rest: with the plug out, as the ohmmeter finds it. Without it a relay's
        contact is open at rest, unless `nc` is among its words, and any other is closed.
        """
        if not self.there(key, None):
            return None
        part = self.part(key)
        words = {w.lower() for w in part.words} if part else set()
        called = part.designator if part else ""
        coil = called if called.startswith(("RL", "K")) else ""
        at_rest = rest if rest is not None else "nc" in words or not coil
        return self.add(passive.Contact(
            **self.who(key), a=a, b=b, ohms=self.number(passive.CONTACT, "contact", key), closed=exact(closed), coil=coil, rest=at_rest,
            ac=ac,
        ))  # fmt: skip

    def diode(self, key: str, anode: str, cathode: str, *, forward: Given = 0.7, at: float = 0.01, sort: str = "silicon",
              breakdown: Given = 0.0, required: bool = True, spread: str = "", copy: int = 0, of: int = 1, ac: bool = False) -> Element | None:  # fmt: skip
        """A diode: forward V at `at` A. sort: silicon, schottky, led, zener (breakdown: its volts). required False: only
        where the note has the part. copy: the how-manieth of several that are one part of the block, from 0; of: how many
        they are, if each is to go by its own designator where a span names them (LD1-LD3)."""
        if not required and not self.there(key, None):
            return None
        silicon = sort in ("silicon", "zener")
        wide = "silicon junction" if silicon else sort
        who = self.who(key)
        who["name"] += f"#{copy}" if copy else ""
        if each := each_of(who["called"], of):
            who["called"] = each[copy]
        volts = self.number(forward, spread or wide, key)
        if sort == "led":
            anode, volts = self.behind_bulk(who["name"], anode, LED_BULK, at), lessened(volts, LED_BULK)
        return self.add(junctions.Diode(
            **who, anode=anode, cathode=cathode, forward=volts, at=at,
            emission=junctions.EMISSION[sort], breakdown=self.number(breakdown, "zener" if sort == "zener" else "", key),
            tested=junctions.TESTED.get(sort, 0.0) if volts.value < 1.0 else 0.0, ac=ac,
        ))  # fmt: skip

    def transistor(self, key: str, base: str, collector: str, emitter: str, *, hfe: Given, vbe: Given = 0.7, vce_sat: Given = 0.2,
                   at: float = 1e-3, forced: float = 0.0, pnp: bool = False) -> Element:  # fmt: skip
        """A bipolar transistor; at: base current (A) and forced: collector over base current at which vbe and vce_sat hold."""
        volts = self.number(vbe, "silicon junction", key)
        if at >= BASE_FROM:
            drop = BASE_BULK * min(1.0, at / BASE_BULK_AT)
            base, volts = self.behind_bulk(self.net(key), base, drop, at, back=pnp), lessened(volts, drop)
        return self.add(junctions.Transistor(
            **self.who(key), base=base, collector=collector, emitter=emitter, hfe=self.number(hfe, "hfe", key),
            vbe=volts, vce_sat=self.number(vce_sat, "saturation", key), at=max(at, 1e-7), forced=forced, pnp=pnp,
        ))  # fmt: skip

    def behind_bulk(self, name: str, net: str, drop: float, at: float, *, back: bool = False) -> str:
        """The net inside a junction's own resistance, which drops some volts at its working current; it never fails."""
        inner = f"_{name.removeprefix(self.block.name + '.')}{BULK}"
        a, b = (inner, net) if back else (net, inner)
        self.add(passive.Resistor(name=name + BULK, block=self.block.name, a=a, b=b, ohms=exact(drop / at)))
        return inner

    def mosfet(self, key: str, gate: str, drain: str, source: str, *, vth: Given, rds: Given, at: float = 3.0,
               p_channel: bool = False) -> Element:  # fmt: skip
        """A MOSFET; at: volts of the gate above the threshold (V) with which rds holds."""
        return self.add(junctions.Mosfet(
            **self.who(key), gate=gate, drain=drain, source=source, vth=self.number(vth, "threshold", key), rds=self.number(rds, "on-resistance", key),
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
                at: float = 0.005, saturated: Given = 100.0) -> Element:  # fmt: skip
        """An optocoupler; at: its LED's working current in A; saturated: ohm of its transistor fully on."""
        return self.add(chips.Coupler(
            **self.who(key), anode=anode, cathode=cathode, collector=collector, emitter=emitter, ctr=self.number(ctr, "ctr", key),
            forward=self.number(forward, "led", key), at=at, saturated=self.number(saturated),
        ))  # fmt: skip


def lessened(number: Number, by: float) -> Number:
    """A number and its ends, less something."""
    return Number(number.value - by, tuple((axis, low - by, high - by) for axis, low, high in number.ends))


def wire(
    block: Block, fed: Iterable[str] = (), *, air: float = 25.0, light: float = 10.0, left: float = 0.0
) -> Wired | None:
    """A block's share of the network, None where its kind has no wiring."""
    if not block.kind.is_wired:
        return None
    w = Wiring(block, fed, air=air, light=light, left=left)
    block.kind.wire(block, w)
    return w.wired
