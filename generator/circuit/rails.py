"""What supplies that rectify an alternating voltage share: the diodes in the way, and the decay between two crests."""

from __future__ import annotations

import math

from generator.circuit import param
from generator.circuit.block import Point

DRAINS = 1e7  # ohm, by which what an open fuse or inrush limiter cuts off is at no voltage
DIODES_IN_PATH = {  # rectifier -> diode drops between the source's crest and the rail
    "half-wave": 1,
    "centre-tap": 1,
    "bridge": 2,
    "doubler": 2,  # one in each half
}

DIODE_DROP = param.Quantity(
    "V", "forward voltage of each diode", default="0.7 V", zero=True, spread="rectifier"
)


def decay(x: Point, capacitor: str, drain: float) -> str:
    """The formula of what a capacitor that stood at v_off is down to after t_off, by what x.load is.

    capacitor: the name of its parameter; drain: ohm across it, inf for none, which the formula calls R. Source: the
    capacitor's equation, solved for a constant current, a resistance, a constant power.
    """
    if x.load_is == "ohm":
        return f"v_off·exp(−t_off/(R·{capacitor}))"
    if x.load_is == "W":
        bare = f"√(v_off² − 2·load·t_off/{capacitor})"
        return bare if math.isinf(drain) else f"√((v_off² + load·R)·exp(−2·t_off/(R·{capacitor})) − load·R)"
    bare = f"v_off − load·t_off/{capacitor}"
    return bare if math.isinf(drain) else f"(v_off + load·R)·exp(−t_off/(R·{capacitor})) − load·R"
