"""Parts and values as people write them at the bench, and texts that could mean two things."""

from __future__ import annotations

import pytest

from generator.circuit.circuit import Mains, build, build_block
from generator.notation.part_reading import parse_part
from generator.notation.parts import PartError, each_of
from generator.notation.quantity import QuantityError, parse

MAINS = Mains()

# Common practice, no source: each line is read as somebody at the bench would read it.
WRITTEN = [
    ("capacitor", "C3 35V 1000u", "C3", 1e-3, {"V": 35.0}), ("capacitor", "1000u C3 35V", "C3", 1e-3, {"V": 35.0}),
    ("capacitor", "C3 1000µF/35V", "C3", 1e-3, {"V": 35.0}), ("capacitor", "c3 1000u 35v", "C3", 1e-3, {"V": 35.0}),
    ("capacitor", "X2 220n 275 V~ C1", "C1", 220e-9, {"V": 275.0}), ("capacitor", "C3 1000mfd", "C3", 1e-3, {}),
    ("capacitor", "C1 220n 630VDC 275VAC X2", "C1", 220e-9, {"V": 275.0}), ("capacitor", "100n X7R", "", 100e-9, {}),
    ("resistor", "R1 0.5W 1M", "R1", 1e6, {"W": 0.5}), ("resistor", "R9 10 kOhm", "R9", 10e3, {}),
    ("resistor", "R9 1 Meg", "R9", 1e6, {}), ("resistor", "R 9 10k", "R9", 10e3, {}), ("resistor", "R9: 4,7 kΩ, 1 %", "R9", 4700.0, {}),
    ("resistor", "R9=10k", "R9", 10e3, {}), ("resistor", "R9a 10k 1/4 W", "R9a", 10e3, {"W": 0.25}), ("resistor", "R47", "", 0.47, {}),
    ("fuse", "F1 T3.15A 250V", "F1", 3.15, {"V": 250.0}), ("fuse", "T3,15AL250V", "", 3.15, {"V": 250.0}),
    ("fuse", "F1 F2A", "F1", 2.0, {}), ("fuse", "F1A 2A", "F1A", 2.0, {}), ("thermal fuse", "TF1 live 167C", "TF1", 167.0, {}),
    ("diode", "D6 1N4007 1000V 1A", "D6", None, {"V": 1000.0, "A": 1.0}), ("varistor", "RV1 14K275", "RV1", None, {}),
    ("led", "red LD1", "LD1", None, {}), ("capacitor", "C1 2200 mfd 35 v", "C1", 2.2e-3, {"V": 35.0}),
    ("capacitor", "C1 2200uf", "C1", 2.2e-3, {}), ("capacitor", "100 nf C9", "C9", 100e-9, {}),
    ("resistor", "R1 1 megohm", "R1", 1e6, {}), ("resistor", "R1 2.2 Megohms ½ W", "R1", 2.2e6, {"W": 0.5}),
    ("resistor", "R1 10 kilohms 2 watts", "R1", 10e3, {"W": 2.0}), ("resistor", "10 kilo ohm 1/10 W", "", 10e3, {"W": 0.1}),
    ("resistor", "R1 10k, 1%, ¼W", "R1", 10e3, {"W": 0.25}), ("resistor", "R1 4R7 1½W", "R1", 4.7, {"W": 1.5}),
    ("capacitor", "C1 1000 microfarads 16 Volts", "C1", 1e-3, {"V": 16.0}), ("capacitor", "C1 100UF 16 V=", "C1", 1e-4, {"V": 16.0}),
    ("capacitor", "C1 470NF", "C1", 470e-9, {}), ("fuse", "F1 T2A H 250V", "F1", 2.0, {"V": 250.0}), ("fuse", "F1 1/2A", "F1", 0.5, {}),
    ("varistor", "RV1 275V~ 350V=", "RV1", 275.0, {}), ("chip", "U1 1/2 LM358", "U1", None, {}),
]  # fmt: skip


@pytest.mark.parametrize(("part_class", "text", "designator", "value", "ratings"), WRITTEN)
def test_parts_are_read_as_written(
    part_class: str, text: str, designator: str, value: float | None, ratings: dict[str, float]
) -> None:
    """Designator, value and ratings come out whatever the order and the punctuation."""
    part = parse_part(text, part_class)
    assert (part.designator, part.ratings) == (designator, ratings)
    assert (part.value.middle if part.value else None) == (pytest.approx(value) if value else None)


@pytest.mark.parametrize(("part_class", "text", "name", "value"), [
    ("transistor", "Q1 500mA hFE = 100 45V", "hfe", 100.0), ("transistor", "Q1 hfe 100", "hfe", 100.0),
    ("transistor", "Q1 β=100", "hfe", 100.0),
    ("mosfet", "Q1 Vth 2V Rds 0R05", "rds", 0.05),
    ("mosfet", "Q1 Vgs(th)=2.5V RDS(on) = 80 mohm", "rds", 0.08), ("mosfet", "Q1 VGSth 2.5 V rdson 80mohm", "vth", 2.5), ("thermistor", "NTC1 10k B 3950", "B", 3950.0),
    ("thermistor", "B3950 10k TH1", "B", 3950.0), ("thermistor", "TH1 10k B25/85 3435", "B", 3435.0),
    ("thermistor", "TH1 10k beta3950", "B", 3950.0), ("photoresistor", "LDR1 10k γ 0,7", "gamma", 0.7),
])  # fmt: skip
def test_further_values_with_a_space_or_a_sign_between(
    part_class: str, text: str, name: str, value: float
) -> None:
    assert parse_part(text, part_class).extras[name].middle == pytest.approx(value)


@pytest.mark.parametrize(("part_class", "text"), [
    ("resistor", "R9"), ("resistor", "R9 1M 2M"), ("resistor", "R9 10k 200%"), ("resistor", "R9 10 kilo"), ("capacitor", "C1 104"),
    ("resistor", "R1-10k"), ("contact", "K1 10/8A"), ("transistor", "Q1 hfe100%"), ("resistor", "R1 10k 1/2"), ("resistor", "R1 10k ±500"),
    ("capacitor", "C1 100 35V"), ("capacitor", "C1 1,000 µF"), ("resistor", "R9 0R1xyz"), ("capacitor", "C1 220n 330n"),
])  # fmt: skip
def test_what_could_mean_two_things_is_refused(part_class: str, text: str) -> None:
    """A value of which nobody can tell what is meant is told, not guessed."""
    with pytest.raises(PartError):
        parse_part(text, part_class)


def test_uneven_tolerance_of_old_electrolytics() -> None:
    """-20/+50 %, as IEC 60062 codes with S (from memory) and old cans spell out."""
    value = parse_part("C3 1000u -20%+50%", "capacitor").value
    assert value and (value.low, value.high) == (pytest.approx(0.8e-3), pytest.approx(1.5e-3))


@pytest.mark.parametrize(("text", "unit", "value"), [
    ("12V DC", "V", 12.0), ("230 V AC", "V", 230.0), ("230V~", "V", 230.0), ("12v", "V", 12.0), ("3 Amps", "A", 3.0),
    ("2000 Watt", "W", 2000.0), ("−20 °C", "°C", -20.0), ("2R2 ohm", "ohm", 2.2), ("2 mW/°C", "W/K", 2e-3), ("90 seconds", "s", 90.0),
    ("9.4 Vpp", "V", 9.4), ("15 Vrms", "V", 15.0), ("12 Vdc", "V", 12.0), ("7.4mA DC", "A", 7.4e-3), ("5 C/W", "K/W", 5.0),
])  # fmt: skip
def test_units_as_written(text: str, unit: str, value: float) -> None:
    assert parse(text, unit, positive=unit != "°C").value == pytest.approx(value)


@pytest.mark.parametrize(
    "text", ["9.8..9.9 V", "9.8 - 9.9 V", "9.8-9.9 V", "9.8 V-9.9 V", "9.8 to 9.9 V", "9.8 … 9.9V"]
)
def test_ranges_as_written(text: str) -> None:
    found = parse(text, "V")
    assert (found.value, found.low, found.high) == (None, 9.8, 9.9)


def test_quotes_that_are_text_are_told() -> None:
    with pytest.raises(QuantityError, match="these quotes are part of the text"):
        parse("“12 V”", "V")


def test_a_thousand_or_one_is_asked_back() -> None:
    """1,000 is a thousand to some and one to others; 0,125 and 4,7 are not."""
    with pytest.raises(QuantityError, match="1000 or 1"):
        parse("1,000 V", "V")
    assert parse("0,125 W", "W").value == 0.125


def test_a_secondary_of_which_only_a_range_or_another_value_is_known() -> None:
    """11 to 13 V on mains of ±10 %: at most 13·1.1·√2 − 2·0.7 V without load (peak rectifier)."""
    exact = {"regulation": "0 %", "diode_drop": "0.7 V 0%"}
    block, troubles = build_block(
        "transformer-supply", {"secondary": "11..13 V", "smoothing": "C3 1000u 35V", **exact}, MAINS
    )
    assert block is not None, troubles
    top = block.values["high_mains_peak"]
    assert top.value is None and top.high == pytest.approx(13 * 1.1 * 2**0.5 - 1.4)
    assert block.failures
    blocks = {
        "tap": {"kind": "divider", "supply": "24 V", "upper": "1k", "lower": "1k"},
        "supply": {"kind": "transformer-supply", "secondary": "tap.output", "smoothing": "C3 1000u 35V"},
    }
    circuit = build(blocks, MAINS)
    assert not circuit.troubles and circuit.blocks["supply"].values["peak"].value == pytest.approx(
        12 * 2**0.5 - 1.4
    )


def test_a_load_that_is_a_part_fails_too() -> None:
    """R7 open on a 5 V regulator: no load, so 5 mA · 10 Ω across the series resistor (Ohm's law); a bare 240 ohm stands for others."""
    given = {"input": "10 V", "series": "R2 10", "output": "5 V"}
    block, _ = build_block("linear-regulator", {**given, "load": "R7 240"}, MAINS)
    assert block is not None
    failed = {(f.part, f.failed): f for f in block.failures}
    assert failed["R7", "open"].values["series_drop"].value == pytest.approx(0.05)
    assert failed["R7", "high"].values["series_drop"].value == pytest.approx((5 / 480 + 0.005) * 10)
    unnamed, _ = build_block("linear-regulator", {**given, "load": "240 ohm"}, MAINS)
    assert unnamed is not None and {f.part for f in unnamed.failures} == {"R2", "regulator"}


def test_choices_however_spelled_and_shares_without_their_sign() -> None:
    """LiFePO4 is li-fe-po4; a regulation of "12" is more likely 12 % than 1200 %, and is asked back."""
    block, troubles = build_block(
        "battery-pack", {"cells": "4", "chemistry": "LiFePO4", "capacity": "2 Ah", "load": "1 A"}, MAINS
    )
    assert block is not None and block.values["nominal"].value == pytest.approx(12.8), troubles
    block, troubles = build_block(
        "transformer-supply", {"secondary": "12 V", "smoothing": "C3 1000u", "regulation": "12"}, MAINS
    )
    assert block is None and "1200 %" in troubles[0].what


def test_a_contact_for_low_voltage_fails_on_the_mains() -> None:
    """A relay contact rated 10 A at 30 V may weld or burn on 230 V: its voltage counts as well as its current."""
    given = {"power": "500 W", "rated_voltage": "230 V"}
    for contact, ok in (("RL1 10A 30V", False), ("RL1 10A 250V", True)):
        block, _ = build_block("heater", {**given, "contact": contact}, MAINS)
        assert block is not None and all(check.ok for check in block.checks) is ok


def test_an_open_load_resistor_lets_the_dropper_and_the_rail_rise_no_further_than_the_clamp() -> None:
    """Without its load the rail stays at the clamp's 5.1 V, with or without its smoothing capacitor's share of the load."""
    given = {
        "dropper": "C1 330n X2",
        "series": "R1 100",
        "output": "5.1 V",
        "load": "R7 1k",
        "smoothing": "C2 470u 16V",
        "clamp": "ZD1 5V1 1W",
    }
    block, _ = build_block("capacitive-dropper", given, MAINS)
    assert block is not None
    opened = next(f for f in block.failures if (f.part, f.failed) == ("R7", "open"))
    assert opened.values["rail"].value == pytest.approx(5.1)


def test_a_small_smoothing_capacitor_is_electrolytic_all_the_same() -> None:
    """The library's convention: smoothing 20 % unless a word or a tolerance says otherwise."""
    given = {"secondary": "9 V", "smoothing": "C3 680n", "bleeder": "R1 1M 0%"}
    for text, share in (("C3 680n", 0.2), ("C3 680n film", 0.1), ("C3 680n 5%", 0.05)):
        block, _ = build_block("transformer-supply", {**given, "smoothing": text}, MAINS)
        assert block is not None
        axis = next(axis for axis in block.axes if axis.names == ("smoothing",))
        assert (axis.low, axis.high) == (
            pytest.approx(680e-9 * (1 - share)),
            pytest.approx(680e-9 * (1 + share)),
        )


def test_a_range_stays_a_range_where_a_part_has_failed() -> None:
    """A cut point of 51 to 62 kΩ under a fixed resistor gone to 94 kΩ: 5 V·51/(51 + 94) to 5 V·62/(62 + 94), no single value."""
    given = {
        "supply": "5 V",
        "fixed": "R9 47k 0%",
        "thermistor": "TH1 100k B3950",
        "cut_points": {"c": {"resistance": "51k..62k"}},
    }
    block, _ = build_block("thermistor-divider", given, MAINS)
    assert block is not None
    reads = next(f for f in block.failures if (f.part, f.failed) == ("R9", "high")).values["c.output"]
    assert reads.value is None
    assert (reads.low, reads.high) == (pytest.approx(5 * 51 / 145), pytest.approx(5 * 62 / 156))


def test_a_triac_is_held_to_the_bottom_of_the_mains_where_the_mains_is_stated() -> None:
    """A load that takes its 230 W anywhere in the band draws 1.11 A at 207 V."""
    for rated, ok in (("1.05A", False), ("1.2A", True)):
        block, _ = build_block(
            "triac-switch", {"supply": "230 V", "load": "230 W", "triac": f"TR1 {rated} 600V"}, MAINS
        )
        assert block is not None and block.checks[0].ok is ok


def test_each_of_several_alike() -> None:
    """ "D1-D4" is D1, D2, D3 and D4, as on a parts list; a range that runs backwards or a single part is none."""
    assert each_of("D1-D4") == ["D1", "D2", "D3", "D4"]
    assert each_of("R5-R7", 3) == ["R5", "R6", "R7"]
    assert each_of("D1-D4", 2) == each_of("D4-D1") == each_of("D1") == []
