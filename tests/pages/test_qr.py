"""The code on paper against ISO/IEC 18004: finder patterns in three corners, an empty zone around all of it."""

from __future__ import annotations

import re

import pytest

from generator.pages.qr import qr_code

FINDER = ["#######", "#     #", "# ### #", "# ### #", "# ### #", "#     #", "#######"]  # ISO/IEC 18004, 6.3.3


@pytest.mark.parametrize(
    "address", ["https://lib.example/n/1/", "https://lib.example/notes/" + "a-long-name-" * 15]
)
def test_a_code_has_its_three_corners_and_is_clear_around(address: str) -> None:
    """Versions have 17 + 4·n modules a side (6.3.1); at least 2 are left free on each side, alike on all."""
    code = qr_code(address)
    assert code is not None
    dark = set()
    for x, y, run, back in re.findall(r"M(\d+),(\d+)h(\d+)v1h-(\d+)z", code.path):
        assert run == back
        dark |= {(int(x) + n, int(y)) for n in range(int(run))}
    first, last = min(min(place) for place in dark), max(max(place) for place in dark)
    assert first >= 2 and code.size - 1 - last == first
    side = last - first + 1
    assert side % 4 == 1 and side >= 21
    for left, top in ((first, first), (last - 6, first), (first, last - 6)):
        rows = ["".join("#" if (left + x, top + y) in dark else " " for x in range(7)) for y in range(7)]
        assert rows == FINDER


@pytest.mark.parametrize("address", ["", "https://lib.example/" + "a" * 300])
def test_no_code_where_there_is_no_address_or_too_long_a_one(address: str) -> None:
    assert qr_code(address) is None
