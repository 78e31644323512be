"""Two changeover relays turn a motor either way: RL1A and RL1B are contacts of RL1, and a motor turned about draws as much."""

from __future__ import annotations

import pytest

from generator.circuit.designated import relay_of
from tests.circuit.device.examples import built

DRIVE = """
states: {resting: {}, up: {on: [up]}, down: {on: [down]}}
blocks:
  pack: {kind: battery-pack, cells: 10, chemistry: ni-mh, capacity: 2 Ah}
  up: {kind: transistor-switch, drive: 5 V, base: R1 1k, transistor: Q1 hfe>=160 800mA 45V, load: RL1 200 12V, load_supply: pack, flyback: D1}
  down: {kind: transistor-switch, drive: 5 V, base: R2 1k, transistor: Q2 hfe>=160 800mA 45V, load: RL2 200 12V, load_supply: pack, flyback: D2}
  motor: {kind: dc-motor, motor: M1, supply: 12 V, winding: 2 ohm, running_current: 1 A}
  bridge:
    kind: network
    parts: [RL1A contact from pack.plus to a, RL1B nc contact from a to pack.minus,
            RL2A contact from pack.plus to b, RL2B nc contact from b to pack.minus]
joins: [[bridge.a, motor.plus], [bridge.b, motor.minus]]
"""


def test_a_motor_between_two_changeover_relays() -> None:
    """At rest both its ends lie at 0 V; with one relay on one end is lifted, with the other the other (an H-bridge, common
    practice). Either way it turns, so what is lost of the pack's volts is the same."""
    device = built(DRIVE)
    ends = (device.net("motor.plus"), device.net("motor.minus"))
    volts = dict(zip((state.name for state in device.states), device.solved.point.volts(*ends)))
    assert volts["resting"] == pytest.approx(0, abs=1e-6)
    assert 10.5 < volts["up"] < 12
    assert volts["down"] == pytest.approx(-volts["up"], rel=1e-6)


@pytest.mark.parametrize(
    "contact, relay",
    [("RL1A", "RL1"), ("RL12B", "RL12"), ("K1.3", "K1"), ("K2/1", "K2"), ("RL1", ""), ("R1A", ""), ("K", "")],
)
def test_which_relay_a_contact_is_of(contact: str, relay: str) -> None:
    """Contacts are named after their relay with a letter or number (common practice, no source)."""
    assert relay_of(contact) == relay
