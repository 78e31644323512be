"""Whole devices in all their states: the netlist that is published, run by ngspice, against what we say of every net."""

from __future__ import annotations

from pathlib import Path

import pytest

from generator.circuit.device import Device
from generator.circuit.device.netlist import netlist, nodes
from generator.circuit.network.reading import Reading
from generator.circuit.network.sensitivity import read
from generator.circuit.network.variants import solve
from tests import spice
from tests.circuit.device.examples import BOX, DRILL_AND_FAN, built, simulated

DEVICES = {"box": BOX, "drill and fan": DRILL_AND_FAN, **simulated()}


def _held(device: Device, state: str) -> set[str]:
    """The nets that more than leakage holds: below 50 Mohm. What floats, a meter's own 10 Mohm pulls to 0 V."""
    nets = [net for net in device.system.nets if device.system.index[net] != device.system.size]
    around = device.around(state)
    seen = read(solve(around, [{}]), [Reading(net, device.common_of(net)) for net in nets])
    return {net for net, ohms in zip(nets, seen.source[0]) if ohms < 5e7}


@pytest.mark.parametrize("name", DEVICES)
def test_every_net_in_every_state(name: str, tmp_path: Path) -> None:
    """2 % or 20 mV. The models are the same on both sides but for how corners are rounded: what this holds is the solution
    and that the netlist says what we computed."""
    spice.needed()
    device = built(DEVICES[name])
    wrong = [t for t in (*device.circuit.troubles, *device.troubles) if t.severity == "error"]
    if wrong and name != "box":
        pytest.skip(f"written for a kind that takes more: {wrong[0].what}")
    assert not wrong
    node = nodes(device)
    compared = 0
    for row, state in enumerate(device.states):
        held = _held(device, state.name)
        found = spice.operating_point(netlist(device, state.name), sorted(set(node.values())), tmp_path)
        for net, name_there in node.items():
            if net in held and name_there != "0":
                ours = float(device.solved.point.volts(net)[row])
                assert ours == pytest.approx(found[name_there], rel=0.02, abs=0.02), (state.name, net)
                compared += 1
    assert compared >= 10


def test_the_netlist_names_its_nodes_and_ties_its_islands() -> None:
    """A comment for every net; node 0 is the low-voltage common; the mains' neutral is tied to it by 1 G; the mains is a
    sine; the rail's table says what it is."""
    text = netlist(built(BOX))
    assert "* 0 = supply.common reg.common" in text
    assert "* reg_out = reg.out" in text
    assert any(line.startswith("Rtie") and line.endswith(" 0 1e9") for line in text.splitlines())
    assert "SIN(0 325.2" in text and ".tran" in text
    assert "as a table over the mean current taken" in text
    assert text.rstrip().endswith(".end")
