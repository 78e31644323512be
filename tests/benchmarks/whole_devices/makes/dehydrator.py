"""Food dehydrator: transformer, 5 V, thermistor, relay for the element, MOSFET for the fan."""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Dehydrator blows cold air
date: 2026-02-03
device: {kind: food dehydrator, category: Small kitchen item, make: Tarnwick, model: FD-6, year: 2015,
         plate: {supply: 230 V, power: 270 W, class: II}}
symptoms: [blows cold air]
outcome: unknown
states:
  idle: {}
  drying: {on: [relay-drive, fan-drive]}
blocks:
  inlet: {kind: mains-inlet, load: 270 W, fuse: F1 3A, thermal_fuses: [TF1 110C live],
          x_capacitor: C1 100n X2 275V,
          bleeder: R1 1M 0.5W}
  supply: {kind: transformer-supply, primary: inlet, transformer: T1, rectifier: D1-D4 bridge, secondary: 9 V,
           rated_current: 400 mA, smoothing: C3 1000u 25V 20%}
  reg: {kind: linear-regulator, regulator: U1, input: supply, output: 5 V, output_capacitor: C4 100u 10V}
  air: {kind: thermistor-divider, supply: reg, fixed: R9 10k 1%, thermistor: TH1 10k B3950 1%, series: R8 1k5,
        capacitor: C6 47n}
  controller: {kind: microcontroller, designator: U2, supply: reg,
               pins: [1 VDD, 3 air <- air, 5 start <- start, 9 heat -> relay-drive, 10 fan -> fan-drive,
          14 GND]}
  start: {kind: button-input, button: S1, supply: reg, pull_up: R12 10k, series: R13 1k, capacitor: C7 100n}
  lamp: {kind: led-indicator, supply: reg, resistor: R14 470, forward: LD1 green}
  relay-drive: {kind: transistor-switch, drive: 5 V, base: R16 2k2, pull_down: R17 10k,
          transistor: Q1 hfe200 500mA 45V,
                load: RL1 120 9V, load_supply: supply, flyback: D6}
  element: {kind: heater, power: HE1 250 W, rated_voltage: 230 V, supply: inlet, contact: RL1 5A}
  fan-drive: {kind: mosfet-switch, drive: 5 V, gate: R18 100, pull_down: R19 100k,
          transistor: Q2 vth2 rds0R05 5A 30V,
              load: M1 45, load_supply: supply, flyback: D7}
connectors: {CN2: [reg.out, air.tap -> TH1, supply.common]}
test_points: {TP1: supply.plus, TP2: reg.out}
"""
NETS = """
inlet: live=ml neutral=mn live_out=l2 neutral_out=mn
supply: primary_live=l2 primary_neutral=mn plus=vp common=0
reg: in=vp out=v5 common=0
air: supply=v5 tap=tap pin=apin common=0
start: supply=v5 pin=spin common=0
lamp: supply=v5 common=0
relay-drive: drive=pheat base=b1 collector=c1 load_supply=vp common=0
element: live=l2 neutral=mn
fan-drive: drive=pfan gate=g2 drain=d2 load_supply=vp common=0
controller: air=apin start=spin heat=pheat fan=pfan VDD=v5 GND=0
"""
POINTS = "TP1=vp TP2=v5 CN2/1=v5 CN2/2=tap CN2/3=0"
MAINS = "ml l1 l2 he"
SWEEP = (18.0, 0.5)
LOADS = ("U2", "M1")


def build(draw: Draw) -> Board:
    b = Board(draw, ("idle", "drying"), load_parts=LOADS)
    b.islands = dict.fromkeys("ml l1 l2 he".split(), "mn")
    b.mains()
    b.fuse("F1", "ml", "l1", 0.05, 3)
    b.thermal_fuse("TF1", "l1", "l2", 0.02, "HE1", "M1")
    b.across_line("C1", "l1", "mn")
    b.r("R1", "l1", "mn", "1M")
    b.transformer("T1", ("l2", "mn"), "vp", "0", 9, 3.6, "D1-D4", ("C3", "1000u"), 700)
    b.regulator("U1", "vp", "v5", "0", 5)
    b.c("C4", "v5", "0")
    b.r("R9", "v5", "tap", "10k", 1)
    b.joint("CN2 pin 2", "tap", "thw")
    b.ntc("TH1", "thw", "0", "10k", 3950, 1)
    b.r("R8", "tap", "apin", "1k5")
    b.c("C6", "apin", "0")
    b.chip("U2", "v5", "0", 5, 8e-3)
    b.r("R12", "v5", "sw", "10k")
    b.switch("S1", "sw", "0", "")
    b.r("R13", "sw", "spin", "1k")
    b.c("C7", "spin", "0")
    b.r("R14", "v5", "la", "470")
    b.led("LD1", "la", "0", "green")
    b.pin("heat", "pheat", "v5", "drying")
    b.r("R16", "pheat", "b1", "2k2")
    b.r("R17", "b1", "0", "10k")
    b.npn("Q1", "c1", "b1", "0", "b")
    b.coil("RL1", "vp", "c1", 120, 9)
    b.diode("D6", "c1", "vp")
    b.contact("RL1", "l2", "he", 1.09)
    b.heater("HE1", "he", "mn", 250, 230)
    b.pin("fan", "pfan", "v5", "drying")
    b.r("R18", "pfan", "g2", "100")
    b.r("R19", "g2", "0", "100k")
    b.nmos("Q2", "d2", "g2", "0", (1, 2, 2.5), 0.05)
    b.motor("M1", "vp", "d2", 45, 12, 0.25)
    b.diode("D7", "d2", "vp", "rectifier")
    b.bridges(
        "v5 tap", "tap apin", "pheat b1", "b1 c1", "c1 vp", "pfan g2", "g2 d2", "v5 la", "vp v5", "spin v5"
    )
    return b
