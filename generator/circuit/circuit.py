"""A note's blocks together: inputs read, references between blocks resolved, everything wrong collected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from generator.circuit import catalogue
from generator.circuit.block import Block, Mains
from generator.circuit.builder import Builder, hint_for_value
from generator.notation.parts import Part
from generator.notation.quantity import Quantity
from generator.problems import WARNING, Trouble, did_you_mean

__all__ = ["Circuit", "Mains", "build", "build_block", "hint_for_value", "possible_values"]

MOST_BLOCKS = 100


@dataclass
class Circuit:
    """The blocks of a note in its order, and what is wrong with them (paths start at a block's name)."""

    blocks: dict[str, Block] = field(default_factory=dict)
    troubles: list[Trouble] = field(default_factory=list)
    # blocks that could not be worked out; what is wrong is told
    broken: set[str] = field(default_factory=set)
    # (block, parameter): what is joined is the load
    unstated_loads: list[tuple[str, str]] = field(default_factory=list)

    @cached_property
    def givers(self) -> dict[str, list[str]]:
        """For each block those whose values it takes; the blocks stand in an order in which they can be computed."""
        found: dict[str, list[str]] = {}

        def visit(name: str) -> None:
            if name in found or name not in self.blocks:
                return
            givers = list(
                dict.fromkeys(source.split(".", 1)[0] for source in self.blocks[name].sources.values())
            )
            for giver in givers:
                visit(giver)
            found[name] = givers

        for name in self.blocks:
            visit(name)
        return found


def build(
    blocks: Mapping[str, Any],
    mains: Mains,
    joins: Sequence[Sequence[str]] = (),
    loads: Mapping[tuple[str, str], Quantity] | None = None,
) -> Circuit:
    """Work the blocks of a note out. Never raises for what a note may hold; see Circuit.troubles.

    joins: places that are one net, which may give a block what it does not state. loads: (block, parameter) -> what is
    joined to a rail whose load the note leaves out, where that is known already.
    """
    builder = Builder(blocks, mains, joins, loads or {})
    if len(blocks) > MOST_BLOCKS:
        return Circuit(
            {}, [Trouble((), f"{len(blocks)} blocks in one note", f"at most {MOST_BLOCKS} are drawn")]
        )
    for name in blocks:
        builder.block(name)
    done = {name: block for name in blocks if (block := builder.done.get(name))}
    if len(blocks) > 1:
        builder.troubles += _unknown_names(done, blocks)
        builder.troubles += _two_parts_of_one_name(done)
    broken = set(blocks) - set(done)
    return Circuit(done, builder.troubles, broken, [key for key in builder.unstated_loads if key[0] in done])


def _unknown_names(done: Mapping[str, Block], blocks: Mapping[str, Any]) -> list[Trouble]:
    """Where a block names another one (a chip's pin) that the note has not."""
    troubles = []
    for own, block in done.items():
        for path, name in block.kind.names(block.inputs):
            if name not in blocks:
                what, hint = f"{block.kind.name} {own}: no block {name}", did_you_mean(name, blocks)
                troubles.append(Trouble((own, *path), what, hint, WARNING))
    return troubles


def _two_parts_of_one_name(done: Mapping[str, Block]) -> list[Trouble]:
    """Where two blocks give one designator two values: one of the parts was misread, or its name was."""
    troubles = []
    first: dict[str, tuple[str, Part]] = {}
    for own, block in done.items():
        for part in block.parts:
            before = first.setdefault(part.designator, (own, part)) if part.designator else (own, part)
            values = [
                p.value.middle
                for p in (before[1], part)
                if p.value is not None and p.part_class == part.part_class
            ]
            if before[0] != own and len(values) == 2 and values[0] != values[1]:
                path = next(((name,) for name, given in block.inputs.items() if given is part), ())
                what = f"{part.designator} is {part.label} here and {before[1].label} in {before[0]}"
                troubles.append(Trouble((own, *path), what, "a designator stands for one part", WARNING))
    return troubles


def build_block(kind: str, parameters: Mapping[str, Any], mains: Mains) -> tuple[Block | None, list[Trouble]]:
    """One block on its own, as at the bench. Paths of the troubles start at the parameter."""
    circuit = build({"block": {"kind": kind, **parameters}}, mains)
    troubles = [Trouble(t.path[1:], t.what, t.hint, t.severity) for t in circuit.troubles]
    return circuit.blocks.get("block"), troubles


class Possible(list[str]):
    """Names of the values that a block may have which cannot be worked out as it is written."""

    def __contains__(self, name: object) -> bool:
        # of its cut points nothing is known
        return not self or "." in str(name) or super().__contains__(name)


def possible_values(raw: Any, *, places: bool = False) -> Possible:
    """What a block as written could have for values; any name, where its kind is not known either. places: its terminals, too."""
    called = raw.get("kind") if isinstance(raw, Mapping) else None
    known = isinstance(called, str) and called in catalogue.names()
    if not known:
        return Possible()
    kind = catalogue.kind(called)
    return Possible([*(value.name for value in kind.values), *(kind.terminals if places else ())])
