"""Markings on parts against the tables of IEC 60062 and IEC 60063 and the eseries package."""

from __future__ import annotations

import re
from typing import Any

import eseries
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.notation.marking import Decoded, MarkingError, decode, decode_leading
from generator.notation.marking_page import tables
from generator.notation.part_reading import parse_part
from generator.notation.parts import PartError

E24 = [round(v / 10, 2) for v in eseries.series(eseries.E24)]
E96 = [round(v / 100, 2) for v in eseries.series(eseries.E96)]
E192 = [round(v / 100, 2) for v in eseries.series(eseries.E192)]

# IEC 60062, table 1 (written out here once more, from memory).
DIGITS = ["black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white"]
MULTIPLIERS = {-3: "pink", -2: "silver", -1: "gold", **dict(enumerate(DIGITS))}
TOLERANCES = {
    "brown": 1,
    "red": 2,
    "orange": 0.05,
    "yellow": 0.02,
    "green": 0.5,
    "blue": 0.25,
    "violet": 0.1,
    "gold": 5,
    "silver": 10,
}
COEFFICIENTS = {
    "black": 250,
    "brown": 100,
    "red": 50,
    "orange": 15,
    "yellow": 25,
    "green": 20,
    "blue": 10,
    "violet": 5,
    "grey": 1,
}


def test_bands_that_read_alike_from_both_ends_have_one_meaning() -> None:
    """IEC 60062: brown black black brown is 10 Ω ±1 %, from either end."""
    meanings = [found for found in decode("brown black black brown") if found.part == "resistor"]
    assert [found.quantity.value for found in meanings if found.quantity] == [near(10.0)]


def near(wanted: float, rel: float = 1e-9) -> Any:
    """Equal but for rounding, also where picofarads are counted: pytest's own 1e-12 would let any of them pass."""
    return pytest.approx(wanted, rel=rel, abs=0)


def value(code: str, part: str = "resistor") -> float:
    """What decode_leading makes of a whole code."""
    quantity, used = decode_leading(code.split(" "), part)
    assert used == len(code.split(" "))
    assert quantity.value is not None
    return quantity.value


def meanings(code: str, part: str) -> list[Decoded]:
    return [d for d in decode(code) if d.part == part]


@pytest.mark.parametrize("exponent", range(-3, 10))
def test_four_bands_for_all_of_e24(exponent: int) -> None:
    """Every E24 value with every multiplier, in the colours of IEC 60062."""
    for step in E24:
        digits = round(step * 10)
        bands = [DIGITS[digits // 10], DIGITS[digits % 10], MULTIPLIERS[exponent], "gold"]
        assert value(" ".join(bands)) == near(digits * 10.0**exponent, rel=1e-12)


@pytest.mark.parametrize("exponent", [-2, -1, 0, 2, 4])
def test_five_and_six_bands_for_all_of_e192(exponent: int) -> None:
    """Three digits, multiplier, tolerance, temperature coefficient."""
    for step in E192:
        digits = round(step * 100)
        bands = [*(DIGITS[int(d)] for d in str(digits)), MULTIPLIERS[exponent], "brown"]
        assert value(" ".join(bands)) == near(digits * 10.0**exponent, rel=1e-12)
        first = meanings(" ".join([*bands, "red"]), "resistor")[0]
        assert first.quantity is not None and first.quantity.value == near(digits * 10.0**exponent, rel=1e-12)
        assert first.coefficient == 50


def test_tolerances_and_coefficients_of_colours() -> None:
    """The tolerance band, and that three bands are ±20 %."""
    for colour, percent in TOLERANCES.items():
        quantity, _ = decode_leading(["yellow", "violet", "black", "orange", colour], "resistor")
        assert quantity.toleranced
        assert quantity.high == near(470e3 * (1 + percent / 100), rel=1e-12)
        assert quantity.low == near(470e3 * (1 - percent / 100), rel=1e-12)
    for colour, ppm in COEFFICIENTS.items():
        assert decode(f"brown black black red brown {colour}")[0].coefficient == ppm
    quantity, _ = decode_leading(["brown", "black", "red"], "resistor")
    assert (quantity.low, quantity.high) == (near(800), near(1200))


def test_a_grey_tolerance_band_holds_the_wider_of_its_two_meanings() -> None:
    """±0.01 % since IEC 60062:2016, ±0.05 % before (from memory): the band is the wider, and it is said."""
    found = decode("brown black black red grey")[0]
    assert found.quantity is not None and found.quantity.high == near(10e3 * 1.0005, rel=1e-12)
    assert "before 2016" in found.note


@pytest.mark.parametrize("code, ohm", [
    # IEC 60062, table of letter codes for resistance (from memory)
    ("R10", 0.1), ("R15", 0.15), ("R332", 0.332), ("R590", 0.59), ("1R0", 1.0), ("1R5", 1.5), ("3R32", 3.32), ("5R90", 5.9),
    ("10R", 10), ("33R2", 33.2), ("59R0", 59), ("100R", 100), ("332R", 332), ("1K0", 1e3), ("1K5", 1.5e3), ("3K32", 3.32e3),
    ("10K", 10e3), ("33K2", 33.2e3), ("590K", 590e3), ("1M0", 1e6), ("3M32", 3.32e6), ("10M", 10e6), ("332M", 332e6),
    ("1G0", 1e9), ("1T0", 1e12), ("0R47", 0.47), ("4k7", 4.7e3), ("R010", 0.01), ("5L0", 0.005), ("5m0", 0.005),
])  # fmt: skip
def test_letter_codes_of_resistors(code: str, ohm: float) -> None:
    """The letter stands where the point would."""
    assert value(code) == near(ohm, rel=1e-12)


@pytest.mark.parametrize("code, farad", [
    # IEC 60062, table of letter codes for capacitance (from memory)
    ("p10", 0.1e-12), ("p332", 0.332e-12), ("1p0", 1e-12), ("5p9", 5.9e-12), ("10p", 10e-12), ("33p2", 33.2e-12), ("332p", 332e-12),
    ("1n0", 1e-9), ("n15", 0.15e-9), ("3n32", 3.32e-9), ("10n", 10e-9), ("590n", 590e-9), ("1µ0", 1e-6), ("u15", 0.15e-6),
    ("33µ2", 33.2e-6), ("150µ", 150e-6), ("1m0", 1e-3), ("10m", 10e-3), ("100nF", 100e-9), ("4N7", 4.7e-9), ("4R7", 4.7e-12),
])  # fmt: skip
def test_letter_codes_of_capacitors(code: str, farad: float) -> None:
    """p, n, µ and m as the point; R as the point counts pF."""
    assert value(code, "capacitor") == near(farad, rel=1e-12)


@pytest.mark.parametrize("code, part, low, high", [
    ("R47K", "resistor", 0.423, 0.517), ("4K7J", "resistor", 4465, 4935), ("100RF", "resistor", 99, 101), ("6K8G", "resistor", 6664, 6936),
    ("33KK", "resistor", 29.7e3, 36.3e3), ("4M7M", "resistor", 3.76e6, 5.64e6), ("1002F", "resistor", 9.9e3, 10.1e3),
    ("4n7K", "capacitor", 4.23e-9, 5.17e-9), ("104K", "capacitor", 90e-9, 110e-9), ("473J", "capacitor", 44.65e-9, 49.35e-9),
    ("103Z", "capacitor", 8e-9, 18e-9), ("224M", "capacitor", 176e-9, 264e-9), ("104S", "capacitor", 80e-9, 150e-9),
    ("2A104J", "capacitor", 95e-9, 105e-9), ("104K100", "capacitor", 90e-9, 110e-9), ("104K 100V", "capacitor", 90e-9, 110e-9),
    # below 10 pF the letters are absolute (IEC 60062)
    ("4p7C", "capacitor", 4.45e-12, 4.95e-12), ("8p2D", "capacitor", 7.7e-12, 8.7e-12), ("2R2B", "capacitor", 2.1e-12, 2.3e-12),
    ("12pC", "capacitor", 11.97e-12, 12.03e-12), ("4K7 J", "resistor", 4465, 4935), ("01C", "resistor", 9900, 10100),
])  # fmt: skip
def test_tolerance_letters(code: str, part: str, low: float, high: float) -> None:
    """IEC 60062: F 1, G 2, J 5, K 10, M 20, S −20 +50, Z −20 +80 %; worked by hand."""
    quantity, _ = decode_leading(code.split(" "), part)
    assert quantity.toleranced
    assert (quantity.low, quantity.high) == (near(low, rel=1e-9), near(high, rel=1e-9))


@pytest.mark.parametrize("power", range(6))
def test_digit_codes_for_all_preferred_values(power: int) -> None:
    """Three digits for E24 and four for E96: the last counts the zeros. pF on a capacitor, µH on an inductor."""
    for step in E24:
        digits = round(step * 10)
        assert value(f"{digits}{power}") == near(digits * 10.0**power, rel=1e-12)
        assert value(f"{digits}{power}", "capacitor") == near(digits * 10.0**power * 1e-12, rel=1e-12)
        assert value(f"{digits}{power}", "thermistor") == near(digits * 10.0**power, rel=1e-12)
        if power < 4:
            assert value(f"{digits}{power}", "inductor") == near(digits * 10.0**power * 1e-6, rel=1e-12)
    if power < 5:
        for step in E96:
            digits = round(step * 100)
            assert value(f"{digits}{power}") == near(digits * 10.0**power, rel=1e-12)


def test_small_multipliers_of_capacitors() -> None:
    """9 as the last digit is ×0.1 (EIA-198): 229 is 2.2 pF. 8 is ×0.01 on ceramics, but 108 is 1000 µF on a tantalum: not guessed."""
    assert value("229", "capacitor") == near(2.2e-12)
    assert sorted(d.quantity.value for d in meanings("108", "capacitor") if d.quantity) == [
        near(0.1e-12),
        near(1e-3),
    ]
    with pytest.raises(MarkingError, match="write the value"):
        decode_leading(["108"], "capacitor")


@pytest.mark.parametrize("letter, factor", [("Z", 1e-3), ("Y", 1e-2), ("R", 1e-2), ("X", 0.1), ("S", 0.1), ("A", 1), ("B", 10), ("H", 10),
                                            ("C", 100), ("D", 1e3), ("E", 1e4), ("F", 1e5)])  # fmt: skip
def test_eia_96_for_all_96_numbers(letter: str, factor: float) -> None:
    """The number is the place in E96 as the eseries package lists it. A letter that is also a point (47R) has both meanings."""
    for place, step in enumerate(E96, 1):
        wanted = round(step * 100) * factor
        found = [d.quantity.value for d in meanings(f"{place:02d}{letter}", "resistor") if d.quantity]
        assert any(v == near(wanted, rel=1e-12) for v in found), (place, letter)


@pytest.mark.parametrize(
    "code, ohm", [("01C", 10e3), ("68X", 49.9), ("30B", 2e3), ("96A", 976), ("18D", 150e3)]
)
def test_eia_96_examples(code: str, ohm: float) -> None:
    """Examples of chip resistor data sheets (68X = 49.9 Ω, 01C = 10 kΩ), from memory."""
    assert value(code) == near(ohm)


def test_eia_198_capital_letters_are_e24_in_order() -> None:
    """A to Z without I and O are the 24 values of E24 (EIA-198); S3 is 4.7 nF, behind a maker's letter too."""
    letters = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    for letter, step in zip(letters, E24, strict=True):
        assert value(f"{letter}3", "capacitor") == near(step * 1e-9, rel=1e-12)
    assert value("KS3", "capacitor") == near(4.7e-9)
    assert value("A9", "capacitor") == near(0.1e-12)


@pytest.mark.parametrize(
    ("letter", "step"), list(zip("abdefmnty", (2.5, 3.5, 4.0, 4.5, 5.0, 6.0, 7.0, 8.0, 9.0)))
)
def test_eia_198_small_letters_fill_the_gaps(letter: str, step: float) -> None:
    """EIA-198, the letters beside E24 (from memory); m and n may stand for the point as well."""
    found = [d.quantity.value for d in meanings(f"{letter}3", "capacitor") if d.quantity]
    assert any(own == near(step * 1e-9) for own in found), found


@pytest.mark.parametrize("code, volts", [
    ("0J", "6.3"), ("1A", "10"), ("1B", "12.5"), ("1C", "16"), ("1D", "20"), ("1E", "25"), ("1V", "35"), ("1H", "50"), ("2A", "100"),
    ("2C", "160"), ("2D", "200"), ("2E", "250"), ("2F", "315"), ("2G", "400"), ("2W", "450"), ("2J", "630"), ("2K", "800"),
    ("3A", "1000"), ("3D", "2000"), ("3F", "3150"),
])  # fmt: skip
def test_rated_voltage_before_a_capacitors_code(code: str, volts: str) -> None:
    """A power of ten and a letter of the R10 series, as makers' catalogues of film and electrolytic capacitors list them
    (from memory): 1H 50 V, 2A 100 V, 2E 250 V, 2J 630 V, 3A 1 kV."""
    told = [d.as_text() for d in decode(f"{code}104K") if d.part == "capacitor"]
    assert any(text.endswith(f"; {volts} V") for text in told), told


@pytest.mark.parametrize("bands, share, volts", [
    ("brown black orange white red", 0.10, 250), ("brown black orange black yellow", 0.20, 400),
    ("brown black orange green blue", 0.05, 630), ("brown black orange green brown", 0.05, 100),
])  # fmt: skip
def test_bands_of_old_film_capacitors(bands: str, share: float, volts: int) -> None:
    """10 nF: digit, digit, multiplier in pF, tolerance (white 10, black 20, green 5 %), volts (brown 100, red 250, yellow 400, blue
    630); tables in service manuals of the 1960s and 1970s, from memory."""
    (found,) = meanings(bands, "capacitor")
    assert found.quantity is not None and found.quantity.value == near(10e-9)
    assert (found.quantity.low, found.quantity.high) == (near(10e-9 * (1 - share)), near(10e-9 * (1 + share)))
    assert found.as_text().endswith(f"; {volts} V")


@pytest.mark.parametrize("band, share", [("black", 0.20), ("silver", 0.10), ("gold", 0.05)])
def test_tolerance_band_of_an_inductor(band: str, share: float) -> None:
    """brown black red is 1000 µH; black 20, silver 10, gold 5 % (makers of moulded chokes, from memory)."""
    quantity, _used = decode_leading(f"brown black red {band}".split(" "), "inductor")
    assert (quantity.low, quantity.high) == (near(1e-3 * (1 - share)), near(1e-3 * (1 + share)))


def test_one_code_several_meanings() -> None:
    """103 is 10 kΩ, 10 nF, 10 mH; the resistor comes first."""
    found = decode("103")
    assert found[0].part == "resistor"
    values = {d.part: (d.quantity.value, d.quantity.unit) for d in found if d.quantity}
    assert values["resistor"] == (near(10e3), "ohm")
    assert values["capacitor"] == (near(10e-9), "F")
    assert values["inductor"] == (near(10e-3), "H")


def test_bands_that_read_from_both_ends() -> None:
    """brown black black red brown is 10 kΩ, and 120 Ω when turned round: both are told."""
    assert [d.quantity.value for d in meanings("brown black black red brown", "resistor") if d.quantity] == [
        near(10e3),
        near(120),
    ]
    assert len(meanings("yellow violet orange gold", "resistor")) == 1


@pytest.mark.parametrize("code, words", [
    ("X7R", "±15 % from −55 to +125"), ("Y5V", "+22 to −82 % from −30 to +85"), ("Z5U", "+22 to −56 % from +10 to +85"),
    ("X5R", "±15 % from −55 to +85"), ("X8R", "±15 % from −55 to +150"), ("C0G", "0 ± 30·10⁻⁶/K"), ("COG", "0 ± 30"), ("NP0", "0 ± 30"),
    ("MKP", "polypropylene"), ("X2", "2.5 kV"), ("Y2", "5 kV"),
])  # fmt: skip
def test_dielectrics_in_words(code: str, words: str) -> None:
    """EIA-198 letters and digits; classes of IEC 60384-14 (from memory)."""
    assert any(words in d.as_text() for d in decode(code))


def test_varistors_potentiometers_and_inrush_limiters() -> None:
    """A disc marked 431 is 430 V at 1 mA, 471K 470 V ±10 %; B103 a potentiometer of 10 kΩ; 10D-9 10 Ω (common practice, no source)."""
    assert value("431", "varistor") == 430
    quantity, _ = decode_leading(["14D471K"], "varistor")
    assert (quantity.low, quantity.high) == (near(423), near(517))
    assert value("B103", "potentiometer") == near(10e3)
    assert value("A50K", "potentiometer") == near(50e3)
    assert value("10D-9", "thermistor") == 10


@pytest.mark.parametrize("code, what, hint", [
    ("yelow violet orange gold", "yelow: no such colour", "did you mean yellow?"), ("yellow voilet orange", "voilet", "did you mean violet?"),
    ("brown blakc red gold", "blakc", "did you mean black?"), ("gold violet yellow", "gold never comes first", "other end"),
    ("brown gold red gold", "gold is not a digit", ""), ("yellow violet", "2 bands", "3 to 6"), ("red " * 7, "7 bands", "3 to 6"),
    ("yellow violet orange white", "white is not a tolerance", "other end"), ("brown black red foo", "foo: no such colour", "known: black"),
    ("97C", "EIA-96 counts from 01 to 96", ""), ("12Q", "not a letter of EIA-96", "its letters"), ("1O3", "a letter where a digit", "did you mean 103?"),
    ("", "no code", ""), ("zzz", "not a marking", "codes such as"), ("x" * 500, "too long", ""), ("104K bananas", "bananas: does not belong", "one code"),
    ("<b>", "not a marking", ""), ("black black black", "is zero", "link"), ("٤٧", "not a marking", ""),
])  # fmt: skip
def test_bad_codes_are_told_in_words(code: str, what: str, hint: str) -> None:
    """What is wrong and the nearest right thing, short enough for a line."""
    with pytest.raises(MarkingError) as caught:
        decode(code)
    assert what in caught.value.what and hint in caught.value.hint
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize("code, part, words", [
    ("000", "resistor", "link of 0 Ω"), ("0", "resistor", "link"), ("black", "resistor", "link"), ("1002", "capacitor", "write the value"),
    ("beige", "resistor", "not a marking"), ("yellow violet orange", "thermistor", "not known"), ("1N4007", "transistor", "no marking codes"),
    ("229", "resistor", "not a marking"), ("01C", "capacitor", "01C"),
])  # fmt: skip
def test_what_has_no_value_for_a_part_is_told(code: str, part: str, words: str) -> None:
    """A link, an ambiguous code, a code of another sort of part."""
    with pytest.raises(MarkingError) as caught:
        decode_leading(code.split(" "), part)
    assert words in str(caught.value)


@pytest.mark.parametrize("text, part, number, used_words", [
    ("R1 marked yellow violet orange gold 0.25W", "resistor", 47e3, ()), ("C1 marked 104K 100V X7R", "capacitor", 100e-9, ("X7R",)),
    ("TH1 marked 103 B3950", "thermistor", 10e3, ()), ("R7 marked 01C", "resistor", 10e3, ()), ("marked 4R7 2W", "resistor", 4.7, ()),
    ("ZD1 marked 5V1 400mW", "zener", 5.1, ()), ("R2 marked YE VT OG GD", "resistor", 47e3, ()), ("R2 marked red-red-brown-gold", "resistor", 220, ()),
    ("R2 marked gray red black gold carbon", "resistor", 82, ("carbon",)), ("R2 marked purple green red gold", "resistor", 7500, ()),
])  # fmt: skip
def test_in_parts(text: str, part: str, number: float, used_words: tuple[str, ...]) -> None:
    """Behind the word marked, among ratings and words."""
    found = parse_part(text, part)
    assert found.value is not None and found.value.value == near(number)
    assert found.words == used_words


def test_a_stated_tolerance_overrides_the_codes() -> None:
    """marked 103 leaves the default of 5 %; 1 % beside it counts."""
    silent, stated = (
        parse_part("R1 marked 103", "resistor").value,
        parse_part("R1 marked 103 1%", "resistor").value,
    )
    assert silent is not None and stated is not None
    assert (silent.high, stated.high) == (near(10500), near(10100))
    with pytest.raises(PartError, match="did you mean violet"):
        parse_part("R1 marked yellow voilet orange gold", "resistor")


@given(st.text(max_size=30))
@settings(max_examples=100, deadline=None)
def test_any_text_is_a_code_or_told(text: str) -> None:
    """Nothing but MarkingError comes out of rubbish, and every meaning has a finite value."""
    try:
        found = decode(text)
    except MarkingError:
        return
    for entry in found:
        assert entry.as_text() and entry.as_data()["part"]
        assert (
            entry.quantity is None
            or 0 <= entry.quantity.low <= entry.quantity.middle <= entry.quantity.high < 1e15
        )


@given(st.sampled_from(E24), st.integers(-1, 6), st.sampled_from("FGJKM"))
@settings(max_examples=100, deadline=None)
def test_letter_codes_survive_a_round_trip(step: float, power: int, letter: str) -> None:
    """A value written by the rule of IEC 60062 (letter for the point, then tolerance) is read back."""
    ohm = step * 10**power
    size, sign = (1e6, "M") if ohm >= 999999 else (1e3, "K") if ohm >= 999 else (1.0, "R")
    whole, _, fraction = f"{round(ohm / size, 6):g}".partition(".")
    code = f"{'' if whole == '0' else whole}{sign}{fraction}{letter}"
    assert value(code) == near(ohm, rel=1e-9), code


def test_tables_for_the_page() -> None:
    """Every row fits its header, and known lines of the standards stand in them."""
    found = {title: (header, rows) for title, header, rows in tables()}
    for title, (header, rows) in found.items():
        assert title and rows
        assert {len(row) for row in rows} == {len(header)}, title
        assert all(isinstance(cell, str) for row in rows for cell in row)
    colours = {row[0]: row for row in found["Colour bands (IEC 60062)"][1]}
    for digit, name in enumerate(DIGITS):
        assert colours[name][1] == str(digit)
    for name, percent in TOLERANCES.items():
        assert colours[name][3] == f"±{percent:g} %"
    numbers = [cell for row in found["EIA-96 numbers"][1] for cell in row]
    assert dict(zip(numbers[::2], numbers[1::2])) == {
        f"{i:02d}": str(round(v * 100)) for i, v in enumerate(E96, 1)
    }
    bands = {row[2]: row[3] for row in found["What each band is"][1]}
    assert bands["yellow violet orange gold"] == "47 kΩ ±5 %"
    assert not [cell for row in found["What each band is"][1] for cell in row if not cell]
    assert re.search(r"100 nF ±10 %", str(found["Digits: the last one counts the zeros"]))
