"""Markings on parts read: colour bands, letters for the point, digits, EIA-96, capacitor codes.

One code can mean several things (103 is 10 kΩ on a resistor and 10 nF on a capacitor): decode() gives all of them,
decode_leading() the one for a sort of part. Sources: IEC 60062, IEC 60063, EIA-96, EIA-198; see marking_tables.
"""

from __future__ import annotations

import re

from generator.notation import marking_tables as t
from generator.notation.marking_bands import colour_meanings, leading_bands, of_bands
from generator.notation.marking_codes import ALL_READERS, READERS, joined, no_code
from generator.notation.marking_meaning import SUCH_AS, Decoded, MarkingError, plain
from generator.notation.part_classes import CLASSES
from generator.notation.quantity import Quantity, QuantityError, parse

__all__ = ["Decoded", "MarkingError", "decode", "decode_leading"]

LONGEST_CODE = 80


def decode(code: str) -> list[Decoded]:
    """All that a code can mean, the likeliest first. Raises MarkingError where it means nothing."""
    text = " ".join(str(code).split())
    if not text:
        raise MarkingError("no code", SUCH_AS)
    if len(text) > LONGEST_CODE:
        raise MarkingError(f"{text[:24]}... is too long for a code", SUCH_AS)
    tokens = text.split(" ")
    bands, used = leading_bands(tokens)
    if bands:
        if used < len(tokens):
            raise MarkingError(f"{tokens[used][:20]}: no such colour", "known: " + ", ".join(t.COLOURS))
        if bands == ["black"]:
            return [Decoded("resistor", plain(0.0, "ohm", text), "IEC 60062 colour code", note="a link")]
        return list(colour_meanings(bands, text))
    printed, used = joined(tokens)
    found = [meaning for reader in ALL_READERS for meaning in reader(printed)] if used == len(tokens) else []
    if words := t.dielectric(text):
        found.append(Decoded("capacitor", None, words))
    if not found and used < len(tokens):
        hint = "one code at a time"
        raise MarkingError(f"{tokens[used][:20]}: does not belong to the code {printed[:20]}", hint)
    if not found:
        raise no_code(text)
    return found


def decode_leading(tokens: list[str], part_class: str) -> tuple[Quantity, int]:
    """The value that the first tokens state for a sort of part, and how many tokens that took.

    The quantity carries the tolerance that the code states (toleranced is True then), else none. Raises MarkingError:
    no code, a misspelt colour, a code that has no meaning for the part, a zero-ohm link.
    """
    if not tokens:
        raise MarkingError("nothing follows marked", SUCH_AS)
    text = " ".join(tokens)
    bands, used = leading_bands(tokens)
    if bands:
        if part_class not in ("resistor", "capacitor", "inductor"):
            raise MarkingError(f"colour bands of a {part_class} are not known", "write its value")
        if bands == ["black"]:
            raise MarkingError("one black band is a link of 0 Ω", "leave it out, or write 0")
        return of_bands(bands, part_class, " ".join(tokens[:used])).quantity, used  # type: ignore[return-value]
    printed, used = joined(tokens)
    if part_class == "capacitor" and re.fullmatch(r"\d\d8[A-Z]?", printed):
        hint = "write the value"
        raise MarkingError(f"{printed} is one thing on a ceramic, another on a tantalum capacitor", hint)
    readers = READERS.get(part_class)
    if readers is None:
        return _stated(tokens[0], part_class), 1
    for reader in readers:
        for meaning in reader(printed):
            if meaning.part == part_class and meaning.quantity is not None:
                if meaning.quantity.middle == 0:
                    raise MarkingError(f"{printed} is a link of 0 Ω", "leave it out, or write 0")
                return meaning.quantity, used
    if part_class == "capacitor" and re.fullmatch(r"\d{4}", printed):
        raise MarkingError(f"{printed} may count pF or be digits with zeros", "write the value, such as 2n2")
    raise no_code(text if len(text) <= LONGEST_CODE else tokens[0])


def _stated(token: str, part_class: str) -> Quantity:
    """Parts whose marking is the value itself: a zener's 5V1."""
    try:
        return parse(token, CLASSES[part_class].unit) if CLASSES[part_class].unit else _refuse(part_class)
    except QuantityError as error:
        raise MarkingError(error.what, error.hint) from None


def _refuse(part_class: str) -> Quantity:
    raise MarkingError(f"no marking codes of a {part_class} are known here", "write what it is")
