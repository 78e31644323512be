"""Every rating that somebody states is held against what the part sees, whichever part of whichever kind it is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from kind_cases import every_case

from generator.circuit import catalogue
from generator.circuit.circuit import Mains, build_block
from generator.circuit.param import Part, Parts

RATING = re.compile(r"(?<= )(\d+(?:\.\d+)?)(m?)(VAC|VDC|V|A|W)(?!\w)")
VALUES = ("zener", "led", "diac")  # their volts are no rating but what they are

# (kind, parameter, unit) of which nothing is known to hold it against, and why
NOTHING_KNOWN = {("timer-555", "capacitor", "V"): "no supply is stated"}


def lowered(entry: Any) -> Iterator[tuple[str, Any]]:
    """Each rating of a part, or of one of several, made a thousandth: (its unit, the entry)."""
    if isinstance(entry, str):
        for rating in RATING.finditer(entry):
            number, milli, unit = rating.groups()
            less = f"{float(number) / 1000:.6f}{milli}{unit}"
            yield unit, entry[: rating.start()] + less + entry[rating.end() :]
    elif isinstance(entry, list):
        for place, own in enumerate(entry):
            for unit, less in lowered(own):
                yield unit, [*entry[:place], less, *entry[place + 1 :]]


@pytest.mark.parametrize("name", catalogue.names())
def test_a_rating_that_is_far_too_low_is_told(name: str) -> None:
    """A thousandth of a rating that holds does not hold, and is told; one that is not looked at
    is told above, with the reason."""
    kind, seen, idle = catalogue.kind(name), set(), set()
    for given in [given for own, given in every_case() if own == name]:
        stated = [
            key
            for key in given
            if isinstance(parameter := kind.param(key), (Part, Parts)) and parameter.part not in VALUES
        ]
        places = [
            (key, unit, less)
            for key in stated
            for unit, less in lowered(given[key])
            if (name, key, unit) not in seen
        ]
        block, _ = build_block(name, given, Mains()) if places else (None, [])
        before = {str(check.what) for check in block.checks if not check.ok} if block else set()
        for key, unit, less in places:
            changed, _ = build_block(name, {**given, key: less}, Mains())
            told = (
                [str(c.what) for c in changed.checks if not c.ok and str(c.what) not in before]
                if changed
                else []
            )
            if told:
                seen.add((name, key, unit))
            elif changed:
                idle.add((name, key, unit))
    assert idle - seen == {place for place in NOTHING_KNOWN if place[0] == name}
