"""Parts that no value names can carry their designator: it reaches failures, the drawing and the list of parts."""

from __future__ import annotations

import pytest
from bench import made

from generator.drawing.frame import TitleBlock
from generator.drawing.schematic import draw

# (kind, its parameters, designator, how it fails): BLOCKS' designators of motor, timer and rectifier.
NAMED = [
    ("dc-motor", {"supply": "6 V", "winding": "6 ohm", "running_current": "180 mA", "motor": "M1"}, "M1", "open"),
    ("dc-motor", {"supply": "6 V", "winding": "M2 6 ohm", "running_current": "180 mA"}, "M2", "open"),
    ("timer-555", {"ra": "R1 10k", "rb": "R2 47k", "capacitor": "C1 100n", "timer": "U5"}, "U5", "open"),
    ("transformer-supply", {"secondary": "12 V", "smoothing": "C3 1000u 35V", "rectifier": "D1-D4 bridge"}, "D1-D4", "open"),
    ("transformer-supply", {"secondary": "12 V", "smoothing": "C3 1000u 35V", "rectifier": "BR1 bridge"}, "BR1", "short"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "given", "designator", "failed"), NAMED)
def test_a_designator_reaches_failures_drawing_and_parts(
    kind: str, given: dict[str, str], designator: str, failed: str
) -> None:
    block = made(kind, **given)
    assert (designator, failed) in {(f.part, f.failed) for f in block.failures}
    assert designator in {part.designator for part in block.parts}
    drawn = draw(block, TitleBlock(title="t", kind="k", key="x"))
    svg = drawn if isinstance(drawn, str) else str(getattr(drawn, "svg", drawn))
    assert f'data-ref="{designator}"' in svg or f">{designator}<" in svg
