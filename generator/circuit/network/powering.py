"""The wiring calls for what feeds, drives and loads a block: sources, chip pins, stated loads, the mains, rectifiers."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from generator.circuit.at_rest import LAMP, AtRest, resting
from generator.circuit.network import mains, passive, rectified, sources
from generator.circuit.network.described import Described, Given
from generator.circuit.network.element import Element, Number, Worn, exact, fixed
from generator.circuit.network.fuses import BLOWS, FUSES, fuse_ohms, rating_of
from generator.circuit.param.single import of_the_wall
from generator.circuit.spread import SPREADS
from generator.notation.quantity import exactly

if TYPE_CHECKING:
    from generator.notation.parts import Part

# of a small transformer's rail, at most, far beyond what it is made for (data sheets, from memory)
SAGS = 0.9
# least, usual and most of a transformer's copper losses that are one winding's own; common practice, no source
OWN_COPPER = 0.3, 0.5, 0.7
WORKS_AT = 0.05  # A: where a rail's curve is densest, if the block says nothing of its current


class Powering(Described):
    """What feeds, drives and loads a block."""

    # --- what feeds, drives and loads it ------------------------------------------------------------------------

    def supply(self, parameter: str, plus: str, minus: str = "common", *, ac: bool = False) -> Element | None:
        """The parameter feeds the net plus: a source of its own where the note gives plain volts; else a join does."""
        self.wired.feeds[parameter] = (plus, minus)
        if parameter in self.fed or not self.has(parameter):
            return None
        wave = f"sin {self.x.__dict__.get('f') or self.block.mains.frequency:g}" if ac else ""
        who = self.who(parameter, ("dead",))
        volts = self._at_the_wall(parameter) if ac else self.number(parameter, "supply")
        return self.add(sources.Source(**who, plus=plus, minus=minus, volts=volts, ac=ac, waveform=wave))

    def _at_the_wall(self, parameter: str) -> Number:
        """Volts at the mains, with their band also where the block has taken that into account elsewhere: at a secondary."""
        volts, own = self.number(parameter), self.block.kind.param(parameter)
        if own is None or not own.exact:
            return volts
        band = of_the_wall(exactly(volts.value, "V"), self.block.mains)
        return Number(volts.value, (("mains", band.low, band.high),) if band.low < band.high else ())

    def drive(
        self,
        parameter: str,
        plus: str,
        minus: str = "common",
        *,
        on: Given = None,
        idle: Given = 0.0,
        inverse: bool = False,
    ) -> Element | None:
        """As supply, for what switches the block: on (the parameter's volts) while the state drives it, else idle.

        inverse: it is on while a pin that drives it is low.
        """
        self.wired.feeds[parameter] = (plus, minus)
        self.wired.drive = parameter
        self.wired.inverse = inverse
        if parameter in self.fed or not (on is not None or self.has(parameter)):
            return None
        volts = self.number(parameter if on is None else on, "supply")
        return self.add(
            sources.Drive(
                **self.who(parameter, ("dead",)), plus=plus, minus=minus, volts=volts, idle=self.number(idle)
            )
        )

    def load(self, parameter: str, plus: str, minus: str = "common") -> Element | None:
        """A stated load: a current that is 0 when cold, or a resistor. What is joined to the rail is part of it."""
        if not self.has(parameter) or not self.x.__dict__.get(parameter):
            return None
        if self.x.__dict__.get(f"{parameter}_is", self.block.units.get(parameter)) != "A":
            ohms = self.number(parameter, "" if self.part(parameter) else "load")
            return self.add(passive.Resistor(**self.who(parameter), a=plus, b=minus, ohms=ohms))
        self.wired.loads[parameter] = (self.net(plus), self.net(minus))
        return self.add(
            sources.Load(**self.who(parameter), a=plus, b=minus, amperes=self.number(parameter, "load"))
        )

    def feed_current(self, parameter: str, into: str) -> Element | None:
        """A current that is known and whose source is not: the parameter's amperes into a net."""
        self.wired.feeds[parameter] = (into, "common")
        if parameter in self.fed or not self.has(parameter):
            return None
        amperes = self.number(parameter)
        return self.add(sources.Feed(**self.who(parameter), plus=into, minus="common", amperes=amperes))

    def goes(self, terminal: str, block: str) -> None:
        """A chip's pin is joined to the block that it names."""
        self.wired.goes[self.net(terminal)] = block

    def pin(self, terminal: str, supply: str = "supply", common: str = "common") -> Element:
        """An output pin of a chip: its supply behind 30 ohm, or common, by state."""
        who = {
            **self.who(f"pin {terminal}", ("open", "stuck high", "stuck low")),
            "called": self._pin_called(terminal),
        }
        ohms = self.number(sources.PIN, "output pin", f"pin {terminal}")
        return self.add(sources.Pin(**who, pin=terminal, supply=supply, common=common, ohms=ohms))

    def _pin_called(self, terminal: str) -> str:
        chip = self.part("designator")
        return f"{chip.designator} {terminal}" if chip and chip.designator else terminal

    def pin_behind(self, tap: str) -> None:
        """The net "pin": behind the parameter series, with the parameter capacitor, where the block has them."""
        if self.has("series") and self.x.series:
            self.add(passive.Resistor(**self.who("series"), a=tap, b="pin", ohms=self.number("series")))
        else:
            self.same(tap, "pin")
        if self.has("capacitor"):
            self.add(
                passive.Capacitor(
                    **self.who("capacitor"), a="pin", b="common", farads=self.number("capacitor")
                )
            )

    # --- the mains ----------------------------------------------------------------------------------------------

    def chain(self, first: str, last: str, keys: Sequence[str], *, ac: bool = False) -> None:
        """Parts of next to no resistance in series (fuses, a switch); one net where there is none."""
        nets = [first, *(f"_{first}{position}" for position in range(1, len(keys))), last]
        if not keys:
            self.same(first, last)
        for key, a, b in zip(keys, nets, nets[1:]):
            if key == "switch":
                self.add(passive.Contact(
                    **self.who(key), a=a, b=b, ohms=self.number(passive.CONTACT, "contact", key), rest=True,
                    ac=ac,
                ))  # fmt: skip
            else:
                self.fuse(key, a, b, ac=ac)

    def fuse(self, key: str, a: str, b: str, *, ac: bool = False) -> None:
        """A fuse, or another part of next to no resistance as it works; a fuse opens where it would carry several times
        its rating, an inrush limiter is its stated ohms when cold."""
        part = self._in_list(key)
        passes = fuse_ohms(f"{self.net(key)} ohms", rating_of(part))
        if part is not None and part.value is not None and part.value.unit == "ohm":
            rest = part.value.middle
            ends = (
                (part.value.low, part.value.high)
                if part.value.toleranced
                else SPREADS["inrush limiter"].ends(rest)
            )
            at_rest = Number(rest, ((self.net(key), *ends),))
            self.add(passive.Resting(**self.who(key), a=a, b=b, ohms=passes, at_rest=at_rest, ac=ac))
            return
        blows = BLOWS * rating_of(part)
        self.add(passive.Resistor(**self.who(key), a=a, b=b, ohms=passes, blows=blows, ac=ac))

    def filament(self, key: str, a: str, b: str, ohms: Given) -> None:
        """A lamp's filament on the mains; ohms: at work, of which a cold one has a small part."""
        hot = self.number(ohms, "heating element", key)
        ends = (self.net("filament"), LAMP.low * hot.value, LAMP.high * hot.value)
        at_rest = Number(LAMP.share * hot.value, (ends,))
        self.add(passive.Resting(**self.who(key), a=a, b=b, ohms=hot, at_rest=at_rest, ac=True))

    def fusible(self, key: str, a: str, b: str, *, ac: bool = False) -> None:
        """A fusible resistor, which opens where it would take many times its rated power."""
        part = self.part(key)
        if part is not None and part.value is not None:
            blows = math.sqrt(FUSES * part.ratings.get("W", 1.0) / max(part.value.middle, 1e-3))
            ohms = self.number(key, "", key)
            self.add(passive.Resistor(**self.who(key), a=a, b=b, ohms=ohms, blows=blows, ac=ac))

    def _in_list(self, key: str) -> Part | None:
        name, _, position = key.rpartition("_")
        listed = self.block.inputs.get(name)
        return (
            listed[int(position)]
            if isinstance(listed, (list, tuple)) and position.isdigit()
            else self.part(key)
        )

    def open_until_short(self, key: str, a: str, b: str, *, ac: bool = False) -> None:
        """A varistor: nothing below its voltage, a short when it has failed."""
        if self.there(key, None):
            self.add(passive.Resistor(**self.who(key), a=a, b=b, ohms=passive.NONE, ac=ac))

    def watts(
        self, parameter: str, live: str, neutral: str, rated: Given, *, sort: AtRest | None = None
    ) -> None:
        """What takes the parameter's watts at the rated volts from the mains; what is joined there is part of it. sort: what
        it is at rest; a part says so by what it is called."""
        if not self.there(parameter, None):
            return
        self.wired.loads[parameter] = (self.net(live), self.net(neutral))
        volts, watts, part = self.number(rated), self.number(parameter, "load"), self.part(parameter)
        rest = self._at_rest(parameter, sort or (resting(part) if part else None), volts.value, watts)
        self.add(mains.Plugged(
            **self.who(parameter), live=live, neutral=neutral, volts=volts, watts=watts, at_rest=rest, ac=True,
        ))  # fmt: skip

    def _at_rest(self, parameter: str, sort: AtRest | None, volts: float, watts: Number) -> Number:
        if sort is None or not watts.value:
            return passive.NONE
        ohms, own = volts**2 / watts.value, f"{self.net(parameter)} at rest"
        hot = sort.share * volts**2
        ends = tuple((axis, hot / low, hot / high) for axis, low, high in watts.ends)
        wide = ((own, sort.low * ohms, sort.high * ohms),) if sort.low < sort.high else ()
        return Number(sort.share * ohms, (*ends, *wide))

    def transformer(self, key: str, primary: tuple[str, str], secondaries: Sequence[tuple[str, str]], *, rated: str, gives: str,
                    ohms: float = 0.0, rises: float = 0.0) -> None:  # fmt: skip
        """A mains transformer with one secondary, or with a second one wound on from where the first ends (so it swings against
        it); gives: RMS volts of each at the rated primary and current; ohms: of the primary and one of them, seen from there. rises: share that it may give more, at what load nobody states."""
        volts, given = self.number(rated).value, self.number(gives)
        ratio = given.value / volts
        # what feeds it has the mains' band, or else its own volts do
        feeds = rated in self.fed or self._at_the_wall(rated).ends
        ends = [] if feeds else [(axis, low / volts, high / volts) for axis, low, high in given.ends]
        if rises:
            ends.append((self.net("regulation"), ratio, ratio * (1 + rises)))
        low, own, high = (ohms * share for share in OWN_COPPER)
        copper = Number(own, ((self.net(f"{key} copper"), low, high),) if ohms else ())
        likely = (own or self._copper(given.value, rises) / 2) / ratio**2
        first = mains.Transformer(
            **self.who(key), live=primary[0], neutral=primary[1], plus=secondaries[0][0], minus=secondaries[0][1],
            ratio=Number(ratio, tuple(ends)), ohms=copper, likely=likely, ac=True,
        )  # fmt: skip
        self.add(first)
        against = Number(-ratio, tuple((axis, -low, -high) for axis, low, high in ends))
        for plus, minus in secondaries[1:]:  # on the same core: what the primary takes and has is told once
            name = self.net(f"{key} other half")
            self.add(
                replace(first, name=name, plus=plus, minus=minus, ratio=against, likely=0.0, idle=exact(0.0))
            )

    def _copper(self, volts: float, rises: float) -> float:
        """Ohms of both windings seen from the secondary, where they are not stated: a transformer is bought for about twice
        of what is drawn (common practice, no source). 0 where nobody says what is drawn either."""
        known = self.x.__dict__.get("rated_current") or self.x.__dict__.get("load")
        return volts * rises / (2 * self._works_at(volts * math.sqrt(2))) if known else 0.0

    def rectified(self, key: str, plus: str, minus: str, *, fed: tuple[str, str, float] | None, secondary: Given, drop: Given,
                  diodes: int, full_wave: bool, smoothing: str, frequency: float, resistance: Given = 0.0,
                  regulation: Given = 0.0, no_load_top: bool = False, below: str = "") -> Element:  # fmt: skip
        """A rectifier with its smoothing capacitor as a rail. secondary: RMS volts; drop: V of each of the diodes that
        conduct at a time; regulation: share by which its EMF is above it, behind resistance. below: the far end of another
        like it in series, in turn with it, which takes no part in its failures. Its parts fail under the keys "transformer",
        "diodes" and smoothing."""
        lift = (
            Number(0.0, ((self.net("regulation"), 0.0, SPREADS["regulation"].above),))
            if no_load_top
            else exact(0.0)
        )
        sag = Number(0.0, ((self.net("regulation"), 0.0, SAGS),)) if no_load_top else exact(0.0)
        given = {
            "secondary": self.number(secondary), "drop": self.number(drop, "rectifier", key), "farads": self.number(smoothing),
            "resistance": self.number(resistance), "regulation": self.number(regulation), "full": exact(full_wave), "lift": lift, "sag": sag,
        }  # fmt: skip
        works_at = self._works_at(given["secondary"].value * math.sqrt(2))
        halves = 2 if full_wave and diodes == 1 else 1
        stated = float(self.x.__dict__.get("regulation") or 0.0)

        def emf(p: Mapping[str, float]) -> float:
            return p["secondary"] * math.sqrt(2) * (1 + p["regulation"]) * p["share"]

        def curve(p: Mapping[str, float]) -> sources.Curve:
            return rectified.curve(
                emf=emf(p), drop=diodes * p["drop"], resistance=p["resistance"], farads=p["farads"], works_at=works_at,
                frequency=frequency, full_wave=bool(p["full"]), lift=p["lift"], sag=p["sag"],
            )  # fmt: skip

        def figures(p: Mapping[str, float], amperes: float) -> dict[str, float]:
            rms, total = p["secondary"] * math.sqrt(2) * p["share"], diodes * p["drop"]
            found = rectified.state(
                emf=max(emf(p), 1e-12), drop=total, resistance=p["resistance"], farads=p["farads"], amperes=amperes,
                frequency=frequency, full_wave=bool(p["full"]),
            )  # fmt: skip
            peaks = {"peak": rms, "no_load_peak": rms * (1 + stated)}
            # of a centre-tapped secondary each half has every second pulse
            pulses, mean = (own / halves for own in (frequency * (1 + p["full"]), amperes))
            shown = rectified.winding(emf(p), total, p["resistance"], found, mean, pulses)
            above = shown / max(rms, 1e-9) - 1
            return {
                "ripple": found.top - found.trough, "trough": found.trough, "above": above if found.mean > 0 else 0.0,
                **{name: self._unloaded(top, total, p, frequency) for name, top in peaks.items()},
            }  # fmt: skip

        wear: dict[str, dict[str, Worn]] = {
            "transformer": {"open": fixed(share=0.0)},
            "diodes": {"open": fixed(full=0.0) if full_wave else fixed(share=0.0), "short": fixed(share=0.0)},
            smoothing: {
                "short": fixed(share=0.0),
                "open": fixed(farads=0.0),
                "low": lambda p, size: {"farads": p["farads"] * (size or 0.2)},
            },
        }
        if (
            full_wave and diodes == 2
        ):  # the winding bears it: every second half-wave is shorted, the others come through one diode
            wear["diodes"]["short one"] = lambda p, size: {"full": 0.0, "drop": p["drop"] / 2}
        named = {part: (str(self.who(part)["called"]), modes) for part, modes in wear.items()}
        return self.add(sources.Rail(
            **self.who(key, ()), plus=plus, minus=minus, curve=curve, given=given, figures=figures, wear=named,
            below=self.net(below) if below else "", fed=None if fed is None else (self.net(fed[0]), self.net(fed[1]), fed[2]),
        ))  # fmt: skip

    def _works_at(self, peak: float) -> float:
        load = self.x.__dict__.get("load")
        if load:
            return float(load if self.x.__dict__.get("load_is") == "A" else peak / load)
        rated = self.x.__dict__.get("rated_current")
        return float(rated) / 2 if rated else WORKS_AT

    @staticmethod
    def _unloaded(top: float, drop: float, p: Mapping[str, float], frequency: float) -> float:
        """What the capacitor charges to, or with it open the mean of the rectified source."""
        if p["farads"] > 0 or top <= 0:
            return max(0.0, top - drop)
        return rectified.state(
            emf=top,
            drop=drop,
            resistance=0.0,
            farads=0.0,
            amperes=0.0,
            frequency=frequency,
            full_wave=bool(p["full"]),
        ).mean
