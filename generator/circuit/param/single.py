"""Parameters of one value: a quantity, a part, a load, a choice, a count."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from generator.circuit.failing import MODES, FailingPart
from generator.circuit.inputs import Inputs
from generator.circuit.param.base import MAINS, NEAR_MAINS, REQUIRED, Param, Stated, add_part
from generator.circuit.point import Mains
from generator.circuit.says import _
from generator.circuit.spread import OF_CLASS, widened
from generator.notation import parts, quantity
from generator.notation.part_classes import CLASSES
from generator.notation.part_reading import parse_part
from generator.notation.part_text import DESIGNATOR
from generator.notation.printed import SYMBOLS
from generator.notation.quantity import QuantityError
from generator.problems import did_you_mean

LOAD = "load"  # a parameter of this name is what draws from a block, whatever it states


class Quantity(Param):
    """A value of one unit. zero: 0 is accepted; signed: below zero is accepted; follows_mains: a secondary's volts.
    measurable: False for what stands nowhere in the circuit, as a factor in a data sheet's formula.

    spread: the entry of spread.py by which it is spread where no tolerance is stated. beside: the parameter without which
    nothing uses this one, so that it has no spread then.
    """

    def __init__(self, unit: str, what: str, *, default: Stated = REQUIRED, role: str = "",
                 zero: bool = False, signed: bool = False, follows_mains: bool = False, exact: bool = False,
                 spread: str = "", beside: str = "", measurable: bool = True) -> None:  # fmt: skip
        super().__init__(what, default=default, role=role)
        self.spread, self.beside, self.measurable = spread, beside, measurable
        self.unit, self.units = unit, (unit,)
        self.zero, self.signed, self.follows_mains, self.exact = zero, signed, follows_mains, exact

    def accepts(self) -> str:
        return SYMBOLS.get(self.unit, self.unit) or _("a number")

    @property
    def load_unit(self) -> str:
        return self.unit if self.name == LOAD else ""

    def take(self, text: str, inputs: Inputs, mains: Mains) -> None:
        found = quantity.parse(text, self.unit, positive=not self.signed, zero=self.zero)
        if self.exact and found.toleranced:
            hint = f"{self.wanted}, as one value"
            raise QuantityError(f"{text}: a tolerance counts for nothing here", hint)
        if self.follows_mains:
            high, low = 1 + mains.band, 1 - mains.below
            top = replace(found, low=found.low * high, high=found.high * high, text="")
            if top.value is not None:
                top = replace(top, value=top.value * high)
            inputs.add(f"{self.name}_top", top, found.unit)
            found = replace(found, low=found.low * low, high=found.high * high)
        elif self.moves_with_mains and not self.exact and not found.toleranced:
            found = of_the_wall(found, mains)
        inputs.given[self.name] = found
        if self.exact:
            inputs.numbers[self.name], inputs.units[self.name] = found.middle, found.unit
        else:
            inputs.given[self.name] = inputs.add_spread(self.name, found, self.spread)

    def refer(self, text: str, found: quantity.Quantity, inputs: Inputs) -> None:
        super().refer(text, found, inputs)
        if self.follows_mains:  # the band that it came with is its own
            inputs.add(f"{self.name}_top", quantity.exactly(found.high, found.unit), found.unit)


def of_the_wall(found: quantity.Quantity, mains: Mains) -> quantity.Quantity:
    """Volts as stated, with the mains' band where they are about those at the wall."""
    volts = found.middle
    if abs(volts - mains.voltage) > NEAR_MAINS * mains.voltage:
        return found
    return replace(found, low=volts * (1 - mains.below), high=volts * (1 + mains.band))


class Ratio(Quantity):
    """A ratio of turns, as a number or as "8:1"."""

    def __init__(self, what: str, *, default: Stated) -> None:
        super().__init__("", what, default=default)

    def take(self, text: str, inputs: Inputs, mains: Mains) -> None:
        both = re.fullmatch(r"(\d+(?:[.,]\d+)?) ?: ?(\d+(?:[.,]\d+)?)(.*)", text)
        if both:
            first, second = (float(part.replace(",", ".")) for part in both.groups()[:2])
            if second == 0:
                raise QuantityError(f"{text}: no turns at all", self.wanted)
            text = f"{first / second!r}{both.group(3)}"
        super().take(text, inputs, mains)


class MainsVoltage(Quantity):
    """The supply at the wall, with NAME_top beside it: its volts at the top of the mains band, also where they are stated."""

    def __init__(self, what: str) -> None:
        super().__init__("V", what, default=MAINS)

    def complete(self, inputs: Inputs, mains: Mains) -> None:
        given = inputs.given.get(self.name)
        if given is not None:
            inputs.numbers[f"{self.name}_top"] = max(given.high, given.middle * (1 + mains.band))
            inputs.units[f"{self.name}_top"] = "V"


class Part(Param):
    """A part of a class (generator.notation.parts), whose value has that class's unit.

    named: words that stand for a value (red -> 1.8 V). unmarked: the type of a capacitor without a word for it. zero:
    0 is accepted, for a link or no part. modes: how it fails, where that is not as its class does; () is never.
    named_by: another parameter that may carry its designator.
    """

    def __init__(self, part: str, what: str, *, default: Stated = REQUIRED, role: str = "",
                 named: Mapping[str, float] | None = None, unmarked: str = "", zero: bool = False, exact: bool = False,
                 modes: tuple[str, ...] | None = None, named_by: str = "") -> None:  # fmt: skip
        super().__init__(what, default=default, role=role)
        self.named_by = named_by
        self.part, self.named, self.unmarked = part, named or {}, unmarked
        self.zero, self.exact, self.modes = zero, exact, modes

    def accepts(self) -> str:
        return _(self.part)

    @property
    def load_unit(self) -> str:
        return CLASSES[self.part].unit if self.name == LOAD else ""

    def take(self, text: str, inputs: Inputs, mains: Mains) -> None:
        unit = CLASSES[self.part].unit
        if self.zero and re.fullmatch(r"0(?:[.,]0+)? ?(?:R|ohm|ohms|Ω)?", text):
            inputs.given[self.name] = found = quantity.exactly(0.0, unit)
            inputs.add(self.name, found, unit)
            return
        part = parse_part(text, self.part, zero=self.zero)
        if self.unmarked and part.value and not parts.type_of_capacitor(part.words):
            part = replace(part, value=part.value.within(parts.TOLERANCES[self.unmarked]))
        before = list(inputs.axes)
        inputs.given[self.name] = add_part(self.name, part, inputs)
        if self.exact:
            inputs.axes = before
        if self.named and part.value is None:
            word = next((word.lower() for word in part.words if word.lower() in self.named), None)
            if word is None:
                choices = ", ".join(self.named)
                raise QuantityError(f"{text} states no value", f"{self.wanted}: a value, or one of {choices}")
            key = OF_CLASS.get(self.part, "")
            volts = quantity.exactly(self.named[word], unit)
            if part.shares is not None:
                low, high = volts.low * (1 - part.shares[0]), volts.high * (1 + part.shares[1])
                volts = replace(volts, low=low, high=high, toleranced=True)
            inputs.add_spread(self.name, volts, key)

    def complete(self, inputs: Inputs, mains: Mains) -> None:
        """A part without a value (a diode) leaves no other trace in the numbers."""
        inputs.numbers[f"{self.name}_there"] = inputs.given.get(self.name) is not None

    def failing(self, given: Any) -> list[FailingPart]:
        if not isinstance(given, parts.Part):
            return []
        modes = MODES[given.part_class] if self.modes is None else self.modes
        return [FailingPart(self.name, given.part_class, given.name(self.called), modes)]


class Load(Param):
    """What draws from a rail: "120 mA", "0", or a resistor "240 ohm", "R7 240".

    Without a stated tolerance it has the spread of loads; a load with a resistor's designator has that of resistors.

    power: "45 W" is taken too. part: the class of a load that is a part. modes: () where it stands for another block; with a designator it is a part
    of this circuit all the same, and fails as its class does.
    """

    units: tuple[str, ...] = ("A", "ohm")

    def __init__(self, what: str, *, default: Stated = REQUIRED, role: str = "",
                 part: str = "resistor", modes: tuple[str, ...] | None = None, power: bool = False) -> None:  # fmt: skip
        super().__init__(what, default=default, role=role)
        self.part, self.modes, self.power = part, modes, power
        if power:
            self.units = (*self.units, "W")

    @property
    def load_unit(self) -> str:
        return "A"

    def accepts(self) -> str:
        return _("W, A or Ω") if self.power else _("A or Ω")

    def refer(self, text: str, found: quantity.Quantity, inputs: Inputs) -> None:
        super().refer(text, found, inputs)
        inputs.numbers[f"{self.name}_is"] = found.unit

    def take(self, text: str, inputs: Inputs, mains: Mains) -> None:
        drawn = _current(text) or (_power(text) if self.power else None)
        if drawn is not None:
            inputs.numbers[f"{self.name}_is"] = drawn.unit
            inputs.given[self.name] = inputs.add_spread(self.name, drawn, "load")
            return
        try:
            part = parse_part(text, "resistor")
        except QuantityError as error:
            hint = "a load is a current (120 mA) or a resistor (240 ohm, R7 240)"
            if self.power:
                hint = "a load is a power (45 W), a current (120 mA) or a resistor (240 ohm, R7 240)"
            raise QuantityError(error.what, hint) from None
        if part.value and not part.value.toleranced and not re.match(r"R\d", part.designator):
            part = replace(part, value=widened(part.value, "load"))
            inputs.spreads[self.name] = "load"
        part = replace(part, part_class=self.part)
        inputs.numbers[f"{self.name}_is"] = "ohm"
        inputs.given[self.name] = add_part(self.name, part, inputs)
        inputs.units[self.name] = "ohm"

    def failing(self, given: Any) -> list[FailingPart]:
        if not isinstance(given, parts.Part):
            return []
        modes = MODES[given.part_class] if self.modes is None or given.designator else self.modes
        return [FailingPart(self.name, given.part_class, given.name(self.called), modes)]


def _current(text: str) -> quantity.Quantity | None:
    """A load that is a current; None where it is none. Raises QuantityError for an ampere that is no number."""
    try:
        found = quantity.parse(text, "A", zero=True)
    except QuantityError:
        if re.fullmatch(r"[\d.,]+ ?[pnuµμmkM]?(?:[Aa]|amps?)", text):
            raise
        return None
    in_ampere = re.search(r"(?:[Aa]|[Aa][Mm][Pp][Ss]?)(?![A-Za-z])", text)
    return found if in_ampere or found.value == 0 else None


def _power(text: str) -> quantity.Quantity | None:
    """A load that is a power, without a designator; None where it is none."""
    if not re.match(r"[\d.,]+ ?[mk]?(?:[Ww]|[Ww]atts?)(?![A-Za-z])", text):
        return None
    return quantity.parse(text, "W", zero=True)


class Choice(Param):
    """One of a few words; with part, it may carry the designator of a part of that class."""

    def __init__(self, choices: Sequence[str], what: str, *, default: Stated = REQUIRED,
                 role: str = "", part: str = "") -> None:  # fmt: skip
        super().__init__(what, default=default, role=role)
        self.choices, self.part = tuple(choices), part

    def accepts(self) -> str:
        return " | ".join(self.choices)

    def take(self, text: str, inputs: Inputs, mains: Mains) -> None:
        words, designator = text.split(), ""
        if self.part and words and DESIGNATOR.match(words[0]):
            designator, words = words[0], words[1:]
        elif self.part and len(words) > 1 and DESIGNATOR.match(words[-1]):
            designator, words = words[-1], words[:-1]
        choice = " ".join(words) or (self.default.words() if not self.required else "")
        choice = next((known for known in self.choices if _plain(known) == _plain(choice)), choice)
        if choice not in self.choices:
            what = f"{choice[:40] or text[:40]}: not one of {', '.join(self.choices)}"
            raise QuantityError(what, did_you_mean(choice, self.choices))
        part = parts.Part(self.part, designator, None, {}, {}, (), choice) if designator else choice
        inputs.given[self.name], inputs.numbers[self.name] = part, choice


def _plain(word: str) -> str:
    """A choice however it is spelled: "Li-Ion", "half wave", "LiFePO4"."""
    return word.lower().replace("-", "").replace(" ", "")


class Count(Param):
    """A whole number. zero: 0 is accepted."""

    def __init__(self, what: str, *, default: Stated = REQUIRED, role: str = "",
                 zero: bool = False) -> None:  # fmt: skip
        super().__init__(what, default=default, role=role)
        self.zero = zero

    def accepts(self) -> str:
        return _("whole number")

    def take(self, text: str, inputs: Inputs, mains: Mains) -> None:
        if not re.fullmatch(r"\d{1,4}", text) or int(text) == 0 and not self.zero:
            raise QuantityError(f"{text[:40]} is not a whole number above zero", self.wanted)
        inputs.given[self.name] = quantity.exactly(float(text), "", text)
        inputs.numbers[self.name], inputs.units[self.name] = int(text), ""
