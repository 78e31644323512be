"""Parts as written at the bench: "C3 1000u 35V 20%" -> designator, value, ratings, tolerance, words."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cached_property

from generator.circuit import quantity
from generator.circuit.quantity import Quantity, QuantityError, exactly

DESIGNATOR = re.compile(r"^[A-Z]{1,3}[0-9]{1,4}[A-Za-z]?(?:-[A-Z]{0,3}[0-9]{1,4})?$")
LONGEST_DESIGNATOR = 9
LONGEST_PART = 80

# Worst case where the note is silent (the library's convention; typical stock parts).
TOLERANCES = {"resistor": 0.05, "potentiometer": 0.05, "film": 0.10, "electrolytic": 0.20, "thermistor": 0.05, "photoresistor": 0.0}
THERMISTOR_B_TOLERANCE = 0.01
ELECTROLYTIC_FROM = 1e-6  # F; a capacitor without a word for its type

_CAPACITOR_WORDS = {
    "electrolytic": "electrolytic", "elko": "electrolytic", "tantalum": "electrolytic",
    "film": "film", "ceramic": "film", "polyester": "film", "polypropylene": "film", "paper": "film",
    "mica": "film", "mlcc": "film", "X1": "film", "X2": "film", "Y1": "film", "Y2": "film", "X": "film",
    "C0G": "film", "NP0": "film", "X7R": "film", "X5R": "film", "Y5V": "film",
}  # fmt: skip


@dataclass(frozen=True)
class PartClass:
    """What parts of one sort share: the unit of their value, and named further values (hfe100)."""

    name: str
    unit: str = ""  # "" = the part has no value of its own
    extras: dict[str, str] = field(default_factory=dict)  # word -> unit: hfe100, vth2, rds0R05
    rating_units: tuple[str, ...] = ("V", "A", "W")
    needs_value: bool = True


CLASSES = {
    c.name: c
    for c in (
        PartClass("resistor", "ohm", rating_units=("V", "A", "W")),
        PartClass("capacitor", "F", rating_units=("V", "A")),
        PartClass("thermistor", "ohm", {"B": "K"}, rating_units=("W", "V", "A")),
        PartClass("photoresistor", "ohm", {"gamma": ""}, rating_units=("W", "V")),
        PartClass("potentiometer", "ohm", rating_units=("W", "V")),
        PartClass("inductor", "H", rating_units=("A",)),
        PartClass("diode", "V", rating_units=("A", "W"), needs_value=False),
        PartClass("zener", "V", rating_units=("W", "A")),
        PartClass("led", "V", rating_units=("A", "W"), needs_value=False),
        PartClass("transistor", "", {"hfe": ""}, rating_units=("A", "V", "W"), needs_value=False),
        PartClass("mosfet", "", {"vth": "V", "rds": "ohm"}, rating_units=("A", "V", "W"), needs_value=False),
        PartClass("triac", "", rating_units=("A", "V"), needs_value=False),
        PartClass("diac", "V", rating_units=("A",)),
        PartClass("fuse", "A", rating_units=("V",)),
        PartClass("thermal fuse", "°C", rating_units=("A", "V"), needs_value=False),
        PartClass("varistor", "V", rating_units=("A", "W"), needs_value=False),
        PartClass("switch", "", rating_units=("A", "V"), needs_value=False),
        PartClass("contact", "A", rating_units=("V",), needs_value=False),
        PartClass("element", "W", rating_units=("V",)),
        PartClass("winding", "ohm", rating_units=("V", "A")),
        PartClass("coil", "ohm", rating_units=("V", "A"), needs_value=False),
        PartClass("chip", "", rating_units=("V", "A"), needs_value=False),
        PartClass("optocoupler", "", {"ctr": ""}, rating_units=("V", "A"), needs_value=False),
        PartClass("any", "", rating_units=("V", "A", "W"), needs_value=False),
    )
}


class PartError(QuantityError):
    """A text is no part of the class asked for. what says why, hint what would be accepted."""


@dataclass(frozen=True)
class Part:
    """A part as the note states it. value is None where the class needs none and none is given.

    ratings: unit -> value ({"V": 35.0}). extras: named further values ({"hfe": ..., "B": ...}).
    words: what is left, in order ("X2", "live", "red"). text is the part without its designator.
    """

    part_class: str
    designator: str
    value: Quantity | None
    ratings: dict[str, float]
    extras: dict[str, Quantity]
    words: tuple[str, ...]
    text: str

    def name(self, role: str) -> str:
        """What failures and checks call it: its designator, else its role in the circuit."""
        return self.designator or role

    @cached_property
    def label(self) -> str:
        """The value as a drawing shows it: "4.7 kΩ", "1000 µF"."""
        if self.value is None:
            return " ".join(self.words)
        if self.value.is_range:
            return quantity.format_band(self.value.low, self.value.high, self.value.unit)
        return quantity.format_value(self.value.middle, self.value.unit, trim=True)

    @cached_property
    def ratings_label(self) -> str:
        """The ratings as a drawing shows them: "35 V", "500 mA 45 V"."""
        return " ".join(quantity.format_value(v, u, trim=True) for u, v in self.ratings.items())


def parse_part(text: object, part_class: str) -> Part:
    """Read a part as written at the bench. Designator first (or none); the rest in any order.

    Raises PartError with words for people: no value, a value of another quantity, too long,
    a marking that is no code.
    """
    kind = CLASSES[part_class]
    source = " ".join(str(text).split())
    if not source:
        raise PartError("nothing is stated here", _expected(kind))
    if len(source) > LONGEST_PART:
        raise PartError(f"{source[:24]}... is longer than {LONGEST_PART} characters", _expected(kind))
    tokens = _tokens(source)
    designator = ""
    if DESIGNATOR.match(tokens[0]) and not _is_only_value(tokens, kind):
        designator = tokens.pop(0)
        if len(designator) > LONGEST_DESIGNATOR:
            raise PartError(f"{designator} is too long for a designator", _expected(kind))
    return _read(kind, designator, tokens)


def _tokens(source: str) -> list[str]:
    """Words, with a number and its unit joined ("12 V" -> "12V", "± 5 %" -> "±5%")."""
    joined = re.sub(r"(?:(?<![A-Za-z0-9.,])|(?<=\.\.))([+-]?\d+(?:[.,]\d+)?) (?=(?:[pnuµμmkKMG]?(?:V|A|W|F|H|Ah|ohms?|Ω|Ω)|K|C|°C|%|[pnuµμkM])(?: |$))", r"\1", source)
    return re.sub(r"(±|\+/-|\+-) ", r"\1", joined).split(" ")


def _is_only_value(tokens: list[str], kind: PartClass) -> bool:
    """`R47` alone is 0.47 ohm (IEC 60062), since a part needs a value more than a designator."""
    if len(tokens) > 1 or not kind.needs_value:
        return False
    return _try_value(tokens[0], kind.unit) is not None


def _try_value(token: str, unit: str) -> Quantity | None:
    try:
        return quantity.parse(token, unit)
    except QuantityError:
        return None


def _read(kind: PartClass, designator: str, tokens: list[str]) -> Part:
    value: Quantity | None = None
    ratings: dict[str, float] = {}
    extras: dict[str, Quantity] = {}
    words: list[str] = []
    tolerance: float | None = None
    if "marked" in tokens:
        at = tokens.index("marked")
        value, used = _marked(tokens[at + 1 :], kind)
        tokens = tokens[:at] + tokens[at + 1 + used :]
        text_value = value
    else:
        text_value = None
    for token in tokens:
        share = re.fullmatch(r"(?:±|\+/-|\+-)?(\d+(?:[.,]\d+)?)%", token)
        extra = _extra(token, kind)
        if share:
            tolerance = float(share.group(1).replace(",", ".")) / 100
        elif extra:
            extras[extra[0]] = extra[1].within(THERMISTOR_B_TOLERANCE) if extra[0] == "B" else extra[1]
        elif value is None and kind.unit and (read := _own_value(token, kind)) is not None:
            value = read
        elif (rating := _rating(token, kind)) is not None:
            ratings[rating[0]] = rating[1]
        elif kind.needs_value and re.fullmatch(r"[\d.,]+", token):
            raise PartError(f"{token} is neither the value, a rating nor a tolerance", _expected(kind))
        else:
            words.append(token)
    if value is None and kind.needs_value:
        raise PartError(*_no_value(kind, designator, tokens))
    value = _with_tolerance(kind, value, tolerance, words, text_value is not None)
    return Part(kind.name, designator, value, ratings, extras, tuple(words), " ".join(tokens))


def _own_value(token: str, kind: PartClass) -> Quantity | None:
    if kind.unit in ("ohm", "F", "H"):
        if not re.match(r"[\d.,R]", token) or re.fullmatch(r"[\d.,]+[VAW]", token):
            return None
        return _try_value(token, kind.unit)
    if not re.search(r"\d", token) or re.fullmatch(r"[\d.,]+", token) and kind.unit not in ("V", "A"):
        return None
    read = _try_value(token, kind.unit)
    return read


def _extra(token: str, kind: PartClass) -> tuple[str, Quantity] | None:
    for word, unit in kind.extras.items():
        if token.lower().startswith(word.lower()) and len(token) > len(word):
            if (read := _try_value(re.sub(r"^(?:\d+/\d+)?=", "", token[len(word) :]), unit)) is not None:
                return word, read
    return None


def _rating(token: str, kind: PartClass) -> tuple[str, float] | None:
    match = re.fullmatch(r"([\d.,]+[pnuµμmkKM]?)(V|A|W)(?:DC|AC|~)?|(\d+)([VAW])(\d+)", token)
    if match and match.group(2):
        read = _try_value(match.group(1) + match.group(2), match.group(2))
        unit = match.group(2)
    elif match:
        unit = match.group(4)
        read = exactly(float(f"{match.group(3)}.{match.group(5)}"), unit)
    elif fraction := re.fullmatch(r"1/([248])W", token):
        unit, read = "W", exactly(1 / int(fraction.group(1)), "W")
    else:
        return None
    if read is None or read.value is None or unit not in kind.rating_units:
        return None
    return unit, read.value


def _marked(tokens: list[str], kind: PartClass) -> tuple[Quantity, int]:
    from generator.circuit.marking import MarkingError, decode_leading

    try:
        return decode_leading(tokens, kind.name)
    except MarkingError as error:
        raise PartError(error.what, error.hint) from None


def _with_tolerance(
    kind: PartClass, value: Quantity | None, tolerance: float | None, words: list[str], marked: bool
) -> Quantity | None:
    if value is None or value.is_range:
        return value
    if tolerance is not None:
        spread = abs(value.middle) * tolerance
        return Quantity(value.value, value.middle - spread, value.middle + spread, value.unit, value.text, True)
    if value.toleranced:
        return value
    return value.within(TOLERANCES.get(tolerance_class(kind.name, value, words), 0.0))


def tolerance_class(part_class: str, value: Quantity, words: list[str] | tuple[str, ...]) -> str:
    """Which default tolerance a part has: a capacitor is electrolytic by its words or from 1 µF up."""
    if part_class != "capacitor":
        return part_class
    for word in words:
        if known := _CAPACITOR_WORDS.get(word) or _CAPACITOR_WORDS.get(word.lower()):
            return known
    return "electrolytic" if value.middle >= ELECTROLYTIC_FROM else "film"


def _no_value(kind: PartClass, designator: str, tokens: list[str]) -> tuple[str, str]:
    for token in tokens:
        if re.match(r"[+-]?[\d.]", token):
            try:
                quantity.parse(token, kind.unit)
            except QuantityError as error:
                return error.what, _expected(kind)
    return f"{designator or 'the ' + kind.name} has no value", _expected(kind)


_EXAMPLES = {
    "resistor": "R9 47k 1%", "capacitor": "C3 1000u 35V", "thermistor": "TH1 100k B3950",
    "photoresistor": "LDR1 10k gamma0.7", "zener": "ZD1 5V1 400mW", "fuse": "F1 3.15A",
    "potentiometer": "RV1 470k", "inductor": "L1 10mH", "transistor": "Q1 hfe100 500mA 45V",
    "mosfet": "Q1 vth2 rds0R05 10A 30V", "element": "E1 2200W", "winding": "M1 6R", "diac": "DB1 32V", "any": "F1 2A",
}  # fmt: skip


def _expected(kind: PartClass) -> str:
    example = _EXAMPLES.get(kind.name)
    called = "part" if kind.name == "any" else kind.name
    article = "an" if called[0] in "aeio" else "a"
    return f"{article} {called} is expected" + (f", such as {example}" if example else "")
