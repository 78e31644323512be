"""Fan heater: two relays, two elements, an optocoupler that tells the controller of the supply."""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Fan heater blows lukewarm
date: 2026-02-09
device: {kind: fan heater, category: Small home electrical, make: Corbel, model: FH-2, year: 2014,
         plate: {supply: 230 V, power: 1800 W, class: II}}
symptoms: [lukewarm]
outcome: unknown
states:
  idle: {}
  low: {on: [low-drive, fan-drive]}
  full: {on: [low-drive, high-drive, fan-drive]}
blocks:
  inlet: {kind: mains-inlet, load: 1800 W, fuse: F1 10A, thermal_fuses: [TF1 152C live, TF2 152C neutral]}
  supply: {kind: transformer-supply, primary: inlet, transformer: T1, rectifier: BR1 bridge, secondary: 12 V,
           rated_current: 500 mA, smoothing: C1 1000u 25V 20%, also: [C2 100n from plus to common]}
  reg: {kind: linear-regulator, regulator: U1, input: supply, output: 5 V, output_capacitor: C3 47u 16V}
  present: {kind: optocoupler, optocoupler: U3, ctr: 100 %, input_supply: supply, input_resistor: R1 2k2,
            output_supply: reg, pull_up: R2 10k}
  controller: {kind: microcontroller, designator: U2, supply: reg,
               pins: [1 VDD, 2 present <- present, 3 air <- air, 5 low -> low-drive, 6 high -> high-drive,
                      7 fan -> fan-drive, 8 GND]}
  air: {kind: thermistor-divider, supply: reg, fixed: R3 4k7 1%, thermistor: TH1 10k B3435 3%,
          thermistor_side: upper}
  low-drive: {kind: transistor-switch, drive: 5 V, base: R4 4k7, pull_down: R5 47k,
          transistor: Q1 hfe250 500mA 45V,
              load: RL1 360 12V, load_supply: supply, flyback: D1}
  low: {kind: heater, power: HE1 900 W, rated_voltage: 230 V, supply: inlet, contact: RL1 10A}
  high-drive: {kind: transistor-switch, drive: 5 V, base: R6 4k7, pull_down: R7 47k,
          transistor: Q2 hfe250 500mA 45V,
               load: RL2 360 12V, load_supply: supply, flyback: D2}
  high: {kind: heater, power: HE2 900 W, rated_voltage: 230 V, supply: inlet, contact: RL2 10A}
  fan-drive: {kind: mosfet-switch, drive: 5 V, gate: R8 1k, pull_down: R9 100k,
          transistor: Q3 vth2 rds0R1 30V,
              load_supply: supply, flyback: D3}
  fan: {kind: dc-motor, motor: M1, supply: supply, winding: 20, running_current: 180 mA}
joins: [[fan.minus, fan-drive.drain]]
connectors: {CN1: [fan.plus, fan-drive.drain], CN2: [reg.out, air.tap]}
test_points: {TP1: supply.plus, TP2: reg.out, TP3: present.out}
"""
NETS = """
inlet: live=ml neutral=mp live_out=l2 neutral_out=mn
supply: primary_live=l2 primary_neutral=mn plus=vp common=0
reg: in=vp out=v5 common=0
present: input=vp input_common=0 output_supply=v5 out=oc common=0
air: supply=v5 tap=tap common=0
low-drive: drive=plow base=b1 collector=c1 load_supply=vp common=0
low: live=l2 neutral=mn
high-drive: drive=phigh base=b2 collector=c2 load_supply=vp common=0
high: live=l2 neutral=mn
fan-drive: drive=pfan gate=g3 drain=d3 load_supply=vp common=0
fan: plus=vp minus=d3
controller: VDD=v5 present=oc air=tap low=plow high=phigh fan=pfan GND=0
"""
POINTS = "TP1=vp TP2=v5 TP3=oc CN1/1=vp CN1/2=d3 CN2/1=v5 CN2/2=tap"
MAINS = "ml l1 l2 mn h1 h2"
SWEEP = (26.0, 0.5)
LOADS = ("M1", "U2")


def build(draw: Draw) -> Board:
    b = Board(draw, ("idle", "low", "full"), load_parts=LOADS)
    b.islands = dict.fromkeys("ml l1 l2 mn h1 h2".split(), "mp")
    b.mains("ml", "mp")
    b.fuse("F1", "ml", "l1", 0.01, 10)
    b.thermal_fuse("TF1", "l1", "l2", 0.01, "HE1 HE2", "M1")
    b.thermal_fuse("TF2", "mp", "mn", 0.01)  # TF1 is the hotter one and goes first
    b.transformer("T1", ("l2", "mn"), "vp", "0", 12, 6, "BR1", ("C1", "1000u"), 480)
    b.c("C2", "vp", "0")
    b.regulator("U1", "vp", "v5", "0", 5)
    b.c("C3", "v5", "0")
    b.r("R1", "vp", "oa", "2k2")
    b.opto("U3", "oa", "0", "oc", "0", (50, 110, 300))
    b.r("R2", "v5", "oc", "10k")
    b.chip("U2", "v5", "0", 5, 10e-3)
    b.joint("CN2 pin 1", "v5", "thw")
    b.ntc("TH1", "thw", "tap", "10k", 3435, 3)
    b.r("R3", "tap", "0", "4k7", 1)
    b.pin("low", "plow", "v5", "low full")
    b.r("R4", "plow", "b1", "4k7")
    b.r("R5", "b1", "0", "47k")
    b.npn("Q1", "c1", "b1", "0", "b")
    b.coil("RL1", "vp", "c1", 360, 12)
    b.diode("D1", "c1", "vp")
    b.contact("RL1", "l2", "h1", 3.9)
    b.heater("HE1", "h1", "mn", 900, 230)
    b.pin("high", "phigh", "v5", "full")
    b.r("R6", "phigh", "b2", "4k7")
    b.r("R7", "b2", "0", "47k")
    b.npn("Q2", "c2", "b2", "0", "b")
    b.coil("RL2", "vp", "c2", 360, 12)
    b.diode("D2", "c2", "vp")
    b.contact("RL2", "l2", "h2", 3.9)
    b.heater("HE2", "h2", "mn", 900, 230)
    b.pin("fan", "pfan", "v5", "low full")
    b.r("R8", "pfan", "g3", "1k")
    b.r("R9", "g3", "0", "100k")
    b.nmos("Q3", "d3", "g3", "0", (1, 2, 2.5), 0.1)
    b.joint("CN1 pin 2", "d3", "mw")
    b.motor("M1", "vp", "mw", 20, 13, 0.18)
    b.diode("D3", "d3", "vp", "rectifier")
    b.bridges(
        "vp v5",
        "v5 tap",
        "oc v5",
        "plow b1",
        "b1 c1",
        "c1 vp",
        "phigh b2",
        "plow phigh",
        "g3 d3",
        "pfan g3",
        "vp oa",
    )
    return b
