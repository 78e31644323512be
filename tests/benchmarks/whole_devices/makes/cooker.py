"""Slow cooker: half-wave transformer supply, zener, comparator with hysteresis, relay for the element."""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Slow cooker never gets warm
date: 2026-02-21
device: {kind: slow cooker, category: Small kitchen item, make: Hestwick, model: SC-35, year: 2009,
         plate: {supply: 230 V, power: 200 W, class: I}}
symptoms: [never gets warm]
outcome: unknown
states:
  cold: {}
  hot: {pot: 90 C}
blocks:
  inlet: {kind: mains-inlet, load: 200 W, fuse: F1 2A, thermal_fuses: [TF1 152C live], switch: S1 6A}
  supply: {kind: transformer-supply, primary: inlet, transformer: T1, rectifier: half-wave D1,
          secondary: 12 V,
           rated_current: 160 mA, smoothing: C1 1000u 35V 20%}
  logic: {kind: zener-regulator, supply: supply, series: R1 470 1W, zener: ZD1 5V6 500mW}
  pot: {kind: thermistor-divider, supply: logic, fixed: R2 10k, thermistor: TH1 100k B3950 5%,
          thermistor_side: lower}
  set: {kind: divider, supply: logic, upper: R3 10k, lower: R4 10k}
  watch: {kind: comparator, comparator: U1, supply: logic, reference: 2.8 V, input_resistor: R5 22k,
          feedback: R6 680k,
          pull_up: R7 4k7, input: non-inverting}
  drive: {kind: transistor-switch, drive: 5.6 V, base: R8 4k7, pull_down: R9 22k,
          transistor: Q1 hfe200 500mA 45V,
          load: RL1 400 12V, load_supply: supply, flyback: D2}
  element: {kind: heater, power: HE1 200 W, rated_voltage: 230 V, supply: inlet, contact: RL1 5A}
  lamp: {kind: led-indicator, supply: supply, resistor: R10 1k5, forward: LD1 amber}
joins: [[pot.tap, watch.input], [set.tap, watch.reference], [watch.out, drive.drive]]
connectors: {CN2: [pot.tap -> TH1, supply.common], CN3: [supply.plus, drive.collector]}
test_points: {TP1: supply.plus, TP2: logic.out}
"""
NETS = """
inlet: live=ml neutral=mn live_out=l3 neutral_out=mn
supply: primary_live=l3 primary_neutral=mn plus=vp common=0
logic: in=vp out=vz common=0
pot: supply=vz tap=tap common=0
set: supply=vz tap=ref common=0
watch: input=tap reference=ref out=co supply=vz common=0
drive: drive=co base=b1 collector=c1 load_supply=vp common=0
element: live=l3 neutral=mn
lamp: supply=vp common=0
"""
POINTS = "TP1=vp TP2=vz CN2/1=tap CN2/2=0 CN3/1=vp CN3/2=c1"
MAINS = "ml l1 l2 l3 he"
SWEEP = (28.0, 0.5)
LOADS = ("HE1",)


def build(draw: Draw) -> Board:
    b = Board(draw, ("cold", "hot"), load_parts=LOADS)
    b.islands = dict.fromkeys("ml l1 l2 l3 he s1_x".split(), "mn")
    b.mains()
    b.fuse("F1", "ml", "l1", 0.1, 2)
    b.thermal_fuse("TF1", "l1", "l2", 0.02)
    b.switch("S1", "l2", "l3", "cold hot", 0.87)
    b.transformer("T1", ("l3", "mn"), "vp", "0", 12, 1.9, "D1", ("C1", "1000u"), 1500, bridge=False)
    b.r("R1", "vp", "vz", "470")
    b.zener("ZD1", "vz", "0", 5.6)
    b.r("R2", "vz", "tap", "10k")
    b.joint("CN2 pin 1", "tap", "thw")
    b.ntc("TH1", "thw", "0", "100k", 3950, 5, hot=90)
    b.r("R3", "vz", "ref", "10k")
    b.r("R4", "ref", "0", "10k")
    b.r("R5", "tap", "plus", "22k")
    b.r("R6", "plus", "co", "680k")
    b.comparator("U1", "plus", "ref", "co", "0", "vz")
    b.r("R7", "vz", "co", "4k7")
    b.r("R8", "co", "b1", "4k7")
    b.r("R9", "b1", "0", "22k")
    b.npn("Q1", "c1", "b1", "0", "b")
    b.coil("RL1", "vp", "c1", 400, 12)
    b.diode("D2", "c1", "vp")
    b.contact("RL1", "l3", "he", 0.87)
    b.heater("HE1", "he", "mn", 200, 230)
    b.r("R10", "vp", "la", "1k5")
    b.led("LD1", "la", "0", "amber")
    b.bridges("vz tap", "tap ref", "plus co", "co b1", "b1 c1", "c1 vp", "vp la", "vp vz", "ref 0")
    return b
