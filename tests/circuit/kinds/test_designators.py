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
    ("lithium-charger", {"input": "5 V", "battery": "3.7 V", "program": "R2 1k2", "program_factor": "1000 V", "charger": "U1"}, "U1", "open"),
    ("bldc-motor", {"supply": "24 V", "winding": "M1 0R6", "pole_pairs": "4", "transistors": "Q1-Q6"}, "Q1-Q6", "open"),
    ("bldc-motor", {"supply": "24 V", "winding": "M1 0R6", "pole_pairs": "4", "hall": "U2-U4"}, "U2-U4", "short"),
    ("capacitive-dropper", {"dropper": "C1 330n X2 275V", "series": "R1 100 1W", "output": "5.1 V", "clamp": "ZD1 5V1", "return_diode": "D2"}, "D2", "open"),
    ("triac-switch", {"load": "LA1 45 W", "triac": "TR1 1A 600V"}, "LA1", "open"),
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
