"""Wake-up lamp: 12 V adapter, 5 V, PNP high-side switch for the lamp, buzzer, light sensor, button."""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Wake-up lamp buzzes but gives no light
date: 2026-01-08
device: {kind: wake-up lamp, category: Lamp, make: Ellerby, model: DL-1, year: 2017,
         plate: {supply: 12 V, power: 6 W, class: III}}
symptoms: [no light]
outcome: unknown
states:
  waiting: {}
  dawn: {on: [pull, buzz]}
blocks:
  reg: {kind: linear-regulator, regulator: U1, input: 12 V, output: 5 V, input_capacitor: C1 100u 25V,
        output_capacitor: C2 47u 10V}
  controller: {kind: microcontroller, designator: U2, supply: reg,
               pins: [1 VDD, 3 light <- light, 4 snooze <- snooze, 6 dawn -> pull, 7 buzz -> buzz, 8 GND]}
  light: {kind: light-divider, supply: reg, fixed: R1 10k, sensor: LDR1 10k gamma0.7 40%}
  snooze: {kind: button-input, button: S1, supply: reg, pull_up: R2 47k, capacitor: C3 100n}
  pull: {kind: transistor-switch, drive: 5 V, base: R3 10k, transistor: Q1 hfe200 45V}
  high: {kind: high-side-switch, supply: 12 V, transistor: Q2 hfe100 1A, base: R4 1k, pull_up: R5 10k}
  lamp: {kind: led-indicator, supply: high, resistor: R6 33 1W, forward: LD1-LD3 white, count: 3}
  buzz: {kind: transistor-switch, drive: 5 V, base: R7 2k2, pull_down: R8 10k, transistor: Q3 hfe200 45V,
          load: BZ1 240,
         load_supply: 12 V, flyback: D1}
  power-lamp: {kind: led-indicator, supply: reg, resistor: R9 1k, forward: LD4 red}
joins: [[high.drive, pull.collector]]
connectors: {CN1: [reg.in, reg.common], CN2: [high.out, reg.common]}
test_points: {TP1: reg.in, TP2: reg.out, TP3: high.out}
"""
NETS = """
reg: in=va out=v5 common=0
light: supply=v5 tap=tap common=0
snooze: supply=v5 pin=spin common=0
pull: drive=pdawn base=b1 collector=c1 common=0
high: supply=va drive=c1 base=b2 out=ho common=0
lamp: supply=ho common=0
buzz: drive=pbuzz base=b3 collector=c3 load_supply=va common=0
power-lamp: supply=v5 common=0
controller: VDD=v5 light=tap snooze=spin dawn=pdawn buzz=pbuzz GND=0
"""
POINTS = "TP1=va TP2=v5 TP3=ho CN1/1=va CN1/2=0 CN2/1=ho CN2/2=0"
MAINS = ""
SWEEP = None
LOADS = ("U2",)


def build(draw: Draw) -> Board:
    b = Board(draw, ("waiting", "dawn"), load_parts=LOADS)
    b.adapter("reg", "va", "0", 12)
    b.c("C1", "va", "0")
    b.regulator("U1", "va", "v5", "0", 5)
    b.c("C2", "v5", "0")
    b.chip("U2", "v5", "0", 5, 6e-3)
    b.r("R1", "v5", "tap", "10k")
    b.ldr("LDR1", "tap", "0", "10k", 40)
    b.r("R2", "v5", "spin", "47k")
    b.switch("S1", "spin", "0", "")
    b.c("C3", "spin", "0")
    b.pin("dawn", "pdawn", "v5", "dawn")
    b.r("R3", "pdawn", "b1", "10k")
    b.npn("Q1", "c1", "b1", "0", "b")
    b.r("R4", "c1", "b2", "1k")
    b.r("R5", "va", "b2", "10k")
    b.pnp("Q2", "ho", "b2", "va", "a")
    b.r("R6", "ho", "la", "33")
    b.led("LD1", "la", "lb", "power white")
    b.led("LD2", "lb", "lc", "power white")
    b.led("LD3", "lc", "0", "power white")
    b.pin("buzz", "pbuzz", "v5", "dawn")
    b.r("R7", "pbuzz", "b3", "2k2")
    b.r("R8", "b3", "0", "10k")
    b.npn("Q3", "c3", "b3", "0", "b")
    b.r("BZ1", "va", "c3", "240", 15)
    b.diode("D1", "c3", "va")
    b.r("R9", "v5", "na", "1k")
    b.led("LD4", "na", "0", "red")
    b.bridges("va v5", "v5 tap", "b1 c1", "c1 b2", "b2 va", "ho la", "pbuzz b3", "b3 c3", "la lb", "v5 na")
    return b
