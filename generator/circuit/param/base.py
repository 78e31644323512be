"""What all parameters share: their name, what a note may leave out, another block's value in their place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, TypeAlias

from generator.circuit import spread
from generator.circuit.diodes import SCHOTTKY_VOLTS, SILICON_VOLTS, is_schottky
from generator.circuit.failing import FailingPart
from generator.circuit.inputs import Inputs, References, fitting
from generator.circuit.point import Mains
from generator.circuit.says import _
from generator.notation import parts, quantity
from generator.notation.part_classes import CLASSES
from generator.notation.printed import format_value
from generator.notation.quantity import QuantityError

MOST_LISTED = 40
DROP, SCHOTTKY_DROP = f"{SILICON_VOLTS} V", f"{SCHOTTKY_VOLTS} V"
NEAR_MAINS = 0.20  # what is rated within this share of the mains is taken to be plugged into it


class Default:
    """What holds where a note is silent. leader: the parameter that it may follow."""

    leader: Param | None = None

    def fill(self, param: Param, inputs: Inputs, mains: Mains) -> None:
        """Put it into the inputs."""
        raise NotImplementedError

    def words(self) -> str:
        """For the catalogue."""
        return ""


class _Required(Default):
    pass


class _Absent(Default):
    def fill(self, param: Param, inputs: Inputs, mains: Mains) -> None:
        inputs.given[param.name] = None
        param.be_absent(inputs)


class _Text(Default):
    def __init__(self, text: str) -> None:
        self.text = text

    def fill(self, param: Param, inputs: Inputs, mains: Mains) -> None:
        param.read(self.text, inputs, mains)

    def words(self) -> str:
        return self.text


class Unstated(_Text):
    """A text with a spread that holds only where the note is silent: a stated `0 %` is exact."""

    def __init__(self, text: str, key: str) -> None:
        super().__init__(text)
        self.key = key

    def fill(self, param: Param, inputs: Inputs, mains: Mains) -> None:
        found = quantity.parse(self.text, param.units[0], zero=True)
        inputs.given[param.name] = inputs.add_spread(param.name, found, self.key)


class DropOf(Default):
    """The forward volts of a diode by what the note says of it, with the spread of its sort. part: its parameter, stated before."""

    def __init__(self, part: Param) -> None:
        self.part = part

    def fill(self, param: Param, inputs: Inputs, mains: Mains) -> None:
        part = inputs.given.get(self.part.name)
        text, key = (SCHOTTKY_DROP, "schottky") if is_schottky(part) else (DROP, "rectifier")
        inputs.given[param.name] = inputs.add_spread(param.name, quantity.parse(text, "V"), key)

    def words(self) -> str:
        return _("%(drop)s; a Schottky diode %(less)s") % {"drop": DROP, "less": SCHOTTKY_DROP}


class _Same(Default):
    """As another parameter, in its tolerance too; put in when all parameters have been read."""

    def __init__(self, leader: Param) -> None:
        self.leader = leader

    def fill(self, param: Param, inputs: Inputs, mains: Mains) -> None:
        inputs.given[param.name] = None

    def words(self) -> str:
        return _("as %(parameter)s") % {"parameter": self.leader.name if self.leader else ""}


class _MainsVoltage(Default):
    def fill(self, param: Param, inputs: Inputs, mains: Mains) -> None:
        v = mains.voltage
        below, above = (0.0, 0.0) if param.exact else (mains.below, mains.band)
        shown = format_value(v, "V", trim=True)
        found = quantity.Quantity(v, v * (1 - below), v * (1 + above), "V", shown, False)
        inputs.given[param.name] = found
        inputs.add(param.name, found, "V")

    def words(self) -> str:
        return _("the library's mains voltage")


class _MainsFrequency(Default):
    def fill(self, param: Param, inputs: Inputs, mains: Mains) -> None:
        inputs.given[param.name] = found = quantity.exactly(mains.frequency, "Hz")
        inputs.add(param.name, found, "Hz")

    def words(self) -> str:
        return _("the library's mains frequency")


class MainsIfNear(_Same):
    """The mains where the other parameter, a rated voltage, is near it; else as that parameter."""

    def fill(self, param: Param, inputs: Inputs, mains: Mains) -> None:
        rated = inputs.numbers.get(self.leader.name) if self.leader else None
        if rated is not None and abs(rated - mains.voltage) <= NEAR_MAINS * mains.voltage:
            MAINS.fill(param, inputs, mains)
        else:
            super().fill(param, inputs, mains)

    def words(self) -> str:
        text = _("the mains where %(parameter)s is near it, else as %(parameter)s")
        return text % {"parameter": self.leader.name if self.leader else ""}


REQUIRED: Default = _Required()
MAINS: Default = _MainsVoltage()
FREQUENCY: Default = _MainsFrequency()
Stated: TypeAlias = "Default | Param | str | None"  # how a kind states a default


def _as_default(given: Stated) -> Default:
    if isinstance(given, Default):
        return given
    if isinstance(given, Param):
        return _Same(given)
    return _Absent() if given is None else _Text(given)


class Param:
    """One parameter. what: for people, in a few words. role: what failures and drawings call it, if not by its name.

    units: those that another block's value must have to stand here; none: it takes no value of another block.
    exact: shown, but nothing is computed from it. measurable: whether what it states stands anywhere in the circuit.
    """

    name: str
    units: tuple[str, ...] = ()
    listed: ClassVar[bool] = False  # takes several entries
    exact: bool = False
    measurable: bool = True
    follows_mains: bool = False
    named_by: str = ""  # another parameter that may carry its designator

    def __init__(self, what: str, *, default: Stated = REQUIRED, role: str = "") -> None:
        self.what, self.default, self.role = what, _as_default(default), role

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = name.rstrip("_")  # from_: Python keeps some words for itself

    @property
    def required(self) -> bool:
        """Whether a note has to give it."""
        return self.default is REQUIRED

    @property
    def load_unit(self) -> str:
        """The unit in which the network says what it is, where it is a load that what is joined may stand for; "" for others."""
        return ""

    @property
    def called(self) -> str:
        """What failures and drawings call it."""
        return self.role or self.name.replace("_", " ")

    @property
    def wanted(self) -> str:
        """The hint where it is missing or unusable: its name and what it is."""
        return f"{self.name}: {self.what}"

    @property
    def moves_with_mains(self) -> bool:
        """Whether its tolerance is that of the mains, one for all blocks of a device."""
        return self.follows_mains or self.default is MAINS or isinstance(self.default, MainsIfNear)

    def accepts(self) -> str:
        """For the catalogue: its unit, or what it takes, in words."""
        raise NotImplementedError

    def read(self, entry: Any, inputs: Inputs, mains: Mains, references: References | None = None) -> None:
        """Read what a note gives for it into inputs. Raises QuantityError, and PlacedError further inside.

        references: those of the block's cut points that are another block's value.
        """
        if isinstance(entry, (Mapping, list, tuple)):
            raise QuantityError("one value is expected here, not several", self.wanted)
        self.take(" ".join(str(entry).split()), inputs, mains)

    def take(self, text: str, inputs: Inputs, mains: Mains) -> None:
        """Read one text into inputs."""
        raise NotImplementedError

    def refer(self, text: str, found: quantity.Quantity, inputs: Inputs) -> None:
        """Take another block's value, written as text."""
        inputs.given[self.name] = fitting(text, found, self.units or (self.load_unit,))
        inputs.add(self.name, found, found.unit)

    def complete(self, inputs: Inputs, mains: Mains) -> None:
        """Put in what follows from it, once it has been read, filled in or taken from another block."""

    def be_absent(self, inputs: Inputs) -> None:
        """The numbers of a parameter that is not given."""
        inputs.numbers[self.name] = None

    def failing(self, given: Any) -> list[FailingPart]:
        """The parts that it states, as far as they can fail."""
        return []


class Listed(Param):
    """A parameter of several entries; one alone needs no brackets."""

    listed = True

    def read(self, entry: Any, inputs: Inputs, mains: Mains, references: References | None = None) -> None:
        entries = entry if isinstance(entry, (list, tuple)) else [entry]
        if len(entries) > MOST_LISTED:
            raise QuantityError(f"{len(entries)} entries", f"at most {MOST_LISTED}")
        self.take_all(entries, inputs)

    def take_all(self, entries: Sequence[Any], inputs: Inputs) -> None:
        """Read all entries into inputs."""
        raise NotImplementedError


def add_part(name: str, part: parts.Part, inputs: Inputs) -> parts.Part:
    """Put a part's value and its further values into the numbers, under name, with the spreads of their sort."""
    unit = CLASSES[part.part_class].unit
    part, taken = spread.of_part(part)
    inputs.spreads.update({f"{name}_{word.lower()}" if word else name: key for word, key in taken.items()})
    inputs.numbers[name] = None
    if part.value is not None:
        inputs.add(name, part.value, unit)
        inputs.numbers[f"{name}_nominal"] = part.value.middle
    for word, found in part.extras.items():
        inputs.add(f"{name}_{word.lower()}", found, found.unit)
    return part
