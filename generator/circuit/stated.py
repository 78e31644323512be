"""What a note says about a block, read into numbers: parameters checked, defaults filled in, tolerances found."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from generator.circuit.band import Axis
from generator.circuit.block import Kind
from generator.circuit.inputs import Inputs, PlacedError, References
from generator.circuit.param import Load, Quantity
from generator.circuit.point import Mains
from generator.notation.quantity import QuantityError
from generator.problems import DECIMAL_COMMA, NAMELESS, WARNING, Trouble, cut_number, did_you_mean


def read_inputs(
    kind: Kind, given: Mapping[str, Any], references: References, mains: Mains, *, partial: bool = False
) -> tuple[Inputs, list[Trouble]]:
    """Read the parameters of a block. references: those that were given by another block's value.

    Returns the inputs and everything wrong with them; paths start at the parameter. partial: say nothing of what is
    missing.
    """
    inputs, troubles = Inputs(), []
    known = [p.name for p in kind.params]
    for name in given:
        if name not in known:
            troubles.append(
                Trouble(
                    (name,),
                    f"{str(name)[:40] or NAMELESS}: no such parameter of {kind.name}",
                    DECIMAL_COMMA if cut_number(str(name)) else did_you_mean(str(name), known),
                )
            )
    for param in kind.params:
        try:
            if param.name in references:
                param.refer(*references[param.name], inputs)
            elif given.get(param.name, "") not in ("", None, [], {}):
                param.read(given[param.name], inputs, mains, references)
            elif param.required:
                if not partial:
                    troubles.append(Trouble((), f"{kind.name} needs {param.name}", param.wanted))
            else:
                param.default.fill(param, inputs, mains)
            param.complete(inputs, mains)
        except PlacedError as error:
            troubles.append(
                Trouble((param.name, *error.path), f"{kind.name} {param.name}: {error.what}", error.hint)
            )
        except QuantityError as error:
            troubles.append(Trouble((param.name,), f"{kind.name} {param.name}: {error.what}", error.hint))
    if not troubles and not partial:
        for param in kind.params:
            if isinstance(param, Quantity) and param.beside and inputs.given.get(param.beside) is None:
                inputs.without_spread(param.name)
        _join_axes(kind, inputs, references)
        kind.more_inputs(inputs)
        troubles += [
            Trouble((n,), f"{kind.name} {n}: {what}", hint) for n, what, hint in kind.vet(inputs.given)
        ]
        troubles += _without_unit(kind, given)
    return inputs, troubles


def _without_unit(kind: Kind, given: Mapping[str, Any]) -> list[Trouble]:
    """`load: 300` is 300 ohm and may have been meant as 300 mA, `capacity: 2000` is 2000 Ah."""
    found = []
    for param in kind.params:
        text, unit = str(given.get(param.name, "")).strip(), getattr(param, "unit", "")
        if not re.fullmatch(r"[\d.,]+", text) or not text.strip("0.,"):
            continue
        if isinstance(param, Load):
            taken, hint = f"{text} ohm", f"write {text} ohm, or A or mA for a current"
        elif isinstance(param, Quantity) and unit in ("A", "Ah"):
            taken, hint = f"{text} {unit}", f"write {text} {unit} or {text} m{unit}"
        else:
            continue
        what = f"{kind.name} {param.name}: {text} is taken as {taken}"
        found.append(Trouble((param.name,), what, hint, WARNING))
    return found


def _join_axes(kind: Kind, inputs: Inputs, references: References) -> None:
    """Inputs that are one quantity move together: a default taken from another parameter, the same value named twice."""
    same: dict[str, list[str]] = {}
    for param in kind.params:
        followed = param.default.leader
        if followed and inputs.given.get(param.name) is None and param.name not in references:
            leader = followed.name
            given = inputs.given.get(leader)
            inputs.given[param.name] = given
            inputs.numbers[param.name] = inputs.numbers.get(leader)
            inputs.units[param.name] = inputs.units.get(leader, "")
            same.setdefault(leader, [leader]).append(param.name)
        elif param.name in references:
            same.setdefault("@" + references[param.name][0], []).append(param.name)
    for names in same.values():
        axis = next((a for a in inputs.axes if a.names[0] in names), None)
        if axis and len(names) > 1:
            inputs.axes = [a for a in inputs.axes if a.names[0] not in names]
            inputs.axes.append(Axis(tuple(names), axis.low, axis.high, axis.ranged))
    inputs.numbers.setdefault("cuts", {})
