"""Where marks stand on a photo, by hand: a unit is a hundredth of the photo's width."""

from __future__ import annotations

import pytest

from generator.drawing.board import down, height_of, letters_at


@pytest.mark.parametrize(
    ("width", "height", "units"), [(4000, 3000, 75.0), (3000, 4000, 133.3333), (500, 500, 100.0)]
)
def test_a_photos_height_in_its_own_units(width: int, height: int, units: float) -> None:
    assert height_of(width, height) == units
    assert down(50.0, units) == pytest.approx(units / 2, abs=1e-3) and down(100.0, units) == units


@pytest.mark.parametrize("x", [0.0, 3.0, 50.0, 97.0, 100.0])
@pytest.mark.parametrize("y", [0.0, 3.0, 40.0, 75.0])
def test_letters_stay_on_the_photo_beside_their_mark(x: float, y: float) -> None:
    """Three letters, 4 units wide, at most 8 from the middle of the mark and not on it; never over the top or the sides."""
    dx, dy, anchor = letters_at(x, y)
    left = x + dx - {"start": 0.0, "middle": 2.0, "end": 4.0}[anchor]
    assert 0 <= left and left + 4 <= 100
    assert 2 <= max(abs(dx), abs(dy)) <= 8
