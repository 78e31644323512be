"""Garden pump on a lead-acid battery: regulator, MOSFET, sense resistor with an over-current comparator."""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Pump stops after seconds
date: 2026-03-10
device: {kind: garden pump, category: Misc, make: Wellmere, model: GP-6, year: 2016,
         plate: {supply: 12 V, power: 30 W, class: III}}
symptoms: [stops after seconds]
outcome: unknown
states:
  resting: {}
  pumping: {on: [fet]}
blocks:
  pack: {kind: battery-pack, cells: 6, chemistry: lead-acid, capacity: 7 Ah, load: 2 A}
  reg: {kind: linear-regulator, regulator: U1, input: pack, output: 5 V, output_capacitor: C1 47u 10V}
  controller: {kind: microcontroller, designator: U2, supply: reg,
               pins: [1 VDD, 2 level <- watch, 3 over <- limit, 4 dusk <- dusk, 5 pump -> fet, 8 GND]}
  watch: {kind: divider, supply: pack, upper: R1 47k 1%, lower: R2 15k 1%, capacitor: C2 100n}
  dusk: {kind: light-divider, supply: reg, fixed: R3 22k, sensor: LDR1 10k gamma0.7 40%, sensor_side: upper}
  fet: {kind: mosfet-switch, drive: 5 V, gate: R4 220, pull_down: R5 47k, transistor: Q1 vth2 rds0R03 20A 40V,
        load_supply: pack, flyback: D1}
  pump: {kind: dc-motor, motor: M1, supply: pack, winding: 1.2, running_current: 2 A}
  shunt: {kind: sense-resistor, shunt: R6 0R1 2W}
  trip: {kind: divider, supply: reg, upper: R7 47k, lower: R8 4k7}
  limit: {kind: comparator, comparator: U3, supply: reg, reference: 0.45 V, input_resistor: R9 10k,
          feedback: R10 1M,
          pull_up: R11 10k, input: non-inverting}
  ready: {kind: led-indicator, supply: reg, resistor: R12 330, forward: LD1 green}
joins: [[pump.minus, fet.drain], [fet.common, shunt.top], [shunt.top, limit.input],
        [trip.tap, limit.reference]]
connectors: {CN1: [pump.plus, fet.drain], CN2: [pack.plus -> BT1, pack.minus]}
test_points: {TP1: pack.plus, TP2: reg.out, TP3: shunt.top, TP4: limit.out}
"""
NETS = """
pack: plus=vb minus=0
reg: in=vb out=v5 common=0
watch: supply=vb tap=tap pin=tap common=0
dusk: supply=v5 tap=dk common=0
fet: drive=pp gate=g1 drain=d1 load_supply=vb common=sh
pump: plus=vb minus=d1
shunt: top=sh common=0
trip: supply=v5 tap=ref common=0
limit: input=sh reference=ref out=co supply=v5 common=0
ready: supply=v5 common=0
controller: VDD=v5 level=tap over=co dusk=dk pump=pp GND=0
"""
POINTS = "TP1=vb TP2=v5 TP3=sh TP4=co CN1/1=vb CN1/2=d1 CN2/1=vb CN2/2=0"
MAINS = ""
SWEEP = None
LOADS = ("M1", "U2")


def build(draw: Draw) -> Board:
    b = Board(draw, ("resting", "pumping"), load_parts=LOADS)
    b.battery("BT1", "bat", "0", "lead-acid", 6, 0.06)
    b.joint("CN2 pin 1", "bat", "vb")
    b.regulator("U1", "vb", "v5", "0", 5)
    b.c("C1", "v5", "0")
    b.chip("U2", "v5", "0", 5, 7e-3)
    b.r("R1", "vb", "tap", "47k", 1)
    b.r("R2", "tap", "0", "15k", 1)
    b.c("C2", "tap", "0")
    b.ldr("LDR1", "v5", "dk", "10k", 40)
    b.r("R3", "dk", "0", "22k")
    b.pin("pump", "pp", "v5", "pumping")
    b.r("R4", "pp", "g1", "220")
    b.r("R5", "g1", "sh", "47k")
    b.nmos("Q1", "d1", "g1", "sh", (1, 2, 2.5), 0.03)
    b.joint("CN1 pin 2", "d1", "mw")
    b.motor("M1", "vb", "mw", 1.2, 12, 2)
    b.diode("D1", "d1", "vb", "rectifier")
    b.r("R6", "sh", "0", 0.1)
    b.r("R7", "v5", "ref", "47k")
    b.r("R8", "ref", "0", "4k7")
    b.r("R9", "sh", "plus", "10k")
    b.r("R10", "plus", "co", "1M")
    b.comparator("U3", "plus", "ref", "co", "0", "v5")
    b.r("R11", "v5", "co", "10k")
    b.r("R12", "v5", "la", "330")
    b.led("LD1", "la", "0", "green")
    b.bridges("vb v5", "vb tap", "v5 dk", "pp g1", "g1 d1", "d1 vb", "sh ref", "plus co", "co v5", "v5 la")
    return b
