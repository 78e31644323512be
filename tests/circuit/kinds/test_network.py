"""A network of parts: how its lines are read, and what the device makes of them."""

from __future__ import annotations

import pytest

from generator.circuit.circuit import build_block
from generator.circuit.device import Told, work_out
from generator.circuit.point import Mains


@pytest.mark.parametrize(
    "line, words",
    [
        ("R1 10k", "between which nets"),
        ("R1 10k from a to a", "all its ends are on a"),
        ("Q9 npn hfe200 from a b", "2 nets, but a npn has 3"),
        ("10k from a to b", "nothing says what it is"),
        ("R1 ten from a to b", "no value"),
        ("R1 10k from a! to b", "not a name of a net"),
    ],
)
def test_a_line_that_cannot_be_read_is_told(line: str, words: str) -> None:
    """Each mistake in its own words."""
    _, troubles = build_block("network", {"parts": [line]}, Mains())
    assert any(words in trouble.what for trouble in troubles), troubles


def test_a_common_emitter_stage_by_hand() -> None:
    """100 k and 47 k from 12 V: 3.84 V at the base; less 0.65 V over 1 k is 3.1 mA; 2.2 k leaves 5.3 V at the collector (by
    hand, base current and junction rounded: ±0.2 V)."""
    parts = ["R6 100k from plus to base", "R7 47k from base to common", "Q2 npn hfe300 from base collector emitter",
             "R8 2k2 from plus to collector", "R9 1k from emitter to common", "BT1 12V from plus to common"]  # fmt: skip
    device = work_out({"stage": {"kind": "network", "parts": parts}}, Mains(), Told())
    assert not device.circuit.troubles and not device.troubles
    volts = {
        net: float(device.solved.point.volts(f"stage.{net}", "stage.common")[0])
        for net in ("base", "emitter", "collector")
    }
    assert volts["base"] == pytest.approx(3.5, abs=0.2)
    assert volts["collector"] == pytest.approx(12 - 2.2 * volts["emitter"], abs=0.1)
    assert 0.5 < volts["base"] - volts["emitter"] < 0.75
