"""Parts written with the nets between which they lie: "C2 100n from plus to common", "Q9 npn hfe200 from base collector common"."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from generator.notation.part_reading import parse_part
from generator.notation.parts import Part
from generator.notation.quantity import QuantityError
from generator.problems import NAMELESS

MOST_EXTRAS = 40


@dataclass(frozen=True)
class Lies:
    """What sort of part it is, and its terminals in the order in which they are written.

    sort: the word for it; part_class: how its text is read (generator.notation.part_reading).
    """

    sort: str
    part_class: str
    terminals: tuple[str, ...]


TWO = ("from", "to")
# what a coil may state beside its value: L3 95R 0.45H
BESIDE = {"inductor": "ohm", "winding": "H", "coil": "H"}
SORTS = {
    "resistor": Lies("resistor", "resistor", TWO), "capacitor": Lies("capacitor", "capacitor", TWO),
    "inductor": Lies("inductor", "inductor", TWO), "thermistor": Lies("thermistor", "thermistor", TWO),
    "photoresistor": Lies("photoresistor", "photoresistor", TWO), "varistor": Lies("varistor", "varistor", TWO),
    "fuse": Lies("fuse", "fuse", TWO), "thermal fuse": Lies("thermal fuse", "thermal fuse", TWO), "switch": Lies("switch", "switch", TWO), "winding": Lies("winding", "winding", TWO),
    "coil": Lies("coil", "coil", TWO), "potentiometer": Lies("potentiometer", "potentiometer", TWO),
    "diode": Lies("diode", "diode", ("anode", "cathode")), "zener": Lies("zener", "zener", ("anode", "cathode")),
    "led": Lies("led", "led", ("anode", "cathode")), "battery": Lies("battery", "any", ("plus", "minus")),
    "npn": Lies("npn", "transistor", ("base", "collector", "emitter")),
    "pnp": Lies("pnp", "transistor", ("base", "collector", "emitter")),
    "nmos": Lies("nmos", "mosfet", ("gate", "drain", "source")), "pmos": Lies("pmos", "mosfet", ("gate", "drain", "source")),
    "regulator": Lies("regulator", "any", ("in", "out", "common")),
}  # fmt: skip

# Letters of a designator -> sort (IEC 81346 and common practice); words of the part decide where they say more.
LETTERS = {
    "R": "resistor", "C": "capacitor", "L": "inductor", "D": "diode", "ZD": "zener", "LD": "led", "LED": "led", "Q": "npn",
    "T": "npn", "TR": "npn", "RV": "varistor", "VDR": "varistor", "MOV": "varistor", "TH": "thermistor", "NTC": "thermistor",
    "LDR": "photoresistor", "F": "fuse", "TF": "thermal fuse", "S": "switch", "SW": "switch", "RL": "coil", "K": "coil", "M": "winding",
    "VR": "potentiometer", "P": "potentiometer", "U": "regulator", "IC": "regulator", "BT": "battery", "B": "battery",
}  # fmt: skip
_WORDS = {
    "npn": "npn", "pnp": "pnp", "nmos": "nmos", "pmos": "pmos", "n-channel": "nmos", "p-channel": "pmos", "zener": "zener",
    "led": "led", "schottky": "diode", "contact": "switch", "coil": "coil", "varistor": "varistor", "fuse": "fuse",
}  # fmt: skip
_LIES = re.compile(r"^(?P<part>.+?)\s+from\s+(?P<nets>\S.*)$")
_NET = re.compile(r"^[A-Za-z_][\w-]*(?:\.[A-Za-z_+][\w +-]*)?$")


@dataclass(frozen=True)
class Extra:
    """A part beyond a kind's parameters. sort: one of SORTS; nets: as written, one for each of its terminals."""

    part: Part
    sort: str
    nets: tuple[str, ...]
    text: str

    @property
    def name(self) -> str:
        """Its designator, else its text."""
        return self.part.designator or self.part.text


class ExtraError(QuantityError):
    """A text is no part with its nets."""


def read_extra(text: object) -> Extra:
    """Read "C2 100n from plus to common". Raises ExtraError with words for people."""
    source = " ".join(str(text).split())
    match = _LIES.match(source)
    if not match:
        hint = "such as C2 100n from plus to common"
        raise ExtraError(f"{source[:40] or NAMELESS}: it does not say between which nets it lies", hint)
    nets = tuple(net for net in re.split(r"[\s,]+", match["nets"]) if net != "to")
    sort = _sort(match["part"])
    if sort is None:
        what = f"{match['part']}: nothing says what it is"
        raise ExtraError(what, "begin with a designator (R14, C2, Q9) or a word such as npn, zener, led")
    lies = SORTS[sort]
    if len(nets) != len(lies.terminals):
        wanted = "from ... to ..." if lies.terminals == TWO else "from " + " ".join(lies.terminals)
        raise ExtraError(
            f"{match['part']}: {len(nets)} nets, but a {lies.sort} has {len(lies.terminals)}", wanted
        )
    for net in nets:
        if not _NET.match(net):
            raise ExtraError(f"{net} is not a name of a net", "a terminal such as plus, or block.terminal")
    if len(set(nets)) == 1:
        raise ExtraError(
            f"{match['part']}: all its ends are on {nets[0]}", "name the two nets between which it lies"
        )
    try:
        part = parse_part(match["part"], lies.part_class, beside=BESIDE.get(sort, ""))
    except QuantityError as error:
        if sort != "inductor":
            raise ExtraError(error.what, error.hint) from None
        try:  # a coil of which only its ohms are known
            part, sort = parse_part(match["part"], "winding", beside="H"), "winding"
        except QuantityError:
            raise ExtraError(error.what, error.hint) from None
    if sort == "battery" and "V" not in part.ratings:
        raise ExtraError(f"{match['part']}: its volts are missing", f"such as {match['part']} 9V")
    return Extra(part, sort, nets, source)


def read_extras(lines: Iterable[object]) -> tuple[list[tuple[int, Extra]], list[tuple[int, QuantityError]]]:
    """The parts of the lines that can be read, and what is wrong with the others, each with its place in the list."""
    found, wrong = [], []
    for position, line in enumerate(lines):
        try:
            found.append((position, read_extra(line)))
        except QuantityError as error:
            wrong.append((position, error))
    return found, wrong


def _sort(text: str) -> str | None:
    words = text.lower().split()
    if any(re.match(r"vth|rds", word) for word in words):
        return "pmos" if "pmos" in words or "p-channel" in words else "nmos"
    for word in words:
        if word in _WORDS:
            return _WORDS[word]
    designator = re.match(r"[A-Z]{1,3}(?=\d)", text)
    return LETTERS.get(designator.group()) if designator else None
