"""The rail of a mains rectifier in the steady state, sound and with a part of it gone."""

from __future__ import annotations

import math

from generator.circuit.block import Point
from generator.circuit.bulk_cycle import Bulk, Drain, doubled_bulk, rectified_bulk
from generator.circuit.formula import STATED, Formula, Found
from generator.circuit.plug import LIMIT
from generator.circuit.rails import DIODES_IN_PATH, decay


def halves(rectifier: str) -> int:
    """How many crests of the mains the rail adds up: 2 for a doubler."""
    return 2 if rectifier == "doubler" else 1


def drain_of(x: Point) -> Drain:
    """What draws from the rail: the load and, where there is one capacitor, its bleeder."""
    current = x.load if x.load is not None and x.load_is == "A" else 0.0
    power = x.load if x.load is not None and x.load_is == "W" else 0.0
    ohms = [r for r in (x.load if x.load is not None and x.load_is == "ohm" else None, _own_bleeder(x)) if r]
    conductance = sum(1 / r for r in ohms)
    return Drain(current, power, 1 / conductance if conductance else math.inf)


def _own_bleeder(x: Point) -> float | None:
    return None if x.rectifier == "doubler" else x.bleeder


def _rail(x: Point, emf: float) -> Bulk:
    """The rail under load."""
    n = DIODES_IN_PATH[x.rectifier]
    if x.rectifier == "doubler":
        bleeder = math.inf if x.bleeder is None else x.bleeder
        return doubled_bulk(
            emf=emf,
            drop=n * x.diode_drop / 2,
            farad=x.bulk,
            bleeder=bleeder,
            drain=drain_of(x),
            frequency=x.f,
        )
    full = x.rectifier == "bridge" and x.failed("diodes") != "open"
    return rectified_bulk(
        emf=emf, drop=n * x.diode_drop, farad=x.bulk, drain=drain_of(x), frequency=x.f, full_wave=full
    )


def discharge(x: Point, peak: float) -> float | Formula:
    """Seconds from peak (V) down to LIMIT through the bleeder; inf without one."""
    if x.bulk == 0 or peak <= LIMIT:
        return 0.0
    if x.bleeder is None or math.isinf(x.bleeder):
        return math.inf
    return Formula(f"bleeder·bulk·ln(peak/{LIMIT:g})")


def under_load(x: Point) -> Found:
    """The rail's figures and helpers at the nominal mains."""
    rail = _rail(x, x.supply * math.sqrt(2))
    full = x.rectifier != "half-wave" and x.failed("diodes") != "open"
    drain = drain_of(x).resistance
    trough = "v_upper + v_lower" if x.rectifier == "doubler" else decay(x, "bulk", drain)
    return {
        "v_top": rail.top, "v_off": rail.v_off, "t_off": rail.t_off, "v_upper": rail.upper, "v_lower": rail.lower,
        "area": rail.area, "R": drain,
        "trough": Formula(trough) if rail.trough > 0 else 0.0,
        "ripple": STATED,
        "ripple_frequency": STATED if full else Formula("f"),
        "mean": STATED,
    }  # fmt: skip


def without_bulk(x: Point, n: int) -> Found:
    """What a DC meter shows with the capacitor open (a doubler: one of the two): the mean of what the diodes let through."""
    crest = x.supply * math.sqrt(2)
    # the other half charges as before; across it and the source stands its voltage as mean
    if x.rectifier == "doubler":
        mean, top = max(0.0, crest - x.diode_drop), 2 * crest - 2 * x.diode_drop
    else:
        full = x.rectifier == "bridge"
        drop = n * x.diode_drop
        half = math.acos(min(1.0, drop / crest))
        mean = (crest * math.sin(half) - drop * half) / math.pi * (2 if full else 1)
        top = max(0.0, crest - drop)
    found: Found = {"peak": mean, "high_mains_peak": top, "discharge_time_34v": 0.0}
    if x.load is not None:
        found |= {
            "trough": 0.0,
            "ripple": top,
            "mean": mean,
            "ripple_frequency": 2 * x.f if x.rectifier == "bridge" else x.f,
        }
    return found


def half_a_doubler(x: Point) -> Found:
    """One diode of a doubler open: its capacitor gets no charge, and the load has to draw through that one's bleeder."""
    peak = max(0.0, x.supply * math.sqrt(2) - x.diode_drop)
    found: Found = {"peak": peak, "high_mains_peak": peak, "discharge_time_34v": discharge(x, peak)}
    if x.load is None:
        return found
    through = x.bleeder is not None and x.load_is == "ohm"
    mean = peak * x.load / (x.load + x.bleeder) if through else 0.0
    return {**found, "mean": mean, "trough": mean, "ripple": 0.0, "ripple_frequency": x.f}
