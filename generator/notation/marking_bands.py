"""Colour bands read: IEC 60062 on resistors, the older codes of film capacitors and inductors."""

from __future__ import annotations

import re
from collections.abc import Iterator

from generator.notation import marking_tables as t
from generator.notation.marking_meaning import Decoded, MarkingError, plain, preferred, toleranced
from generator.problems import nearest


def leading_bands(tokens: list[str]) -> tuple[list[str], int]:
    """The colours that the tokens begin with, and how many tokens they took; none where the first is no colour."""
    bands: list[str] = []
    used = 0
    for token in tokens:
        words = [w for w in re.split(r"[-,/]", token) if w]
        colours = [_colour(word) for word in words]
        if not words or not all(colours):
            wrong = next((w for w, c in zip(words, colours) if not c), "")
            near = _nearly_colour(wrong)
            if near and (bands or any(colours) or len(tokens) > 1):
                raise MarkingError(f"{wrong[:20]}: no such colour", f"did you mean {near}?")
            break
        bands += [c for c in colours if c]
        used += 1
    return bands, used


def _colour(word: str) -> str:
    lowered = t.OTHER_NAMES.get(word) or t.OTHER_NAMES.get(word.lower()) or word.lower()
    return lowered if lowered in t.COLOURS else ""


def _nearly_colour(word: str) -> str:
    if len(word) < 4 or not word.isalpha():
        return ""
    near = nearest(word, [*t.COLOURS, "gray", "purple"])
    return t.OTHER_NAMES.get(near, near)


def colour_meanings(bands: list[str], text: str) -> Iterator[Decoded]:
    """As a resistor, also from the other end where that gives a preferred value; then as other parts."""
    yield of_bands(bands, "resistor", text)
    if len(bands) > 3 and bands != bands[::-1]:
        try:
            turned = of_bands(bands[::-1], "resistor", text)
        except MarkingError:
            turned = None
        if turned and preferred(turned.quantity):
            yield Decoded(
                turned.part,
                turned.quantity,
                turned.system,
                turned.tolerance,
                turned.coefficient,
                "read from the other end",
            )
    for part in ("capacitor", "inductor"):
        try:
            yield of_bands(bands, part, text)
        except MarkingError:
            pass


def of_bands(bands: list[str], part: str, text: str) -> Decoded:
    """Bands read from the first on. Raises MarkingError where a colour cannot stand where it does."""
    most = {"resistor": 6, "capacitor": 5, "inductor": 4}[part]
    if not 3 <= len(bands) <= most:
        raise MarkingError(
            f"{len(bands)} band{'s' if len(bands) > 1 else ''} on a {part}",
            f"3 to {most} bands, such as yellow violet orange gold",
        )
    colours = [t.COLOURS[name] for name in bands]
    count = 3 if part == "resistor" and len(bands) > 4 else 2
    if colours[0].digit is None:
        raise MarkingError(f"{bands[0]} never comes first", "turn the part round and read from the other end")
    for colour in colours[:count]:
        if colour.digit is None:
            raise MarkingError(
                f"{colour.name} is not a digit", "gold, silver and pink are multipliers or tolerances"
            )
    number = int("".join(str(c.digit) for c in colours[:count]))
    if number == 0:
        raise MarkingError(f"{' '.join(bands)} is zero", "a link has one black band")
    value = number * 10.0 ** colours[count].exponent
    rest = bands[count + 1 :]
    if part == "resistor":
        return _resistor_bands(value, rest, text)
    if part == "capacitor":
        return _capacitor_bands(value * 1e-12, rest, text)
    share = t.INDUCTOR_TOLERANCE.get(rest[0]) if rest else 0.20
    if share is None:
        raise MarkingError(f"{rest[0]} is not a tolerance of an inductor", "black, silver or gold")
    return Decoded(
        "inductor",
        toleranced(value * 1e-6, "H", text, share, share),
        "colour code in µH",
        f"±{t.percent(share)}",
    )


def _resistor_bands(value: float, rest: list[str], text: str) -> Decoded:
    share = t.COLOURS[rest[0]].tolerance if rest else t.NO_BAND_TOLERANCE
    if share is None:
        raise MarkingError(f"{rest[0]} is not a tolerance of a resistor", "read from the other end?")
    coefficient = t.COLOURS[rest[1]].coefficient if len(rest) > 1 else None
    if len(rest) > 1 and coefficient is None:
        raise MarkingError(f"{rest[1]} is not a temperature coefficient", "read from the other end?")
    notes = []
    wider = t.OLDER_TOLERANCE.get(rest[0], share) if rest else share
    if wider > share:
        notes.append(f"{rest[0]} stood for ±{t.percent(wider)} before 2016; the band allows for that")
    quantity = toleranced(value, "ohm", text, wider, wider)
    if not preferred(quantity):
        notes.append("no preferred value; read from the other end?")
    return Decoded(
        "resistor", quantity, "IEC 60062 colour code", f"±{t.percent(share)}", coefficient, "; ".join(notes)
    )


def _capacitor_bands(farad: float, rest: list[str], text: str) -> Decoded:
    share = t.CAPACITOR_TOLERANCE.get(rest[0]) if rest else None
    if rest and share is None:
        raise MarkingError(f"{rest[0]} is not a tolerance of a capacitor", "black, white or green")
    volts = t.CAPACITOR_VOLTAGE.get(rest[1]) if len(rest) > 1 else None
    if len(rest) > 1 and volts is None:
        raise MarkingError(f"{rest[1]} is not a voltage of a capacitor", "brown, red, yellow or blue")
    quantity = toleranced(farad, "F", text, share, share) if share else plain(farad, "F", text)
    return Decoded("capacitor", quantity, "colour code in pF of old film capacitors", f"±{t.percent(share)}" if share else "",
                   note=f"{volts} V" if volts else "")  # fmt: skip
