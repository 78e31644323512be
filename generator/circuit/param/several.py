"""Parameters of several entries: parts, numbers, lines of text, branches of parts, cut points."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from generator.circuit.failing import MODES, FailingPart
from generator.circuit.inputs import Inputs, PlacedError, References, fitting
from generator.circuit.param.base import MOST_LISTED, REQUIRED, Listed, Param, Stated, add_part
from generator.circuit.point import Mains
from generator.circuit.says import _
from generator.notation import parts, quantity
from generator.notation.part_reading import parse_part
from generator.notation.printed import SYMBOLS
from generator.notation.quantity import QuantityError
from generator.problems import NAMELESS, did_you_mean

MOST_CUT_POINTS = 20  # each costs a solve at every end of the others
LONGEST_TEXT = 60
_NAME, _NAMES = r"[A-Za-z][\w /-]{0,39}", "letters, digits, spaces and -, at most 40"


class Parts(Listed):
    """A list of parts of one class."""

    def __init__(self, part: str, what: str, *, default: Stated = REQUIRED, role: str = "",
                 modes: tuple[str, ...] | None = None) -> None:  # fmt: skip
        super().__init__(what, default=default, role=role)
        self.part, self.modes = part, modes

    def accepts(self) -> str:
        return _("%(part)s, list") % {"part": _(self.part)}

    def be_absent(self, inputs: Inputs) -> None:
        super().be_absent(inputs)
        inputs.numbers[f"{self.name}_count"] = 0

    def take_all(self, entries: Sequence[Any], inputs: Inputs) -> None:
        found: list[parts.Part] = []
        for position, entry in enumerate(entries):
            try:
                found.append(parse_part(entry, self.part))
            except QuantityError as error:
                raise PlacedError((position,), error.what, error.hint) from None
            found[-1] = add_part(f"{self.name}_{position}", found[-1], inputs)
        inputs.given[self.name], inputs.numbers[f"{self.name}_count"] = found, len(found)
        inputs.numbers[f"{self.name}_words"] = tuple(part.words for part in found)
        inputs.numbers[f"{self.name}_called"] = tuple(part.designator for part in found)

    def failing(self, given: Any) -> list[FailingPart]:
        found = []
        for position, part in enumerate(given or ()):
            modes = MODES[part.part_class] if self.modes is None else self.modes
            called = part.name(self.called)
            found.append(FailingPart(f"{self.name}_{position}", part.part_class, called, modes))
        return found


class Positions(Param):
    """What a selector connects in each position: name -> designators side by side, or {series: designators}.

    In the numbers: NAME, name -> ("parallel" or "series", designators). Each position adds the kind's cut_values.
    """

    def accepts(self) -> str:
        return _("name: [parts], or {series: [parts]}")

    def be_absent(self, inputs: Inputs) -> None:
        inputs.numbers[self.name] = {}

    def read(self, entry: Any, inputs: Inputs, mains: Mains, references: References | None = None) -> None:
        if not isinstance(entry, Mapping):
            raise QuantityError("positions have names", "such as {high: [E1, E2], keep: {series: [E1, E2]}}")
        if len(entry) > MOST_CUT_POINTS:
            raise QuantityError(f"{len(entry)} positions", f"at most {MOST_CUT_POINTS}")
        found: dict[str, tuple[str, tuple[str, ...]]] = {}
        for name, listed in entry.items():
            if not re.fullmatch(_NAME, str(name)):
                raise PlacedError((name,), f"{str(name)[:40]!r} is not a name for a position", _NAMES)
            how = "parallel"
            if isinstance(listed, Mapping):
                if set(listed) != {"series"}:
                    hint = "such as {series: [E1, E2]}"
                    raise PlacedError((name,), "neither a list nor {series: [...]}", hint)
                how, listed = "series", listed["series"]
            entries = listed if isinstance(listed, (list, tuple)) else [listed]
            if not entries or any(
                isinstance(each, (Mapping, list, tuple)) or not str(each).strip() for each in entries
            ):
                raise PlacedError((name,), "designators are expected here", "such as [E1, E2]")
            found[str(name)] = (how, tuple(str(each).strip()[:LONGEST_TEXT] for each in entries))
        inputs.given[self.name] = inputs.numbers[self.name] = found
        inputs.numbers["cuts"] = dict.fromkeys(found, "position")
        inputs.cut_names = list(found)


class Cells(Param):
    """One quantity, or a list of them, one for each cell in series: NAME_count says how many are listed, 0 for one."""

    def __init__(self, unit: str, what: str, *, default: Stated = REQUIRED, role: str = "") -> None:
        super().__init__(what, default=default, role=role)
        self.unit, self.units = unit, (unit,)

    def accepts(self) -> str:
        return _("%(unit)s, or a list") % {"unit": SYMBOLS.get(self.unit, self.unit)}

    def read(self, entry: Any, inputs: Inputs, mains: Mains, references: References | None = None) -> None:
        if not isinstance(entry, (list, tuple)):
            super().read(entry, inputs, mains, references)
            return
        if len(entry) > MOST_LISTED:
            raise QuantityError(f"{len(entry)} entries", f"at most {MOST_LISTED}")
        found = []
        for position, text in enumerate(entry):
            if isinstance(text, (Mapping, list, tuple)):
                raise PlacedError((position,), "one value is expected here, not several", self.wanted)
            try:
                found.append(quantity.parse(text, self.unit))
            except QuantityError as error:
                raise PlacedError((position,), error.what, error.hint) from None
            inputs.add(f"{self.name}_{position}", found[-1], self.unit)
        inputs.given[self.name], inputs.numbers[f"{self.name}_count"] = found, len(found)

    def take(self, text: str, inputs: Inputs, mains: Mains) -> None:
        inputs.given[self.name] = found = quantity.parse(text, self.unit)
        inputs.add(self.name, found, self.unit)

    def complete(self, inputs: Inputs, mains: Mains) -> None:
        inputs.numbers.setdefault(f"{self.name}_count", 0)


class Numbers(Listed):
    """A list of plain numbers."""

    def accepts(self) -> str:
        return _("list of numbers")

    def take_all(self, entries: Sequence[Any], inputs: Inputs) -> None:
        found = []
        for position, entry in enumerate(entries):
            shown = str(entry)[:30]
            try:
                number = float(str(entry))
            except ValueError:
                raise PlacedError((position,), f"{shown} is not a number", self.wanted) from None
            if not abs(number) < 1e12:
                raise PlacedError((position,), f"{shown} is not a number that can be used", self.wanted)
            found.append(number)
        inputs.given[self.name], inputs.numbers[self.name] = found, tuple(found)


class Lines(Listed):
    """A list of texts."""

    def accepts(self) -> str:
        return _("list of texts")

    def take_all(self, entries: Sequence[Any], inputs: Inputs) -> None:
        lines = []
        for position, entry in enumerate(entries):
            text = " ".join(str(entry).split())
            if isinstance(entry, (Mapping, list)) or not text:
                raise PlacedError((position,), "a line of text is expected here", self.wanted)
            if len(text) > LONGEST_TEXT:
                raise PlacedError((position,), f"{text[:24]}... is longer than {LONGEST_TEXT} characters")
            lines.append(text)
        inputs.given[self.name], inputs.numbers[self.name] = lines, tuple(lines)


class Tree(Listed):
    """Parts of any class; a list in the list is a branch."""

    def accepts(self) -> str:
        return _("list of parts")

    def take_all(self, entries: Sequence[Any], inputs: Inputs) -> None:
        inputs.given[self.name], inputs.numbers[self.name] = _branch(entries, (), 1), ()


def _branch(items: Sequence[Any], path: tuple[int, ...], depth: int) -> list[Any]:
    if depth > 3:
        raise PlacedError(path, "branches are nested too deep", "at most two levels of branches")
    found: list[Any] = []
    for position, item in enumerate(items):
        here = (*path, position)
        if isinstance(item, (list, tuple)):
            found.append(_branch(item, here, depth + 1))
            continue
        try:
            found.append(parse_part(item, "any"))
        except parts.PartError as error:
            raise PlacedError(here, error.what, error.hint) from None
    return found


class Keys(Param):
    """Keys of a ladder, name -> their resistor, or 0 for a link, in the order in which they lie.

    In the numbers: NAME_0, NAME_1 ... the ohms, NAME_count, and names. Each key adds the kind's cut_values.
    """

    def accepts(self) -> str:
        return _("name: a resistor, or 0")

    def read(self, entry: Any, inputs: Inputs, mains: Mains, references: References | None = None) -> None:
        if not isinstance(entry, Mapping):
            raise QuantityError("keys have names", "such as {up: 0, down: R2 1k}")
        if len(entry) > MOST_CUT_POINTS:
            raise QuantityError(f"{len(entry)} keys", f"at most {MOST_CUT_POINTS}")
        found: dict[str, parts.Part | None] = {}
        for position, (name, text) in enumerate(entry.items()):
            if not re.fullmatch(_NAME, str(name)):
                raise PlacedError((name,), f"{str(name)[:40]!r} is not a name for a key", _NAMES)
            if isinstance(text, (Mapping, list, tuple)):
                raise PlacedError((name,), "one resistor is expected here, or 0", self.wanted)
            written = " ".join(str(text).split())
            if re.fullmatch(r"0(?:[.,]0+)? ?(?:R|ohm|ohms|Ω)?", written):
                found[str(name)] = None
                inputs.add(f"{self.name}_{position}", quantity.exactly(0.0, "ohm"), "ohm")
                continue
            try:
                found[str(name)] = part = parse_part(written, "resistor")
            except QuantityError as error:
                raise PlacedError((name,), error.what, error.hint) from None
            add_part(f"{self.name}_{position}", part, inputs)
        inputs.given[self.name], inputs.cut_names = found, list(found)
        inputs.numbers |= {f"{self.name}_count": len(found), "names": tuple(found)}

    def failing(self, given: Any) -> list[FailingPart]:
        found = []
        for position, (name, part) in enumerate((given or {}).items()):
            if part is not None:
                called = part.name(_("resistor of %(key)s") % {"key": name})
                found.append(FailingPart(f"{self.name}_{position}", "resistor", called, MODES["resistor"]))
            key = _("key %(name)s") % {"name": name}
            found.append(FailingPart(f"key_{position}", "switch", key, ("open", "short")))
        return found


class CutPoints(Param):
    """Where a device switches: name -> one of cuts, which are keys with their units."""

    def __init__(self, cuts: Mapping[str, str], what: str, *, default: Stated = None) -> None:
        super().__init__(what, default=default)
        self.cuts = cuts

    def accepts(self) -> str:
        return _("name: one of %(list)s") % {"list": ", ".join(self.cuts)}

    def read(self, entry: Any, inputs: Inputs, mains: Mains, references: References | None = None) -> None:
        if not isinstance(entry, Mapping):
            raise QuantityError("cut points have names", f"such as trip: {{{next(iter(self.cuts))}: ...}}")
        if len(entry) > MOST_CUT_POINTS:
            raise QuantityError(f"{len(entry)} cut points", f"at most {MOST_CUT_POINTS}")
        cuts: dict[str, tuple[str, quantity.Quantity]] = {}
        for name, cut in entry.items():
            key, found = self._cut(name, cut, references or {})
            cuts[str(name)] = (key, found)
            inputs.add(f"cut:{name}", found, self.cuts[key])
        inputs.given[self.name] = cuts
        inputs.numbers["cuts"] = {name: key for name, (key, _found) in cuts.items()}
        inputs.cut_names = list(cuts)

    def _cut(self, name: Any, cut: Any, references: References) -> tuple[str, quantity.Quantity]:
        if not isinstance(cut, Mapping) or len(cut) != 1:
            what = f"{name} needs exactly one of {', '.join(self.cuts)}"
            raise PlacedError((name,), what, f"such as {{{next(iter(self.cuts))}: ...}}")
        key, text = next(iter(cut.items()))
        if key not in self.cuts:
            hint = did_you_mean(str(key), self.cuts)
            raise PlacedError((name, key), f"{str(key)[:40] or NAMELESS}: no such cut point", hint)
        if not re.fullmatch(_NAME, str(name)):
            raise PlacedError((name,), f"{str(name)[:40]!r} is not a name for a cut point", _NAMES)
        unit = self.cuts[key]
        try:
            if f"cut:{name}" in references:
                return str(key), fitting(*references[f"cut:{name}"], (unit,))
            return str(key), quantity.parse(text, unit, positive=unit != "°C", zero=unit in ("", "V"))
        except QuantityError as error:
            raise PlacedError((name, key), error.what, error.hint) from None
