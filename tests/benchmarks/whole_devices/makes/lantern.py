"""Rechargeable lantern: four NiMH cells, charged through a resistor from a 9 V adapter, MOSFET for the
lamp.
"""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Lantern dims after a minute
date: 2026-03-01
device: {kind: rechargeable lantern, category: Lamp, make: Colmere, model: RL-9, year: 2018,
         plate: {supply: 9 V, power: 4 W, class: III}}
symptoms: [dims after a minute]
outcome: unknown
states:
  standby: {}
  lit: {on: [lamp-drive]}
blocks:
  charge: {kind: charge-resistor, supply: 9 V, battery: pack.nominal, resistor: R1 33 2W, chemistry: ni-mh}
  pack: {kind: battery-pack, cells: 4, chemistry: ni-mh, capacity: 1800 mAh, load: 110 mA}
  controller: {kind: microcontroller, designator: U1, supply: pack, decoupling: C1 100n,
               pins: [1 VDD, 2 level <- watch, 3 press <- press, 5 lamp -> lamp-drive, 8 GND]}
  watch: {kind: divider, supply: pack, upper: R2 100k 1%, lower: R3 47k 1%, capacitor: C2 100n}
  press: {kind: button-input, button: S1, supply: pack, pull_up: R4 22k}
  lamp-drive: {kind: mosfet-switch, drive: 5 V, gate: R5 220, pull_down: R6 47k,
          transistor: Q1 vth1 rds0R05 20V,
               load_supply: pack}
  lamp: {kind: led-indicator, supply: pack, resistor: R7 18 1W, forward: LD1 white}
  charging: {kind: led-indicator, supply: 9 V, resistor: R8 1k, forward: LD2 red}
joins: [[charge.out, pack.plus], [lamp.common, lamp-drive.drain]]
connectors: {CN1: [charge.out -> BT1, pack.minus]}
test_points: {TP1: pack.plus, TP2: watch.tap}
"""
NETS = """
charge: in=va out=vb common=0
pack: plus=vb minus=0
watch: supply=vb tap=tap pin=tap common=0
press: supply=vb pin=spin common=0
lamp-drive: drive=plamp gate=g1 drain=d1 load_supply=vb common=0
lamp: supply=vb common=d1
charging: supply=va common=0
controller: VDD=vb level=tap press=spin lamp=plamp GND=0
"""
POINTS = "TP1=vb TP2=tap CN1/1=vb CN1/2=0"
MAINS = ""
SWEEP = None
LOADS = ("U1",)


def build(draw: Draw) -> Board:
    b = Board(draw, ("standby", "lit"), load_parts=LOADS)
    b.adapter("charge", "va", "0", 9)
    b.r("R1", "va", "vb", "33")
    b.joint("CN1 pin 1", "vb", "bat")
    b.battery("BT1", "bat", "0", "ni-mh", 4, 0.15)
    b.chip("U1", "vb", "0", 5, 2e-3)
    b.c("C1", "vb", "0")
    b.r("R2", "vb", "tap", "100k", 1)
    b.r("R3", "tap", "0", "47k", 1)
    b.c("C2", "tap", "0")
    b.r("R4", "vb", "spin", "22k")
    b.switch("S1", "spin", "0", "")
    b.pin("lamp", "plamp", "vb", "lit")
    b.r("R5", "plamp", "g1", "220")
    b.r("R6", "g1", "0", "47k")
    b.nmos("Q1", "d1", "g1", "0", (0.6, 1, 1.5), 0.05)
    b.r("R7", "vb", "la", "18")
    b.led("LD1", "la", "d1", "power white")
    b.r("R8", "va", "ca", "1k")
    b.led("LD2", "ca", "0", "red")
    b.bridges("va vb", "vb tap", "plamp g1", "g1 d1", "vb la", "va ca", "spin plamp")
    return b
