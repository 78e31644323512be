"""The tables behind markings on parts as a page shows them, with examples decoded by the decoder itself."""

from __future__ import annotations

from generator.language import _, localized
from generator.notation import marking_tables
from generator.notation.marking import decode_leading
from generator.notation.marking_meaning import MarkingError
from generator.notation.printed import format_value
from generator.notation.tolerance import TOLERANCE_LETTERS

Table = tuple[str, list[str], list[list[str]]]  # title, header, rows


def tables() -> list[Table]:
    """Every table as (title, header, rows), for a page of codes."""
    return [
        _colours(), _bands(), _points(), _digits(), _tolerances(), _eia96(), _eia96_numbers(), _eia_capacitors(), _voltages(),
        _dielectrics(),
    ]  # fmt: skip


def _power(exponent: int) -> str:
    return "×10" + str(exponent).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))


def _colours() -> Table:
    rows = [
        [_(c.name), "" if c.digit is None else str(c.digit), _power(c.exponent),
         "" if c.tolerance is None else f"±{marking_tables.percent(c.tolerance)}", "" if c.coefficient is None else str(c.coefficient)]
        for c in marking_tables.COLOURS.values()
    ]  # fmt: skip
    rows.append([_("no band"), "", "", f"±{marking_tables.percent(marking_tables.NO_BAND_TOLERANCE)}", ""])
    head = [_("Colour"), _("Digit"), _("Multiplier"), _("Tolerance"), _("Temperature coefficient, 10⁻⁶/K")]
    return _("Colour bands (IEC 60062)"), head, rows


def _bands() -> Table:
    return _("What each band is"), [_("Bands"), _("Read as"), _("Example"), _("Value")], [
        ["1", _("black alone: a link"), _("black"), "0 Ω"],
        _band_row("3", _("digit, digit, multiplier; ±20 %"), "brown black red"),
        _band_row("4", _("digit, digit, multiplier, tolerance"), "yellow violet orange gold"),
        _band_row("5", _("digit, digit, digit, multiplier, tolerance"), "brown black black red brown"),
        _band_row("6", _("as five, then temperature coefficient"), "brown black black red brown red"),
    ]  # fmt: skip


def _band_row(count: str, words: str, example: str) -> list[str]:
    return [
        count,
        words,
        " ".join(_(colour) for colour in example.split()),
        _example(example.split(), "resistor"),
    ]


def _example(tokens: list[str], part_class: str) -> str:
    try:
        found, _rest = decode_leading(tokens, part_class)
    except MarkingError:
        return ""
    stated = (found.high / found.middle - 1) if found.toleranced else 0.0
    return format_value(found.middle, found.unit, 4, trim=True) + (
        f" ±{marking_tables.percent(round(stated, 6))}" if stated else ""
    )


def _points() -> Table:
    head = [_("Letter"), _("On a resistor"), _("Example"), _("On a capacitor"), _("Example")]
    return _("A letter for the point (IEC 60062)"), head, [
        ["R", "Ω", f"4R7 = {_example(['4R7'], 'resistor')}", _("pF, on ceramic parts"), f"4R7 = {_example(['4R7'], 'capacitor')}"],
        ["K", "kΩ", f"4K7 = {_example(['4K7'], 'resistor')}", "", ""],
        ["M", "MΩ", f"1M5 = {_example(['1M5'], 'resistor')}", "", ""],
        ["L", "mΩ", f"5L0 = {_example(['5L0'], 'resistor')}", "", ""],
        ["p", "", "", "pF", f"p68 = {_example(['p68'], 'capacitor')}"],
        ["n", "", "", "nF", f"4n7 = {_example(['4n7'], 'capacitor')}"],
        [_("µ or u"), "", "", "µF", f"2µ2 = {_example(['2µ2'], 'capacitor')}"],
    ]  # fmt: skip


def _digits() -> Table:
    codes = ("4R7", "100", "471", "103", "104", "475", "1002", "4701", "104K", "473J", "229")
    rows = [[code, *(_example([code], c) for c in ("resistor", "capacitor", "inductor"))] for code in codes]
    return (
        _("Digits: the last one counts the zeros"),
        [_("Code"), _("On a resistor"), _("On a capacitor"), _("On an inductor")],
        rows,
    )


def _tolerances() -> Table:
    rows = []
    for letter, (below, above) in TOLERANCE_LETTERS.items():
        small = marking_tables.SMALL_CAPACITOR_LETTERS.get(letter)
        rows.append(
            [
                letter,
                marking_tables.tolerance_words(below, above),
                localized(f"±{small * 1e12:g} pF") if small else "",
            ]
        )
    return (
        _("Tolerance letters (IEC 60062)"),
        [_("Letter"), _("Tolerance"), _("Capacitors below 10 pF")],
        rows,
    )


def _eia96() -> Table:
    rows = [[letter, localized(f"×{factor:g}"), _example(["01" + letter], "resistor") if letter not in "RSH" else _("older letter")]
            for letter, factor in marking_tables.EIA96_MULTIPLIERS.items()]  # fmt: skip
    return _("EIA-96 letters (1 % chip resistors)"), [_("Letter"), _("Multiplier"), _("With 01")], rows


def _eia96_numbers() -> Table:
    rows = [[text for column in range(4) for text in (f"{row + 24 * column + 1:02d}", str(marking_tables.EIA96_NUMBERS[row + 24 * column]))]
            for row in range(24)]  # fmt: skip
    return _("EIA-96 numbers"), [_("Code"), _("Digits")] * 4, rows


def _eia_capacitors() -> Table:
    rows = [
        [letter, localized(f"{value:g}"), format_value(value * 1e-9, "F", trim=True)]
        for letter, value in marking_tables.EIA_CAPACITOR_LETTERS.items()
    ]
    return (
        _("Letter and digit on a chip capacitor (EIA-198)"),
        [_("Letter"), _("Digits"), _("With 3 (×10³ pF)")],
        rows,
    )


def _voltages() -> Table:
    rows = [
        [letter, *(format_value(value * 10**power, "V", trim=True) for power in range(4))]
        for letter, value in marking_tables.VOLTAGE_LETTERS.items()
    ]
    return (
        _("Voltage before a capacitor's code, such as 2A104J (EIA)"),
        [_("Letter"), "0", "1", "2", "3"],
        rows,
    )


def _dielectrics() -> Table:
    rows = [
        [code, marking_tables.dielectric(code)]
        for code in ("X5R", "X6S", "X7R", "X8R", "Y5V", "Z5U", *marking_tables.DIELECTRIC_WORDS)
    ]
    return _("Dielectrics and classes of capacitors"), [_("Code"), _("Meaning")], rows
