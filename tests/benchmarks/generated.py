"""Generated libraries for measuring: seeded, every note different, six blocks, three readings, 400 words."""

from __future__ import annotations

import random
from pathlib import Path

WORDS = (
    "the board rail reads low with everything plugged in and the capacitor beside the heater looks dry so we lifted one "
    "leg and measured it again cold before trying a new one which brought the trough back where it belongs while the "
    "sensor stayed within its band and the relay pulled in at once when the button was held for a second or two and "
    "nothing got warm that should not after an hour on the bench behind an isolating transformer"
).split()
KINDS = (
    "kettle",
    "toaster",
    "radio",
    "fan",
    "lamp",
    "heater",
    "incubator",
    "sewing machine",
    "drill charger",
    "mixer",
)
SYMPTOMS = (
    "stays cold",
    "dead",
    "won't turn on",
    "trips the breaker",
    "hums",
    "cuts out",
    "blinks twice",
    "smells burnt",
)
FAULTS = (("C3", "low"), ("TH1", "open"), ("Q1", "short"), ("R4", "open"), ("F1", "open"))


def library(folder: Path, notes: int, seed: int = 1) -> Path:
    """Write a library of so many notes; the same seed gives the same bytes."""
    (folder / "notes").mkdir(parents=True, exist_ok=True)
    (folder / "library.yaml").write_text(
        "name: Generated bench\nlanguage: en\ngroup: Nobody\n", encoding="utf-8"
    )
    for number in range(notes):
        (folder / "notes" / f"note-{number:05}.md").write_text(note(number, seed), encoding="utf-8")
    return folder


def note(number: int, seed: int) -> str:
    chance = random.Random(f"{seed}/{number}")
    kind, symptom = chance.choice(KINDS), chance.choice(SYMPTOMS)
    part, failed = chance.choice(FAULTS)
    secondary = chance.choice((9, 12, 15, 18))
    load = chance.randint(60, 180)
    r25 = chance.choice(("10k", "47k", "100k"))
    prose = "\n\n".join(_sentence(chance, 57) for _ in range(7))
    return f"""---
title: {kind.capitalize()} {number} {symptom}
date: 20{10 + number % 15:02}-{1 + number % 12:02}-{1 + number % 28:02}
author: Bench {number % 7}
device: {{kind: {kind}, make: Make {number % 40}, model: M-{number}, year: {1990 + number % 30}, plate: {{supply: 230 V, power: {chance.randint(50, 1800)} W, class: II}}}}
symptoms: [{symptom}, {chance.choice(SYMPTOMS)} sometimes]
outcome: fixed
blocks:
  supply:
    kind: transformer-supply
    secondary: {secondary} V
    smoothing: C3 {chance.choice(("470u", "1000u", "2200u"))} 35V 20%
    bleeder: R4 22k
    regulation: 12 %
    rated_current: 400 mA
    load: {load} mA
  reg:
    kind: linear-regulator
    input: supply.trough
    input_high: supply.high_mains_peak
    output: 5 V
    load: {load // 2} mA
    theta_ja: 65 K/W
  sensor:
    kind: thermistor-divider
    supply: 5 V
    fixed: R9 {r25} 1%
    thermistor: TH1 {r25} B3950 5%
    cut_points: {{off: {{temperature: {chance.randint(30, 60)} C}}}}
  button:
    kind: button-input
    supply: 5 V
    pull_up: R12 10k
    capacitor: C9 100n
  lamp:
    kind: led-indicator
    supply: 5 V
    resistor: R14 {chance.choice(("330", "470", "680"))}
    forward: LD1 red
  driver:
    kind: transistor-switch
    drive: 5 V
    base: R16 2k2
    transistor: Q1 hfe100 500mA 45V
    load: RL1 {chance.choice((300, 400, 720))}
    load_supply: supply.mean
    flyback: D6
readings:
  - {{at: supply.mean, read: {secondary * 1.2:.1f} V}}
  - {{at: supply.ripple, read: {chance.uniform(0.5, 4):.1f} V}}
  - {{at: sensor.resistance_25, read: {r25}}}
faults:
  - {{part: {part}, failed: {failed}, because: heat over the years, found_by: meter, fix: new part}}
proof:
  - {{test: insulation, read: 200 Mohm}}
  - {{test: function, read: ran an hour}}
---

{prose}

The rail stands at {{supply.peak}}, within {{supply.peak:band}}.

{{supply}}

{_sentence(chance, 20)}
"""


def _sentence(chance: random.Random, words: int) -> str:
    return " ".join(chance.choice(WORDS) for _ in range(words)).capitalize() + "."
