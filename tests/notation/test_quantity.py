"""Values in trade notation: read, written, refused; the E series; bands of parts that state no tolerance."""

from __future__ import annotations

import math

import pytest
from eseries import E24, E96, series
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from generator.circuit.preferred import unusual_values
from generator.notation.part_reading import parse_part
from generator.notation.preferred import nearest_preferred
from generator.notation.printed import format_band, format_span, format_value
from generator.notation.quantity import QuantityError, parse
from generator.notation.units import KINDS_OF_VALUE, UNITS

# IEC 60062 letter-for-point codes and SI prefixes; the plain numbers beside them are by hand.
NOTATION = [
    ("4k7", "ohm", 4700.0), ("2R2", "ohm", 2.2), ("R47", "ohm", 0.47), ("0R05", "ohm", 0.05), ("1M", "ohm", 1e6),
    ("10 kohm", "ohm", 10e3), ("4,7 kΩ", "ohm", 4700.0), ("200 Mohm", "ohm", 200e6),
    ("470n", "F", 470e-9), ("1000u", "F", 1e-3), ("100 µF", "F", 100e-6), ("4n7", "F", 4.7e-9), ("1p5", "F", 1.5e-12),
    ("12 V", "V", 12.0), ("5V1", "V", 5.1), ("120 mA", "A", 0.12), ("90 min", "s", 5400.0), ("2 h", "s", 7200.0),
    ("38 C", "°C", 38.0), ("-20 °C", "°C", -20.0), ("3950", "K", 3950.0), ("12 %", "", 0.12), ("0.3", "", 0.3),
    ("2000 mAh", "Ah", 2.0), ("65 K/W", "K/W", 65.0), ("2 mW/K", "W/K", 2e-3), ("60 Hz", "Hz", 60.0),
    # speeds as rating plates have them, in English, German and by IEC 60034
    ("2800 r/min", "rpm", 2800.0), ("2800 min-1", "rpm", 2800.0), ("2800 min⁻¹", "rpm", 2800.0), ("2800/min", "rpm", 2800.0),
    ("2800 U/min", "rpm", 2800.0), ("2800 rev/min", "rpm", 2800.0), ("1100 RPM/V", "rpm/V", 1100.0),
]  # fmt: skip


@pytest.mark.parametrize("text, unit, value", NOTATION)
def test_notation_is_read(text: str, unit: str, value: float) -> None:
    """Each way of writing a value gives its number in plain units."""
    assert parse(text, unit).value == pytest.approx(value, rel=1e-12)


def test_tolerances_and_ranges() -> None:
    """A stated tolerance makes a band; a range has no single value."""
    band = parse("12 V 5%", "V")
    assert (band.low, band.high) == pytest.approx((11.4, 12.6))
    bracket = parse("47k..56k", "ohm")
    assert bracket.value is None and (bracket.low, bracket.high) == (47e3, 56e3)


@pytest.mark.parametrize("text, low, high", [("R1 100", 95, 105), ("R1 100 1%", 99, 101)])
def test_resistors_without_a_word_have_five_per_cent(text: str, low: float, high: float) -> None:
    """The defaults where a note is silent: resistor 5 %."""
    value = parse_part(text, "resistor").value
    assert value is not None and (value.low, value.high) == pytest.approx((low, high))


@pytest.mark.parametrize(
    "text, share",
    [
        ("C1 1000u", 0.2),
        ("C1 100n", 0.1),
        ("C1 2u2 film", 0.1),
        ("C1 470n electrolytic", 0.2),
        ("C1 1u", 0.2),
    ],
)
def test_capacitors_by_word_or_size(text: str, share: float) -> None:
    """Electrolytic 20 %, film and ceramic 10 %; without a word electrolytic from 1 µF up."""
    value = parse_part(text, "capacitor").value
    assert value is not None and value.value is not None
    assert value.high / value.value - 1 == pytest.approx(share)


@pytest.mark.parametrize(
    "text, unit, words",
    [
        ("12 A", "V", "12 A is a current"), ("0", "V", "zero"), ("-5", "ohm", "below zero"), ("1e400", "V", "not a number"),
        ("nan", "V", "not a value"), ("", "V", "an empty text is not a value"), ("12 bananas", "V", "not a unit"), ("1e30", "V", "household"),
    ],
)  # fmt: skip
def test_what_is_refused(text: str, unit: str, words: str) -> None:
    """Another quantity, zero, negative, absurd: told in words, with what would do."""
    with pytest.raises(QuantityError) as refused:
        parse(text, unit)
    assert words in refused.value.what and "such as" in refused.value.hint


@given(st.floats(min_value=1e-11, max_value=1e11), st.sampled_from(["V", "A", "ohm", "F", "s", "W", "Hz"]))
def test_print_and_read_again(value: float, unit: str) -> None:
    """What is printed reads back as the same value, to the three figures printed."""
    from generator.notation.quantity import KINDS_OF_VALUE

    _, _, smallest, largest = KINDS_OF_VALUE[unit]
    if not smallest * 1.01 <= value <= largest * 0.99:
        return
    text = format_value(value, unit)
    assert parse(text, unit).value == pytest.approx(value, rel=0.0051)
    assert parse(format_value(value, unit, 9, trim=True), unit).value == pytest.approx(value, rel=1e-8)


@pytest.mark.parametrize(
    "value, unit, text",
    [
        (15.5563491861, "V", "15.6 V"), (4700, "ohm", "4.70 kΩ"), (330e-9, "F", "330 nF"), (4.7e-3, "F", "4700 µF"), (0.7, "V", "0.700 V"),
        (0.47, "ohm", "0.470 Ω"), (999.7, "ohm", "1.00 kΩ"), (90 * 60, "s", "90.0 min"), (math.inf, "s", "never"), (6e-20, "V", "0 V"), (0.0, "A", "0 A"),
    ],
)  # fmt: skip
def test_print(value: float, unit: str, text: str) -> None:
    """Three figures in the units that a person would write (written out by hand)."""
    assert format_value(value, unit) == text


def test_bands_share_their_unit() -> None:
    """One unit for both ends where they have the same."""
    assert format_band(14.04, 17.21, "V") == "14.0 to 17.2 V"
    assert format_band(900, 1100, "ohm") == "0.900 to 1.10 kΩ", "one unit for both ends"
    assert format_band(0, 0.0177, "V") == "0 to 17.7 mV" and format_span(0, 0.0177, "V") == "0–17.7 mV"
    assert format_band(0.0063, 14.1, "V") == "6.30 mV to 14.1 V", "too far apart for one range of a meter"
    assert (
        format_band(-0.4, 12, "V") == "−0.400 to 12.0 V" and format_band(0, math.inf, "ohm") == "0 Ω to open"
    )


@pytest.mark.parametrize(
    "seconds, printed",
    [
        (90.0, "90.0 s"),
        (119.0, "119 s"),
        (120.0, "2.00 min"),
        (7190.0, "120 min"),
        (7200.0, "2.00 h"),
        (5e-3, "5.00 ms"),
    ],
)
def test_times_change_their_unit_at_two_of_the_next(seconds: float, printed: str) -> None:
    """60 s a minute, 60 min an hour; seconds up to two minutes, minutes up to two hours."""
    assert format_value(seconds, "s") == printed


def test_a_tolerance_is_less_than_all() -> None:
    """At ±100 % nothing is known but the largest value: that is no tolerance of a part."""
    assert parse("12 V 99%", "V").low == pytest.approx(0.12)
    with pytest.raises(QuantityError, match="100 % or more is no tolerance"):
        parse("12 V 100%", "V")


@pytest.mark.parametrize("name", [E24, E96])
def test_preferred_values(name: str) -> None:
    """Every value of E24 and E96 is preferred, over nine decades (IEC 60063 by the package eseries)."""
    for step in series(name):
        for decade in range(-3, 6):
            value = float(f"{step}e{decade}")
            assert nearest_preferred(value) == value


def test_a_misread_band_is_remarked_on() -> None:
    """What is in no series has E24's nearest beside it (IEC 60063, by hand).

    By ratio, for the steps of a series are ratios: 1049.5 lies beyond 1048.8, the geometric mean of 1000 and 1100.
    """
    assert nearest_preferred(57e3) == 56e3
    assert nearest_preferred(98.0) == 100.0
    assert nearest_preferred(1049.5) == 1100.0 and nearest_preferred(1048.0) == 1000.0


@pytest.mark.parametrize(("part_class", "text", "remarked"), [
    ("resistor", "R1 0R17", True), ("resistor", "R1 0R14", False), ("resistor", "R1 50m", False), ("resistor", "R1 30m", False),
    ("resistor", "R1 57k", True), ("capacitor", "C1 5u", False), ("capacitor", "C1 5n", True),
])  # fmt: skip
def test_a_value_that_nobody_makes_is_remarked_on(part_class: str, text: str, remarked: bool) -> None:
    """E24 and E96 have no 1.7 (IEC 60063); shunts and motor capacitors come in round values (makers' lists, from memory)."""
    told = unusual_values([("R1", parse_part(text, part_class))])
    assert bool(told) == remarked


OTHER_THAN_ONE = {"min": 60.0, "h": 3600.0, "%": 0.01, "g": 1e-3}  # SI Brochure, 9th edition, tables 2 and 8


@pytest.mark.parametrize("name", UNITS)
def test_every_unit_is_worth_what_it_says(name: str) -> None:
    """Three of each: names of one unit are worth the same, and one only where none of SI stands for more or less of it."""
    unit, _factor = UNITS[name]
    assert parse(f"3 {name}", unit).middle == pytest.approx(3 * OTHER_THAN_ONE.get(name, 1.0))


@pytest.mark.parametrize(("letter", "size"), [
    ("f", constants.femto), ("p", constants.pico), ("n", constants.nano), ("u", constants.micro), ("µ", constants.micro),
    ("μ", constants.micro), ("m", constants.milli), ("k", constants.kilo), ("K", constants.kilo), ("M", constants.mega),
    ("G", constants.giga),
])  # fmt: skip
@pytest.mark.parametrize("unit", ["F", "H", "ohm", "A"])
def test_prefixes_are_those_of_si_both_ways(letter: str, size: float, unit: str) -> None:
    """scipy.constants has them from the SI Brochure. What is printed has the same prefix, µ and k as they are written there;
    below a pico and above a giga none is printed."""
    lowest, highest = KINDS_OF_VALUE[unit][2:]
    if not lowest <= 4.7 * size <= highest:
        return
    assert parse(f"4.7 {letter}{unit}", unit).middle == pytest.approx(4.7 * size)
    if letter != "f" and (letter, unit) != ("m", "F"):  # the trade says 4700 µF
        own = {"u": "µ", "μ": "µ", "K": "k"}.get(letter, letter)
        assert format_value(4.7 * size, unit) == f"4.70 {own}{'Ω' if unit == 'ohm' else unit}"
