"""What a meter showed, read as an interval: states, ranges, remarks, accuracy, counts; and its verdict."""

from __future__ import annotations

import math

import pytest
from noted import judged_note

from generator.circuit.block import Result
from generator.diagnosis.readings import Meter, read_accuracy, read_shown, verdict
from generator.notation.quantity import QuantityError
from generator.notation.reading import in_the_unit_of

EXACT = Meter(0.0, 0)


@pytest.mark.parametrize(
    ("read", "band", "shown"),
    [
        ("380 mV", "1.20 to 1.50 V", "0.380 V"),
        ("-380 mV", "1.20 to 1.50 V", "−0.380 V"),
        ("0.000 mA", "280 to 383 µA", "0 µA"),
        ("0.552 kΩ", "500 to 600 Ω", "552 Ω"),
        ("1.234 V", "900 to 950 mV", "1234 mV"),
        ("50 uA DC", "40 to 60 µA", "50 µA DC"),
        ("12.30 V", "1.20 to 1.50 V", "12.30 V"),
        ("1.2 V", "900 to 950 mV", "1.2 V"),  # one digit less than a whole millivolt was read
        ("10 mV", "1.20 to 1.50 V", "0.010 V"),
        ("9 mV", "1.20 to 1.50 V", "9 mV"),  # it would begin with zeros
        ("about 380 mV", "1.20 to 1.50 V", "about 380 mV"),
        ("open", "1.20 to 1.50 kΩ", "open"),
    ],
)
def test_a_reading_is_shown_in_the_unit_of_its_band(read: str, band: str, shown: str) -> None:
    """By the SI's prefixes, with the digits that the meter showed."""
    assert in_the_unit_of(read, band) == shown


@pytest.mark.parametrize("text", ["open", "OL", "O.L.", "infinite", "open, even when warm"])
def test_no_connection_is_open_in_ohms(text: str) -> None:
    """A display of overload means more than the top range: 20 Mohm on common hand-held meters (from memory)."""
    shown = read_shown(text, "ohm", Meter())
    assert (shown.state, shown.low, shown.high) == ("open", 20e6, math.inf)


def test_a_time_that_never_came_is_open() -> None:
    assert read_shown("never", "s", Meter()).state == "open"


def test_a_short_is_below_an_ohm() -> None:
    shown = read_shown("short", "ohm", Meter())
    assert shown.state == "short" and shown.low == 0.0 and 0 < shown.high <= 1.0


def test_accuracy_is_a_share_and_counts() -> None:
    """17.40 V on the 20 V range of a 3½-digit meter (counts of 10 mV): 1 % + 3 counts = 0.174 V + 0.03 V."""
    shown = read_shown("17.40 V", "V", Meter(0.01, 3))
    assert shown.value == 17.40
    assert shown.high - 17.40 == pytest.approx(0.174 + 0.03 + 0.005)  # and half of the last digit written
    assert 17.40 - shown.low == pytest.approx(0.174 + 0.03 + 0.005)


@pytest.mark.parametrize(
    "text, unit, count",
    [("1.999 V", "V", 0.001), ("2.10 V", "V", 0.01), ("19.9 V", "V", 0.01), ("230 V", "V", 1.0), ("150 mV", "V", 1e-4),
     ("470 ohm", "ohm", 1.0), ("47 ohm", "ohm", 0.1), ("4.70 kohm", "ohm", 10.0), ("12.0 mA", "A", 1e-5)],
)  # fmt: skip
def test_a_count_follows_the_range(text: str, unit: str, count: float) -> None:
    """Ranges of 2·10^n with 2000 counts: 3½ digits, as manuals of such meters list them."""
    ten, none = read_shown(text, unit, Meter(0.0, 10)), read_shown(text, unit, EXACT)
    assert ten.spread - none.spread == pytest.approx(10 * count)


def test_what_is_written_coarsely_is_known_coarsely() -> None:
    """ "5 V" may be anything from 4.5 to 5.5; "5.00 V" not."""
    assert read_shown("5 V", "V", EXACT).spread == pytest.approx(0.5)
    assert read_shown("5.00 V", "V", EXACT).spread == pytest.approx(0.005)


def test_a_bare_zero_says_that_there_is_nothing() -> None:
    """ "0 A" of a lamp that takes 0.4 A is no lit lamp."""
    assert read_shown("0 A", "A", Meter()).high < 0.02
    assert read_shown("0 V", "V", Meter()).high < 0.1


def test_a_bracket_keeps_its_ends() -> None:
    """By hand: the meter's 1 % outwards at both ends."""
    shown = read_shown("47k..56k", "ohm", Meter(0.01, 3))
    assert shown.value is None
    assert shown.low == pytest.approx(47e3 * 0.99) and shown.high == pytest.approx(56e3 * 1.01)
    assert shown.middle == pytest.approx(51.5e3, rel=0.01)


@pytest.mark.parametrize("text", ["12.1 V after 10 min", "12.1 V when warm", "12.1 V in the sun"])
def test_a_remark_behind_a_reading_is_left_alone(text: str) -> None:
    shown = read_shown(text, "V", Meter())
    assert shown.value == 12.1 and shown.text == text


def test_a_stated_tolerance_counts_where_it_is_wider() -> None:
    """By hand: 20 % of 12 V."""
    assert read_shown("12.0 V ±20%", "V", Meter()).spread == pytest.approx(2.4)


@pytest.mark.parametrize(
    "text, unit",
    [("12 ohm", "V"), ("hot", "V"), ("", "V"), ("1e999 V", "V"), ("nan", "ohm"), ("12 V V", "V")],
)
def test_what_is_no_reading_is_told_in_words(text: str, unit: str) -> None:
    with pytest.raises(QuantityError) as caught:
        read_shown(text, unit, Meter())
    assert caught.value.what and "Traceback" not in str(caught.value)


@pytest.mark.parametrize(
    "text, share, counts",
    [
        ("1 % + 3", 0.01, 3),
        ("0.5%", 0.005, 0),
        ("± 2 % + 5 counts", 0.02, 5),
        ("0,8 % + 2 digits", 0.008, 2),
        ("±(0.5 % + 2)", 0.005, 2),
        ("0.5% rdg + 2 dgt", 0.005, 2),
        ("1.2 % of reading + 3 counts", 0.012, 3),
        ("1 percent + 3", 0.01, 3),
        ("", 0.01, 3),
    ],
)
def test_accuracy_as_manuals_write_it(text: str, share: float, counts: int) -> None:
    """The forms in which data sheets of meters state it: a share and counts of the last digit. Common practice, no source."""
    meter = read_accuracy(text, Meter(0.01, 3, 1e6))
    assert meter.share == pytest.approx(share) and meter.counts == counts and meter.input == 1e6


@pytest.mark.parametrize("text", ["good", "3", "three percent", "1 % + x", "1.2.3 %"])
def test_what_is_no_accuracy_is_told(text: str) -> None:
    with pytest.raises(QuantityError, match="is not an accuracy"):
        read_accuracy(text, Meter())


def band(low: float, high: float, unit: str = "V") -> Result:
    middle = low if math.isinf(high) else (low + high) / 2
    return Result("x", unit, middle, low, high)


@pytest.mark.parametrize(
    "text, word, ok",
    [
        ("12.0 V", "within", True),
        ("11.5 V", "low", False),
        ("13.0 V", "high", False),
        ("11.79 V", "within", True),
    ],
)
def test_verdict_allows_for_the_meter(text: str, word: str, ok: bool) -> None:
    """Band 11.9 to 12.1 V; 11.79 V on the 20 V range is good for ±0.15 V."""
    found = verdict(read_shown(text, "V", Meter()), band(11.9, 12.1))
    assert (found.word, found.ok) == (word, ok)


@pytest.mark.parametrize(
    ("read", "high", "word"),
    [("0.001 V", 7e-5, "within"), ("-0.001 V", 7e-5, "within"), ("0.003 V", 0.0, "within"), ("0.02 V", 7e-5, "high"),
     ("-0.02 V", 7e-5, "low"), ("-0.001 V", 6.2, "within"), ("-0.2 V", 6.2, "low")],
)  # fmt: skip
def test_the_last_counts_of_a_range_are_nothing_where_nothing_is_due(
    read: str, high: float, word: str
) -> None:
    """Data sheets of meters: ±(0.5 % + 3 counts), a count being 1 mV on a range of 6 V or less; 0.02 V is something."""
    assert verdict(read_shown(read, "V", Meter()), Result("x", "V", 0.0, 0.0, high)).word == word


def test_verdicts_of_open_and_short() -> None:
    assert verdict(read_shown("open", "ohm", Meter()), band(9e3, 11e3, "ohm")).word == "open"
    assert verdict(read_shown("short", "ohm", Meter()), band(9e3, 11e3, "ohm")).word == "short"
    assert verdict(read_shown("never", "s", Meter()), band(1.0, math.inf, "s")).ok


@pytest.mark.parametrize("read, word", [("9.5M", "within"), ("47k", "low"), ("open", "within")])
def test_megohms_where_nothing_should_conduct_are_as_good_as_open(read: str, word: str) -> None:
    """Boards, capacitors and fingers leak some megohms, which no repairer takes for a fault (common practice, no source)."""
    assert verdict(read_shown(read, "ohm", Meter()), band(math.inf, math.inf, "ohm")).word == word


def test_a_reading_beside_its_band_that_the_meter_may_have_put_there_says_so() -> None:
    """By hand: 11.79 V on the 20 V range is good for 1 % + 3 counts of 10 mV and half a digit: 0.118 + 0.03 + 0.005 V."""
    assert (
        verdict(read_shown("11.79 V", "V", Meter()), band(11.9, 12.1)).difference
        == "−0.210 V (−2 %); the meter ±0.153 V"
    )
    assert "meter" not in verdict(read_shown("11.95 V", "V", Meter()), band(11.9, 12.1)).difference


def test_difference_in_figures() -> None:
    """17.4 V where 15.0 V is expected: 2.4 V, which is 16 %."""
    found = verdict(read_shown("17.4 V", "V", Meter()), band(14.0, 16.0))
    assert found.difference == "+2.40 V (+16 %)"


def test_a_share_is_told_up_to_ten_times() -> None:
    """14.7 V more than 0.3 V is 49 times it, which says nothing; 2.7 V more is nine times it: 900 %."""
    assert verdict(read_shown("15.0 V", "V", Meter()), band(0.2, 0.4)).difference == "+14.7 V"
    assert verdict(read_shown("3.0 V", "V", Meter()), band(0.2, 0.4)).difference == "+2.70 V (+900 %)"


@pytest.mark.parametrize(
    "text",
    [
        "about 9.8 V",
        "~9.8V",
        "≈ 9.8 V",
        "ca. 9.8 V",
        "9.8 V (after warm up)",
        "9.8 V after 10 min",
        "9.8 Vdc",
        "9.8 volts",
        "9.8 V, drifting",
        "9.8 V on pin 3",
    ],
)
def test_what_people_write_around_a_reading(text: str) -> None:
    """The same interval as the plain reading; the text stays as it was written."""
    shown, plain = read_shown(text, "V", Meter()), read_shown("9.8 V", "V", Meter())
    assert (shown.value, shown.low, shown.high, shown.text) == (plain.value, plain.low, plain.high, text)


@pytest.mark.parametrize("text", ["<1 mA", "<= 1 mA", "≤1 milliamp"])
def test_less_and_more_than_something(text: str) -> None:
    below = read_shown(text, "A", Meter())
    assert (below.value, below.low, below.high) == (None, 0.0, 1e-3)
    with pytest.raises(QuantityError, match="write open"):
        read_shown("> 2M", "ohm", Meter())


@pytest.mark.parametrize("text", ["OL", "0L", "O.L", "0.L M", "open (both ways)"])
def test_how_meters_show_that_they_see_nothing(text: str) -> None:
    assert read_shown(text, "ohm", Meter()).state == "open"


def test_a_meter_of_10_megohm_loads_what_it_reads() -> None:
    """12 V over twice 4.7 MΩ: behind 2.35 MΩ (Thévenin) a digital meter's 10 MΩ, common practice, show 6 V·10/12.35 = 4.86 V, and
    that is sound; 6 V would be too much."""
    for read, sound in (("4.86 V", True), ("6.0 V", False)):
        _, judgement = judged_note(HIGH_OHMS.replace("READ", read))
        assert judgement.fits[0].sound == sound, read
        ((low, high),) = next(fit.expected for fit in judgement.fits if fit.sound)  # type: ignore[misc]
        assert (low + high) / 2 == pytest.approx(6 * 10 / 12.35, rel=0.01)


HIGH_OHMS = """---
title: Timer never ends
date: 2026-02-02
device: {kind: timer, category: Misc}
symptoms: [never ends]
outcome: unknown
blocks:
  level: {kind: divider, supply: 12 V 1%, upper: R1 4M7 1%, lower: R2 4M7 1%}
readings: [{at: level.tap, read: READ}]
---
"""
