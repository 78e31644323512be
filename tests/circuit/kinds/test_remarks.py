"""What a failure does, in words, where that depends on how the block is made: read off the circuit by hand, common practice."""

from __future__ import annotations

from typing import Any

import pytest
from bench import made

from generator.circuit import catalogue


def remark(kind: str, changes: dict[str, Any], key: str, mode: str) -> str:
    given = {
        name: entry for name, entry in {**catalogue.kind(kind).example, **changes}.items() if entry != ""
    }
    found = [own.remark for own in made(kind, **given).failures if (own.key, own.failed) == (key, mode)]
    assert len(found) == 1, (kind, key, mode)
    return str(found[0])


@pytest.mark.parametrize(("kind", "changes", "key", "mode", "says"), [
    ("battery-pack", {}, "cell", "open", "no current at all"), ("battery-pack", {}, "cell", "short", "never charge it"),
    ("battery-pack", {"chemistry": "alkaline"}, "cell", "short", "one cell's voltage is missing"), ("battery-pack", {"chemistry": "alkaline"}, "cell", "open", "no current at all"),
    ("feedback-divider", {"reference_across": "lower"}, "lower", "open", "falls to about the reference"),
    ("key-ladder", {"ladder": "series"}, "keys_1", "open", "this key and those beyond it are dead"), ("key-ladder", {"ladder": "separate"}, "keys_1", "open", "this key is dead"),
    ("key-ladder", {"ladder": "series"}, "keys_1", "high", "this key and those beyond it are read as others"), ("key-ladder", {"ladder": "separate"}, "keys_1", "high", "this key is read as another"),
    ("key-ladder", {"ladder": "series"}, "key_1", "short", "those beyond it are bridged"), ("key-ladder", {"ladder": "separate"}, "key_1", "short", "read as pressed all the time"),
    ("key-ladder", {"ladder": "series"}, "key_1", "open", "this key is dead"),
    ("led-string", {"strings": "1"}, "leds", "open", "the whole string stays dark"), ("led-string", {"strings": "3"}, "leds", "open", "one string stays dark"),
    ("lithium-charger", {"cells": "1"}, "cell", "short", "nothing to charge"),
    ("mains-rectifier", {"rectifier": "bridge"}, "diodes", "open", "half-wave: every second crest is missing"), ("mains-rectifier", {"rectifier": "half-wave"}, "diodes", "open", "nothing reaches the capacitor"),
    ("mains-rectifier", {"rectifier": "doubler"}, "diodes", "open", "half of it gets no charge"), ("mains-rectifier", {"rectifier": "doubler"}, "bulk", "open", "one of the two"),
    ("mosfet-switch", {"pull_down": ""}, "gate", "open", "the gate floats"),
    ("rc-delay", {"direction": "charge"}, "capacitor", "short", "the voltage stays at 0"), ("rc-delay", {"direction": "discharge"}, "capacitor", "short", "shorts the supply while it is meant to fill"),
    ("rc-delay", {}, "resistor", "open", "nothing but leakage moves the capacitor"), ("rc-delay", {}, "capacitor", "open", "stray capacitance"), ("rc-delay", {}, "resistor", "high", ""),
    ("timer-555", {"mode": "astable"}, "chip", "open", "the output is dead"), ("timer-555", {"mode": "astable"}, "chip", "short", "pulls its supply down"),
    ("timer-555", {"mode": "astable"}, "ra", "open", "the output stays high"), ("timer-555", {"mode": "astable"}, "rb", "open", "the output stays high"),
    ("timer-555", {"mode": "astable"}, "capacitor", "short", "the output stays high"), ("timer-555", {"mode": "monostable", "rb": ""}, "ra", "open", "once triggered, the output stays high"),
    ("timer-555", {"mode": "monostable", "rb": ""}, "capacitor", "short", "once triggered, the output stays high"), ("timer-555", {"mode": "astable"}, "capacitor", "open", "as fast as the chip can"),
    ("triac-switch", {}, "triac", "open", "only what leaks through the snubber"), ("triac-switch", {"snubber_resistor": "", "snubber_capacitor": ""}, "triac", "open", "the load never comes on"),
    ("triac-switch", {"snubber_resistor": ""}, "snubber_capacitor", "short", "bridges the triac"),
])  # fmt: skip
def test_what_a_failure_does_where_it_depends(
    kind: str, changes: dict[str, Any], key: str, mode: str, says: str
) -> None:
    told = remark(kind, changes, key, mode)
    assert says in told if says else told == "", told


def test_what_a_divider_across_the_output_does_depends_on_where_the_reference_stands() -> None:
    """The chip holds the reference across one resistor; where the other one opens, it sees nothing of the output and raises it to
    all there is. Where the one with the reference opens, the output stands at the reference (application notes)."""
    for across, other in (("lower", "upper"), ("upper", "lower")):
        rises = {
            key: "rises to its input" in remark("feedback-divider", {"reference_across": across}, key, "open")
            for key in ("upper", "lower")
        }
        assert rises == {other: True, across: False}
        assert "rises with it" in remark("feedback-divider", {"reference_across": across}, other, "high")
