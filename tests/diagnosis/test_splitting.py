"""Expected gain against figures worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from generator.diagnosis.splitting import expected_gain


def test_two_alike_candidates_told_apart_for_good_are_one_bit() -> None:
    """Entropy of a fair choice: 1 bit, all of it removed (Shannon)."""
    gain = expected_gain(np.array([1.0, 1.0]), np.array([[0.0], [5.0]]), np.full((2, 1), 0.05))
    assert gain[0] == pytest.approx(1.0, abs=1e-3)


def test_four_alike_candidates_in_two_pairs() -> None:
    """A reading that halves four alike candidates removes 1 of 2 bits; one that shows all alike removes none."""
    mean = np.array([[0.0, 3.0], [0.0, 3.0], [5.0, 3.0], [5.0, 3.0]])
    gain = expected_gain(np.ones(4), mean, np.full((4, 2), 0.05))
    assert gain == pytest.approx([1.0, 0.0], abs=1e-3)


def test_unequal_shares() -> None:
    """Shares 3/4 and 1/4: 0.8113 bit (Shannon's entropy of 0.25)."""
    gain = expected_gain(np.array([3.0, 1.0]), np.array([[np.inf], [100.0]]), np.full((2, 1), 1.0))
    assert gain[0] == pytest.approx(0.8113, abs=1e-3)


def test_what_counts_as_one_answer_is_not_worth_splitting() -> None:
    """R1 twice as high or four times as high is the same part to change."""
    same = np.array([[True, True, False], [True, True, False], [False, False, True]])
    mean = np.array([[1.0, 1.0], [4.0, 1.0], [1.0, 9.0]])
    gain = expected_gain(np.ones(3), mean, np.full((3, 2), 0.05), same)
    # by hand: place 0 leaves {0, 2} at a half each in 2 of 3 cases and is certain in the third:
    # before: -(2/3 log2 2/3 + 1/3 log2 1/3) = 0.9183; after: 2/3 of 1 bit; place 1 removes all
    assert gain == pytest.approx([0.9183 - 2 / 3, 0.9183], abs=2e-3)


def test_a_place_of_which_nothing_is_known_says_nothing() -> None:
    gain = expected_gain(np.ones(2), np.array([[np.nan], [2.0]]), np.ones((2, 1)))
    assert gain[0] == pytest.approx(0.0, abs=1e-9)


def test_candidates_that_are_ruled_out() -> None:
    """Shares of 0 weigh nothing (a warning of numpy's is an error here); where all are, each is as likely as another: 1 bit."""
    mean, spread = np.array([[0.0], [5.0], [2.0]]), np.full((3, 1), 0.05)
    assert expected_gain(np.array([1.0, 1.0, 0.0]), mean, spread)[0] == pytest.approx(1.0, abs=1e-3)
    assert expected_gain(np.zeros(2), mean[:2], spread[:2])[0] == pytest.approx(1.0, abs=1e-3)
