"""Units and prefixes as people write them, and what each unit measures: the one table, also for the page's script."""

from __future__ import annotations

import re
from collections.abc import Iterable

PREFIXES = {
    "f": 1e-15, "p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "m": 1e-3, "": 1.0,
    "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9,
}  # fmt: skip

# What people write -> (the unit we count in, factor). Case matters: m is milli, M is mega.
UNITS = {
    "V": ("V", 1.0), "v": ("V", 1.0), "VDC": ("V", 1.0), "VAC": ("V", 1.0), "V DC": ("V", 1.0), "V AC": ("V", 1.0),
    "Vdc": ("V", 1.0), "Vac": ("V", 1.0), "V dc": ("V", 1.0), "V ac": ("V", 1.0), "Vrms": ("V", 1.0), "V rms": ("V", 1.0),
    "Vpp": ("V", 1.0), "Vp-p": ("V", 1.0), "V pp": ("V", 1.0), "V=": ("V", 1.0),
    "A DC": ("A", 1.0), "A AC": ("A", 1.0), "A dc": ("A", 1.0), "A ac": ("A", 1.0), "ADC": ("A", 1.0), "AAC": ("A", 1.0),
    "V~": ("V", 1.0), "A": ("A", 1.0), "a": ("A", 1.0),
    "ohm": ("ohm", 1.0), "\u03a9": ("ohm", 1.0), "\u2126": ("ohm", 1.0), "R": ("ohm", 1.0),
    "F": ("F", 1.0), "H": ("H", 1.0), "s": ("s", 1.0), "min": ("s", 60.0), "h": ("s", 3600.0),
    "W": ("W", 1.0), "w": ("W", 1.0), "VA": ("W", 1.0),
    "Hz": ("Hz", 1.0), "hz": ("Hz", 1.0), "HZ": ("Hz", 1.0), "K": ("K", 1.0),
    "C": ("°C", 1.0), "°C": ("°C", 1.0), "° C": ("°C", 1.0), "℃": ("°C", 1.0), "ºC": ("°C", 1.0), "celsius": ("°C", 1.0), "Celsius": ("°C", 1.0), "degC": ("°C", 1.0), "deg C": ("°C", 1.0),
    "lux": ("lux", 1.0), "lx": ("lux", 1.0), "%": ("", 0.01),
    "Wh": ("Wh", 1.0), "Ah": ("Ah", 1.0), "1/h": ("1/h", 1.0),
    "l": ("l", 1.0), "L": ("l", 1.0),
    "kg": ("kg", 1.0), "g": ("kg", 1e-3),
    "K/W": ("K/W", 1.0), "°C/W": ("K/W", 1.0), "C/W": ("K/W", 1.0), "degC/W": ("K/W", 1.0), "W/C": ("W/K", 1.0), "W/K": ("W/K", 1.0), "W/°C": ("W/K", 1.0), "V/K": ("V/K", 1.0),
    "J/(kg·K)": ("J/(kg·K)", 1.0), "J/kgK": ("J/(kg·K)", 1.0), "J/(kg K)": ("J/(kg·K)", 1.0),
    "rpm": ("rpm", 1.0), "r/min": ("rpm", 1.0), "1/min": ("rpm", 1.0), "RPM": ("rpm", 1.0), "rev/min": ("rpm", 1.0),
    "U/min": ("rpm", 1.0), "/min": ("rpm", 1.0), "min-1": ("rpm", 1.0), "min^-1": ("rpm", 1.0), "min⁻¹": ("rpm", 1.0),
    "RPM/V": ("rpm/V", 1.0), "rpm/V": ("rpm/V", 1.0),
    "°": ("degree", 1.0), "degree": ("degree", 1.0), "degrees": ("degree", 1.0),
}  # fmt: skip

# Units and prefixes in words; an s may follow a unit.
WRITTEN_OUT = {
    "ohm": "ohm", "volt": "V", "ampere": "A", "amp": "A", "watt": "W", "farad": "F", "henry": "H", "hertz": "Hz",
    "second": "s", "sec": "s", "minute": "min", "hour": "h", "litre": "l", "liter": "l", "percent": "%",
    "meg": "Mohm", "mfd": "uF",
}  # fmt: skip
PREFIXES_WRITTEN_OUT = {
    "kilo": "k", "kil": "k", "mega": "M", "meg": "M", "milli": "m", "micro": "u", "nano": "n", "pico": "p",
}  # fmt: skip


def _in_any_case(words: Iterable[str]) -> str:
    return "|".join(f"{word}|{word.capitalize()}|{word.upper()}" for word in words)


IN_WORDS = (
    rf"(?<=[0-9.,]) ?(?:({_in_any_case(PREFIXES_WRITTEN_OUT)})[ -]?)?([pnuµμmkKMG]?)"
    rf"({_in_any_case(WRITTEN_OUT)})[sS]?(?![A-Za-z])"
)
_IN_WORDS = re.compile(IN_WORDS)


def in_symbols(text: str) -> str:
    """The text with units and prefixes in words as symbols: `1 megohm` is `1Mohm`, `16 Volts` is `16V`."""
    return _IN_WORDS.sub(
        lambda found: (
            PREFIXES_WRITTEN_OUT.get((found[1] or "").lower(), "") + found[2] + WRITTEN_OUT[found[3].lower()]
        ),
        text,
    )


# unit -> (what it measures, an example, smallest and largest that a household device can show)
KINDS_OF_VALUE = {
    "V": ("a voltage", "12 V", 1e-9, 1e6),
    "A": ("a current", "120 mA", 1e-12, 1e5),
    "ohm": ("a resistance", "4k7", 1e-6, 1e12),
    "F": ("a capacitance", "100 uF", 1e-15, 1e2),
    "H": ("an inductance", "10 mH", 1e-12, 1e3),
    "s": ("a time", "90 s", 1e-12, 1e9),
    "W": ("a power", "180 W", 1e-9, 1e6),
    "Hz": ("a frequency", "50 Hz", 1e-6, 1e10),
    "K": ("a temperature difference or a B value", "3950", 1e-6, 1e5),
    "°C": ("a temperature", "38 C", -273.14, 3000.0),
    "lux": ("an illuminance", "100 lux", 1e-6, 1e6),
    "Wh": ("an energy", "20 Wh", 1e-9, 1e6),
    "Ah": ("a capacity", "2000 mAh", 1e-6, 1e5),
    "1/h": ("a charge rate", "0.1", 1e-6, 1e4),
    "l": ("a volume", "1.7 l", 1e-6, 1e4),
    "kg": ("a mass", "1.7 kg", 1e-6, 1e5),
    "K/W": ("a thermal resistance", "65 K/W", 1e-4, 1e5),
    "W/K": ("a dissipation constant", "2 mW/K", 1e-7, 1e3),
    "V/K": ("a slope", "20 mV/K", 1e-9, 1e3),
    "J/(kg·K)": ("a heat capacity", "4186", 1.0, 1e5),
    "rpm": ("a speed", "1400 rpm", 1e-3, 1e6),
    "rpm/V": ("a speed for each volt", "900 rpm/V", 1e-3, 1e6),
    "degree": ("an angle", "90", 0.0, 360.0),
    "": ("a number", "2", 1e-12, 1e15),
}  # fmt: skip
