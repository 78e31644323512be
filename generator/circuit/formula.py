"""Formulas as people write them, and what they come to.

A formula is text: "secondary·√2 − n·diode_drop". Names stand for the block's inputs, values and helper quantities. A
value is stated once, by its formula: the number is the formula evaluated, the working is the formula with numbers in.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from types import CodeType
from typing import Any

from generator.circuit.point import Point

NAME = re.compile(r"[A-Za-z_][A-Za-z_0-9]*")
_FUNCTIONS: dict[str, Any] = {"exp": math.exp, "ln": math.log, "sin": math.sin, "cos": math.cos, "min": min, "max": max,
                              "floor": math.floor, "sqrt": math.sqrt}  # fmt: skip


class Formula(str):
    """A formula that solve gives for a value in place of a number, where the table of values has none or another."""

    def __new__(cls, text: str) -> Formula:
        """The same formula is the same object, so that it is taken apart and compiled once."""
        found = _known.get(text)
        if found is None:
            found = _known[text] = super().__new__(cls, text)
        return found

    def of(self, x: Point) -> float:
        """What it comes to by the inputs alone, where the regime depends on that."""
        return evaluate(self, x.__dict__)


_known: dict[str, Formula] = {}

STATED = Formula("as the table of values states it")  # for a solve that says of every value whether it exists

Solved = Mapping[str, "float | Formula | None"]  # what solve gives
Found = dict[str, "float | Formula | None"]  # the same while it is put together


def parallel(*resistances: float) -> float:
    """Resistances side by side, in ohm; 0 shorts the rest, inf counts for nothing. Ohm's law."""
    conductance = 0.0
    for resistance in resistances:
        if resistance == 0:
            return 0.0
        conductance += 1.0 / resistance
    return 1.0 / conductance if conductance else math.inf


_SCOPE = {**_FUNCTIONS, "pi": math.pi, "parallel": parallel, "__builtins__": {}}


@lru_cache(maxsize=1024)
def _compiled(formula: str) -> CodeType:
    return compile(_python(formula), "<formula>", "eval")


def _python(formula: str) -> str:
    """The formula as a Python expression."""
    text = formula.replace("·", "*").replace("−", "-").replace("π", " pi ").replace("²", "**2")
    text = re.sub(r"√(\d+|[A-Za-z_]\w*)", r"sqrt(\1)", text).replace("√(", "sqrt(")
    text = re.sub(r"(\w+|\([^()]*\))∥(\w+|\([^()]*\))", r"parallel(\1,\2)", text)
    return text.strip()


@lru_cache(maxsize=1024)
def names_in(formula: str) -> tuple[str, ...]:
    """The names that a formula uses, without functions and π."""
    return tuple(
        name for name in NAME.findall(formula) if name not in _FUNCTIONS and name not in ("pi", "parallel")
    )


def evaluate(formula: str, numbers: Mapping[str, Any]) -> float:
    """What a formula of this project's own comes to. Raises ArithmeticError, ValueError, NameError."""
    return float(eval(_compiled(formula), _SCOPE, numbers))  # noqa: S307 - only our own formulas


def worked_out(inputs: Mapping[str, Any], solved: Solved, stated: Mapping[str, Formula]) -> dict[str, float]:
    """Every number that solve gives, and what every formula comes to: its own, and the stated ones that it leaves alone.

    stated: the formulas of the kind's table. A formula with a name that has no number (an input that is not given) gives
    none either; nor does a value for which solve gives None. Names in a cut point's formula ("heat off.output") are those
    of the same cut point first. Raises ArithmeticError and ValueError as the formulas do.
    """
    found: dict[str, float] = {}
    chosen: dict[str, Any] = {**stated, **solved} if solved else dict(stated)
    for name, entry in solved.items():
        if entry is STATED:
            chosen[name] = stated[name]
        elif not isinstance(entry, Formula):
            del chosen[name]
            if entry is not None:
                found[name] = entry
    if chosen:
        cuts = tuple(name for name in found if "." in name)
        needed, build = _plan(tuple(chosen), tuple(chosen.values()), cuts)
        numbers = [found[name] if name in found else inputs.get(name) for name in needed]
        found.update(build(tuple([number is not None for number in numbers]))(*numbers))
    return found


_Calculation = Callable[..., dict[str, float]]


@lru_cache(maxsize=4096)
def _plan(
    names: tuple[str, ...], formulas: tuple[str, ...], cuts: tuple[str, ...]
) -> tuple[tuple[str, ...], Callable[[tuple[bool, ...]], _Calculation]]:
    """Formulas put in an order in which they can be computed: the names that they need, and for those of them that have
    a number (True) or have none a function of the needed numbers."""
    known = {*names, *cuts}
    uses = {name: _uses(name, text, known) for name, text in zip(names, formulas)}
    ordered: list[str] = []

    def visit(name: str, behind: tuple[str, ...]) -> None:
        if name in behind:
            raise ValueError(f"formulas depend on one another in a circle: {' -> '.join([*behind, name])}")
        for used in uses[name].values():
            if used in uses and used != name and used not in ordered:
                visit(used, (*behind, name))
        if name not in ordered:
            ordered.append(name)

    for name in names:
        visit(name, ())
    texts = dict(zip(names, formulas))
    needed = tuple(
        dict.fromkeys(
            used for name in ordered for used in uses[name].values() if used not in uses or used == name
        )
    )

    @lru_cache(maxsize=None)
    def build(present: tuple[bool, ...]) -> _Calculation:
        given = {name: f"n{i}" for i, name in enumerate(needed)}
        at_hand = {name for name, there in zip(needed, present) if there}
        variables, lines = dict(given), []
        for i, name in enumerate(ordered):
            if not set(uses[name].values()) <= at_hand:
                continue
            text = NAME.sub(lambda m: variables.get(uses[name].get(m[0], ""), m[0]), texts[name])  # noqa: B023
            lines.append((name, f"v{i} = {_python(text)} + 0.0", f"v{i}"))
            variables[name] = f"v{i}"
            at_hand.add(name)
        body = "; ".join(line for _name, line, _variable in lines) or "pass"
        result = ", ".join(f"{name!r}: {variable}" for name, _line, variable in lines)
        source = f"def calculate({', '.join(given.values())}):\n    {body}\n    return {{{result}}}\n"
        space = dict(_SCOPE)
        exec(compile(source, "<formulas>", "exec"), space)  # noqa: S102 - only our own formulas
        return space["calculate"]  # type: ignore[no-any-return]

    return needed, build


def _uses(name: str, formula: str, known: set[str]) -> dict[str, str]:
    """The names in a formula, each with the value or input that it stands for."""
    cut, dot, _value = name.rpartition(".")
    own = {used: f"{cut}.{used}" for used in names_in(formula)} if dot else {}
    return {used: own[used] if own.get(used) in known else used for used in names_in(formula)}
