"""Every wired kind alone: its network says what its solve says, sound and under each of its failures.

Both are computed from the same parameters by different means: solve by formulas with constant drops, the network with
exponential junctions. So a value through a junction whose current a failure has changed may differ by the junction's own
curve: 0.1 V, which is also the spread that it is given.
"""

from __future__ import annotations

import math

import pytest
from kind_cases import every_case

from generator.circuit import catalogue
from generator.circuit.block import Block, Mains
from generator.circuit.circuit import build_block
from tests.circuit.network.alone import Alone

SHARE, VOLTS, AMPERES, OHMS = 0.02, 0.02, 1e-5, 0.1
WIRED = [name for name in catalogue.names() if catalogue.kind(name).is_wired and name != "network"]

# (kind, part, failure, value): solve takes another view of it, and why.
OTHERWISE = {
    ("battery-pack", "cell", "open", "nominal"): "read without a load; an ideal voltmeter sees the rest of the cells through leakage",
    ("heater", "contact", "high resistance", "current"): "solve: a tenth of the supply across it; the network: 10 ohm",
    ("mains-inlet", "switch", "high resistance", "*"): "the same",
    ("mains-inlet", "thermal_fuses_0", "open", "current"): "solve: of the load; the network: of the fuse, which feeds the X capacitor too",
    ("mains-inlet", "thermal_fuses_1", "open", "current"): "the same",
    ("mains-inlet", "switch", "open", "current"): "the same",
    ("mosfet-switch", "flyback", "short", "*"): "solve: the fuse has blown; the network has no fuse",
    ("transistor-switch", "transistor", "short", "*"): "solve: the base stays a junction; the network bridges collector and emitter",
    ("transistor-switch", "base", "open", "base_voltage"): "nothing but leakage holds the base: a meter shows 0 V",
    ("button-input", "contact", "open", "press_current"): "solve: nothing is pressed; the network reads the current that a press draws",
    ("button-input", "contact", "high resistance", "press_current"): "the same",
    ("button-input", "capacitor", "short", "press_current"): "the same",
    ("dc-motor", "capacitor", "short", "stall_current"): "solve: of the motor; the network: of its winding, which is bridged",
    ("key-ladder", "pull_up", "open", "idle_output"): "a pin that hangs in the air: solve says 0 V, the network's leakage sets it",
    ("audio-stage", "load", "open", "speaker_dc"): "an ideal voltmeter sees what seeps through the output capacitor; solve: 0 V",
    ("audio-stage", "amplifier", "short", "*"): "solve: the output lies on the supply; the network: on its lower limit",
    ("high-side-switch", "flyback", "short", "*"): "solve: the fuse has blown; the network has no fuse",
    ("solenoid", "flyback", "short", "*"): "the same",
    ("induction-motor", "capacitor", "short", "main_to_auxiliary"): "solve: read with the capacitor off",
    ("led-string", "leds", "short", "string_current"): "solve: a driver's strings share anew; the network has one string",
    ("mains-rectifier", "inrush", "open", "*"): "alone, a rail does not look at the line before it; in a device it does",
    ("boost-converter", "chip", "short", "*"): "solve: the fuse has blown; the network has no fuse",
    ("boost-converter", "diode", "short", "*"): "the same",
    ("boost-converter", "capacitor", "short", "*"): "the same",
    ("flyback-supply", "sense", "high", "output_voltage"): "only solve knows the limit; the network's output is regulated",
    ("lithium-charger", "charger", "short", "*"): "solve: nothing is left of it; the network: 20 mohm, as of any two shorted parts",
    ("bldc-motor", "shunt", "open", "shunt_voltage"): "solve: no current, no volts; the network: what stands across an open resistor",
    ("bldc-motor", "shunt", "high", "*"): "solve: at the same speed; the network: under the same load",
    ("bldc-motor", "transistors", "short", "*"): "solve: the fuse has blown; the network has no fuse",
    ("mosfet-switch", "across_load", "short", "*"): "the same",
    ("transistor-switch", "across_load", "short", "*"): "the same",
    ("transistor-switch", "flyback", "short", "*"): "the same",
    ("transistor-switch", "across_switch", "short", "*"): "as of the transistor itself",
    ("transistor-switch", "", "sound", "*"): "not saturated: solve has one base-emitter voltage, the network its curve",
    ("transistor-switch", "pull_down", "open", "*"): "hardly driven: the same",
    ("transistor-switch", "pull_down", "high", "*"): "the same",
    ("transistor-switch", "load", "open", "*"): "the same: what is left across it without a current",
    ("transformer-supply", "secondary_fuse", "open", "*"): "alone, a rail does not look at the line before it; in a device it does",
    ("transformer-supply", "smoothing", "open", "*"): "solve: the crest; the network: the mean, which a meter shows",
    ("transformer-supply", "filter", "short", "*"): "figures of a rail are those of its own curve, without what bridges it",
    ("thermistor-divider", "capacitor", "short", "resistance_25"): "solve: of the thermistor; the network: where it is, bridged",
    ("triac-switch", "triac", "open", "load_current"): "solve: a resistor without its capacitor is no snubber; the network has it",
    ("triac-switch", "gate_resistor", "open", "load_current"): "the same",
    ("zener-regulator", "", "sound", "output"): "a load beyond the supply: solve: 0 V; in the network it dies with its supply",
}  # fmt: skip


def _examples(name: str) -> list[Block]:
    """Example, variants, and what is out of its regime."""
    given = [parameters for kind, parameters in every_case() if kind == name]
    built = [build_block(name, parameters, Mains()) for parameters in given]
    return [block for block, _troubles in built if block is not None]


def _excuse(name: str, key: str, failed: str, value: str) -> tuple[str, str, str, str] | None:
    excuses = ((name, key, failed, value), (name, key, failed, "*"))
    return next((excuse for excuse in excuses if excuse in OTHERWISE), None)


def _close(found: float, wanted: float, unit: str, through_junction: bool) -> bool:
    if math.isinf(wanted):
        return math.isinf(found) or found > 1e8
    least = {"V": 0.1 if through_junction else VOLTS, "A": AMPERES, "ohm": OHMS}.get(unit, 1e-3)
    return abs(found - wanted) <= max(least, (0.06 if through_junction else SHARE) * abs(wanted))


@pytest.mark.parametrize("name", WIRED)
def test_network_and_solve_agree(name: str) -> None:
    """Sound within 2 % or 20 mV; failed, 0.1 V or 6 % where a junction's current is another one. No excuse is idle."""
    off, needed = [], set()
    for block in _examples(name):
        alone = Alone(block)
        units = {d.name: d.unit for d in block.definitions}
        junctions = any((hasattr(e, "forward") or hasattr(e, "hfe")) and not e.ac for e in alone.elements)
        for value in alone.wired.probes:
            wanted = block.solved.get(value)
            if wanted is not None and not _close(alone.value(value), wanted, units.get(value, "V"), False):
                if excuse := _excuse(name, "", "sound", value):
                    needed.add(excuse)
                else:
                    off.append(("sound", value, alone.value(value), wanted))
        for failure in block.failures:
            try:
                changed = alone.failed(failure.key, failure.failed)
            except KeyError:
                continue  # no element stands for it: told by the next test
            for value in alone.wired.probes:
                told = failure.values.get(value)
                if told is None or told.value is None:
                    continue
                found = alone.value(value, changed)
                if _close(found, told.value, told.unit, junctions):
                    continue
                excuse = _excuse(name, failure.key, failure.failed, value)
                if excuse:
                    needed.add(excuse)
                else:
                    off.append((failure.key, failure.failed, value, found, told.value))
    assert off == []
    assert {excuse for excuse in OTHERWISE if excuse[0] == name} == needed


@pytest.mark.parametrize("name", WIRED)
def test_every_part_that_fails_is_an_element(name: str) -> None:
    """Each failure of a kind changes something of its network, so that diagnosis knows it."""
    missing = set()
    for block in _examples(name):
        alone = Alone(block)
        for key, mode in block.failure_modes:
            try:
                alone.failed(key, mode)
            except KeyError:
                missing.add((name, key, mode))
    assert missing <= {
        ("timer-555", "chip", "open"),
        ("timer-555", "chip", "short"),
    }  # it oscillates: no operating point
