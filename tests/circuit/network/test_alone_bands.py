"""How far tolerances move what a meter shows: of each wired kind by its own formulas at the corners of the tolerance box, and by
its network with one axis at a time at its ends. Both come from what the note states, by different ways.

The network's band is never the narrower: it knows besides what a note does not say, such as how far a supply may be off. Where
everything is stated the two are the same.
"""

from __future__ import annotations

import math

import pytest

from generator.circuit import catalogue
from generator.circuit.circuit import Mains, build_block
from generator.circuit.network.newton import NoOperatingPoint
from generator.circuit.network.tolerances import axes
from tests.circuit.network.alone import Alone

WIRED = [name for name in catalogue.names() if catalogue.kind(name).is_wired and name != "network"]
SLACK = 0.1  # of the band's width: one axis at a time leaves out what two do together
EVERYTHING_STATED = {
    "boost-converter": ("output_voltage",), "buck-converter": ("output_voltage",), "flyback-supply": ("output_voltage",),
    "linear-regulator": ("output_voltage", "series_drop"), "lithium-charger": ("terminal", "charge_current"),
    "mains-inlet": ("peak", "current"), "mains-rectifier": ("mean", "trough", "peak"), "offline-start": ("bus",),
    "sense-resistor": ("drop", "amplified"), "triac-switch": ("snubber_current", "load_current"), "audio-stage": ("idle_current",),
    "transformer-supply": ("mean", "ripple", "trough", "peak", "no_load_peak"), "battery-pack": ("nominal",), "heater": ("current",),
    "mosfet-switch": ("load_current",), "bldc-motor": ("hall_mean",),
}  # fmt: skip
# in bright light a photoresistor's ohms are a power of the light: no straight line
OTHERWISE = {("light-divider", "bright_output")}


@pytest.mark.parametrize("name", WIRED)
def test_the_network_moves_as_far_as_the_formulas(name: str) -> None:
    block, _ = build_block(name, dict(catalogue.kind(name).example), Mains())
    assert block is not None
    alone = Alone(block)
    nominal = {element.name: element.nominal() for element in alone.elements}
    for value in alone.wired.probes:
        own = block.values.get(value)
        if own is None or own.value is None or not math.isfinite(own.high) or (name, value) in OTHERWISE:
            continue
        middle = alone.value(value)
        low = high = middle
        for axis in axes(alone.elements):
            ends = []
            for share in (-1.0, 1.0):
                try:
                    ends.append(alone.value(value, axis.at(nominal, share)))
                except NoOperatingPoint:  # an end that no device stands at
                    continue
            low += min(0.0, *(end - middle for end in ends))
            high += max(0.0, *(end - middle for end in ends))
        slack = SLACK * (own.high - own.low) + 0.01 * abs(own.value) + (1e-4 if own.unit == "V" else 1e-6)
        assert low <= own.low + slack and high >= own.high - slack, (value, (low, high), (own.low, own.high))
        if value in EVERYTHING_STATED.get(name, ()):
            assert high - low <= 1.3 * (own.high - own.low) + 2 * slack, (value, (low, high), own)
