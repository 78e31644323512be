"""What is written is read, or refused: tolerances, ranges, ratings in every usual form, and words that nobody understands."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from generator.notation.part_classes import CLASSES
from generator.notation.part_reading import parse_part
from generator.notation.parts import Part, PartError
from generator.notation.quantity import QuantityError, parse

# (written, low, high) of a 10 kΩ resistor; the ends by hand. Letters: IEC 60062 (J 5 %, K 10 %, M 20 %, F 1 %, Z -20/+80 %).
TOLERANCES = [
    ("10k 5%", 9.5e3, 10.5e3), ("10k ±5 %", 9.5e3, 10.5e3), ("10k +/-5%", 9.5e3, 10.5e3), ("10k +- 5 %", 9.5e3, 10.5e3),
    ("10k +80/-20%", 8e3, 18e3), ("10k +80/-20 %", 8e3, 18e3), ("10k -20/+80%", 8e3, 18e3), ("10k +80% -20%", 8e3, 18e3),
    ("10k -20% +80%", 8e3, 18e3), ("10k +80 % - 20 %", 8e3, 18e3), ("10k -20%+80%", 8e3, 18e3), ("10k +50/-10%", 9e3, 15e3),
    ("10k +0/-20%", 8e3, 10e3), ("10k 0,5 %", 9.95e3, 10.05e3), ("10k (5%)", 9.5e3, 10.5e3), ("10k, 5%", 9.5e3, 10.5e3),
    ("10k J", 9.5e3, 10.5e3), ("10k M", 8e3, 12e3), ("10 k M", 8e3, 12e3), ("10K F", 9.9e3, 10.1e3), ("10k Z", 8e3, 18e3),
    ("10kJ", 9.5e3, 10.5e3), ("103J", 9.5e3, 10.5e3), ("10k J 5%", 9.5e3, 10.5e3), ("10k 5% 5%", 9.5e3, 10.5e3),
    ("marked brown black orange gold 5%", 9.5e3, 10.5e3),
]  # fmt: skip


@pytest.mark.parametrize(("text", "low", "high"), TOLERANCES)
def test_tolerances_in_every_form(text: str, low: float, high: float) -> None:
    value = parse_part(f"R1 {text}", "resistor").value
    assert value is not None and value.value == pytest.approx(10e3)
    assert (value.low, value.high) == pytest.approx((low, high))


@pytest.mark.parametrize("text", [
    "10k -20%", "10k nan%", "10k 20% 1%", "10k J 1%", "10k M J", "10k 120%", "10k %", "10k +5%", "10k ±", "10k 5%%", "10k J5",
    "marked brown black orange gold 1%", "47k..56k 5%", "10k inf%", "10k 5 % 10 %",
])  # fmt: skip
def test_contradictions_and_half_a_tolerance_are_refused(text: str) -> None:
    with pytest.raises(PartError):
        parse_part(f"R1 {text}", "resistor")


@pytest.mark.parametrize(("part_class", "text", "name", "low", "high"), [
    ("transistor", "Q1 hfe100 ±50%", "hfe", 50.0, 150.0), ("transistor", "Q1 hfe100±50% 45V", "hfe", 50.0, 150.0),
    ("transistor", "Q1 hfe 110..800", "hfe", 110.0, 800.0), ("mosfet", "Q1 vth2 rds0R05 20%", "rds", 0.04, 0.06),
    ("mosfet", "Q1 vth2 10% rds0R05", "vth", 1.8, 2.2), ("optocoupler", "U3 ctr50..600%", "ctr", 0.5, 6.0),
    ("thermistor", "TH1 100k B3950±2% 5%", "B", 3871.0, 4029.0), ("transistor", "Q1 hfe100 -50/+200%", "hfe", 50.0, 300.0),
])  # fmt: skip
def test_further_values_have_tolerances_of_their_own(
    part_class: str, text: str, name: str, low: float, high: float
) -> None:
    """A tolerance behind a part without a value of its own belongs to the figure before it."""
    found = parse_part(text, part_class).extras[name]
    assert (found.low, found.high) == pytest.approx((low, high)) and found.toleranced


def test_a_stated_least_gain_is_a_lower_end() -> None:
    found = parse_part("Q1 hfe>=100 45V", "transistor").extras["hfe"]
    assert (found.value, found.low) == (100.0, 100.0) and found.high > 1e6


@pytest.mark.parametrize(("text", "unit", "low", "high"), [
    ("2000 W +5/-10%", "W", 1800.0, 2100.0), ("2000 W -10% +5%", "W", 1800.0, 2100.0), ("12 V ±5 %", "V", 11.4, 12.6),
    ("80 % ±10 %", "", 0.72, 0.88), ("100 % -50/+100 %", "", 0.5, 2.0), ("240 ohm J", "ohm", 228.0, 252.0),
    ("820..1k2", "ohm", 820.0, 1200.0), ("100..100k", "ohm", 100.0, 100e3), ("47..56k", "ohm", 47e3, 56e3), ("4..4k7", "ohm", 4e3, 4.7e3),
    ("2..3 mA", "A", 2e-3, 3e-3), ("800..1.2 kV", "V", 800.0, 1200.0), ("1..2 min", "s", 60.0, 120.0), ("62k..51k", "ohm", 51e3, 62e3),
])  # fmt: skip
def test_values_with_a_band(text: str, unit: str, low: float, high: float) -> None:
    """A range means what it says; a bare first figure shares the unit, and the prefix where it is the smaller as written."""
    found = parse(text, unit)
    assert (found.low, found.high) == pytest.approx((low, high))


@pytest.mark.parametrize(("text", "unit"), [
    ("12 V -20%", "V"), ("5 V nan%", "V"), ("12 V 5% 1%", "V"), ("900..1.2mA", "A"), ("100..100n", "F"), ("10 s", "ohm"), ("+80/-20 %", "V"),
])  # fmt: skip
def test_values_that_are_refused(text: str, unit: str) -> None:
    with pytest.raises(QuantityError):
        parse(text, unit)


# Letter codes of IEC 60062: the letter stands where the point would.
@pytest.mark.parametrize(
    ("text", "value"),
    [("n47", 0.47e-9), ("u47", 0.47e-6), ("p68", 0.68e-12), ("C1 n47 50V", 0.47e-9), ("C2 u1", 0.1e-6)],
)
def test_a_letter_before_the_figures(text: str, value: float) -> None:
    found = parse_part(text, "capacitor").value
    assert found is not None and found.value == pytest.approx(value)


@pytest.mark.parametrize(("part_class", "text", "value"), [
    ("capacitor", "C1 104K", 100e-9), ("resistor", "R1 104K", 100e3), ("resistor", "R1 470K", 470e3), ("inductor", "L1 101K", 100e-6),
    ("resistor", "R1 105K", 105e3),
])  # fmt: skip
def test_a_code_with_its_letter(part_class: str, text: str, value: float) -> None:
    """Figures with a count of zeros and a tolerance's letter; K as kilo where that gives a preferred value (IEC 60063)."""
    found = parse_part(text, part_class).value
    assert found is not None and found.value == pytest.approx(value)


@pytest.mark.parametrize(("part_class", "text", "value", "ratings"), [
    ("contact", "K1 16(4)A 250V~ T85", 16.0, {"V": 250.0}), ("contact", "K1 16 (4) A 250 V~", 16.0, {"V": 250.0}),
    ("capacitor", "C1 1000u 16WV", 1e-3, {"V": 16.0}), ("capacitor", "C1 1000u 16 WV", 1e-3, {"V": 16.0}),
    ("capacitor", "C1 220n 275 V AC X2", 220e-9, {"V": 275.0}), ("capacitor", "C1 10u WV25", 10e-6, {"V": 25.0}),
    ("transistor", "Q1 Vce45V", None, {"V": 45.0}), ("transistor", "Q1 VCEO=45V Ic500mA Ptot625mW", None, {"V": 45.0, "A": 0.5, "W": 0.625}),
    ("mosfet", "Q1 Vds30V Id10A", None, {"V": 30.0, "A": 10.0}), ("diode", "D1 Vrrm1000V", None, {"V": 1000.0}),
    ("varistor", "RV1 250V~", 250.0, {}), ("varistor", "RV1 250 V AC", 250.0, {}), ("switch", "S1 16(4)A 250V~ 5E4", None, {"A": 16.0, "V": 250.0}),
])  # fmt: skip
def test_ratings_as_they_are_printed(
    part_class: str, text: str, value: float | None, ratings: dict[str, float]
) -> None:
    """IEC 61058-1: 16(4)A is 16 A resistive, 4 A inductive. WV: working voltage, as old cans say. Common practice, no source."""
    part = parse_part(text, part_class)
    assert part.ratings == pytest.approx(ratings)
    assert (part.value.value if part.value else None) == (pytest.approx(value) if value else None)


@pytest.mark.parametrize(("part_class", "text", "named"), [
    ("resistor", "R1 10 Hz", "frequency"), ("resistor", "R1 10 s", "time"), ("resistor", "R1 100 lux", "illuminance"),
    ("resistor", "R1 47 kHz", "frequency"), ("transistor", "Q1 hfe1O0", "hfe1O0"), ("transistor", "Q1 Vebo5V", "Vebo5V"),
    ("capacitor", "C1 1000u V35", "V35"), ("zener", "ZD1 5V1 6V2", "6V2"), ("resistor", "R1 10k 5-volt", "5-volt"), ("capacitor", "C1 104", "marked 104"),
    ("transistor", "Q1 500MA", "500mA"), ("resistor", "R1 10k Hz", "without a figure"), ("mosfet", "Q1 20%", "20%"),
])  # fmt: skip
def test_what_is_not_understood_is_named(part_class: str, text: str, named: str) -> None:
    with pytest.raises(PartError) as refused:
        parse_part(text, part_class)
    assert named in str(refused.value)


@pytest.mark.parametrize(("part_class", "text"), [
    ("transistor", "Q1 BC547B hfe200"), ("diode", "D1 1N4148"), ("chip", "U1 7805"), ("chip", "U2 NE555P 18V"), ("resistor", "R1 10k 0805"),
    ("capacitor", "C1 680u 35V 105 °C low-impedance"), ("capacitor", "C1 100n X7R"), ("resistor", "R1 10k 50ppm/K"), ("led", "LD1 red 5mm"),
    ("fuse", "F1 T2A 5x20"), ("element", "E1 2200W 230V 50Hz"), ("varistor", "RV1 14D471K"), ("triac", "TR1 BTA16-600B 16A 600V"),
])  # fmt: skip
def test_type_numbers_and_sizes_are_remarks(part_class: str, text: str) -> None:
    """A type number, a size, a temperature says something else than the value, and is kept to be shown."""
    assert parse_part(text, part_class).words


def test_a_link_of_no_ohms_where_there_may_be_one() -> None:
    for text in ("R1 0", "R1 0R", "R1 0 ohm", "R1 marked 000", "0R0"):
        part = parse_part(text, "resistor", zero=True)
        assert part.value is not None and (part.value.value, part.value.high) == (0.0, 0.0), text
        with pytest.raises(PartError, match="0 Ω"):
            parse_part(text, "resistor")


WHOLE = {
    "resistor": "R1 10k", "capacitor": "C1 100n", "thermistor": "TH1 10k B3950", "photoresistor": "LDR1 10k", "potentiometer": "RV1 10k",
    "inductor": "L1 10mH", "diode": "D1", "zener": "ZD1 5V1", "led": "LD1 red", "transistor": "Q1 hfe100", "mosfet": "Q1 vth2 rds0R05",
    "triac": "TR1", "diac": "DB1 32V", "fuse": "F1 2A", "thermal fuse": "TF1 167C", "varistor": "RV1 275V", "switch": "S1", "contact": "RL1 5A",
    "element": "E1 2000W", "winding": "M1 6R", "coil": "RL1 400", "chip": "U1", "optocoupler": "U3 ctr100", "any": "M1 motor", "loudspeaker": "LS1 8", "pnp or p-channel transistor": "Q2 hfe100",
}  # fmt: skip


def test_every_class_is_tried() -> None:
    assert set(WHOLE) == set(CLASSES)


WORDS = st.one_of(
    st.text("0123456789.,%+-±/()kMmunpRVAWFHzJKCΩ°~=xX", min_size=1, max_size=8),
    st.from_regex(r"[+-]?[0-9]{1,4}[.,]?[0-9]?[pnumkM]?(V|A|W|F|H|Hz|s|lux|ohm|K|C|%|l|g)?", fullmatch=True),
    st.from_regex(r"[A-Za-z]{1,4}[0-9]{1,4}[A-Za-z%]{0,2}", fullmatch=True),
)


@given(st.sampled_from(sorted(WHOLE)), WORDS)
def test_no_word_with_a_figure_vanishes(part_class: str, word: str) -> None:
    """Any word with a digit, a sign or a % changes what is read, is kept as a remark, or is named in an error."""
    assume(re.search(r"[\d%±]|[+-]", word) and word.strip("().,"))
    before = parse_part(WHOLE[part_class], part_class)
    try:
        part = parse_part(f"{WHOLE[part_class]} {word}", part_class)
    except QuantityError as error:
        told = re.sub(r"[^\w%]", "", str(error))
        assert all(run in told for run in re.findall(r"[\d%]+", word)), (word, str(error))
        return
    assert _read(part) != _read(before), f"{word} was passed over"


def _read(part: Part) -> Part:
    return replace(part, text="", words=part.words)


@given(st.sampled_from(["V", "A", "ohm", "F", "W", "s", "Hz", "°C", ""]), WORDS)
def test_no_value_is_half_read(unit: str, word: str) -> None:
    """A value with a word behind it that changes nothing is refused."""
    base = {
        "V": "12 V",
        "A": "1 A",
        "ohm": "10k",
        "F": "100n",
        "W": "5 W",
        "s": "3 s",
        "Hz": "50 Hz",
        "°C": "20 C",
        "": "0.5",
    }[unit]
    try:
        found = parse(f"{base} {word}", unit, positive=False)
    except QuantityError:
        return
    assert replace(found, text="") != replace(parse(base, unit, positive=False), text="") or not re.search(
        r"[\d%]", word
    )
