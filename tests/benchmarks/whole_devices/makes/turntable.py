"""Turntable: 12 V for the motor, a muting relay, a transistor stage that no kind covers."""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Turntable hums and stays muted
date: 2025-12-05
device: {kind: turntable, category: Hi-Fi separates, make: Larkhall, model: TT-2, year: 1995,
         plate: {supply: 230 V, power: 9 W, class: II}}
symptoms: [stays muted]
outcome: unknown
states:
  muted: {}
  playing: {on: [mute]}
blocks:
  inlet: {kind: mains-inlet, load: 9 W, fuse: F1 100mA, switch: S1 2A}
  supply: {kind: transformer-supply, primary: inlet, transformer: T1, rectifier: D1-D4 bridge,
          secondary: 15 V,
           rated_current: 500 mA, smoothing: C1 1000u 35V 20%, bleeder: R1 10k}
  reg: {kind: linear-regulator, regulator: U1, input: supply, output: 12 V, output_capacitor: C2 100u 25V}
  motor: {kind: dc-motor, motor: M1, supply: reg, winding: 60, running_current: 60 mA}
  logic: {kind: zener-regulator, supply: reg, series: R2 680, zener: ZD1 5V1 400mW}
  controller: {kind: microcontroller, designator: U2, supply: logic,
               pins: [1 VDD, 2 rail <- rail, 3 mute -> mute, 4 GND]}
  rail: {kind: divider, supply: supply, upper: R3 47k, lower: R4 10k}
  mute: {kind: transistor-switch, drive: 5.1 V, base: R5 10k, transistor: Q1 hfe300 45V, load: RL1 1k 12V,
         load_supply: reg, flyback: D5}
  buffer:
    kind: network
    parts:
      - R6 100k from reg.out to base
      - R7 47k from base to supply.common
      - Q2 npn hfe300 from base collector emitter
      - R8 2k2 from reg.out to collector
      - R9 1k from emitter to supply.common
  lamp: {kind: led-indicator, supply: reg, resistor: R10 1k, forward: LD1 red}
test_points: {TP1: supply.plus, TP2: reg.out, TP3: logic.out, TP4: buffer.collector}
connectors: {CN1: [motor.plus -> M1, supply.common]}
"""
NETS = """
inlet: live=ml neutral=mn live_out=l2 neutral_out=mn
supply: primary_live=l2 primary_neutral=mn plus=vp common=0
reg: in=vp out=vr common=0
motor: plus=vr minus=0
logic: in=vr out=vz common=0
rail: supply=vp tap=tap common=0
mute: drive=pm base=b1 collector=c1 load_supply=vr common=0
buffer: base=qb collector=qc emitter=qe
lamp: supply=vr common=0
controller: VDD=vz rail=tap mute=pm GND=0
"""
POINTS = "TP1=vp TP2=vr TP3=vz TP4=qc CN1/1=vr CN1/2=0"
MAINS = "ml l1 l2"
SWEEP = (32.0, 0.5)
LOADS = ("M1", "U2")


def build(draw: Draw) -> Board:
    b = Board(draw, ("muted", "playing"), load_parts=LOADS)
    b.islands = dict.fromkeys("ml l1 l2 s1_x".split(), "mn")
    b.mains()
    b.fuse("F1", "ml", "l1", 4, 0.1)
    b.switch("S1", "l1", "l2", "muted playing")
    b.transformer("T1", ("l2", "mn"), "vp", "0", 15, 7.5, "D1-D4", ("C1", "1000u"), 380)
    b.r("R1", "vp", "0", "10k")
    b.regulator("U1", "vp", "vr", "0", 12)
    b.c("C2", "vr", "0")
    b.joint("CN1 pin 1", "vr", "mw")
    b.motor("M1", "mw", "0", 60, 12, 0.06)
    b.r("R2", "vr", "vz", "680")
    b.zener("ZD1", "vz", "0", 5.1)
    b.chip("U2", "vz", "0", 5, 3e-3)
    b.r("R3", "vp", "tap", "47k")
    b.r("R4", "tap", "0", "10k")
    b.pin("mute", "pm", "vz", "playing")
    b.r("R5", "pm", "b1", "10k")
    b.npn("Q1", "c1", "b1", "0", "b")
    b.coil("RL1", "vr", "c1", 1000, 12)
    b.diode("D5", "c1", "vr")
    b.r("R6", "vr", "qb", "100k")
    b.r("R7", "qb", "0", "47k")
    b.npn("Q2", "qc", "qb", "qe", "b")
    b.r("R8", "vr", "qc", "2k2")
    b.r("R9", "qe", "0", "1k")
    b.r("R10", "vr", "la", "1k")
    b.led("LD1", "la", "0", "red")
    b.bridges("vp vr", "vp tap", "vr vz", "pm b1", "b1 c1", "c1 vr", "qb qc", "qb qe", "qc qe", "vr la")
    return b
