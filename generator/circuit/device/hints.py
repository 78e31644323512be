"""Plain volts that another block of the note makes: the hint that offers its name, which would join the two."""

from __future__ import annotations

from typing import TYPE_CHECKING

from generator.circuit import joined
from generator.notation.printed import format_value
from generator.notation.quantity import Quantity
from generator.problems import HINT, Trouble

if TYPE_CHECKING:
    from generator.circuit.block import Block
    from generator.circuit.circuit import Circuit

FED = ("supply", "input", "load_supply", "output_supply")  # parameters that say what feeds a block
SAME = 0.01  # share by which the two may differ


def made_elsewhere(circuit: Circuit) -> list[Trouble]:
    """A hint for every block that is fed with volts which exactly one other block makes. Paths as in the front matter."""
    makers = {name: volts for name, block in circuit.blocks.items() if (volts := makes(block)) is not None}
    found = []
    for name, block in circuit.blocks.items():
        for parameter in FED:
            given = block.inputs.get(parameter)
            plain = (
                parameter not in block.sources
                and parameter not in block.joined
                and parameter not in block.shares
            )
            if not (plain and isinstance(given, Quantity) and given.unit == "V" and given.value):
                continue
            same = [
                maker
                for maker, volts in makers.items()
                if maker != name and abs(volts - given.value) <= SAME * given.value
            ]
            if len(same) == 1 and _stated(block, parameter):
                what = f"{name}: {parameter}: {format_value(given.value, 'V', trim=True)} is what {same[0]} makes"
                hint = f"{parameter}: {same[0]} joins the two, so that one network is computed"
                found.append(Trouble(("blocks", name, parameter), what, hint, HINT))
    return found


def makes(block: Block) -> float | None:
    """The steady volts that a block gives others; None where it gives none."""
    if not {"out", "plus"} & set(block.kind.terminals) or "output" not in {p.name for p in block.kind.params}:
        return None
    found = joined.value_of(block, "supply")
    return found[1].value if found else None


def _stated(block: Block, parameter: str) -> bool:
    """Whether the note itself gives the volts, not a default such as the mains."""
    param = block.kind.param(parameter)
    return param is not None and not param.moves_with_mains
