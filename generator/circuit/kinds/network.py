"""Parts between named nets, as many as there are: what no other kind covers, computed with the rest of the device."""

from __future__ import annotations

from typing import Any

from generator.circuit import param
from generator.circuit.block import Block, Kind, Variant
from generator.circuit.extras import MOST_EXTRAS, read_extras
from generator.circuit.extras_sheet import draw_extras
from generator.circuit.network import Wiring
from generator.circuit.sheet import Sheet


class Network(Kind):
    title = "Network of parts"
    group = "Structure"
    what = "Any parts between named nets: what no other kind covers, drawn and computed with the rest of the device."
    assumes = (
        "The letters of a designator, or a word such as npn, pnp, zener, led, schottky, say what a part is. Terminals "
        "are named in the order base, collector, emitter; gate, drain, source; anode, cathode; in, out, common."
    )

    parts = param.Lines("one part a line, with the nets between which it lies: R30 10k from reg.out to base")

    example = {
        "parts": [
            "R30 10k from in to base", "Q9 npn hfe200 from base collector common", "R31 1k from plus to collector",
            "D3 from common to base",
        ],
    }  # fmt: skip
    variants = (
        Variant("a filter", {"parts": ["R1 1k from in to out", "C1 100n from out to common"]}),
        Variant("a regulator with its capacitors", {"parts": [
            "U7 5V regulator from in out common", "C1 100n from in to common", "C2 10u from out to common"]}),
    )  # fmt: skip

    def vet(self, given: dict[str, Any]) -> list[tuple[str, str, str]]:
        _, wrong = read_extras(given["parts"])
        found = [("parts", error.what, error.hint) for _, error in wrong]
        if len(given["parts"]) > MOST_EXTRAS:
            found.append(("parts", f"{len(given['parts'])} parts", f"at most {MOST_EXTRAS} in one network"))
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """Its parts are the block's extra parts, which the device wires."""

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Its lines, from the top of the sheet."""
        draw_extras([extra for _, extra in read_extras(block.inputs["parts"])[0]], sheet)
