"""The blocks of a note worked out one after another: references to one another resolved, what is wrong collected."""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, NoReturn

from generator.circuit import catalogue, joined
from generator.circuit.block import Block, Kind, Mains, Point
from generator.circuit.designated import slips, twice
from generator.circuit.extras import MOST_EXTRAS, Extra, read_extras
from generator.circuit.hazards import cautions_of
from generator.circuit.inputs import Inputs, References
from generator.circuit.param import CutPoints
from generator.circuit.stated import read_inputs
from generator.notation.quantity import Quantity
from generator.problems import ERROR, Trouble, did_you_mean

NETWORK = "network"  # the kind that is nothing but further parts
ALSO = "also"  # further parts of a block, whatever its kind
_REFERENCE = re.compile(r"^([A-Za-z][\w-]*)\.([A-Za-z].*)$")


class _Broken(Exception):
    """A parameter that names what cannot be had; what is wrong is told."""


class Builder:
    """Works out each block when it is first asked for, so that a block comes after those whose values it takes."""

    def __init__(
        self,
        blocks: Mapping[str, Any],
        mains: Mains,
        joins: Sequence[Sequence[str]],
        loads: Mapping[tuple[str, str], Quantity],
    ) -> None:
        self.raw, self.mains, self.joins, self.loads = blocks, mains, joins, loads
        self.drivers = joined.drivers(blocks)
        self.unstated_loads: list[tuple[str, str]] = []
        self.done: dict[str, Block | None] = {}
        self.open: list[str] = []
        self.troubles: list[Trouble] = []

    def block(self, name: str) -> Block | None:
        """The block of that name, worked out once; None where it is wrong (said elsewhere) or in a loop."""
        if name in self.done:
            return self.done[name]
        self.open.append(name)
        self.done[name] = self._work_out(name)
        self.open.pop()
        return self.done[name]

    def _work_out(self, name: str) -> Block | None:
        raw = self.raw[name]
        if not isinstance(raw, Mapping):
            self.troubles.append(Trouble((name,), *_no_block(name, raw)))
            return None
        kind = self._kind(name, raw)
        if kind is None:
            return None
        given = {key: entry for key, entry in raw.items() if key not in ("kind", ALSO)}
        wrong_before = len(self.troubles)
        references: dict[str, tuple[str, Quantity]] = {}
        by_name: dict[str, str] = {}
        broken = []
        for key, entry in given.items():
            try:
                self._refer(name, kind, key, entry, given, references, by_name)
            except _Broken:
                broken.append(key)
        if broken:
            self._still_read(kind, name, given, references, broken)
            return None
        extras = self._extras(name, raw.get(ALSO))
        shares = self._given_by_joins(name, kind, given, references, by_name)
        inputs, troubles = read_inputs(kind, given, references, self.mains)
        lines = inputs.given.get("parts")
        own = read_extras(lines)[0] if kind.name == NETWORK and isinstance(lines, list) else []
        for told in (twice, slips):
            troubles += told(kind.name, inputs.given, [*extras, *own], ALSO if extras else "parts")
        self.troubles += [t.under(name) for t in troubles]
        if any(trouble.severity == ERROR for trouble in self.troubles[wrong_before:]):
            return None
        sources = {key: text for key, (text, _) in references.items() if "." in text}
        block = self._block(name, kind, inputs, sources, [*extras, *own])
        if block is not None:
            block.joined, block.shares = by_name, shares
        return block

    def _refer(
        self, name: str, kind: Kind, key: str, entry: Any, given: Mapping[str, Any],
        references: dict[str, tuple[str, Quantity]], by_name: dict[str, str],
    ) -> None:  # fmt: skip
        """What a parameter takes from another block, put among the references. Raises _Broken where it cannot be had."""
        param = kind.param(key)
        if param is not None and param.units:
            text = _name_in_braces(entry)
            if isinstance(text, str) and self._is_block(name, text):
                self._named(name, kind, key, text.strip(), given, references, by_name)
            elif isinstance(text, str) and (found := self._reference(name, (key,), text)):
                references[key] = (text, found)
        elif isinstance(param, CutPoints) and isinstance(entry, Mapping):
            references |= self._cut_references(name, key, entry)

    def _is_block(self, name: str, text: str) -> bool:
        """Whether a parameter's text is the name of another block."""
        return text.strip() in self.raw and text.strip() != name

    def _named(
        self, name: str, kind: Kind, key: str, other: str, given: Mapping[str, Any],
        references: dict[str, tuple[str, Quantity]], by_name: dict[str, str],
    ) -> None:  # fmt: skip
        """A parameter that names a block alone: joined to its output, and worth what stands there. Raises _Broken."""
        block = self._giver((name, key), other, other)
        found = joined.value_of(block, key)
        if found is None:
            self._without_value((name, key), other)
        value, quantity = found
        references[key] = (f"{other}.{value}" if value else other, quantity)
        by_name[key] = other
        high = f"{key}_high"
        if kind.param(high) and high not in given and (top := joined.value_of(block, high)):
            references[high] = (f"{other}.{top[0]}" if top[0] else other, top[1])

    def _given_by_joins(
        self, name: str, kind: Kind, given: Mapping[str, Any], references: dict[str, tuple[str, Quantity]],
        by_name: dict[str, str],
    ) -> dict[str, str]:  # fmt: skip
        """What the note leaves out and a chip's pin, a join or what is joined gives. Returns the parameters that are the
        supply of another block, with that block."""
        stated = {key for key, entry in given.items() if entry not in ("", None, [], {})} | set(references)
        ends = joined.others_at(self.joins, name)
        places = [
            (joined.given_by_join(kind, stated, terminal, other.partition(".")[2]), other)
            for terminal, other in ends
        ]
        if name in self.drivers:
            places.insert(0, (joined.given_by_pin(kind, stated), self.drivers[name]))
        for parameter, place in places:
            block = self._at_other_end(parameter, place, references)
            terminal = place.partition(".")[2]
            found = joined.value_of(block, parameter) if block else None
            if block and (not found or terminal in ("in", "supply")):
                volts = self._volts_at(block, terminal)
                if volts:
                    references[parameter] = (place, replace(volts, text=place))
                    continue
            if block and found:
                references[parameter] = (f"{block.name}.{found[0]}" if found[0] else block.name, found[1])
                by_name[parameter] = block.name
        shares: dict[str, str] = {}
        for terminal, place in ends:
            parameter = joined.shared_supply(kind, stated, terminal)
            block = self._at_other_end(parameter, place, references)
            volts = joined.supply_of(block) if block else None
            if block and volts:
                references[parameter], shares[parameter] = (block.name, volts), block.name
        touched = {*joined.touched(self.raw, name), *(terminal for terminal, _place in ends)}
        switched = not touched.isdisjoint(joined.SWITCHED)
        for parameter, unit in joined.loads_left_out(kind, stated):
            if switched or joined.has_takers(self.raw, self.joins, name):
                none = joined.no_load(kind, unit, switched=switched)
                references[parameter] = ("", self.loads.get((name, parameter), none))
                self.unstated_loads.append((name, parameter))
        return shares

    def _at_other_end(
        self, parameter: str, place: str, references: Mapping[str, tuple[str, Quantity]]
    ) -> Block | None:
        """The block at the other end of a join that gives a parameter; None where it does not."""
        other = place.partition(".")[0]
        if not parameter or parameter in references or other not in self.raw or other in self.open:
            return None
        return self.block(other)

    def _extras(self, name: str, entries: Any) -> list[tuple[int, Extra]]:
        """The parts that stand under `also`, with their place in the list."""
        if entries in (None, "", []):
            return []
        if not isinstance(entries, (list, tuple)):
            entries = [entries]
        if len(entries) > MOST_EXTRAS:
            hint = f"at most {MOST_EXTRAS}"
            self.troubles.append(Trouble((name, ALSO), f"{len(entries)} further parts", hint))
            return []
        found, wrong = read_extras(entries)
        self.troubles += [Trouble((name, ALSO, place), error.what, error.hint) for place, error in wrong]
        return found

    def _cut_references(
        self, name: str, key: str, cuts: Mapping[str, Any]
    ) -> dict[str, tuple[str, Quantity]]:
        """Cut points that name another block's value, keyed "cut:trip". Raises _Broken where one cannot be had."""
        found: dict[str, tuple[str, Quantity]] = {}
        for cut, entry in cuts.items():
            if not isinstance(entry, Mapping) or len(entry) != 1:
                continue
            sort, text = next(iter(entry.items()))
            if isinstance(text, str) and (quantity := self._reference(name, (key, cut, sort), text)):
                found[f"cut:{cut}"] = (text, quantity)
        return found

    def _still_read(
        self, kind: Kind, name: str, given: dict[str, Any], references: References, broken: list[str]
    ) -> None:
        """A block whose sources are broken is not worked out, but what else is wrong in it is told all the same."""
        rest = {key: entry for key, entry in given.items() if key not in broken}
        _, troubles = read_inputs(kind, rest, references, self.mains, partial=True)
        self.troubles += [t.under(name) for t in troubles]

    def _kind(self, name: str, raw: Mapping[str, Any]) -> Kind | None:
        called = raw.get("kind", "")
        if not called:
            what = f"block {name} has no kind"
            self.troubles.append(Trouble((name,), what, "known: " + ", ".join(catalogue.names())))
            return None
        if not isinstance(called, str) or called not in catalogue.names():
            hint = catalogue.did_you_mean_kind(str(called))
            self.troubles.append(Trouble((name, "kind"), f"{str(called)[:40]}: no such kind of block", hint))
            return None
        return catalogue.kind(called)

    def _reference(self, name: str, path: tuple[str, ...], text: str) -> Quantity | None:
        """The quantity that a text names, None where it names none. Raises _Broken where it cannot be had."""
        path = (name, *path)
        match = _REFERENCE.match(text.strip())
        if not match and self._is_block(name, text):
            self._without_value(path, text.strip())
        if not match:
            return None
        other, value = match.groups()
        if other not in self.raw:
            self._refuse(path, f"{text}: no block {other}", did_you_mean(other, self.raw))
        block = self._giver(path, text, other)
        result = block.values.get(value)
        at_terminal = None if result else self._volts_at(block, value)
        if at_terminal is not None:
            return replace(at_terminal, text=text)
        if result is None:
            what = f"{text}: {block.kind.name} {other} has no value {value}"
            self._refuse(path, what, hint_for_value(block, value, place=True))
        return Quantity(result.value, result.low, result.high, result.unit, text, True)

    def _giver(self, path: tuple[str, ...], text: str, other: str) -> Block:
        """The block that a text names. Raises _Broken where it is wrong itself (said elsewhere), or in a loop."""
        if other in self.open:
            loop = " -> ".join([*self.open[self.open.index(other) :], other])
            self._refuse(path, f"{text} closes a loop: {loop}", "one of them needs a value of its own")
        block = self.block(other)
        if block is None:
            raise _Broken
        return block

    def _refuse(self, path: tuple[str, ...], what: str, hint: str) -> NoReturn:
        self.troubles.append(Trouble(path, what, hint))
        raise _Broken

    def _volts_at(self, block: Block, terminal: str) -> Quantity | None:
        """The volts at a terminal of a block; at a net of a network those of what its parts come from."""
        found = joined.stands_at(block, terminal)
        if found is not None or all(terminal not in extra.nets for _, extra in block.extras):
            return found
        for place in (net for _, extra in block.extras for net in extra.nets if "." in net):
            other, _dot, there = place.partition(".")
            giver = self.block(other) if other in self.raw and other not in self.open else None
            if giver is not None and (volts := joined.stands_at(giver, there)) is not None:
                return volts
        return None

    def _without_value(self, path: tuple[str, ...], other: str) -> NoReturn:
        """A parameter that names a block and none of its values."""
        block = None if other in self.open else self.block(other)
        values = ", ".join(f"{other}.{value}" for value in block.values) if block else ""
        hint = f"one of its values: {values}" if values else "name one of its values"
        self._refuse(path, f"{other} is a block, not a value", hint)

    def _block(
        self, name: str, kind: Kind, inputs: Inputs, sources: dict[str, str], extras: list[tuple[int, Extra]]
    ) -> Block | None:
        definitions = list(kind.values)
        for cut in inputs.cut_names:
            definitions += [replace(value, name=f"{cut}.{value.name}") for value in kind.cut_values]
        point = Point(**inputs.numbers)
        block = Block(
            name=name, kind=kind, inputs=inputs.given, point=point, axes=inputs.axes, mains=self.mains,
            definitions=tuple(definitions), sources=sources, units=inputs.units, spreads=inputs.spreads,
            cautions=kind.cautions_at(point), extras=tuple(extras), extras_key="parts" if kind.name == NETWORK else ALSO,
        )  # fmt: skip
        block = _once(block)
        try:
            _ = block.values, block.checks
        except (ArithmeticError, ValueError):
            what = f"{kind.name} {name}: these values together give no physical result"
            self.troubles.append(Trouble((name,), what, "has one of them lost its prefix, such as A for mA?"))
            return None
        block.cautions = cautions_of(block)
        return block


def _no_block(name: str, raw: Any) -> tuple[str, str]:
    """(what, hint) for something below `blocks` that is no block."""
    if raw == "":
        return f"{name}: the block is empty", "indent its kind and parameters further than its name"
    hint = "indent it below the name of its block; a block has kind: and its parameters"
    return (f"{name} is not a block", hint)


def _name_in_braces(entry: Any) -> Any:
    """`input: {supply.trough}` as in prose: YAML takes the braces for keys. The name, or the entry as it is."""
    if isinstance(entry, Mapping) and len(entry) == 1:
        ((name, nothing),) = entry.items()
        if nothing == "" and _REFERENCE.match(str(name)):
            return str(name)
    return entry


def hint_for_value(block: Block, value: str, *, place: bool = False) -> str:
    """What helps where a block has no such value: the nearest name, or what it takes to work that value out. place: a terminal
    would do as well."""
    if value in {definition.name for definition in block.definitions}:
        missing = [p.name for p in block.kind.params if not p.required and block.inputs.get(p.name) is None]
        if missing:
            return f"it needs more to be stated; not stated yet: {', '.join(missing)}"
        return "it does not exist for these parameters"
    return did_you_mean(value, [*block.values, *(block.kind.terminals if place else ())])


_MOST_KEPT = 500
_kept: dict[tuple[str, str, str, str], Block] = {}


def _once(block: Block) -> Block:
    """The same circuit is worked out and drawn once: a block with the inputs of one before it, and with the same parts
    besides, shares what that came to."""
    key = (block.kind.name, repr(block.inputs), repr(block.mains), repr(block.extras))
    before = _kept.pop(key, None)
    _kept[key] = block if before is None else before
    if len(_kept) > _MOST_KEPT:
        del _kept[next(iter(_kept))]
    if before is None:
        return block
    twin = copy.copy(before)
    twin.name, twin.sources = block.name, block.sources
    return twin
