"""A sum turned round: which resistor beside 10 kΩ makes 3.2 kΩ, which capacitor a millisecond, and the nearest that there is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from generator.circuit.roots import first_root
from generator.circuit.sums import SUMS, Found, Sum, SumError, as_data, as_text, given_by, worked_out
from generator.circuit.turned import IN_SERIES, RANGES
from generator.notation.preferred import nearest_in
from generator.notation.printed import format_band, format_value
from generator.notation.quantity import QuantityError, exactly, parse


@dataclass(frozen=True)
class TurnedSum:
    """name: of what was looked for; exact, in unit, makes wanted; nearest: (series, value, what the sum then comes to)."""

    name: str
    unit: str
    exact: float
    wanted: str
    said: str
    nearest: tuple[tuple[str, float, list[Found]], ...]


def turned_round(name: str, texts: Sequence[str]) -> TurnedSum:
    """The value asked for and the nearest preferred ones. Raises SumError in words."""
    which = SUMS[name]
    asked = [text for text in texts if text.rpartition("=")[2].strip() == "?"]
    pairs = [text for text in texts if text not in asked]
    wanted = _wanted(which, pairs)
    if len(asked) != 1 or not wanted:
        raise SumError(f"one ? beside what it is to come to, such as benchlore values {_such_as(name)}")
    kept = [text for text in pairs if text != wanted]
    result, _equals, said = (part.strip() for part in wanted.partition("="))
    unknown = asked[0].partition("=")[0].strip() if "=" in asked[0] else _unknown(which, kept)
    if unknown not in which.names:
        raise SumError(f"{unknown[:40]}: {name} takes {', '.join(which.names)}")
    unit = which.names[unknown]

    def comes_to(size: float) -> list[Found]:
        return worked_out(name, [*kept, f"{unknown}={exactly(size, unit).text}"])

    stated = [given_by(which, text) for text in kept]

    def gives(size: float) -> dict[str, tuple[float, str, str]]:
        values = [(own, found.middle) for own, found in stated] + [(unknown, size)]
        return which.work({key: [value for own, value in values if own == key] for key in which.names})

    comes_to(1.0)  # says what else is wrong
    if result not in gives(1.0):
        raise SumError(f"{result[:40]}: {name} gives {', '.join(gives(1.0))}")
    try:
        target = parse(said, gives(1.0)[result][1]).middle
    except QuantityError as error:
        raise SumError(f"{result}: {error}") from None
    exact = first_root(lambda size: gives(size)[result][0] - target, *RANGES[unit])
    if exact is None:
        raise SumError(f"no {unknown} makes {result} {said} here")
    series = IN_SERIES.get(unit, ())
    nearest = tuple((called, size := nearest_in(of, exact), comes_to(size)) for called, of in series)
    return TurnedSum(unknown, unit, exact, result, said, nearest or (("", exact, comes_to(exact)),))


def _wanted(which: Sum, pairs: Sequence[str]) -> str:
    """What it is to come to: the named result that is no input; where every name is both, the last one."""
    named = [text for text in pairs if "=" in text]
    results = [text for text in named if text.partition("=")[0].strip() not in which.names]
    return next(iter(results or named[-1:]), "")


def _unknown(which: Sum, kept: Sequence[str]) -> str:
    """What a bare ? stands for: the input that is not given yet."""
    if len(which.names) == 1:
        return next(iter(which.names))
    given = {text.partition("=")[0].strip() for text in kept if "=" in text}
    for text in kept:
        for name, unit in which.names.items():
            try:
                if "=" not in text and parse(text, unit):
                    given.add(name)
                    break
            except QuantityError:
                continue
    left = [name for name in which.names if name not in given]
    return left[0] if len(left) == 1 else "?"


def _such_as(name: str) -> str:
    return {
        "ohm": 'ohm "12 V" resistance=? current="20 mA"',
        "rc": "rc 10k capacitor=? time_constant=1ms",
        "series": 'series 10k "?" resistance=14k7',
    }.get(name, f'{name} 10k "?" resistance=3k2')


def text_of(found: TurnedSum) -> str:
    """The answer on a terminal."""
    lines = [f"{found.name} = {format_value(found.exact, found.unit, 4)} makes {found.wanted} {found.said}"]
    for series, size, comes in found.nearest:
        result = next(f for f in comes if f.name == found.wanted)
        band = f" ({format_band(result.low, result.high, result.unit)})" if result.low < result.high else ""
        if series:
            value = format_value(result.value, result.unit)
            lines.append(f"  {series}: {format_value(size, found.unit, trim=True)} comes to {value}{band}")
    return "\n".join([*lines, "", as_text(found.nearest[0][2])])


def data_of(kind: str, found: TurnedSum) -> dict[str, Any]:
    """The answer as `values --json` has it for a block that is turned round."""
    nearest = [
        {"series": series, "value": size, "comes_to": as_data(kind, comes)["values"][found.wanted]}
        for series, size, comes in found.nearest
    ]
    solved = {
        "parameter": found.name, "value": found.exact, "unit": found.unit, "wanted": found.wanted, "nearest": nearest,
    }  # fmt: skip
    return {**as_data(kind, found.nearest[0][2]), "solved": solved}
