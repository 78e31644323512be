"""What an owner complains of, and where the probes go first because of it. The circuits are small enough to be seen through."""

from __future__ import annotations

from typing import Any

import pytest
import yaml

from generator.circuit.circuit import Mains
from generator.circuit.device import Device
from generator.diagnosis.asking import Asked, first_readings
from generator.diagnosis.complaints import LESS, account_of
from generator.diagnosis.probing import BEGINNING, RAIL
from generator.diagnosis.readings import Meter
from generator.finding.entry import complaints_of
from generator.finding.thesaurus import default
from generator.notes.note import parse_note
from generator.notes.whole import put_together

# An invented plate warmer: its element on the mains by a relay, which a transistor pulls from a 12 V rail; a lamp beside.
WARMER: dict[str, Any] = {
    "inlet": {"kind": "mains-inlet", "load": "100 W", "fuse": "F1 2A"},
    "supply": {"kind": "transformer-supply", "primary": "inlet", "transformer": "T1", "rectifier": "D1-D4 bridge", "secondary": "9 V",
               "regulation": "20 %", "rated_current": "300 mA", "smoothing": "C1 1000u 25V"},
    "drive": {"kind": "transistor-switch", "drive": "5 V", "base": "R4 2k2", "transistor": "Q1 hfe200 500mA 45V",
              "load": "RL1 400 12V", "load_supply": "supply", "flyback": "D5"},
    "element": {"kind": "heater", "power": "HE1 100 W", "rated_voltage": "230 V", "supply": "inlet", "contact": "RL1 5A"},
    "lamp": {"kind": "led-indicator", "supply": "supply", "resistor": "R5 1k", "forward": "LD1 red"},
}  # fmt: skip


def device_of(blocks: dict[str, Any], states: dict[str, Any] | None = None) -> Device:
    front = {
        "title": "Warmer", "date": "2026-02-02", "device": {"kind": "warmer", "category": "Small kitchen item"},
        "symptoms": ["x"], "outcome": "unknown", "blocks": blocks, **({"states": states} if states else {}),
    }  # fmt: skip
    note, problems = parse_note(f"---\n{yaml.safe_dump(front)}---\n", "warmer", "warmer.md", None, Mains())
    assert note is not None and not [p for p in problems if p.severity == "error"], problems
    return put_together(note.circuit, note.told)


def accounts(device: Device, *words: str) -> dict[tuple[str, str, str], float]:
    return dict(account_of(device, complaints_of(words, default())).shares)  # type: ignore[arg-type]


def first(device: Device, *words: str) -> list[Asked]:
    return first_readings(device, Meter(), complaints_of(words, default()))


def test_what_leaves_the_element_cold_accounts_for_a_cold_warmer() -> None:
    """The element's current passes F1, RL1's contact and HE1; the contact is closed by T1, D1-D4, Q1 with R4, and the coil. The lamp and
    its resistor carry none of it, and an open flyback diode changes nothing while a coil is held."""
    own = accounts(device_of(WARMER), "stays cold")
    for block, key, mode in (
        ("inlet", "fuse", "open"), ("element", "contact", "open"), ("element", "power", "open"),
        ("supply", "transformer", "open"), ("drive", "transistor", "open"), ("drive", "base", "open"), ("drive", "load", "open"),
    ):  # fmt: skip
        assert own[block, key, mode] == pytest.approx(1.0), (block, key)
    for block, key, mode in (
        ("lamp", "resistor", "open"), ("lamp", "forward", "open"), ("drive", "flyback", "open"), ("element", "contact", "short"),
    ):  # fmt: skip
        assert own[block, key, mode] == pytest.approx(LESS), (block, key)


def test_dead_is_said_of_all_that_a_device_does() -> None:
    """Without its fuse it neither heats nor lights; without its element it still lights, without its LED it still heats."""
    own = accounts(device_of(WARMER), "dead")
    both = own["inlet", "fuse", "open"]
    assert both == pytest.approx(1.0)
    assert LESS < own["element", "power", "open"] < both and LESS < own["lamp", "forward", "open"] < both


def test_no_light_is_the_lamp_s() -> None:
    own = accounts(device_of(WARMER), "lamp stays dark")
    assert own["lamp", "forward", "open"] == pytest.approx(1.0)
    assert own["element", "power", "open"] == pytest.approx(LESS)


@pytest.mark.parametrize("words", ["handle is broken", "makes a noise", "beeps twice"])
def test_words_that_say_nothing_of_this_kind_change_nothing(words: str) -> None:
    device = device_of(WARMER)
    account = account_of(device, complaints_of([words], default()))
    assert account.shares == {} and account.health == 1.0
    assert [own.entry for own in first(device, words)] == [
        own.entry for own in first_readings(device, Meter())
    ]


def test_an_unknown_verb_denied_says_that_it_does_not_work() -> None:
    """Not one of the thesaurus: a toy that does not kick does not do what it should."""
    assert complaints_of(["does not kick", "won't frobnicate"], default()) == ("~does-not-work",) * 2
    assert complaints_of(["speed keys do nothing"], default()) != ("~does-not-work",)


def test_it_begins_at_the_rail_or_where_something_should_conduct() -> None:
    """Common practice: with nothing read, the supply's volts or, the plug out, what should conduct; never the ohms of an LED, of a
    capacitor, or of a resistor in its circuit."""
    best = first(device_of(WARMER), "stays cold")[0].probing
    assert (best.kind, best.at) in (
        ("at", ("supply.plus",)), ("ohms", ("inlet.live", "inlet.neutral")), ("ohms", ("F1",)), ("ohms", ("HE1",)), ("ohms", ("RL1 coil",)),
    )  # fmt: skip
    from_, less, _later = BEGINNING
    assert RAIL >= from_ and less < 0.5


def test_the_state_in_which_it_should_work_comes_first() -> None:
    """The element is on in the second state only: nobody measures first while it should be off."""
    device = device_of(WARMER, {"resting": {}, "warming": {"on": ["drive"]}})
    assert account_of(device, complaints_of(["stays cold"], default())).state == "warming"
    live = next(own.entry for own in first(device, "stays cold") if own.entry["how"] == "volts")
    assert live["when"] == "warming"


def test_silence_may_come_from_what_stands_at_its_volts() -> None:
    """An open output capacitor changes no DC: the amplifier's own parts, and those before it, may silence it at any volts. Its
    pilot lamp cannot."""
    blocks = {
        "supply": {"kind": "transformer-supply", "transformer": "T1", "rectifier": "D1-D4 bridge", "secondary": "12 V",
                   "regulation": "20 %", "rated_current": "1 A", "smoothing": "C1 2200u 25V"},
        "power": {"kind": "audio-stage", "supply": "supply", "bias_upper": "R1 47k", "bias_lower": "R2 47k", "feedback": "R3 22k",
                  "gain_resistor": "R4 1k", "gain_capacitor": "C2 47u 25V", "output_capacitor": "C3 1000u 25V", "load": "LS1 8 8W"},
        "lamp": {"kind": "led-indicator", "supply": "supply", "resistor": "R5 1k", "forward": "LD1 red"},
    }  # fmt: skip
    own = accounts(device_of(blocks), "silent")
    assert own["power", "output_capacitor", "open"] == own["power", "load", "open"] == pytest.approx(1.0)
    assert own["supply", "transformer", "open"] == pytest.approx(1.0)
    assert own["lamp", "forward", "open"] == pytest.approx(LESS)


def test_what_keeps_an_element_on_accounts_for_a_warmer_that_never_stops() -> None:
    """At rest its contact is open: welded it heats all the same, and so do a transistor that is short, which holds the coil, and a
    bridge to its collector. Nothing that is open lets it heat. Measured is in the state in which it should be off."""
    device = device_of(WARMER, {"warming": {"on": ["drive"]}, "resting": {}})
    own = accounts(device, "will not switch off")
    for block, key in (("element", "contact"), ("drive", "transistor")):
        assert own[block, key, "short"] == pytest.approx(1.0), (block, key)
        assert own[block, key, "open"] == pytest.approx(LESS), (block, key)
    assert account_of(device, complaints_of(["will not switch off"], default())).state == "resting"


def test_a_device_that_is_never_off_has_nothing_to_say_of_staying_on() -> None:
    lit = {name: WARMER[name] for name in ("inlet", "supply", "lamp")}
    assert account_of(device_of(lit), complaints_of(["will not switch off"], default())).shares == {}


def test_what_blows_the_fuse_accounts_for_a_warmer_that_trips() -> None:
    """A short behind the fuse: of the element across the mains, of a diode of the bridge or of the capacitor behind it."""
    own = accounts(device_of(WARMER), "trips the breaker")
    for block, key in (("element", "power"), ("supply", "diodes"), ("supply", "smoothing")):
        assert own[block, key, "short"] == pytest.approx(1.0), (block, key)
    assert own["lamp", "forward", "short"] == own["drive", "base", "open"] == pytest.approx(LESS)


def test_what_drains_a_pack_at_rest_accounts_for_cells_that_are_soon_empty() -> None:
    """Three cells behind a transistor that is off at rest: short it lets 4.5 V through 100 ohm, and worn cells hold less. What is open
    drains nothing."""
    blocks = {
        "pack": {"kind": "battery-pack", "cells": "3", "chemistry": "alkaline", "capacity": "2 Ah"},
        "drive": {"kind": "transistor-switch", "drive": "3 V", "base": "R1 2k2", "transistor": "Q1 hfe200 500mA 45V",
                  "load": "R2 100", "load_supply": "pack"},
    }  # fmt: skip
    device = device_of(blocks, {"lit": {"on": ["drive"]}, "resting": {}})
    own = accounts(device, "battery runs down quickly")
    assert own["drive", "transistor", "short"] == pytest.approx(1.0)
    assert own["pack", "cells", "high resistance"] == pytest.approx(1.0)
    assert own["drive", "transistor", "open"] == own["drive", "load", "open"] == pytest.approx(LESS)


def test_what_leaves_a_motor_standing_accounts_for_a_fan_that_does_not_turn() -> None:
    """M1 open, or its shaft held, and nothing turns; a lamp beside it that is dark keeps no motor from turning."""
    device = device_of(
        {
            "pack": {
                "kind": "battery-pack",
                "cells": 6,
                "chemistry": "lead-acid",
                "capacity": "7 Ah",
                "load": "1 A",
            },
            "fan": {
                "kind": "dc-motor",
                "supply": "pack",
                "winding": "M1 20 ohm",
                "running_current": "150 mA",
            },
            "lamp": {"kind": "led-indicator", "supply": "pack", "resistor": "R5 1k", "forward": "LD1 red"},
        }
    )
    own = accounts(device, "does not turn")
    for mode in ("open", "stalled"):
        assert own["fan", "winding", mode] == pytest.approx(1.0), mode
    assert own["lamp", "forward", "open"] == pytest.approx(LESS)
