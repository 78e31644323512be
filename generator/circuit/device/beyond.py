"""Parts written with their nets where they lie between blocks: what they feed, which are on the mains, whose contacts."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from generator.circuit.designated import relay_of
from generator.circuit.device.nets import islands
from generator.circuit.network.described import Wired
from generator.circuit.network.element import Element
from generator.circuit.network.junctions import Diode, Mosfet, Transistor
from generator.circuit.network.passive import Capacitor, Contact, Resistor, Winding
from generator.problems import WARNING, Trouble

if TYPE_CHECKING:
    from generator.circuit.block import Block
    from generator.circuit.extras import Extra

RELAY = re.compile(r"^(?:RL|K)\d+")
_ON_MAINS = Resistor, Capacitor, Winding, Contact  # what is the same on alternating current
_JUNCTIONS = Diode, Transistor, Mosfet
_RECTIFY = "a kind that rectifies does: mains-rectifier, transformer-supply, capacitive-dropper, solenoid (half-wave)"
NEUTRALS = "neutral_out", "neutral"


def one_relay(called: str, extra: Extra) -> bool:
    """Whether an extra part of a designator that is there already is a contact of that relay."""
    return RELAY.match(called) is not None and extra.sort == "switch"


def one_place(called: str) -> str:
    """What to do about a part that is there already."""
    if RELAY.match(called):
        return f"a part is in one place; a contact of that relay is written {called} contact from ... to ..."
    return "a part is in one place"


def fed_through(
    blocks: Mapping[str, Block], wired: Mapping[str, Wired], joins: Iterable[Sequence[str]]
) -> list[tuple[str, str, tuple[str, str] | None]]:
    """(block, parameter, what its neutral is joined to) for what would stand on mains of its own, but is reached from another
    block through parts written with their nets. A part across the block itself feeds nothing."""
    joined, parts = (
        _steps(joins),
        _steps(_nets_of(blocks, name, e) for name, b in blocks.items() for _, e in b.extras),
    )
    found = []
    for name, own in wired.items():
        for parameter, (plus, minus) in own.feeds.items():
            param = blocks[name].kind.param(parameter)
            taken = {**blocks[name].sources, **blocks[name].joined, **blocks[name].shares}
            if param is None or not param.moves_with_mains or parameter in taken:
                continue
            giver, _, end = _reached(blocks, joined, parts, f"{name}.{plus}").partition(".")
            if not giver:
                continue
            back = (
                "live"
                if end == "load"
                else next((n for n in NEUTRALS if n in blocks[giver].kind.terminals), "")
            )
            own_back = f"{name}.{minus}"
            apart = back and own_back not in joined and own_back not in parts
            found.append((name, parameter, (f"{giver}.{back}", own_back) if apart else None))
    return found


def _nets_of(blocks: Mapping[str, Block], name: str, extra: Extra) -> list[str]:
    return [net if "." in net or net in blocks else f"{name}.{net}" for net in extra.nets]


def _steps(places: Iterable[Sequence[str]]) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for nets in places:
        for net in nets:
            found.setdefault(net, set()).update(nets)
    return found


def _reached(
    blocks: Mapping[str, Block], joined: Mapping[str, set[str]], parts: Mapping[str, set[str]], start: str
) -> str:
    """The terminal of another block at the other end of parts and joins from a net, "" where there is none but of networks;
    not through the block's own other nets. What joins alone reach is no business of parts."""
    own = start.partition(".")[0]
    seen, ahead = {(start, False)}, [(start, False)]
    while ahead:
        net, through = ahead.pop()
        nexts = [(n, through) for n in sorted(joined.get(net, ()))] + [
            (n, True) for n in sorted(parts.get(net, ()))
        ]
        for there in nexts:
            block = there[0].partition(".")[0]
            if there in seen or block == own:
                continue
            seen.add(there)
            if block in blocks and blocks[block].extras_key != "parts":
                if there[1]:
                    return there[0]
                continue
            ahead.append(there)
    return ""


def on_mains(elements: Sequence[Element], extras: set[str], commons: set[str]) -> list[Element]:
    """The elements, those of further parts (extras: their names) which lie on the mains' alternating current marked so: what
    touches it and nothing of the direct-current side."""
    loose = {e.name: e for e in elements if e.name in extras and isinstance(e, _ON_MAINS) and not e.ac}
    if not loose:
        return list(elements)
    live = {net for e in elements if e.ac for net in e.nets} - commons
    direct = {net for e in elements if not e.ac and e.name not in loose for net in e.nets} - commons
    moved: dict[str, Element] = {}
    while True:
        more = [
            e for e in loose.values()
            if e.name not in moved and live & set(e.nets) and not direct & set(e.nets)
        ]  # fmt: skip
        if not more:
            break
        for e in more:
            moved[e.name] = replace(e, ac=True)
            live |= set(e.nets) - commons
    return [moved.get(e.name, e) for e in elements]


def on_direct(elements: Sequence[Element], commons: set[str]) -> list[Element]:
    """The elements, those of a block marked as on direct current that is made for the mains and joined to a rail: a heater, a
    series motor."""
    found: dict[str, Element] = {}
    for block in dict.fromkeys(e.block for e in elements if e.ac):
        own = [e for e in elements if e.block == block and e.ac]
        if not all(isinstance(e, _ON_MAINS) for e in own):
            continue
        ends = {net for e in own for net in e.nets} - commons
        others = [e for e in elements if e.block != block and ends & set(e.nets) and not isinstance(e, Diode)]
        if not any(e.ac for e in others) and any(not isinstance(e, _ON_MAINS) for e in others):
            found.update((e.name, replace(e, ac=False)) for e in own)
    return [found.get(e.name, e) for e in elements]


def rectified_by_hand(
    elements: Sequence[Element], extras: set[str], commons: set[str], blocks: Mapping[str, Block]
) -> tuple[list[Trouble], set[str]]:
    """Junctions written with their nets that alternating current reaches, each told once a block, and the nets of direct current
    of which nothing is known for that: what they would rectify is no operating point."""
    alternating = [e for e in elements if e.ac and not isinstance(e, Diode)]
    live = {net for e in alternating for group in e.groups() for net in group} - commons
    direct = [e for e in elements if not e.ac]
    inner = {e.name: [net for net in e.nets if net not in commons] for e in direct}
    loose = islands([inner[e.name] for e in direct if e.name in extras], live)
    reached = {loose(net) for net in live}
    found: dict[str, Trouble] = {}
    for e in direct:
        if e.name in extras and isinstance(e, _JUNCTIONS) and any(loose(n) in reached for n in inner[e.name]):
            what = f"{e.called or e.key}: alternating current reaches it, and what parts written one by one make of that is not worked out"
            block = blocks[e.block]
            found.setdefault(
                e.block, Trouble(("blocks", e.block, *_line(block, e.key)), what, _RECTIFY, WARNING)
            )
    if not found:
        return [], set()
    whole = islands(inner.values(), live)
    lost = {whole(net) for name in extras & inner.keys() for net in inner[name] if loose(net) in reached}
    return list(found.values()), {net for nets in inner.values() for net in nets if whole(net) in lost}


def _line(block: Block, key: str) -> tuple[str | int, ...]:
    """Where the note writes a part: its line among those with their nets, else its parameter."""
    return next(((block.extras_key, at) for at, extra in block.extras if extra.name == key), (key,))


def lone_contacts(elements: Sequence[Element], blocks: Mapping[str, Block]) -> list[Trouble]:
    """A contact named almost as a relay of the note: as it is written, nothing moves it."""
    coils = {e.called for e in elements if isinstance(e, Winding) and RELAY.match(e.called)}
    found = []
    for e in elements:
        alone = isinstance(e, Contact) and e.coil and not {e.coil, relay_of(e.coil)} & coils
        near = RELAY.match(e.called) if alone else None
        if near and near.group() in coils:
            what = f"{e.called}: no coil has that name, so it counts as closed in every state"
            hint = f"did you mean {near.group()}? coil and contacts of one relay have one name"
            found.append(Trouble(("blocks", e.block, *_line(blocks[e.block], e.key)), what, hint, WARNING))
    return found
