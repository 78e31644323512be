"""Printed codes read: a letter for the point, digits, EIA-96, capacitor letters. One reader a sort of code.

A reader takes a code and gives each meaning that it has there, none where it is no such code.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from generator.notation import marking_tables as t
from generator.notation.marking_meaning import (
    SUCH_AS,
    Decoded,
    MarkingError,
    lettered,
    plain,
    preferred,
    toleranced,
)
from generator.notation.tolerance import TOLERANCE_LETTERS

TOLERANCE = "[" + "".join(TOLERANCE_LETTERS) + "]"


def joined(tokens: list[str]) -> tuple[str, int]:
    """The printed code, with a tolerance letter that stands apart ("4K7 J")."""
    if (
        len(tokens) > 1
        and re.fullmatch(TOLERANCE, tokens[1])
        and re.search(r"\d", tokens[0])
        and not re.search(r"[A-Z]$", tokens[0])
    ):
        return tokens[0] + tokens[1], 2
    return tokens[0], 1


def _number(whole: str, fraction: str) -> float | None:
    return float(f"{whole or 0}.{fraction or 0}") if whole or fraction else None


def _resistor_letter(code: str) -> Iterator[Decoded]:
    match = re.fullmatch(rf"(0|[1-9]\d{{0,3}})?([RKkMGTLm])(\d{{0,4}})({TOLERANCE})?", code)
    if match and (number := _number(match.group(1), match.group(3))) is not None:
        value = number * t.RESISTOR_LETTERS[match.group(2)]
        quantity, tolerance = lettered(value, "ohm", code, match.group(4))
        yield Decoded(
            "resistor", quantity, "IEC 60062 letter code", tolerance, note="" if value else "a link"
        )


# What parts of a sort are made for; a code that comes to more or less means something else. Common practice, no source.
_MADE = {
    "resistor": (0.0, 1e8), "thermistor": (1.0, 1e7), "varistor": (10.0, 2000.0), "capacitor": (1e-14, 1.0),
    "inductor": (1e-10, 1.0),
}  # fmt: skip


def _digits(
    code: str, part: str, unit: str, scale: float, system: str, *, lengths: str = "3"
) -> Iterator[Decoded]:
    """Two or three digits and a count of zeros, in units of scale; 8 and 9 as the last mean ×0.01 and ×0.1 on capacitors."""
    match = re.fullmatch(rf"(\d{{2,3}})(\d)({TOLERANCE})?", code)
    if not match or str(len(match.group(1)) + 1) not in lengths:
        return
    digits, zeros = int(match.group(1)), int(match.group(2))
    exponent = {8: -2, 9: -1}.get(zeros, zeros) if part in ("capacitor", "inductor") else zeros
    if digits == 0 and part != "resistor" or match.group(1)[0] == "0" and digits:
        return
    value = digits * 10.0**exponent * scale
    if not _MADE[part][0] <= value <= _MADE[part][1]:
        return
    quantity, tolerance = lettered(value, unit, code, match.group(3))
    usual = (
        "usually ±1 %" if len(match.group(1)) == 3 and not tolerance and part == "resistor" and digits else ""
    )
    yield Decoded(part, quantity, system, tolerance, note=usual if digits else "a link")


def _resistor_code(code: str) -> Iterator[Decoded]:
    """Letter for the point and digits. 104K is 100 kΩ ±10 % rather than 104 kΩ, which is no preferred value."""
    found = [*_resistor_letter(code), *_resistor_digits(code)]
    yield from sorted(found, key=lambda d: len(found) > 1 and not preferred(d.quantity))


def _resistor_digits(code: str) -> Iterator[Decoded]:
    if code == "0":
        yield Decoded("resistor", plain(0.0, "ohm", code), "chip resistor code", note="a link")
    yield from _digits(code, "resistor", "ohm", 1.0, "digits with a count of zeros, in Ω", lengths="34")


def _eia96(code: str) -> Iterator[Decoded]:
    match = re.fullmatch(r"(\d\d)([A-FHRSX-Z])", code)
    if match and 1 <= int(match.group(1)) <= 96:
        value = t.EIA96_NUMBERS[int(match.group(1)) - 1] * t.EIA96_MULTIPLIERS[match.group(2)]
        yield Decoded("resistor", toleranced(value, "ohm", code, 0.01, 0.01), "EIA-96", "±1 %")


def _capacitor_letter(code: str) -> Iterator[Decoded]:
    match = re.fullmatch(rf"(0|[1-9]\d{{0,3}})?([pPnNuUµμmF])(\d{{0,3}})({TOLERANCE})?", code)
    if (
        re.fullmatch(r"[A-Z]\d", code)
        or not match
        or (number := _number(match.group(1), match.group(3))) is None
    ):
        return
    letter = None if match.group(4) == "F" and not match.group(3) else match.group(4)  # 100nF: the unit
    value = number * t.CAPACITOR_LETTERS[match.group(2)]
    if value:
        quantity, tolerance = lettered(value, "F", code, letter)
        yield Decoded("capacitor", quantity, "IEC 60062 letter code", tolerance)


def _capacitor_digits(code: str) -> Iterator[Decoded]:
    match = re.fullmatch(
        rf"(?:(\d)([{''.join(t.VOLTAGE_LETTERS)}]))?(\d{{3}}{TOLERANCE}?)(?:(\d{{2,4}})V?)?", code
    )
    if match and (not match.group(4) or match.group(3)[-1].isalpha()):
        volts = (
            f"{t.VOLTAGE_LETTERS[match.group(2)] * 10 ** int(match.group(1)):g} V" if match.group(2) else ""
        )
        volts = f"{match.group(4)} V" if match.group(4) else volts
        for meaning in _digits(
            match.group(3), "capacitor", "F", 1e-12, "digits with a count of zeros, in pF"
        ):
            note = volts or ("on ceramic and film parts" if match.group(3)[2] == "8" else "")
            yield Decoded(meaning.part, meaning.quantity, meaning.system, meaning.tolerance, note=note)
        if match.group(3)[2] == "8" and match.group(3)[0] != "0":
            value = int(match.group(3)[:2]) * 1e8 * 1e-12
            quantity, tolerance = lettered(value, "F", code, match.group(3)[3:])
            yield Decoded(
                "capacitor",
                quantity,
                "digits with a count of zeros, in pF",
                tolerance,
                note=volts or "on tantalum and polymer parts",
            )
    match = re.fullmatch(rf"(\d{{0,2}})R(\d{{1,2}})({TOLERANCE})?", code)
    if match and len(code) > 2 and (number := _number(match.group(1), match.group(2))):
        quantity, tolerance = lettered(number * 1e-12, "F", code, match.group(3))
        yield Decoded(
            "capacitor", quantity, "R for the point, in pF", tolerance, note="in µF on an electrolytic"
        )


def _eia_capacitor(code: str) -> Iterator[Decoded]:
    """A letter for the digits and a power of ten in pF, perhaps behind a maker's letter (EIA-198)."""
    match = re.fullmatch(r"[A-Z]?([A-HJ-NP-Zabdefmnty])(\d)", code)
    if match:
        exponent = -1 if match.group(2) == "9" else int(match.group(2))
        value = t.EIA_CAPACITOR_LETTERS[match.group(1)] * 10.0**exponent * 1e-12
        yield Decoded("capacitor", plain(value, "F", code), "EIA-198 letter and digit, in pF")


def _plain_numbers(code: str) -> Iterator[Decoded]:
    """Short numbers that are printed as they are: 47 on a resistor, 47 on a small ceramic capacitor."""
    if re.fullmatch(r"[1-9]\d?", code):
        yield Decoded("resistor", plain(float(code), "ohm", code), "printed plainly, in Ω")
        yield Decoded("capacitor", plain(float(code) * 1e-12, "F", code), "printed plainly, in pF")


def _plain_capacitor(code: str) -> Iterator[Decoded]:
    if re.fullmatch(r"[1-9]\d{1,3}", code) and code.endswith("0"):
        yield Decoded(
            "capacitor",
            plain(float(code) * 1e-12, "F", code),
            "printed plainly, in pF",
            note="on some ceramic capacitors; measure it",
        )


def _inductor(code: str) -> Iterator[Decoded]:
    yield from _digits(code, "inductor", "H", 1e-6, "digits with a count of zeros, in µH")
    match = re.fullmatch(rf"(\d{{0,3}})([RN])(\d{{0,2}})({TOLERANCE})?", code)
    if match and (number := _number(match.group(1), match.group(3))):
        quantity, tolerance = lettered(
            number * (1e-6 if match.group(2) == "R" else 1e-9), "H", code, match.group(4)
        )
        yield Decoded(
            "inductor",
            quantity,
            f"{match.group(2)} for the point, in {'µH' if match.group(2) == 'R' else 'nH'}",
            tolerance,
        )


def _thermistor(code: str) -> Iterator[Decoded]:
    yield from _digits(code, "thermistor", "ohm", 1.0, "digits with a count of zeros, in Ω at 25 °C")
    if match := re.fullmatch(r"(\d{1,2}(?:\.\d)?)D-?(\d{1,2})", code):
        note = f"{int(match.group(2))} mm disc that limits inrush current; common practice"
        yield Decoded(
            "thermistor", plain(float(match.group(1)), "ohm", code), "Ω at 25 °C, D, diameter", note=note
        )


def _thermistor_letter(code: str) -> Iterator[Decoded]:
    for meaning in _resistor_letter(code):
        yield Decoded("thermistor", meaning.quantity, meaning.system, meaning.tolerance)


def _potentiometer(code: str) -> Iterator[Decoded]:
    for reader in (_resistor_letter, _resistor_digits):
        for meaning in reader(code):
            yield Decoded("potentiometer", meaning.quantity, meaning.system, meaning.tolerance)


def _tapered(code: str) -> Iterator[Decoded]:
    """A potentiometer with a letter for its taper before the value: B10K, A103. Makers differ in the letters."""
    if re.match(r"[ABCW]\d", code):
        for meaning in _potentiometer(code[1:]):
            note = f"{code[0]} is its taper, by the maker's custom"
            yield Decoded(meaning.part, meaning.quantity, meaning.system, meaning.tolerance, note=note)


# Of varistors, whose L is no letter of IEC 60062's; catalogues of metal oxide varistors, from memory.
_VARISTOR_LETTERS = {"J": 0.05, "K": 0.10, "L": 0.15, "M": 0.20}


def _varistor(code: str) -> Iterator[Decoded]:
    """Volts at 1 mA, which is not the AC rating: 431, 471K, 14D471K, 471KD14. Common practice, no source."""
    match = re.fullmatch(r"(\d{1,2}D)?(\d{3})([JKLM])?(?:D(\d{1,2}))?", code)
    if match:
        share = _VARISTOR_LETTERS.get(match.group(3) or "")
        for meaning in _digits(
            match.group(2), "varistor", "V", 1.0, "digits with a count of zeros, in V at 1 mA"
        ):
            assert meaning.quantity is not None
            volts = meaning.quantity.middle
            note = "not its AC rating, which is about 0.6 of this"
            if share is None:
                yield Decoded(meaning.part, plain(volts, "V", code), meaning.system, note=note)
            else:
                quantity = toleranced(volts, "V", code, share, share)
                yield Decoded(
                    meaning.part, quantity, meaning.system, t.tolerance_words(share, share), note=note
                )


Reader = Callable[[str], Iterator[Decoded]]
READERS: dict[str, tuple[Reader, ...]] = {
    "resistor": (_resistor_code, _eia96, _plain_numbers),
    "capacitor": (_capacitor_letter, _capacitor_digits, _eia_capacitor, _plain_numbers),
    "inductor": (_inductor,), "thermistor": (_thermistor, _thermistor_letter), "photoresistor": (),
    "potentiometer": (_tapered, _potentiometer), "varistor": (_varistor,),
}  # fmt: skip
ALL_READERS: tuple[Reader, ...] = (
    _resistor_code, _eia96, _capacitor_letter, _capacitor_digits, _eia_capacitor, _plain_numbers,
    _plain_capacitor, _inductor, _thermistor, _tapered, _varistor,
)  # fmt: skip


def no_code(text: str) -> MarkingError:
    """Why a text is no code, with the nearest right thing."""
    head = text.split(" ")[0]
    clean = head.upper().replace("O", "0").replace("I", "1").replace("L", "1")
    if clean != head.upper() and any(meaning for reader in ALL_READERS for meaning in reader(clean)):
        return MarkingError(f"{head}: a letter where a digit belongs", f"did you mean {clean}?")
    if match := re.fullmatch(r"(\d\d)([A-Z])", head.upper()):
        if match.group(2) in t.EIA96_MULTIPLIERS:
            return MarkingError(f"{head}: EIA-96 counts from 01 to 96", SUCH_AS)
        what = f"{head}: {match.group(2)} is not a letter of EIA-96"
        return MarkingError(what, "its letters: " + " ".join(t.EIA96_MULTIPLIERS))
    return MarkingError(f"{head}: not a marking known here", SUCH_AS)
