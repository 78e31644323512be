"""Named values that only a block's own formulas give (a delay, a frequency, a resistance out of the circuit)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.network.primitives import Array
from generator.circuit.point import Point
from generator.diagnosis.metered import as_metered

if TYPE_CHECKING:
    from generator.circuit.block import Block
    from generator.circuit.device import Device
    from generator.diagnosis.hypotheses import Change


def values_under(
    device: Device, block: str, value: str, changes: Sequence[Change], meter: float
) -> tuple[Array, Array]:
    """The value's mean (H) and half its band (H) under each change; only changes of the block itself move it.

    inf: for ever, or open; nan: no such value then.
    """
    own = device.blocks[block]
    result = own.values.get(value)
    if result is not None:
        result = as_metered(own, result, meter)
    sound = (math.nan, 0.0) if result is None else _of(result.value, result.low, result.high)
    mean, half = np.full(len(changes), sound[0]), np.full(len(changes), sound[1])
    for number, change in enumerate(changes):
        if change.block == block and not change.element:
            mean[number], half[number] = _under(own, value, change, sound, meter)
    return mean, half


def _of(value: float | None, low: float, high: float) -> tuple[float, float]:
    middle = value if value is not None else (low + high) / 2
    return (middle, (high - low) / 2) if math.isfinite(high - low) else (middle, 0.0)


def _under(
    block: Block, value: str, change: Change, sound: tuple[float, float], meter: float
) -> tuple[float, float]:
    failure = next((f for f in block.failures if (f.key, f.failed) == (change.key, change.mode)), None)
    nominal = block.point.__dict__.get(change.key)
    if change.size is not None and change.mode in ("high", "low") and isinstance(nominal, (int, float)):
        return _solved(block, value, {change.key: nominal * change.size}, sound)
    if failure is not None and change.size is None:
        result = failure.values.get(value)
        if result is not None:
            result = as_metered(block, result, meter, *_failed(block, change))
        return sound if result is None else _of(result.value, result.low, result.high)
    return sound


def _failed(block: Block, change: Change) -> tuple[Point | None, Mapping[str, float] | None]:
    """The block's point with the failure in it, and what it solves to there; None, None where it does not."""
    failing = next((part for part in block.failing_parts if part.key == change.key), None)
    if failing is None:
        return None, None
    point = block.with_failure(block.point, failing.key, failing.part_class, change.mode)
    try:
        return point, block.kind.values_at(point)
    except (ArithmeticError, ValueError):
        return None, None


def _solved(
    block: Block, value: str, changed: dict[str, float], sound: tuple[float, float]
) -> tuple[float, float]:
    """The value with another number, scattering as it does in the sound block, in proportion."""
    try:
        found = block.kind.values_at(block.point.changed(**changed)).get(value)
    except (ArithmeticError, ValueError):
        return sound
    if found is None:
        return math.nan, 0.0
    share = sound[1] / abs(sound[0]) if sound[0] and math.isfinite(sound[0]) else 0.0
    return float(found), share * abs(found) if math.isfinite(found) else 0.0
