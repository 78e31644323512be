"""The kinds of block there are: one file in kinds/ each, loaded when it is asked for."""

from __future__ import annotations

import re
from functools import lru_cache
from importlib import import_module

from generator.circuit.block import Kind
from generator.circuit.kinds import names as names
from generator.problems import did_you_mean

# What people at the bench call a stage, where that is not our word for it.
TRADE_WORDS = {
    "555": "timer-555", "amplifier": "audio-stage", "backlight": "led-string",
    "battery protection": "lithium-charger", "bms": "lithium-charger", "bridge": "transformer-supply",
    "bridge rectifier": "transformer-supply", "brushed mains motor": "universal-motor",
    "brushless motor": "bldc-motor", "bulk capacitor": "mains-rectifier", "button": "button-input",
    "buttons": "key-ladder", "capacitor motor": "induction-motor", "charger": "lithium-charger",
    "dimmer": "phase-control", "electromagnet": "solenoid", "element": "heater",
    "emitter follower": "series-pass", "fan motor": "induction-motor", "fuse": "mains-inlet",
    "hall sensor": "pulse-sensor", "hysteresis": "comparator", "keypad": "key-ladder",
    "ldo": "linear-regulator", "ldr": "light-divider", "led lamp": "led-string",
    "loudspeaker": "audio-stage", "motor": "dc-motor", "ntc": "thermistor-divider", "opto": "optocoupler",
    "p-channel": "high-side-switch", "plug": "mains-inlet", "pnp switch": "high-side-switch",
    "potential divider": "divider", "rectifier": "transformer-supply", "reed": "pulse-sensor",
    "regulator": "linear-regulator", "relay": "transistor-switch", "relay driver": "transistor-switch",
    "schmitt trigger": "comparator", "shaded pole motor": "induction-motor", "shunt": "sense-resistor",
    "smps": "flyback-supply", "step-down": "buck-converter", "step-up": "boost-converter",
    "switching supply": "flyback-supply", "tacho": "pulse-sensor", "thermistor": "thermistor-divider",
    "valve": "solenoid", "vibrating pump": "solenoid", "voltage doubler": "mains-rectifier",
    "zener": "zener-regulator",
}  # fmt: skip


@lru_cache(maxsize=None)
def kind(name: str) -> Kind:
    """The kind of that name. Raises KeyError where there is none."""
    if name not in names():
        raise KeyError(name)
    module = import_module(f"generator.circuit.kinds.{name.replace('-', '_')}")
    kinds = (found for found in vars(module).values() if isinstance(found, type) and issubclass(found, Kind))
    return next(found for found in kinds if found.__module__ == module.__name__)()


def all_kinds() -> list[Kind]:
    """Every kind, in alphabetical order."""
    return [kind(name) for name in names()]


def did_you_mean_kind(called: str, *more: str) -> str:
    """A hint for a name that is no kind: the kind whose name or title it is like ("voltage divider"), else all of them."""
    plain = " ".join(re.sub(r"[-_]", " ", called).lower().split())
    meant = {found.title.lower(): found.name for found in all_kinds()} | TRADE_WORDS
    return f"did you mean {meant[plain]}?" if plain in meant else did_you_mean(called, [*names(), *more])
