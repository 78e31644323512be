"""A note as a whole: the example of the format reads well, and every mistake has its message and place."""

from __future__ import annotations

import datetime
import pickle
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from generator.circuit.circuit import Mains
from generator.notation.quantity import accuracy_of
from generator.notes.note import Note, parse_note, read_note
from generator.notes.reading import Reading
from generator.notes.record import Board, Device, Fault, Fitted, Mark, Plate, Proof, Signal
from generator.notes.standard import BARRIERS, CATEGORIES, OUTCOMES
from generator.problems import Problem

Read = Callable[[str], tuple[Note | None, list[Problem]]]
Told = Callable[[str], list[str]]

SUPPLY = "blocks:\n  supply: {kind: transformer-supply, secondary: 12 V, smoothing: C3 1000u 35V}\n"  # lines 6 and 7


def good(read: Read, text: str) -> Note:
    note, problems = read(text)
    assert [str(problem) for problem in problems] == []
    assert note is not None
    return note


# --- the example


def test_the_example_of_the_format_reads_well(read: Read, example: str) -> None:
    note, problems = read(example)
    assert note is not None
    # The example shows the key barrier though its outcome is fixed; that is remarked upon and stops nothing.
    assert [str(problem) for problem in problems] == [
        "n.md:15:1: warning: barrier: counts only with outcome: end of life; it is left out"
    ]
    assert (note.title, note.date) == ("Proofing box stays stone cold", datetime.date(2026, 3, 14))
    plate = Plate(supply="230 V", power="180 W", protection="II")
    assert note.device == Device(
        "dough proofing box", "Small kitchen item", "Ferrowick", "DP-20", 2017, plate
    )
    assert note.symptoms == ("stays cold", "red lamp blinks twice")
    assert (note.outcome, note.barrier, note.time) == ("fixed", "", "90 min")
    assert note.readings == (
        Reading(
            "supply",
            "no_load_peak",
            "17.4 V",
            note="nothing plugged in",
            path=("readings", 0),
            at="supply.no_load_peak",
        ),
        Reading("sensor", "resistance_25", "open", path=("readings", 1), at="sensor.resistance_25"),
    )
    assert note.faults == (
        Fault("TH1", "open", "condensation crept down the lead", "ohmmeter across the sensor plug",
              "cut back to bright copper, re-terminated, sleeved"),
    )  # fmt: skip
    assert note.signals == (Signal("red lamp blinks twice", "sensor open or short", "mains off and on"),)
    assert note.fitted == (Fitted("TH1", "100k B3950 bead on sleeved leads", Decimal("1.20")),)
    assert note.proof[1] == Proof("touch current", "0.05 mA")
    assert note.blocks["sensor"]["cut_points"] == {
        "heat off": {"temperature": "38 C"}, "clicked off": {"resistance": "51k..62k"},
    }  # fmt: skip
    assert list(note.circuit.blocks) == ["supply", "sensor"]


def test_a_note_crosses_process_borders(read: Read, example: str) -> None:
    note, problems = read(example)
    again, problems_again = pickle.loads(pickle.dumps((note, problems)))
    assert problems_again == problems
    assert (again.title, again.readings, again.device) == (note.title, note.readings, note.device)  # type: ignore[union-attr]
    assert {n: b.values for n, b in again.circuit.blocks.items()} == {
        n: b.values for n, b in note.circuit.blocks.items()
    }  # type: ignore[union-attr]


def test_marks_are_found_again_for_a_note(read: Read, example: str) -> None:
    note, _ = read(example)
    assert note is not None
    lines = example.split("\n")
    line, column = note.marks.key(("blocks", "supply", "smoothing"))
    assert lines[line - 1][column - 1 :].startswith("smoothing: C3")
    line, column = note.marks.value(("readings", 1, "at"))
    assert lines[line - 1][column - 1 :].startswith("sensor.resistance_25")


def test_the_body_begins_on_its_line(read: Read) -> None:
    text = "---\ntitle: a\ndate: 2026-01-02\ndevice: {kind: k}\nsymptoms: [s]\n---\n\nFirst.\n"
    note = good(read, text)
    assert (note.body, note.body_line) == ("\nFirst.\n", 7)
    assert text.split("\n")[note.body_line - 1 + 1] == "First."


# --- what is missing, unknown, or of the wrong shape


def test_every_missing_key_is_told_at_once(read: Read) -> None:
    note, problems = read("---\noutcome: fixed\n---\n")
    assert note is None
    assert [str(problem) for problem in problems] == [
        "n.md:2:1: the note: date is missing; write it as 2026-03-14",
        "n.md:2:1: the note: device is missing; device: {kind: what people call the thing}",
        "n.md:2:1: the note: symptoms is missing; what the owner says, one a line: - stays cold",
        "n.md:2:1: the note: title is missing",
    ]


# lines from line 6 -> what is told, without "n.md:"
UNKNOWN = [
    ("symtoms: x", ["6:1: symtoms: no such key of the note; did you mean symptoms?"]),
    ("zzz: x", [("6:1: zzz: no such key of the note; known: title, date, device, symptoms, outcome, barrier, blocks, "
                "readings, faults, signals, fitted, time, proof, boards, author, bench, states, joins, connectors, test_points, steps, sequence, tools, links, number, first_check")]),
    ("faults: [{failed: open, becuase: rain}]", ["6:25: becuase: no such key of a fault; did you mean because?"]),
    ("signals: [{shows: blinks, twice, means: x}]",
     ["6:27: twice: no such key of a signal; a comma inside { } begins a new key; put text with commas in quotes"]),
    ("fitted: [{part: C1, witth: x}]", ["6:21: witth: no such key of a fitted part; did you mean with?"]),
    ("proof: [{test: a, raed: b, read: c}]", ["6:19: raed: no such key of a proof; did you mean read?"]),
    ("boards: [{top: a.jpg, botom: b.jpg}]", ["6:23: botom: no such key of a board; did you mean bottom?"]),
    ("boards: [{top: a.jpg, marks: [{prt: C1, part: C1, x: 1, y: 2}]}]", ["6:32: prt: no such key of a mark; did you mean part?"]),
]  # fmt: skip

SHAPES = [
    ("time: [1 h]", ["6:7: time: text is expected, not a list; text that begins with [ or { needs quotes"]),
    ("bench: {a: b}", ["6:8: bench: text is expected, not keys with values; text that begins with [ or { needs quotes"]),
    ("faults: open", ["6:9: faults: a list is expected, not text; begin each entry on its own line with '- '"]),
    ("faults: [open]", ["6:10: a fault: keys with values are expected, not text; known: part, failed, because, found_by, fix"]),
    ("faults: [{part: F1}]", ["6:10: a fault: failed is missing; in any words: open, short, worn out"]),
    ("signals: [{shows: x}]", ["6:11: a signal: means is missing"]),
    ("signals: [{means: x}]", ["6:11: a signal: shows is missing; what can be seen or heard"]),
    ("fitted: [{part: [x]}]", ["6:17: part: text is expected, not a list; text that begins with [ or { needs quotes"]),
    ("fitted: [{cost: 1}]", ["6:10: a fitted part: part or with is missing"]),
    ("proof: [{test: insulation}]", ["6:9: a proof: read is missing; what the test showed"]),
    ("blocks: [a]", ["6:9: blocks: keys with values are expected, not a list"]),
    ("blocks: {2nd: {kind: heater}}", ["6:10: 2nd: no name for a block; a letter, then letters, digits, - and _; at most 40 characters"]),
    ("blocks: {a.b: {kind: heater}}", ["6:10: a.b: no name for a block; a letter, then letters, digits, - and _; at most 40 characters"]),
]  # fmt: skip

VALUES = [
    ("outcome: fixt", ["6:10: outcome: fixt is not known here; did you mean fixed?"]),
    ("outcome: zzz", ["6:10: outcome: zzz is not known here; known: fixed, repairable, end of life, unknown"]),
    ("outcome: end of life\nbarrier: lack of equipmnt", ["7:10: barrier: lack of equipmnt is not known here; did you mean lack of equipment?"]),
    ("outcome: repairable\nbarrier: lack of equipment",
     ["7:1: warning: barrier: counts only with outcome: end of life; it is left out"]),
    ("time: soon", ["6:7: time: soon is not a time; a number and min, h or days, such as 90 min"]),
    ("time: 1 h 30", ["6:7: time: 1 h 30 is not a time; a number and min, h or days, such as 1 h 30 min"]),
    ("fitted: [{part: x, cost: 1 EUR}]", ["6:26: cost: 1 EUR is not a price; a number such as 1.20; library.yaml has the currency"]),
    ("fitted: [{part: x, cost: 1e9}]", ["6:26: cost: 1e9 is not a price; a number such as 1.20; library.yaml has the currency"]),
    ("boards: [{caption: x}]", ["6:10: a board: top or bottom is missing; the file name of its picture"]),
    ("boards: [{top: ../a.jpg}]", ["6:16: top: ../a.jpg: the path leaves the note's folder; the file's name, beside the note"]),
    ("boards: [{top: /etc/passwd}]", ["6:16: top: /etc/passwd: the path leaves the note's folder; the file's name, beside the note"]),
    ("boards: [{top: 'http://x/a.jpg'}]",
     ["6:16: top: http://x/a.jpg: folders are divided by /, and a name has no colon; the file's name, beside the note"]),
    ("boards: [{top: a.jpg, marks: [{part: C1, x: 101 %, y: 5 %}]}]",
     ["6:45: x: 101 % is not a place in the picture; 0 % to 100 %, such as 42 %"]),
    ("boards: [{top: a.jpg, marks: [{part: C1, side: botom, x: 1, y: 5 %}]}]",
     ["6:48: side: botom is not known here; did you mean bottom?"]),
    ("boards: [{top: a.jpg, marks: [{part: C1, side: bottom, x: 1, y: 5 %}]}]",
     ["6:31: a mark: the board has no picture of its bottom"]),
    ("author: " + "x" * 81, ["6:9: author: 81 characters; at most 80"]),
    ("faults: [{failed: open, because: " + "x" * 1001 + "}]", ["6:34: because: 1,001 characters; at most 1,000"]),
]  # fmt: skip


@pytest.mark.parametrize(("lines", "messages"), UNKNOWN + SHAPES + VALUES)
def test_each_mistake_has_its_message_and_place(told: Told, lines: str, messages: list[str]) -> None:
    assert told(lines) == [f"n.md:{message}" for message in messages]


def test_mistakes_within_the_required_keys(read: Read) -> None:
    text = (
        "---\ntitle: "
        + "x" * 121
        + "\ndate: 14.3.2026\nsymptoms:\n  - lamp: blinks\n  -\n  - "
        + "y" * 201
        + "\n"
        "device:\n  kind: radio\n  category: Portabel radio\n  year: about 1975\n"
        "  plate: {supply: 12 A, power: 5 V, current: 3 W, frequency: 50 V, class: 2, watts: 3}\n---\n"
    )
    note, problems = read(text)
    assert note is None
    assert [str(problem).removeprefix("n.md:") for problem in problems] == [
        "2:8: title: 121 characters; at most 120",
        "3:7: date: 14.3.2026 is not a date; year-month-day, such as 2026-03-14",
        (
            "5:5: symptoms: text is expected, not keys with values; "
            "text with a colon and a space, or that begins with { or [, needs quotes"
        ),
        "6:4: symptoms: an empty entry; write it or take it out",
        "7:5: symptoms: 201 characters; at most 200",
        (
            "10:13: warning: category: Portabel radio is none of the Open Repair Data Standard's that are known here; "
            "did you mean Portable radio?"
        ),
        "11:9: year: about 1975 is not a year; four digits, such as 2017; leave it out where it is not known",
        "12:19: supply: 12 A states no voltage; such as 230 V",
        "12:32: power: 5 V states no power; such as 180 W",
        "12:46: current: 3 W states no current; such as 0.8 A",
        "12:62: frequency: 50 V states no frequency; such as 50 Hz",
        "12:75: class: 2 is not a protection class; did you mean II?",
        "12:78: watts: no such key of plate; known: supply, power, current, frequency, class",
    ]


@pytest.mark.parametrize(
    "day",
    [
        "2026-02-29",
        "2026-13-01",
        "26-03-14",
        "2026-3-14",
        "0000-01-01",
        "9999-12-31",
        "today",
        "２０２６-03-14",
    ],
)
def test_what_is_no_day_is_refused(read: Read, day: str) -> None:
    note, problems = read(f"---\ntitle: t\ndate: {day}\ndevice: {{kind: k}}\nsymptoms: [s]\n---\n")
    assert note is None
    assert [str(problem) for problem in problems] == [
        f"n.md:3:7: date: {day} is not a date; year-month-day, such as 2026-03-14"
    ]


@pytest.mark.parametrize(
    "year, fine",
    [("1850", True), ("1849", False), ("2199", True), ("2200", False), ("80", False), ("２０１７", False)],
)
def test_a_year_has_four_digits_from_1850_on(read: Read, year: str, fine: bool) -> None:
    note, problems = read(
        f"---\ntitle: t\ndate: 2026-03-14\ndevice: {{kind: k, year: {year}}}\nsymptoms: [s]\n---\n"
    )
    assert note is not None and note.device.year == (int(year) if fine else None)
    assert [problem.what for problem in problems] == ([] if fine else [f"year: {year} is not a year"])


@pytest.mark.parametrize(
    "printed", ["230 V", "220-240 V", "220–240V~", "230VAC", "4 × 1.5 V", "12 volts", "800 mV"]
)
def test_voltages_as_plates_print_them(read: Read, printed: str) -> None:
    assert _plate(read, "supply", printed).supply == printed


@pytest.mark.parametrize("printed", ["180 W", "1.2kW", "40 VA", "1850-2200 W", "60 watts"])
def test_powers_as_plates_print_them(read: Read, printed: str) -> None:
    assert _plate(read, "power", printed).power == printed


@pytest.mark.parametrize("printed", ["0.8 A", "500mA", "2 amps"])
def test_currents_as_plates_print_them(read: Read, printed: str) -> None:
    assert _plate(read, "current", printed).current == printed


@pytest.mark.parametrize("supply", ["40 VA", "1500 mAh", "50 Hz", "USB", "12"])
def test_what_is_no_voltage_on_a_plate_is_told(told: Told, read: Read, supply: str) -> None:
    _, problems = read(
        f"---\ntitle: t\ndate: 2026-01-02\ndevice: {{kind: k, plate: {{supply: {supply}}}}}\nsymptoms: [s]\n---\n"
    )
    assert [str(problem) for problem in problems] == [
        f"n.md:4:35: supply: {supply} states no voltage; such as 230 V"
    ]


def _plate(read: Read, key: str, printed: str) -> Plate:
    text = f"---\ntitle: t\ndate: 2026-01-02\ndevice: {{kind: k, plate: {{{key}: {printed}}}}}\nsymptoms: [s]\n---\n"
    return good(read, text).device.plate


@pytest.mark.parametrize(("written", "meant"), [("II", "II"), ("class I", "I"), ("iii", "III"), ("0", "0")])
def test_protection_classes_of_iec_61140(read: Read, written: str, meant: str) -> None:
    """IEC 61140 has the classes 0, I, II and III (from memory)."""
    assert _plate(read, "class", written).protection == meant


def test_names_of_the_standard_are_taken_in_any_case(read: Read) -> None:
    text = "---\ntitle: t\ndate: 2026-01-02\ndevice: {kind: k, category: VACUUM}\nsymptoms: [s]\noutcome: End of Life\n---\n"
    assert (good(read, text).device.category, good(read, text).outcome) == ("Vacuum", "end of life")


def test_names_of_the_standard_are_each_there_once() -> None:
    for names in (CATEGORIES, BARRIERS, OUTCOMES):
        assert len({name.casefold() for name in names}) == len(names)


@pytest.mark.parametrize("barrier", BARRIERS)
def test_a_barrier_stands_with_end_of_life(read: Read, barrier: str) -> None:
    head = "---\ntitle: t\ndate: 2026-01-02\ndevice: {kind: k}\nsymptoms: [s]\noutcome: end of life\n"
    assert good(read, f"{head}barrier: {barrier}\n---\n").barrier == barrier


# --- text


def test_text_is_one_line_in_composed_characters(read: Read) -> None:
    """U+0065 U+0301 is canonically U+00E9 (Unicode standard annex 15)."""
    text = "---\ntitle: |\n  cafe\u0301\n  kettle\ndate: 2026-01-02\ndevice: {kind: k}\nsymptoms: [s]\n---\n"
    assert good(read, text).title == "caf\u00e9 kettle"


@pytest.mark.parametrize("written", ["90 min", "1 h 30 min", "1.5 h", "2 days", "1,5 h", "45 minutes"])
def test_times_as_people_write_them(read: Read, written: str) -> None:
    text = f"---\ntitle: t\ndate: 2026-01-02\ndevice: {{kind: k}}\nsymptoms: [s]\ntime: '{written}'\n---\n"
    assert good(read, text).time == written


def test_a_control_character_in_the_prose_is_told_and_made_a_blank(read: Read) -> None:
    note, problems = read(
        "---\ntitle: t\ndate: 2026-01-02\ndevice: {kind: k}\nsymptoms: [s]\n---\nA\nB\x1bC\n"
    )
    assert [str(problem) for problem in problems] == [
        "n.md:8:2: U+001B (no printing character) is not allowed in a note; delete it"
    ]
    assert note is not None and note.body == "A\nB C\n"


def test_boards_and_their_marks(read: Read) -> None:
    lines = "boards:\n  - {top: top.jpg, bottom: photos/b.jpg, caption: main board, marks: [{part: C3, side: bottom, x: 42 %, y: 7}]}\n"
    text = f"---\ntitle: t\ndate: 2026-01-02\ndevice: {{kind: k}}\nsymptoms: [s]\n{lines}---\n"
    assert good(read, text).boards == (
        Board("top.jpg", "photos/b.jpg", "main board", (Mark("C3", "bottom", 42.0, 7.0),)),
    )


# --- blocks and readings


@pytest.mark.parametrize(
    ("lines", "messages"),
    [
        ("readings: [{at: supply.peak, read: 1 V}]", ["6:17: at: supply.peak: the note has no blocks; add the block that was measured"]),
        (SUPPLY + "readings: [{at: suply.peak, read: 1 V}]", ["8:17: at: suply.peak: no block suply in this note; did you mean supply?"]),
        (SUPPLY + "readings: [{at: supply.no_load_peek, read: 1 V}]",
         ["8:17: at: supply.no_load_peek: transformer-supply supply has no value no_load_peek; did you mean no_load_peak?"]),
        (SUPPLY + "readings: [{read: 1 V}]", ["8:12: a reading: at is missing; block.value, such as supply.peak"]),
        (SUPPLY + "readings: [{at: supply.peak}]", ["8:12: a reading: read is missing; what the meter showed, such as 17.4 V or open"]),
        (SUPPLY + "readings: [{at: supply.peak, read: 1 V, accuracy: good}]",
         ["8:51: accuracy: good is not an accuracy; per cent and counts, such as 1 % + 3"]),
        (SUPPLY + "readings: [{at: supply.peak, read: 1 V, wiht: mains off}]", ["8:41: wiht: no such key of a reading; did you mean with?"]),
        (SUPPLY + "faults: [{part: C4, failed: open}]", ["8:17: hint: part: C4 is in no block of this note; known: C3"]),
        (SUPPLY + "faults: [{part: c3, failed: open}]", ["8:17: hint: part: c3 is in no block of this note; did you mean C3?"]),
        (SUPPLY + "faults: [{part: drive belt, failed: torn}, {part: C3, failed: open}]", []),
        ("faults: [{part: C4, failed: open}]", []),
    ],
)  # fmt: skip
def test_readings_and_parts_are_held_against_the_blocks(told: Told, lines: str, messages: list[str]) -> None:
    assert told(lines) == [f"n.md:{message}" for message in messages]


def test_a_reading_without_a_value_is_told_which_there_are(told: Told) -> None:
    (message,) = told(SUPPLY + "readings: [{at: supply, read: 1 V}]")
    assert message.startswith("n.md:8:17: at: supply: which value of supply?; known: peak, ")


def test_an_unknown_parameter_of_a_block_is_told_at_its_line(told: Told) -> None:
    lines = "blocks:\n  supply:\n    kind: transformer-supply\n    secondary: 12 V\n    smoothing: C3 1000u 35V\n    smothing: C3 1000u 35V\n"
    assert told(lines) == [
        "n.md:11:5: smothing: no such parameter of transformer-supply; did you mean smoothing?"
    ]


def test_a_broken_block_is_told_once_and_not_again_by_its_readings(told: Told) -> None:
    lines = "blocks: {supply: {kind: transfomer-supply}}\nreadings: [{at: supply.peak, read: 1 V}]\nfaults: [{part: C3, failed: open}]"
    (message,) = told(lines)
    assert message.startswith("n.md:6:19: transfomer-supply: no such kind of block")


def test_a_terminal_of_a_sound_block_is_a_place_beside_a_broken_one(told: Told) -> None:
    lines = (
        "blocks:\n  a: {kind: divider, supply: 5 V, upper: R1 1k, lower: R2 1k}\n  b: {kind: divder}\n"
        "readings: [{at: a.tap, read: 2.5 V}, {at: a.tapp, read: 2.5 V}]\n"
    )
    messages = told(lines)
    assert [message.split(" ")[0] for message in messages] == ["n.md:8:7:", "n.md:9:43:"]


def test_a_loop_of_references_is_told_with_all_its_blocks(told: Told) -> None:
    lines = (
        "blocks:\n  a: {kind: divider, supply: b.output, upper: R1 1k, lower: R2 1k}\n"
        "  b: {kind: divider, supply: a.output, upper: R3 1k, lower: R4 1k}\n"
    )
    messages = told(lines)
    assert [message.split(" ")[0] for message in messages if "loop" in message] == ["n.md:8:22:"]
    assert "a -> b -> a" in messages[0]


def test_a_value_of_the_wrong_quantity_is_told_at_its_line(told: Told) -> None:
    (message,) = told(
        "blocks:\n  a:\n    kind: divider\n    supply: 12 A\n    upper: R1 1k\n    lower: R2 1k\n"
    )
    assert message.startswith("n.md:9:5: ")
    assert "12 A is a current; a voltage is expected" in message


def test_all_that_a_reading_may_say(read: Read, told: Told) -> None:
    entry = "{at: supply.peak, read: 15.2 V, accuracy: 2 % + 5, with: mains off, note: cold}"
    text = f"---\ntitle: t\ndate: 2026-01-02\ndevice: {{kind: k}}\nsymptoms: [s]\n{SUPPLY}readings: [{entry}]\n---\n"
    assert good(read, text).readings == (
        Reading(
            "supply", "peak", "15.2 V", "2 % + 5", "mains off", "cold", ("readings", 0), at="supply.peak"
        ),
    )


@pytest.mark.parametrize(
    ("text", "meant"),
    [("1 % + 3", (0.01, 3)), ("0.5%", (0.005, 0)), ("±2 % + 5 digits", (0.02, 5)), ("0,8 % + 1 count", (0.008, 1)),
     ("1", None), ("+ 3", None), ("100 % + 3", None), ("1 % + 3 apples", None)],
)  # fmt: skip
def test_accuracy_as_meters_state_it(text: str, meant: tuple[float, int] | None) -> None:
    assert accuracy_of(text) == (pytest.approx(meant) if meant else None)


# --- all in one pass


def test_a_mistake_in_the_yaml_does_not_hide_what_stands_before_it(read: Read) -> None:
    note, problems = read("---\ntitle: t\ndate: 14.3.2026\ntime: 'a' b\noutcome: fixed\n---\n")
    assert note is None
    assert [str(problem) for problem in problems] == [
        "n.md:3:7: date: 14.3.2026 is not a date; year-month-day, such as 2026-03-14",
        "n.md:4:11: text after the end of a value; put the whole value in one pair of quotes",
    ]


def test_after_two_hundred_problems_no_more_are_shown(told: Told) -> None:
    messages = told("\n".join(f"k{n}: x" for n in range(900)))
    assert len(messages) == 201
    assert messages[0] == "n.md: more than 200 problems; fix these first; the rest is not shown"


def test_a_missing_file_and_one_out_of_the_folder(tmp_path: Path, example: str) -> None:
    path = tmp_path / "notes" / "x.md"
    assert read_note(path, tmp_path, Mains()) == (
        None,
        [Problem(str(path), 0, 0, "cannot be read: no such file or directory")],
    )
    outside = tmp_path / "y.md"
    outside.write_text(example, encoding="utf-8")
    assert read_note(outside, tmp_path / "notes", Mains())[1] == [
        Problem(str(outside), 0, 0, "the note is not in the library's folder")
    ]


def test_problems_call_the_file_as_they_are_told(example: str) -> None:
    _, problems = parse_note(example, "x", "notes/x.md", None, Mains(), shown_as="content/notes/x.md")
    assert {problem.file for problem in problems} == {"content/notes/x.md"}
