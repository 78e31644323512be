"""Where marks stand on a photo of a board: one unit is one per cent of the photo's width, so that circles stay round."""

from __future__ import annotations

ABOVE, BELOW, BESIDE = -3.4, 6.2, 3.4  # from a mark's middle to its letters
NEAR = 8.0  # of an edge at the sides: the letters stand towards the middle
TOP = 7.0  # down to which there is no room above


def height_of(width: int, height: int) -> float:
    """The height of a photo in units of its width."""
    return round(100 * height / width, 4)


def down(share: float, height: float) -> float:
    """Units from the top, of a share of the height in per cent."""
    return round(share * height / 100, 4)


def letters_at(x: float, y: float) -> tuple[float, float, str]:
    """(dx, dy, text-anchor) of a mark's letters: above it, or towards the middle near the edges."""
    if x <= NEAR:
        return BESIDE, 1.4, "start"
    if x >= 100 - NEAR:
        return -BESIDE, 1.4, "end"
    return 0.0, ABOVE if y > TOP else BELOW, "middle"
