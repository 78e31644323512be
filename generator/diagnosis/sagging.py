"""What regulators lose where their input sags: they hold their volts only down to the dropout, be it in the trough of every
ripple or in some specimens only, which a straight line about one operating point does not know. A zener behind its resistor
is one whose dropout is what the load takes through the resistor."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from generator.circuit.network.chips import Loop, Regulator
from generator.circuit.network.junctions import Diode
from generator.circuit.network.passive import Resistor
from generator.circuit.network.primitives import Array
from generator.circuit.network.reading import Reading
from generator.circuit.network.sensitivity import shown
from generator.circuit.network.sources import Rail
from generator.diagnosis.evidence import TRAPEZOID

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.circuit.network.reading import Seen
    from generator.diagnosis.solved import Batch, StateUnder

DROPOUT = 0.25  # V, standard deviation of dropouts (data sheets of fixed regulators, from memory)
NEAR = 3.0  # standard deviations of room above the dropout, from which on nothing is lost
SUPPLIED = 1.0  # V at its input, below which it is dead rather than short of it
# nodes and weights of a normal distribution (Gauss-Hermite; M. Abramowitz, I. Stegun, Handbook of Mathematical Functions,
# table 25.10, n = 3)
NODES, WEIGHTS = np.array([-math.sqrt(3), 0.0, math.sqrt(3)]), np.array([1 / 6, 2 / 3, 1 / 6])


@dataclass(frozen=True)
class Sag:
    """Of variants (H): what a regulator's output loses on average beside what was solved, and how far that scatters, V.
    axis: the tolerance axis of its volts; step: V that its further end lies off."""

    lost: Array
    scatter: Array
    axis: int
    step: float


class Held(NamedTuple):
    """What holds a voltage while its input is high enough. key: the number that is that voltage; dropout: V, where it is no number
    of its own; axis: the tolerance axis of the voltage; input: where it comes from."""

    element: Regulator | Diode
    key: str
    dropout: float
    axis: int
    input: Reading


def inputs(device: Device) -> list[Held]:
    """The regulators that may sag, and the zeners on rectified rails, each with what stands at its input."""
    found: list[tuple[Regulator | Diode, str, float, Reading]] = [
        (element, "volts", 0.0, Reading(element.input, element.common))
        for element in device.elements.values()
        if isinstance(element, Regulator) and not isinstance(element, Loop)
    ]
    rails = {
        own.plus for own in device.elements.values() if isinstance(own, Rail) and own.figures is not None
    }
    for name, block in device.blocks.items():  # behind a pass transistor its base current is another drop
        zener, series = (device.elements.get(f"{name}.{key}") for key in ("zener", "series"))
        if not isinstance(zener, Diode) or not isinstance(series, Resistor) or zener.cathode != series.b:
            continue
        if series.a in rails and f"{name}.transistor" not in device.elements:
            dropout = series.ohms.value * float(block.solved.get("load_current") or 0.0)
            found.append((zener, "breakdown", dropout, Reading(series.a, zener.anode)))
    return [
        Held(element, key, dropout, axis, there)
        for element, key, dropout, there in found
        for axis in [n for n, own in enumerate(device.axes) if key in own.moves.get(element.name, {})][:1]
    ]


def sags(there: StateUnder, batch: Batch, seen: Seen) -> list[Sag]:
    """Of each regulator that comes near its dropout in some variant. seen: what stands at the inputs."""
    device, found = there.device, []
    for position, (element, key, dropout, axis, there_in) in enumerate(inputs(device)):
        name, sound = element.name, {"dropout": dropout, **element.nominal()}
        own = [variant.get(name, sound) for variant in batch.variants]
        volts, drops, alive = (
            np.array([p.get(number, sound[number]) for p in own]) for number in (key, "dropout", "alive")
        )
        supplied = seen.values[:, position]
        room = supplied - drops - volts
        half = seen.unit[:, position] * ((seen.shares[:, 1] - seen.shares[:, 0]) / 2)
        scatter = np.sqrt((half**2).sum(-1) / TRAPEZOID + DROPOUT**2)
        lives = (alive > 0) & (supplied > SUPPLIED)
        swing = _swing(there, batch, there_in.plus, lives, room - NEAR * scatter)
        near = lives & (room < NEAR * scatter + swing)
        if not near.any():
            continue
        missing = _missing(room[:, None] + scatter[:, None] * NODES, swing[:, None])
        lost = missing @ WEIGHTS
        spreads = np.sqrt(((missing - lost[:, None]) ** 2) @ WEIGHTS)
        solved = np.maximum(-room, 0.0)
        low, high = device.axes[axis].moves[name][key]
        step = max(abs(low - sound[key]), abs(high - sound[key]))
        held = room > 0  # else what the input scatters by is in the straight line
        found.append(
            Sag(
                np.where(near, np.maximum(lost - solved, 0.0), 0.0), np.where(near & held, spreads, 0.0), axis, step
            )
        )  # fmt: skip
    return found


def _missing(room: Array, swing: Array) -> Array:
    """V missing on average where the input lies room above what is needed and swings so far either way, evenly."""
    within = (swing - room) ** 2 / (4 * np.maximum(swing, 1e-9))
    return np.where(np.abs(room) < swing, within, np.maximum(-room, 0.0))


def _swing(there: StateUnder, batch: Batch, net: str, lives: Array, room: Array) -> Array:
    """Half of the ripple at a net, of variants (H) that live; 0 where no rectified rail stands there, and where even a capacitor
    that is charged but once a period would leave less ripple than there is room."""
    found = np.zeros(len(batch.variants))
    for name, rail in there.device.elements.items():
        if isinstance(rail, Rail) and rail.figures is not None and rail.plus == net:
            taken = -shown(batch.solution, [Reading(element=name, less=rail.clamp)])[:, 0]
            key = next((key for key in ("farads", "smoothing") if key in rail.numbers), "")
            whole = rail.nominal().get(key, 0.0)
            farads = np.array([variant.get(name, {}).get(key, whole) for variant in batch.variants])
            most = np.maximum(taken, 0.0) / (there.device.frequency * np.maximum(farads, 1e-12))
            rows = np.flatnonzero(lives & (room < most))
            found[rows] = there.figure(rail, "ripple", taken, batch, rows)[rows] / 2
    return found


def lowered(sag: Sag, slopes: Array) -> tuple[Array, Array]:
    """By how much readings (H, R) fall with the output, and how far that scatters, V. slopes (H, R): of the readings along the
    regulator's own axis, in units of the step to its further end. Where it is in dropout they are none, and those of the
    variants in which it regulates stand for them."""
    each = slopes / sag.step
    regulates = (sag.scatter > 0) | (sag.lost == 0)
    usual = np.median(each[regulates], axis=0) if regulates.any() else np.zeros(each.shape[1])
    each = np.where(regulates[:, None], each, usual)
    return each * sag.lost[:, None], each * sag.scatter[:, None]
