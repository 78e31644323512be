"""Parts as written at the bench: "C3 1000u 35V 20%" -> designator, value, ratings, tolerance, words."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cached_property

from generator.notation import quantity
from generator.notation.part_text import CAPACITOR_WORDS, FUSE_MARK, taken_apart
from generator.notation.quantity import Quantity, QuantityError, exactly

LONGEST_DESIGNATOR = 9
LONGEST_PART = 80

# Worst case where the note is silent (the library's convention; typical stock parts).
TOLERANCES = {
    "resistor": 0.05,
    "potentiometer": 0.05,
    "film": 0.10,
    "electrolytic": 0.20,
    "thermistor": 0.05,
    "photoresistor": 0.0,
}
THERMISTOR_B_TOLERANCE = 0.01
ELECTROLYTIC_FROM = 1e-6  # F; a capacitor without a word for its type


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
        PartClass("diode", rating_units=("V", "A", "W"), needs_value=False),
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
    if _is_only_value(source, kind):
        return _read(kind, "", [source])
    designator, tokens = taken_apart(source, part_class, kind.extras)
    if len(designator) > LONGEST_DESIGNATOR:
        raise PartError(f"{designator} is too long for a designator", _expected(kind))
    return _read(kind, designator, tokens)


def _is_only_value(source: str, kind: PartClass) -> bool:
    """`R47` alone is 0.47 ohm (IEC 60062), since a part needs a value more than a designator; `R9` alone is no value."""
    if " " in source or not kind.needs_value or re.fullmatch(r"R\d", source):
        return False
    return _own_value(source, kind) is not None


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
    tolerance: tuple[float, float] | None = None
    if "marked" in tokens:
        at = tokens.index("marked")
        value, used = _marked(tokens[at + 1 :], kind)
        tokens = tokens[:at] + tokens[at + 1 + used :]
        text_value = value
    else:
        text_value = None
    for token in tokens:
        share = _share(token)
        extra = _extra(token, kind)
        if share:
            tolerance = share
        elif extra:
            extras[extra[0]] = extra[1].within(THERMISTOR_B_TOLERANCE) if extra[0] == "B" else extra[1]
        elif value is None and kind.unit and (read := _own_value(token, kind)) is not None:
            value = read
            if (mark := FUSE_MARK.match(token)) and mark.group(4):
                ratings["V"] = float(mark.group(4)[:-1])
        elif (rating := _rating(token, kind)) is not None:
            # of two ratings in one unit ("275VAC 630VDC") the lower one is held to
            ratings[rating[0]] = min(rating[1], ratings.get(rating[0], rating[1]))
        elif kind.unit in _BY_VALUE and value is not None and (again := _own_value(token, kind)) is not None:
            raise PartError(f"{value.text} and {again.text}: two values", _expected(kind))
        elif kind.needs_value and re.fullmatch(r"[\d.,]+", token):
            raise PartError(f"{token} is neither the value, a rating nor a tolerance", _expected(kind))
        elif _PREFIX_AS_WORD.match(token):
            raise PartError(f"{token}: prefixes are written as letters", "p, n, u, m, k, M")
        else:
            words.append(token)
    if value is None and kind.needs_value:
        raise PartError(*_no_value(kind, designator, tokens))
    value = _with_tolerance(kind, value, tolerance, words, text_value is not None)
    return Part(kind.name, designator, value, ratings, extras, tuple(words), " ".join(tokens))


_PREFIX_AS_WORD = re.compile(r"(?i:kilo|mega|milli|micro|nano|pico)")
_BY_VALUE = (
    "ohm",
    "F",
    "H",
)  # units of parts that are known by their value; their ratings are in other units


def _share(token: str) -> tuple[float, float] | None:
    """A tolerance as shares below and above: "5%", "±5%", "-20%+50%". Raises PartError for 100 % and more."""
    both = re.fullmatch(r"(?:±|\+/-|\+-)?(\d+(?:[.,]\d+)?)%", token)
    uneven = re.fullmatch(r"-(\d+)%?/?\+(\d+)%", token)
    if both:
        found = [float(both.group(1).replace(",", ".")) / 100] * 2
    elif uneven:
        found = [float(end) / 100 for end in uneven.groups()]
    else:
        return None
    if found[0] >= 1 or found[1] > 10:
        raise PartError(f"{token} is no tolerance", "a share below 100 %, such as 5%")
    return found[0], found[1]


def _own_value(token: str, kind: PartClass) -> Quantity | None:
    if kind.unit in _BY_VALUE:
        if not re.match(r"[\d.,R]", token) or re.fullmatch(r"[\d.,]+[VAW]", token):
            return None
        if kind.unit != "ohm" and re.fullmatch(r"[\d.,]+", token):
            return None  # "104" on a capacitor is a code, "100" may be picofarads: neither is farads
        return _try_value(token, kind.unit)
    if kind.name == "fuse" and (mark := FUSE_MARK.match(token)):
        return _try_value(mark.group(2), "A")
    if kind.name == "varistor" and not re.fullmatch(r"\d+V(?:AC)?", token):
        return None  # 431 and 14K275 are codes
    if not re.search(r"\d", token) or re.fullmatch(r"[\d.,]+", token) and kind.unit not in ("V", "A"):
        return None
    return _try_value(token, kind.unit)


def _extra(token: str, kind: PartClass) -> tuple[str, Quantity] | None:
    for word, unit in kind.extras.items():
        if token.lower().startswith(word.lower()) and len(token) > len(word):
            if (read := _try_value(re.sub(r"^(?:\d+/\d+)?=", "", token[len(word) :]), unit)) is not None:
                return word, read
    return None


def _rating(token: str, kind: PartClass) -> tuple[str, float] | None:
    match = re.fullmatch(r"([\d.,]+[pnuµμmkKM]?)([VAWvaw])(?:DC|AC|dc|ac|~)?|(\d+)([VAW])(\d+)", token)
    if match and match.group(2):
        unit = match.group(2).upper()
        read = _try_value(match.group(1) + unit, unit)
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
    from generator.notation.marking import MarkingError, decode_leading

    try:
        return decode_leading(tokens, kind.name)
    except MarkingError as error:
        raise PartError(error.what, error.hint) from None


def _with_tolerance(
    kind: PartClass,
    value: Quantity | None,
    tolerance: tuple[float, float] | None,
    words: list[str],
    marked: bool,
) -> Quantity | None:
    if value is None or value.is_range:
        return value
    if tolerance is not None:
        below, above = (abs(value.middle) * share for share in tolerance)
        return Quantity(value.value, value.middle - below, value.middle + above, value.unit, value.text, True)
    if value.toleranced:
        return value
    return value.within(TOLERANCES.get(tolerance_class(kind.name, value, words), 0.0))


def tolerance_class(part_class: str, value: Quantity, words: list[str] | tuple[str, ...]) -> str:
    """Which default tolerance a part has: a capacitor is electrolytic by its words or from 1 µF up."""
    if part_class != "capacitor":
        return part_class
    return type_of_capacitor(words) or ("electrolytic" if value.middle >= ELECTROLYTIC_FROM else "film")


def type_of_capacitor(words: list[str] | tuple[str, ...]) -> str:
    """ "electrolytic" or "film" (and ceramic) where a word says so, else ""."""
    return next(
        (
            known
            for word in words
            if (known := CAPACITOR_WORDS.get(word) or CAPACITOR_WORDS.get(word.lower()))
        ),
        "",
    )


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
