"""What a note says about a block, read into numbers: parameters checked, defaults filled in, tolerances found."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from generator.circuit.band import Axis
from generator.circuit.kind import Kind, Mains, Param
from generator.circuit.shapes import Inputs, PlacedError, References, fitting, read_entry, wanted
from generator.notation import quantity
from generator.notation.quantity import Quantity, QuantityError
from generator.problems import WARNING, Trouble, did_you_mean

NEAR_MAINS = 0.20  # what is rated within this share of the mains is taken to be plugged into it


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
            troubles.append(
                Trouble(
                    (name,),
                    f"{str(name)[:40]}: no such parameter of {kind.name}",
                    did_you_mean(str(name), known),
                )
            )
    for param in kind.params:
        try:
            if param.name in references:
                _take_reference(param, references[param.name], inputs)
            elif given.get(param.name, "") not in ("", None, [], {}):
                read_entry(param, given[param.name], inputs, mains, references)
            elif param.required:
                if not partial:
                    troubles.append(Trouble((), f"{kind.name} needs {param.name}", wanted(param)))
            else:
                _take_default(param, inputs, mains)
        except PlacedError as error:
            troubles.append(
                Trouble((param.name, *error.path), f"{kind.name} {param.name}: {error.what}", error.hint)
            )
        except QuantityError as error:
            troubles.append(Trouble((param.name,), f"{kind.name} {param.name}: {error.what}", error.hint))
    if not troubles and not partial:
        _join_axes(kind, inputs, references)
        if kind.vet:
            troubles += [
                Trouble((n,), f"{kind.name} {n}: {what}", hint) for n, what, hint in kind.vet(inputs.given)
            ]
        troubles += _loads_without_unit(kind, given)
    return inputs, troubles


def _loads_without_unit(kind: Kind, given: Mapping[str, Any]) -> list[Trouble]:
    """`load: 300` is 300 ohm, and may have been meant as 300 mA."""
    bare = [
        (p.name, text)
        for p in kind.params
        if p.shape == "load" and re.fullmatch(r"[\d.,]+", text := str(given.get(p.name, "")).strip())
    ]
    return [
        Trouble(
            (name,),
            f"{kind.name} {name}: {text} is taken as {text} ohm",
            f"write {text} ohm, or A or mA for a current",
            WARNING,
        )
        for name, text in bare
        if text.strip("0.,")
    ]


def _take_reference(param: Param, reference: tuple[str, Quantity], inputs: Inputs) -> None:
    text, found = reference
    fitting(text, found, ("A", "ohm") if param.shape == "load" else (param.unit,))
    inputs.given[param.name] = found
    if param.shape == "load":
        inputs.numbers[f"{param.name}_is"] = found.unit
    inputs.add(param.name, found, found.unit)
    if param.follows_mains:  # the band that it came with is its own
        inputs.add(f"{param.name}_top", quantity.exactly(found.high, found.unit), found.unit)


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
        read_entry(param, param.default, inputs, mains)


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
