"""Towel rail's timer: 24 V behind a capacitor, zener logic, controller, relay and element."""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Towel rail timer does not switch on
date: 2026-03-02
device: {kind: towel rail, category: Small home electrical, make: Ashgarth, model: TR-1, year: 2013,
         plate: {supply: 230 V, power: 300 W, class: I}}
symptoms: [does not switch on]
outcome: unknown
states:
  off: {}
  warming: {on: [drive]}
blocks:
  inlet: {kind: mains-inlet, load: 300 W, fuse: F1 3A, varistor: RV1 275V}
  dropper: {kind: capacitive-dropper, supply: inlet, dropper: C1 1u X2 275V 10%, series: R1 150 2W,
          discharge: R2 680k,
            rectifier: half-wave D1, return_diode: D3, output: 24 V, clamp: ZD1 24V 3W, smoothing: C2 330u 35V}
  logic: {kind: zener-regulator, supply: dropper, series: R3 1k5 0.5W, zener: ZD2 5V1 500mW}
  controller: {kind: microcontroller, designator: U1, supply: logic, decoupling: C3 100n,
               pins: [1 VDD, 2 rail <- rail, 3 set <- set, 4 press <- press, 6 heat -> drive,
          8 GND]}
  rail: {kind: thermistor-divider, supply: logic, fixed: R4 47k 1%, thermistor: TH1 47k B3950 5%}
  set: {kind: divider, supply: logic, upper: R5 10k, lower: R6 22k}
  press: {kind: button-input, button: S1, supply: logic, pull_up: R7 22k, series: R8 1k}
  drive: {kind: transistor-switch, drive: 5.1 V, base: R9 10k, pull_down: R10 100k, transistor: Q1 hfe300 45V,
          load: RL1 1k6 24V, load_supply: dropper, flyback: D2}
  element: {kind: heater, power: HE1 300 W, rated_voltage: 230 V, supply: inlet, contact: RL1 8A}
  lit: {kind: led-indicator, supply: logic, resistor: R11 2k2, forward: LD1 red}
connectors: {CN1: [rail.tap -> TH1, dropper.common], CN2: [dropper.plus, drive.collector]}
test_points: {TP1: dropper.plus, TP2: logic.out}
"""
NETS = """
inlet: live=ml neutral=0 live_out=l1 neutral_out=0
dropper: live=l1 neutral=0 plus=vp common=0
logic: in=vp out=vz common=0
rail: supply=vz tap=tap common=0
set: supply=vz tap=st common=0
press: supply=vz pin=spin common=0
drive: drive=ph base=b1 collector=c1 load_supply=vp common=0
element: live=l1 neutral=0
lit: supply=vz common=0
controller: VDD=vz rail=tap set=st press=spin heat=ph GND=0
"""
POINTS = "TP1=vp TP2=vz CN1/1=tap CN1/2=0 CN2/1=vp CN2/2=c1"
MAINS = "ml l1 he c1_l c1_r"
SWEEP = (50.0, 0.25)
LOADS = ("HE1", "U1")


def build(draw: Draw) -> Board:
    b = Board(draw, ("off", "warming"), load_parts=LOADS)
    b.mains("ml", "0")
    b.fuse("F1", "ml", "l1", 0.05, 3)
    b.across_line("RV1", "l1", "0")
    b.dropper(
        ("C1", "1u"), ("R1", "150"), ("l1", "0"), "vp", "0", ("C2", "330u"), "D1", discharge=("R2", "680k")
    )
    b.zener("ZD1", "vp", "0", 24)
    b.r("R3", "vp", "vz", "1k5")
    b.zener("ZD2", "vz", "0", 5.1)
    b.chip("U1", "vz", "0", 5, 1.5e-3)
    b.c("C3", "vz", "0")
    b.r("R4", "vz", "tap", "47k", 1)
    b.joint("CN1 pin 1", "tap", "thw")
    b.ntc("TH1", "thw", "0", "47k", 3950, 5)
    b.r("R5", "vz", "st", "10k")
    b.r("R6", "st", "0", "22k")
    b.r("R7", "vz", "sw", "22k")
    b.switch("S1", "sw", "0", "")
    b.r("R8", "sw", "spin", "1k")
    b.pin("heat", "ph", "vz", "warming")
    b.r("R9", "ph", "b1", "10k")
    b.r("R10", "b1", "0", "100k")
    b.npn("Q1", "c1", "b1", "0", "b")
    b.coil("RL1", "vp", "c1", 1600, 24)
    b.diode("D2", "c1", "vp")
    b.contact("RL1", "l1", "he", 1.3)
    b.heater("HE1", "he", "0", 300, 230)
    b.r("R11", "vz", "la", "2k2")
    b.led("LD1", "la", "0", "red")
    b.bridges("vp vz", "vz tap", "tap st", "ph b1", "b1 c1", "c1 vp", "vz la", "spin ph", "st 0")
    return b
