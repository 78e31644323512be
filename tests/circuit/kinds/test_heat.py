"""What resistors turn into heat at the worst, as each kind's check tells it: Joule's law (V²/R, I²·R) with everything exact, by
hand, at values that no other rule gives by chance."""

from __future__ import annotations

import re
from typing import Any

import pytest
from bench import PLAIN, made, value

from generator.circuit import catalogue

HEATS: tuple[tuple[str, dict[str, Any], str, tuple[str, ...]], ...] = (
    # 20 W of 230 V: 86.96 mA through 8.2 Ω
    ("mains-inlet", {"fuse": "", "thermal_fuses": "", "fuse_resistor": "R9 8R2 2W 0%", "load": "20 W 0%"}, "R9", ("62.0 mW",)),
    ("mains-inlet", {"bleeder": "R1 910k 0.5W 0%"}, "R1", ("58.1 mW",)),
    # stalled 24 V/(0.6 + 2·0.02 + 0.05) = 34.78 A; held by its limit 10 A
    ("bldc-motor", {"limit": "", "supply": "24 V 0%", "winding": "M1 0R6 0%", "bridge": "20 mohm 0%", "shunt": "R30 0R05 99W 0%", "speed": ""}, "R30", ("60.5 W",)),
    ("bldc-motor", {"limit": "0.5 V 0%", "supply": "24 V 0%", "winding": "M1 0R6 0%", "bridge": "20 mohm 0%", "shunt": "R30 0R05 99W 0%", "speed": ""}, "R30", ("5.00 W",)),
    ("optocoupler", {"input_supply": "12 V 0%", "forward": "1.15 V 0%", "input_resistor": "R12 2k2 0.25W 0%"}, "R12", ("53.5 mW",)),
    ("optocoupler", {"output_supply": "5.2 V 0%", "pull_up": "R8 4k7 0.1W 0%"}, "R8", ("5.75 mW",)),
    ("button-input", {"supply": "5.2 V 0%", "pull_up": "R12 9k1 0.1W 0%"}, "R12", ("2.97 mW",)),
    ("light-divider", {"supply": "6.3 V 0%", "fixed": "R1 33k 0.1W 0%"}, "R1", ("1.20 mW",)),
    ("thermistor-divider", {"supply": "5.2 V 0%", "fixed": "R9 9k1 0.1W 0%"}, "R9", ("2.97 mW",)),
    ("led-indicator", {"supply": "5 V 0%", "forward": "2.1 V 0%", "resistor": "R14 330 0.125W 0%"}, "R14", ("25.5 mW",)),
    ("sense-resistor", {"shunt": "R20 0R13 1W 0%", "load": "1.7 A 0%", "gain": "", "limit": ""}, "R20", ("376 mW",)),
    ("sense-resistor", {"shunt": "R20 0R13 1W 0%", "load": "", "gain": "", "limit": "0.3 V 0%"}, "R20", ("692 mW",)),
    ("capacitive-dropper", {"discharge": "R2 430k 0.5W 0%"}, "R2", ("123 mW",)),
    ("charge-resistor", {"supply": "6 V 0%", "battery": "2.8 V 0%", "resistor": "R1 22 1W 0%", "capacity": "", "chemistry": ""}, "R1", ("465 mW",)),
    ("high-side-switch", {"supply": "12 V 0%", "base": "R4 2k2 0.25W 0%", "drive_low": "0.3 V 0%"}, "R4", ("62.2 mW",)),
    ("feedback-divider", {"reference": "2.5 V 0%", "upper": "R14 18k 0.1W 0%", "lower": "R15 4k7 0.1W 0%"}, "R14", ("5.09 mW",)),
    ("feedback-divider", {"reference": "2.5 V 0%", "upper": "R14 18k 0.1W 0%", "lower": "R15 4k7 0.1W 0%"}, "R15", ("1.33 mW",)),
    # 325.27 V at the crest, less 16 V, over 330 kΩ and 270 kΩ: 170.1 and 139.2 V; with the capacitor shorted 178.9 and 146.4 V
    ("offline-start", {"start_resistors": ["R1 330k 0.25W 350V 0%", "R2 270k 0.25W 350V 0%"], "start_voltage": "16 V 0%"}, "R1", ("87.7 mW", "97.0 mW")),
    ("offline-start", {"start_resistors": ["R1 330k 0.25W 350V 0%", "R2 270k 0.25W 350V 0%"], "start_voltage": "16 V 0%"}, "R2", ("71.7 mW", "79.4 mW")),
)  # fmt: skip


@pytest.mark.parametrize(("kind", "changes", "part", "heats"), HEATS)
def test_a_resistors_heat(kind: str, changes: dict[str, Any], part: str, heats: tuple[str, ...]) -> None:
    block = made(kind, PLAIN, **{**catalogue.kind(kind).example, **changes})
    told = [check.what for check in block.checks if check.part == part and "dissipates" in check.what]
    assert tuple(found[0] for what in told if (found := re.search(r"[\d.]+ m?W", what))) == heats, told


def test_a_motors_current() -> None:
    """24 V less 3400 rpm/(160 rpm/V) over two transistors, winding and shunt: 2.75 V/0.69 Ω, by hand."""
    block = made(
        "bldc-motor", PLAIN, **{**catalogue.kind("bldc-motor").example, "limit": "", "bridge": "20 mohm"}
    )
    assert value(block, "motor_current") == pytest.approx(2.75 / 0.69)
