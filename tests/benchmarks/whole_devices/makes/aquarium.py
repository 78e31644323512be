"""Aquarium heater's thermostat: everything at mains potential behind a capacitor, a comparator decides."""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Tank goes cold, relay never clicks
date: 2026-01-20
device: {kind: aquarium thermostat, category: Misc, make: Merrowby, model: AH-2, year: 2012,
         plate: {supply: 230 V, power: 150 W, class: II}}
symptoms: [water goes cold]
outcome: unknown
states:
  cool: {}
  warm: {probe: 40 C}
blocks:
  inlet: {kind: mains-inlet, load: 150 W, fuse: F1 1A}
  dropper: {kind: capacitive-dropper, supply: inlet, dropper: C1 680n X2 275V 10%, series: R1 220 1W,
          discharge: R2 470k,
            rectifier: bridge D1-D4, output: 24 V, clamp: ZD1 24V 1.3W, smoothing: C2 220u 35V}
  logic: {kind: zener-regulator, supply: dropper, series: R3 2k2 0.5W, zener: ZD2 5V1 400mW}
  probe: {kind: thermistor-divider, supply: logic, fixed: R4 10k 1%, thermistor: TH1 10k B3435 2%}
  set: {kind: divider, supply: logic, upper: R5 15k 1%, lower: R6 10k 1%}
  watch: {kind: comparator, comparator: U1, supply: logic, reference: 2.04 V, input_resistor: R7 10k,
          feedback: R8 470k, pull_up: R9 4k7, input: non-inverting}
  drive: {kind: transistor-switch, drive: 5.1 V, base: R10 10k, transistor: Q1 hfe200 45V, load: RL1 2k2 24V,
          load_supply: dropper, flyback: D5}
  element: {kind: heater, power: HE1 150 W, rated_voltage: 230 V, supply: inlet, contact: RL1 5A}
  lamp: {kind: led-indicator, supply: dropper, resistor: R11 10k, forward: LD1 red}
joins: [[probe.tap, watch.input], [set.tap, watch.reference], [watch.out, drive.drive],
        [lamp.common, drive.collector]]
connectors: {CN1: [probe.tap -> TH1, dropper.common]}
test_points: {TP1: dropper.plus, TP2: logic.out}
"""
NETS = """
inlet: live=ml neutral=mn live_out=l1 neutral_out=mn
dropper: live=l1 neutral=mn plus=vp common=0
logic: in=vp out=vz common=0
probe: supply=vz tap=tap common=0
set: supply=vz tap=ref common=0
watch: input=tap reference=ref out=co supply=vz common=0
drive: drive=co base=b1 collector=c1 load_supply=vp common=0
element: live=l1 neutral=mn
lamp: supply=vp common=c1
"""
POINTS = "TP1=vp TP2=vz CN1/1=tap CN1/2=0"
MAINS = "ml l1 he c1_l c1_r"
SWEEP = (80.0, 0.25)
LOADS = ("HE1",)


def build(draw: Draw) -> Board:
    b = Board(draw, ("cool", "warm"), load_parts=LOADS)
    b.islands = dict.fromkeys("ml l1 he c1_l c1_r".split(), "mn")
    b.mains()
    b.fuse("F1", "ml", "l1", 0.15, 1)
    b.dropper(
        ("C1", "680n"),
        ("R1", "220"),
        ("l1", "mn"),
        "vp",
        "0",
        ("C2", "220u"),
        "D1-D4",
        bridge=True,
        discharge=("R2", "470k"),
    )
    b.zener("ZD1", "vp", "0", 24)
    b.r("R3", "vp", "vz", "2k2")
    b.zener("ZD2", "vz", "0", 5.1)
    b.r("R4", "vz", "tap", "10k", 1)
    b.joint("CN1 pin 1", "tap", "thw")
    b.ntc("TH1", "thw", "0", "10k", 3435, 2, warm=40)
    b.r("R5", "vz", "ref", "15k", 1)
    b.r("R6", "ref", "0", "10k", 1)
    b.r("R7", "tap", "plus", "10k")
    b.r("R8", "plus", "co", "470k")
    b.comparator("U1", "plus", "ref", "co", "0", "vz")
    b.r("R9", "vz", "co", "4k7")
    b.r("R10", "co", "b1", "10k")
    b.npn("Q1", "c1", "b1", "0", "b")
    b.coil("RL1", "vp", "c1", 2200, 24)
    b.diode("D5", "c1", "vp")
    b.contact("RL1", "l1", "he", 0.65)
    b.heater("HE1", "he", "mn", 150, 230)
    b.r("R11", "vp", "la", "10k")
    b.led("LD1", "la", "c1", "red")
    b.bridges("vz tap", "tap ref", "plus co", "co b1", "b1 c1", "c1 vp", "vp la", "ref 0")
    return b
