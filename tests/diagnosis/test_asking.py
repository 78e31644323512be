"""What is proposed to be measured next, on devices small enough to be worked out by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest
import yaml
from noted import judged_note

from generator.circuit.circuit import Mains
from generator.circuit.device import Device
from generator.diagnosis.asking import Asked, first_readings, next_readings
from generator.diagnosis.hypotheses import Change
from generator.diagnosis.judging import judge
from generator.diagnosis.probing import MAINS, probings
from generator.diagnosis.readings import Meter
from generator.diagnosis.taking import sought_of
from generator.notes.note import parse_note
from generator.notes.reading import Reading
from generator.notes.whole import put_together

# An invented warmer: the element on the mains by a relay, which a transistor pulls from a 12 V supply.
WARMER: dict[str, Any] = {
    "title": "Warmer stays cold", "date": "2026-02-02", "device": {"kind": "warmer", "category": "Small kitchen item"},
    "symptoms": ["stays cold"], "outcome": "unknown",
    "states": {"warming": {"on": ["drive"]}, "resting": {}},
    "blocks": {
        "inlet": {"kind": "mains-inlet", "load": "100 W", "fuse": "F1 2A"},
        "rail": {"kind": "divider", "supply": "12 V", "upper": "R1 10k", "lower": "R2 10k", "series": "R3 1k"},
        "drive": {
            "kind": "transistor-switch", "drive": "5 V", "base": "R4 4k7", "transistor": "Q1 hfe200 500mA 45V",
            "load": "RL1 400 12V", "load_supply": "12 V", "flyback": "D1",
        },
        "element": {"kind": "heater", "power": "HE1 100 W", "rated_voltage": "230 V", "supply": "inlet", "contact": "RL1 5A"},
    },
    "test_points": {"TP1": "rail.tap"}, "connectors": {"CN1": ["rail.pin", "rail.common", "drive.collector"]},
}  # fmt: skip


def device_of(front: dict[str, Any], *readings: dict[str, Any]) -> tuple[Device, tuple[Reading, ...]]:
    text = f"---\n{yaml.safe_dump({**front, 'readings': list(readings)})}---\n"
    note, problems = parse_note(text, "warmer", "warmer.md", None, Mains())
    assert note is not None and not [p for p in problems if p.severity == "error"], problems
    return put_together(note.circuit, note.told), note.measured


def asked(front: dict[str, Any], *readings: dict[str, Any]) -> list[Asked]:
    device, measured = device_of(front, *readings)
    meter = Meter()
    return next_readings(judge(device, measured, meter), device, meter)


def shown(own: Asked, part: str, failed: str) -> tuple[float, float]:
    return next(
        (low, high) for change, _, low, high in own.expected if (change.called, change.mode) == (part, failed)
    )


DIVIDER = {
    **{k: v for k, v in WARMER.items() if k not in ("states", "connectors")},
    "blocks": {"rail": {"kind": "divider", "supply": "12 V", "upper": "R1 10k", "lower": "R2 10k"}},
}


def test_every_place_is_one_that_a_note_accepts() -> None:
    """The text of each, read back as a note's reading, is the same place measured the same way."""
    device, _ = device_of(WARMER)
    found = probings(device)
    assert {own.kind for own in found} == {"at", "across", "ohms", "diode"}
    for own in found:
        given: dict[str, Any] = {"when": own.sought.state}
        given[own.kind] = own.at[0] if own.kind == "at" else own.at
        back = sought_of(device, Reading("", "", "1", **given))
        assert (back.place.plus, back.place.minus) == (own.sought.place.plus, own.sought.place.minus), own
        assert back.how == own.sought.how


def test_a_net_is_called_as_it_is_found_on_the_board() -> None:
    """A test point before a pin, a pin before block.terminal; a relay's coil and contact are two places."""
    device, _ = device_of(WARMER)
    names = {own.at[0] for own in probings(device)}
    assert {"TP1", "CN1 pin 1", "CN1 pin 3", "RL1 coil", "RL1 contact"} <= names
    assert not names & {"rail.tap", "drive.collector", "rail.common", "CN1 pin 2", "RL1"}


def test_nothing_that_needs_more_than_two_probes() -> None:
    """No current, which takes cutting a track, and no value that only a formula gives."""
    device, _ = device_of(WARMER)
    assert {own.sought.how for own in probings(device)} <= {"volts", "rail", "ohms", "diode"}


def test_mains_comes_last() -> None:
    device, _ = device_of(WARMER)
    hazardous = [own for own in probings(device) if own.hazard]
    assert {own.at[0] for own in hazardous} >= {"inlet.live", "HE1"}
    assert all(own.ease <= MAINS for own in hazardous) and all(own.sought.how == "volts" for own in hazardous)
    assert not [own for own in probings(device) if own.at[0] == "TP1" and own.hazard]


def test_half_a_divider_at_0_volts_is_asked_with_the_plug_out() -> None:
    """12 V over 10k and 10k, the tap at 0 V: R1 open or R2 short. Unplugged, R2 by itself is 10k in the first case (the source
    is open then) and 0 in the second (Ohm); that tells them apart, so the plug need not go in."""
    found = asked(DIVIDER, {"at": "TP1", "read": "0 V"})
    best = found[0]
    assert best.entry["how"] == "ohms" and "when" not in best.entry
    two = next(own for own in found if own.entry.get("ohms") in ("R2", ["TP1", "rail.common"]))
    low, high = shown(two, "R1", "open")
    assert low <= 10_000 <= high and high < 12_000
    low, high = shown(two, "R2", "short")
    assert low == 0 and high < 100


def test_what_has_been_read_is_not_asked_again() -> None:
    first = asked(DIVIDER, {"at": "TP1", "read": "0 V"})[0]
    given = {key: value for key, value in first.entry.items() if key not in ("how", "unit")}
    again = asked(DIVIDER, {"at": "TP1", "read": "0 V"}, {**given, "read": "10k"})
    assert first.probing.key not in [own.probing.key for own in again]
    assert ("at", ("TP1",)) not in [(own.probing.kind, own.probing.at) for own in [*again, first]]


def test_a_cold_element_is_asked_by_the_ohmmeter() -> None:
    """0 V AC across the element: fuse, relay, its drive. 230² / 100 = 529 ohm for the element in every one of them; what tells
    them apart is measured with the plug out first."""
    found = asked(WARMER, {"across": "HE1", "read": "0 V AC"})
    assert found[0].entry["how"] in ("ohms", "diode") or not found[0].probing.hazard


def test_the_best_come_first_and_say_what_each_failure_would_show() -> None:
    found = asked(WARMER, {"at": "CN1 pin 3", "read": "12 V"})
    assert [own.gain for own in found] == sorted((own.gain for own in found), reverse=True)
    changes = [change for change, *_ in found[0].expected]
    assert len(changes) == len({change.group for change in changes}) > 1
    assert all(isinstance(change, Change) for change in changes)


def test_before_any_reading_there_is_a_first_one() -> None:
    device, measured = device_of(WARMER)
    meter = Meter()
    first = next_readings(judge(device, measured, meter), device, meter)
    assert first and [own.entry for own in first] == [own.entry for own in first_readings(device, meter)]


def test_what_is_known_asks_for_nothing_that_is_no_use() -> None:
    """Every proposal is expected to bring something; a board with one part has nothing to tell apart by a second reading."""
    assert all(own.gain > 0 for own in asked(WARMER, {"ohms": "HE1", "read": "open"}))


@pytest.mark.parametrize("part", ["R1", "R2"])
def test_a_resistor_measured_open_leaves_no_doubt_about_it(part: str) -> None:
    found = asked(
        DIVIDER, {"ohms": part, "read": "open"}, {"at": "TP1", "read": "0 V" if part == "R1" else "12 V"}
    )
    assert not found or found[0].gain < 0.7


@pytest.mark.parametrize(
    ("sort", "ends"), [("npn", ("CN1 pin 1", "CN1 pin 2")), ("pnp", ("CN1 pin 2", "CN1 pin 1"))]
)
def test_a_transistor_is_tried_from_base_to_emitter(sort: str, ends: tuple[str, str]) -> None:
    """The red lead is on what is p-doped, the base of an npn transistor, the emitter of a pnp one. (Textbooks, from memory.)

    Q9's base is at pin 1, its emitter at pin 2; the base of Q1 lies at the terminal of its block, its emitter at pin 2.
    """
    rail = {**WARMER["blocks"]["rail"], "also": [f"Q9 {sort} hfe100 from pin tap common"]}
    device, _ = device_of({**WARMER, "blocks": {**WARMER["blocks"], "rail": rail}})
    assert {own.at for own in probings(device) if own.how == "diode"} == {
        ends, ("drive.base", "CN1 pin 2"), ("D1",),
    }  # fmt: skip


SUPPLY = """---
title: Radio hums
date: 2026-11-30
device: {kind: radio, category: Portable radio}
symptoms: [hums]
outcome: unknown
blocks:
  supply: {kind: transformer-supply, transformer: T1, secondary: 12 V, smoothing: C3 1000u 35V 20%, load: 120 mA}
test_points: {TP1: supply.plus}
READINGS---
"""


def test_a_ripple_is_asked_where_a_meter_shows_it() -> None:
    """A meter's AC range at the rail shows the RMS of a sawtooth, its height by 2·√3 (textbooks); the height takes an
    oscilloscope. A note takes the reading as it is asked, and then it is not asked again."""
    device, judgement = judged_note(SUPPLY.replace("READINGS", ""))
    asked_first = next_readings(judgement, device, Meter())
    own = next(own for own in asked_first if own.entry["unit"] == "V AC")
    assert own.entry["at"] == "TP1"
    (height,) = [v for v in [device.blocks["supply"].values["ripple"]] if v.value]
    low, high = next((low, high) for change, _, low, high in own.expected if change.sound)
    assert low < height.value / (2 * math.sqrt(3)) < high
    device, judgement = judged_note(SUPPLY.replace("READINGS", "readings: [{at: TP1, read: 0.2 V AC}]\n"))
    assert not judgement.judged[0].taken.trouble
    assert own.probing.key not in [again.probing.key for again in next_readings(judgement, device, Meter())]


LEAKING = """---
title: Clock radio is dead
date: 2026-11-30
device: {kind: clock radio, category: Portable radio}
symptoms: [dead]
outcome: unknown
blocks:
  low: {kind: zener-regulator, supply: 12 V, series: R1 1k, zener: ZD1 5V1 400mW, also: [C2 100u 10V from out to common]}
test_points: {TP1: low.out}
readings: [{at: TP1, read: 2.4 V}, {ohms: ZD1, read: 250 ohm}READINGS]
---
"""


def test_a_leg_is_lifted_where_nothing_else_tells() -> None:
    """250 ohm below 1 k from 12 V are 2.4 V, whether the zener leaks, the capacitor beside it, or a bridge of solder: with a
    leg of one lifted that one shows its leak or nothing. A note takes that reading, and it decides."""
    device, judgement = judged_note(LEAKING.replace("READINGS", ""))
    leaks = {fit.change.called for fit in judgement.fits if fit.share > 0.02}
    assert leaks >= {"ZD1", "C2"}
    asked_next = next_readings(judgement, device, Meter())
    own = next(own for own in asked_next if own.entry.get("ohms") in ("ZD1 lifted", "C2 lifted"))
    part = str(own.entry["ohms"]).split()[0]
    other = {"ZD1": "C2", "C2": "ZD1"}[part]
    low, high = shown(own, part, "leaky")
    assert 200 < low < high < 300  # the leak's size is known to some tenth
    assert shown(own, other, "leaky") == (math.inf, math.inf)
    assert all(first.gain >= own.gain for first in asked_next[: asked_next.index(own)])
    for read, leaks_now in (("250 ohm", part), ("OL", other)):
        _, judgement = judged_note(LEAKING.replace("READINGS", f", {{ohms: {part} lifted, read: {read}}}"))
        assert not judgement.judged[2].taken.trouble
        best = next(fit for fit in judgement.fits if fit.change.mode != "bridge")
        assert best.change.called == leaks_now, read


def test_what_is_lifted_is_read_in_ohms() -> None:
    for reading in ("{across: R1 lifted, read: 3 V}", "{diode: ZD1 lifted, read: 0.6 V}"):
        _, judgement = judged_note(LEAKING.replace("READINGS", f", {reading}"))
        assert "read in ohms" in judgement.judged[2].taken.trouble


def test_only_what_stands_on_a_board_is_a_place_for_probes() -> None:
    """A stated load is no part; a heating element without a designator is one, between its contact and the neutral."""
    device, _ = judged_note(SUPPLY.replace("READINGS", ""))
    assert "load" in device.parts and not [own for own in probings(device) if "load" in own.at]
    element = {**WARMER["blocks"]["element"], "power": "100 W"}
    blocks = {name: block for name, block in WARMER["blocks"].items() if name != "element"}
    device, _ = device_of({**WARMER, "blocks": {**blocks, "plate": element}})
    assert [own for own in probings(device) if own.kind == "ohms" and own.at == ("element",)]


def test_what_only_stops_a_converter_is_no_place_for_a_meter() -> None:
    """The clamp of a flyback supply lies across its primary (any flyback's circuit): open or shorted, the converter stops, and an
    ohmmeter across it shows the winding, which says nothing of it."""
    front = {
        **{k: v for k, v in WARMER.items() if k not in ("states", "connectors", "test_points")},
        "blocks": {
            "main": {
                "kind": "flyback-supply", "input": "325 V", "output": "12 V", "turns_ratio": "8", "primary_inductance": "2.2 mH",
                "frequency": "65 kHz", "load": "0.5 A", "transistor": "Q1 700V 2A", "clamp": "D5 150V", "diode": "D6 100V 2A",
            }
        },
    }  # fmt: skip
    device, _ = device_of(front)
    assert not any("D5" in own.at for own in probings(device))
    (own,) = judge(device, [Reading("", "", "0.5 ohm", ohms=("D5",))], Meter()).judged
    assert "not what a meter shows" in own.taken.trouble and own.verdict is None
