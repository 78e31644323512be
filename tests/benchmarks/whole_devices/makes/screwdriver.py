"""Cordless screwdriver: NiCd pack, MOSFET and motor over a sense resistor, trigger, charging lamp."""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Screwdriver turns once and stops
date: 2025-11-30
device: {kind: cordless screwdriver, category: Power tool, make: Rodbury, model: CS-4, year: 2010,
         plate: {supply: 7.2 V, power: 30 W, class: III}}
symptoms: [turns once and stops]
outcome: unknown
states:
  resting: {}
  turning: {on: [fet]}
blocks:
  pack: {kind: battery-pack, cells: 6, chemistry: ni-cd, capacity: 1300 mAh, load: 2 A}
  charge: {kind: charge-resistor, supply: 12 V, battery: pack.nominal, resistor: R1 47 3W, chemistry: ni-cd}
  controller: {kind: microcontroller, designator: U2, supply: reg, decoupling: C3 100n,
               pins: [1 VDD, 2 current <- shunt, 3 trigger <- trigger, 4 level <- watch, 5 drive -> fet,
          8 GND]}
  reg: {kind: linear-regulator, regulator: U1, input: pack, output: 5 V, dropout: 0.4 V, quiescent: 1 mA,
        output_capacitor: C2 10u 16V}
  trigger: {kind: button-input, button: S1, supply: reg, pull_up: R2 10k, series: R3 2k2, capacitor: C4 10n}
  watch: {kind: divider, supply: pack, upper: R4 33k 1%, lower: R5 22k 1%, series: R6 1k}
  fet: {kind: mosfet-switch, drive: 5 V, gate: R7 100, pull_down: R8 100k,
          transistor: Q1 vth2 rds0R02 30A 30V,
        load_supply: pack, flyback: D1}
  motor: {kind: dc-motor, motor: M1, supply: pack, winding: 0.6, running_current: 2 A}
  shunt: {kind: sense-resistor, shunt: R9 0R05 2W}
  ok: {kind: led-indicator, supply: reg, resistor: R10 560, forward: LD1 green}
joins: [[charge.out, pack.plus], [motor.minus, fet.drain], [fet.common, shunt.top]]
connectors: {CN1: [motor.plus, fet.drain]}
test_points: {TP1: pack.plus, TP2: reg.out, TP3: shunt.top}
"""
NETS = """
pack: plus=vb minus=0
charge: in=va out=vb common=0
reg: in=vb out=v5 common=0
trigger: supply=v5 pin=spin common=0
watch: supply=vb tap=tap pin=wpin common=0
fet: drive=pdrv gate=g1 drain=d1 load_supply=vb common=sh
motor: plus=vb minus=d1
shunt: top=sh common=0
ok: supply=v5 common=0
controller: VDD=v5 current=sh trigger=spin level=wpin drive=pdrv GND=0
"""
POINTS = "TP1=vb TP2=v5 TP3=sh CN1/1=vb CN1/2=d1"
MAINS = ""
SWEEP = None
LOADS = ("M1", "U2")


def build(draw: Draw) -> Board:
    b = Board(draw, ("resting", "turning"), load_parts=LOADS)
    b.adapter("charge", "va", "0", 12)
    b.r("R1", "va", "vb", "47")
    b.battery("BT1", "vb", "0", "ni-cd", 6, 0.12)
    b.regulator("U1", "vb", "v5", "0", 5, 1e-3, (0.2, 0.35, 0.5))
    b.c("C2", "v5", "0")
    b.c("C3", "v5", "0")
    b.chip("U2", "v5", "0", 5, 4e-3)
    b.r("R2", "v5", "sw", "10k")
    b.switch("S1", "sw", "0", "turning")
    b.r("R3", "sw", "spin", "2k2")
    b.c("C4", "spin", "0")
    b.r("R4", "vb", "tap", "33k", 1)
    b.r("R5", "tap", "0", "22k", 1)
    b.r("R6", "tap", "wpin", "1k")
    b.pin("drive", "pdrv", "v5", "turning")
    b.r("R7", "pdrv", "g1", "100")
    b.r("R8", "g1", "sh", "100k")
    b.nmos("Q1", "d1", "g1", "sh", (1, 2, 2.5), 0.02)
    b.joint("CN1 pin 2", "d1", "mw")
    b.motor("M1", "vb", "mw", 0.6, 7.2, 2)
    b.diode("D1", "d1", "vb", "rectifier")
    b.r("R9", "sh", "0", 0.05)
    b.r("R10", "v5", "la", "560")
    b.led("LD1", "la", "0", "green")
    b.bridges("vb v5", "v5 la", "vb tap", "pdrv g1", "g1 d1", "sw spin", "d1 vb")
    return b
