"""A chip with its pins, each naming the block that it goes to: the middle of a drawing from plug to load."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from generator.circuit import param
from generator.circuit.block import Block, Kind, Variant
from generator.circuit.labels import computed, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.element import Number
from generator.circuit.network.junctions import Clamp
from generator.circuit.network.passive import Inside
from generator.circuit.network.sources import Load
from generator.circuit.placing import down
from generator.circuit.sheet import Line, Sheet

_PIN = re.compile(r"([A-Z]{0,2}\d{1,3})\s+(.+?)(?:\s*(->|<-)\s*(\S.*))?")
_SUPPLY = re.compile(r"[AD]?V(?:DD|CC)[A-Z0-9]{0,2}|V\+|3V3|5V", re.IGNORECASE)
_COMMON = re.compile(r"[ADP]?GND[A-Z0-9]{0,2}|[AD]?VSS[A-Z0-9]{0,2}|VEE|0\s?V|common", re.IGNORECASE)

DRAWS = 5e-3  # A, up to which a small controller may draw where the note does not say it (data sheets: 0.3 to 1 mA for each MHz)


@dataclass(frozen=True)
class Pin:
    """One pin: its number, what it is called, and the block behind it.

    output: the chip drives that block ("->"); otherwise the block drives the chip ("<-"), or none is named.
    """

    number: str
    name: str
    block: str = ""
    output: bool = False

    @property
    def is_supply(self) -> bool:
        return not self.block and _SUPPLY.fullmatch(self.name) is not None

    @property
    def is_common(self) -> bool:
        return not self.block and _COMMON.fullmatch(self.name) is not None


def read_pin(text: str) -> Pin | None:
    """ "2 heater -> heater-drive" as a pin; None where it is not written so."""
    match = _PIN.fullmatch(text.strip())
    if not match:
        return None
    number, name, arrow, block = match.groups()
    if any(sign in text for text in (name, block or "") for sign in ("->", "<-")):
        return None
    return Pin(number, name, block or "", arrow == "->")


def pins_of(block: Block) -> list[Pin]:
    """The pins of a microcontroller block in the order of their numbers."""
    read = [pin for pin in map(read_pin, block.inputs["pins"]) if pin]
    return sorted(read, key=_order)


def _order(pin: Pin) -> tuple[str, int]:
    letters = pin.number.rstrip("0123456789")
    return letters, int(pin.number[len(letters) :])


def _joined(names: list[str]) -> str:
    """Names of pins that are one: "VDD", "VDD VDDA", each once."""
    return " ".join(dict.fromkeys(names))


CLAMPED = (
    0.55,
    0.95,
)  # V at 10 mA across a pin's protection diode: from memory, data sheets of logic families


def _clamped(w: Wiring, pin: str) -> None:
    """A pin's protection diodes."""
    for anode, cathode, to in ((pin, "supply", "supply"), ("common", pin, "common")):
        name, forward = w.net(f"{pin} clamped to {to}"), Number(0.75, ((w.net("clamps"), *CLAMPED),))
        upper = to == "supply"
        w.add(
            Clamp(name=name, block=w.block.name, anode=anode, cathode=cathode, upper=upper, forward=forward)
        )


class Microcontroller(Kind):
    title = "Microcontroller"
    group = "Structure"
    inputs_leak = True
    what = "A chip with its pins, each naming the block that it goes to. Nothing is computed from it."
    assumes = (
        "Pins named VDD, VCC, VSS, GND and the like are supply and common. An arrow away from the name is "
        "an output."
    )

    designator = param.Part("chip", "the chip: U2, and its type if that helps", role="chip", modes=())
    supply = param.Quantity("V", "the voltage on its supply pin")
    pins = param.Lines("number and name of each pin; -> block for an output, <- block for an input")
    decoupling = param.Part(
        "capacitor", "the capacitor across its supply", default=None, role="decoupling capacitor"
    )
    current = param.Quantity("A", "what the chip draws itself, such as 3 mA", default=None)

    remarks = {
        ("decoupling", "short"): "pulls the chip's supply down to 0 V",
        ("decoupling", ""): "no meter shows it; resets and odd behaviour when a load switches",
    }
    example = {
        "designator": "U2 8-bit", "supply": "5 V", "decoupling": "C8 100n",
        "pins": ["1 VDD", "2 heater -> heater-drive", "3 air <- air", "4 menu <- menu", "5 lamp -> heat-lamp", "6 spare", "8 GND"],
    }  # fmt: skip
    variants = (Variant("without a decoupling capacitor", {"decoupling": "", "designator": "U7"}),)

    def vet(self, given: dict[str, Any]) -> list[tuple[str, str, str]]:
        found = []
        seen: dict[str, str] = {}
        for text in given["pins"]:
            pin = read_pin(text)
            if pin is None:
                hint = "a number, a name, and where it goes, such as 2 heater -> heater-drive"
                found.append(("pins", f"{text}: no pin", hint))
                continue
            if pin.number in seen:
                what = f"pin {pin.number} is both {seen[pin.number]} and {pin.name}"
                found.append(("pins", what, "each pin has a number of its own"))
            seen[pin.number] = pin.name
        return found

    def names(self, given: dict[str, Any]) -> list[tuple[tuple[str | int, ...], str]]:
        """The blocks that the pins go to, with the place of each pin."""
        read = [(position, read_pin(text)) for position, text in enumerate(given["pins"])]
        return [(("pins", position), pin.block) for position, pin in read if pin and pin.block]

    def wire(self, block: Block, w: Wiring) -> None:
        """Each pin by its name; outputs by state, inputs high-impedance."""
        w.supply("supply", "supply")
        w.capacitor("decoupling", "supply", "common")
        stated = block.quantity("current")
        own = w.number("current", "load") if stated else Number(0.0, ((w.net("current"), 0.0, DRAWS),))
        draws = {**w.who("current", ()), "called": w.who("designator")["called"] if stated else ""}
        w.add(Load(**draws, a="supply", b="common", amperes=own))
        w.add(Inside(**w.who("designator", ("short",)), a="supply", b="common"))
        for pin in pins_of(block):
            w.same(pin.name, f"pin {pin.number}")
            if pin.is_supply:
                w.same("supply", pin.name)
            elif pin.is_common:
                w.same("common", pin.name)
            else:
                if pin.block:
                    w.goes(pin.name, pin.block)
                if pin.block and pin.output:
                    w.pin(pin.name)
                else:
                    _clamped(w, pin.name)

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Inputs on the left, outputs on the right, supply on top, common at the bottom, each side by pin number."""
        pins = pins_of(block)
        supplies, commons = [p for p in pins if p.is_supply], [p for p in pins if p.is_common]
        others = [p for p in pins if not p.is_supply and not p.is_common]
        right = [p for p in others if p.output]
        left = [p for p in others if not p.output]
        last = max(len(left), len(right), 2)
        numbers = {f"left {row}": pin.number for row, pin in enumerate(left, 1)}
        numbers |= {f"right {row}": pin.number for row, pin in enumerate(right, 1)}
        numbers |= {
            side: ", ".join(p.number for p in group)
            for side, group in (("top", supplies), ("bottom", commons))
            if group
        }
        places = sheet.box(
            1, 1, last, part_label(block, "designator"), numbers=numbers,
            left={row: pin.name for row, pin in enumerate(left, 1)}, right={row: pin.name for row, pin in enumerate(right, 1)},
            top=_joined([p.name for p in supplies]), bottom=_joined([p.name for p in commons]),
        )  # fmt: skip
        for side, group, column in (("left", left, 0), ("right", right, 2)):
            for row, pin in enumerate(group, 1):
                sheet.wire((column, row), places[f"{side} {row}"])
                sheet.port(
                    column,
                    row,
                    [Line(pin.block, "r", own=True)],
                    right=side == "right",
                    terminal=bool(pin.block),
                )
        common = last + 1
        sheet.wire((0, 0), (1, 0), places["top"])
        sheet.wire((0, common), (1, common), places["bottom"])
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        sheet.port(0, common, [Line("0 V", "r")])
        if block.part("decoupling"):
            # beside the chip, or its pins would stand in a loop
            sheet.port(3, 0, [Line("supply", "r")], right=True)
            sheet.port(3, common, [Line("0 V", "r")], right=True)
            down(block, sheet, "decoupling", 3, 0, common, segment=(0, common))
