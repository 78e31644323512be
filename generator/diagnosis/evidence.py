"""How likely readings are under many hypotheses at once: one likelihood for the list, the sentence, the data and the page.

All readings of a device are one vector. Under a hypothesis it scatters about a mean with the spread of every part (kept
along its axis, so that one low mains lowers everything together) and with the meter. On top of that any one reading
may be simply wrong: a decade misread, or anything at all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# How often people note a reading that is wrong, and how: common practice, no source.
WRONG = 0.003  # of all readings
# of the wrong ones, times what it should have been: 121 V for 12.1 V, and 101 ohm for 101k, where an m or a k is left out
SLIPS = {10.0: 0.2, 0.1: 0.2, 1e3: 0.12, 1e-3: 0.12}
ANYTHING = 0.36  # of the wrong ones: any figure of ANY_DECADES decades
ANY_DECADES = 6.0
LEAST_OWN = 1e-9  # share of a reading's variance that is its own
ZERO_SIZE = 4.0  # a nought is as likely to be read by mistake as a figure of so many times its interval

# (half a band)² over its variance: a part lies rather near the middle of its band than at its ends, which is a trapezoid whose
# top is β = 0.45 of its base, 6 / (1 + β²). Source: JCGM 100:2008 (GUM), 4.3.9. A rectangle (3) finds fewer faults among whole
# devices, a triangle (6) blames more sound ones whose parts lie anywhere in their bands.
TRAPEZOID = 5.0
# The same of what floats, or of what nobody states, where every value of a range is as likely: a rectangle. Source: as before, 4.3.7.
EVEN = 3.0

NEVER = -60.0  # log-likelihood of a number where the hypothesis predicts an open circuit, and the reverse
UNSURE = 0.05  # of how far a failure moves a reading: far from where parts are specified, no model is exact
UNDRAWN = 0.003  # share of a reading: contact resistance, leakage, whatever no drawing shows
DIM = 1.6  # V on the diode range from which one meter shows a figure and the next OL; from memory, data sheets of meters
# ohm: boards, capacitors and fingers leak as much; common practice, no source
STRAY_LEAK, MOST_LEAK = 1e6, 1e8
# A fuse or a winding is tried on the range that suits it, where OL says no more than above that: from so many times what is
# due, at least so many ohm, in that share of readings (common practice, no source).
TIMES_DUE, LEAST_RANGE, ON_THE_RANGE = 30.0, 2e3, 0.3
LEAST_BESIDE = 0.8  # of ohms read through a diode: what lies beside it has at least so many
# Of a contact's or a triac's drop: V from which it is one, and the share of it that its band has to reach each way, to stand on a
# logarithmic scale; how far at most
LEAST_LOGGED, WIDE, MOST_WIDE = 0.01, 0.5, 0.97
# What moves a reading besides: V by hum and contacts on a live board, ohm by a meter's leads and tips; common practice, no
# source
FLOORS = {"V": 0.003, "ohm": 0.15}


class Figure(NamedTuple):
    """What one reading showed. value: as read, nan where the meter showed no number; spread: half the width of the interval
    that the meter and the rounding leave; open: OL."""

    value: float = math.nan
    spread: float = 0.0
    open: bool = False
    floor: float = 0.0  # what moves a reading besides (FLOORS)
    open_from: float = math.inf  # ohm from which it also fits an open circuit, by leaks that no drawing shows
    diode: bool = False  # on the diode range, which ends somewhere
    least: bool = False  # ohms through a diode that the meter drives: what lies beside it is no less
    decades: bool = False  # across a contact or a triac, which may drop anything within a decade or two
    over: float = math.inf  # ohm from which OL may be shown because the range ended
    behind: float = 0.0  # ohm in series with what leaks where it is open


@dataclass(frozen=True)
class Readings:
    """What R readings showed: each field of their figures as an array (R)."""

    value: Array
    spread: Array
    open: NDArray[np.bool_]
    floor: Array
    open_from: Array
    diode: NDArray[np.bool_]
    least: NDArray[np.bool_]
    decades: NDArray[np.bool_]
    over: Array
    behind: Array

    @classmethod
    def of(cls, figures: Sequence[Figure]) -> Readings:
        """The figures of a list of readings."""
        usual = Figure._field_defaults.items()
        return cls(
            **{name: np.array([getattr(own, name) for own in figures], type(one)) for name, one in usual}
        )

    def some(self, rows: Sequence[int]) -> Readings:
        """Of these readings."""
        return Readings(**{name: own[rows] for name, own in vars(self).items()})


@dataclass(frozen=True)
class Predictions:
    """What H hypotheses predict at R readings, along K axes.

    mean (H, R): inf where the meter would show OL. shift (H, R, K): how far half a tolerance band moves the reading. known
    (H, R): False where a hypothesis says nothing of a reading.
    """

    mean: Array
    shift: Array
    known: NDArray[np.bool_]

    def some(self, rows: Sequence[int]) -> Predictions:
        """Of these hypotheses."""
        own = np.array(rows, dtype=int)
        return Predictions(self.mean[own], self.shift[own], self.known[own])

    def beside(self, more: Predictions) -> Predictions:
        """With further hypotheses, along as many axes."""
        return Predictions(
            np.concatenate([self.mean, more.mean]),
            np.concatenate([self.shift, more.shift]),
            np.concatenate([self.known, more.known]),
        )


@dataclass(frozen=True)
class Evidence:
    """log (H): of the likelihood of all readings. wrong (H, R): the probability, under each hypothesis, that a reading is
    simply wrong. off (H, R): how many standard deviations a reading lies off, inf where it cannot be. distance (H): of all
    readings together, squared, in standard deviations (Mahalanobis); about R where the hypothesis holds."""

    log: Array
    wrong: Array
    off: Array
    distance: Array

    def some(self, rows: Sequence[int]) -> Evidence:
        """Of these hypotheses."""
        own = np.array(rows, dtype=int)
        return Evidence(self.log[own], self.wrong[own], self.off[own], self.distance[own])

    def beside(self, more: Evidence) -> Evidence:
        """With further hypotheses."""
        return Evidence(
            np.concatenate([self.log, more.log]),
            np.concatenate([self.wrong, more.wrong]),
            np.concatenate([self.off, more.off]),
            np.concatenate([self.distance, more.distance]),
        )


def weigh(predicted: Predictions, read: Readings) -> Evidence:
    """The likelihood of the readings under each hypothesis, one of them perhaps wrong.

    With the precision P of the readings' covariance, reading i given all the others is normal about y_i − (P·gap)_i/P_ii with
    variance 1/P_ii, so that every "all but i" costs no further decomposition.
    Source: conditional distributions of the multivariate normal, e.g. C. M. Bishop, Pattern Recognition and Machine
    Learning, 2006, section 2.3.1.
    """
    size, count = predicted.mean.shape
    if not count:
        return Evidence(np.zeros(size), np.zeros((size, 0)), np.zeros((size, 0)), np.zeros(size))
    numeric = np.isfinite(predicted.mean) & ~read.open & ~read.least & predicted.known
    met = without_number(predicted.mean, read)
    matched = ~numeric & (met > -np.inf)
    value = np.where(np.isfinite(read.value), read.value, 0.0)
    mean = np.where(numeric, predicted.mean, value)
    shift = np.where(numeric[..., None], predicted.shift, 0.0)
    logged, scaled, shift = in_decades(mean, shift, value, read.decades & numeric)
    own = own_variance(np.where(logged, value, mean), read)
    mean = scaled
    gap = value - mean
    covariance = np.einsum("hik,hjk->hij", shift, shift) / TRAPEZOID
    index = np.arange(count)
    own = own + LEAST_OWN * np.einsum("hii->hi", covariance)  # two readings of one thing are never quite one
    covariance[:, index, index] += np.maximum(own, 1e-18)
    scale = np.sqrt(covariance[:, index, index])
    precision = np.linalg.inv(covariance / (scale[:, :, None] * scale[:, None, :]))
    gap = gap / scale
    pulled = np.einsum("hij,hj->hi", precision, gap)
    alone = 1 / precision[:, index, index]  # variance of one reading given the others, in its own scale
    _, log_determinant = np.linalg.slogdet(precision)
    # the probability of the interval that was read, not the density: hypotheses with and without numbers compare
    width = np.log(2 * np.maximum(read.spread, 1e-12)) - np.log(scale) - 0.5 * math.log(2 * math.pi)
    distance = np.einsum("hi,hi->h", gap, pulled)
    met = np.where(matched, met, 0.0)
    sound = 0.5 * log_determinant - 0.5 * distance + np.where(numeric, width, met).sum(1)
    # of reading i given the others
    given = -0.5 * (pulled * alone) ** 2 / alone - 0.5 * np.log(alone) + width
    centre = gap - pulled * alone  # where reading i should have been, relative to its mean
    ways = [np.full_like(gap, math.log(WRONG * ANYTHING)) + _anything(read)]
    by_parts = np.maximum(
        alone * scale**2 - own, 0.0
    )  # what is left of the device's own scatter, given the others
    for factor, share in SLIPS.items():
        meant = np.where(logged, value * (1 - math.log(factor)), value / factor)
        moved = (meant - mean) / scale - centre
        narrower = np.where(logged, 0.0, math.log(factor))
        as_meant = replace(read, value=read.value / factor, spread=read.spread / factor)
        variance = np.where(logged, alone, (by_parts + own_variance(mean, as_meant)) / scale**2)
        likely = -0.5 * moved**2 / variance - 0.5 * np.log(variance) + width
        ways.append(math.log(WRONG * share) - narrower + likely)
    instead = np.logaddexp.reduce(np.stack(ways), axis=0)
    open_misses = np.where(~numeric & ~matched, 1.0, 0.0) + np.where(predicted.known, 0.0, 1e3)
    by_mistake = np.where(read.open, -math.log(ANY_DECADES), _anything(read))
    base = sound + NEVER * open_misses.sum(1)
    swapped = base[:, None] + np.where(
        numeric, instead - given, np.where(matched, -np.inf, math.log(WRONG * ANYTHING) + by_mistake - NEVER)
    )
    keep = count * math.log1p(-WRONG)
    total = np.logaddexp(base + keep, np.logaddexp.reduce(swapped, axis=1) + keep)
    wrong = np.exp(np.minimum(swapped + keep - total[:, None], 0.0))
    off = np.where(numeric, np.abs(gap), np.where(matched, 0.0, np.inf))
    return Evidence(total, wrong, off, np.where(open_misses.any(1), np.inf, distance))


def in_decades(
    mean: Array, shift: Array, value: Array, there: NDArray[np.bool_]
) -> tuple[NDArray[np.bool_], Array, Array]:
    """(which, means, shifts) with those of the readings there whose band reaches over more than half of them on a logarithmic scale, on
    which a worn contact lies as likely in each decade; so scaled that a step at the value that was read stays as it is."""
    ratio = shift / np.maximum(np.abs(mean), 1e-9)[..., None]
    logged: NDArray[np.bool_] = (
        there & (value > 0) & (mean > LEAST_LOGGED) & (np.abs(ratio).max(-1, initial=0.0) > WIDE)
    )
    if not logged.any():
        return logged, mean, shift
    ratio = np.where(logged[..., None], np.clip(ratio, -MOST_WIDE, MOST_WIDE), 0.0)
    middle = np.log(np.where(logged, mean, 1.0)) + 0.5 * np.log1p(-(ratio**2)).sum(-1)
    scaled = value * (1 - np.log(np.where(value > 0, value, 1.0)) + middle)
    return (
        logged,
        np.where(logged, scaled, mean),
        np.where(logged[..., None], value[:, None] * np.arctanh(ratio), shift),
    )


def own_variance(mean: Array, read: Readings) -> Array:
    """Of each reading (H, R), by the meter, the rounding and what no drawing shows, apart from the device."""
    value = np.where(np.isfinite(read.value), read.value, 0.0)
    found: Array = (
        read.spread**2 / 3 + read.floor**2 + (UNDRAWN * np.maximum(np.abs(mean), np.abs(value))) ** 2
    )
    return found


def without_number(mean: Array, read: Readings) -> Array:
    """Log-probability (H, R) of what is read where no number is held against another: OL across what is open, or whose range has
    ended; a leak across what is open; through a diode no less than what lies beside it. -inf where neither is so."""
    number, open_ = np.isfinite(mean), read.open & np.ones_like(mean, bool)
    ends = (mean > DIM) & read.diode
    leaks = np.where(read.least, ~(mean < LEAST_BESIDE * read.value), ~number & (read.value > read.open_from))
    shown = np.where(number, np.where(ends, 0.0, math.log(ON_THE_RANGE)), 0.0)
    return np.where(
        open_,
        np.where(~number | ends | (mean > read.over), shown, -np.inf),
        np.where(leaks, _leaking(read), -np.inf),
    )


def _leaking(read: Readings) -> Array:
    """Log-probability of the interval read across what is open, where leaks are as likely in each decade up to MOST_LEAK, each
    in series with what lies behind."""
    least = np.minimum(read.open_from, MOST_LEAK / 10)
    leak = np.maximum(read.value - read.behind, LEAST_BESIDE * least)
    share = 2 * np.maximum(read.spread, 1e-12) / np.maximum(leak, 1.0)
    range_ = np.log(MOST_LEAK / least)
    return np.log(np.minimum(np.nan_to_num(share, nan=1.0) / range_, 1.0))


def _anything(read: Readings) -> Array:
    """Log-probability of the interval read where any figure is as likely, on a logarithmic scale."""
    size = np.maximum(np.abs(np.where(np.isfinite(read.value), read.value, 1.0)), read.spread)
    size = np.where(np.abs(read.value) <= read.spread, read.spread * ZERO_SIZE, size)
    share = 2 * np.maximum(read.spread, 1e-12) / np.maximum(size, 1e-12) / (ANY_DECADES * math.log(10.0))
    return np.log(np.minimum(share, 1.0))
