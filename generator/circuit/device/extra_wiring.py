"""Extra parts (`also`, and the lines of a network) as elements of the network."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from generator.circuit.diodes import SCHOTTKY_VOLTS, SILICON_VOLTS, is_schottky
from generator.circuit.extras import Extra
from generator.circuit.failing import MODES
from generator.circuit.leds import FORWARD_VOLTS
from generator.circuit.network import chips, junctions, passive, sources
from generator.circuit.network.described import Described
from generator.circuit.network.element import Element, Number, exact
from generator.circuit.network.fuses import BLOWS, fuse_ohms, rating_of
from generator.circuit.spread import SPREADS

INDUCTOR_OHMS = 0.1  # of one whose resistance is not stated
# where the part does not say (from memory)
USUAL_HFE, USUAL_VTH, USUAL_RDS, USUAL_B = 100.0, 2.0, 0.05, 3950.0

# A of collector current at which a transistor's base stands at 0.7 V: 0.58 to 0.7 V at 2 mA, at most 0.77 V at 10 mA for one of
# 100 mA (data sheets of small transistors, from memory), and in proportion to its rating
SMALL, OF_RATING = 0.01, 0.1


def wire_extra(w: Described, extra: Extra, nets: tuple[str, ...]) -> Element:
    """Put an extra part between nets (already names in the whole device)."""
    made = _MAKERS[extra.sort](_Made(w, extra), nets)
    w.wired.elements.append(made)
    return made


class _Made:
    """An extra part with its name and its numbers."""

    def __init__(self, w: Described, extra: Extra) -> None:
        self.w, self.part, self.sort = w, extra.part, extra.sort
        self.name = w.net(extra.name)
        modes = MODES.get(extra.part.part_class, ())
        self.who: dict[str, Any] = {
            "name": self.name, "block": w.block.name, "key": extra.name, "called": extra.name, "modes": modes,
        }  # fmt: skip

    @property
    def words(self) -> set[str]:
        return {word.lower() for word in self.part.words}

    def value(self, spread: str = "") -> Number:
        """The part's own value with its tolerance, else the spread of its sort."""
        value = self.part.value
        if value is None:
            return exact(0.0)
        if spread and not value.toleranced:
            return self.spread(value.middle, spread, "")
        return Number(value.middle, ((self.name, value.low, value.high),) if value.low < value.high else ())

    def further(self, word: str, usual: float, spread: str) -> Number:
        """A further value that the part states (hfe, vth, rds), or a usual one."""
        found = self.part.extras.get(word)
        if found is not None and math.isinf(found.high):  # a stated minimum
            return self.spread(found.low, f"least {spread}", word)
        if found is not None and found.toleranced:
            return Number(found.middle, ((f"{self.name} {word}", found.low, found.high),))
        return self.spread(found.middle if found else usual, spread, word)

    def spread(self, value: float, spread: str, word: str) -> Number:
        low, high = SPREADS[spread].ends(value)
        return Number(value, ((f"{self.name} {word}".strip(), low, high),))


def _resistor(m: _Made, nets: tuple[str, ...]) -> Element:
    return passive.Resistor(**m.who, a=nets[0], b=nets[1], ohms=m.value())


def _thermistor(m: _Made, nets: tuple[str, ...]) -> Element:
    beta = m.part.extras["B"].middle if "B" in m.part.extras else USUAL_B
    value = m.value()

    def factor(celsius: float) -> float:
        return math.exp(beta * (1 / (celsius + 273.15) - 1 / 298.15))

    at, (cold, hot) = factor(m.w.air), (factor(end) for end in SPREADS["air"].ends(m.w.air))
    ends = tuple((axis, low * at, high * at) for axis, low, high in value.ends)
    ohms = Number(value.value * at, (*ends, ("air", value.value * cold, value.value * hot)))
    return passive.Resistor(**m.who, a=nets[0], b=nets[1], ohms=ohms)


def _capacitor(m: _Made, nets: tuple[str, ...]) -> Element:
    return passive.Capacitor(**m.who, a=nets[0], b=nets[1], farads=m.value())


def _inductor(m: _Made, nets: tuple[str, ...]) -> Element:
    stated = m.part.ratings.get("ohm")
    ohms = m.spread(stated, "winding", "ohms") if stated else exact(INDUCTOR_OHMS)
    return passive.Winding(**m.who, a=nets[0], b=nets[1], ohms=ohms, henries=m.value())


def _winding(m: _Made, nets: tuple[str, ...]) -> Element:
    stated = m.part.ratings.get("H")
    henries = m.spread(stated, "motor inductance", "henries") if stated else exact(0.0)
    return passive.Winding(**m.who, a=nets[0], b=nets[1], ohms=m.value("winding"), henries=henries)


def _varistor(m: _Made, nets: tuple[str, ...]) -> Element:
    return passive.Resistor(**m.who, a=nets[0], b=nets[1], ohms=passive.NONE)


def _fuse(m: _Made, nets: tuple[str, ...]) -> Element:
    rating = rating_of(m.part)
    ohms = fuse_ohms(m.name, rating)
    return passive.Resistor(**m.who, a=nets[0], b=nets[1], ohms=ohms, blows=BLOWS * rating)


def _switch(m: _Made, nets: tuple[str, ...]) -> Element:
    coil = m.part.designator if m.part.designator.startswith(("RL", "K")) else ""
    low, high = SPREADS["contact"].ends(passive.CONTACT)
    ohms = Number(passive.CONTACT, ((f"{m.name} contact", low, high),))
    return passive.Contact(
        **m.who, a=nets[0], b=nets[1], ohms=ohms, coil=coil, rest="nc" in m.words or not coil
    )


def _diode(m: _Made, nets: tuple[str, ...]) -> Element:
    schottky = is_schottky(m.part)
    volts, spread = (SCHOTTKY_VOLTS, "schottky") if schottky else (SILICON_VOLTS, "silicon junction")
    sort = "schottky" if schottky else "silicon"
    return junctions.Diode(
        **m.who,
        anode=nets[0],
        cathode=nets[1],
        forward=m.spread(volts, spread, ""),
        tested=junctions.TESTED[sort],
        emission=junctions.EMISSION[sort],
    )


def _zener(m: _Made, nets: tuple[str, ...]) -> Element:
    forward = m.spread(SILICON_VOLTS, "silicon junction", "forward")
    return junctions.Diode(
        **m.who,
        anode=nets[0],
        cathode=nets[1],
        forward=forward,
        breakdown=m.value("zener"),
        tested=junctions.TESTED["zener"],
    )


def _led(m: _Made, nets: tuple[str, ...]) -> Element:
    named = next((FORWARD_VOLTS[word] for word in m.words if word in FORWARD_VOLTS), FORWARD_VOLTS["red"])
    forward = m.value("led") if m.part.value else m.spread(named, "led", "")
    return junctions.Diode(
        **m.who, anode=nets[0], cathode=nets[1], forward=forward, emission=junctions.EMISSION["led"]
    )


def _bipolar(m: _Made, nets: tuple[str, ...]) -> Element:
    hfe = m.further("hfe", USUAL_HFE, "hfe")
    amperes = max(SMALL, OF_RATING * m.part.ratings.get("A", 0.0))
    return junctions.Transistor(
        **m.who, base=nets[0], collector=nets[1], emitter=nets[2], hfe=hfe, at=amperes / hfe.value,
        vbe=m.spread(SILICON_VOLTS, "silicon junction", "vbe"), vce_sat=m.spread(0.2, "saturation", "vce_sat"), pnp=m.sort == "pnp",
    )  # fmt: skip


def _mosfet(m: _Made, nets: tuple[str, ...]) -> Element:
    return junctions.Mosfet(
        **m.who, gate=nets[0], drain=nets[1], source=nets[2], vth=m.further("vth", USUAL_VTH, "threshold"),
        rds=m.further("rds", USUAL_RDS, "on-resistance"), p_channel=m.sort == "pmos",
    )  # fmt: skip


def _battery(m: _Made, nets: tuple[str, ...]) -> Element:
    return sources.Source(**m.who, plus=nets[0], minus=nets[1], volts=exact(m.part.ratings.get("V", 0.0)))


def _regulator(m: _Made, nets: tuple[str, ...]) -> Element:
    volts = m.spread(m.part.ratings.get("V", 5.0), "regulator", "")
    return chips.Regulator(**m.who, input=nets[0], output=nets[1], common=nets[2], volts=volts)


_MAKERS: dict[str, Callable[[_Made, tuple[str, ...]], Element]] = {
    "resistor": _resistor, "potentiometer": _resistor, "photoresistor": _resistor, "thermistor": _thermistor,
    "capacitor": _capacitor, "inductor": _inductor, "winding": _winding, "coil": _winding, "varistor": _varistor,
    "fuse": _fuse, "thermal fuse": _fuse, "switch": _switch, "diode": _diode, "zener": _zener, "led": _led, "npn": _bipolar, "pnp": _bipolar,
    "nmos": _mosfet, "pmos": _mosfet, "battery": _battery, "regulator": _regulator,
}  # fmt: skip
