"""How far parts lie from what they are called, where a note does not say: one table for values, checks and diagnosis.

Each is to be verified against the part at hand; the page says which it took. "0 %" in a note states that it is exact.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Spread:
    """From value·(1 − below) to value·(1 + above), or, where absolute, from value − below to value + above; fixed: the
    ends themselves. source: where the figures come from."""

    below: float
    above: float
    absolute: bool = False
    fixed: bool = False
    source: str = "common practice, no source"

    def ends(self, value: float) -> tuple[float, float]:
        """(low, high) about a value in the value's own unit."""
        if self.fixed:
            return min(self.below, value), max(self.above, value)
        if self.absolute:
            return value - self.below, value + self.above
        return value * (1 - self.below), value * (1 + self.above)


SPREADS = {
    "silicon junction": Spread(0.1, 0.1, absolute=True, source="from memory: data sheets of small-signal diodes and transistors"),
    "rectifier": Spread(0.6, 1.1, fixed=True, source="from memory: forward voltage of 1 A rectifiers from light load to rated current"),
    "schottky": Spread(0.1, 0.15, absolute=True, source="from memory: data sheets of 1 to 3 A Schottky diodes"),
    "led": Spread(0.10, 0.10, source="from memory: forward voltage bins in LED data sheets"),
    "saturation": Spread(0.02, 0.3, fixed=True, source="from memory: collector-emitter saturation in transistor data sheets"),
    "hfe": Spread(0.5, 2.0, source="from memory: gain groups in transistor data sheets"),
    "least hfe": Spread(0.0, 3.0, source="from memory: a stated minimum"),
    "zener": Spread(0.05, 0.05, source="the E24 tolerance group of zeners"),
    "regulator": Spread(0.04, 0.04, source="from memory: output voltage in data sheets of fixed regulators"),
    "reference": Spread(0.02, 0.02, source="from memory: data sheets of shunt references"),
    "ctr": Spread(0.5, 1.0, source="from memory: current transfer ratio in coupler data sheets"),
    "threshold": Spread(1.0, 1.0, absolute=True, source="from memory: gate threshold in MOSFET data sheets"),
    "on-resistance": Spread(0.5, 0.5, source="from memory: on-resistance in MOSFET data sheets"),
    "load": Spread(0.2, 0.2),
    "running current": Spread(0.3, 0.3),
    "diac": Spread(28.0, 36.0, fixed=True, source="from memory: breakover voltage in diac data sheets"),
    "heating element": Spread(0.10, 0.05, source="IEC 60335-1, rated power of heating appliances: +5 %, -10 %"),
    "quiescent": Spread(0.4, 0.4, source="from memory: quiescent current in data sheets of fixed regulators"),
    "winding": Spread(0.1, 0.1, source="from memory: coil resistance in relay data sheets, ±10 %"),
}  # fmt: skip

NO_LOAD_TOP = (
    0.25  # a transformer without stated regulation: its no-load voltage may be that share above the rated one
)
