"""What a note says about a block, read into numbers: parameters checked, defaults filled in, tolerances found."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from generator.circuit import quantity
from generator.circuit.band import Axis
from generator.circuit.block import Kind, Mains, Param
from generator.circuit.part_text import DESIGNATOR
from generator.circuit.parts import CLASSES, TOLERANCES, Part, PartError, parse_part, type_of_capacitor
from generator.circuit.quantity import Quantity, QuantityError
from generator.problems import WARNING, Trouble, did_you_mean

MOST_LISTED = 40
MOST_CUT_POINTS = 20  # each costs a solve at every end of the others
References = Mapping[str, tuple[str, Quantity]]  # parameter, or "cut:name" -> (as written, what it is)
LONGEST_TEXT = 60
NEAR_MAINS = 0.20  # what is rated within this share of the mains is taken to be plugged into it


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


def read_inputs(
    kind: Kind,
    given: Mapping[str, Any],
    references: References,
    mains: Mains,
    *,
    partial: bool = False,
) -> tuple[Inputs, list[Trouble]]:
    """Read the parameters of a block. references: those that were given by another block's value.

    Returns the inputs and everything wrong with them; paths start at the parameter. partial: say nothing of what is
    missing.
    """
    inputs, troubles = Inputs(), []
    known = [p.name for p in kind.params]
    for name in given:
        if name not in known:
            troubles.append(Trouble((name,), f"{str(name)[:40]}: no such parameter of {kind.name}", did_you_mean(str(name), known)))
    for param in kind.params:
        try:
            if param.name in references:
                _take_reference(param, references[param.name], inputs)
            elif given.get(param.name, "") not in ("", None, [], {}):
                _take(param, given[param.name], inputs, mains, references)
            elif param.required:
                if not partial:
                    troubles.append(Trouble((), f"{kind.name} needs {param.name}", _wanted(param)))
            else:
                _take_default(param, inputs, mains)
        except _At as error:
            troubles.append(Trouble((param.name, *error.path), f"{kind.name} {param.name}: {error.what}", error.hint))
        except QuantityError as error:
            troubles.append(Trouble((param.name,), f"{kind.name} {param.name}: {error.what}", error.hint))
    if not troubles and not partial:
        _join_axes(kind, inputs, references)
        if kind.vet:
            troubles += [Trouble((n,), f"{kind.name} {n}: {what}", hint) for n, what, hint in kind.vet(inputs.given)]
        troubles += _loads_without_unit(kind, given)
    return inputs, troubles


def _loads_without_unit(kind: Kind, given: Mapping[str, Any]) -> list[Trouble]:
    """`load: 300` is 300 ohm, and may have been meant as 300 mA."""
    bare = [(p.name, text) for p in kind.params if p.shape == "load" and re.fullmatch(r"[\d.,]+", text := str(given.get(p.name, "")).strip())]
    return [
        Trouble((name,), f"{kind.name} {name}: {text} is taken as {text} ohm", f"write {text} ohm, or A or mA for a current", WARNING)
        for name, text in bare
        if text.strip("0.,")
    ]


class _At(QuantityError):
    """A QuantityError further inside a parameter."""

    def __init__(self, path: tuple[str | int, ...], what: str, hint: str = "") -> None:
        super().__init__(what, hint)
        self.path = path


def _wanted(param: Param) -> str:
    return f"{param.name}: {param.what}"


def _take_reference(param: Param, reference: tuple[str, Quantity], inputs: Inputs) -> None:
    text, found = reference
    _fitting(text, found, ("A", "ohm") if param.shape == "load" else (param.unit,))
    inputs.given[param.name] = found
    if param.shape == "load":
        inputs.numbers[f"{param.name}_is"] = found.unit
    inputs.add(param.name, found, found.unit)
    if param.follows_mains:  # the band that it came with is its own
        inputs.add(f"{param.name}_top", quantity.exactly(found.high, found.unit), found.unit)


def _fitting(text: str, found: Quantity, units: tuple[str, ...]) -> Quantity:
    """Another block's value, which has to be of one of the units."""
    if found.unit not in units:
        what = quantity.KINDS_OF_VALUE[found.unit][0]
        raise QuantityError(f"{text} is {what}", " or ".join(quantity.KINDS_OF_VALUE[u][0] for u in units) + " is expected")
    return found


def _take_default(param: Param, inputs: Inputs, mains: Mains) -> None:
    if param.default == "mains":
        v, b = mains.voltage, 0.0 if param.exact else mains.band
        found = Quantity(v, v * (1 - b), v * (1 + b), "V", quantity.format_value(v, "V", trim=True), False)
        inputs.given[param.name] = found
        inputs.add(param.name, found, "V")
    elif param.default == "frequency":
        found = quantity.exactly(mains.frequency, "Hz")
        inputs.given[param.name] = found
        inputs.add(param.name, found, "Hz")
    elif param.default.startswith("mains~"):
        rated = inputs.numbers.get(param.default[6:])
        near = rated is not None and abs(rated - mains.voltage) <= NEAR_MAINS * mains.voltage
        _take_default(replace(param, default="mains" if near else "=" + param.default[6:]), inputs, mains)
    elif param.default.startswith("="):
        inputs.given[param.name] = None  # follows another parameter; _join_axes fills it in
    elif param.default == "":
        inputs.given[param.name] = None
        inputs.numbers[param.name] = None
        if param.shape == "parts":
            inputs.numbers[f"{param.name}_count"] = 0
    else:
        _take(param, param.default, inputs, mains)


def _take(param: Param, entry: Any, inputs: Inputs, mains: Mains, references: References | None = None) -> None:
    shape = param.shape
    if shape in ("value", "part", "load", "choice", "count", "text"):
        if isinstance(entry, (Mapping, list, tuple)):
            raise QuantityError("one value is expected here, not several", _wanted(param))
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
        top = Quantity(found.value, found.low * (1 + mains.band), found.high * (1 + mains.band), found.unit, "", found.toleranced)
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
            raise QuantityError(f"{text} states no value", f"{_wanted(param)}: a value, or one of {', '.join(param.named)}")
        inputs.add(param.name, quantity.exactly(param.named[word], CLASSES[param.part].unit), CLASSES[param.part].unit)


def _take_load(param: Param, text: str, inputs: Inputs, mains: Mains) -> None:
    """A load: "120 mA", "0", or a resistor "240 ohm", "R7 240"; a load is exact unless it states a tolerance."""
    try:
        found = quantity.parse(text, "A", zero=True)
        is_current = re.search(r"(?:[Aa]|[Aa][Mm][Pp][Ss]?)(?![A-Za-z])", text) is not None or found.value == 0
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
        raise QuantityError(error.what, "a load is a current (120 mA) or a resistor (240 ohm, R7 240)") from None
    if part.value and "%" not in text and not part.value.is_range:
        part = _exact_part(part, param.part or "resistor")
    else:
        part = Part(param.part or "resistor", part.designator, part.value, part.ratings, part.extras, part.words, part.text)
    inputs.given[param.name] = part
    inputs.numbers[f"{param.name}_is"] = "ohm"
    _add_part(param.name, part, inputs)
    inputs.units[param.name] = "ohm"


def _exact_part(part: Part, part_class: str) -> Part:
    value = quantity.exactly(part.value.middle, "ohm", part.value.text) if part.value else None
    return Part(part_class, part.designator, value, part.ratings, part.extras, part.words, part.text)


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
        raise QuantityError(f"{choice[:40] or text[:40]}: not one of {', '.join(param.choices)}", did_you_mean(choice, param.choices))
    inputs.given[param.name] = Part(param.part, designator, None, {}, {}, (), choice) if designator else choice
    inputs.numbers[param.name] = choice


def _plain(word: str) -> str:
    """A choice however it is spelled: "Li-Ion", "half wave", "LiFePO4"."""
    return word.lower().replace("-", "").replace(" ", "")


def _take_count(param: Param, text: str, inputs: Inputs, mains: Mains) -> None:
    if not re.fullmatch(r"\d{1,4}", text) or int(text) == 0 and not param.zero:
        raise QuantityError(f"{text[:40]} is no whole number above zero", _wanted(param))
    inputs.given[param.name] = quantity.exactly(float(text), "", text)
    inputs.numbers[param.name] = int(text)
    inputs.units[param.name] = ""


def _take_text(param: Param, text: str, inputs: Inputs, mains: Mains) -> None:
    if len(text) > LONGEST_TEXT:
        raise QuantityError(f"{text[:24]}... is longer than {LONGEST_TEXT} characters", _wanted(param))
    inputs.given[param.name] = text
    inputs.numbers[param.name] = text


def _take_parts(param: Param, entries: list[Any], inputs: Inputs) -> None:
    parts: list[Part] = []
    for position, entry in enumerate(entries):
        try:
            parts.append(parse_part(entry, param.part))
        except QuantityError as error:
            raise _At((position,), error.what, error.hint) from None
        _add_part(f"{param.name}_{position}", parts[-1], inputs)
    inputs.given[param.name] = parts
    inputs.numbers[f"{param.name}_count"] = len(parts)


def _take_numbers(param: Param, entries: list[Any], inputs: Inputs) -> None:
    found = []
    for position, entry in enumerate(entries):
        try:
            number = float(str(entry))
        except ValueError:
            raise _At((position,), f"{str(entry)[:30]} is no number", _wanted(param)) from None
        if not abs(number) < 1e12:
            raise _At((position,), f"{str(entry)[:30]} is no number that can be used", _wanted(param))
        found.append(number)
    inputs.given[param.name] = found
    inputs.numbers[param.name] = tuple(found)


def _take_lines(param: Param, entries: list[Any], inputs: Inputs) -> None:
    lines = []
    for position, entry in enumerate(entries):
        text = " ".join(str(entry).split())
        if isinstance(entry, (Mapping, list)) or not text:
            raise _At((position,), "a line of text is expected here", _wanted(param))
        if len(text) > LONGEST_TEXT:
            raise _At((position,), f"{text[:24]}... is longer than {LONGEST_TEXT} characters")
        lines.append(text)
    inputs.given[param.name] = lines
    inputs.numbers[param.name] = tuple(lines)


def _take_tree(param: Param, entries: list[Any], inputs: Inputs) -> None:
    def read(items: list[Any], path: tuple[int, ...], depth: int) -> list[Any]:
        if depth > 3:
            raise _At(path, "branches are nested too deep", "at most two levels of branches")
        found: list[Any] = []
        for position, item in enumerate(items):
            here = (*path, position)
            if isinstance(item, (list, tuple)):
                found.append(read(list(item), here, depth + 1))
                continue
            try:
                found.append(parse_part(item, "any"))
            except PartError as error:
                raise _At(here, error.what, error.hint) from None
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
            raise _At((name,), f"{name} needs exactly one of {', '.join(param.cuts)}", f"such as {{{next(iter(param.cuts))}: ...}}")
        key, text = next(iter(cut.items()))
        if key not in param.cuts:
            raise _At((name, key), f"{str(key)[:40]}: no such cut point", did_you_mean(str(key), param.cuts))
        if not re.fullmatch(r"[A-Za-z][\w /-]{0,39}", str(name)):
            raise _At((name,), f"{str(name)[:40]!r} is no name for a cut point", "letters, digits, spaces and -, at most 40")
        unit = param.cuts[key]
        try:
            if f"cut:{name}" in references:
                found = _fitting(*references[f"cut:{name}"], (unit,))
            else:
                found = quantity.parse(text, unit, positive=unit != "°C", zero=unit in ("", "V"))
        except QuantityError as error:
            raise _At((name, key), error.what, error.hint) from None
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


def _join_axes(kind: Kind, inputs: Inputs, references: References) -> None:
    """Inputs that are one quantity move together: a default taken from another parameter, the same value named twice."""
    same: dict[str, list[str]] = {}
    for param in kind.params:
        follows = param.default.startswith(("=", "mains~"))
        if follows and inputs.given.get(param.name) is None and param.name not in references:
            leader = param.default.removeprefix("mains~").removeprefix("=")
            given = inputs.given.get(leader)
            inputs.given[param.name] = given
            inputs.numbers[param.name] = inputs.numbers.get(leader)
            inputs.units[param.name] = inputs.units.get(leader, param.unit)
            same.setdefault(leader, [leader]).append(param.name)
        elif param.name in references:
            same.setdefault("@" + references[param.name][0], []).append(param.name)
    for names in same.values():
        axis = next((a for a in inputs.axes if a.names[0] in names), None)
        if axis and len(names) > 1:
            inputs.axes = [a for a in inputs.axes if a.names[0] not in names]
            inputs.axes.append(Axis(tuple(names), axis.low, axis.high, axis.ranged))
    inputs.numbers.setdefault("cuts", {})
