"""What holds for every kind of block: bands contain samples, workings come to their results, bad input is told."""

from __future__ import annotations

import ast
import inspect
import json
import math
import os
import random
import re
from functools import cache
from typing import Any

import pytest
from kind_cases import every_case

from generator.circuit import catalogue
from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.circuit.param import Part, Quantity
from generator.problems import ERROR

MAINS = Mains()
CI = os.environ.get("CI") == "true"
SAMPLES = 120 if CI else 50


def cases() -> list[Any]:
    """Each kind's example, variants and hard cases: (kind, parameters)."""
    return [pytest.param(name, given, id=f"{name}-{n}") for n, (name, given) in enumerate(every_case())]


def built(name: str, parameters: dict[str, Any]) -> Block:
    return _built(name, json.dumps(parameters))


@cache
def _built(name: str, parameters: str) -> Block:
    """Worked out once for all tests of a case, with its failures."""
    block, troubles = build_block(name, json.loads(parameters), MAINS)
    assert not troubles, troubles
    assert block is not None
    return block


def sampled(block: Block, seed: int, failure: tuple[str, str] | None) -> list[dict[str, float]]:
    """solve() at random points of the tolerance box, corners and edges among them."""
    chance = random.Random(seed)
    found = []
    for _ in range(SAMPLES):
        inputs: dict[str, float] = {}
        for axis in block.axes:
            share = chance.choice((0.0, 1.0, chance.random(), chance.random(), chance.random()))
            inputs |= dict.fromkeys(axis.names, axis.at(share))
        point = block.point.changed(**inputs)
        if failure:
            key, mode = failure
            point = block.with_failure(point, key, block.failing_part(key).part_class, mode)
        found.append(block.kind.values_at(point))
    return found


def assert_contained(samples: list[dict[str, float]], values: dict[str, Any], what: str) -> None:
    for solved in samples:
        for name, result in values.items():
            value = solved.get(name)
            if value is None or not math.isfinite(value):
                continue
            slack = 1e-6 * max(abs(result.low) if math.isfinite(result.low) else 0, abs(value), 1e-12)
            assert result.low - slack <= value <= result.high + slack, (
                f"{what}: {name} {value} not in {result.low}..{result.high}"
            )


@pytest.mark.parametrize("name, parameters", cases())
def test_bands_contain_every_sample(name: str, parameters: dict[str, Any]) -> None:
    """A band is never narrower than the truth, sound or with any one part failed."""
    block = built(name, parameters)
    assert_contained(sampled(block, 1, None), block.values, "sound")
    for failure in block.failures:
        samples = sampled(block, 2, (failure.key, failure.failed))
        assert_contained(samples, failure.values, f"{failure.part} {failure.failed}")


@pytest.mark.parametrize("name, parameters", cases())
def test_bands_are_reached(name: str, parameters: dict[str, Any]) -> None:
    """A band is not wider than the truth: some point of the box comes within 5 % of its width to each end."""
    block = built(name, parameters)
    import itertools

    corners: Any = itertools.product((0.0, 0.5, 1.0), repeat=len(block.axes))
    if len(block.axes) > 6:  # too many to go through them all
        chance = random.Random(4)
        corners = [[chance.choice((0.0, 1.0)) for _ in block.axes] for _ in range(4000 if CI else 2000)]
    solved = []
    for place in corners:
        inputs: dict[str, float] = {}
        for axis, share in zip(block.axes, place):
            inputs |= dict.fromkeys(axis.names, axis.at(share))
        solved.append(block.kind.values_at(block.point.changed(**inputs)))
    solved += sampled(block, 3, None)
    for result in block.values.values():
        seen = [
            s[result.name] for s in solved if s.get(result.name) is not None and math.isfinite(s[result.name])
        ]
        if not seen or not math.isfinite(result.high) or any(s.get(result.name) is None for s in solved):
            continue  # a value that ends inside the box has its extreme at that very edge, which no chance meets
        slack = 0.05 * (result.high - result.low) + 1e-9 * abs(result.high)
        assert min(seen) <= result.low + slack, result.name
        assert max(seen) >= result.high - slack, result.name


_UNIT = {"V": 1.0, "A": 1.0, "Ω": 1.0, "F": 1.0, "H": 1.0, "s": 1.0, "W": 1.0, "Hz": 1.0, "K": 1.0, "°C": 1.0, "lux": 1.0,
         "min": 60.0, "h": 3600.0, "V/K": 1.0, "W/K": 1.0, "K/W": 1.0, "Ah": 1.0, "Wh": 1.0, "1/h": 1.0, "Vs": 1.0, "As": 1.0, "l": 1.0,
         "kg": 1.0, "rpm": 1.0, "rpm/V": 1.0, "J/(kg·K)": 1.0, "J": 1.0, "°": 1.0, "": 1.0}  # fmt: skip
_PREFIX = {"p": 1e-12, "n": 1e-9, "µ": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6, "G": 1e9}
_NUMBER = re.compile(
    r"(\d+(?:\.\d+)?)(?: ?(J/\(kg·K\)|rpm/V|rpm|min|lux|kg|V/K|W/K|K/W|°C|°|[pnµmkMG]?(?:V/K|W/K|Wh|Ah|Vs|As|Hz|V|A|Ω|F|H|s|W|J)|1/h|K|h|l))?(?![\w])"
)


def _python(text: str) -> str:
    """The text of a working as a Python expression: units become factors."""

    def number(match: re.Match[str]) -> str:
        unit = match.group(2) or ""
        factor = _UNIT.get(unit)
        if factor is None:
            factor = _PREFIX[unit[0]] * _UNIT[unit[1:]]
        return f"({match.group(1)}*{factor!r})"

    text = _NUMBER.sub(number, re.sub(r"√(\d+)", r"√(\1)", text))
    text = (
        text.replace("·", "*").replace("−", "-").replace("π", "PI").replace("²", "**2").replace("√", "sqrt")
    )
    text = re.sub(r"(\([^()]*\))∥(\([^()]*\))", r"par(\1,\2)", text)
    return text


_SCOPE = {"sqrt": math.sqrt, "exp": math.exp, "ln": math.log, "sin": math.sin, "cos": math.cos, "min": min, "max": max,
          "floor": math.floor, "PI": math.pi, "par": lambda a, b: a * b / (a + b), "acos": math.acos}  # fmt: skip


@pytest.mark.parametrize("name, parameters", cases())
def test_working_comes_to_the_printed_value(name: str, parameters: dict[str, Any]) -> None:
    """The text of each working, evaluated here without the generator's help, gives what is printed and the value."""
    for result in built(name, parameters).values.values():
        if result.value is None or not math.isfinite(result.value):
            continue
        assert result.working, f"{result.name} has no working for {result.formula}"
        left, _, right = result.working.rpartition(" = ")
        computed, printed = (
            float(eval(_python(side), {"__builtins__": {}}, _SCOPE)) for side in (left, right)
        )
        scale = 1.0
        assert printed == pytest.approx(result.value * scale, rel=0.006, abs=1e-12), result.working
        assert computed == pytest.approx(printed, rel=0.0101, abs=1e-12), result.working


@pytest.mark.parametrize("name, parameters", cases())
def test_values_are_finite_or_never(name: str, parameters: dict[str, Any]) -> None:
    """No value is not-a-number; only a time may be without end, in a failure also a resistance."""
    block = built(name, parameters)
    for result in block.values.values():
        assert not math.isnan(result.low) and result.low <= result.high
        assert math.isfinite(result.high) or result.unit == "s", result
    for failure in block.failures:
        assert failure.part and failure.failed
        for result in failure.values.values():
            assert not math.isnan(result.low) and result.low <= result.high
            assert math.isfinite(result.high) or result.unit in ("s", "ohm"), (
                failure.part,
                failure.failed,
                result,
            )


@pytest.mark.parametrize("name", catalogue.names())
def test_every_failure_is_derived_for_every_part(name: str) -> None:
    """Each part that the example states in one piece appears among the failures unless its kind rules that out."""
    kind = catalogue.kind(name)
    block = built(name, dict(kind.example))
    called = {failure.part for failure in block.failures}
    for param in kind.params:
        part = block.part(param.name)
        if part and isinstance(param, Part) and param.modes is None:
            assert part.name(param.called) in called


BAD = ["0 V", "-1", "nan", "1e400", "", "x" * 5000, "12 bananas", "<b>1</b>", "1..", "..", "%", "±", "1/0", "0x10", "١٢",
       "-5 ohm", "1e-300", "9" * 400, "{supply.peak}", "V", "4k7k", "marked", "marked beige", "R1", "R1 R2", "..1k"]  # fmt: skip


@pytest.mark.parametrize("name", catalogue.names())
def test_bad_values_are_told_in_words(name: str) -> None:
    """Every parameter takes every kind of rubbish without a traceback; what it refuses names kind and parameter. Outside
    CI a part or a quantity, of which there are hundreds, takes a third of it, another one from parameter to parameter."""
    kind = catalogue.kind(name)
    for number, param in enumerate(kind.params, catalogue.names().index(name)):
        for text in BAD if CI or type(param) not in (Part, Quantity) else BAD[number % 3 :: 3]:
            block, troubles = build_block(name, {**kind.example, param.name: text}, MAINS)
            assert (block is None) == any(t.severity == ERROR for t in troubles)
            for trouble in troubles:
                assert name in trouble.what and trouble.what.strip(), trouble
                assert "Traceback" not in trouble.what and len(trouble.what) < 240


@pytest.mark.parametrize("name", catalogue.names())
def test_wrong_shapes_are_told_in_words(name: str) -> None:
    """A list or a mapping where one value belongs, and the other way round."""
    kind = catalogue.kind(name)
    for param in kind.params:
        for entry in (
            [],
            {},
            ["a", ["b"]],
            {"a": {"b": "c"}},
            [{}],
            {"": ""},
            [[[[["x"]]]]],
            [None],
            {"trip": {"nonsense": "1"}},
        ):
            block, troubles = build_block(name, {**kind.example, param.name: entry}, MAINS)
            assert (block is None) == any(t.severity == ERROR for t in troubles)


@pytest.mark.parametrize("name", catalogue.names())
def test_missing_and_unknown_parameters_are_told(name: str) -> None:
    """A missing required parameter names itself; an unknown one its nearest neighbour."""
    kind = catalogue.kind(name)
    for param in kind.params:
        if param.required:
            rest = {k: v for k, v in kind.example.items() if k != param.name}
            block, troubles = build_block(name, rest, MAINS)
            assert block is None
            assert any(f"{name} needs {param.name}" in t.what for t in troubles)
    wrong = kind.params[0].name[:-1] + "x"
    _, troubles = build_block(name, {**kind.example, wrong: "1"}, MAINS)
    assert any("no such parameter" in t.what and kind.params[0].name in t.hint for t in troubles)


@pytest.mark.parametrize("name", catalogue.names())
def test_extreme_but_possible_values_give_no_nonsense(name: str) -> None:
    """Each parameter at the smallest and largest its unit allows: a problem in words or finite values. Outside CI one of them,
    another one from parameter to parameter."""
    from generator.notation.quantity import KINDS_OF_VALUE

    kind = catalogue.kind(name)
    quantities = [param for param in kind.params if isinstance(param, Quantity)]
    for number, param in enumerate(quantities, catalogue.names().index(name)):
        _, _, smallest, largest = KINDS_OF_VALUE[param.unit]
        extremes = (smallest, largest, smallest * 1e3, largest / 1e3)
        for value in extremes if CI else extremes[number % 2 : number % 2 + 1]:
            block, troubles = build_block(name, {**kind.example, param.name: f"{value!r}"}, MAINS)
            assert (block is None) == any(t.severity == ERROR for t in troubles)
            for result in block.values.values() if block else ():
                assert not math.isnan(result.low)
                assert math.isfinite(result.high) or result.unit == "s", (param.name, value, result)
            if block:
                _ = block.failures


@pytest.mark.parametrize("name", catalogue.names())
def test_a_value_is_stated_once(name: str) -> None:
    """No formula of the table of values stands in the code of its kind again."""
    kind = catalogue.kind(name)
    stated = {value.formula for value in kind.values if value.formula}
    tree = ast.parse(inspect.getsource(inspect.getmodule(type(kind)) or type(kind)))
    again = [
        call.args[0].value
        for call in ast.walk(tree)
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "Formula"
        if call.args and isinstance(call.args[0], ast.Constant) and call.args[0].value in stated
    ]
    assert again == []
