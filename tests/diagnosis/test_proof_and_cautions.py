"""Tests after a repair against their limits; cautions that appear by themselves."""

from __future__ import annotations

import pytest

from generator.circuit import catalogue
from generator.circuit.circuit import Mains, build_block
from generator.diagnosis.cautions import CAUTIONS, cautions_for
from generator.diagnosis.proof import EXPECTED, LIMITS, judge_proof, missing_proof
from generator.diagnosis.proof import test_name as named
from generator.notes.record import Proof

# Limits of EN 50678 / VDE 0701 as commonly quoted, from memory: protective conductor 0.3 ohm up to 5 m of cable;
# insulation 1 Mohm in class I, 2 Mohm in class II, 0.25 Mohm in class III; protective conductor current 3.5 mA; touch
# current 0.5 mA.
QUOTED = [
    ("earth continuity", "I", "0.30 ohm", "0.31 ohm"), ("insulation", "I", "1 Mohm", "0.99 Mohm"),
    ("insulation", "II", "2 Mohm", "1.9 Mohm"), ("insulation", "III", "0.25 Mohm", "0.24 Mohm"),
    ("protective conductor current", "I", "3.5 mA", "3.6 mA"), ("touch current", "II", "0.5 mA", "0.51 mA"),
]  # fmt: skip


@pytest.mark.parametrize("test, protection, holds, fails", QUOTED)
def test_limits_as_commonly_quoted(test: str, protection: str, holds: str, fails: str) -> None:
    """On the limit it holds, just beyond it fails; limit and source stand beside it, marked as from memory."""
    good, bad = judge_proof([Proof(test, holds), Proof(test, fails)], protection)
    assert (good.verdict, bad.verdict) == ("holds", "fails")
    assert good.limit and "EN 50678" in good.source and "from memory" in good.source


@pytest.mark.parametrize(
    "read, verdict",
    [
        ("> 200 Mohm", "holds"),
        ("open", "holds"),
        ("OL", "holds"),
        ("passed", ""),
        ("", ""),
        ("12 V", ""),
        (">200 Mohm", "holds"),
        ("≥ 2 Mohm", "holds"),
        ("< 20 Mohm", "fails"),
        ("<1 Mohm", "fails"),
        ("0L", "holds"),
        ("200 megohms at 500 V", "holds"),
        ("0.05 Mohm (cold)", "fails"),
        ("about 5 Mohm", "holds"),
        ("short", "fails"),
    ],
)
def test_insulation_in_the_ways_it_is_written(read: str, verdict: str) -> None:
    assert judge_proof([Proof("insulation", read)], "II")[0].verdict == verdict


@pytest.mark.parametrize(("test", "read", "verdict"), [
    ("insulation", "0.05 Mohm", "fails"), ("insulation", "0.5 Mohm", ""), ("insulation", "200 Mohm", ""), ("insulation", "passed", ""),
    ("earth continuity", "2.5 ohm", "fails"), ("touch current", "2 mA", "fails"), ("touch current", "0.1 mA", ""), ("function", "ran", ""),
])  # fmt: skip
def test_without_a_class_what_fails_in_every_class_fails(test: str, read: str, verdict: str) -> None:
    """The loosest limits of those quoted above: insulation 0.25 Mohm in class III, earth continuity 0.3 ohm, touch current 0.5 mA."""
    assert judge_proof([Proof(test, read)], "")[0].verdict == verdict


@pytest.mark.parametrize(
    "test, read",
    [
        ("earth continuity", "0.2..0.4 ohm"),
        ("earth continuity", "> 0.1 ohm"),
        ("earth continuity", "open"),
        ("touch current", "> 0.1 mA"),
        ("touch current", "OL"),
        ("earth continuity", "0.29 ohm 10%"),
        ("insulation", "0.8..5 Mohm"),
    ],
)
def test_what_may_be_beyond_the_limit_fails(test: str, read: str) -> None:
    """A reading with a spread is held to the limit at its bad end."""
    assert judge_proof([Proof(test, read)], "I")[0].verdict == "fails"


def test_an_open_protective_conductor_fails() -> None:
    assert judge_proof([Proof("earth continuity", "open")], "I")[0].verdict == "fails"


@pytest.mark.parametrize(
    "test, protection",
    [("earth continuity", "II"), ("function", "I"), ("touch current", "III"), ("smell", "I")],
)
def test_where_there_is_no_limit_nothing_is_judged(test: str, protection: str) -> None:
    found = judge_proof([Proof(test, "1")], protection)[0]
    assert (found.limit, found.source, found.verdict) == ("", "", "")


@pytest.mark.parametrize(
    "text, name",
    [("Insulation resistance", "insulation"), ("PE resistance", "earth continuity"), ("earth leakage", "protective conductor current"),
     ("touch current", "touch current"), ("Schutzleiter", "earth continuity"), ("ran for 3 h", ""), ("functional test", "function")],
)  # fmt: skip
def test_tests_by_their_names(text: str, name: str) -> None:
    assert named(text) == name


def test_a_mended_mains_device_without_proof_says_so() -> None:
    text = missing_proof([], "II", True, "fixed")
    assert "no recorded tests" in text and "competent person" in text and "local codes" in text


@pytest.mark.parametrize(
    "mains, outcome", [(False, "fixed"), (True, "end of life"), (True, "repairable"), (True, "unknown")]
)
def test_nothing_is_asked_of_what_does_not_go_home_on_the_mains(mains: bool, outcome: str) -> None:
    assert missing_proof([], "II", mains, outcome) == ""


def test_tests_that_lack_are_named() -> None:
    text = missing_proof([Proof("function", "ran 3 h")], "I", True, "fixed")
    assert "earth continuity" in text and "insulation" in text and "function" not in text
    assert missing_proof([Proof(test, "1") for test in EXPECTED["I"]], "I", True, "fixed") == ""


def test_every_limit_is_of_a_known_test() -> None:
    assert all(named(test) == test for test in LIMITS)


# --- cautions ---------------------------------------------------------------------------------------------------------


def keys(*blocks: tuple[str, ...], words: str = "", volts: float | None = None) -> list[str]:
    return [c.key for c in cautions_for(blocks, words, volts)]


def test_cautions_come_from_the_blocks_once_and_in_a_fixed_order() -> None:
    assert keys(("charge", "mains"), ("mains",), ("lithium",)) == ["mains", "charge", "lithium"]
    assert keys() == []


@pytest.mark.parametrize("kind, parameters, expected", [
    ("led-indicator", {"supply": "230 V", "resistor": "R1 47k 1W"}, ("voltage",)),
    ("led-indicator", {"supply": "60 V", "resistor": "R1 47k"}, ()),
    ("optocoupler", {"input_supply": "12 V", "input_resistor": "1k", "ctr": "80 %", "output_supply": "325 V", "pull_up": "1M"}, ("voltage",)),
    ("feedback-divider", {"reference": "2.5 V", "upper": "390k", "lower": "10k"}, ("voltage",)),
    ("battery-pack", {"cells": "17", "chemistry": "li-ion", "capacity": "10 Ah", "load": "5 A"}, ("voltage", "lithium")),
    ("triac-switch", {"load": "45 W", "triac": "TR1"}, ("mains",)),
    ("lithium-charger", {"input": "5 V", "battery": "3.7 V", "resistance": "120 mohm", "program": "R2 1k2", "program_factor": "1000 V"}, ("lithium",)),
    ("boost-converter", {"input": "3 V", "output": "300 V", "load": "5 mA", "inductor": "10u", "frequency": "50 kHz", "capacitor": "C1 120u 330V"}, ("voltage", "charge")),
    ("boost-converter", {"input": "12 V", "output": "70 V", "load": "5 mA", "inductor": "100u", "frequency": "50 kHz", "capacitor": "C1 470n 100V"}, ("voltage",)),
    ("solenoid", {"supply": "24 V", "feed": "ac", "winding": "28 ohm"}, ()),
    ("induction-motor", {"main": "410 ohm"}, ("mains",)),
    ("induction-motor", {"main": "32 ohm", "auxiliary": "48 ohm", "capacitor": "C1 6u 450V"}, ("mains", "charge")),
])  # fmt: skip
def test_what_stands_above_extra_low_voltage_calls_for_a_caution(
    kind: str, parameters: dict[str, str], expected: tuple[str, ...]
) -> None:
    """Whatever kind of block it is, by what is stated (230 V) or comes out (100 V from 2.5 V·40; 17 cells of 4.2 V full).
    The 1000 V of a charger's data sheet, divided by an ohm, are its current (R2's 833 mA): nobody can touch them.

    60 V DC and 50 V AC are the limits of extra-low voltage (IEC 61140), 45 uC that of a charge behind more (IEC 61010-1),
    both from memory: a flash's 120 uF at 300 V hold 36 mC, 470 nF at 70 V 33 uC.
    """
    block, troubles = build_block(kind, parameters, Mains())
    assert block is not None, troubles
    assert block.cautions == expected


def test_the_mains_caution_says_what_that_of_dangerous_voltage_says() -> None:
    assert keys(("voltage",), ("mains",)) == ["mains"] and keys(("voltage", "charge")) == [
        "voltage",
        "charge",
    ]


@pytest.mark.parametrize("words", ["Microwave oven", "combi Mikrowelle", "four micro-ondes"])
def test_a_microwave_oven_is_no_job_for_a_repair_table(words: str) -> None:
    """Its own caution first, with mains and stored charge, whatever blocks the note has."""
    found = cautions_for([], words, None)
    assert [c.key for c in found][:3] == ["microwave", "mains", "charge"]
    assert "lethal" in found[0].words and "leave it closed" in found[0].words


@pytest.mark.parametrize(
    "words, key",
    [("cordless drill", "lithium"), ("egg incubator", "heat"), ("toaster", "heat"), ("e-bike", "lithium")],
)
def test_cautions_from_what_people_call_it(words: str, key: str) -> None:
    assert key in keys(words=words)


def test_the_plate_makes_a_mains_device() -> None:
    """The lowest mains in use is 100 V (Japan; IEC 60038), and 48 V is extra-low voltage (IEC 61140: up to 50 V AC)."""
    assert keys(volts=230.0) == ["mains"] and keys(volts=100.0) == ["mains"] and keys(volts=48.0) == []


@pytest.mark.parametrize(
    "words", ["environment sensor", "headphones", "woven basket", "hobby kit", "gaslighter"]
)
def test_a_word_inside_another_is_no_caution(words: str) -> None:
    assert keys(words=words) == []


def test_cautions_are_sentences() -> None:
    """Every caution has a title and says what to do or to leave."""
    assert all(c.title and c.words.endswith(".") for c in CAUTIONS.values())


@pytest.mark.parametrize("name", catalogue.names())
def test_a_hazardous_reading_is_in_a_block_with_its_caution(name: str) -> None:
    """A value at mains potential needs the mains caution, one at a charged part that of stored charge."""
    kind = catalogue.kind(name)
    block, troubles = build_block(name, dict(kind.example), Mains())
    assert block is not None, troubles
    for definition in block.definitions:
        if definition.hazard:
            assert {"mains": "mains", "charged": "charge"}[definition.hazard] in block.cautions, (
                definition.name
            )
