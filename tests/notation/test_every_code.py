"""Every code of digits, letters or bands that there can be, against the rules of the standards written out here once more.

What is compared is all that a code means: no meaning is missing, and none is there that the rules do not give. Rules and tables
of IEC 60062, EIA-96 and EIA-198 from memory; what makers print besides is marked.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from fractions import Fraction

import eseries
import pytest

from generator.notation.marking import MarkingError, decode

Meanings = dict[str, list[float]]

# IEC 60062: share below and above of the nominal value.
LETTERS = {
    "E": (5e-5, 5e-5), "L": (1e-4, 1e-4), "P": (2e-4, 2e-4), "W": (5e-4, 5e-4), "B": (0.001, 0.001), "C": (0.0025, 0.0025),
    "D": (0.005, 0.005), "F": (0.01, 0.01), "G": (0.02, 0.02), "H": (0.03, 0.03), "J": (0.05, 0.05), "K": (0.1, 0.1),
    "M": (0.2, 0.2), "N": (0.3, 0.3), "Q": (0.1, 0.3), "T": (0.1, 0.5), "S": (0.2, 0.5), "Z": (0.2, 0.8),
}  # fmt: skip
PICOFARADS = {"B": 0.1, "C": 0.25, "D": 0.5, "F": 1.0, "G": 2.0}  # the same letters below 10 pF


def close(one: float, other: float) -> bool:
    return abs(one - other) <= 1e-9 * abs(other)


def meanings(code: str, *systems: str) -> Meanings:
    """class of part -> values, as they are told for one code. systems: only of these, where given."""
    found: Meanings = {}
    try:
        told = decode(code)
    except MarkingError:
        return {}
    for meaning in told:
        if meaning.quantity is not None and (not systems or meaning.system.startswith(systems)):
            found.setdefault(meaning.part, []).append(meaning.quantity.middle)
    return found


def differing(found: Meanings, wanted: Meanings) -> bool:
    if found.keys() != wanted.keys():
        return True
    pairs = [(sorted(found[part]), sorted(wanted[part])) for part in wanted]
    return any(len(a) != len(b) or not all(map(close, a, b)) for a, b in pairs)


def counted(digits: int, zeros: int, leading: bool) -> Meanings:
    """Significant digits and a count of zeros: Ω, pF, µH, and V of a varistor at 1 mA. On capacitors and inductors 9 is a
    tenth and 8 a hundredth (EIA-198), which a tantalum capacitor is too large for: there 8 counts as any digit. What is beyond
    what is made (100 MΩ, 10 MΩ of a thermistor, 1 F, varistors of 10 V to 2 kV) is another code; common practice, no source."""
    if leading and digits:
        return {}
    if not digits:
        return {"resistor": [0.0]}
    small = Fraction(10) ** {8: -2, 9: -1}.get(zeros, zeros) * digits
    plain = digits * 10**zeros
    found: Meanings = {}
    if plain <= 100_000_000:
        found["resistor"] = [float(plain)]
    if Fraction(1, 100) <= small <= 10**12:
        found["capacitor"] = [float(small / 10**12)]
    if zeros == 8:
        found.setdefault("capacitor", []).append(plain / 1e12)
    if Fraction(1, 10_000) <= small <= 1_000_000:
        found["inductor"] = [float(small / 10**6)]
    if plain <= 10_000_000:
        found["thermistor"] = [float(plain)]
    if 10 <= plain <= 2000:
        found["varistor"] = [float(plain)]
    return found


def test_every_code_of_three_digits() -> None:
    for digits, zeros in itertools.product(range(100), range(10)):
        wanted = counted(digits, zeros, digits < 10)
        if (
            digits >= 10 and zeros == 0
        ):  # also the value itself, on some ceramic capacitors; common practice, no source
            wanted["capacitor"].append(digits * 10e-12)
        assert not differing(meanings(f"{digits:02}{zeros}"), wanted), (digits, zeros)


def test_every_code_of_four_digits() -> None:
    """A resistor of E96 or E192 and nothing else, but for round figures that some ceramic capacitors bear."""
    for digits, zeros in itertools.product(range(0, 1000, 3), range(10)):
        wanted = {"resistor": counted(digits, zeros, digits < 100).get("resistor", [])}
        if digits >= 100 and zeros == 0:
            wanted["capacitor"] = [digits * 10e-12]
        wanted = {part: values for part, values in wanted.items() if values}
        assert not differing(meanings(f"{digits:03}{zeros}"), wanted), (digits, zeros)


@pytest.mark.parametrize("letter", LETTERS)
def test_tolerance_letter_behind_digits(letter: str) -> None:
    """What a part of each sort may measure, lowest and highest. L of a varistor is ±15 % (catalogues of varistors)."""
    for digits, zeros in itertools.product((10, 22, 47, 91), range(10)):
        for meaning in decode(f"{digits}{zeros}{letter}"):
            if not meaning.system.startswith("digits") or meaning.quantity is None:
                continue
            q = meaning.quantity
            assert q.toleranced and meaning.tolerance.startswith(("±", "−"))
            if meaning.part == "capacitor" and q.middle < 9.99e-12 and letter in PICOFARADS:
                below = above = PICOFARADS[letter] * 1e-12
            else:
                shares = (0.15, 0.15) if (meaning.part, letter) == ("varistor", "L") else LETTERS[letter]
                below, above = (share * q.middle for share in shares)
            assert close(q.low, max(q.middle - below, 0)) and close(q.high, q.middle + above), (
                digits,
                zeros,
                meaning,
            )


POINTS = {
    "resistor": {"R": 1, "K": 1e3, "k": 1e3, "M": 1e6, "G": 1e9, "T": 1e12, "L": 1e-3, "m": 1e-3},
    "capacitor": {"p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "m": 1e-3, "P": 1e-12, "N": 1e-9, "U": 1e-6},
}


@pytest.mark.parametrize("part", POINTS)
def test_every_letter_where_the_point_would_be(part: str) -> None:
    """IEC 60062: up to four figures, the letter before, between or behind them."""
    for letter, factor in POINTS[part].items():
        for figures in ("1", "22", "47", "470", "332", "590", "105"):
            for place in range(len(figures) + 1):
                code = figures[:place] + letter + figures[place:]
                if len(code) == 2 and code[0].isupper() and part == "capacitor":
                    continue  # EIA-198
                number = float(f"{figures[:place] or 0}.{figures[place:] or 0}")
                found = meanings(code, "IEC 60062").get(part, [])
                assert len(found) == 1 and close(found[0], number * factor), (code, found)


@pytest.mark.parametrize("letter", LETTERS)
def test_tolerance_letter_behind_a_letter_for_the_point(letter: str) -> None:
    """Of 1 Ω as of any other; F behind a unit's prefix is the farad, as in 100nF."""
    for code, ohm in (("0R1", 0.1), ("1R0", 1.0), ("1K0", 1e3), ("4M7", 4.7e6)):
        (q,) = (m.quantity for m in decode(code + letter) if m.part == "resistor")
        assert q is not None and q.toleranced
        below, above = LETTERS[letter]
        assert close(q.low, ohm * (1 - below)) and close(q.high, ohm * (1 + above)), code
    for code, farad in (("2p2", 2.2e-12), ("9p9", 9.9e-12), ("10p", 10e-12), ("4n7", 4.7e-9), ("1u0", 1e-6)):
        (q,) = (m.quantity for m in decode(code + letter) if m.part == "capacitor")
        assert q is not None
        if code == "10p" and letter == "F":
            assert (q.low, q.high) == (q.middle, q.middle)
            continue
        absolute = PICOFARADS.get(letter, 0.0) * 1e-12 if farad < 9.99e-12 else 0.0
        below, above = (absolute or share * farad for share in LETTERS[letter])
        assert close(q.low, max(farad - below, 0)) and close(q.high, farad + above), code


def test_letters_for_the_point_of_small_parts() -> None:
    """R for the point counts pF on a capacitor and µH on a coil, N nH (makers of chip inductors; common practice)."""
    for whole, fraction in itertools.product(("", "1", "4", "10", "47"), ("", "2", "7", "15")):
        number = float(f"{whole or 0}.{fraction or 0}")
        if not (whole or fraction):
            continue
        r, n = meanings(f"{whole}R{fraction}"), meanings(f"{whole}N{fraction}")
        assert close(r["inductor"][0], number * 1e-6) and close(n["inductor"][0], number * 1e-9)
        picofarads = meanings(f"{whole}R{fraction}", "R for the point").get("capacitor", [])
        assert len(picofarads) == (1 if fraction and len(whole + fraction) > 1 else 0)
        assert all(close(value, number * 1e-12) for value in picofarads)


def test_every_code_of_eia_96_and_none_besides() -> None:
    """Two digits 01 to 96 and a letter; 1 % each."""
    factors = {"Z": 1e-3, "Y": 1e-2, "R": 1e-2, "X": 0.1, "S": 0.1, "A": 1, "B": 10, "H": 10, "C": 1e2, "D": 1e3, "E": 1e4, "F": 1e5}  # fmt: skip
    steps = [round(step) for step in eseries.series(eseries.E96)]
    for number, letter in itertools.product(range(100), "ABCDEFGHIJKLMNOPQRSTUVWXYZ"):
        code = f"{number:02}{letter}"
        try:
            told = [m for m in decode(code) if m.system == "EIA-96" and m.quantity]
        except MarkingError:
            told = []
        if 1 <= number <= 96 and letter in factors:
            (q,) = (m.quantity for m in told)
            value = steps[number - 1] * factors[letter]
            assert q is not None and close(q.middle, value), code
            assert close(q.low, 0.99 * value) and close(q.high, 1.01 * value)
        else:
            assert not told, code


def test_every_code_of_eia_198_and_none_besides() -> None:
    """One letter and the power of ten in pF, 9 being a tenth."""
    steps = dict(zip("ABCDEFGHJKLMNPQRSTUVWXYZ", (round(s / 10, 1) for s in eseries.series(eseries.E24))))
    steps |= dict(zip("abdefmnty", (2.5, 3.5, 4.0, 4.5, 5.0, 6.0, 7.0, 8.0, 9.0)))
    letters = [chr(c) for c in (*range(65, 91), *range(97, 123))]
    for letter, digit in itertools.product(letters, range(10)):
        found = meanings(f"{letter}{digit}", "EIA-198").get("capacitor", [])
        wanted = [steps[letter] * 10.0 ** (-1 if digit == 9 else digit) * 1e-12] if letter in steps else []
        assert len(found) == len(wanted) and all(map(close, found, wanted)), f"{letter}{digit}"


DIGITS = ["black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white"]
EXPONENTS = {colour: exponent for exponent, colour in enumerate(DIGITS)} | {
    "gold": -1,
    "silver": -2,
    "pink": -3,
}
SHARES = {
    "brown": 0.01, "red": 0.02, "orange": 0.0005, "yellow": 0.0002, "green": 0.005, "blue": 0.0025, "violet": 0.001,
    "grey": 0.0005,  # ±0.01 % since 2016, ±0.05 % before: the wider
    "gold": 0.05, "silver": 0.1,
}  # fmt: skip


def resistors(bands: tuple[str, ...]) -> Iterator[tuple[float, float]]:
    """(value, share) that four or five bands state, read in one direction."""
    *figures, multiplier, tolerance = bands
    if any(colour not in DIGITS for colour in figures) or figures[0] == "black":
        return
    if multiplier in EXPONENTS and tolerance in SHARES:
        number = int("".join(str(DIGITS.index(colour)) for colour in figures))
        yield number * 10.0 ** EXPONENTS[multiplier], SHARES[tolerance]


def test_every_resistor_of_four_bands() -> None:
    """All that 13 colours can say from either end, each tolerance in its turn. A value is told once, from whichever end it is
    read."""
    colours, tolerances = list(EXPONENTS), itertools.cycle(SHARES)
    for *three, last in (
        (*three, next(tolerances)) for three in itertools.product(colours, colours, colours)
    ):
        bands = (*three, last)
        wanted = [v for v, _s in resistors(bands)]
        if not wanted:
            continue
        told = [
            m.quantity for m in decode(" ".join(bands)) if m.part == "resistor" and m.quantity is not None
        ]
        assert told, bands
        assert any(
            close(q.middle, wanted[0]) and close(q.high, wanted[0] * (1 + SHARES[bands[3]])) for q in told
        ), bands
        possible = [*resistors(bands), *resistors(bands[::-1])]
        assert all(
            any(close(q.middle, v) and close(q.low, v * (1 - s)) for v, s in possible) for q in told
        ), bands
