"""Key box: four alkaline cells, 3.3 V, keypad button, solenoid on a MOSFET, two lamps."""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Key box beeps but the bolt stays shut
date: 2026-01-30
device: {kind: key box, category: Misc, make: Strowell, model: LB-2, year: 2019,
         plate: {supply: 6 V, power: 5 W, class: III}}
symptoms: [bolt stays shut]
outcome: unknown
states:
  asleep: {}
  opening: {on: [bolt, ok]}
blocks:
  pack: {kind: battery-pack, cells: 4, chemistry: alkaline, capacity: 2000 mAh, load: 10 mA}
  reg: {kind: linear-regulator, regulator: U1, input: pack, output: 3.3 V, dropout: 0.3 V, quiescent: 0.1 mA,
        input_capacitor: C1 10u 16V, output_capacitor: C2 10u 10V}
  controller: {kind: microcontroller, designator: U2, supply: reg,
               pins: [1 VDD, 2 level <- level, 3 key <- key, 5 bolt -> bolt, 6 ok -> ok, 8 GND]}
  level: {kind: divider, supply: pack, upper: R1 220k 1%, lower: R2 100k 1%, capacitor: C3 10n}
  key: {kind: button-input, button: S1, supply: reg, pull_up: R3 100k, series: R4 4k7, capacitor: C4 10n}
  bolt: {kind: mosfet-switch, drive: 3.3 V, gate: R5 470, pull_down: R6 100k, transistor: Q1 vth1 rds0R05 20V,
         load: L1 12, load_supply: pack, flyback: D1}
  ok: {kind: transistor-switch, drive: 3.3 V, base: R7 4k7, transistor: Q2 hfe250 45V, load_supply: pack}
  green: {kind: led-indicator, supply: pack, resistor: R8 270, forward: LD1 green}
  live: {kind: led-indicator, supply: reg, resistor: R9 4k7, forward: LD2 red}
joins: [[green.common, ok.collector]]
connectors: {CN1: [pack.plus, bolt.drain]}
test_points: {TP1: pack.plus, TP2: reg.out, TP3: level.tap}
"""
NETS = """
pack: plus=vb minus=0
reg: in=vb out=v3 common=0
level: supply=vb tap=tap pin=tap common=0
key: supply=v3 pin=spin common=0
bolt: drive=pb gate=g1 drain=d1 load_supply=vb common=0
ok: drive=pok base=b2 collector=c2 load_supply=vb common=0
green: supply=vb common=c2
live: supply=v3 common=0
controller: VDD=v3 level=tap key=spin bolt=pb ok=pok GND=0
"""
POINTS = "TP1=vb TP2=v3 TP3=tap CN1/1=vb CN1/2=d1"
MAINS = ""
SWEEP = None
LOADS = ("U2",)


def build(draw: Draw) -> Board:
    b = Board(draw, ("asleep", "opening"), load_parts=LOADS)
    b.battery("BT1", "vb", "0", "alkaline", 4, 0.8)
    b.c("C1", "vb", "0")
    b.regulator("U1", "vb", "v3", "0", 3.3, 1e-4, (0.1, 0.2, 0.35))
    b.c("C2", "v3", "0")
    b.chip("U2", "v3", "0", 3.3, 2e-3)
    b.r("R1", "vb", "tap", "220k", 1)
    b.r("R2", "tap", "0", "100k", 1)
    b.c("C3", "tap", "0")
    b.r("R3", "v3", "sw", "100k")
    b.switch("S1", "sw", "0", "")
    b.r("R4", "sw", "spin", "4k7")
    b.c("C4", "spin", "0")
    b.pin("bolt", "pb", "v3", "opening")
    b.r("R5", "pb", "g1", "470")
    b.r("R6", "g1", "0", "100k")
    b.nmos("Q1", "d1", "g1", "0", (0.6, 1, 1.5), 0.05)
    b.joint("CN1 pin 2", "d1", "lw")
    b.r("L1", "vb", "lw", "12", 10)
    b.diode("D1", "d1", "vb", "rectifier")
    b.pin("ok", "pok", "v3", "opening")
    b.r("R7", "pok", "b2", "4k7")
    b.npn("Q2", "c2", "b2", "0", "b")
    b.r("R8", "vb", "ga", "270")
    b.led("LD1", "ga", "c2", "green")
    b.r("R9", "v3", "ra", "4k7")
    b.led("LD2", "ra", "0", "red")
    b.bridges("vb v3", "vb tap", "pb g1", "g1 d1", "pok b2", "b2 c2", "vb ga", "v3 ra", "spin v3", "pb pok")
    return b
