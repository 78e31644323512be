"""Rectifiers and capacitive droppers stepped through time, many at once; nothing solved in closed form.

Each step of a few microseconds is taken implicitly (backward Euler), the diodes' states found within the step. A test
holds it to an integration by scipy.
"""

from __future__ import annotations

import math

import numpy as np
from circuits import Measure
from lab import LEAKY_BELOW, METER, OPEN, Failed, Shown, Values

STEPS = 500  # a period


def rail(
    *, emf: float, drop: float, source: float, capacitance: float, current: float, resistance: float, frequency: float,
    both_halves: bool, periods: int = 40,
) -> np.ndarray:  # fmt: skip
    """The smoothing capacitor's voltage over the last period, V. emf: crest; drop: of the diodes together.

    capacitance 0: the rail follows the source. current: drawn while there is voltage.
    """
    dt = 1 / frequency / STEPS
    phase = np.cos(2 * math.pi * np.arange(STEPS) / STEPS)
    pushed = (emf * (np.abs(phase) if both_halves else phase) - drop).tolist()
    source = max(source, 1e-6)
    c, g = capacitance / dt, 1 / resistance
    if capacitance <= LEAKY_BELOW:
        c = 0.0
    v = max(0.0, emf - drop)
    last: list[float] = []
    before = math.inf
    for _ in range(periods):
        last = []
        for e in pushed:
            off = (c * v - current) / (c + g)
            if e > off:
                v = max(0.0, (c * v - current + e / source) / (c + g + 1 / source))
            else:
                v = max(0.0, off)
            last.append(v)
        if abs(v - before) < 1e-6 * emf:
            break
        before = v
    return np.array(last)


def supply(
    secondary: float, rectifier: str, regulation: float, rated: float | None, load: tuple[str, float], bleeder: str = "R4",
    frequency: float = 50.0,
) -> Measure:  # fmt: skip
    """A transformer's secondary, diodes of 0.7 V, smoothing C3, bleeder and load. The secondary follows the mains."""

    def measure(p: Values, failed: Failed) -> Shown:
        diodes = 2 if rectifier == "bridge" else 1
        volts = secondary * p["mains"] / 230.0
        dead = failed in (("C3", "short"), ("rectifier diode", "short"), ("transformer winding", "open"))
        half = rectifier == "half-wave" or failed == ("rectifier diode", "open")
        if rectifier == "half-wave" and failed == ("rectifier diode", "open"):
            dead = True
        c = p["C3"]

        def over_a_period(loaded: bool) -> np.ndarray:
            if dead:
                return np.zeros(STEPS)
            behind = regulation > 0 and rated is not None
            lifted = 1 + regulation if behind or not loaded else 1.0
            leaks = METER * p[bleeder] / (METER + p[bleeder])
            drains = leaks if not loaded or load[0] == "A" else leaks * p["load"] / (leaks + p["load"])
            return rail(
                emf=volts * math.sqrt(2) * lifted, drop=diodes * 0.7, source=volts * regulation / rated if behind and rated else 0.0,
                capacitance=c, current=load[1] if loaded and load[0] == "A" else 0.0, resistance=drains, frequency=frequency,
                both_halves=not half,
            )  # fmt: skip

        on, off = over_a_period(True), over_a_period(False)
        ripple = float(on.max() - on.min())
        shown: Shown = {
            "no_load_peak": float(off.mean()), "mean": float(on.mean()), "trough": float(on.min()), "ripple": ripple,
            "ripple_frequency": 0.0 if dead else frequency * (1 if half else 2),
        }  # fmt: skip
        if failed[0] != "C3" and not dead:
            tau = c * p[bleeder] * METER / (METER + p[bleeder])
            crest = max(0.0, volts * math.sqrt(2) - diodes * 0.7)
            shown["decay_time"] = tau * math.log(crest / 1.0)
        return shown

    return measure


def dropper(output: float, load: float, bridge: bool, frequency: float = 50.0) -> Measure:
    """Mains, series R1 and C1 (R2 across it), into the rail's clamp: the current through the diodes, period by period.

    Half-wave: forward through D1 into the rail, back through the clamp's own junction. Bridge: both ways into the rail.
    The diodes drop 0.7 V. The clamp holds the rail at the output; without surplus the rail sags.
    """
    dt = 1 / frequency / STEPS
    phase = (np.cos(2 * math.pi * np.arange(STEPS) / STEPS)).tolist()

    def charges(
        p: Values, forward: bool, level: float, backward: bool, back: float, periods: int = 40
    ) -> tuple[float, float]:
        """As a period forward and backward, once it repeats. level, back: volts that the source has to overcome."""
        crest, series, c, leak = p["mains"] * math.sqrt(2), p["R1"], p["C1"], p["R2"]
        v, plus, minus, before = 0.0, 0.0, 0.0, math.inf
        if forward and not backward:
            v = crest - level  # where one-way current ends up sooner or later
        if backward and not forward:
            v = -(crest - back)
        for _ in range(periods):
            plus = minus = 0.0
            for k in range(STEPS):
                e = crest * phase[k]
                i = 0.0
                # implicit step of the dropper's voltage: c·(v' − v)/dt + v'/leak = i, i = (e − v' ∓ level)/series
                a = c / dt + 1 / leak
                open_v = c / dt * v / a
                if forward and e - open_v > level:
                    i = (e - level - open_v) / (series + 1 / a)
                elif backward and e - open_v < -back:
                    i = (e + back - open_v) / (series + 1 / a)
                v = open_v + i / a
                plus += max(i, 0.0) * dt
                minus += max(-i, 0.0) * dt
            if abs(plus + minus - before) < 1e-5 * (plus + minus + 1e-12):
                break
            before = plus + minus
        return plus, minus

    def measure(p: Values, failed: Failed) -> Shown:
        dead_cap, burnt = failed == ("C2", "short"), failed == ("C1", "short") or p["R1"] >= OPEN

        def mean_current(at_rail: float) -> float:
            if burnt or dead_cap:
                return 0.0
            if bridge:
                if failed == ("ZD1", "short"):
                    return 0.0
                if failed == ("D1", "open"):
                    return charges(p, True, at_rail + 1.4, False, 0.0)[0] * frequency
                if failed == ("D1", "short"):
                    return charges(p, True, at_rail + 0.7, True, 0.7)[0] * frequency
                return sum(charges(p, True, at_rail + 1.4, True, at_rail + 1.4)) * frequency
            if failed in (("ZD1", "short"), ("D1", "short"), ("D1", "open")):
                return 0.0
            if failed == ("ZD1", "open"):
                return charges(p, True, at_rail + 0.7, False, 0.0)[0] * frequency
            return charges(p, True, at_rail + 0.7, True, 0.7)[0] * frequency

        available = mean_current(output)
        crest = p["mains"] * math.sqrt(2)
        stored = 0.0 if burnt or p["C1"] <= LEAKY_BELOW else crest
        tau = p["C1"] * p["R2"] * METER / (p["R2"] + METER)
        shown: Shown = {
            "current": available, "plug_voltage_1s": stored * math.exp(-1 / tau) if stored else 0.0,
            "discharge_time_34v": tau * math.log(crest / 34.0) if stored else 0.0,
            "reactance": math.inf if p["C1"] <= LEAKY_BELOW else 0.0 if failed == ("C1", "short") else 1 / (2 * math.pi * frequency * p["C1"]),
        }  # fmt: skip
        if failed != ("C2", "open"):
            shown["rail"] = _rail(mean_current, available, failed)
        return shown

    def _rail(mean_current, available: float, failed: Failed) -> float:  # type: ignore[no-untyped-def]
        ceiling = output if failed != ("ZD1", "open") else 600.0
        if available > load and failed != ("ZD1", "open"):
            return output
        low, high = 0.0, ceiling
        if mean_current(0.0) <= load:
            return 0.0
        for _ in range(12):  # the current falls steadily with the rail
            middle = (low + high) / 2
            low, high = (middle, high) if mean_current(middle) > load else (low, middle)
        return (low + high) / 2

    return measure
