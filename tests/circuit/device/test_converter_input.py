"""What a switching converter takes from its input in each state, by hand: the power that it gives, over the input's volts."""

from __future__ import annotations

import pytest

from generator.circuit.device import Device
from generator.circuit.network.newton import Point, operating_points
from tests.circuit.device.examples import built

BUCK = """
states: {asleep: {}, lit: {"on": [lamp]}}
blocks:
  rail: {kind: linear-regulator, regulator: U9, input: 30 V, output: 24 V}
  buck: {kind: buck-converter, input: rail, output: 5 V, load: 100 mA, inductor: L1 47u 3A, frequency: 150 kHz,
         capacitor: C8 220u 16V, chip: U3 40V 3A, diode: D5 40V 3A}
  cpu: {kind: microcontroller, designator: U2, supply: buck, pins: [1 VDD, 2 l -> lamp, 8 GND]}
  lamp: {kind: mosfet-switch, transistor: Q1 vth2 rds0R01, load: R5 10, load_supply: buck, gate: R6 100, pull_down: R7 100k}
"""
FLYBACK = """
blocks:
  bus: {kind: mains-rectifier, rectifier: D1-D4, bulk: C1 100u 400V, load: 30 mA}
  main: {kind: flyback-supply, input: bus, output: 12 V, load: 500 mA, efficiency: 80 %}
"""


def _taken(device: Device, point: Point, block: str) -> list[float]:
    return [float(i) for i in point.amperes(f"{block}.converter", device.net(f"{block}.in"))]


def test_a_buck_takes_more_while_it_gives_more() -> None:
    """Volt-second balance: the switch is closed for (5 + 0.5)/(24 + 0.5) of the time, and its mean current is that share of the
    load: 100 mA asleep, and 5 V/10 ohm more while the lamp is lit. At 20 V the same power is 24/20 of the current; with no
    input nothing."""
    device = built(BUCK)
    asleep, lit = _taken(device, device.solved.point, "buck")
    share = (5 + 0.5) / (24 + 0.5)
    assert asleep == pytest.approx(share * 0.1, rel=0.01)
    assert lit == pytest.approx(share * 0.6, rel=0.01)
    less = operating_points(
        device.system, [{"rail.regulator": {"volts": 20.0}}, {"rail.regulator": {"volts": 0.0}}]
    )
    low, none = _taken(device, less, "buck")
    assert low == pytest.approx(asleep * 24 / 20, rel=0.01) and none == pytest.approx(0, abs=1e-4)


@pytest.mark.parametrize("part, failed", [("buck.chip", "open"), ("buck.inductor", "open")])
def test_what_gives_nothing_takes_nothing(part: str, failed: str) -> None:
    """A dead chip or an open inductor: no output, and no power at the input."""
    device = built(BUCK)
    block, key = part.split(".")
    changed = {
        e.name: found
        for e in device.of_part(block, key)
        if (found := e.worn(e.nominal(), key, failed, None)) is not None
    }
    assert _taken(device, operating_points(device.system, [changed]), "buck")[0] == pytest.approx(0, abs=1e-6)


def test_a_flyback_takes_its_power_over_its_efficiency() -> None:
    """12 V · 0.5 A / 80 % = 7.5 W from the bus, whose load in all is that current."""
    device = built(FLYBACK)
    volts = float(device.solved.point.volts(device.net("main.in"), device.net("main.in_common"))[0])
    assert 250 < volts < 326
    assert _taken(device, device.solved.point, "main")[0] * volts == pytest.approx(7.5, rel=0.01)
