"""Places on a scale, worked by hand."""

from __future__ import annotations

import math

import pytest

from generator.drawing.scale import scale


def test_an_even_scale_begins_at_zero_and_leaves_room_at_its_end() -> None:
    """10 to 20 and a reading of 15 on 0 to 21.6 (a margin of 8 %)."""
    found = scale(10.0, 20.0, 15.0)
    assert found is not None and not found.beyond
    assert [found.low, found.high, found.read] == pytest.approx([46.3, 92.6, 69.4], abs=0.05)


def test_a_reading_far_off_is_placed_by_decades() -> None:
    """From 1 to 100: the middle of the decades is 10."""
    found = scale(1.0, 10.0, 100.0)
    assert (
        found is not None
        and found.high == pytest.approx(50.0, abs=0.05)
        and found.low < found.high < found.read
    )


@pytest.mark.parametrize("read", [math.inf, 1e6])
def test_what_has_no_end_on_the_scale_lies_beyond_it(read: float) -> None:
    found = scale(1.0, 2.0, read)
    assert found is not None and found.beyond and found.read == 100.0


def test_nothing_is_drawn_for_a_band_that_begins_nowhere() -> None:
    assert scale(math.inf, math.inf, 3.0) is None


def test_a_band_and_a_reading_of_zero_lie_in_the_middle() -> None:
    found = scale(0.0, 0.0, 0.0)
    assert found is not None and found.low == found.high == found.read == pytest.approx(50.0)


@pytest.mark.parametrize("times", (1.5, 5.0, 15.0, 19.0, 21.0, 30.0, 100.0, 1e4))
def test_a_band_can_be_seen_however_far_off_the_reading_lies(times: float) -> None:
    """A band from 0 takes at least 4 % of the strip, 12 of a phone's 300 pixels (common practice, no source), and a reading
    up to 15 times its end has its place on it."""
    found = scale(0.0, 1.0, times)
    assert found is not None and found.high - found.low >= 4.0
    assert found.beyond or found.read > found.high
    assert not (found.beyond and times <= 15.0)
