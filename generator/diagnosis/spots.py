"""Where the probes go, in words of the trade: "collector of relay-drive (Q1, RL1, D6)" rather than an identifier.

A name that stands on the board (a test point, a connector's pin, a designator) is said as it is. A net is said by what it
is in its block, with the parts that meet there, for those are what a person finds; a value by its name and the part that
it is read at.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING

from generator.circuit.device.places import LIFTED, Place, PlaceError
from generator.circuit.network.sources import Rail
from generator.language import _, pgettext, value_name
from generator.notation.parts import Part

if TYPE_CHECKING:
    from generator.circuit.block import Kind
    from generator.circuit.device import Device

MOST_PARTS = 3  # that meet in a place are named
DESIGNATOR = re.compile(r"[A-Z]{1,4}\d+[A-Za-z]?(-[A-Z]*\d+)?")
# a net of one transistor's leg inside its block
LEGS = ("base", "collector", "emitter", "gate", "drain", "source")
TERMINALS = {"in": "input", "out": "output"}


def spot_name(device: Device, text: str, *, parts: bool = True) -> str:
    """A place's text as a person says it. text: as device.place() reads it; another one is said as it is. parts: with
    those that meet there."""
    try:
        place = device.place(text)
    except PlaceError:
        return text
    if text in device.parts or place.how == "part":
        return _part(device, text, place)
    block, dot, inside = text.partition(".")
    if not dot or block not in device.blocks:
        return text  # a test point, or a connector's pin
    if place.plus in device.commons and not place.value and "neutral" not in inside:
        return "0 V" if len(device.commons) == 1 else _("0 V of %(block)s") % {"block": block}
    pins = device.blocks[block].inputs.get("pins")
    if pins and not place.value:
        name = _pin(device, block, inside)
    else:
        terminal = "" if place.value else terminal_name(device.blocks[block].kind, inside)
        name = _of(device, terminal or value_name(place.value or TERMINALS.get(inside, inside)), block)
    return _with_parts(name, _parts_read(device, place, block)) if parts else name


def terminal_name(kind: Kind, inside: str) -> str:
    """A terminal of a kind in a language that has a word for it; "" in English, and for a net that an author named."""
    words = TERMINALS.get(inside, inside).replace("_", " ")
    own = pgettext("terminal", words) if inside in kind.terminals else words
    return own if own != words else ""


def net_name(device: Device, net: str) -> str:
    """A net as a person says it, without the parts that meet there; one that only a block knows by those alone."""
    block, _dot, inside = net.partition(".")
    if inside.startswith("_"):
        if inside[1:] in LEGS and block in device.blocks:
            owner = device.blocks[block].part("transistor")
            called = (owner.designator if isinstance(owner, Part) else "") or block
            return _("%(value)s of %(block)s") % {"value": _(inside[1:]), "block": called}
        return parts_at(device, net)
    return spot_name(device, net, parts=False)


def parts_at(device: Device, net: str) -> str:
    """A net that only a block knows, by the parts that meet there, the same in every language: "R13/R14"."""
    named = _meeting(device, net, "")
    met = named if len(named) > 1 else _meeting(device, net, "", designated=False)
    return "/".join(met) or net.partition(".")[0]


def cold_name(device: Device) -> str:
    """What is done before ohms are read: the plug is out, the battery is, or both; a device fed by neither is off."""
    kinds = [block.kind for block in device.blocks.values()]
    battery = any(own.part == "cell" for kind in kinds for own in kind.extra_parts)
    mains = any("mains" in block.cautions for block in device.blocks.values())
    if mains and battery:
        return _("plug and battery out")
    if battery:
        return _("battery out")
    return _("plug out") if mains else _("supply off")


def _part(device: Device, text: str, place: Place) -> str:
    """A designator alone; a part that goes by its role, with its block."""
    called, _space, side = text.rpartition(" ")
    if text not in device.parts and called in device.parts:
        lifted = _("%(part)s, one leg lifted") % {"part": called}
        return lifted if side == LIFTED else f"{called} {_(side)}"
    if DESIGNATOR.fullmatch(text):
        return text
    element = device.elements.get(place.element)
    return _of(device, _(text), element.block if element is not None else "")


def _of(device: Device, name: str, block: str) -> str:
    if len(device.blocks) == 1 or not block:
        return name
    return _("%(value)s of %(block)s") % {"value": name, "block": block}


def _pin(device: Device, block: str, pin: str) -> str:
    """A pin of a chip, by the chip's designator where it has one."""
    chip = next((p.designator for p in device.blocks[block].parts if p.designator.startswith("U")), block)
    return _("%(chip)s pin %(pin)s") % {"chip": chip, "pin": pin}


def _parts_read(device: Device, place: Place, block: str) -> list[str]:
    """The part that a current goes through or a ripple stands across, or the parts that meet at the red lead."""
    element = device.elements.get(place.element)
    if isinstance(element, Rail):  # it is called by its diodes, and read where it comes out
        return _meeting(device, device.net(element.plus), block)
    if element is not None and element.called:
        return [element.called] if DESIGNATOR.fullmatch(element.called) else []
    return _meeting(device, place.plus, block) if place.plus and place.plus not in device.commons else []


def _meeting(device: Device, net: str, block: str, *, designated: bool = True) -> list[str]:
    """The parts that meet at a net, those of the block first."""
    found = {own.called: own.block != block for own in device.elements.values()
             if own.called and net in map(device.net, own.nets)}  # fmt: skip
    named = [called for called in found if DESIGNATOR.fullmatch(called) or not designated]
    return sorted(named, key=lambda called: found[called])


def _with_parts(name: str, parts: Iterable[str]) -> str:
    own = list(parts)
    if not own:
        return name
    return f"{name} ({', '.join(own[:MOST_PARTS])}{' …' if len(own) > MOST_PARTS else ''})"
