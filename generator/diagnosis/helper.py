"""What the reading helper of a page works on: predicted bands of every failure, as data for a script.

The script does no physics. It gets, for each place to measure, the band of the sound circuit, and for each
failure the bands that differ from that.
"""

from __future__ import annotations

import math
from typing import Any

from generator.circuit.block import Block, Failure, Result
from generator.circuit.circuit import Circuit
from generator.diagnosis.first_check import LEAST
from generator.diagnosis.likelihood import band_of, slack_of
from generator.diagnosis.metered import as_metered
from generator.diagnosis.model import HEALTH, Hypothesis, Model, Spot
from generator.language import _, failure_name, value_name
from generator.notation.reading import Meter, table

MISSED = 0.01  # share of a band's size: moved by less, it is the same to a meter
Band = list[float] | str | None


def helper_data(circuit: Circuit, meter: Meter | None = None) -> dict[str, Any]:
    """{"spots": [...], "failures": [...], "least": {...}, "meter": {...}, "reading": the table of the grammar of readings}.

    Empty where nothing can be measured. Bands are with the resistance of the meter on the circuit.

    A band is [low, high] in plain units to four digits, "open" for what reads as no connection or never, None for no value.
    """
    meter = meter or Meter()
    spots = [
        Spot(name, d.name)
        for name, block in circuit.blocks.items()
        for d in block.definitions
        if d.measurable and d.at and d.name in block.values
    ]
    if not spots:
        return {}
    number = {spot: n for n, spot in enumerate(spots)}
    failures = []
    model = Model(circuit, spots, meter.input)
    sound = {
        spot: _of(
            as_metered(circuit.blocks[spot.block], circuit.blocks[spot.block].values[spot.value], meter.input)
        )
        for spot in spots
    }
    healthy = model.predict(Hypothesis(*HEALTH))
    for name, block in circuit.blocks.items():
        fed = [s for s in spots if s.block in set(circuit.feeds(name))]
        for failure in block.failures:
            hypothesis = Hypothesis(name, failure.key, failure.part, failure.failed, mode=failure.failed)
            own = _own(model, block, failure, hypothesis, [s for s in spots if s.block == name], meter.input)
            bands = {str(number[spot]): band for spot, band in own.items() if band != sound[spot]}
            if fed and bands:
                bands |= _downstream(model, hypothesis, fed, sound, number)
            entry: dict[str, Any] = {
                "block": name,
                "part": _(failure.part),
                "failed": failure_name(failure.failed),
                "bands": bands,
            }
            if failure.remark:
                entry["remark"] = _(failure.remark)
            failures.append(entry)
    return {
        "spots": [_spot(circuit, spot, sound[spot], slack_of(healthy, spot)) for spot in spots],
        "failures": failures,
        "least": LEAST,
        "meter": {"share": meter.share, "counts": meter.counts},
        "reading": table(),
    }


def _own(
    model: Model,
    block: Block,
    failure: Failure,
    hypothesis: Hypothesis,
    spots: list[Spot],
    meter_input: float,
) -> dict[Spot, Band]:
    """Bands of the failed block: as it states them, with the meter on it; predicted where they have no known size."""
    definitions = {d.name: d for d in block.definitions}
    part_class = block.failing_part(failure.key).part_class
    failed = block.with_failure(block.point, failure.key, part_class, failure.failed)
    solved = block.kind.values_at(failed)
    found: dict[Spot, Band] = {}
    predicted: list[Spot] = []
    for spot in spots:
        result = failure.values.get(spot.value)
        endless = solved.get(spot.value) == math.inf
        if failure.failed == "high resistance" or (
            endless and (result is None or definitions[spot.value].across)
        ):
            predicted.append(spot)
        else:
            found[spot] = _of(result and as_metered(block, result, meter_input, failed, solved))
    if predicted:
        found |= _bands(model, hypothesis, predicted)
    return found


def _downstream(
    model: Model, hypothesis: Hypothesis, fed: list[Spot], sound: dict[Spot, Band], number: dict[Spot, int]
) -> dict[str, Band]:
    """Bands of the blocks that take a value of the failed one, where they change by more than a meter would miss."""
    return {
        str(number[spot]): band
        for spot, band in _bands(model, hypothesis, fed).items()
        if not _nearly(band, sound[spot])
    }


def _bands(model: Model, hypothesis: Hypothesis, spots: list[Spot]) -> dict[Spot, Band]:
    predicted = model.predict(hypothesis, spots)
    pairs = {spot: band_of(predicted, spot) for spot in spots}
    return {spot: None if pair is None else _rounded(*pair) for spot, pair in pairs.items()}


def _nearly(band: Band, sound: Band) -> bool:
    """Whether a band is the sound one, but for what a meter would miss."""
    if not isinstance(band, list) or not isinstance(sound, list):
        return band == sound
    return all(abs(a - b) <= MISSED * max(abs(sound[0]), abs(sound[1])) for a, b in zip(band, sound))


def _spot(circuit: Circuit, spot: Spot, sound: Band, slack: float) -> dict[str, Any]:
    definition = next(d for d in circuit.blocks[spot.block].definitions if d.name == spot.value)
    entry: dict[str, Any] = {
        "block": spot.block, "value": spot.value, "called": value_name(spot.value), "unit": definition.unit, "band": sound,
        "at": _(definition.at), "slack": _digits(slack),
    }  # fmt: skip
    if definition.wave:
        entry["wave"] = definition.wave
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
