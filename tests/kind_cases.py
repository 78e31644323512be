"""Every kind's example and variants, and cases no catalogue would show: parts missing, stages out of their regime."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from generator.circuit import catalogue

# every sort of part that a network knows, transistors both ways up, one whose collector lies on its base
EVERY_SORT = [
    "R1 10k from plus to a", "C1 100u 16V from plus to common", "L1 10u from a to b", "TH7 10k B3950 from b to common",
    "LDR1 10k from a to common", "RV1 14V from plus to common", "F5 1A from plus to fused", "TF3 100C from fused to hot",
    "S7 button from a to common", "S8 from hot to c", "M1 12 from c to common", "RL5 400 12V from hot to d",
    "VR5 10k from plus to d", "D20 from common to a", "D21 schottky from c to hot", "ZD5 5V6 from common to b",
    "LED1 red from b to e", "BT1 9V from bat to common", "Q1 npn hfe100 from a d common", "Q2 pnp hfe100 from b hot f",
    "Q3 nmos vth2 rds0R05 from e f common", "Q6 npn from d d e", "Q4 pmos vth2 rds0R05 from f g hot", "Q5 npn from g c h",
    "Q7 npn from a h c", "Q8 pnp from e common d", "Q9 nmos from d common f", "Q10 pmos from a hot g",
    "U5 5V regulator from hot h common", "U6 5V regulator from h a hot", "R50 1k from g to common", "R51 1k from h to bat",
]  # fmt: skip

# What is changed in the example of a kind; "" leaves a parameter out.
HARD: dict[str, tuple[Mapping[str, Any], ...]] = {
    "audio-stage": ({"output_capacitor": ""}, {"gain_capacitor": "", "input_capacitor": ""}),
    "capacitive-dropper": (
        {"clamp": "", "smoothing": "", "discharge": "", "load": ""},
        {"rectifier": "bridge", "discharge": "", "clamp": ""},
    ),
    "chain": (
        {"elements": ["S1 lid", "S2 base", "F1 1A"]},
        {"elements": ["R1 1k", ["C1 10n"], "L1 1mH", ["D1", ["C2 10u"], "R3 470"], ["C3 100n"]]},
        {"elements": [f"S{i} cell {i}" for i in range(1, 10)]},
        {"elements": ["LP1 6V"]},
    ),
    "charge-resistor": ({"supply": "5 V", "battery": "3.7 V", "chemistry": "li-ion"},),
    "dc-motor": ({"winding": "60 ohm", "running_current": "250 mA"},),
    "linear-regulator": ({"regulator": "U2 35V 1A", "input_capacitor": "C1 330n", "output_capacitor": "C2 100u 16V", "bleeder": "R8 1k"}, {"input": "6 V", "bleeder": "R8 1k", "load": "R7 240"}, {"input": "6 V", "series": ""}, {"series": ""}),
    "mains-inlet": (
        {"y_capacitors": ["C3 2n2 Y2 live", "C4 2n2 Y2 neutral"], "class": "I", "choke": "L1 1R2", "inrush": "NTC1 5", "load": "60 W"},
        {"fuse": "", "fuse_resistor": "R9 10 2W", "load": "20 W", "thermal_fuses": "", "y_capacitors": ["C3 1n Y1 live"]},
        {"fuse": "", "switch": "", "x_capacitor": "", "bleeder": "", "varistor": ""},
        {"bleeder": "", "thermal_fuses": ["TF1 167C live"]},
        {"fuse": "", "switch": "", "thermal_fuses": "", "varistor": "", "x_capacitor": "", "bleeder": "", "choke": "L1 1R2"},
    ),
    "induction-motor": ({"capacitor": "", "capacitor_voltage": ""},),
    "key-ladder": ({"keys": {"wash": "0", "spin": "R3 3k3 1%"}, "ladder": "separate"},),
    "network": ({"parts": EVERY_SORT},),
    "microcontroller": ({"pins": ["20 VDD", "8 VDDA", "1 reset", "3 air <- air", "11 GND"]},),
    "mosfet-switch": (
        {"drive": "1.2 V"},
        {"across_load": "C9 47u 25V", "across_switch": "C10 100n"},
        {"across_switch": "C10 1u film", "load_inductance": "20 mH", "flyback": ""},
    ),
    "offline-start": ({"start_resistors": ["R1 470k 0.25W"], "start_current": ""},),
    "button-input": ({"button": "S1 50mA"},),
    "comparator": (
        {"signal_resistor": "R8 4k7", "capacitor": "C1 10n", "comparator": "U3"},
        {"signal_resistor": "R8 4k7", "capacitor": "C1 10n", "input": "non-inverting", "pull_up": ""},
        {"capacitor": "C1 10n"},
    ),
    "optocoupler": ({"optocoupler": "U3 ctr100", "ctr": "", "across_led": "R9 1k", "capacitor": "C1 10n"}, {"ctr": "20 %", "pull_up": "R8 1k"},),
    "phase-control": ({"pot": "VR1 1M", "breakover": "DB1 32V"}, {"pot": "VR1 500k 20%", "capacitor": "C2 68n"}),
    "rc-delay": ({"direction": "discharge", "capacitor": "C10 22n"},),
    "transformer-supply": (
        {"transformer": "T1", "filter": "C4 100n", "secondary_fuse": "F2 630mA", "rectifier": "D1-D4 bridge"},
        {"secondary_fuse": "F2 630mA", "rectifier": "centre-tap D1-D2"},
        {"secondary_fuse": "F2 630mA", "rectifier": "half-wave D1", "load": "60 mA"},
        {"rectifier": "half-wave D1", "bleeder": ""},
        {"rectifier": "D1-D4", "load": "", "bleeder": ""},
    ),
    "divider": ({"load": "1 mA", "cut_points": ""}, {"load": "0 A"}, {"series": "R7 4k7", "capacitor": "C2 100n", "load": "R8 100k"}),
    "thermistor-divider": ({"series": "R7 1k5", "capacitor": "C2 47n"},),
    "light-divider": ({"capacitor": "C2 1u"}, {"series": "R7 1k5"}),
    "transistor-switch": (
        {"across_load": "C9 47u 25V", "load": "LP1 60", "flyback": "", "load_inductance": ""},
        {"across_switch": "C9 1u film", "flyback": ""},
        {"across_switch": "C9 100n", "across_load": "C10 10u"},
        {"load": "LP1 60", "flyback": "", "load_inductance": ""},
        {"pull_down": "", "flyback": "", "load": "35 mA"},
        {"load": "M1 22 motor", "pull_down": ""},
        {"base": "R16 47k", "load": "100 ohm", "flyback": ""},
        {"drive": "0.8 V"},
    ),
    "triac-switch": (
        {"snubber_capacitor": ""},
        {"snubber_resistor": "", "snubber_capacitor": "10n 630V"},
        {"load": "200 W", "triac": "TR1 4A 600V", "gate_resistor": ""},
    ),
    "zener-regulator": ({"load": "60 mA"},),
    "mains-rectifier": ({"load": ""}, {"load": "R9 2k2 60W", "bleeder": ""}),
    "buck-converter": ({"input": "5 V", "capacitor": "", "esr": ""},),
    "boost-converter": ({"input": "14 V", "capacitor": "", "esr": ""},),
    "flyback-supply": (
        {"load": "6 A", "sense": "R5 1 1W"},
        {"turns_ratio": "", "clamp": "", "sense": "", "auxiliary_ratio": "", "load": "R9 10"},
    ),
    "led-string": ({"count": "5"},),
    "lithium-charger": ({"battery": "3.2 V", "chemistry": "li-fe-po4", "input": "3.5 V"}, {"battery": "2.4 V"},
        {"battery": ["3.9 V", "3.92 V"], "input": "10 V", "program": "", "program_factor": "", "sense": "R3 0R1", "balancer": "R5-R6 62"}),
    "series-pass": ({"load": "2 A", "capacitor": ""}, {"input": "9 V", "load": "R9 100"}),
    "high-side-switch": ({"drive_high": "5 V"}, {"load": "200 mA", "base": "R4 10k"}),
}  # fmt: skip


def every_case() -> Iterator[tuple[str, dict[str, Any]]]:
    """(kind, parameters) of every example, variant and hard case, by kind."""
    for kind in catalogue.all_kinds():
        for changes in ({}, *(variant.changes for variant in kind.variants), *HARD.get(kind.name, ())):
            yield kind.name, kind.example_with(changes)
