"""A sound device that blows its fuse, or draws on the mains what no device does: it is joined otherwise than it is built."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from generator.circuit.device.assembly import assemble
from generator.circuit.network.element import NoOperatingPoint
from generator.notation.printed import format_value
from generator.problems import WARNING, Trouble

if TYPE_CHECKING:
    from generator.circuit.device.device import Device

FAR_TOO_MUCH = 200.0  # A, from the mains: beyond any inrush that a circuit breaker of a home bears; common practice, no source

MOST_TRIED = 30  # joins that are left out one after another


def shorts(device: Device) -> list[Trouble]:
    """A warning at the join that makes a short, else at the block in which the current shows; the first state that has one."""
    found = _overload(device)
    if found is None:
        return []
    state, called, amperes, block = found
    what = f"in state {state} {called} carries {format_value(amperes, 'A')}, with nothing failed"
    told = device.told
    for position in range(len(told.joins) if len(told.joins) <= MOST_TRIED else 0):
        rest = replace(told, joins=told.joins[:position] + told.joins[position + 1 :])
        if _overload(assemble(device.circuit, rest)) is None:
            called = " - ".join(told.joins[position])
            hint = "is this join right?"
            if any(place.endswith(".load") for place in told.joins[position]):
                hint += " What is joined at load stands between it and live, and has no supply of its own"
            return [Trouble(("joins", position), f"{called}: {what}", hint, WARNING)]
    hint = "check how the blocks are joined, and the fuse's rating"
    return [Trouble(("blocks", block), f"{block}: {what}", hint, WARNING)]


def _overload(device: Device) -> tuple[str, str, float, str] | None:
    """(state, what carries too much, A, its block), None where nothing does."""
    side = device.side
    try:
        changes = device.solved.changes
    except NoOperatingPoint:
        return None
    # what a blown fuse would carry if it were whole
    whole = side.solve(
        [{n: own for n, own in row.items() if n not in {f.name for f in side.fuses}} for row in changes]
    )
    limits = [(fuse, fuse.blows) for fuse in side.fuses] + [(source, FAR_TOO_MUCH) for source in side.sources]
    for row, state in enumerate(device.states):
        for element, limit in limits:
            amperes = float(whole.amperes(element.name)[row])
            if amperes > limit:
                called = element.called if element in side.fuses else "the mains"
                return state.name, called or element.key, amperes, element.block
    return None
