"""What the reading helper of a page works on: a table of what every failure makes the meter show at every place.

    helper_data(device, meter, judgement)     # plain data, {} where nothing can be measured

The page's scripts (failures.js, likelihoods.js) weigh readings with the same likelihood as the build; they do no physics. For
each place the table has what the sound device shows and how it scatters along the device's tolerance axes; for each failure,
at a few sizes where it has one, only what differs from that, in steps far below what a meter tells apart.

Format. places: the note's own first, then [{kind, at, called?, when, how, unit, mean, own, axes: [axis, half a band, ...], step,
cells, ease, hazard?, ripple?, ac_at?, turned?}]; mean null for OL; own: standard deviation of what has no axis; step: the unit
in which differences are counted; cells: what differs (packing.py): from
the sound device, or, for a fine size, from what the two beside it say; ac_at: number of the place that AC volts belong to;
turned: with a minus sign it is the part's own first end that was held to.
failures: {block, key, part, failed, mode, weight: a list each, one entry for each failure; told: a digit for each, ninths of how well it accounts for what the owner complains of; sizes: a list for each, [null] where
it has no size; fine: further sizes, of which the table knows only the note's own places, knots: of which failures the last of these is but
where it fits, no size of its grid; found: the numbers of those that the
author found; with: {number: {block, key, part, failed, mode}}, what failed besides; asked: {number: [place]}, what counts
only where one of these was read}, by columns, for a column compresses to half. One whose mode is none is a held button.
Rows of cells: the sizes of all failures in their order, then the fine ones. unseen: the weight of all that shows nowhere.
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from generator.circuit.network.element import NoOperatingPoint
from generator.diagnosis import evidence, hypotheses, inference, packing
from generator.diagnosis.complaints import Account, account_of
from generator.diagnosis.consequences import consequences, spared
from generator.diagnosis.evidence import Array
from generator.diagnosis.hypotheses import HEALTH, HEALTH_WEIGHT, Change, between, by_failure, sizes_of
from generator.diagnosis.judging import TOLD_FROM, TOLD_TIMES, Judgement, outright
from generator.diagnosis.naming import failed_name, part_name
from generator.diagnosis.offered import affordable, offered
from generator.diagnosis.predictions import Predictor
from generator.diagnosis.probing import BEGINNING, METER, OTHER, Probing, key_of, meter_spread
from generator.diagnosis.scattering import LEAST_SCATTER, Scattering, scattering
from generator.diagnosis.spots import cold_name, spot_name
from generator.diagnosis.suspects import held_buttons, one_of_a_bridge, suspects
from generator.diagnosis.taking import FORWARD, alternating_at, definition_of, drops, leaking
from generator.notation.reading import Meter, table

if TYPE_CHECKING:
    from generator.circuit.device import Device

MOST_SIZED = 1000  # failures of one device, beyond which each has but one size in the table
LEAST_AXIS = 0.05  # of the largest: a smaller one counts as the place's own scatter
MOST_FITTED = 12  # of the likeliest failures by the note's own readings, the size that fits is in the table
# of the likeliest by the note's own readings, those that are no single failure are in the table
MOST_OUTRIGHT = 6


def helper_data(
    device: Device | None, meter: Meter | None = None, judgement: Judgement | None = None,
    found: Sequence[tuple[str, str]] = (), complaints: Sequence[str] = (),
) -> dict[str, Any]:  # fmt: skip
    """The table as plain data; {} where nothing can be measured or worked out.

    judgement: of the note's own readings, whose places, sizes and pairs are then in the table. found: (designator, failed)
    of what the author found. complaints: what the owner complains of, as complaints.py has it.
    """
    if device is None:
        return {}
    try:
        places, ours = offered(device, judgement)
        if not places:
            return {}
        account = account_of(device, complaints)
        return _table(device, meter or Meter(), places, ours, judgement, found, account)
    except NoOperatingPoint:
        return {}


@dataclass(frozen=True)
class _Group:
    """A failure with its sizes. weight: of all of them; fine: sizes of which only the note's own places are known; knot: the
    last of them is no size of the grid; asked: the numbers of the places of which one has to be read for it to
    count."""

    coarse: list[Change]
    weight: float
    fine: list[Change] = field(default_factory=list)
    knot: bool = False
    asked: list[int] | None = None


def _groups(device: Device, judgement: Judgement | None, places: Sequence[Probing]) -> list[_Group]:
    """Every failure with a few of its sizes, in order; the shorts that blow a fuse, the pairs that the readings speak for, the
    single diodes of a bridge."""
    ends = [frozenset((own.sought.place.plus, own.sought.place.minus)) for own in places]
    cold = [n for n, own in enumerate(places) if own.how in ("ohms", "diode")]
    alone = one_of_a_bridge(
        device, [(places[n].sought.place.plus, places[n].sought.place.minus) for n in cold]
    )
    single = consequences(device, [*suspects(device), *alone])
    groups, alone = by_failure(spared(suspects(device), single)), spared(alone, single)
    fits = judgement.fits if judgement else []
    sized = [fit.change for fit in fits if fit.change.size is not None][:MOST_FITTED]
    fitting = {change.group: change for change in sized}
    beside: dict[tuple[str, ...], list[Change]] = {}  # of a rail all ohms together
    for held in held_buttons(device):
        beside.setdefault(held.pressed[: 1 if held.size else 2], []).append(held)
    found = [_Group(own, sum(held.weight for held in own)) for own in beside.values()]
    for group, own in groups.items():
        few, fine = _sized(own, len(groups) > MOST_SIZED)
        its = fitting.get(group)
        knot = [its] if its and all(its.size != change.size for change in [*few, *fine]) else []
        weight = sum(change.weight for change in own)
        found.append(_Group(few, weight, [*fine, *knot] if judgement else [], bool(knot)))
    nets = {own.element: {*device.elements[own.element].nets} for own in alone}
    asked = {element: [n for n in cold if ends[n] == own] for element, own in nets.items()}
    single += outright(judgement, MOST_OUTRIGHT) if judgement else []
    for sizes in [*by_failure(alone).values(), *([own] for own in single)]:
        weight = sum(change.weight for change in sizes)
        found.append(_Group(sizes[:1], weight, asked=asked.get(sizes[0].element)))
    # where two are as likely, theirs holds
    order = {fit.change.group: n for n, fit in enumerate(fits[:MOST_FITTED])}
    return sorted(found, key=lambda own: order.get(own.coarse[0].group, MOST_FITTED))


def _sized(sizes: list[Change], one: bool) -> tuple[list[Change], list[Change]]:
    """A few sizes of a failure (or only one), and the rest of its grid."""
    own = sorted(sizes, key=lambda change: change.size or 0.0)
    grid = tuple(size for size in sizes_of(own[0].part_class, own[0].mode) if size is not None)
    if len(own) == 1 < len(grid):  # all that is possible of it: as closely as where one fits
        near = between(own[0].size or grid[0], grid, inference.STEPS)
        return own, [
            replace(own[0], size=size) for size in near if not math.isclose(size, own[0].size or 0.0)
        ]
    few = own if len(own) < 4 else [*own[:-1:2], own[-1]]
    if one:
        few = [own[len(own) // 2]]
    elif own[0].mode == "bridge" and len(few) > 2:
        few = few[::2]
    return few, [change for change in own if change not in few]


def _table(
    device: Device, meter: Meter, places: Sequence[Probing], ours: int, judgement: Judgement | None,
    found: Sequence[tuple[str, str]], account: Account,
) -> dict[str, Any]:  # fmt: skip
    groups = _groups(device, judgement, places)
    coarse = [HEALTH, *(change for group in groups for change in group.coarse)]
    fine = [change for group in groups for change in group.fine]
    known = _scattering(device, meter, places[:ours], [*coarse, *fine])
    others = _scattering(device, meter, places, coarse).at(range(ours, len(places)))  # axes are counted alike
    own = [n for n in range(ours) if not np.isnan(known.mean[0, n])]
    known = known.at(own)
    near, far = packing.differing(known), packing.differing(others)
    spans: list[tuple[_Group, range, range]] = []  # its rows, coarse and fine
    row, further = 1, len(coarse)
    for group in groups:
        its, more = range(row, row + len(group.coarse)), range(further, further + len(group.fine))
        row, further = its.stop, more.stop
        if not near[[*its, *more]].any():
            group, more = replace(group, fine=[], knot=False), range(0)
        for number, change in zip(more, group.fine):
            near[number] = ~_foretold(known, number, change, its, group.coarse)
        spans.append((group, its, more))
    kept = affordable(
        device, places[ours:], np.where(np.isnan(others.mean[0]), np.nan, far.sum(0)), int(near.sum())
    )
    others, far = others.at(kept), far[:, kept]
    numbers = [*own, *(ours + n for n in kept)]

    def shows(group: _Group, its: range, more: range) -> bool:
        if group.asked is not None:
            return bool({*numbers} & {*group.asked})
        return bool(near[[*its, *more]].any() or far[its.start : its.stop].any())

    shown = [span for span in spans if shows(*span)]
    if not shown:
        return {}
    rows = [n for _group, its, _more in shown for n in its]
    finer = [n for _group, _its, more in shown for n in more]
    unseen = sum(group.weight for group, _, _ in spans if group.asked is None)
    unseen -= sum(group.weight for group, _, _ in shown if group.asked is None)
    cells = packing.packed(known, near, [*rows, *finer]) + packing.packed(others, far, rows)
    told = [_Seen(known, n) for n in range(len(own))] + [_Seen(others, n) for n in range(len(kept))]
    return {
        "places": _places(device, [places[n] for n in numbers], told, cells),
        "failures": _failures([group for group, _, _ in shown], found, numbers, account),
        "first": {"state": account.state, "health": account.health},
        "unseen": float(f"{unseen:.3g}"),
        "meter": {"share": meter.share, "counts": meter.counts},
        "reading": table({places[n].sought.unit for n in numbers}),
        "rule": rule(),
        "one": len(device.states) == 1,
        "cold": cold_name(device),
    }


def _foretold(
    seen: Scattering, row: int, change: Change, rows: range, sizes: Sequence[Change]
) -> NDArray[np.bool_]:
    """(places): whether the sizes about it say what it does there."""
    logs = [math.log(own.size or 1.0) for own in sizes]
    log = math.log(change.size or 1.0)
    behind = min(max(bisect.bisect_left(logs, log), 1), len(logs) - 1)
    before = max(behind - 1, 0)
    part = max((log - logs[before]) / (logs[behind] - logs[before]), 0.0) if behind else 0.0
    return packing.foretold(seen, row, rows[before], rows[behind], part)


def rule() -> dict[str, Any]:
    """The numbers by which a script weighs readings as evidence.py does, and reads the table."""
    return packing.rule() | {
        "meter": {unit: list(own) for unit, own in METER.items()}, "other": list(OTHER),
        "health": HEALTH_WEIGHT, "beyond": inference.SOMETHING_ELSE, "wrong": evidence.WRONG, "slips": list(evidence.SLIPS.items()),
        "range": [evidence.TIMES_DUE, evidence.LEAST_RANGE, evidence.ON_THE_RANGE], "driven": [evidence.LEAST_BESIDE, FORWARD],
        "logged": [evidence.LEAST_LOGGED, evidence.WIDE, evidence.MOST_WIDE], "told": [TOLD_FROM, TOLD_TIMES], "anything": evidence.ANYTHING, "decades": evidence.ANY_DECADES, "never": evidence.NEVER, "unsure": evidence.UNSURE,
        "undrawn": evidence.UNDRAWN, "trapezoid": evidence.TRAPEZOID, "leak": evidence.STRAY_LEAK, "most_leak": evidence.MOST_LEAK, "own": evidence.LEAST_OWN, "floors": evidence.FLOORS, "zero": evidence.ZERO_SIZE,
        "shorted": hypotheses.SHORTED, "beginning": list(BEGINNING), "dim": evidence.DIM, "steps": inference.STEPS, "refined": inference.REFINED, "worth": inference.WORTH_REFINING,
    }  # fmt: skip


def _scattering(
    device: Device, meter: Meter, places: Sequence[Probing], changes: Sequence[Change]
) -> Scattering:
    return scattering(Predictor(device, [own.sought for own in places], meter.input), changes, _step)


def _step(mean: float, unit: str) -> float:
    """Half of what a meter tells apart, to two digits; where it shows OL, of what is no short."""
    return float(f"{(meter_spread(np.array(mean), unit) / 2) if math.isfinite(mean) else 10.0:.2g}")


@dataclass(frozen=True)
class _Seen:
    """What the sound device shows at a place, and half a band along each axis."""

    all: Scattering
    number: int

    @property
    def mean(self) -> float:
        return float(self.all.mean[0, self.number])

    @property
    def step(self) -> float:
        return float(self.all.step[self.number])

    @property
    def along(self) -> Array:
        found: Array = self.all.along[self.number, :-1]
        return found

    @property
    def own(self) -> float:
        return float(self.all.along[self.number, -1])

    @property
    def axes(self) -> list[int]:
        """Those that count."""
        most = max(float(np.abs(self.along).max(initial=0.0)), abs(self.own))
        return [a for a, shift in enumerate(self.along.tolist()) if abs(shift) > LEAST_AXIS * most]


def _places(
    device: Device, places: Sequence[Probing], seen: Sequence[_Seen], cells: Sequence[str]
) -> list[dict[str, Any]]:
    axes = {axis: n for n, axis in enumerate(sorted({axis for own in seen for axis in own.axes}))}
    keys = {own.key: n for n, own in enumerate(places)}
    found = []
    for own, its, text in zip(places, seen, cells):
        entry = _place(device, own, its, axes)
        direct = own.sought.how == "volts" and not own.sought.place.ac
        there = alternating_at(device, own.sought) if direct else None
        if there is not None and key_of(there) in keys:
            entry["ac_at"] = keys[key_of(there)]
        found.append({**entry, "cells": text})
    return found


def _place(device: Device, own: Probing, seen: _Seen, axes: dict[int, int]) -> dict[str, Any]:
    place, state = own.sought.place, own.sought.state
    entry: dict[str, Any] = {
        "kind": own.kind, "at": list(own.at), "how": own.how, "unit": own.sought.unit,
        "mean": None if math.isinf(seen.mean) else float(f"{seen.mean:.5g}"), "step": seen.step, "ease": own.ease,
        "axes": [number for a in seen.axes for number in (axes[a], float(f"{seen.along[a]:.2g}"))],
    }  # fmt: skip
    called = [spot_name(device, name) for name in own.at]
    if called != entry["at"]:
        entry["called"] = called
    if state:
        entry["when"] = state
    left = np.delete(seen.along, seen.axes)
    rest = math.sqrt((float(left @ left) + seen.own**2) / evidence.TRAPEZOID)
    if rest > LEAST_SCATTER * seen.step:
        entry["own"] = float(f"{rest:.2g}")
    opens, behind = leaking(device, own.sought)
    if opens < evidence.STRAY_LEAK:
        entry |= {"opens": opens} | ({"behind": float(f"{behind:.4g}")} if behind else {})
    if drops(device, own.sought):
        entry["drops"] = True
    if own.hazard:
        entry["hazard"] = own.hazard
    definition = definition_of(device, place)
    if definition and definition.wave:
        entry["wave"] = definition.wave
    if own.sought.how == "rail" and place.figure == "ripple":
        entry["ripple"] = True
    elif place.ac:
        entry["ac"] = True
    if own.kind == "across" and (place.either or device.place_across(own.at).plus != place.plus):
        entry["turned"] = True
    return entry


def _failures(
    groups: Sequence[_Group], found: Sequence[tuple[str, str]], numbers: Sequence[int], account: Account
) -> dict[str, Any]:
    """What the failures are, by columns."""
    first = [_failure(group.coarse[0]) for group in groups]
    besides = {n: also for n, own in enumerate(groups) if (also := own.coarse[0].also)}
    return {
        **{name: [own[name] for own in first] for name in first[0]},
        "weight": [float(f"{group.weight:.3g}") for group in groups],
        "told": "".join(str(round(9 * account.shares.get(own.coarse[0].group, 1.0))) for own in groups),
        "sizes": [_sizes(group.coarse) for group in groups],
        "fine": [_sizes(group.fine) for group in groups],
        "knots": [n for n, group in enumerate(groups) if group.knot],
        "found": [n for n, own in enumerate(groups) if (own.coarse[0].called, own.coarse[0].mode) in found],
        "with": {n: _failure(also) for n, also in besides.items()},
        "asked": {
            n: [numbers.index(place) for place in own.asked if place in numbers]
            for n, own in enumerate(groups)
            if own.asked
        },
    }


def _failure(change: Change) -> dict[str, str]:
    return {
        "block": change.block, "key": change.element or change.key, "part": part_name(change),
        "failed": failed_name(change), "mode": change.mode,
    }  # fmt: skip


def _sizes(changes: Sequence[Change]) -> list[float | None]:
    return [own.size and float(f"{own.size:.3g}") for own in changes]
