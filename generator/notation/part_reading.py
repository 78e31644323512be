"""Parts as written at the bench: "C3 1000u 35V 20%" -> designator, value, ratings, tolerance, words."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace

from generator.notation import part_words as words
from generator.notation import quantity, tolerance
from generator.notation.part_classes import CLASSES, PartClass
from generator.notation.part_text import FUSE_MARK, taken_apart
from generator.notation.parts import TOLERANCES, Part, PartError, tolerance_class
from generator.notation.quantity import Quantity, QuantityError, exactly
from generator.notation.tolerance import TOLERANCE_LETTERS, ToleranceError
from generator.notation.units import UNITS

LONGEST_DESIGNATOR = 9
LONGEST_PART = 80
THERMISTOR_B_TOLERANCE = 0.01


def parse_part(text: object, part_class: str, *, zero: bool = False, beside: str = "") -> Part:
    """Read a part as written at the bench. Designator first (or none); the rest in any order.

    zero: a resistor may be a link of 0 Ω here (`R1 0R`). beside: the unit of a further figure, among its ratings. Raises PartError with words for people: no value, a value of another quantity, too long,
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
    if kind.unit == "ohm" and (link := next((t for t in tokens if _LINK.fullmatch(t)), "")):
        if not zero:
            what = f"{link} is zero, a link of 0 Ω"
            raise PartError(what, f"{_expected(kind)}; a part that is not there is left out")
        others = [token for token in tokens if token != link and token != "marked"]
        return replace(
            _read(replace(kind, needs_value=False, unit=""), designator, others),
            part_class=kind.name,
            value=exactly(0.0, "ohm", link),
            text=" ".join(tokens),
        )
    stated = (t for t in tokens if words.states(t, beside) and _own_value(t, kind) is None)
    other = next(stated, "") if beside else ""
    part = _read(kind, designator, [token for token in tokens if token != other])
    if not other:
        return part
    part.ratings[beside] = quantity.parse(other, beside).middle
    return replace(part, text=" ".join(tokens))


def _is_only_value(source: str, kind: PartClass) -> bool:
    """`R47` alone is 0.47 ohm (IEC 60062), since a part needs a value more than a designator; `R9` alone is no value."""
    if " " in source or not kind.needs_value or re.fullmatch(r"R\d", source):
        return False
    return _own_value(source, kind) is not None


@dataclass
class _Found:
    """What has been read of a part so far."""

    value: Quantity | None = None
    ratings: dict[str, float] = field(default_factory=dict)
    extras: dict[str, Quantity] = field(default_factory=dict)
    words: list[str] = field(default_factory=list)
    shares: tuple[str, tolerance.Shares] | None = None  # the tolerance as written, and what it says
    last_extra: str = ""

    def rate(self, unit: str, limit: float) -> None:
        """Of two ratings in one unit ("275VAC 630VDC") the lower one is held to."""
        self.ratings[unit] = min(limit, self.ratings.get(unit, limit))

    def tolerate(self, token: str, shares: tolerance.Shares) -> None:
        if self.shares and self.shares[1] != shares:
            raise PartError(f"{self.shares[0]} and {token}: two tolerances", "one of them")
        self.shares = (token, shares)


def _read(kind: PartClass, designator: str, tokens: list[str]) -> Part:
    found = _Found()
    left = list(tokens)
    if "marked" in left:
        at = left.index("marked")
        found.value, used = _marked(left[at + 1 :], kind)
        left = left[:at] + left[at + 1 + used :]
    for token in left:
        _take(token, kind, found)
    if found.value is None and kind.needs_value:
        raise PartError(*_no_value(kind, designator, left))
    value = _with_tolerance(kind, found)
    return Part(
        kind.name, designator, value, found.ratings, found.extras, tuple(found.words), " ".join(tokens),
        found.shares[1] if found.shares and value is None else None,
    )  # fmt: skip


def _take(token: str, kind: PartClass, found: _Found) -> None:
    """Put one word of a part where it belongs. Raises PartError where it says something that is not understood."""
    if (shares := _share(token)) is not None:
        _take_tolerance(token, shares, kind, found)
    elif extra := _extra(token, kind):
        name, stated = extra
        found.extras[name] = stated.within(THERMISTOR_B_TOLERANCE) if name == "B" else stated
        found.last_extra = name
    elif found.value is None and kind.unit and (read := _own_value(token, kind)) is not None:
        found.value = read
        if (mark := FUSE_MARK.match(token)) and mark.group(4):
            found.ratings["V"] = float(mark.group(4)[:-1])
    elif kind.unit == "A" and found.value is None and (duties := words.in_two_duties(token)):
        found.value, found.extras["inductive"] = duties
    elif "A" in kind.rating_units and (duties := words.in_two_duties(token)):
        found.rate("A", duties[0].middle)
        found.extras["inductive"] = duties[1]
    elif (rated := words.rating(token, kind.rating_units)) is not None:
        found.rate(*rated)
    elif lettered := _lettered(token, kind, found):
        found.value = lettered
    else:
        _take_word(token, kind, found)


def _take_tolerance(token: str, shares: tolerance.Shares, kind: PartClass, found: _Found) -> None:
    """A tolerance belongs to the part's value; where it has none of its own, to the figure before it (`hfe100 ±50%`)."""
    if kind.unit and (kind.needs_value or found.value is not None or kind.name == "led"):
        found.tolerate(token, shares)
    elif kind.name == "any":
        found.words.append(token)
    elif found.last_extra:
        stated = found.extras[found.last_extra]
        if stated.toleranced or stated.value is None:
            raise PartError(f"{stated.text} and {token}: two tolerances", "one of them")
        found.extras[found.last_extra] = replace(
            stated, low=stated.value * (1 - shares[0]), high=stated.value * (1 + shares[1]), toleranced=True
        )
    else:
        raise PartError(f"{token}: a tolerance of what?", "it comes after the value that it belongs to")


def _lettered(token: str, kind: PartClass, found: _Found) -> Quantity | None:
    """The value with a letter of IEC 60062 as its tolerance, which stands alone behind it (`10k J`)."""
    if found.value is None or kind.name not in _LETTERED or token not in TOLERANCE_LETTERS:
        return None
    if kind.name == "potentiometer" and token not in ("J", "K", "M"):
        return None  # A, B, C and W are tapers
    read = words.by_letter(found.value, token)
    if read is None:
        raise PartError(f"{token} after a range is not a tolerance", _expected(kind))
    if found.value.toleranced and (found.value.low, found.value.high) != (read.low, read.high):
        raise PartError(f"{found.value.text} and {token}: two tolerances", "one of them")
    return replace(read, text=f"{found.value.text} {token}")


def _take_word(token: str, kind: PartClass, found: _Found) -> None:
    """A word that is no figure of the part: a remark, unless it holds a figure that nothing here understands."""
    if words.is_size(token):
        found.words.append(token)
        return
    if kind.unit in _BY_VALUE and found.value is not None and (again := _own_value(token, kind)) is not None:
        raise PartError(f"{found.value.text} and {again.text}: two values", _expected(kind))
    if _PREFIX_AS_WORD.match(token):
        raise PartError(f"{token}: prefixes are written as letters", "p, n, u, m, k, M")
    if words.is_telling(token):
        any_value = kind.name == "any" and (FUSE_MARK.match(token) or _of_any_unit(token))
        if not (any_value or words.is_remark(token, kind.name)):
            raise PartError(*_not_understood(token, kind))
    elif (
        kind.name not in ("any", "potentiometer")
        and words.unit_alone(token)
        and not (kind.name == "fuse" and token in "HLE")  # breaking capacity (IEC 60127-2)
        and not (found.value is not None and token in UNITS and UNITS[token][0] == kind.unit)
    ):
        raise PartError(f"{token}: a unit without a figure", _expected(kind))
    found.words.append(token)


def _not_understood(token: str, kind: PartClass) -> tuple[str, str]:
    """Why a word with a figure is refused, with what would do."""
    neither = f"{token} is neither the value, a rating nor a tolerance"
    if re.fullmatch(r"\d{3}", token) and kind.unit in _BY_VALUE and kind.name not in ("winding", "coil"):
        return neither, f"a code printed on the part is written as marked {token}"
    if re.fullmatch(r"[\d.,]+", token):
        return neither, _expected(kind)
    if re.match(r"±|\+/?-", token):
        return f"{token} is not understood", "a tolerance is a share of the value, such as ±5%"
    name = next((n for n in kind.extras if token.lower().startswith(n.lower())), "")
    if name:
        return f"{token}: {name} is a number", f"such as {_EXTRA_EXAMPLES.get(name, name + '1')}"
    if re.match(r"[-+]?[\d.,]*\d", token):
        for unit in filter(None, (kind.unit, *kind.rating_units)):
            try:
                quantity.parse(token, unit)
            except QuantityError as error:
                if "no unit" not in error.what and "no value" not in error.what:
                    return error.what, error.hint if "mega" in error.hint else _expected(kind)
    hint = f"{_expected(kind)}; what is not a value goes into the text of the note"
    return f"{token} is not understood", hint


def _of_any_unit(token: str) -> bool:
    units = ("ohm", "F", "H", "V", "A", "W", "Hz", "s", "°C", "Wh", "Ah")
    return _LINK.fullmatch(token) is not None or any(words.tried(token, unit) is not None for unit in units)


_LINK = re.compile(r"0+(?:[.,]0+)?(?:R0*|ohms?|Ω|\u2126)?|R0+|0+R?0*")
_PREFIX_AS_WORD = re.compile(r"(?i:kilo|mega|milli|micro|nano|pico)")
# units of parts that are known by their value; their ratings are in other units
_BY_VALUE = ("ohm", "F", "H")
_LETTERED = ("resistor", "capacitor", "inductor", "thermistor", "potentiometer")
_EXTRA_EXAMPLES = {
    "hfe": "hfe100", "vth": "vth2", "rds": "rds0R05", "B": "B3950", "gamma": "gamma0.7", "ctr": "ctr100%",
}  # fmt: skip


def _share(token: str) -> tolerance.Shares | None:
    """A tolerance as shares below and above. Raises PartError for what is written like one and is none."""
    try:
        return tolerance.read(token)
    except ToleranceError as error:
        raise PartError(error.what, error.hint) from None


def _own_value(token: str, kind: PartClass) -> Quantity | None:
    if kind.unit in _BY_VALUE:
        if kind.name == "potentiometer" and re.match(r"[ABCW]\d", token):
            token = token[1:]  # A10k: the letter is its taper, by the maker's custom
        if not re.match(r"[\d.,R]|[pnuµμm]\d", token) or re.fullmatch(r"[\d.,]+[VAW]|R\d+-.*", token):
            return None
        if kind.unit != "ohm" and re.fullmatch(r"[\d.,]+", token):
            return None  # "104" on a capacitor is a code, "100" may be picofarads: neither is farads
        plain = _coded(token, kind) or words.tried(token, kind.unit)
        return plain or (words.with_its_letter(token, kind.unit) if kind.name in _LETTERED else None)
    if kind.name == "fuse" and (mark := FUSE_MARK.match(token)):
        return words.tried(mark.group(2), "A")
    if kind.name == "varistor":
        if not re.fullmatch(r"[\d.,]+V(?:AC|ac|~)?", token):
            return None  # 431 and 14K275 are codes
        token = token.rstrip("ACac~")
    if not re.search(r"\d", token) or re.fullmatch(r"[\d.,]+", token) and kind.unit not in ("V", "A"):
        return None
    return words.tried(token, kind.unit)


def _coded(token: str, kind: PartClass) -> Quantity | None:
    """`104K` and `103J`: figures with a count of zeros, as printed, where a tolerance's letter shows that they are that.

    K and M are also prefixes: on a resistor the preferred value (IEC 60063) decides, so that 470K is 470 kΩ.
    """
    if kind.name not in ("resistor", "capacitor", "inductor") or not re.fullmatch(r"\d{3}[FGJKMZ]", token):
        return None
    from generator.notation.marking_meaning import preferred

    plainly = words.tried(token, kind.unit)
    if plainly is not None and preferred(plainly):
        return None
    try:
        coded = _marked([token], kind)[0]
    except PartError:
        return None
    return coded if plainly is None or preferred(coded) else None


def _extra(token: str, kind: PartClass) -> tuple[str, Quantity] | None:
    for word, unit in kind.extras.items():
        if not token.lower().startswith(word.lower()) or len(token) == len(word):
            continue
        rest = re.sub(r"^(?:\d+/\d+)?=", "", token[len(word) :])
        least = rest[:1] in ("≥", ">")
        rest = rest.lstrip("≥>=") if least else rest
        if word == "ctr" and rest[-1:] != "%":
            rest += "%"  # data sheets state it in per cent
        elif word != "ctr" and re.fullmatch(r"[\d.,]+%", rest):
            continue
        try:
            read = quantity.parse(rest, unit)
        except QuantityError:
            continue
        if least:
            if read.value is None:
                continue
            read = replace(read, low=read.value, high=math.inf, toleranced=True)
        return word, read
    return None


def _marked(tokens: list[str], kind: PartClass) -> tuple[Quantity, int]:
    from generator.notation.marking import decode_leading  # few parts are stated by their marking
    from generator.notation.marking_meaning import MarkingError

    try:
        return decode_leading(tokens, kind.name)
    except MarkingError as error:
        raise PartError(error.what, error.hint) from None


def _with_tolerance(kind: PartClass, found: _Found) -> Quantity | None:
    value = found.value
    if value is not None and found.shares is not None:
        written, shares = found.shares
        if value.is_range:
            raise PartError(f"{value.text} and {written}: a range has no tolerance", "one of them")
        below, above = (abs(value.middle) * share for share in shares)
        low, high = value.middle - below, value.middle + above
        if value.toleranced and not (math.isclose(low, value.low) and math.isclose(high, value.high)):
            raise PartError(f"{value.text} and {written}: two tolerances", "one of them")
        return Quantity(value.value, low, high, value.unit, value.text, True)
    if value is None or value.toleranced:
        return value
    return value.within(TOLERANCES.get(tolerance_class(kind.name, value, found.words), 0.0))


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
