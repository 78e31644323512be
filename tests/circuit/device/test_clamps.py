"""A chip's pin that something else drives is held near the chip's own supply, by the protection diodes that nearly every one has."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate

from generator.circuit.device import Device
from generator.circuit.device.clamps import clipped
from generator.circuit.device.results import nets
from generator.circuit.network.junctions import Clamp
from generator.diagnosis.hypotheses import HEALTH
from generator.diagnosis.predictions import Predictor, Sought
from generator.diagnosis.suspects import suspects
from tests.circuit.device.examples import built

GAUGE = """
blocks:
  pack: {{kind: battery-pack, cells: 2, chemistry: li-ion, capacity: 2 Ah}}
  reg: {{kind: linear-regulator, input: {source}, output: 3.3 V, regulator: U1, load: 20 mA}}
  cpu: {{kind: microcontroller, designator: U2, supply: reg, pins: [1 VDD, "2 gauge <- gauge", "3 air <- air", 8 GND]}}
  gauge: {{kind: divider, supply: pack, upper: R1 {upper}, lower: R2 100k}}
  air: {{kind: thermistor-divider, supply: reg, fixed: R3 10k, thermistor: TH1 10k B3950}}
joins: [[pack.minus, reg.common]]
"""


SYNC = """
blocks:
  inlet: {kind: mains-inlet, load: 10 W, fuse: F1 1A}
  rail: {kind: capacitive-dropper, supply: inlet, dropper: C1 470n X2 275V, series: R1 100 2W, rectifier: half-wave D1, return_diode: D2,
         clamp: ZD1 5V1 1W, output: 5.1 V, smoothing: C2 470u 16V}
  cross: {kind: network, parts: [R8 1M from inlet.live_out to zc, R9 33k from zc to rail.common]}
  cpu: {kind: microcontroller, designator: U1, supply: rail, current: 2 mA, pins: [1 VDD, 7 sync, 8 GND]}
joins: [[cpu.sync, cross.zc]]
"""


def at_the_pin(device: Device) -> float:
    shown = nets(device)[device.net("cpu.gauge")]["volts"]
    return float(next(iter(shown.values()))["dc"]["value"])


@pytest.mark.parametrize("upper, driven", [("10k", 6.7), ("100k", 3.7)])
def test_a_pin_that_is_driven_above_its_supply_stands_a_junction_above_it(upper: str, driven: float) -> None:
    """7.4 V over 10k and 100k would be 6.7 V; a chip of 3.3 V holds its pin at 3.3 V and a silicon junction, 0.5 to 0.8 V (absolute
    maximum ratings of logic families, VCC + 0.5 V, from memory)."""
    device = built(GAUGE.format(source="pack", upper=upper))
    shown = at_the_pin(device)
    assert shown == pytest.approx(driven, abs=0.1) if driven < 3.8 else 3.7 < shown < 4.2


def test_a_supply_that_has_died_pulls_the_pin_down() -> None:
    """No chip behind 0 V leaves 3.7 V at a pin behind 50k: its upper diode conducts into the dead rail (common practice, "powered
    through its pins")."""
    device = built(GAUGE.format(source="pack", upper="100k"))
    dead = next(own for own in suspects(device) if (own.called, own.mode, own.leg) == ("U1", "open", ""))
    at = Sought(device.place("gauge.tap"), "volts", device.states[0].name)
    assert 0.2 < float(Predictor(device, [at]).tell([dead]).nominal[0, 0]) < 1.0


def test_a_pin_that_only_its_own_supply_drives_needs_none() -> None:
    device = built(GAUGE.format(source="pack", upper="100k"))
    assert {own.pin for own in device.elements.values() if isinstance(own, Clamp)} == {
        device.net("cpu.gauge")
    }


@pytest.mark.parametrize("volts", [0.2, 1.0, 3.0, 7.35, 40.0])
def test_a_clipped_wave_against_its_integral(volts: float) -> None:
    """A sine clipped 0.6 V below common and 0.6 V above a rail of 5.1 V, its mean left out as a meter's AC range does. Source: scipy, the
    integrals of the wave and of its square over a turn."""
    device = built(SYNC)

    def wave(angle: float) -> float:
        return float(np.clip(math.sqrt(2) * volts * math.sin(angle), -0.6, 5.7))

    turn = np.linspace(0, 2 * math.pi, 20001)
    sampled = np.array([wave(angle) for angle in turn])
    mean, square = (integrate.trapezoid(own, turn) / (2 * math.pi) for own in (sampled, sampled**2))
    (shown,) = clipped(device, device.net("cpu.sync"), 0, np.array([volts]))
    assert shown == pytest.approx(math.sqrt(square - mean**2), rel=0.015)
    (elsewhere,) = clipped(device, device.net("inlet.live_out"), 0, np.array([volts]))
    assert elsewhere == volts


def test_mains_at_a_chip_s_pin_are_clipped_where_they_are_read() -> None:
    """1M and 33k divide 230 V to 7.3 V, of which a 5 V chip leaves some 2.9 V: the figure above, which no divider alone gives."""
    device = built(SYNC)
    (shown,) = nets(device)[device.net("cpu.sync")]["volts"].values()
    assert 2.5 < shown["ac"]["value"] < 3.1
    sync = Sought(device.place("cpu.sync"), "volts", device.states[0].name, "V AC")
    assert 2.5 < float(Predictor(device, [sync]).tell([HEALTH]).mean[0, 0]) < 3.1
