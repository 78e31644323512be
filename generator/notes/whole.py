"""What a note says of the device as a whole: its states, what joins its blocks, connectors and test points; places to measure.

How the text of a place ("CN3 pin 2", "reg.out", "R14", "supply.ripple") is resolved stands in generator/circuit/device.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from generator.circuit.circuit import Circuit, Mains, build
from generator.notation.quantity import QuantityError, parse
from generator.notes.fields import Fields
from generator.notes.text import shown
from generator.problems import Trouble, did_you_mean

if TYPE_CHECKING:
    from generator.circuit.device import Device, State, Told

MOST_STATES, MOST_JOINS, MOST_PINS, MOST_PLACES = 12, 200, 100, 200
PLACE = 80  # characters of a place's text
USUAL_STATES = ("running", "idle")  # of a note that names none
_STATE_NAME = re.compile(r"[A-Za-z][\w -]{0,39}")
_NAME = re.compile(r"[A-Za-z][\w./-]{0,19}")
# What a sensor of a kind stands in.
SENSED = {
    "thermistor-divider": ("°C", "60 C"), "light-divider": ("lux", "500 lux"), "phase-control": ("ohm", "220k"),
}  # fmt: skip
_VOLTS = re.compile(r"[\d.,]+\s*[mk]?V")


def read_told(fields: Fields, blocks: Mapping[str, Any]) -> Told | None:
    """The device as a whole, None where the note says nothing of it. blocks: as the front matter has them."""
    states = _states(fields, blocks)
    joins = _joins(fields)
    connectors = {name: tuple(pins) for name, pins in _connectors(fields)}
    test_points = dict(_test_points(fields))
    if not (states or joins or connectors or test_points):
        return None
    from generator.circuit.device import Told

    return Told(states, joins, connectors, test_points)


def _states(fields: Fields, blocks: Mapping[str, Any]) -> tuple[State, ...]:
    raw = fields.mapping("states")
    if not raw:
        return ()
    from generator.circuit.device import State

    found: list[State] = []
    if len(raw) > MOST_STATES:
        fields.wrong("states", f"{len(raw)} states; at most {MOST_STATES}")
    for name, entry in list(raw.items())[:MOST_STATES]:
        path = ("states", name)
        if not _STATE_NAME.fullmatch(name):
            hint = "a letter, then letters, digits, spaces and -; at most 40 characters"
            fields.report.at_key(path, f"{shown(name, 40)}: no name for a state", hint)
            continue
        state = Fields({} if entry == "" else entry, path, "a state", ("on", *blocks), fields.report)
        on = (
            state.texts("on", 100, PLACE)
            if isinstance(state.data.get("on", []), list)
            else (state.text("on", PLACE),)
        )
        for position, block in enumerate(on):
            if block not in blocks:
                what = f"on: {shown(block)}: no such block in this note"
                place = (*path, "on", position) if isinstance(state.data["on"], list) else (*path, "on")
                fields.report.at_value(place, what, did_you_mean(block, list(blocks)))
        sensors, fed = _sensors(state, blocks)
        found.append(State(name, tuple(block for block in on if block in blocks), sensors, fed))
    return tuple(found)


def _sensors(state: Fields, blocks: Mapping[str, Any]) -> tuple[dict[str, float], dict[str, float]]:
    """What the sensors stand in, {air: 60 C} for the thermistor of the block air, and where pots stand; and what the sources
    of blocks give, {charge: 0 V} for one that is pulled out."""
    found: dict[str, float] = {}
    fed: dict[str, float] = {}
    for block in [key for key in state.data if key != "on" and key in blocks]:
        entry = blocks[block]
        kind = str(entry.get("kind", "")) if isinstance(entry, Mapping) else ""
        volts = kind not in SENSED and _VOLTS.fullmatch(str(state.data[block]).strip())
        if kind not in SENSED and not volts:
            hint = "a thermistor-divider or a light-divider, volts of a source (0 V: pulled out), or on: [blocks]"
            state.wrong(block, "this block has no sensor", hint)
            continue
        unit, example = ("V", "0 V") if volts else SENSED[kind]
        text = state.text(block, PLACE)
        try:
            read = parse(text, unit, positive=unit == "lux").middle
            (fed if volts else found)[block] = read
        except QuantityError as error:
            state.wrong(block, error.what, error.hint or f"such as {example}")
    return found, fed


def _joins(fields: Fields) -> tuple[tuple[str, ...], ...]:
    found = []
    for path, raw in fields.entries("joins", MOST_JOINS):
        if not isinstance(raw, list):
            hint = "such as - [air.pin, watch.input]"
            fields.report.at_value(path, "joins: a list of places that are one net is expected", hint)
            continue
        places = [" ".join(place.split()) for place in raw if isinstance(place, str) and place.strip()]
        if len(places) != len(raw) or len(places) < 2:
            what = "joins: two places or more are expected"
            fields.report.at_value(path, what, "such as - [air.pin, watch.input]")
        elif any(len(place) > PLACE for place in places):
            fields.report.at_value(path, f"joins: a place has at most {PLACE} characters")
        else:
            found.append(tuple(places))
    return tuple(found)


def _connectors(fields: Fields) -> list[tuple[str, Sequence[str]]]:
    """Name -> the place at each pin, in the order of the pins; an empty text for a pin that is not known."""
    found: list[tuple[str, Sequence[str]]] = []
    connectors = fields.mapping("connectors")
    for name, raw in list(connectors.items())[:MOST_PLACES]:
        path = ("connectors", name)
        if not _NAME.fullmatch(name):
            fields.report.at_key(path, f"{shown(name, 40)}: no name for a connector", "such as CN3")
        elif not isinstance(raw, list) or not all(isinstance(pin, str) for pin in raw):
            hint = "such as CN3: [reg.out, air.tap, supply.common], from pin 1"
            what = f"connectors: {name}: a list of the places at its pins is expected"
            fields.report.at_value(path, what, hint)
        elif len(raw) > MOST_PINS or any(len(pin) > PLACE for pin in raw):
            fields.report.at_value(
                path, f"connectors: {name}: at most {MOST_PINS} pins of {PLACE} characters"
            )
        else:
            found.append((name, [" ".join(pin.split()) for pin in raw]))
    return found


def _test_points(fields: Fields) -> list[tuple[str, str]]:
    points = Fields(
        fields.mapping("test_points"),
        ("test_points",),
        "test_points",
        list(fields.mapping("test_points")),
        fields.report,
    )
    found = []
    for name in list(points.data)[:MOST_PLACES]:
        if not _NAME.fullmatch(name):
            what = f"{shown(name, 40)}: not a name for a test point"
            points.report.at_key(("test_points", name), what, "such as TP5")
        elif place := points.text(name, PLACE):
            found.append((name, place))
    return found


def worked_out(blocks: Mapping[str, Any], mains: Mains, told: Told | None) -> Circuit:
    """The blocks of a note as a circuit; a load that the note leaves out is what is joined, which the network says."""
    circuit = build(blocks, mains, told.joins if told else ())
    if not circuit.unstated_loads:
        return circuit
    from generator.circuit.device import NOTHING, work_out

    return work_out(blocks, mains, told or NOTHING).circuit


def wrong_together(circuit: Circuit, told: Told | None) -> list[Trouble]:
    """What is wrong with the blocks as one device; nothing where each stands alone."""
    from generator.circuit.device.beside_triac import loads_beside_triacs
    from generator.circuit.device.hints import made_elsewhere
    from generator.circuit.device.shorts import shorts

    joined = any(block.extras or block.joined or block.sources for block in circuit.blocks.values())
    if not (told or joined):
        return made_elsewhere(circuit)
    device = put_together(circuit, told)
    return [*device.check(), *loads_beside_triacs(device), *shorts(device), *made_elsewhere(circuit)]


def with_joints(circuit: Circuit, told: Told | None, readings: Any) -> Told | None:
    """The same with a joint wherever the readings, as the front matter has them, are of two places that are one net."""
    entries = (
        [entry for entry in readings if isinstance(entry, Mapping)] if isinstance(readings, list) else []
    )
    raw = [entry.get(key) for entry in entries for key in ("at", "across", "ohms")]
    places = [
        text for one in raw for text in (one if isinstance(one, list) else [one]) if isinstance(text, str)
    ]
    if told is None or len(places) < 2 or not circuit.blocks:
        return told
    from generator.circuit.device.apart import read_apart

    apart = read_apart(put_together(circuit, told), places)
    return replace(told, apart=apart) if apart else told


def put_together(circuit: Circuit, told: Told | None) -> Device:
    """The device of a note's blocks."""
    from generator.circuit.device import NOTHING, assemble

    return assemble(circuit, told or NOTHING)
