"""The likelihood of readings against scipy's multivariate normal, every "one of them is wrong" summed by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from generator.diagnosis import pairs
from generator.diagnosis.evidence import (
    ANY_DECADES,
    ANYTHING,
    SLIPS,
    UNDRAWN,
    WRONG,
    Figure,
    Predictions,
    Readings,
    _anything,
    weigh,
)

# half a band squared over the variance of a trapezoid whose top is 0.4472 of its base: JCGM 100:2008, 4.3.9, 6 / (1 + 0.2)
HALF_SQUARED = 5


def by_hand(
    value: np.ndarray, spread: np.ndarray, mean: np.ndarray, shift: np.ndarray
) -> tuple[float, np.ndarray]:
    """Log-likelihood, and the share of "reading i is wrong", from scipy's densities times the widths of the intervals."""
    from scipy.stats import multivariate_normal  # here, because it takes a second to load

    count = len(value)

    def normal(values: np.ndarray, these: list[int], intervals: np.ndarray = spread) -> float:
        at = np.array(these)
        own = intervals**2 / 3 + (UNDRAWN * np.maximum(np.abs(mean), np.abs(values))) ** 2
        covariance = shift @ shift.T / HALF_SQUARED + np.diag(own)
        part = multivariate_normal(mean[at], covariance[np.ix_(at, at)])
        return float(part.logpdf(values[at])) + float(np.log(2 * spread[at]).sum())

    everything = list(range(count))
    terms = [normal(value, everything)]
    for i in everything:
        rest = [j for j in everything if j != i]
        without = normal(value, rest) if rest else 0.0
        any_figure = math.log(
            WRONG * ANYTHING * 2 * spread[i] / max(abs(value[i]), spread[i]) / ANY_DECADES / math.log(10)
        )
        ways = [without + any_figure]
        for factor, share in SLIPS.items():
            # the interval shrinks with the figure, and what the meter may be off by
            moved, meant = value.copy(), spread.copy()
            moved[i], meant[i] = value[i] / factor, spread[i] / factor
            ways.append(normal(moved, everything, meant) + math.log(WRONG * share) - math.log(factor))
        terms.append(float(np.logaddexp.reduce(ways)))
    total = float(np.logaddexp.reduce(terms))
    keep = count * math.log1p(-WRONG)
    return total + keep, np.exp(np.array(terms[1:]) - total)


@pytest.mark.parametrize("seed", range(8))
def test_against_scipy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count, axes = int(rng.integers(1, 6)), int(rng.integers(1, 5))
    mean = rng.uniform(1, 20, count)
    shift = rng.normal(0, 0.3, (count, axes))
    spread = rng.uniform(0.02, 0.2, count)
    value = mean + rng.normal(0, 0.3, count)
    if seed % 2:
        value[0] *= 10  # a decade misread
    read = Readings.of([Figure(*own) for own in zip(value, spread)])
    found = weigh(Predictions(mean[None], shift[None], np.ones((1, count), bool)), read)
    total, wrong = by_hand(value, spread, mean, shift)
    assert found.log[0] == pytest.approx(total, rel=1e-6, abs=1e-6)
    assert found.wrong[0] == pytest.approx(wrong, rel=1e-5, abs=1e-9)


def test_without_readings_nothing_is_known() -> None:
    found = weigh(Predictions(np.zeros((3, 0)), np.zeros((3, 0, 2)), np.ones((3, 0), bool)), Readings.of([]))
    assert found.log.tolist() == found.distance.tolist() == [
        0,
        0,
        0,
    ] and found.wrong.shape == found.off.shape == (3, 0)


def test_a_decade_misread_doubts_the_reading() -> None:
    """12.1 V written as 121 V: the reading is doubted, the others stay in force."""
    read = Readings.of([Figure(121.0, 0.5), Figure(5.0, 0.05)])
    mean = np.array([[12.0, 5.0], [12.0, 0.0]])
    shift = np.array([[[0.5, 0.0], [0.0, 0.1]]] * 2)
    found = weigh(Predictions(mean, shift, np.ones((2, 2), bool)), read)
    assert found.wrong[0, 0] > 0.99 and found.wrong[0, 1] < 0.01
    assert found.log[0] > found.log[1] + 5


def test_a_k_left_out_doubts_the_reading() -> None:
    """101k written as 101 ohm: the reading is doubted rather than the resistor, and so are 83.9 mV written as 83.9 V."""
    read = Readings.of([Figure(101.0, 0.5), Figure(83.9, 0.05)])
    predicted = Predictions(
        np.array([[1e5, 83.9], [101.0, 0.0839]]), np.full((2, 2, 1), 1e-3), np.ones((2, 2), bool)
    )
    found = weigh(predicted, read)
    assert found.wrong[0, 0] > 0.99 and found.wrong[1, 1] > 0.99


def test_ol_on_the_range_for_a_fuse_says_no_more_than_above_it() -> None:
    """A fuse is tried on 200 ohm or by ear: OL there is a blown one, whatever lies beside it; it is none of 100 ohm."""
    open_ = Readings.of([Figure(open=True, open_from=1e6, over=2e3)])
    beside, worn = Predictions(np.array([[1e6], [100.0]]), np.zeros((2, 1, 1)), np.ones((2, 1), bool)), 0.3
    log = weigh(beside, open_).log
    assert log[0] == pytest.approx(math.log(worn), abs=0.1) and log[0] > log[1] + 4


def test_ohms_through_a_diode_say_that_no_less_lies_beside_it() -> None:
    """7.0k across a rail with a Schottky diode, which the meter may drive: no dead short is there, and 20k may be, or nothing."""
    read = Readings.of([Figure(7e3, 50.0, floor=0.15, open_from=50.0, least=True)])
    mean = np.array([[0.01], [20e3], [np.inf], [7e3]])
    short, *others = weigh(Predictions(mean, np.zeros((4, 1, 1)), np.ones((4, 1), bool)), read).log
    assert max(others) - min(others) < 0.01 and short < min(others) - 4


def test_a_contact_drops_as_likely_in_each_decade() -> None:
    """0.19 V across contacts of 10 to 200 mΩ, with 5 A or with half of them: of the logarithm, a normal about the middle of the
    band's ends, whose half width is √5 standard deviations (scipy); neither current has the better of it by its narrower band."""
    from scipy.stats import lognorm

    read = Readings.of([Figure(0.19, 0.0005, decades=True)])
    bands = [(0.05, 1.0), (0.025, 0.5)]
    mean = np.array([[(low + high) / 2] for low, high in bands])
    shift = np.array([[[(high - low) / 2]] for low, high in bands])
    found = weigh(Predictions(mean, shift, np.ones((2, 1), bool)), read).log
    for log, (low, high) in zip(found, bands):
        sigma = math.log(high / low) / 2 / math.sqrt(HALF_SQUARED)
        due = lognorm.pdf(0.19, sigma, scale=math.sqrt(low * high)) * 0.001
        assert log == pytest.approx(math.log(due), abs=0.03)
    assert abs(found[0] - found[1]) < 0.5


def test_an_open_circuit_is_no_number() -> None:
    """OL fits what is open and no number; a number fits no open circuit."""
    mean = np.array([[np.inf], [4700.0]])
    shift = np.zeros((2, 1, 1))
    open_ = Readings.of([Figure(open=True, open_from=1e6)])
    ohms = Readings.of([Figure(4710.0, 30.0, open_from=1e6)])
    predicted = Predictions(mean, shift, np.ones((2, 1), bool))
    assert weigh(predicted, open_).log[0] > weigh(predicted, open_).log[1] + 4
    assert weigh(predicted, ohms).log[1] > weigh(predicted, ohms).log[0] + 4


def test_an_led_lights_on_one_meter_and_reads_ol_on_the_next() -> None:
    """The diode range ends at 1.5 V on one meter and at 3 V on another (data sheets of meters, from memory): OL across an LED of
    1.9 V is no fault, across a diode of 0.6 V it is one, and 2.6 V is a figure."""
    mean = np.array([[1.9], [0.6], [np.inf]])
    predicted = Predictions(mean, np.zeros((3, 1, 1)), np.ones((3, 1), bool))
    open_ = Readings.of([Figure(open=True, diode=True)])
    led, diode, broken = weigh(predicted, open_).log
    assert abs(led - broken) < 1 and diode < broken - 4
    volts = Readings.of([Figure(open=True)])
    assert weigh(predicted, volts).log[0] < weigh(predicted, volts).log[2] - 4


def test_of_two_parts_far_off_the_variances_add() -> None:
    """Two parts that move a reading by 0.3 V and 0.4 V each way, independent of each other: 0.5 V as one, and of a trapezoid
    with β = 0.45 the variance is a²·(1 + β²)/6 (JCGM 100:2008, 4.3.9)."""
    none = Readings.of([Figure(0.0)])
    found = pairs._variance(
        Predictions(np.zeros((1, 1)), np.array([[[0.3, 0.4]]]), np.ones((1, 1), bool)), none
    )
    assert found.item() == pytest.approx(0.5**2 * (1 + 0.45**2) / 6, rel=0.01)


@pytest.mark.parametrize("value", [0.0, 0.4, 1.0, 3.0, 1000.0])
def test_how_likely_any_figure_is_does_not_depend_on_the_unit(value: float) -> None:
    """A misread figure is as likely in each decade (log-uniform): in mV it is as likely as in V, a wider interval likelier, a
    finer one at a higher figure less likely. Invariance under scaling, by its definition."""

    def of(scale: float, spread: float) -> float:
        return float(
            _anything(SimpleNamespace(value=np.array([value * scale]), spread=np.array([spread * scale])))[0]
        )  # type: ignore[arg-type]

    for scale in (1e-3, 1e3, 1e6):
        assert of(scale, 1.0) == pytest.approx(of(1.0, 1.0), rel=1e-9)
        assert of(scale, 0.01) == pytest.approx(of(1.0, 0.01), rel=1e-9)
    assert of(1.0, 1.0) <= 0 and of(1.0, 0.01) <= of(1.0, 1.0)
    if value > 1:  # the share of a decade that the interval takes: 2·spread/value of ln 10 each
        assert of(1.0, 0.01) - of(1.0, 0.001) == pytest.approx(math.log(10), rel=1e-6)


def test_what_leaks_lies_in_series_with_what_stands_behind_it() -> None:
    """A Schottky diode's leak, anything from 10k to 100M on a logarithmic scale, behind 800k: 810k is read in ln(12k/8k)/ln(10 000) of
    all cases (two readings of 1 % that still differ: 808k and 812k), by hand."""
    predicted = Predictions(np.array([[np.inf]]), np.zeros((1, 1, 1)), np.ones((1, 1), bool))
    read = Readings.of([Figure(810e3, 2e3, open_from=1e4, behind=800e3)])
    assert weigh(predicted, read).log[0] == pytest.approx(math.log(math.log(12 / 8) / math.log(1e4)), abs=0.1)
    alone = Readings.of([Figure(810e3, 2e3, open_from=1e4)])
    assert weigh(predicted, alone).log[0] == pytest.approx(math.log(2 * 2e3 / 810e3 / math.log(1e4)), abs=0.1)
