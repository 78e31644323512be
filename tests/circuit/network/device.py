"""A small board with one of everything, every part toleranced."""

from __future__ import annotations

from generator.circuit.network.chips import Amplifier, Coupler, Regulator
from generator.circuit.network.element import Element, Number, exact
from generator.circuit.network.junctions import Diode, Mosfet, Transistor
from generator.circuit.network.passive import Resistor
from generator.circuit.network.sources import Load, Source


def _within(name: str, value: float, share: float = 0.05) -> Number:
    return Number(value, ((name, value * (1 - share), value * (1 + share)),))


def _r(name: str, a: str, b: str, ohms: float) -> Resistor:
    return Resistor(name=name, a=a, b=b, ohms=_within(name, ohms))


def board() -> list[Element]:
    """12 V behind 10 ohm, regulated to 5 V; a saturated transistor, a zener, a MOSFET, a follower, a coupler, a divider."""
    return [
        Source(name="v", plus="s", minus="0", volts=exact(12)), _r("r1", "s", "in", 10),
        Regulator(name="u", input="in", output="out", common="0", volts=_within("u", 5, 0.04)),
        Load(name="l", a="out", b="0", amperes=_within("l", 0.1, 0.2)),
        _r("rb", "out", "b", 4700), _r("rl", "s", "c", 400),
        Transistor(name="q", base="b", collector="c", emitter="0", hfe=Number(100, (("hfe", 50, 300),)), vbe=_within("vbe", 0.7, 0.1),
                   at=9e-4, forced=33),
        Diode(name="d", anode="c", cathode="s"), _r("rz", "s", "z", 1000),
        Diode(name="dz", anode="0", cathode="z", breakdown=_within("dz", 5.1)),
        Mosfet(name="m", gate="out", drain="d2", source="0", at=3), _r("rm", "s", "d2", 24),
        Amplifier(name="a", plus="z", minus="o2", output="o2", supply="s", common="0"),
        Coupler(name="oc", anode="x", cathode="0", collector="y", emitter="0", ctr=Number(1, (("ctr", 0.5, 2),))),
        _r("rx", "out", "x", 1000), _r("ry", "out", "y", 10000), _r("ru", "s", "tap", 1e4), _r("rd", "tap", "0", 1e4),
    ]  # fmt: skip
