"""Where the reading helper of a page offers to measure: the places of the note's own readings, then the easiest to reach."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.network.element import NoOperatingPoint
from generator.diagnosis.evidence import Array
from generator.diagnosis.hypotheses import HEALTH
from generator.diagnosis.predictions import Sought
from generator.diagnosis.probing import COLD, LOW, MAINS, METER, Probing, key_of, probings
from generator.diagnosis.solved import solve_all, state_under
from generator.diagnosis.suspects import suspects
from generator.diagnosis.taking import alternating_at, sought_of

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.diagnosis.judging import Judgement

MOST_CELLS = 3400  # differences from sound; some 1.5 bytes of each are left when compressed
MOST_PLACES, MOST_STATES, MOST_JUNCTIONS = 90, 2, 6
# times as gladly: an oscilloscope at the mains, or a power meter and two readings; from memory
NO_METER = 0.2
MOST_FORESEEN = 2000  # failures, beyond which solving all at once would fill the memory
BY_OSCILLOSCOPE = ("trough", "peak")  # figures of a rail that a meter averages


def foresee(device: Device) -> None:
    """Works out every failure in all states that are offered, at once, where readings, proposals and table each ask for some."""
    try:
        states = [state_under(device, state.name, None) for state in device.states[:MOST_STATES]]
        faults = suspects(device)
        if len(faults) <= MOST_FORESEEN:
            solve_all(states, [HEALTH, *faults])
    except NoOperatingPoint:
        pass  # each of them says so


def offered(device: Device, judgement: Judgement | None) -> tuple[list[Probing], int]:
    """The places of the note's readings (and how many they are), then all others, the easiest first."""
    states = [state.name for state in device.states][:MOST_STATES]
    named = [e.called for e in device.elements.values() if e.called]
    found = probings(device, states=states, junctions=named)
    junctions = [own for own in found if own.how == "diode"][MOST_JUNCTIONS:]
    kept = [_as_value(own) for own in found if own not in junctions] or _by_formulas(device)
    ours = _of_readings(device, judgement, kept)
    seen = {own.key for own in ours}
    return (ours + [own for own in kept if own.key not in seen])[:MOST_PLACES], len(ours)


def _as_value(own: Probing) -> Probing:
    """A ripple from peak to peak, as its value is; what an AC range shows of it the page's script turns into that."""
    if own.sought.how != "rail" or own.sought.place.times == 1.0:
        return own
    return replace(own, sought=replace(own.sought, place=replace(own.sought.place, times=1.0)))


def _by_formulas(device: Device) -> list[Probing]:
    """Of a device without nets of its own, such as a dimmer: the values that its blocks' formulas give."""
    found = []
    for name, block in device.blocks.items():
        for own in block.definitions:
            if not (own.measurable and own.name in block.values):
                continue
            place = device.place(f"{name}.{own.name}")
            if place.how == "value":
                cold = own.cold or own.unit == "ohm"
                sought = Sought(place, "value", "" if cold else device.states[0].name, own.unit)
                ease = MAINS if own.hazard else COLD if cold else LOW
                if own.unit not in METER:
                    ease *= NO_METER
                found.append(Probing("at", (place.text,), sought, ease, own.hazard))
    return found


def affordable(device: Device, places: Sequence[Probing], changed: Array, before: int) -> list[int]:
    """The numbers of the places that the table has room for: by turns a net in the first state, the ohms of what fails most, a
    junction; then nets in the second state and what takes finding a part of a live board. changed: how many rows differ at each, nan
    where nothing is known; before: differences that are in it already."""
    weights: defaultdict[str, float] = defaultdict(float)
    for change in suspects(device):
        weights[change.called] += change.weight
    first = next((own.sought.state for own in places if own.sought.state), "")
    later = [
        own.kind == "across" or own.kind == "at" and own.sought.state not in ("", first) for own in places
    ]
    known = np.flatnonzero(~np.isnan(changed)).tolist()
    known.sort(key=lambda n: -weights[places[n].at[0]] if places[n].kind == "ohms" else 0)
    turn: Counter[tuple[str, bool]] = Counter()
    turns = {}
    for n in known:
        turns[n] = turn[places[n].kind, later[n]]
        turn[places[n].kind, later[n]] += 1
    room, kept = float(MOST_CELLS - before), []
    for n in sorted(known, key=lambda n: (later[n], turns[n])):
        if changed[n] <= room:
            room -= changed[n]
            kept.append(n)
    return sorted(kept)


def _of_readings(device: Device, judgement: Judgement | None, known: Sequence[Probing]) -> list[Probing]:
    """The places of a note's readings as the note names them; with AC volts on direct current the place that those
    belong to as well."""
    by_key = {own.key: own for own in known}
    found: dict[tuple[object, ...], Probing] = {}
    for judged in judgement.fitted if judgement else ():
        reading = judged.reading
        kind, at = "at", tuple([reading.at or f"{reading.block}.{reading.value}"])
        for other, places in (("across", reading.across), ("ohms", reading.ohms), ("diode", reading.diode)):
            if any(places):
                kind, at = other, tuple(places)
        sought = sought_of(device, reading)
        for own in (sought, alternating_at(device, sought) if sought.how == "volts" else None):
            if own is None or own is not sought and key_of(own) != key_of(judged.taken.sought or own):
                continue
            same = by_key.get(key_of(own))
            live = MAINS if own.place.ac else LOW * NO_METER if own.place.figure in BY_OSCILLOSCOPE else LOW
            ease, hazard = (same.ease, same.hazard) if same else (live, "")
            named = same if same and own is not sought else Probing(kind, at, own, ease, hazard)
            found.setdefault(key_of(own), _as_value(named))
    return list(found.values())
