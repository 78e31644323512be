"""The arrows of a block diagram: who feeds, switches or drives whom, as anybody reads it from the wiring."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from generator.pages.chartview import feeds_of
from generator.pages.diagramview import diagram_view
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


def test_what_is_at_mains_potential_ends_at_the_transformer() -> None:
    """By hand: the inlet is, a block that somebody joined to it is, and neither the transformer's own box, which is the barrier,
    nor what lies behind it. What failed and what read wrong is marked at its own box alone."""
    circuit = built(DEVICE).circuit
    readings: Any = SimpleNamespace(
        rows=[SimpleNamespace(block="reg", ok=False), SimpleNamespace(block="level", ok=True)],
        flags_of=lambda name: {"x": "flag"} if name == "reg" else {},
    )
    numbers = {name: number for number, name in enumerate(circuit.blocks, 1)}
    diagram = diagram_view(
        circuit, readings, frozenset({"R2"}), numbers, [("supply", "reg")], {"supply": "15 V"}, {"contact"}
    )
    assert diagram is not None
    nodes = {box.node.name: box.node for box in diagram.boxes}
    assert {name for name, node in nodes.items() if node.mains} == {"inlet", "contact"}
    assert {name for name, node in nodes.items() if node.isolates} == {"supply"}
    assert {name for name, node in nodes.items() if node.failed} == {"level"}
    assert {name for name, node in nodes.items() if node.off} == {"reg"}
    assert {name: node.rail for name, node in nodes.items() if node.rail} == {"supply": "15 V"}
    assert {node.number for node in nodes.values()} == set(numbers.values())
    assert "reg" in nodes["supply"].feeds and not nodes["level"].controls
