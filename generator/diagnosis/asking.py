"""The choice of the next measurement: what is expected to tell the likeliest failures apart best, for its trouble and danger.

    asked = next_readings(judgement, device, meter)     # best first, [] where nothing would tell more
    [own.entry for own in asked]                        # note.json's `next`
    asked[0].expected                                   # ((Change, share, low, high), ...): what each would make the meter show
    first_readings(device, meter)                       # the same before anything has been read

Both take what a Device and a Judgement have and raise nothing for what a note may hold; without an operating point they
give [].
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.network.element import NoOperatingPoint
from generator.diagnosis.complaints import account_of
from generator.diagnosis.evidence import UNSURE, Array
from generator.diagnosis.hypotheses import HEALTH, Change, by_failure
from generator.diagnosis.predictions import Predictor, Sought
from generator.diagnosis.probing import Probing, key_of, meter_spread, probings
from generator.diagnosis.splitting import expected_gain
from generator.diagnosis.suspects import suspects
from generator.diagnosis.taking import leaking

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.diagnosis.judging import Judgement
    from generator.diagnosis.readings import Meter

WITH_SIZES = 12  # of these, failures that are looked at with more than one size
MOST_COMPARED = 32  # failures that a reading is to tell apart
MOST_FIRST = 40  # failures that are compared before anything has been read
ENOUGH = 0.9  # share of all failures, from which the rest is left aside
MOST_JUNCTIONS = 6  # diode-range places that are looked at: each costs a solution of its own
MOST_LIFTED = 6  # parts of which it is looked at what lifting a leg would tell
MOST_ASKED = 8
LIKELY = 2e-3  # of the likeliest, from which a failure is worth telling apart
HEALTH_SHARE = 0.2  # of what the readings leave to health: somebody has taken the device to a bench
WORTH = 0.02  # bits times ease, below which a reading says nothing
WITHIN_PART = 0.4  # worth of telling two failures of one part apart, beside telling two parts apart
FIRST_HEALTH = 1.0  # weight of "nothing is wrong" where a symptom says otherwise


@dataclass(frozen=True)
class Asked:
    """A reading to take next. gain: bits that it is expected to bring, times its ease.

    expected: for each failure in question, likeliest first, (change, share, low, high) of what the meter would show there,
    in V or ohm; inf for OL, nan where nothing is known.
    """

    probing: Probing
    gain: float
    expected: tuple[tuple[Change, float, float, float], ...]

    @property
    def entry(self) -> dict[str, object]:
        """As note.json's `next` has it."""
        return self.probing.entry

    @property
    def unit(self) -> str:
        """V or ohm."""
        return self.probing.sought.unit


@dataclass(frozen=True)
class Candidate:
    """A failure that may be told apart: its share, and the sizes at which it is predicted (one where it has none)."""

    change: Change
    share: float
    sizes: tuple[Change, ...]


def next_readings(
    judgement: Judgement, device: Device, meter: Meter, complaints: Sequence[str] = ()
) -> list[Asked]:
    """What to measure next, best first; nothing where no reading would tell the failures left apart. complaints: as
    first_readings has them."""
    if judgement.ranking is None or not judgement.fits:
        return first_readings(device, meter, complaints)
    taken = [judged.taken.sought for judged in judgement.fitted]
    return choose(device, candidates_of(judgement), [own for own in taken if own is not None], meter.input)


def first_readings(device: Device, meter: Meter, complaints: Sequence[str] = ()) -> list[Asked]:
    """The best first measurements of a device that does not work, from what fails most often and what its owner complains of.
    complaints: symptoms by their names (complaints.py)."""
    account = account_of(device, complaints)
    found = [
        (sum(change.weight for change in own) * account.shares.get(group, 1.0), own[len(own) // 2])
        for group, own in by_failure(suspects(device)).items()
    ]
    likely = sorted(found, key=lambda own: -own[0])[:MOST_FIRST]
    health = Candidate(HEALTH, FIRST_HEALTH * account.health, (HEALTH,))
    candidates = [health, *(Candidate(change, share, (change,)) for share, change in likely)]
    return choose(device, candidates, [], meter.input, account.state)


def candidates_of(judgement: Judgement) -> list[Candidate]:
    """The likeliest failures of a judgement, pairs among them, each at the ends of the sizes that fit."""
    reach = {own.change.group: own.reach for own in judgement.ranking.weighed} if judgement.ranking else {}
    faults = sorted((fit for fit in judgement.fits if not fit.sound), key=lambda fit: -fit.share)
    total, seen = sum(fit.share for fit in faults), 0.0
    found = [
        Candidate(fit.change, max(HEALTH_SHARE * fit.share, 1e-6), (fit.change,))
        for fit in judgement.fits
        if fit.sound
    ]
    for number, fit in enumerate(faults[:MOST_COMPARED]):
        if fit.share < LIKELY * faults[0].share or seen > ENOUGH * total and number >= WITH_SIZES:
            break
        seen += fit.share
        low, high = reach.get(fit.change.group) or (0.0, 0.0)
        sizes = [fit.change]
        if number < WITH_SIZES and fit.change.also is None and fit.change.size and high > 1.3 * low > 0:
            sizes += [replace(fit.change, size=size) for size in (low, high) if size != fit.change.size]
        found.append(Candidate(fit.change, fit.share, tuple(sizes)))
    return sorted(found, key=lambda own: -own.share)


def choose(
    device: Device, candidates: Sequence[Candidate], taken: Sequence[Sought], meter: float, first: str = ""
) -> list[Asked]:
    """The readings that tell candidates apart, best first. taken: what has been read already; first: the state in which the
    device is looked at first, where nothing has."""
    if len(candidates) < 2:
        return []
    done = {key_of(own) for own in taken}
    called = list(dict.fromkeys(change.called for own in candidates for change in _each(own.change)))
    junctions, lifted = called[:MOST_JUNCTIONS], called[:MOST_LIFTED]
    try:
        places = [own for own in probings(device, None, junctions, lifted) if own.key not in done]
        if not places:
            return []
        mean, spread, shown = _predicted(device, candidates, places, meter)
    except NoOperatingPoint:
        return []
    leak = np.array([leaking(device, own.sought)[0] for own in places])
    gain = gains(candidates, mean, spread, leak) * np.array(
        [own.ease_at_first(first) if first else own.ease for own in places]
    )
    order = [int(n) for n in np.argsort(-gain, kind="stable") if gain[n] > WORTH][:MOST_ASKED]
    return [
        Asked(
            places[n], float(gain[n]), _expected(candidates, mean[:, n], shown[:, n], places[n].how == "ohms")
        )
        for n in order
    ]


def _each(change: Change) -> list[Change]:
    return [change] if change.also is None else [change, change.also]


def _predicted(
    device: Device, candidates: Sequence[Candidate], places: Sequence[Probing], meter: float
) -> tuple[Array, Array, Array]:
    """What the meter shows, a row for every size of every candidate: mean, standard deviation with how little a model is
    known far from sound, and without (rows, places)."""
    predictor = Predictor(device, [own.sought for own in places], meter)
    told = predictor.tell([HEALTH, *(size for own in candidates for size in own.sizes)])
    mean = np.where(told.known, told.mean, np.nan)
    finite = np.isfinite(mean) & np.isfinite(mean[0])
    moved = UNSURE * np.abs(np.where(finite, mean, 0.0) - np.where(finite, mean[0], 0.0))
    own = np.stack([meter_spread(mean[:, n], place.sought.unit) for n, place in enumerate(places)], 1)
    variance = told.variance + own**2
    return mean[1:], np.sqrt(variance + moved**2)[1:], np.sqrt(variance)[1:]


def gains(candidates: Sequence[Candidate], mean: Array, spread: Array, leak: Array | float = np.inf) -> Array:
    """Bits that a reading at each place is expected to bring: which part it is counts most, how it failed less. leak: as
    expected_gain has it."""
    rows = [n for n, own in enumerate(candidates) for _ in own.sizes]
    share = np.array([candidates[n].share / len(candidates[n].sizes) for n in rows])
    failure = np.array(rows)[:, None] == np.array(rows)[None, :]
    parts = [_part(candidates[n].change) for n in rows]
    part = np.array([[one == other for other in parts] for one in parts]) | failure
    found: Array = (1 - WITHIN_PART) * expected_gain(share, mean, spread, part, leak)
    return found + WITHIN_PART * expected_gain(share, mean, spread, failure, leak)


def _part(change: Change) -> tuple[str, ...]:
    own = (change.block, change.element or change.key)
    return own if change.also is None else (*own, *_part(change.also))


def _expected(
    candidates: Sequence[Candidate], mean: Array, spread: Array, ohms: bool
) -> tuple[tuple[Change, float, float, float], ...]:
    """What each candidate would make the meter show at one place, over all its sizes. ohms: nothing below 0."""
    found, row = [], 0
    for own in candidates:
        rows = slice(row, row + len(own.sizes))
        row += len(own.sizes)
        seen, half = mean[rows], 2 * spread[rows]
        if np.isnan(seen).all():
            found.append((own.change, own.share, math.nan, math.nan))
            continue
        low, high = float(np.nanmin(seen - half)), float(np.nanmax(seen + half))
        low = max(low, 0.0) if ohms or np.nanmin(seen) >= 0 else low
        found.append((own.change, own.share, low, high))
    return tuple(found)
