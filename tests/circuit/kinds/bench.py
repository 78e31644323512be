"""Short ways for the tests of kinds: a block built, what is said about a bad one, one value, one failure."""

from __future__ import annotations

from typing import Any

from generator.circuit.block import Block, Failure
from generator.circuit.circuit import Mains, build_block

PLAIN = Mains(band=0.0)  # mains without a band, where a test is about something else


def made(kind: str, mains: Mains | None = None, **parameters: Any) -> Block:
    """The block; it has to be sound. Empty parameters are left out; from_ stands for from."""
    block, troubles = build_block(kind, _given(parameters), mains or Mains())
    assert block is not None, [t.what for t in troubles]
    return block


def told(kind: str, **parameters: Any) -> str:
    """What is said about parameters that are wrong."""
    block, troubles = build_block(kind, _given(parameters), Mains())
    assert block is None
    return " | ".join(f"{t.what}; {t.hint}" for t in troubles)


def names_it(kind: str, parameter: str, **parameters: Any) -> bool:
    """Whether the parameter is refused by its name and its kind's."""
    block, troubles = build_block(kind, _given(parameters), Mains())
    return block is None and any(kind in t.what and parameter in t.what for t in troubles)


def value(block: Block, name: str) -> float:
    found = block.values[name].value
    assert found is not None
    return found


def failed(block: Block, part: str, mode: str) -> Failure:
    return next(f for f in block.failures if (f.part, f.failed) == (part, mode))


def after(block: Block, part: str, mode: str) -> dict[str, float | None]:
    """Every measurable value with one part failed."""
    return {name: result.value for name, result in failed(block, part, mode).values.items()}


def said(block: Block, ok: bool) -> str:
    """The texts of all checks that hold, or of all that do not."""
    return " | ".join(f"{c.part}: {c.what}" for c in block.checks if c.ok is ok)


def _given(parameters: dict[str, Any]) -> dict[str, Any]:
    return {name.rstrip("_"): entry for name, entry in parameters.items() if entry != ""}
