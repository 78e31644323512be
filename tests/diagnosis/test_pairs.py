"""Two failures at once: which pairs are tried, by which sizes, and how far their neighbours lie; by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import NormalDist
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from generator.diagnosis import pairs
from generator.diagnosis.evidence import TRAPEZOID, UNDRAWN, Evidence, Figure, Predictions, Readings
from generator.diagnosis.hypotheses import HEALTH, Change, between, sizes_of
from generator.diagnosis.predictions import Predictor, Sought
from tests.diagnosis.noted import judged_note


def readings(
    *values: float, spread: float = 0.05, open_: bool = False, open_from: float = math.inf
) -> Readings:
    return Readings.of([Figure(value, spread, open_, 0.01, open_from) for value in values])


def change(
    key: str,
    mode: str = "high",
    size: float | None = None,
    weight: float = 1.0,
    part: str = "resistor",
    **more: Any,
) -> Change:
    return Change("b", key, mode, size, weight, key.upper(), part, **more)


def predicted(means: Any, shift: float = 0.0) -> Predictions:
    mean = np.array(means, dtype=float)
    return Predictions(mean, np.full((*mean.shape, 2), shift), np.ones(mean.shape, bool))


def deviation(value: float, mean: float, shift: float, spread: float = 0.05) -> float:
    """Standard deviation of a reading: two axes, meter and rounding as a rectangle, leads, what no drawing shows."""
    largest = max(abs(value), abs(mean))
    return math.sqrt(2 * shift**2 / TRAPEZOID + spread**2 / 3 + 0.01**2 + (UNDRAWN * largest) ** 2)


def test_each_reading_by_itself() -> None:
    """The probability of the interval that was read under each failure: the normal distribution of Python's statistics; at least WORST; OL, and what is as
    good as OL, fits an open circuit."""
    read = readings(5.2, 9.0)
    got = pairs._each(predicted([[5.0, 9.1], [5.3, 2.0], [math.inf, 9.0]], 0.3), read)
    for row, means in enumerate(((5.0, 9.1), (5.3, 2.0))):
        for at, (value, mean) in enumerate(zip((5.2, 9.0), means)):
            wanted = math.log(NormalDist(mean, deviation(value, mean, 0.3)).pdf(value) or 1e-300) + math.log(
                0.1
            )
            assert got[row, at] == pytest.approx(max(wanted, pairs.WORST))
    assert got[2, 0] == pairs.WORST == got[1, 1]
    assert pairs._each(predicted([[math.inf]]), readings(math.nan, open_=True))[0, 0] == 0.0
    # a leak is as likely in each of the two decades from 1 to 100 megohm, and 2 % of it was read
    leak = pairs._each(predicted([[math.inf]]), readings(2e6, spread=2e4, open_from=1e6))[0, 0]
    assert leak == pytest.approx(math.log(0.02 / math.log(100)))
    assert pairs._each(predicted([[5.0]]), readings(math.nan, open_=True))[0, 0] == pairs.WORST
    unknown = Predictions(np.array([[5.0]]), np.zeros((1, 1, 2)), np.zeros((1, 1), bool))
    assert pairs._each(unknown, readings(5.0))[0, 0] == pairs.WORST


def ranking(means: list[list[float]], changes: list[Change], shift: float = 0.1) -> Any:
    return SimpleNamespace(
        predicted=predicted(means, shift), changes=changes, weighed=[SimpleNamespace(change=changes[0])]
    )


def test_pairs_that_together_explain_what_neither_does() -> None:
    """12 V, 5 V and 3 V in a sound device; read were 8 V, 5 V and 1 V. R1 explains the first, R2 the third, R3 nothing, R4 half of
    the first as R5 does: R1 with R2 first, then R4 with R5 and one of those that explain the third."""
    changes = [HEALTH, change("r1", size=2.0), change("r1", size=4.0), change("r2"), change("r3"), change("r4", weight=0.5), change("r5"),
               change("r1", "open")]  # fmt: skip
    means = [[12.0, 5.0, 3.0], [8.0, 5.0, 3.0], [7.7, 5.0, 3.0], [12.0, 5.0, 1.0], [12.0, 4.0, 3.0], [10.0, 5.0, 3.0], [10.0, 5.0, 3.0],
             [0.0, 0.0, 0.0]]  # fmt: skip
    found = pairs._promising(ranking(means, changes), readings(8.0, 5.0, 1.0))
    assert found[0] == (1, 3) and found[1] == (2, 3)
    assert all(one < other for one, other in found) and len(set(found)) == len(found)
    assert not any({1, 2, 7} >= set(pair) for pair in found), "of one part only one"
    assert not any(4 in pair for pair in found), "what explains nothing is no help"
    both = pairs._promising(
        ranking(means[:1] + means[5:7], changes[:1] + changes[5:7], 0.9), readings(8.0, 5.0, 3.0)
    )
    assert both == [(1, 2)]
    assert pairs._promising(ranking(means[:2], changes[:2]), readings(8.0, 5.0, 1.0)) == []
    held = [HEALTH, change("r1", pressed=("s", "on")), change("r2", pressed=("s", "on"))]
    assert pairs._promising(ranking([means[0], means[1], means[3]], held), readings(8.0, 5.0, 1.0)) == []
    pair = pairs._pair(changes[1], changes[5])
    assert pair.also == changes[5] and pair.weight == pytest.approx(1.0 * 0.5 * pairs.PAIR)


def test_no_more_than_some_sizes_of_one_pair() -> None:
    sizes = [change("r1", size=1.5 + 0.1 * n) for n in range(7)]
    changes = [HEALTH, *sizes, change("r2")]
    means = [[12.0, 3.0], *([8.0 + 0.01 * n, 3.0] for n in range(7)), [12.0, 1.0]]
    found = pairs._promising(ranking(means, changes), readings(8.0, 1.0))
    assert len(found) == pairs.EACH and found[0] == (1, 8)
    assert {one for one, _ in found} == {1, 2, 3, 4}


def test_the_sizes_about_a_pair() -> None:
    """Every size of either on its grid; then STEPS between the neighbours of its own, sharing the weight of the pair."""
    pair = pairs._pair(change("r1", size=2.5), change("q1", "leaky", 100.0, part="mosfet"))
    every = pairs._every(pair)
    assert [row[0].size for row in every] == sorted(sizes_of("resistor", "high"), key=lambda size: size or 0)
    assert [own.also and own.also.size for own in every[0]] == sorted(
        sizes_of("mosfet", "leaky"), key=lambda size: size or 0
    )
    assert {own.weight for row in every for own in row} == {pair.weight}
    closer = pairs._between(pair)
    grid = tuple(size for size in sizes_of("resistor", "high") if size)
    assert [row[0].size for row in closer] == pytest.approx(between(2.5, grid, pairs.STEPS))
    assert sum(own.weight for row in closer for own in row) == pytest.approx(pair.weight)
    plain = pairs._between(pairs._pair(change("r1", "open"), change("r2", "open")))
    assert len(plain) == 1 == len(plain[0]) and plain[0][0].size is None


def test_half_the_way_to_the_neighbours() -> None:
    """numpy's gradient in either size, halved; what shows OL has no neighbour; a pair without sizes none."""
    pair = pairs._pair(change("r1", size=2.5), change("r2", size=2.5))
    grid = [[pair, pair, pair], [pair, pair, pair]]
    means = np.array([[1.0], [2.0], [4.0], [5.0], [8.0], [math.inf]])
    got = pairs._steps([grid, [[pair]]], np.concatenate([means, [[7.0]]]))
    along_first = np.array([4.0, 6.0, 0.0] * 2) / 2
    along_second = np.array([1.0, 1.5, 2.0, 3.0, 0.0, 0.0]) / 2
    assert got.shape == (7, 2, 1)
    assert got[:6, 0, 0] == pytest.approx(along_first) and got[:5, 1, 0][[0, 1, 2, 3]] == pytest.approx(
        along_second[:4]
    )
    assert (got[6] == 0).all()


def test_the_best_pairs_by_their_sizes() -> None:
    """Likeliest first, each by so many of its sizes; those without a size have nothing to be looked at more closely."""
    own = [
        pairs._pair(change(f"r{n}", size=2.5, weight=w), change("x", "open"))
        for n, w in ((1, 1.0), (2, 1.0), (1, 0.1), (3, 1.0))
    ]
    own[2] = pairs.replace(own[2], size=4.0)
    own[3] = pairs.replace(own[3], size=None)
    log = np.array([-3.0, -2.0, -0.5, 0.0])
    tried = pairs._Tried(
        own, predicted(np.zeros((4, 1))), Evidence(log, *(np.zeros((4, 1)),) * 2, np.zeros(4))
    )
    assert pairs._best(tried, 1) == [1, 2] and pairs._best(tried, 2) == [1, 2, 0]
    never = pairs._Tried(
        own[:1],
        predicted(np.zeros((1, 1))),
        Evidence(np.array([-math.inf]), *(np.zeros((1, 1)),) * 2, np.zeros(1)),
    )
    assert pairs._best(never, 1) == [0]
    many = [pairs._pair(change(f"r{n}", size=2.5), change("x", "open")) for n in range(12)]
    most = pairs._Tried(
        many,
        predicted(np.zeros((12, 1))),
        Evidence(-np.arange(12.0), *(np.zeros((12, 1)),) * 2, np.zeros(12)),
    )
    assert pairs._best(most, 1) == list(range(pairs.REFINED))
    assert tried.some([1, 2]).changes == own[1:3] and len(tried.beside(never).changes) == 5


def test_two_parts_of_one_rail_fail_together() -> None:
    """A dropper with a quarter of its capacitance gives a quarter of its current (I = 2·π·f·C·U), whatever the smoothing capacitor has left; the
    two stand in one element of the network."""
    own = Change("supply", "dropper", "low", 0.25, called="C1", part_class="mains capacitor")
    other = Change("supply", "smoothing", "low", 0.1, called="C2", part_class="electrolytic")
    device, _judgement = judged_note(DROPPER)
    volts = Predictor(device, [Sought(device.place("supply.plus"), "volts", "idle")])
    alone, smoothing, both = volts.predict([own, other, replace(own, also=other)]).mean[:, 0]
    assert alone < 15 and smoothing > 20
    assert both == pytest.approx(alone, rel=0.1)


DROPPER = """---
title: Relay
date: 2026-11-01
device: {kind: heater}
symptoms: [relay chatters]
blocks:
  supply: {kind: capacitive-dropper, supply: 230 V, series: R1 150 2W, dropper: C1 820n X2 275V, rectifier: bridge BR1, output: 24 V, clamp: ZD1 24V 2W, smoothing: C2 220u 35V}
  coil: {kind: divider, supply: supply, upper: R2 500, lower: R3 500}
states: {idle: {}}
readings:
  - {at: supply.plus, read: 24 V, when: idle}
---
"""
