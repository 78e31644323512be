"""Places are said in words of the trade: what stands on the board, and the parts that meet in a place."""

from __future__ import annotations

import math

import pytest
from noted import judged_note

from generator.circuit.device import Device, PlaceError
from generator.diagnosis.asking import Asked, next_readings
from generator.diagnosis.judging import Judgement
from generator.diagnosis.naming import name_of
from generator.diagnosis.readings import Meter
from generator.diagnosis.spots import cold_name, net_name, spot_name
from generator.diagnosis.suspects import suspects
from generator.diagnosis.words import next_text, tie_text
from generator.language import speaking

BOARD = """---
title: Lock clicks and does not open
date: 2026-02-02
device: {kind: lock, category: Misc}
symptoms: [does not open]
outcome: unknown
blocks:
  rail: {kind: linear-regulator, regulator: U1, input: 12 V, output: 5 V}
  chip: {kind: microcontroller, designator: U2, supply: rail, pins: [1 VDD, 2 latch -> drive, 8 GND]}
  drive: {kind: transistor-switch, base: R14 4k7, pull_down: R15 47k, transistor: Q1 hfe100 500mA 45V,
          load: RL1 400 12V, load_supply: 12 V, flyback: D6}
  supply: {kind: divider, supply: rail, upper: R1 10k 1%, lower: R2 10k 1%}
connectors: {CN1: [rail.out, rail.common]}
---
"""
PAIR = """---
title: Pump runs dry
date: 2026-02-02
device: {kind: pump, category: Misc}
symptoms: [runs dry]
outcome: unknown
blocks:
  level: {kind: divider, supply: 12 V, upper: R1 10k 1%, lower: R2 10k 1%}
readings: [{at: level.output, read: 0 V}]
---
"""


def device_of(text: str) -> tuple[Device, Judgement, list[Asked]]:
    device, judgement = judged_note(text)
    return device, judgement, next_readings(judgement, device, Meter())


# What meets where is read off the wiring above by hand.
SPOTS = {
    "CN1 pin 1": "CN1 pin 1",
    "R14": "R14",
    "drive.collector": "collector of drive (Q1, RL1, D6)",
    "drive.base": "base of drive (R14, R15)",
    "supply.output": "output of supply (R1, R2)",
    "chip.latch": "U2 pin latch (R14)",
    "rail.common": "0 V",
    "drive.load_current": "load current of drive (RL1)",
}


@pytest.mark.parametrize("text", SPOTS)
def test_a_place_is_said_with_the_parts_that_meet_there(text: str) -> None:
    device, _judgement, _asked = device_of(BOARD)
    said = spot_name(device, text)
    name, _space, parts = said.partition(" (")
    wanted, _space, wanted_parts = SPOTS[text].partition(" (")
    assert (name, set(parts.rstrip(")").split(", "))) == (
        wanted,
        set(wanted_parts.rstrip(")").split(", ")),
    ), said


# The trade's German words: common practice, no source.
@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("drive.base", "Basis von drive"),
        ("supply.tap", "Abgriff von supply"),
        ("rail.in", "Eingang von rail"),
    ],
)
def test_a_terminal_has_a_german_word(text: str, said: str) -> None:
    device, _judgement, _asked = device_of(BOARD)
    with speaking("de"):
        assert spot_name(device, text, parts=False) == said


def test_a_net_that_only_its_block_knows_goes_by_its_parts() -> None:
    device, _judgement, _asked = device_of(BOARD)
    inner = [net for net in device.members if net.rpartition(".")[2].startswith("_")]
    assert all("_" not in net_name(device, net) for net in inner)
    assert net_name(device, "drive.collector") == "collector of drive"


@pytest.mark.parametrize(
    ("blocks", "off"),
    [
        ("d: {kind: divider, supply: 5 V, upper: R1 1k, lower: R2 1k}", "supply off"),
        (
            "cells: {kind: battery-pack, cells: 4, chemistry: alkaline, capacity: 2 Ah, load: 100 mA}",
            "battery out",
        ),
        ("heat: {kind: heater, power: 1 kW, rated_voltage: 230 V, supply: 230 V}", "plug out"),
    ],
)
def test_what_is_taken_off_before_ohms_are_read(blocks: str, off: str) -> None:
    text = PAIR.replace("level: {kind: divider, supply: 12 V, upper: R1 10k 1%, lower: R2 10k 1%}", blocks)
    device, _judgement, _asked = device_of(text.replace("readings: [{at: level.output, read: 0 V}]\n", ""))
    assert cold_name(device) == off


def test_two_that_fit_alike_are_called_tied_and_the_reading_that_splits_them_is_named() -> None:
    """Nothing behind two equal resistors in series: either may be open, and only an ohmmeter across one tells which."""
    start = "level: {kind: offline-start, start_resistors: [R3 470k, R4 470k], capacitor: C5 22u 50V, start_voltage: 16 V, start_current: 20 uA}"
    text = PAIR.replace("level: {kind: divider, supply: 12 V, upper: R1 10k 1%, lower: R2 10k 1%}", start)
    device, judgement, asked = device_of(
        text.replace(
            "level.output, read: 0 V",
            "level.bus, read: 323 V}, {at: level.start_current_available, read: 0 mA",
        )
    )
    told = tie_text(judgement, asked, device)
    assert told.startswith("These readings do not tell R") and "R3 open" in told and "R4 open" in told, told
    assert "ohms of R" in next_text(asked, device)


def test_what_to_measure_next_says_what_each_reading_would_mean() -> None:
    """0 V at the tap of two equal resistors of 10 kΩ: with the supply off 20 kΩ stand across both of them where only the supply is
    dead, nothing gets through an open R1, a short of R2 leaves 10 kΩ. Two sentences, each begun once."""
    device, judgement, asked = device_of(PAIR)
    told = next_text(asked, device)
    first, second = told.split(". ", 1)
    assert first == "Measure next: the ohms of supply (R1) and 0 V, supply off"
    entries = second.removesuffix(".").split("; ")
    assert entries[0] == "Open means R1 open" and second.endswith(".")
    means = {names: reading for reading, _, names in (entry.partition(" means ") for entry in entries)}
    assert [name for name in means if "supply dead" in name and means[name].startswith("18.0 to 22.0")]
    assert means["R2 short"].startswith("9.")


def test_no_reading_below_zero_is_foretold_where_there_is_none() -> None:
    """Two resistors on a positive supply: whatever fails, between 0 V and 12 V, so that no band of a reading begins below 0."""
    device, judgement, asked = device_of(PAIR)
    bands = [
        (low, high) for own in asked for _change, _share, low, high in own.expected if not math.isnan(low)
    ]
    assert bands and all(0 <= low <= high for low, high in bands), bands
    assert {own.unit for own in asked} >= {"V", "ohm"}


def test_no_tie_where_nothing_was_read() -> None:
    device, judgement, asked = device_of(PAIR.replace("readings: [{at: level.output, read: 0 V}]\n", ""))
    assert tie_text(judgement, asked, device) == ""


# An invented diffuser's supply: what its converter, its loads and its transistor stand on has names of its own inside
FLYBACK = """---
title: Diffuser dead
date: 2026-02-02
device: {kind: diffuser, category: Misc}
symptoms: [dead]
outcome: unknown
blocks:
  front: {kind: mains-rectifier, rectifier: D1-D4 bridge, bulk: C1 6u8 400V, bleeder: R1 1M}
  main: {kind: flyback-supply, input: front, output: 12 V, load: 200 mA, turns_ratio: 8, primary_inductance: 2.2 mH, frequency: 65 kHz,
         sense: R2 2R2, transistor: Q1 700V 2A, diode: D6 100V 2A schottky, capacitor: C2 470u 16V}
  five: {kind: linear-regulator, regulator: U2, input: main, output: 5 V, load: 20 mA}
  air: {kind: bldc-motor, supply: main, winding: M1 24, pole_pairs: 2, kv: 240 rpm/V, speed: 2400 rpm, bridge: 1 ohm}
---
"""


def test_no_failure_goes_by_a_name_of_the_inside() -> None:
    """Two loads are told apart by their blocks; a leg of a transistor is called so; nothing is called by an underscore or not at all."""
    device, _ = judged_note(FLYBACK)
    names = {name_of(change) for change in suspects(device)}
    assert {"load of main high", "load of five high", "M1 open"} <= names
    assert any("drain of Q1" in name for name in names)
    assert not [name for name in names if "_" in name or name.startswith(" ")]


def test_what_is_offered_for_a_wrong_place_is_found_on_the_board() -> None:
    device, _ = judged_note(FLYBACK)
    with pytest.raises(PlaceError) as error:
        device.place("nowhere near")
    offered = error.value.hint.removeprefix("known: ").split(", ")
    assert {"Q1", "C1", "R2", "main", "five"} <= set(offered)
    assert not {"draws", "load", "converter", "supply"} & set(offered) and not [
        own for own in offered if "_" in own
    ]
