"""The rail of a transformer supply in the steady state: under load, unloaded, and the currents that it takes."""

from __future__ import annotations

import math

from generator.circuit.block import Block, Formula, Point, Solved
from generator.circuit.inputs import Inputs
from generator.circuit.rails import DIODES_IN_PATH, decay
from generator.circuit.rectifier_cycle import Cycle
from generator.circuit.spread import SPREADS
from generator.circuit.steady_state import Ripple, rectifier_steady_state
from generator.notation.quantity import Quantity, exactly

# share by which a mains transformer gives more without load, by its VA: half at 1 VA, a quarter at 6, a tenth at 60
REGULATION, SMALLER = 0.5, 0.4  # (catalogues of encapsulated and laminated transformers, from memory)


def by_volt_amperes(inputs: Inputs) -> None:
    """What a transformer's VA say of its regulation and its rated current, where the note does not."""
    part, secondary = inputs.given["transformer"], inputs.given["secondary"]
    watts = part.ratings.get("W") if part is not None else None
    if not watts or "regulation" not in inputs.spreads:
        return
    inputs.without_spread("regulation")
    share = REGULATION / watts**SMALLER
    found = {
        "regulation": Quantity(
            share, *SPREADS["regulation by VA"].ends(share), "", f"{share * 100:.0f} %", True
        )
    }
    if inputs.given["rated_current"] is None:
        halves = 2 if inputs.numbers["rectifier"] == "centre-tap" else 1
        found["rated_current"] = exactly(watts / secondary.middle / halves, "A")
    for name, quantity in found.items():
        inputs.given[name] = quantity
        inputs.add(name, quantity, quantity.unit)


def without_smoothing(x: Point, secondary: float, n: int, full_wave: bool) -> float:
    """What a DC meter shows with the capacitor open: the average of the rectified source."""
    return rectifier_steady_state(
        emf=max(secondary * math.sqrt(2), 1e-12), drop=n * x.diode_drop, source_resistance=0.0, capacitance=0.0, current=0.0,
        resistance=math.inf, frequency=x.f, full_wave=full_wave,
    ).mean  # fmt: skip


def _steady_state(x: Point, secondary: float, n: int, full_wave: bool) -> tuple[Ripple, float]:
    """The rail under load, and what the drains come to as a resistance."""
    by_current = x.load_is == "A"
    drains = [r for r in (None if by_current else x.load, x.bleeder) if r is not None]
    conductance = sum(1 / r for r in drains)
    behind = x.rated_current is not None and x.regulation > 0
    drain_resistance = 1 / conductance if conductance else math.inf
    found = rectifier_steady_state(
        emf=secondary * math.sqrt(2) * (1 + x.regulation if behind else 1.0),
        drop=n * x.diode_drop,
        source_resistance=secondary * x.regulation / x.rated_current if behind else 0.0,
        capacitance=x.smoothing,
        current=x.load if by_current else 0.0,
        resistance=drain_resistance,
        frequency=x.f,
        full_wave=full_wave,
    )
    return found, drain_resistance


def under_load(x: Point, n: int, full_wave: bool) -> Solved:
    """The steady state, and the decay between two crests as the load is a current, a resistor or both."""
    state, drain = _steady_state(x, x.secondary, n, full_wave)
    found: dict[str, float | Formula] = {
        "v_top": state.top, "v_off": state.v_off, "t_off": state.t_off, "dip": state.dip, "area": state.area, "R": drain,
    }  # fmt: skip
    if math.isfinite(state.square) and state.square > 0:  # only where the source has a resistance of its own
        found |= {"pulses": state.square, "halves": 2 if x.rectifier == "centre-tap" else 1}
    if x.smoothing == 0:
        return {**found, "trough": state.trough, "mean": state.mean}
    if state.trough == 0:
        return {**found, "trough": Formula("0")}
    trough = decay(x, "smoothing", drain)
    return {**found, "trough": Formula(trough + (" − dip" if state.dip else ""))}


# RMS current in the secondary for each ampere of direct current with a large smoothing capacitor, where the winding's
# own resistance is not known (common practice, no source).
_RMS_FOR_DC = {"bridge": 1.8, "centre-tap": 1.2, "half-wave": 2.5}


def pulses_rms(x: Point, secondary: float) -> tuple[float, float]:
    """RMS amperes in the secondary (each half of a centre-tapped one) and in the capacitor, in the steady state."""
    n, full_wave = DIODES_IN_PATH[x.rectifier], x.rectifier != "half-wave"
    found, drain = _steady_state(x, secondary, n, full_wave)
    direct = (x.load if x.load_is == "A" else 0.0) + (found.mean / drain if math.isfinite(drain) else 0.0)
    # each half of a centre-tapped winding carries every other pulse
    halves = 2 if x.rectifier == "centre-tap" else 1
    if math.isfinite(found.square) and found.square > 0:
        winding = math.sqrt(found.square * (2 if full_wave else 1) * x.f / halves)
    else:
        winding = direct * _RMS_FOR_DC[x.rectifier]
    return winding, math.sqrt(max(0.0, winding**2 * halves - direct**2))


def loaded_cycle(block: Block) -> Cycle | None:
    """The rail's period under load; None where nothing drains the capacitor, or the load keeps the rail at zero."""
    x = block.point
    if "v_top" not in block.solved or not x.smoothing:
        return None
    current, resistance = x.load if x.load_is == "A" else 0.0, block.solved["R"]
    if current <= 0 and math.isinf(resistance):
        return None
    behind = x.rated_current is not None and x.regulation > 0  # the secondary sags under load
    emf = x.secondary * math.sqrt(2) * (1 + x.regulation if behind else 1.0)
    inner = x.secondary * x.regulation / x.rated_current if behind else 0.0
    drop = DIODES_IN_PATH[x.rectifier] * x.diode_drop
    if emf - drop <= current * inner:
        return None
    period = 1 / (x.f if x.rectifier == "half-wave" else 2 * x.f)
    return Cycle(emf, drop, inner, x.smoothing, current, resistance, 2 * math.pi * x.f, period)
