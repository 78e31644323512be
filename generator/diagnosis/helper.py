"""What the reading helper of a page works on: a table of what every failure makes the meter show at every place.

    helper_data(device, meter, judgement)     # plain data, {} where nothing can be measured

The page's script (likelihoods.js) weighs readings with the same likelihood as the build; it does no physics. For each place
the table has what the sound device shows and how it scatters along the device's tolerance axes; for each failure, at a few
sizes where it has one, only what differs from that, in steps far below what a meter tells apart.

Format. places: [{kind, at, called?, when, how, unit, mean, own, axes: [axis, half a band, ...], ease, hazard?, ripple?}]; mean null
for OL; own: standard deviation of what has no axis; step: the unit in which differences are counted.
failures: {block, key, part, failed, mode, weight: a list each, one entry for each failure; sizes: a list for each, [null] where
it has no size; found: the numbers of those that the author found}, by columns, for a column compresses to half.
rows: the cells of every size of every failure, a line each. cells: for every place that differs one after another, five characters of ALPHABET: how many places are skipped, two for the
difference, one for the scatter, one for how much of it goes with that of the sound device. A difference of n: sign(n) · step ·
(e^(|n| · GRAIN) − 1); OPEN and UNKNOWN stand for OL and for nothing known, NOUGHT for 0, of
which there is no doubt. Scatter of n: e^((n − SAME) · WIDER) times that of
the sound device, which counts as LEAST_SCATTER steps at least. Common share of n: (n − WHOLLY) / WHOLLY.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from generator.circuit.network.element import NoOperatingPoint
from generator.diagnosis import evidence, inference
from generator.diagnosis.evidence import Array
from generator.diagnosis.hypotheses import HEALTH, HEALTH_WEIGHT, Change, by_failure
from generator.diagnosis.predictions import Predictor, Sought
from generator.diagnosis.probing import (
    COLD,
    LOW,
    MAINS,
    METER,
    OTHER,
    Probing,
    key_of,
    meter_spread,
    probings,
)
from generator.diagnosis.scattering import LEAST_SCATTER, scattering
from generator.diagnosis.spots import cold_name, spot_name
from generator.diagnosis.suspects import suspects
from generator.diagnosis.words import failed_name
from generator.language import _
from generator.notation.reading import Meter, table

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.diagnosis.judging import Judgement

ALPHABET = "".join(
    chr(c) for c in range(0x21, 0x7F) if chr(c) not in "&<>'\"\\"
)  # what HTML and JSON leave as it is
GRAIN = 0.03  # a difference is kept to this share: below UNSURE, by which no model is exact
MIDDLE = len(ALPHABET) ** 2 // 2
NONE_LEFT = 1e-4  # of what the sound device shows: what shows less shows nothing
MOST_SIZED = 1000  # failures of one device, beyond which each has but one size in the table
OPEN, UNKNOWN, NOUGHT = MIDDLE * 2 - 1, MIDDLE * 2 - 2, MIDDLE * 2 - 3
MOST_CELLS = 4100  # differences from sound; some 2 bytes of each are left when compressed
WIDER, SAME = 0.3, 44  # e^0.3: a third
WHOLLY = 6
LEAST_AXIS = 0.05  # of the largest: a smaller one counts as the place's own scatter
MOST_PLACES, MOST_STATES, MOST_JUNCTIONS = 90, 2, 6
WITH_ALL_SIZES = 12  # of the likeliest failures by the note's own readings, all sizes are in the table
MISSED = 0.4  # of a step: moved by less, a place is as in the sound device
# times as gladly: an oscilloscope at the mains, or a power meter and two readings; from memory
NO_METER = 0.2


def helper_data(
    device: Device | None,
    meter: Meter | None = None,
    judgement: Judgement | None = None,
    found: Sequence[tuple[str, str]] = (),
) -> dict[str, Any]:
    """The table as plain data; {} where nothing can be measured or worked out.

    judgement: of the note's own readings, whose places and likeliest sizes are then in the table. found: (designator,
    failed) of what the author found.
    """
    meter = meter or Meter()
    if device is None:
        return {}
    try:
        places, ours = _places(device, judgement)
        groups = _groups(device, judgement)
        if not places or not groups:
            return {}
        return _table(device, meter, places, groups, found, ours)
    except NoOperatingPoint:
        return {}


def _places(device: Device, judgement: Judgement | None) -> tuple[list[Probing], int]:
    """Where people measure: the places of the note's readings (and how many they are), then all others, the easiest first."""
    states = [state.name for state in device.states][:MOST_STATES]
    named = [e.called for e in device.elements.values() if e.called]
    found = probings(device, states=states, junctions=named)
    junctions = [own for own in found if own.how == "diode"][MOST_JUNCTIONS:]
    kept = [_as_value(own) for own in found if own not in junctions] or _by_formulas(device)
    ours = _of_readings(judgement, kept)
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


def _affordable(numbers: Sequence[int], places: Sequence[Probing], changed: Array, ours: int) -> list[int]:
    """The places that the table has room for, in their order: the note's own, nets in the first state, what is read with
    the plug out, nets in the second state, then what takes finding a part of a live board."""
    rank = {"at": 1, "diode": 2, "ohms": 3, "across": 5}
    first = next((own.sought.state for own in places[ours:] if own.sought.state), "")

    def later(own: Probing) -> int:
        return rank[own.kind] + (3 if own.kind == "at" and own.sought.state not in ("", first) else 0)

    room, kept = MOST_CELLS, []
    for n in sorted(numbers, key=lambda n: (n >= ours and later(places[n]), n)):
        room -= int(changed[n])
        if room > 0 or n < ours:
            kept.append(n)
    return sorted(kept)


def _of_readings(judgement: Judgement | None, known: Sequence[Probing]) -> list[Probing]:
    """The places of a note's readings as the note names them."""
    by_key = {own.key: own for own in known}
    found: dict[tuple[object, ...], Probing] = {}
    for judged in judgement.fitted if judgement else ():
        reading, sought = judged.reading, judged.taken.sought
        if sought is None:
            continue
        kind, at = "at", tuple([reading.at or f"{reading.block}.{reading.value}"])
        for other, places in (
            ("across", reading.across),
            ("ohms", reading.ohms),
            ("diode", reading.diode),
        ):
            if any(places):
                kind, at = other, tuple(places)
        same = by_key.get(key_of(sought))
        ease, hazard = (same.ease, same.hazard) if same else (MAINS if sought.place.ac else LOW, "")
        found.setdefault(key_of(sought), _as_value(Probing(kind, at, sought, ease, hazard)))
    return list(found.values())


def _groups(device: Device, judgement: Judgement | None) -> list[list[Change]]:
    """Every failure with a few of its sizes, in order; weights already shared among them."""
    groups = by_failure(suspects(device))
    fits = (
        sorted((fit for fit in judgement.fits if not fit.sound), key=lambda fit: -fit.share)
        if judgement
        else []
    )
    likely = {fit.change.group: fit.change for fit in fits[:WITH_ALL_SIZES] if fit.change.also is None}
    found = []
    for group, own in groups.items():
        weight = sum(change.weight for change in own)
        if own[0].size is None:
            found.append([replace(own[0], weight=weight)])
            continue
        ordered = sorted(own, key=lambda change: change.size or 0.0)
        few = ordered if len(ordered) < 4 else [*ordered[:-1:2], ordered[-1]]
        if len(groups) > MOST_SIZED:
            few = [ordered[len(ordered) // 2]]
        elif own[0].mode == "bridge":
            few = few[::2] if len(few) > 2 else few
        if group in likely:
            fitting = [likely[group]] if likely[group].size not in [change.size for change in own] else []
            few = sorted([*ordered, *fitting], key=lambda change: change.size or 0.0)
        found.append([replace(change, weight=weight) for change in few])
    return found


def _table(
    device: Device,
    meter: Meter,
    places: Sequence[Probing],
    groups: Sequence[Sequence[Change]],
    found: Sequence[tuple[str, str]],
    ours: int,
) -> dict[str, Any]:
    changes = [HEALTH, *(change for group in groups for change in group)]
    seen = scattering(Predictor(device, [own.sought for own in places], meter.input), changes, _step)
    mean, axes = seen.mean, len(device.axes)
    moved = np.abs(np.where(np.isfinite(mean), mean, 1e9) - np.where(np.isfinite(mean[0]), mean[0], 1e9))
    changed = (moved > 0.003 * np.abs(np.where(np.isfinite(mean[0]), mean[0], 1e9)) + 0.003).sum(0)
    keep = _affordable([n for n in range(len(places)) if not np.isnan(mean[0, n])], places, changed, ours)
    places, mean, spread = [places[n] for n in keep], mean[:, keep], seen.spread[:, keep]
    step, shift, own_shift = seen.step[keep], seen.along[keep, :-1], seen.along[keep, -1]
    most = np.maximum(np.abs(shift).max(1, initial=0.0), np.abs(own_shift))
    used = [a for a in range(axes) if (np.abs(shift[:, a]) > LEAST_AXIS * most).any()]
    rows = _cells(mean, spread, step, seen.together[:, keep])
    kept, lines, row = [], [], 0
    for group in groups:
        own = rows[row : row + len(group)]
        row += len(group)
        if any(own):
            kept.append(group)
            lines += own
    return {
        "places": [
            _place(device, own, mean[0, n], shift[n], float(own_shift[n]), used, step[n])
            for n, own in enumerate(places)
        ],
        "failures": _failures(kept, found),
        "rows": "\n".join(lines),
        "meter": {"share": meter.share, "counts": meter.counts},
        "reading": table({own.sought.unit for own in places}),
        "rule": rule(),
        "one": len(device.states) == 1,
        "cold": cold_name(device),
    }


def _step(mean: float, unit: str) -> float:
    """Half of what a meter tells apart, to two digits; where it shows OL, of what is no short."""
    return float(f"{(meter_spread(np.array(mean), unit) / 2) if math.isfinite(mean) else 10.0:.2g}")


def rule() -> dict[str, Any]:
    """The numbers by which a script weighs readings as evidence.py does, and reads the table."""
    return {
        "alphabet": ALPHABET, "grain": GRAIN, "open": OPEN, "unknown": UNKNOWN, "nought": NOUGHT, "wider": WIDER, "same": SAME,
        "meter": {unit: list(own) for unit, own in METER.items()}, "other": list(OTHER), "wholly": WHOLLY, "scatter": LEAST_SCATTER,
        "health": HEALTH_WEIGHT, "beyond": inference.SOMETHING_ELSE, "wrong": evidence.WRONG, "decade": evidence.DECADE,
        "anything": evidence.ANYTHING, "decades": evidence.ANY_DECADES, "never": evidence.NEVER, "unsure": evidence.UNSURE,
        "undrawn": evidence.UNDRAWN, "rectangle": evidence.RECTANGLE, "leak": evidence.STRAY_LEAK, "floors": evidence.FLOORS, "zero": evidence.ZERO_SIZE,
    }  # fmt: skip


def _place(
    device: Device,
    own: Probing,
    mean: float,
    shift: Array,
    alone: float,
    used: Sequence[int],
    step: float,
) -> dict[str, Any]:
    most = max(float(np.abs(shift).max(initial=0.0)), abs(alone))
    along = [a for a in used if abs(shift[a]) > LEAST_AXIS * most]
    left = np.delete(shift, along)
    rest = math.sqrt((float(left @ left) + alone**2) / evidence.RECTANGLE)
    entry: dict[str, Any] = {
        "kind": own.kind, "at": list(own.at), "how": own.how, "unit": own.sought.unit,
        "mean": None if math.isinf(mean) else float(f"{mean:.5g}"), "step": float(step), "ease": own.ease,
        "axes": [number for a in along for number in (used.index(a), float(f"{shift[a]:.2g}"))],
    }  # fmt: skip
    called = [spot_name(device, name) for name in own.at]
    if called != entry["at"]:
        entry["called"] = called
    if own.sought.state:
        entry["when"] = own.sought.state
    if rest > LEAST_SCATTER * step:
        entry["own"] = float(f"{rest:.2g}")
    if own.hazard:
        entry["hazard"] = own.hazard
    if own.sought.how == "rail" and own.sought.place.figure == "ripple":
        entry["ripple"] = True
    elif own.sought.place.ac:
        entry["ac"] = True
    return entry


def _failures(groups: Sequence[Sequence[Change]], found: Sequence[tuple[str, str]]) -> dict[str, list[Any]]:
    """What the failures are, by columns."""
    first = [group[0] for group in groups]
    bridge = f" {_('and')} "
    return {
        "block": [own.block for own in first],
        "key": [own.element or own.key for own in first],
        "part": [_(own.called).replace(" ~ ", bridge) for own in first],
        "failed": [failed_name(own) for own in first],
        "mode": [own.mode for own in first],
        "weight": [float(f"{own.weight:.3g}") for own in first],
        "sizes": [[own.size and float(f"{own.size:.3g}") for own in group] for group in groups],
        "found": [n for n, own in enumerate(first) if (own.called, own.mode) in found],
    }


def _cells(mean: Array, spread: Array, step: Array, together: Array) -> list[str]:
    """Each row (but the first, the sound device) as text: what differs, and how much."""
    sound = np.where(np.isinf(mean[0]), 0.0, mean[0])
    finite = np.isfinite(mean)
    gap = np.where(finite, mean, 0.0) - sound
    size = np.rint(np.log1p(np.abs(gap) / step) / GRAIN)
    code = np.sign(gap) * np.minimum(size, MIDDLE - 4) + MIDDLE - 2
    code = np.where(finite & (np.abs(mean) < NONE_LEFT * np.abs(sound)), NOUGHT, code)
    code = np.where(np.isinf(mean), OPEN, np.where(np.isnan(mean), UNKNOWN, code)).astype(int)
    wide = np.maximum(np.where(finite, spread, 0.0), LEAST_SCATTER * step)
    ratio = np.clip(np.log(wide / wide[0]), -12.9, 12.9)
    wider = np.where(finite, np.rint(ratio / WIDER), 0).astype(int) + SAME
    common = np.rint(np.where(finite, together, 0.0) * WHOLLY).astype(int) + WHOLLY
    alike = np.where(
        np.isinf(mean[0]), np.isinf(mean), finite & (np.abs(gap) < MISSED * step) & (abs(ratio) < 1.5 * WIDER)
    )
    found = []
    for row in range(1, len(mean)):
        text, last = [], -1
        for n in np.flatnonzero(~alike[row]):
            skipped = int(n) - last - 1
            while skipped >= len(ALPHABET) - 1:
                text.append(ALPHABET[-1])
                skipped -= len(ALPHABET) - 1
            high, low = divmod(int(code[row, n]), len(ALPHABET))
            text.append(
                ALPHABET[skipped]
                + ALPHABET[high]
                + ALPHABET[low]
                + ALPHABET[int(wider[row, n])]
                + ALPHABET[int(common[row, n])]
            )
            last = int(n)
        found.append("".join(text))
    return found
