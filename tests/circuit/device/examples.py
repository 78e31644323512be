"""Whole devices as notes write them: an example of our own, and those that the benchmark simulates."""

from __future__ import annotations

import importlib
import pkgutil
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

from generator.circuit import catalogue
from generator.circuit.device import Device, State, Told, work_out
from generator.circuit.point import Mains

BENCHMARKS = Path(__file__).resolve().parent.parent.parent / "benchmarks"

BOX = """
states:
  asleep: {}
  heating: {"on": [relay-drive, fan-drive]}
  warm: {"on": [lamp], air: 60}
blocks:
  inlet: {kind: mains-inlet, load: 150 W, fuse: F1 T1A, x_capacitor: C1 100n X2, bleeder: R1 1M}
  supply: {kind: transformer-supply, primary: inlet, secondary: 12 V, smoothing: C3 680u 25V 20%, regulation: 15 %,
           rated_current: 300 mA, load: 120 mA, also: [C2 100n from plus to common]}
  reg: {kind: linear-regulator, input: supply, output: 5 V}
  air: {kind: thermistor-divider, supply: reg, fixed: R9 10k 1%, thermistor: TH1 10k B3950 1%,
        also: [RV2 14V from pin to common, R44 100k from pin to common]}
  brain: {kind: microcontroller, designator: U2, supply: reg, decoupling: C8 100n,
          pins: [1 VDD, 2 heater -> relay-drive, 3 air <- air, 4 lamp -> lamp, 5 fan -> fan-drive, 8 GND]}
  relay-drive: {kind: transistor-switch, base: R14 4k7, pull_down: R15 47k, transistor: Q1 hfe100 500mA 45V,
                load: RL1 400 12V, load_supply: supply, flyback: D6}
  fan-drive: {kind: mosfet-switch, gate: R16 100, pull_down: R17 100k, transistor: Q2 vth2 rds0R05, load: FAN1 120,
              load_supply: supply, flyback: D7}
  lamp: {kind: led-indicator, resistor: R20 470, forward: LD1 red}
  element: {kind: heater, power: HE1 95 W, rated_voltage: 230 V, supply: inlet, contact: RL1 5A}
  sense: {kind: divider, supply: supply, upper: R30 100k, lower: R31 22k}
connectors: {CN3: [reg.out, air.tap -> TH1, supply.common]}
test_points: {TP5: reg.out}
"""


def told(front: Mapping[str, Any]) -> Told:
    """The device as a whole from plain front matter; sensors in plain numbers of °C or lux."""
    states = []
    for name, entry in (front.get("states") or {}).items():
        given = {"on" if key is True else str(key): value for key, value in (entry or {}).items()}
        sensors = {key: float(str(value).split()[0]) for key, value in given.items() if key != "on"}
        states.append(State(str(name), tuple(given.get("on", ())), sensors))
    connectors = {name: tuple(pins) for name, pins in (front.get("connectors") or {}).items()}
    joins = tuple(tuple(places) for places in front.get("joins") or ())
    return Told(tuple(states), joins, connectors, front.get("test_points") or {})


def _known(blocks: dict[str, Any]) -> dict[str, Any]:
    """The blocks without parameters that only name a part which their kind has no parameter for."""
    return {
        name: {
            key: entry
            for key, entry in block.items()
            if key in ("kind", "also") or catalogue.kind(block["kind"]).param(key)
        }
        for name, block in blocks.items()
    }


def built(text: str) -> Device:
    """The device of a front matter's text."""
    front = yaml.safe_load(text)
    front["blocks"] = _known(front["blocks"])
    return work_out(front["blocks"], Mains(), told(front))


def box(**changes: Any) -> Device:
    """The example, with further keys of the front matter or other blocks."""
    front = yaml.safe_load(BOX)
    front["blocks"].update(changes.pop("blocks", {}))
    front.update(changes)
    return work_out(front["blocks"], Mains(), told(front))


def simulated() -> dict[str, str]:
    """The front matter of every device that the benchmark simulates."""
    sys.path.insert(0, str(BENCHMARKS))
    try:
        package = importlib.import_module("whole_devices.makes")
        modules = [
            importlib.import_module(f"whole_devices.makes.{m.name}")
            for m in pkgutil.iter_modules(package.__path__)
        ]
    finally:
        sys.path.remove(str(BENCHMARKS))
    return {module.__name__.rpartition(".")[2]: module.NOTE for module in modules}
