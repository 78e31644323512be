"""The shapes that a parameter can have: what a note gives for one, read into numbers and tolerances."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from generator.circuit.band import Axis
from generator.circuit.kind import Mains, Param
from generator.notation import quantity
from generator.notation.part_text import DESIGNATOR
from generator.notation.parts import CLASSES, TOLERANCES, Part, PartError, parse_part, type_of_capacitor
from generator.notation.quantity import Quantity, QuantityError
from generator.problems import did_you_mean

MOST_LISTED = 40
MOST_CUT_POINTS = 20  # each costs a solve at every end of the others
LONGEST_TEXT = 60

References = Mapping[str, tuple[str, Quantity]]  # parameter, or "cut:name" -> (as written, what it is)


@dataclass
class Inputs:
    """The inputs of a block: as given (Quantity, Part, ...), as numbers for a point, and their tolerance axes."""

    given: dict[str, Any] = field(default_factory=dict)
    numbers: dict[str, Any] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    axes: list[Axis] = field(default_factory=list)
    cut_names: list[str] = field(default_factory=list)

    def add(self, name: str, found: Quantity, unit: str) -> None:
        """Put a quantity into the numbers, with an axis where it has a band."""
        self.numbers[name] = found.middle
        self.units[name] = unit
        if found.low < found.high:
            self.axes.append(Axis((name,), found.low, found.high, found.is_range))


class PlacedError(QuantityError):
    """A QuantityError further inside a parameter."""

    def __init__(self, path: tuple[str | int, ...], what: str, hint: str = "") -> None:
        super().__init__(what, hint)
        self.path = path


def wanted(param: Param) -> str:
    """The hint where a parameter is missing or unusable: its name and what it is."""
    return f"{param.name}: {param.what}"


def fitting(text: str, found: Quantity, units: tuple[str, ...]) -> Quantity:
    """Another block's value, found, written as text, which has to be of one of the units. Raises QuantityError."""
    if found.unit not in units:
        what = quantity.KINDS_OF_VALUE[found.unit][0]
        raise QuantityError(
            f"{text} is {what}", " or ".join(quantity.KINDS_OF_VALUE[u][0] for u in units) + " is expected"
        )
    return found


def read_entry(
    param: Param, entry: Any, inputs: Inputs, mains: Mains, references: References | None = None
) -> None:
    """Read what a note (or the parameter's default) gives for a parameter into inputs, as the parameter's shape asks.

    references: those of the block's cut points that are another block's value. Raises QuantityError, and
    PlacedError where what is wrong lies further inside the entry.
    """
    shape = param.shape
    if shape in _SINGLE:
        if isinstance(entry, (Mapping, list, tuple)):
            raise QuantityError("one value is expected here, not several", wanted(param))
        text = " ".join(str(entry).split())
        _SINGLE[shape](param, text, inputs, mains)
    elif shape == "cut_points":
        _take_cut_points(param, entry, inputs, references or {})
    else:
        if not isinstance(entry, (list, tuple)):
            entry = [entry]
        if len(entry) > MOST_LISTED:
            raise QuantityError(f"{len(entry)} entries", f"at most {MOST_LISTED}")
        _LISTED[shape](param, entry, inputs)


def _take_value(param: Param, text: str, inputs: Inputs, mains: Mains) -> None:
    found = quantity.parse(text, param.unit, positive=not param.signed, zero=param.zero)
    if param.follows_mains:
        top = Quantity(
            found.value,
            found.low * (1 + mains.band),
            found.high * (1 + mains.band),
            found.unit,
            "",
            found.toleranced,
        )
        if top.value is not None:
            top = replace(top, value=top.value * (1 + mains.band))
        inputs.add(f"{param.name}_top", top, found.unit)
        found = replace(found, low=found.low * (1 - mains.band), high=found.high * (1 + mains.band))
    inputs.given[param.name] = found
    if param.exact:
        inputs.numbers[param.name], inputs.units[param.name] = found.middle, found.unit
    else:
        inputs.add(param.name, found, found.unit)


def _add_part(name: str, part: Part, inputs: Inputs) -> None:
    unit = CLASSES[part.part_class].unit
    inputs.numbers[name] = None
    if part.value is not None:
        inputs.add(name, part.value, unit)
        inputs.numbers[f"{name}_nominal"] = part.value.middle
    for word, found in part.extras.items():
        inputs.add(f"{name}_{word.lower()}", found, found.unit)


def _take_part(param: Param, text: str, inputs: Inputs, mains: Mains) -> None:
    if param.zero and re.fullmatch(r"0(?:[.,]0+)? ?(?:R|ohm|ohms|Ω)?", text):  # a link, or no part at all
        inputs.given[param.name] = quantity.exactly(0.0, CLASSES[param.part].unit)
        inputs.add(param.name, inputs.given[param.name], CLASSES[param.part].unit)
        return
    part = parse_part(text, param.part)
    if param.name == "smoothing" and part.value and not type_of_capacitor(part.words):
        part = replace(part, value=part.value.within(TOLERANCES["electrolytic"]))
    inputs.given[param.name] = part
    before = list(inputs.axes)
    _add_part(param.name, part, inputs)
    if param.exact:
        inputs.axes = before
    if param.named and part.value is None:
        word = next((word.lower() for word in part.words if word.lower() in param.named), None)
        if word is None:
            raise QuantityError(
                f"{text} states no value", f"{wanted(param)}: a value, or one of {', '.join(param.named)}"
            )
        inputs.add(
            param.name,
            quantity.exactly(param.named[word], CLASSES[param.part].unit),
            CLASSES[param.part].unit,
        )


def _take_load(param: Param, text: str, inputs: Inputs, mains: Mains) -> None:
    """A load: "120 mA", "0", or a resistor "240 ohm", "R7 240"; a load is exact unless it states a tolerance."""
    try:
        found = quantity.parse(text, "A", zero=True)
        is_current = (
            re.search(r"(?:[Aa]|[Aa][Mm][Pp][Ss]?)(?![A-Za-z])", text) is not None or found.value == 0
        )
    except QuantityError:
        if re.fullmatch(r"[\d.,]+ ?[pnuµμmkM]?(?:[Aa]|amps?)", text):
            raise
        is_current = False
    if is_current:
        inputs.given[param.name] = found
        inputs.numbers[f"{param.name}_is"] = "A"
        inputs.add(param.name, found, "A")
        return
    try:
        part = parse_part(text, "resistor")
    except QuantityError as error:
        raise QuantityError(
            error.what, "a load is a current (120 mA) or a resistor (240 ohm, R7 240)"
        ) from None
    if part.value and "%" not in text and not part.value.is_range:
        part = replace(part, value=quantity.exactly(part.value.middle, "ohm", part.value.text))
    part = replace(part, part_class=param.part or "resistor")
    inputs.given[param.name] = part
    inputs.numbers[f"{param.name}_is"] = "ohm"
    _add_part(param.name, part, inputs)
    inputs.units[param.name] = "ohm"


def _take_choice(param: Param, text: str, inputs: Inputs, mains: Mains) -> None:
    words = text.split()
    designator = ""
    if param.part and words and DESIGNATOR.match(words[0]):
        designator, words = words[0], words[1:]
    elif param.part and len(words) > 1 and DESIGNATOR.match(words[-1]):
        designator, words = words[-1], words[:-1]
    choice = " ".join(words) or (param.default if param.default in param.choices else "")
    choice = next((known for known in param.choices if _plain(known) == _plain(choice)), choice)
    if choice not in param.choices:
        raise QuantityError(
            f"{choice[:40] or text[:40]}: not one of {', '.join(param.choices)}",
            did_you_mean(choice, param.choices),
        )
    inputs.given[param.name] = (
        Part(param.part, designator, None, {}, {}, (), choice) if designator else choice
    )
    inputs.numbers[param.name] = choice


def _plain(word: str) -> str:
    """A choice however it is spelled: "Li-Ion", "half wave", "LiFePO4"."""
    return word.lower().replace("-", "").replace(" ", "")


def _take_count(param: Param, text: str, inputs: Inputs, mains: Mains) -> None:
    if not re.fullmatch(r"\d{1,4}", text) or int(text) == 0 and not param.zero:
        raise QuantityError(f"{text[:40]} is no whole number above zero", wanted(param))
    inputs.given[param.name] = quantity.exactly(float(text), "", text)
    inputs.numbers[param.name] = int(text)
    inputs.units[param.name] = ""


def _take_text(param: Param, text: str, inputs: Inputs, mains: Mains) -> None:
    if len(text) > LONGEST_TEXT:
        raise QuantityError(f"{text[:24]}... is longer than {LONGEST_TEXT} characters", wanted(param))
    inputs.given[param.name] = text
    inputs.numbers[param.name] = text


def _take_parts(param: Param, entries: list[Any], inputs: Inputs) -> None:
    parts: list[Part] = []
    for position, entry in enumerate(entries):
        try:
            parts.append(parse_part(entry, param.part))
        except QuantityError as error:
            raise PlacedError((position,), error.what, error.hint) from None
        _add_part(f"{param.name}_{position}", parts[-1], inputs)
    inputs.given[param.name] = parts
    inputs.numbers[f"{param.name}_count"] = len(parts)


def _take_numbers(param: Param, entries: list[Any], inputs: Inputs) -> None:
    found = []
    for position, entry in enumerate(entries):
        try:
            number = float(str(entry))
        except ValueError:
            raise PlacedError((position,), f"{str(entry)[:30]} is no number", wanted(param)) from None
        if not abs(number) < 1e12:
            raise PlacedError((position,), f"{str(entry)[:30]} is no number that can be used", wanted(param))
        found.append(number)
    inputs.given[param.name] = found
    inputs.numbers[param.name] = tuple(found)


def _take_lines(param: Param, entries: list[Any], inputs: Inputs) -> None:
    lines = []
    for position, entry in enumerate(entries):
        text = " ".join(str(entry).split())
        if isinstance(entry, (Mapping, list)) or not text:
            raise PlacedError((position,), "a line of text is expected here", wanted(param))
        if len(text) > LONGEST_TEXT:
            raise PlacedError((position,), f"{text[:24]}... is longer than {LONGEST_TEXT} characters")
        lines.append(text)
    inputs.given[param.name] = lines
    inputs.numbers[param.name] = tuple(lines)


def _take_tree(param: Param, entries: list[Any], inputs: Inputs) -> None:
    def read(items: list[Any], path: tuple[int, ...], depth: int) -> list[Any]:
        if depth > 3:
            raise PlacedError(path, "branches are nested too deep", "at most two levels of branches")
        found: list[Any] = []
        for position, item in enumerate(items):
            here = (*path, position)
            if isinstance(item, (list, tuple)):
                found.append(read(list(item), here, depth + 1))
                continue
            try:
                found.append(parse_part(item, "any"))
            except PartError as error:
                raise PlacedError(here, error.what, error.hint) from None
        return found

    inputs.given[param.name] = read(list(entries), (), 1)
    inputs.numbers[param.name] = ()


def _take_cut_points(param: Param, entry: Any, inputs: Inputs, references: References) -> None:
    if not isinstance(entry, Mapping):
        raise QuantityError("cut points have names", f"such as trip: {{{next(iter(param.cuts))}: ...}}")
    if len(entry) > MOST_CUT_POINTS:
        raise QuantityError(f"{len(entry)} cut points", f"at most {MOST_CUT_POINTS}")
    cuts: dict[str, tuple[str, Quantity]] = {}
    for name, cut in entry.items():
        if not isinstance(cut, Mapping) or len(cut) != 1:
            raise PlacedError(
                (name,),
                f"{name} needs exactly one of {', '.join(param.cuts)}",
                f"such as {{{next(iter(param.cuts))}: ...}}",
            )
        key, text = next(iter(cut.items()))
        if key not in param.cuts:
            raise PlacedError(
                (name, key), f"{str(key)[:40]}: no such cut point", did_you_mean(str(key), param.cuts)
            )
        if not re.fullmatch(r"[A-Za-z][\w /-]{0,39}", str(name)):
            raise PlacedError(
                (name,),
                f"{str(name)[:40]!r} is no name for a cut point",
                "letters, digits, spaces and -, at most 40",
            )
        unit = param.cuts[key]
        try:
            if f"cut:{name}" in references:
                found = fitting(*references[f"cut:{name}"], (unit,))
            else:
                found = quantity.parse(text, unit, positive=unit != "°C", zero=unit in ("", "V"))
        except QuantityError as error:
            raise PlacedError((name, key), error.what, error.hint) from None
        cuts[str(name)] = (str(key), found)
        inputs.add(f"cut:{name}", found, unit)
    inputs.given[param.name] = cuts
    inputs.numbers["cuts"] = {name: key for name, (key, _) in cuts.items()}
    inputs.cut_names = list(cuts)


_SINGLE = {
    "value": _take_value, "part": _take_part, "load": _take_load, "choice": _take_choice, "count": _take_count,
    "text": _take_text,
}  # fmt: skip
_LISTED = {"parts": _take_parts, "numbers": _take_numbers, "lines": _take_lines, "tree": _take_tree}
