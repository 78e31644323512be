"""What a word of a part can be: a rating, a letter for its tolerance, a type number, a size. No word is passed over.

A word that holds a digit, a sign or a % and is none of these is told by parts.py; other words are remarks.
"""

from __future__ import annotations

import re

from generator.notation import quantity
from generator.notation.quantity import Quantity, QuantityError, exactly
from generator.notation.tolerance import TOLERANCE_LETTERS
from generator.notation.units import UNITS, WRITTEN_OUT

_RATING = re.compile(
    r"(?:AC|DC)?([\d.,]+[pnuµμmkKM]?)W?(VA|[VAWvaw])(?:DC|AC|dc|ac|rms|~|=|⎓)?(?:max\.?)?|(\d+)([VAW])(\d+)"
)
# Patterns of rare words are compiled when the first one comes, which at the bench is seldom.
# Symbols of data sheets for the most that a part may see, by the unit of the rating (IEC 60747, from memory). Ratings
# of other places (gate to source, emitter to base) are not among them: no check holds them against anything.
_NAMED_RATING = (
    r"(?i:(?P<V>V(?:ceo|ces|cbo|cer|ce|dss|ds|rrm|rsm|drm|rm|r|max|ac|dc|isol)|BV(?:dss|ceo)|WV(?:dc)?|U)"
    r"|(?P<A>I(?:cm|c|dm|d|f(?:av|sm)?|t(?:rms)?|o|max))"
    r"|(?P<W>P(?:tot|d|c|max)?))[=:]?(?P<rest>\d[\d.,]*[pnuµμmkKM]?[VAWvaw]?\d*)"
)
_IN_TWO_DUTIES = r"([\d.,]+)\(([\d.,]+)\)(m?A)"  # 16(4)A: resistive, inductive load (IEC 61058-1)

# Parts that are known by a type number rather than by a value.
_BY_TYPE = {
    "diode", "zener", "led", "transistor", "mosfet", "triac", "diac", "chip", "optocoupler", "varistor", "switch",
    "contact", "coil", "any", "thermal fuse", "fuse", "element", "winding", "pnp or p-channel transistor",
}  # fmt: skip
_AT_A_FREQUENCY = {"contact", "switch", "coil", "element", "winding", "chip", "fuse", "any"}
_TYPE_NUMBER = r"(?=(?:[^\d]*\d){2})(?=[^A-Za-z]*[A-Za-z])[A-Z0-9][A-Za-z0-9]*(?:[-/.][A-Za-z0-9]+)*"
_SERIES = r"[A-Z]{2,}-?\d{2,}[A-Z0-9-]*"  # MKP10, PR02: two letters or more, then figures
_POINT = re.compile(r"\d+[RVAWkKMmunpµ]\d+")  # 6V2 is a value
_DIGITS_OF_A_TYPE = re.compile(r"\d{3,5}")  # 555, 7805, 4017
_SIZES = set("0201 0402 0603 0805 1008 1206 1210 1806 1812 2010 2512".split())  # EIA, in 0.01 inch
_REMARKS = (
    r"[ØøP]?\d+(?:[.,]\d+)?(?:[x×]\d+(?:[.,]\d+)?){0,2}mm",  # 5mm, 10x16mm
    r"(?:RM|P|Ø)?\d+(?:[.,]\d+)?[x×]\d+(?:[.,]\d+)?",  # 5x20, the size of a fuse
    r"T\d{2,3}(?:/\d{2,3})?|\d{1,3}T\d{2,3}",  # T85: ambient temperature, IEC 61058-1 and IEC 60730-1
    r"(?:±|\+/-|\+-)?\d+(?:[.,]\d+)?ppm(?:/K|/°?C)?",  # its coefficient
    r"\d+E\d",  # 5E4 switching cycles, IEC 61058-1
    r"\d-?(?:pole|pin|way|core|lead|wire|leg|speed|position|turn|digit|band)s?",
    r"[XYZ][2-9][A-V]|C0G|NP0",  # dielectrics, EIA-198
    r"\d?[CD]?P\d?[CDS]?T\d?|\d(?:NO|NC|CO)",  # 2P, DP3T; normally open, closed, change-over
    r"(?:TO|SOT|SOD|DO|SO|DIP|TSSOP|SSOP|QFN|DFN|SC)-?\d+[A-Z]*(?:-\d+)?",  # packages
    r"\d+(?:[.,]\d+)?kV/\d+ns",
)
# A symbol with a figure, which no type number is: Vebo5V, V35, Ic500, ESR0.1
_SYMBOL = r"[VIPvip][A-Za-z()]*[\d.,]+[mkuµn]?[VAWvaw]|V\d+|[VIP][a-z]+\d.*|(?:ESR|TOL|DF|TC)\d.*"
_ADJECTIVE = r"\d{1,3}-([a-z]{2,})"  # 8-bit, 4-band; 5-volt is a value
_SAFETY = re.compile(r"[XY][123]?(?:/[XY][12])?")
_TELLING = re.compile(r"[\d%±]|^[+-]|[+-]$|[+±]")


def rating(token: str, units: tuple[str, ...]) -> tuple[str, float] | None:
    """(unit, value) of a rating in one of the units: `35V`, `250V~`, `16WV`, `0.25W`, `Vce45V`, `2A5`."""
    match = _RATING.fullmatch(token)
    if match and match[2]:
        unit = "W" if match[2] == "VA" else match[2].upper()
        read = tried(match[1] + unit, unit)
    elif match:
        unit, read = match[4], exactly(float(f"{match[3]}.{match[5]}"), match[4])
    elif named := re.fullmatch(_NAMED_RATING, token):
        unit = next(unit for unit in "VAW" if named[unit])
        has_unit = re.search(r"[VAWvaw]\d*$", named["rest"]) is not None
        if not has_unit and (unit != "V" or not re.match(r"B?V[a-z]|WV", token)):
            return None  # PD100 is a type, Ic500 may be milliamperes
        read = tried(named["rest"] if has_unit else named["rest"] + unit, unit)
    else:
        return None
    return (unit, read.value) if read is not None and read.value is not None and unit in units else None


def in_two_duties(token: str) -> tuple[Quantity, Quantity] | None:
    """What a contact carries with a resistive and with an inductive load, of `16(4)A` (IEC 61058-1)."""
    match = re.fullmatch(_IN_TWO_DUTIES, token)
    if match is None:
        return None
    resistive, inductive = (tried(match[n] + match[3], "A") for n in (1, 2))
    return (resistive, inductive) if resistive and inductive else None


def states(token: str, unit: str) -> bool:
    """Whether a word states a figure with its unit."""
    return re.fullmatch(r"[\d.,]+", token) is None and tried(token, unit) is not None


def tried(token: str, unit: str) -> Quantity | None:
    """The value of a text, None where it is none."""
    try:
        return quantity.parse(token, unit)
    except QuantityError:
        return None


def by_letter(value: Quantity, letter: str) -> Quantity | None:
    """The value with the tolerance of a letter of IEC 60062, None where the letter is none."""
    if letter not in TOLERANCE_LETTERS or value.value is None:
        return None
    from generator.notation.marking_meaning import lettered  # few values have a letter

    return lettered(value.value, value.unit, value.text, letter)[0]


def with_its_letter(token: str, unit: str) -> Quantity | None:
    """A value with the letter of its tolerance behind it in one word: `4k7J`, `100nK`, `470RM`."""
    match = re.fullmatch(r"(\d*[.,]?\d*[RrpnuµμmkKMG]?\d*)([FGJKMZ])", token)
    if match is None or re.fullmatch(r"[\d.,]*", match[1]) or re.fullmatch(r"[\d.,]+[pnuµμmkKMG]F", token):
        return None
    value = tried(match[1], unit)
    return by_letter(value, match[2]) if value else None


def is_remark(token: str, part_class: str) -> bool:
    """Whether a word with figures is one that says something else than a value: a type number, a size, a package."""
    if any(re.fullmatch(pattern, token) for pattern in _REMARKS) or _SAFETY.fullmatch(token):
        return True
    if (adjective := re.fullmatch(_ADJECTIVE, token)) and adjective[1] not in {*UNITS, *WRITTEN_OUT}:
        return True
    if part_class != "thermal fuse" and re.fullmatch(r"[-+]?\d{2,3}°?C", token):  # what it stands
        return True
    if part_class in _AT_A_FREQUENCY and re.fullmatch(r"\d+(?:/\d+)?Hz", token):
        return True
    if part_class == "varistor" and re.fullmatch(r"\d{3}[JKLM]?|\d+V(?:DC|dc|=)", token):
        return True
    if re.fullmatch(_SYMBOL, token) or part_class != "varistor" and _POINT.fullmatch(token):
        return False
    if part_class in _BY_TYPE:
        if token == "1/2":  # of a chip that holds two
            return True
        if part_class == "chip" and _DIGITS_OF_A_TYPE.fullmatch(token):
            return True
        return re.fullmatch(_TYPE_NUMBER, token) is not None and not _is_measured(token)
    return re.fullmatch(_SERIES, token) is not None and not _is_measured(token)


def _is_measured(token: str) -> bool:
    """Whether a word ends in a unit, as a value does that could not be read: 500MA, 10MV, 3Hz."""
    match = re.fullmatch(r"[\d.,/]+([A-Za-zµμΩ°/]+)", token)
    if match is None:
        return False
    tail = match[1]
    return tail in UNITS or tail[1:] in UNITS or tail.upper() in ("V", "A", "W", "HZ", "F", "H")


def is_size(token: str) -> bool:
    """Whether a word is the size of a chip resistor or capacitor: 0805."""
    return token in _SIZES


def is_telling(token: str) -> bool:
    """Whether a word holds a digit, a sign or a %, so that it cannot be passed over."""
    return _TELLING.search(token) is not None


def unit_alone(token: str) -> bool:
    """Whether a word is a unit without a figure: what it belongs to is not known. Some single letters are remarks."""
    if len(token) == 1:
        return token in "VAWFHΩ"
    return token in UNITS and not token.islower() or token in ("lux", "kHz", "MHz", "mA", "mW", "kV")
