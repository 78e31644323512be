"""What a meter's own resistance does to what it measures."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from generator.circuit.band import extremes
from generator.circuit.block import Block, Point, Result, Value, scope
from generator.circuit.formula import evaluate, names_in, parallel


def as_metered(
    block: Block,
    result: Result,
    meter_input: float,
    point: Point | None = None,
    solved: Mapping[str, float] | None = None,
) -> Result:
    """What a value should read with a meter of that input resistance (ohm), which pulls a high-impedance node down.

    point, solved: of the block with a part failed, else of the sound one. The band moves as its middle does, which holds
    while the tolerances are small beside the shift.
    """
    point, solved = block.point if point is None else point, block.solved if solved is None else solved
    definition, value = result.definition, solved.get(result.name)
    if definition is not None and definition.across and value == math.inf:
        return _drained(block, result, definition, meter_input, point)
    if (
        definition is None
        or not (definition.impedance or definition.across)
        or not value
        or not math.isfinite(value)
    ):
        return result
    share = loaded(block, definition, value, point, solved, meter_input) / value
    nominal = None if result.value is None else result.value * share
    return replace(result, value=nominal, low=result.low * share, high=result.high * share)


def _drained(block: Block, result: Result, definition: Value, meter_input: float, point: Point) -> Result:
    """What would last for ever without the meter, which is then all that drains it."""

    def solve(at: Point) -> dict[str, float]:
        return {definition.name: loaded(block, definition, math.inf, at, {}, meter_input)}

    low, high = extremes(solve, point, block.axes, (definition,))[definition.name]
    return replace(result, value=solve(point)[definition.name], low=low, high=high)


def loaded(
    block: Block,
    definition: Value,
    value: float,
    point: Point,
    solved: Mapping[str, float],
    meter_input: float,
) -> float:
    """What a meter of that input resistance (ohm) shows of a value that it loads; the point has its failure in it.

    A node of some impedance sags as a voltage divider does; what discharges through a resistor, discharges through the
    meter beside it as well.
    """
    if definition.across:
        through = point.__dict__.get(definition.across)
        beside = point.changed(
            **{definition.across: parallel(math.inf if through is None else through, meter_input)}
        )
        return block.kind.values_at(beside).get(definition.name, value)
    known = (
        scope({**point.__dict__, **solved}, definition.name)
        if "." in definition.name
        else {**point.__dict__, **solved}
    )
    numbers = {
        name: math.inf
        if known[name] is None
        else known[name]  # beside others, what is absent counts for nothing
        for name in names_in(definition.impedance)
        if name in known
    }
    try:
        impedance = evaluate(definition.impedance, numbers)
    except (ArithmeticError, ValueError, NameError, TypeError):
        return value
    return value * meter_input / (meter_input + impedance) if math.isfinite(impedance) else value
