"""A place on the device as people write it: "CN3 pin 2", "TP5", "reg.out", "supply.ripple", "R14", "supply"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from generator.circuit.converter import Link
from generator.circuit.network import sources
from generator.circuit.network.described import Probe
from generator.circuit.network.junctions import Mosfet, Transistor
from generator.circuit.network.passive import Contact, Winding
from generator.circuit.network.wiring import BULK
from generator.notation.parts import each_of
from generator.problems import Refusal, did_you_mean

if TYPE_CHECKING:
    from generator.circuit.device.circuitry import Circuitry
    from generator.circuit.network.element import Element

_PIN = re.compile(r"^(\S+?)(?:\s+pin|[.\s-]+)\s*(\d{1,3})$", re.IGNORECASE)


class PlaceError(Refusal):
    """A text names no place of the device. what says why, hint what would be accepted."""


@dataclass(frozen=True)
class Place(Probe):
    """Where a meter goes: a probe, the text that names it, and the block and value that it belongs to.

    how: "part" (elements with their two outer nets plus and minus; through it or across it) and "value" (a value of block that
    only its own formulas give) besides those of a probe. ac: on the mains' alternating current. either: the leads may lie the
    other way round, so that only the amount counts. alone: of a part, one leg lifted, so that nothing lies beside it.
    tested: of a transistor, where the leads of the diode range go, red first.
    """

    text: str = ""
    block: str = ""
    value: str = ""
    ac: bool = False
    either: bool = False
    alone: bool = False
    tested: tuple[str, str] | None = None


def read_place(device: Circuitry, text: str) -> Place:
    """The place that a text names. Raises PlaceError with the nearest known one."""
    source = " ".join(str(text).split())
    if source in device.test_points:
        return _at_net(device, source, device.test_points[source])
    if pin := pin_of(device, source):
        connector, number = pin
        pins = device.connectors[connector]
        if not 1 <= number <= len(pins):
            raise PlaceError(f"{source}: {connector} has {len(pins)} pins")
        if not pins[number - 1]:
            raise PlaceError(f"{source}: what is at that pin is not known")
        return _at_net(device, source, pins[number - 1])
    block, dot, inside = source.partition(".")
    if block in device.blocks and dot:
        return _inside(device, source, block, inside)
    if source in device.blocks:
        output = device.output(source)
        if output is None:
            raise PlaceError(f"{source} is a block without an output", _terminals(device, source))
        return _between(device, source, *output)
    if source in device.parts:
        return _at_part(device, device.parts[source], source)
    span = each_of(source)
    if span and all(part in device.parts for part in span):
        first, last = (_at_part(device, device.parts[part], source) for part in (span[0], span[-1]))
        return replace(first, minus=last.minus, element="")
    part, _, word = source.rpartition(" ")
    if word in _SIDES and (name := _side_of(device, part, word)):
        return _at_part(device, name, source)
    if word == LIFTED and part in device.parts:
        return _lifted(device, source, part)
    parts = [name for name in device.parts if _stands_on_the_board(device, name)]
    known = list(dict.fromkeys([*device.test_points, *device.connectors, *parts, *device.blocks]))
    raise PlaceError(f"{source[:40]}: no such place", did_you_mean(source if not dot else block, known))


def pin_of(device: Circuitry, text: str) -> tuple[str, int] | None:
    """The connector and the number of its pin that a text means; None where it means none."""
    pin = _PIN.match(text)
    return (pin[1], int(pin[2])) if pin and pin[1] in device.connectors else None


def _stands_on_the_board(device: Circuitry, called: str) -> bool:
    """Whether a part is one that people find: not what only stands for a source, a load or what a converter passes on."""
    within = (sources.Source, sources.Load, sources.Feed, sources.Rail, sources.Pin, Link)
    return not isinstance(device.elements[device.parts[called]], within) or any(map(str.isdigit, called))


def _inside(device: Circuitry, source: str, block: str, inside: str) -> Place:
    net = f"{block}.{inside}"
    wired = device.wired.get(block)
    probe = wired.probes.get(inside) if wired else None
    value = device.blocks[block].values.get(inside)
    if net in device.all_nets and (probe is None or not value):
        return _at_net(device, source, net)
    if probe is not None and (not probe.element or probe.element in device.elements):
        plus, minus = (device.net(end) if end else "" for end in (probe.plus, probe.minus))
        ac = probe.element in device.ac_elements or (bool(plus) and device.is_mains_net(plus))
        ends = {**vars(probe), "plus": plus, "minus": minus}
        return Place(**ends, text=source, block=block, value=inside, ac=ac)
    if value is not None or inside in {d.name for d in device.blocks[block].definitions}:
        return Place("value", text=source, block=block, value=inside)
    known = [*(net.partition(".")[2] for net in device.terminals(block)), *device.blocks[block].values]
    what = f"{source}: {device.blocks[block].kind.name} {block} has no terminal or value {inside}"
    raise PlaceError(what, did_you_mean(inside, known))


def _terminals(device: Circuitry, block: str) -> str:
    return "its terminals: " + ", ".join(net.partition(".")[2] for net in device.terminals(block))


def _at_net(device: Circuitry, text: str, net: str) -> Place:
    plus = device.net(net)
    if plus not in device.system.index and plus not in device.side.index:
        raise PlaceError(f"{text}: nothing is known of what stands there", "join it to what it is wired to")
    ac, block = device.is_mains_net(plus), net.partition(".")[0]
    return Place("volts", plus, device.common_of(plus), text=text, block=block, ac=ac)


def _between(device: Circuitry, text: str, plus: str, minus: str) -> Place:
    one = device.net(plus)
    ac, block = device.is_mains_net(one), plus.partition(".")[0]
    return Place("volts", one, device.net(minus), text=text, block=block, ac=ac)


def volts_between(device: Circuitry, one: str, other: str) -> Place:
    """The volts between two places, the red lead on the first. Raises PlaceError where one is no net, or where a barrier lies
    between them: what a meter shows there is chance."""
    ends = []
    for text in (one, other):
        place = read_place(device, text)
        if place.how != "volts" or not place.plus:
            hint = "a net, a test point or a pin, such as supply.plus"
            raise PlaceError(f"{text}: not one place to put a lead", hint)
        ends.append(place.plus)
    first, second = ends
    text = f"{one} - {other}"
    if first == second:
        if contact := contact_at(device, first, (one, other)):
            return replace(_at_part(device, contact, text), how="volts", element="")
        raise PlaceError(f"{text}: both are one net", "two places that differ")
    if (live := device.on_mains(first)) != device.on_mains(second):
        high, low = (one, other) if live else (other, one)
        what = f"{text}: from the mains side to the low-voltage side, nothing is between them to measure"
        raise PlaceError(what, f"{high} is at mains potential, {low} is not")
    return Place("volts", first, second, text=text, ac=_alternating(device, text, first, second))


def contact_at(device: Circuitry, net: str, texts: Sequence[str]) -> str:
    """The contact through which a block is fed, where one of two places on one net is that block's: the lead on what it feeds
    lies behind it. "" where there is none, or more than one."""
    blocks = {text.partition(".")[0] for text in texts}
    there = [
        e for e in device.elements.values() if isinstance(e, Contact) and e.a == net and e.block in blocks
    ]
    return there[0].name if len(there) == 1 else ""


def alternating_side(device: Circuitry, place: Place) -> Place | None:
    """Of a relay in two places that one of them which is on the mains: what an AC range is put across."""
    side = _side_of(device, place.text, "contact") if place.how == "part" else ""
    found = _at_part(device, side, place.text) if side else None
    return found if found is not None and found.ac else None


def _alternating(device: Circuitry, text: str, first: str, second: str) -> bool:
    """Whether what stands between two nets of one side is alternating. Raises PlaceError for two that are not worked out
    together."""
    if first in device.system.index and second in device.system.index:
        return False
    if first in device.side.index and second in device.side.index:
        return True
    raise PlaceError(
        f"{text}: the volts between these two are not worked out", "each against its own common, or a part"
    )


LIFTED = "lifted"  # "R4 lifted": one leg out of the board
_SIDES = {"coil": Winding, "contact": Contact}  # "RL1 contact": one part in two places


def _side_of(device: Circuitry, designator: str, word: str) -> str:
    """The element of a designator that is its coil or its contact, "" where there is none."""
    return next(
        (
            name
            for name, e in device.elements.items()
            if e.called == designator and isinstance(e, _SIDES[word])
        ),
        "",
    )


def _lifted(device: Circuitry, text: str, designator: str) -> Place:
    """A part of two legs, one of them out of the board. Raises PlaceError for others."""
    name = device.parts[designator]
    if len(device.elements[name].nets) != 2:
        raise PlaceError(f"{text}: only what has two legs is measured with one lifted", designator)
    return replace(_at_part(device, name, text), alone=True)


def _at_part(device: Circuitry, name: str, designator: str) -> Place:
    element = device.elements[name]
    plus, minus = _ends(device, element)
    # a motor's winding, which is met by an ohmmeter too
    on_mains = device.is_mains_net(plus) and minus in device.side.index
    ac, tested = element.ac or on_mains, _tested(device, element)
    return Place("part", plus, minus, name, text=designator, block=element.block, ac=ac, tested=tested)


def _ends(device: Circuitry, element: Element) -> tuple[str, str]:
    """The nets between which a part is measured: of a transistor collector and emitter, of a regulator input and output."""
    leads = device.wired[element.block].leads.get(element.name) if element.block in device.wired else None
    if leads:
        return device.net(leads[0]), device.net(leads[1])
    plus, minus = element.nets[:2]
    if len(element.nets) == 3 and hasattr(element, "alive") and not hasattr(element, "volts"):
        plus, minus = element.nets[1:]
    bulk = device.elements.get(element.name + BULK)
    # nobody puts a probe between a junction and its own resistance
    if bulk is not None and plus in bulk.nets:
        plus = next(net for net in bulk.nets if net != plus)
    return plus, minus


def _tested(device: Circuitry, element: Element) -> tuple[str, str] | None:
    """Where the leads of a diode range go on what has three, red first: a bipolar transistor's base and emitter, a MOSFET's
    body diode. The way in which the sound one conducts."""
    if isinstance(element, Transistor):
        ends = device.outside(element.base), element.emitter
        return (ends[1], ends[0]) if element.pnp else ends
    if isinstance(element, Mosfet):
        return (element.drain, element.source) if element.p_channel else (element.source, element.drain)
    return None
