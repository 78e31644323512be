"""Which licences go together: Creative Commons' chart of compatible licences (from memory)."""

from __future__ import annotations

import pytest

from generator.notes.licences import go_together


@pytest.mark.parametrize(
    "one, other, wanted",
    [
        ("CC-BY-SA-4.0", "CC BY-SA 4.0", True),
        ("CC BY-SA 4.0", "CC BY-SA 3.0", True),
        ("CC BY 4.0", "CC BY-SA 4.0", True),
        ("CC0-1.0", "CC BY-NC 4.0", True),
        ("Creative Commons Attribution ShareAlike 4.0", "CC-BY-SA-4.0", True),
        ("CC BY-SA 4.0", "CC BY-NC-SA 4.0", False),
        ("CC BY-SA 4.0", "CC BY-NC 4.0", False),
        ("CC BY-NC 4.0", "CC BY-NC-SA 4.0", True),
        ("CC BY 4.0", "CC BY-ND 4.0", False),
        ("CC BY-ND 4.0", "CC BY-ND 4.0", False),
        ("all rights reserved", "all rights reserved", True),
        ("ours", "theirs", False),
        ("", "CC0-1.0", False),
    ],
)
def test_licences(one: str, other: str, wanted: bool) -> None:
    assert go_together(one, other) is wanted
    assert go_together(other, one) is wanted
