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

# A battery tool with its charger, and beside it a fan whose board lies on the mains: no device, but kinds that BOX has not.
DRILL_AND_FAN = """
states:
  charging: {}
  turning: {"on": [blades]}
joins: [[dropper.live, blades.live], [dropper.neutral, blades.neutral], [dimmer.neutral, blades.neutral], [dimmer.load, blades.load]]
blocks:
  brick: {kind: transformer-supply, secondary: 12 V, smoothing: C1 1000u 25V, regulation: 15 %, rated_current: 1.5 A, load: 1.2 A}
  charge: {kind: lithium-charger, input: brick, battery: pack, sense: R3 0R1, resistance: 200 mohm, balancer: R5-R7 62}
  pack: {kind: battery-pack, cells: 3, chemistry: li-ion, capacity: 2 Ah, load: 3 A}
  motor: {kind: bldc-motor, supply: pack, winding: M1 0R6, pole_pairs: 4, kv: 300 rpm/V, speed: 2700 rpm, bridge: 20 mohm,
          shunt: R30 0R05 2W, limit: 0.5 V, transistors: Q1-Q6, hall: U2}
  dropper: {kind: capacitive-dropper, dropper: C11 680n X2 275V, series: R11 100 1W, discharge: R12 470k 0.5W 500V,
            rectifier: half-wave D11, output: 4.9 V, clamp: ZD11 5V6 1W, smoothing: C12 470u 16V, load: 5 mA}
  eye: {kind: microcontroller, designator: U11, supply: dropper, pins: [1 VDD, 2 blades -> blades, 3 GND]}
  blades: {kind: triac-switch, load: 45 W, triac: TR11 1A 600V, gate_resistor: R17 470, snubber_resistor: R18 100 0.5W,
           snubber_capacitor: C16 10n X2 275V}
  dimmer: {kind: phase-control, fixed: R21 4k7, pot: VR21 470k, capacitor: C21 68n, breakover: DB21 32V}
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
