"""Sums of the bench that are no circuit of a note: Ohm's law, resistors in parallel and in series, resistor and capacitor."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from generator.notation.printed import format_band, format_value
from generator.notation.quantity import Quantity, QuantityError, parse


@dataclass(frozen=True)
class Sum:
    """One sort of sum. names: what may be given by name, with its unit; least, most: how many values it takes."""

    name: str
    what: str
    names: dict[str, str]
    example: str
    least: int
    most: int
    # value -> (figure, unit, formula)
    work: Callable[[dict[str, list[float]]], dict[str, tuple[float, str, str]]]


def _ohm(x: dict[str, list[float]]) -> dict[str, tuple[float, str, str]]:
    v, i, r, p = (
        x[name][0] if x.get(name) else None for name in ("voltage", "current", "resistance", "power")
    )
    if v is not None and i is not None:
        r, p = v / i, v * i
    elif v is not None and r is not None:
        i, p = v / r, v * v / r
    elif v is not None and p is not None:
        i, r = p / v, v * v / p
    elif i is not None and r is not None:
        v, p = i * r, i * i * r
    elif i is not None and p is not None:
        v, r = p / i, p / (i * i)
    elif r is not None and p is not None:
        v, i = math.sqrt(p * r), math.sqrt(p / r)
    assert v is not None and i is not None and r is not None and p is not None
    return {
        "voltage": (v, "V", "current·resistance"), "current": (i, "A", "voltage/resistance"),
        "resistance": (r, "ohm", "voltage/current"), "power": (p, "W", "voltage·current"),
    }  # fmt: skip


def _parallel(x: dict[str, list[float]]) -> dict[str, tuple[float, str, str]]:
    return {"resistance": (1 / sum(1 / r for r in x["resistor"]), "ohm", "1/(1/R1 + 1/R2 + ...)")}


def _series(x: dict[str, list[float]]) -> dict[str, tuple[float, str, str]]:
    return {"resistance": (sum(x["resistor"]), "ohm", "R1 + R2 + ...")}


def _rc(x: dict[str, list[float]]) -> dict[str, tuple[float, str, str]]:
    tau = x["resistor"][0] * x["capacitor"][0]
    return {
        "time_constant": (tau, "s", "resistor·capacitor"),
        "cutoff": (1 / (2 * math.pi * tau), "Hz", "1/(2π·resistor·capacitor)"),
    }


SUMS = {
    s.name: s
    for s in (
        Sum("ohm", "Ohm's law: two of voltage, current, resistance, power give the others",
            {"voltage": "V", "current": "A", "resistance": "ohm", "power": "W"}, '"12 V" 4k7', 2, 2, _ohm),
        Sum("parallel", "resistors side by side", {"resistor": "ohm"}, "10k 4k7", 2, 40, _parallel),
        Sum("series", "resistors in series", {"resistor": "ohm"}, "10k 4k7", 2, 40, _series),
        Sum("rc", "a resistor and a capacitor: time constant and corner frequency", {"resistor": "ohm", "capacitor": "F"},
            "10k 100n", 2, 2, _rc),
    )
}  # fmt: skip


@dataclass(frozen=True)
class Found:
    """A value of a sum with its band; exact where what was given is."""

    name: str
    unit: str
    value: float
    low: float
    high: float
    formula: str


class SumError(ValueError):
    """What was given makes no sum; the text is for people."""


def worked_out(name: str, texts: Sequence[str]) -> list[Found]:
    """The values of a sum from texts, each `name=value` or a value alone, which is known by its unit. Raises SumError."""
    which = SUMS[name]
    given: list[tuple[str, Quantity]] = [given_by(which, text) for text in texts if text.strip()]
    if not which.least <= len(given) <= which.most or any(
        sum(own == key for own, _ in given) > 1 for key in which.names if len(which.names) > 1
    ):
        count = f"{which.least}" if which.least == which.most else f"{which.least} or more"
        of = ", ".join(which.names)
        raise SumError(f"{name} takes {count} of {of}; such as benchlore values {name} {which.example}")

    def at(ends: Sequence[float]) -> dict[str, tuple[float, str, str]]:
        return which.work(
            {key: [end for (own, _), end in zip(given, ends) if own == key] for key in which.names}
        )

    nominal = at([q.middle for _, q in given])
    corners = [at(ends) for ends in itertools.product(*({q.low, q.high} for _, q in given[:10]))] if len(given) <= 10 else [
        at([q.low for _, q in given]), at([q.high for _, q in given])
    ]  # fmt: skip
    return [
        Found(key, unit, value, min(c[key][0] for c in corners), max(c[key][0] for c in corners), formula)
        for key, (value, unit, formula) in nominal.items()
    ]


def given_by(which: Sum, text: str) -> tuple[str, Quantity]:
    """The input that a text states, by its name or by its unit. Raises SumError."""
    key, equals, entry = text.partition("=")
    if equals:
        unit = which.names.get(key.strip())
        if unit is None:
            raise SumError(f"{key.strip()[:40]}: {which.name} takes {', '.join(which.names)}")
        candidates = {key.strip(): unit}
    else:
        entry, candidates = text, which.names
    told = ""
    units = {unit for unit in candidates.values()}
    for name, unit in sorted(candidates.items(), key=lambda pair: pair[1] != "ohm"):
        bare = not any(c.isalpha() or c in "Ωµμ%" for c in entry)
        if bare and not equals and len(units) > 1:
            raise SumError(f"{entry.strip()[:40]}: the unit is missing, such as {which.example}")
        try:
            found = parse(entry, unit)
        except QuantityError as error:
            told = told or str(error)
            continue
        return name, found
    raise SumError(told)


def as_data(name: str, found: Sequence[Found]) -> dict[str, Any]:
    """As the contract of `values --json`."""
    return {
        "kind": name,
        "values": {
            f.name: {"value": f.value, "low": f.low, "high": f.high, "unit": f.unit, "formula": f.formula, "working": ""} for f in found
        },
        "checks": [], "failures": [],
    }  # fmt: skip


def as_text(found: Sequence[Found]) -> str:
    """A line for each value."""
    lines = []
    for f in found:
        band = f"  {format_band(f.low, f.high, f.unit)}" if f.high - f.low > 1e-9 * abs(f.value) else ""
        lines.append(f"  {f.name:14} {format_value(f.value, f.unit, 4):12}{band}  {f.formula}")
    return "\n".join(lines)
