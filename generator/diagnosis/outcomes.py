"""What each failure makes a block's values read in its device: what stands beside its sheet, from the one network."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.block import Block, Failure
from generator.circuit.failing import HIGH_FACTOR, LOW_DIVISOR
from generator.circuit.network.newton import currents
from generator.circuit.network.primitives import Array
from generator.circuit.network.sources import Rail, Source
from generator.circuit.value import Result, Value
from generator.diagnosis.hypotheses import HEALTH, Change
from generator.diagnosis.predictions import Predictor, Sought
from generator.diagnosis.readings import OPEN_FROM

if TYPE_CHECKING:
    from generator.circuit.device import Device

MOVED = 0.03  # of a sound reading: what a failure moves by less tells nothing beside tolerances (common practice, no source)
LEAST: Mapping[str, float] = {"V": 0.03, "A": 2e-6, "ohm": 0.1}  # the same where next to nothing is read
SIZES = {"high": HIGH_FACTOR, "low": 1 / LOW_DIVISOR}  # as in a block's own table
# A, and times what a source gives: where fuses open (common practice, no source)
BLOWS_AT, MOST_TIMES = 5.0, 5.0
OWN = "high resistance"  # of a contact: how much, its block says by its load


@dataclass(frozen=True)
class _Asked:
    """A value of a block and where the device's network gives it."""

    block: str
    definition: Value
    sought: Sought


def outcomes(device: Device, meter_input: float) -> dict[str, list[Failure]]:
    """By block, every failure with the values that then read otherwise; nominal.

    The network says it wherever a value is measured in it as it stands, in the first state that drives the block; the
    block's own formulas say the rest, and whatever the network leaves as it was.
    """
    found = {
        name: {(f.key, f.failed): f for f in block.nominal_failures} for name, block in device.blocks.items()
    }
    for blocks, asked in _together(device):
        changes = [
            Change(block=name, key=key, mode=mode, size=SIZES.get(mode))
            for name in blocks
            for key, mode in found[name]
            if mode != OWN and device.of_part(name, key)
        ]
        if not changes:
            continue
        predictor = Predictor(device, [own.sought for own in asked], meter_input)
        told = predictor.tell([HEALTH, *changes])
        blown = _blown(device, predictor, changes)
        for change, means, known, gone in zip(changes, told.mean[1:], told.known[1:], blown):
            if gone:
                continue
            failures, key = found[change.block], (change.key, change.mode)
            values = dict(failures[key].values)
            for own, sound, mean, is_known in zip(asked, told.mean[0], means, known):
                if own.block == change.block and is_known and _moved(sound, mean, own.sought.unit):
                    values[own.definition.name] = _result(own.definition, float(mean))
            ordered = {
                d.name: values[d.name] for d in device.blocks[change.block].definitions if d.name in values
            }
            failures[key] = replace(failures[key], values=ordered)
    return {name: list(failures.values()) for name, failures in found.items()}


def _together(device: Device) -> Iterator[tuple[list[str], list[_Asked]]]:
    """What is read in one state, or with the plug out, and the blocks that it is of."""
    groups: dict[str, list[_Asked]] = {}
    for name, block in device.blocks.items():
        state = next((state.name for state in device.states if name in state.on), device.states[0].name)
        for own in _asked(device, name, block, state):
            groups.setdefault("" if own.sought.how == "ohms" else state, []).append(own)
    for asked in groups.values():
        yield list(dict.fromkeys(own.block for own in asked)), asked


def _asked(device: Device, name: str, block: Block, state: str) -> Iterator[_Asked]:
    for definition in block.definitions:
        if definition.measurable and definition.name in block.values:
            place = device.place(f"{name}.{definition.name}")
            if place.how in ("volts", "amps", "rail", "ohms") and not (place.failed or place.put):
                yield _Asked(name, definition, Sought(place, place.how, state, definition.unit))


def _blown(device: Device, predictor: Predictor, changes: Sequence[Change]) -> Array:
    """Under which changes some source would have to give so much that a fuse or the part itself opens first: the network,
    in which nothing burns, does not know what is left then."""
    found = np.zeros(len(changes), bool)
    for powered in predictor.powered.values():
        solution = powered.there.solved(changes).solution
        nothing = np.zeros((1, solution.around.count))  # a source's current is one of the solution's numbers
        for name, element in device.elements.items():
            if isinstance(element, Source | Rail) and name in solution.around.system.of:
                own = abs(float(device.solved.point.amperes(name)[powered.there.row]))
                gives = np.abs(currents(solution.around.system, solution.x, nothing, name))
                found |= gives > max(BLOWS_AT, MOST_TIMES * own)
    return found


def _moved(sound: float, mean: float, unit: str) -> bool:
    if math.isnan(sound) or math.isinf(sound) or math.isinf(mean):
        return bool(sound != mean)
    return bool(abs(mean - sound) > max(MOVED * abs(sound), LEAST.get(unit, 0.0)))


def _result(definition: Value, mean: float) -> Result:
    """A value as a meter shows it: what its last digit does not show is 0, what its range does not reach is open."""
    if definition.unit == "ohm" and mean > OPEN_FROM:
        mean = math.inf
    if abs(mean) < LEAST.get(definition.unit, 0.0) / 10:
        mean = 0.0
    return Result(definition.name, definition.unit, mean, mean, mean, definition=definition)
