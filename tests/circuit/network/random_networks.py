"""Networks of random parts between random nets, for what has to hold for any of them."""

from __future__ import annotations

import random

from generator.circuit.network.chips import Amplifier, Coupler, Regulator
from generator.circuit.network.element import Element, exact
from generator.circuit.network.junctions import Diode, Mosfet, Transistor
from generator.circuit.network.passive import Capacitor, Resistor
from generator.circuit.network.sources import Load, Source

MOST = 40


def random_network(seed: int) -> list[Element]:
    """Up to 40 parts; a third are resistors."""
    rng = random.Random(seed)
    count = rng.randint(1, MOST)
    nets = ["0", *(f"n{i}" for i in range(rng.randint(1, max(2, count // 2))))]
    return [_part(rng, f"e{i}", [rng.choice(nets) for _ in range(5)]) for i in range(count)]


def _part(rng: random.Random, name: str, nets: list[str]) -> Element:
    a, b, c, d, e = nets
    sort = rng.randint(0, 13)
    if sort <= 3:
        return Resistor(name=name, a=a, b=b, ohms=exact(10 ** rng.uniform(0, 6)))
    if sort == 4:
        volts, ohms = rng.choice([3, 5, 12, 325]), rng.choice([0, 1, 30])
        return Source(name=name, plus=a, minus=b, volts=exact(volts), ohms=exact(ohms))
    if sort == 5:
        return Diode(name=name, anode=a, cathode=b, breakdown=exact(rng.choice([0, 0, 5.1, 12])))
    if sort in (6, 7):
        return Transistor(
            name=name,
            base=a,
            collector=b,
            emitter=c,
            hfe=exact(rng.choice([20, 100, 400])),
            pnp=rng.random() < 0.5,
        )
    if sort == 8:
        return Mosfet(name=name, gate=a, drain=b, source=c, p_channel=rng.random() < 0.5)
    if sort == 9:
        return Load(name=name, a=a, b=b, amperes=exact(10 ** rng.uniform(-4, 0)))
    if sort == 10:
        return Regulator(name=name, input=a, output=b, common=c, volts=exact(5))
    if sort == 11:
        return Amplifier(
            name=name, plus=a, minus=b, output=c, supply=d, common=e, open_collector=rng.random() < 0.5
        )
    if sort == 12:
        return Coupler(name=name, anode=a, cathode=b, collector=c, emitter=d, ctr=exact(1))
    return Capacitor(name=name, a=a, b=b, farads=exact(1e-6))
