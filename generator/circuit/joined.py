"""What a join gives a block that does not state it: the volts of its source or drive, from the block at the other end."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from generator.notation.quantity import Quantity, exactly

if TYPE_CHECKING:
    from generator.circuit.block import Block, Kind

# What a block's name alone gives: its steady or lowest value, in this order; then what the note states for it.
GIVES = ("mean", "trough", "peak", "output_voltage", "output", "output_25", "mid_rail", "nominal")
LOWEST = ("trough", "mean", "peak")  # for headroom
HIGHEST = ("high_mains_peak", "no_load_peak", "full")  # for heat
STATED = ("output", "supply")
DRIVEN = ("drive", "supply", "input_supply", "input")  # the parameter by which a chip's pin drives a block
_OUTPUT_PIN = re.compile(r"^\s*\S+\s+.+?\s*->\s*(\S.*?)\s*$")
SWITCHED = ("collector", "drain", "out", "load")  # terminals of a switch where its load may be another block
TERMINALS = {  # terminal -> the parameters that may say what stands on it
    "in": ("input", "supply"), "supply": ("supply",), "drive": ("drive",), "load_supply": ("load_supply",),
    "input": ("input_supply", "input", "supply"), "live": ("supply", "mains"), "primary_live": ("primary",),
    "plus": ("supply",), "output_supply": ("output_supply",), "reference": ("reference",), "battery": ("battery",),
    "out": ("battery",),
}  # fmt: skip
STEADY = ("plus", "out", "battery")  # terminals that give a direct voltage


def value_of(block: Block, parameter: str) -> tuple[str, Quantity] | None:
    """(name of its value or "", the value) that a block's name alone gives a parameter of another."""
    names = (
        (*HIGHEST, *GIVES)
        if parameter.endswith("_high")
        else (*LOWEST, *GIVES)
        if parameter == "input"
        else GIVES
    )
    for name in () if "live_out" in block.kind.terminals else names:
        result = block.values.get(name)
        if result is not None and result.unit == "V":
            return name, Quantity(result.value, result.low, result.high, "V", f"{block.name}.{name}", True)
    for name in STATED:
        given = block.quantity(name)
        if given is not None and given.unit == "V":
            return "", given
    return None


def stands_at(block: Block, terminal: str) -> Quantity | None:
    """The volts at a terminal of a block, where they are stated or one of its values."""
    given = (block.quantity(name) for name in TERMINALS.get(terminal, ()))
    stated = next((own for own in given if own is not None and own.unit == "V"), None)
    if stated is None and terminal in STEADY and (found := value_of(block, "")):
        return found[1]
    return stated


def drivers(raw: Mapping[str, Any]) -> dict[str, str]:
    """Block -> the chip one of whose output pins names it."""
    found: dict[str, str] = {}
    for name, entry in raw.items():
        pins = entry.get("pins") if isinstance(entry, Mapping) else None
        for pin in pins if isinstance(pins, (list, tuple)) else ():
            match = _OUTPUT_PIN.match(str(pin))
            if match and match[1] in raw:
                found.setdefault(match[1], name)
    return found


def left_out(kind: Kind, given: Iterable[str]) -> list[str]:
    """Parameters that a block of the kind needs and the note does not give."""
    stated = set(given)
    return [p.name for p in kind.params if p.required and p.name not in stated]


def given_by_pin(kind: Kind, given: Iterable[str]) -> str:
    """The left-out parameter that a chip's pin gives, "" for none."""
    missing = left_out(kind, given)
    return next((name for name in DRIVEN if name in missing), "")


def given_by_join(kind: Kind, given: Iterable[str], terminal: str, other: str) -> str:
    """The left-out parameter that a join at a terminal gives, "" for none. other: the terminal at its other end; where that
    gives a direct voltage, it goes before the mains as well."""
    stated = set(given)
    missing = left_out(kind, stated)
    if (
        other in STEADY
        and terminal in ("plus", "supply")
        and "current" not in stated | {p.name for p in kind.params if p.required}
    ):
        missing = [*missing, *(p.name for p in kind.params if p.name == "supply" and p.name not in stated)]
    return next((name for name in TERMINALS.get(terminal, ()) if name in missing), "")


def others_at(joins: Sequence[Sequence[str]], block: str) -> list[tuple[str, str]]:
    """(terminal, place at the other end) for every join of a block."""
    found = []
    for places in joins:
        for place in places:
            own, dot, terminal = place.partition(".")
            if own == block and dot:
                found += [(terminal, other) for other in places if other != place]
    return found


def shared_supply(kind: Kind, given: Iterable[str], terminal: str) -> str:
    """The left-out parameter for what the block joined at a terminal is fed from: a switch at whose collector or drain
    another block hangs switches that block's supply. "" for none."""
    missing = left_out(kind, given)
    return "load_supply" if terminal in SWITCHED and "load_supply" in missing else ""


def supply_of(block: Block) -> Quantity | None:
    """What a block is fed from."""
    for name in ("supply", "input", "load_supply"):
        given = block.quantity(name)
        if given is not None and given.unit == "V":
            return given
    return None


def loads_left_out(kind: Kind, given: Iterable[str]) -> list[tuple[str, str]]:
    """(parameter, unit) of the loads that a block needs and the note does not give: what is joined to it is its load."""
    missing = set(left_out(kind, given))
    return [(p.name, p.load_unit) for p in kind.params if p.name in missing and p.load_unit]


def no_load(kind: Kind, unit: str, *, switched: bool) -> Quantity:
    """What stands for such a load until the network says what it is: some of it where something is divided by it, and so
    much on the mains that a triac drops little."""
    if unit == "W":
        return exactly(1e3 if switched else 1.0, unit)
    return exactly(0.01 if switched or kind.param("transistor") is not None else 0.0, unit)


def touched(raw: Mapping[str, Any], block: str) -> list[str]:
    """The terminals of a block between which parts of other blocks lie."""
    lists = (
        entry.get(key) for entry in raw.values() if isinstance(entry, Mapping) for key in ("parts", "also")
    )
    lines = [line for own in lists if isinstance(own, (list, tuple)) for line in own if isinstance(line, str)]
    return [found for line in lines for found in re.findall(rf"(?<![\w.]){re.escape(block)}\.(\w+)", line)]


def has_takers(raw: Mapping[str, Any], joins: Sequence[Sequence[str]], block: str) -> bool:
    """Whether anything is joined to a block: a parameter of another names it, or a join."""
    named = any(
        isinstance(text, str) and (text.strip() == block or text.strip().startswith(f"{block}."))
        for other, entry in raw.items()
        if other != block and isinstance(entry, Mapping)
        for text in entry.values()
    )
    return named or bool(others_at(joins, block))
