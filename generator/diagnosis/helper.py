"""What the reading helper of a page works on: predicted bands of every failure, as data for a script.

The script does no physics. It gets, for each place to measure, the band of the sound circuit, and for each
failure the bands that differ from that.
"""

from __future__ import annotations

import math
from typing import Any

from generator.circuit.block import Result
from generator.circuit.circuit import Circuit
from generator.diagnosis.likelihood import band_of
from generator.diagnosis.model import Hypothesis, Model, Spot
from generator.language import _, failure_name, value_name

Band = list[float] | str | None


def helper_data(circuit: Circuit) -> dict[str, Any]:
    """{"spots": [...], "failures": [...]}; empty where nothing can be measured.

    A band is [low, high] in plain units to four digits, "open" for what reads as no connection or never, None for no value.
    """
    spots = [
        Spot(name, d.name) for name, block in circuit.blocks.items() for d in block.definitions if d.measurable and d.name in block.values
    ]
    if not spots:
        return {}
    number = {spot: n for n, spot in enumerate(spots)}
    failures = []
    model = Model(circuit, spots, 10e6)
    for name, block in circuit.blocks.items():
        fed = [s for s in spots if s.block in set(circuit.feeds(name))]
        for failure in block.failures:
            bands: dict[str, Band] = {}
            for spot in (s for s in spots if s.block == name):
                band, sound = _of(failure.values.get(spot.value)), _of(block.values[spot.value])
                if band != sound:
                    bands[str(number[spot])] = band
            if fed and bands:
                bands |= _downstream(model, circuit, Hypothesis(name, failure.key, failure.part, failure.failed, mode=failure.failed), fed, number)
            entry: dict[str, Any] = {"block": name, "part": _(failure.part), "failed": failure_name(failure.failed), "bands": bands}
            if failure.remark:
                entry["remark"] = _(failure.remark)
            failures.append(entry)
    return {"spots": [_spot(circuit, spot) for spot in spots], "failures": failures}


def _downstream(model: Model, circuit: Circuit, hypothesis: Hypothesis, fed: list[Spot], number: dict[Spot, int]) -> dict[str, Band]:
    """Bands of the blocks that take a value of the failed one, where they change by more than a meter would miss."""
    predicted = model.predict(hypothesis, fed)
    found: dict[str, Band] = {}
    for spot in fed:
        sound = circuit.blocks[spot.block].values[spot.value]
        pair = band_of(predicted, spot)
        band: Band = None if pair is None else _rounded(*pair)
        mean, was = predicted.mean[spot], sound.value
        if mean is not None and was is not None and math.isfinite(mean) and abs(mean - was) <= 0.01 * abs(was):
            continue
        if band != _of(sound):
            found[str(number[spot])] = band
    return found


def _spot(circuit: Circuit, spot: Spot) -> dict[str, Any]:
    block = circuit.blocks[spot.block]
    definition = next(d for d in block.definitions if d.name == spot.value)
    entry: dict[str, Any] = {
        "block": spot.block, "value": spot.value, "called": value_name(spot.value), "unit": definition.unit, "band": _of(block.values[spot.value]),
        "at": _(definition.at),
    }  # fmt: skip
    if definition.hazard:
        entry["hazard"] = definition.hazard
    if definition.cold or definition.unit == "ohm":
        entry["cold"] = True
    return entry


def _of(result: Result | None) -> Band:
    return None if result is None else _rounded(result.low, result.high)


def _rounded(low: float, high: float) -> Band:
    if math.isinf(low):
        return "open"
    if math.isinf(high):
        return [_digits(low), 1e30]
    return [_digits(low), _digits(high)]


def _digits(value: float) -> float:
    return float(f"{value:.4g}")
