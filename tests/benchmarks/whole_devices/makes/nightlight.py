"""Plug-in night light: half-wave capacitor supply, light divider, one transistor, three white LEDs."""

from whole_devices.board import Board
from whole_devices.spreads import Draw

NOTE = """
title: Night light stays dark
date: 2026-02-14
device: {kind: night light, category: Lamp, make: Bedhollow, model: NL-3, year: 2020,
         plate: {supply: 230 V, power: 1 W, class: II}}
symptoms: [stays dark at night]
outcome: unknown
states:
  shaded: {light: 10 lux}
  bright: {light: 500 lux}
blocks:
  inlet: {kind: mains-inlet, load: 1 W, fuse_resistor: R1 100 1W}
  dropper: {kind: capacitive-dropper, supply: inlet, dropper: C1 470n X2 275V 10%, series: R2 220,
          discharge: R3 1M,
            rectifier: half-wave D1, return_diode: D2, output: 15 V, clamp: ZD1 15V 1.3W, smoothing: C2 100u 25V}
  light: {kind: light-divider, supply: dropper, fixed: R4 47k, sensor: LDR1 20k gamma0.7 40%,
          sensor_side: lower}
  drive: {kind: transistor-switch, base: R5 22k, pull_down: R6 100k, transistor: Q1 hfe200 45V,
          load_supply: dropper}
  lamp: {kind: led-indicator, supply: dropper, resistor: R7 470, forward: LD1-LD3 white, count: 3}
joins: [[light.tap, drive.drive], [lamp.common, drive.collector]]
test_points: {TP1: dropper.plus, TP2: light.tap}
"""
NETS = """
inlet: live=ml neutral=0 live_out=l1 neutral_out=0
dropper: live=l1 neutral=0 plus=vp common=0
light: supply=vp tap=tap common=0
drive: drive=tap base=b1 collector=c1 load_supply=vp common=0
lamp: supply=vp common=c1
"""
POINTS = "TP1=vp TP2=tap"
MAINS = "ml l1 c1_l c1_r"
SWEEP = (30.0, 0.2)
LOADS = ()


def build(draw: Draw) -> Board:
    b = Board(draw, ("shaded", "bright"), load_parts=LOADS)
    b.mains("ml", "0")
    b.r("R1", "ml", "l1", "100")
    b.dropper(
        ("C1", "470n"), ("R2", "220"), ("l1", "0"), "vp", "0", ("C2", "100u"), "D1", discharge=("R3", "1M")
    )
    b.zener("ZD1", "vp", "0", 15)
    b.r("R4", "vp", "tap", "47k")
    b.ldr("LDR1", "tap", "0", "20k", 40, bright=500)
    b.r("R5", "tap", "b1", "22k")
    b.r("R6", "b1", "0", "100k")
    b.npn("Q1", "c1", "b1", "0", "b")
    b.r("R7", "vp", "la", "470")
    b.led("LD1", "la", "lb", "white")
    b.led("LD2", "lb", "lc", "white")
    b.led("LD3", "lc", "c1", "white")
    b.bridges("vp tap", "tap b1", "b1 c1", "vp la", "la lb", "lb lc")
    return b
