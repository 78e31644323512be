"""One designator, one part: what a block gives the same designator twice; and words of its parts that look like slips."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from generator.circuit.extras import Extra
from generator.notation.parts import Part
from generator.notation.slips import meant_by
from generator.problems import WARNING, Trouble

Path = tuple[str | int, ...]
SHARED = frozenset({"chip", "any"})  # of which several gates or amplifiers stand in one case


_OF_RELAY = re.compile(r"((?:RL|K)\d+)(?:[A-Z]|[./-]\d)")


def relay_of(contact: str) -> str:
    """The relay that a contact is one of, by its designator: RL1A, RL1.2 and K1/3 are of RL1 and K1. "" for others."""
    found = _OF_RELAY.fullmatch(contact)
    return found[1] if found else ""


def twice(
    kind: str, inputs: Mapping[str, Any], extras: Iterable[tuple[int, Extra]], key: str
) -> list[Trouble]:
    """An error at each of two parts of a block with one designator, that names the other; paths start at the parameter. key:
    under which the extra parts stand. A relay's coil and its contact are one part, as are the units of one chip."""
    first: dict[str, tuple[Path, Part]] = {}
    found = []
    for path, part in [*_stated(inputs), *(((key, position), extra.part) for position, extra in extras)]:
        before = first.setdefault(part.designator, (path, part))
        if not part.designator or before[0] == path:
            continue
        if not (before[0][0] == path[0] == key) and _one_part(before[1], part):
            continue  # two extra parts go by their names alone
        for own, (place, other) in ((path, before), (before[0], (path, part))):
            text = " ".join(other.text.split())[:40]
            what = f"{kind} {own[0]}: {part.designator} is {text or other.part_class} at {place[0]}, too"
            hint = (
                f"a designator names one part; two in one case are {part.designator}A and {part.designator}B"
            )
            found.append(Trouble(own, what, hint))
    return found


def slips(
    kind: str, inputs: Mapping[str, Any], extras: Iterable[tuple[int, Extra]], key: str
) -> list[Trouble]:
    """A warning for each word of a part that says nothing, and would but for a letter or two. key: as in twice()."""
    return [
        Trouble(path, f"{kind} {path[0]}: {word} says nothing here", f"did you mean {meant}?", WARNING)
        for path, part in [*_stated(inputs), *(((key, position), extra.part) for position, extra in extras)]
        for word in part.words
        if (meant := meant_by(word))
    ]


def _stated(inputs: Mapping[str, Any]) -> Iterator[tuple[Path, Part]]:
    for name, given in inputs.items():
        if isinstance(given, Part):
            yield (name,), given
        elif isinstance(given, (list, tuple)):
            yield from (((name, n), part) for n, part in enumerate(given) if isinstance(part, Part))


def _one_part(one: Part, other: Part) -> bool:
    classes = {one.part_class, other.part_class}
    if one.part_class == other.part_class:
        return one.part_class in SHARED
    return bool(classes & SHARED) or "coil" in classes and bool(classes & {"contact", "switch"})
