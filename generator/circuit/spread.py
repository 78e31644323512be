"""How far parts lie from what they are called, where a note does not say: one table for values, checks and diagnosis.

Each is to be verified against the part at hand; the page says which it took. "0 %" in a note states that it is exact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from generator.notation.parts import Part
from generator.notation.quantity import Quantity


@dataclass(frozen=True)
class Spread:
    """From value·(1 − below) to value·(1 + above), or, where absolute, from value − below to value + above; fixed: the
    ends themselves. unit: of those, and of what is absolute; source: where the figures come from."""

    below: float
    above: float
    absolute: bool = False
    fixed: bool = False
    source: str = "common practice, no source"
    most: float = math.inf  # a share is at most 1
    unit: str = ""

    def ends(self, value: float) -> tuple[float, float]:
        """(low, high) about a value in the value's own unit."""
        if self.fixed:
            # another sort of part than the table means: about what is stated
            if not self.below <= value <= self.above:
                return value * 0.8, value * 1.2
            return self.below, self.above
        if self.absolute:
            return value - self.below, value + self.above
        return value * (1 - self.below), max(value, min(self.most, value * (1 + self.above)))


SPREADS = {
    "silicon junction": Spread(0.1, 0.1, absolute=True, unit="V", source="from memory: data sheets of small-signal diodes and transistors"),
    "rectifier": Spread(0.6, 1.1, fixed=True, unit="V", source="from memory: forward voltage of 1 A rectifiers from light load to rated current"),
    "schottky": Spread(0.1, 0.15, absolute=True, unit="V", source="from memory: data sheets of 1 to 3 A Schottky diodes"),
    "led": Spread(0.10, 0.10, source="from memory: forward voltage bins in LED data sheets"),
    "saturation": Spread(0.02, 0.3, fixed=True, unit="V", source="from memory: collector-emitter saturation in transistor data sheets"),
    "hfe": Spread(0.5, 2.0, source="from memory: gain groups in transistor data sheets"),
    "least hfe": Spread(0.0, 3.0, source="from memory: a stated minimum"),
    "zener": Spread(0.05, 0.05, source="the E24 tolerance group of zeners"),
    "knee": Spread(0.0, 6.0, source="from memory: differential resistance in data sheets of zeners, 9 to 25 Ω at 10 to 20 mA"),
    "zener's slope": Spread(5.0, 15.0, fixed=True, unit="ohm", source="from memory: differential resistance in data sheets of small zeners at 5 to 30 mA"),
    "regulator": Spread(0.04, 0.04, source="from memory: output voltage in data sheets of fixed regulators"),
    "reference": Spread(0.02, 0.02, source="from memory: data sheets of shunt references"),
    "ctr": Spread(0.5, 1.0, source="from memory: current transfer ratio in coupler data sheets"),
    "threshold": Spread(1.0, 1.0, absolute=True, unit="V", source="from memory: gate threshold in MOSFET data sheets"),
    "on-resistance": Spread(0.5, 0.5, source="from memory: on-resistance in MOSFET data sheets"),
    "supply": Spread(0.05, 0.05, source="from memory: output voltage in data sheets of plug-in supplies"),
    "contact": Spread(0.01, 0.2, fixed=True, unit="ohm", source="from memory: data sheets of switches and relays, new at most 0.03 to 0.1 Ω, more when worn"),
    "output pin": Spread(15.0, 120.0, fixed=True, unit="ohm", source="from memory: output levels in data sheets of controllers"),
    "load": Spread(0.2, 0.2),
    "running current": Spread(0.3, 0.3),
    "friction": Spread(0.1, 0.98, fixed=True, source="common practice, no source: from a bare spindle to a worm gear"),
    "motor inductance": Spread(0.2, 0.2),
    "diac": Spread(28.0, 36.0, fixed=True, unit="V", source="from memory: breakover voltage in diac data sheets"),
    "inrush limiter": Spread(0.25, 0.25, source="from memory: data sheets of inrush limiters, 20 % at 25 °C, and a room some degrees off"),
    "voice coil": Spread(0.25, 0.0, source="from memory: DC resistance in data sheets of loudspeakers, 75 to 95 % of the rated impedance"),
    "heating element": Spread(0.10, 0.05, source="IEC 60335-1, rated power of heating appliances: +5 %, -10 %"),
    "quiescent": Spread(0.4, 0.4, source="from memory: quiescent current in data sheets of fixed regulators"),
    "regulation": Spread(
        0.0, 0.25, absolute=True, source="from memory: no-load voltage of small transformers, up to a quarter above the rated one"
    ),
    "regulation by VA": Spread(0.4, 0.4, source="from memory: catalogues of mains transformers"),
    "air": Spread(5.0, 5.0, absolute=True, unit="°C"),  # °C about a sensor, where somebody says "at room temperature" or "hot"
    "light": Spread(0.5, 1.0),  # lux on a sensor, judged by eye
    "brushed": Spread(0.1, 0.3, source="from memory: winding resistance ±10 %, and some ohms of carbon brushes"),
    "winding": Spread(0.1, 0.1, source="from memory: coil resistance in relay data sheets, ±10 %"),
    "choke": Spread(0.02, 5.0, fixed=True, unit="ohm", source="from memory: data sheets of chokes, from 10 µH for 3 A to 1 mH for 0.3 A"),
    "photoresistor": Spread(0.33, 0.33, source="from memory: data sheets of photoresistors give 10 kΩ as 8 to 20 kΩ or 5 to 10 kΩ"),
    "open collector": Spread(0.05, 0.4, fixed=True, unit="V", source="from memory: output saturation in data sheets of Hall switches, at most 0.4 V"),
    "low output": Spread(0.0, 0.1, fixed=True, unit="V", source="from memory: low level in data sheets of operational amplifiers and CMOS comparators, lightly loaded"),
    "stated low output": Spread(0.8, 2.0, source="from memory: low level in comparators' data sheets, typically 0.13 to 0.25 V, at most 0.4 V"),
    "stated headroom": Spread(0.3, 0.3, source="from memory: output swing in data sheets of operational amplifiers"),
    "stage at rest": Spread(0.75, 1.5, source="from memory: quiescent current in data sheets of audio amplifiers"),
    "output stage": Spread(0.5, 2.0, fixed=True, unit="V", source="from memory: output swing in data sheets of audio amplifiers"),
    "on-state": Spread(0.9, 1.6, fixed=True, unit="V", source="from memory: on-state voltage in triac data sheets, from light load to rated current"),
    "brushes": Spread(1.0, 3.0, fixed=True, unit="V", source="from memory: drop of a pair of carbon brushes"),
    "breakback": Spread(5.0, 15.0, fixed=True, unit="V", source="from memory: dynamic breakover in diac data sheets, at least 5 V"),
    "sense threshold": Spread(0.1, 0.1, source="from memory: current sense thresholds in controllers' data sheets"),
    "trip voltage": Spread(0.2, 0.2, source="from memory: overcurrent detection in data sheets of lithium protection"),
    "switching losses": Spread(0.0, 0.4, source="from memory: efficiency in data sheets of converters, 95 % down to 70 % of little ones on the mains"),
    "efficiency": Spread(0.1, 0.1, most=1.0),
    "share of a turn": Spread(0.5, 0.5, most=1.0),
}  # fmt: skip

# What a part of a class, and what a figure behind it, is spread by where the note states no tolerance.
OF_CLASS = {
    "zener": "zener", "led": "led", "diac": "diac", "element": "heating element", "photoresistor": "photoresistor",
}  # fmt: skip
OF_FIGURE = {"hfe": "hfe", "vth": "threshold", "rds": "on-resistance", "ctr": "ctr"}


def widened(found: Quantity, key: str) -> Quantity:
    """The quantity with the spread of an entry of SPREADS; the same where it states a tolerance itself (`0 %` is one)."""
    if found.toleranced or found.value is None or not key:
        return found
    low, high = SPREADS[key].ends(found.value)
    return replace(found, low=low, high=high)


def of_part(part: Part) -> tuple[Part, dict[str, str]]:
    """The part with the spreads that its class and figures come with, and which were taken: "" is its own value."""
    taken: dict[str, str] = {}
    key = OF_CLASS.get(part.part_class, "")
    value = part.value
    if value is not None and (value := widened(value, key)) is not part.value:
        taken[""] = key
    extras = dict(part.extras)
    for name, found in part.extras.items():
        key = OF_FIGURE.get(name, "")
        if found.value is not None and math.isinf(found.high):
            key = "least hfe" if name == "hfe" else key
            extras[name] = replace(found, high=SPREADS[key].ends(found.value)[1])
            taken[name] = key
        elif (extra := widened(found, key)) is not found:
            extras[name], taken[name] = extra, key
    return replace(part, value=value, extras=extras), taken
