"""Kinds that are no networks of resistors and junctions: timing, AC, heat, motors, batteries, by closed physics.

Sources are named beside each; where a failure leaves a meter nothing to show, the value is None.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
from circuits import Measure
from lab import LEAKY_BELOW, METER, OPEN, Failed, Shown, Values
from scipy.optimize import brentq

# Volts of a cell: nominal, full, empty. Typical data sheets, from memory.
CELLS = {
    "li-ion": (3.7, 4.2, 3.0),
    "ni-mh": (1.2, 1.4, 1.0),
    "alkaline": (1.5, 1.6, 0.9),
    "lead-acid": (2.0, 2.13, 1.75),
}


def battery(cells: int, chemistry: str, capacity: float, load: float) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        left = {"open": 0, "short": cells - 1}.get(failed[1], cells)
        shown: Shown = {name: left * v for name, v in zip(("nominal", "full", "empty"), CELLS[chemistry])}
        shown["runtime"] = capacity / load * 3600.0 if left else 0.0
        return shown

    return measure


def sense(gain: float, load: float, limit: float) -> Measure:
    """Drop = I·R (Ohm's law). Broken, what fed the load stands across the shunt, and the amplifier at its rail."""

    def measure(p: Values, failed: Failed) -> Shown:
        drop = p["severity"] if p["R20"] >= OPEN else load * p["R20"]
        rail = 12.0  # of the amplifier
        return {
            "drop": drop,
            "amplified": rail if p["R20"] >= OPEN else gain * drop,
            "limit_current": 0.0 if p["R20"] >= OPEN else limit / (gain * p["R20"]),
        }

    return measure


def rc(supply: float, threshold: float, charging: bool) -> Measure:
    """v' = (source − v)/RC (first-order linear circuit). Delay by stopwatch; the constant with a probe of 10 Mohm."""

    def measure(p: Values, failed: Failed) -> Shown:
        if failed == ("C10", "short"):
            return {"delay": math.inf if charging else None}
        if p["C10"] <= LEAKY_BELOW:
            return {"delay": 0.0, "time_constant": 0.0}
        if p["R21"] >= OPEN:
            return {"delay": math.inf if charging else None, "time_constant": None}
        probed = p["C10"] * p["R21"] * METER / (METER + p["R21"])
        tau = p["C10"] * p["R21"]
        return {
            "delay": tau * math.log(supply / (supply - threshold if charging else threshold)),
            "time_constant": probed,
        }

    return measure


def timer(astable: bool) -> Measure:
    """The 555's capacitor swings between 1/3 and 2/3 of the supply (data sheets); charged via RA+RB, emptied via RB."""

    def crossing(tau: float, start: float, target: float, end: float) -> float:
        return tau * math.log((end - start) / (end - target))

    def measure(p: Values, failed: Failed) -> Shown:
        stuck = failed == ("C1", "short") or p["R1"] >= OPEN or p.get("R2", 0.0) >= OPEN
        if failed[0] == "timer chip":
            return (
                {"high_time": 0.0, "low_time": math.inf, "frequency": 0.0, "duty": 0.0}
                if astable
                else {"pulse": 0.0}
            )
        if not astable:
            return {"pulse": math.inf if stuck else crossing(p["R1"] * p["C1"], 0.0, 2 / 3, 1.0)}
        if stuck:
            return {"high_time": math.inf, "low_time": None, "frequency": 0.0, "duty": 1.0}
        high = crossing((p["R1"] + p["R2"]) * p["C1"], 1 / 3, 2 / 3, 1.0)
        low = crossing(p["R2"] * p["C1"], 2 / 3, 1 / 3, 0.0)
        tiny = p["C1"] <= LEAKY_BELOW
        return {
            "high_time": high,
            "low_time": low,
            "frequency": None if tiny else 1 / (high + low),
            "duty": high / (high + low),
        }

    return measure


def start(strings: tuple[str, ...], volts: float, drawn: float) -> Measure:
    """C·v' = (bus − v)/R − I from 0 V (first-order linear circuit); solved for its crossing by bisection."""

    def measure(p: Values, failed: Failed) -> Shown:
        bus, total = p["mains"] * math.sqrt(2), sum(p[name] for name in strings)
        shorted = failed == ("C9", "short")
        current = 0.0 if total >= OPEN else (bus - (0.0 if shorted else volts)) / total
        end = bus - drawn * total
        if shorted or total >= OPEN or end <= volts:
            time = math.inf
        elif p["C9"] <= LEAKY_BELOW:
            time = 0.0
        else:
            tau = total * p["C9"]
            time = brentq(lambda t: end * -math.expm1(-t / tau) - volts, 0.0, 100 * tau)
        return {"bus": bus, "start_current_available": current, "start_time": time}

    return measure


def dimmer(breakover: float, breakback: float, frequency: float = 50.0, steps: int = 4000) -> Measure:
    """RC across the triac, fed with the mains until the diac fires: stepped over half-cycles until it repeats.

    Broken or shorted parts leave no charge for the gate: the gate then needs 10 mA through the resistors (from memory).
    """
    dt = 1 / (2 * frequency) / steps
    theta = np.pi * (np.arange(steps) + 0.5) / steps

    def fires(p: Values, resistance: float) -> float | None:
        """Firing angle in rad in the steady state, None where it never fires."""
        crest, fade = p["mains"] * math.sqrt(2), math.exp(-dt / (resistance * p["C2"]))
        v, last = 0.0, None
        drive = crest * np.sin(theta)
        for half in range(60):
            fired = None
            for k in range(steps):
                v = drive[k] + (v - drive[k]) * fade
                if v >= breakover:
                    fired = float(theta[k])
                    left = (steps - 1 - k) * dt
                    v = (breakover - breakback) * math.exp(-left / (resistance * p["C2"]))
                    break
            if half > 3 and fired is not None and last is not None and abs(fired - last) < 1e-4:
                return fired
            last, v = fired, -v
        return last

    def angle(p: Values, failed: Failed, resistance: float) -> float | None:
        crest = p["mains"] * math.sqrt(2)
        if resistance >= OPEN or failed in (("diac", "open"), ("C2", "short")):
            return None
        if failed == ("diac", "short") or p["C2"] <= LEAKY_BELOW:
            broken = failed != ("diac", "short")
            needed = max(
                breakover if broken else 0.0, (breakover - breakback if broken else 0.0) + 0.010 * resistance
            )
            return math.asin(needed / crest) if needed <= crest else None
        return fires(p, resistance)

    def measure(p: Values, failed: Failed) -> Shown:
        shown: Shown = {}
        for end, share, resistance in (("min", "max", p["R1"]), ("max", "min", p["R1"] + p["VR1"])):
            if p["VR1"] >= OPEN:
                resistance = OPEN
            found = angle(p, failed, max(resistance, 1.0))
            shown[f"firing_angle_{end}"] = None if found is None else math.degrees(found)
            # mean square of what is left of the sine
            conducting = np.sin(np.linspace(math.pi if found is None else found, math.pi, 2001)) ** 2
            shown[f"power_share_{share}"] = float(
                np.trapezoid(conducting, dx=(math.pi - (found or math.pi)) / 2000) / (math.pi / 2)
            )
        return shown

    return measure


def triac(watts: float, snubber: bool, frequency: float = 50.0) -> Measure:
    """The load is a resistance of its rated power at 230 V; impedances in series add as complex numbers."""

    def measure(p: Values, failed: Failed) -> Shown:
        load = 230.0**2 / watts
        leak = 0.0
        if snubber:
            reactance = 0.0 if failed == ("C6", "short") else 1 / (2 * math.pi * frequency * p["C6"])
            leak = p["mains"] / abs(load + p.get("R8", 0.0) - cmath.sqrt(-1) * reactance)
        full = p["mains"] / load
        dead = failed == ("TR1", "open") or p["R7"] >= OPEN
        shown: Shown = {"load_current": leak if dead else full}
        if snubber:
            shown["snubber_current"] = full if failed == ("TR1", "short") else leak
        return shown

    return measure


def heater(watts: float, volts: float, mains: bool, heat: tuple[float, float, float] | None) -> Measure:
    """Joule's law; warming from mass times specific heat and rise over the power that arrives (heat: J, efficiency)."""

    def measure(p: Values, failed: Failed) -> Shown:
        resistance = math.inf if failed[1] == "open" and failed[0] == "E1" else volts * volts / watts
        across = p["mains"] if mains else volts
        if failed == ("RL1", "open"):
            across = 0.0
        elif failed == ("RL1", "high resistance"):
            across *= 1 - p["severity"]
        power = across * across / resistance
        shown: Shown = {"resistance": resistance, "power_at_supply": power, "current": across / resistance}
        if heat:
            mass, rise, share = heat
            shown["heat_time"] = mass * rise / (power * share) if power else math.inf
        return shown

    return measure


def motor(supply: float, winding: float, running: float) -> Measure:
    """Winding and back EMF in series (equivalent circuit of the brushed motor)."""

    def measure(p: Values, failed: Failed) -> Shown:
        if failed in (("M1", "open"), ("C3", "short")):
            return {"stall_current": 0.0, "back_emf": 0.0}
        return {"stall_current": supply / winding, "back_emf": supply - running * winding}

    return measure


def inlet(watts: float, thermal: tuple[str, ...], crossed: bool) -> Measure:
    """Plug voltage: a capacitor left at the crest empties through its resistor (exponential), meter beside it."""

    def measure(p: Values, failed: Failed) -> Shown:
        blown = failed in (("F1", "open"), ("C1", "short"), ("RV1", "short"))
        broken = blown or failed == ("S1", "open") or failed[0] in thermal
        share = 0.0 if broken else 1 - p["severity"] if failed == ("S1", "high resistance") else 1.0
        crest = p["mains"] * math.sqrt(2)
        shown: Shown = {"current": share * watts / p["mains"], "peak": share * crest}
        if crossed:
            tau = p["R1"] * METER / (p["R1"] + METER) * p["C1"] if p["R1"] < OPEN else METER * p["C1"]
            stored = 0.0 if blown or p["C1"] <= LEAKY_BELOW else crest
            shown["plug_voltage_1s"] = stored * math.exp(-1 / tau)
            shown["discharge_time_34v"] = tau * math.log(crest / 34.0) if stored else 0.0
        return shown

    return measure
