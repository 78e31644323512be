"""The arrows of a block diagram: who feeds, switches or drives whom, as anybody reads it from the wiring."""

from __future__ import annotations

from generator.pages.chartview import feeds_of
from tests.circuit.device.examples import built

DEVICE = """
joins: [[level.tap, drive.drive]]
blocks:
  inlet: {kind: mains-inlet, load: 20 W, fuse: F1 250mA}
  supply: {kind: transformer-supply, primary: inlet, secondary: 12 V, smoothing: C1 2200u 25V, bleeder: R1 4k7}
  reg: {kind: linear-regulator, regulator: U1, input: supply, output: 5 V}
  level: {kind: divider, supply: reg, upper: R2 10k, lower: R3 10k}
  parts: {kind: network, parts: [R7 1k from reg.out to x, R8 1k from x to supply.common]}
  drive: {kind: transistor-switch, drive: 2.5 V, base: R14 4k7, transistor: Q1 hfe100 500mA 45V, load: RL1 400 12V, load_supply: supply,
    flyback: D6}
  contact: {kind: network, parts: [RL1 contact 10A from inlet.live_out to lamp]}
"""


def test_arrows_run_from_what_feeds_to_what_is_fed() -> None:
    """By hand: mains, rail and regulator feed what hangs on them, parts written one by one as well; the divider's tap drives the
    switch, its relay switches the lamp. Nothing feeds itself, and a common feeds nobody."""
    found = feeds_of(built(DEVICE))
    assert set(found) == {
        ("inlet", "supply"), ("inlet", "contact"), ("supply", "reg"), ("supply", "drive"), ("reg", "level"), ("reg", "parts"),
        ("level", "drive"), ("drive", "contact"),
    }  # fmt: skip
