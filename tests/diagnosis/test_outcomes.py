"""What failures make a block's values read in its device, which is not what they make of it alone."""

from __future__ import annotations

import pytest

from generator.circuit.block import Failure
from generator.diagnosis.outcomes import outcomes
from tests.circuit.device.examples import built

TWO = """
joins: [[a.tap, b.supply]]
blocks:
  a: {kind: divider, supply: 12 V, upper: R1 10k, lower: R2 10k}
  b: {kind: divider, upper: R3 10k, lower: R4 10k}
"""
FED = """
blocks:
  supply: {kind: mains-rectifier, bulk: C1 10u 400V, load: 6.5 W}
  usb: {kind: flyback-supply, input: supply.trough, input_high: supply.high_mains_peak, output: 5 V, load: 700 mA}
"""


def told(text: str, block: str, part: str, failed: str) -> Failure:
    found = outcomes(built(text), 1e12)[block]
    return next(f for f in found if (f.part, f.failed) == (part, failed))


@pytest.mark.parametrize(
    "block, part, failed, volts",
    [("a", "R2", "open", 8.0), ("a", "R1", "high", 12 / 4), ("b", "R4", "open", 6.0), ("b", "R3", "open", 0.0)],
)  # fmt: skip
def test_a_loaded_divider(block: str, part: str, failed: str, volts: float) -> None:
    """20 kohm hang on the first divider: 12 V · 20/(10 + 20) without its lower resistor, 12 V · 6.67/(20 + 6.67) with the
    upper one doubled; and 12 V / 2 with nothing below the second. By hand, Ohm's law; alone it would be 12, 4 and 4.8 V."""
    result = told(TWO, block, part, failed).values["output"]
    assert result.value == pytest.approx(volts, rel=1e-3, abs=1e-3)


def test_what_does_not_move_is_left_to_the_blocks_own_formulas() -> None:
    """The bulk capacitor's ripple frequency halves with a diode open, which no net of mean volts shows."""
    failure = told(FED, "supply", "rectifier diode", "open")
    assert failure.values["ripple_frequency"].value == 50.0


def test_a_short_across_a_stiff_source_is_a_fuse_that_blows() -> None:
    """6 V straight across a shorted motor capacitor: tens of amperes, so the fuse opens, as the block itself says it."""
    text = "blocks:\n  m: {kind: dc-motor, supply: 6 V, winding: M1 6 ohm, running_current: 180 mA, capacitor: C1 100n}"
    device = built(text)
    alone = next(f for f in device.blocks["m"].nominal_failures if (f.part, f.failed) == ("C1", "short"))
    assert told(text, "m", "C1", "short").values == alone.values


def test_power_that_is_joined_is_part_of_the_power_that_is_stated() -> None:
    """6.5 W at 325 V are 20 mA, of which the flyback takes 5 V · 0.7 A / 0.8 = 4.4 W: not 11 W together. Power over volts."""
    device = built(FED)
    amperes = -float(device.solved.point.amperes("supply.rectifier")[0])
    assert amperes == pytest.approx(6.5 / 325, rel=0.05)
