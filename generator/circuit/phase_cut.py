"""When a diac fires its triac, when the triac blocks again, and what of the mains stands across it until then."""

from __future__ import annotations

import math

from generator.circuit.roots import root

TOLERANCE = 1e-11  # rad: a step as small ends the search for the firing angle
GATE_CURRENT = 0.010  # A; what the gate of a common 4 A to 8 A triac needs, from memory
_MOST_STEPS = 100


def firing_angle(
    *,
    peak: float,
    resistance: float,
    capacitance: float,
    breakover: float,
    breakback: float,
    frequency: float,
) -> float | None:
    """Angle in rad after the zero crossing at which the triac fires in the steady state; None where it never does.

    peak: of the mains, V; resistance (ohm) and capacitance (F) in series across the triac; breakover, breakback: V of
    the diac. The load is resistive and small beside the resistance.
    """
    return fires_at(
        peak=peak,
        k=2 * math.pi * frequency * resistance * capacitance,
        breakover=breakover,
        breakback=breakback,
    )


def fires_at(
    *, peak: float, k: float, breakover: float, breakback: float, blocks: float = 0.0
) -> float | None:
    """Angle in rad after the zero crossing at which the triac fires in the steady state; None where it never does.

    peak: V of the sine that charges the capacitor; k: by how many rad that lags behind it (the time constant);
    breakover, breakback: V of the diac; blocks: rad after the zero crossing at which the triac, which the lagging current
    of its load has kept on, blocks again. The usual two-wire circuit: while the triac blocks, the load (small beside the
    resistance) passes the mains on to the RC; once it conducts, some 0 V is left across it and the RC until it blocks.
    So from there to firing v' = (peak·sin θ − v)/k; firing takes the capacitor from breakover to breakover − breakback,
    and that decays as long as the triac conducts. Symmetric half-cycles start at the negative of where the last one
    ended, which makes the firing angle α the first root of

        g(α) = breakover + (breakover − breakback)·exp(−π/k),   g the response of the RC from 0 V where the triac blocks.

    g rises as long as it is below the mains, hence at most once through that level while the mains is above it: the
    root is bracketed and closed in on to 1e-9 degrees, each step the rising root of the parabola that has the height,
    slope and curvature of g (Cauchy's method: quick also where g barely reaches the level and its slope is almost 0,
    which slows Newton's method down). There is a root exactly where firing can sustain itself; switched on with an
    empty capacitor the circuit settles there.
    Source: first-order linear circuit, periodic steady state.
    """
    kept = (breakover - breakback) * (math.exp(-math.pi / k) if k > 0 else 0.0)
    level = breakover + kept
    if level > peak or math.isinf(k):
        return None
    first = math.asin(level / peak)
    last = math.pi - first
    if last <= blocks:
        return None
    first = max(first, blocks)
    if k == 0:
        return first
    amplitude, lag = peak / math.hypot(1, k), math.atan(k)
    # the mains' part of the response is along·(sin θ − k·cos θ), the start's fades away
    along = peak / (1 + k * k)
    start = along * (k * math.cos(blocks) - math.sin(blocks))

    def response(angle: float) -> float:
        return along * (math.sin(angle) - k * math.cos(angle)) + start * math.exp((blocks - angle) / k)

    if response(last) < level:
        return None
    # Without what is left of its start, the RC would follow the mains by the lag.
    angle = math.asin(level / amplitude) + lag if level < amplitude else (first + last) / 2
    angle = min(max(angle, first), last)
    for _step in range(_MOST_STEPS):
        sine, cosine = math.sin(angle), math.cos(angle)
        reached = response(angle)
        above = reached - level
        if above >= 0:
            last = angle
        else:
            first = angle
        slope = (peak * sine - reached) / k
        curvature = (peak * cosine - slope) / k
        inside = slope * slope - 2 * above * curvature
        step = -2 * above / (slope + math.sqrt(inside)) if slope > 0 and inside >= 0 else math.inf
        if abs(step) < TOLERANCE:
            return angle + step
        angle = angle + step if first < angle + step < last else (first + last) / 2
        if last - first < TOLERANCE:
            return angle
    return angle


def firing_angle_without_capacitor(
    *, peak: float, resistance: float, drop: float, least: float
) -> float | None:
    """Angle in rad at which the resistance alone fires the triac; None where it never does.

    With no capacitor to empty into the gate, the current through the resistance has to do: GATE_CURRENT beyond drop
    (V, what stands across the diac), and least (V) to break the diac over. Source: Ohm's law; GATE_CURRENT from memory.
    """
    needed = max(least, drop + GATE_CURRENT * resistance)
    return math.asin(needed / peak) if needed <= peak else None


def blocks_at(fires: float, lag: float) -> float:
    """Angle in rad after the zero crossing at which the load's current has died that began to flow at the angle fires in
    the half-cycle before. lag: of the load, atan(X/R); before it nothing blocks. The current of resistance and inductance in
    series on a sine: sin(θ − lag) − sin(fires − lag)·exp(−(θ − fires)/tan lag); textbooks on power electronics."""
    if lag < TOLERANCE or fires >= math.pi:
        return 0.0
    if fires <= lag:
        return lag
    decay = 1 / math.tan(lag)
    left = math.sin(fires - lag)

    def flows(after: float) -> float:
        return math.sin(math.pi + after - lag) - left * math.exp(-(math.pi + after - fires) * decay)

    return root(flows, 0.0, lag, tolerance=1e-9)


def cut(
    *, peak: float, k: float, breakover: float, breakback: float, lag: float
) -> tuple[float, float] | None:
    """(fires, blocks) in rad after the zero crossing in the steady state, by a load that lags (rad); None: it never fires.
    The rest as in fires_at."""
    given = {"peak": peak, "k": k, "breakover": breakover, "breakback": breakback}

    def fires(blocks: float) -> float:
        found = fires_at(**given, blocks=blocks)
        return math.pi if found is None else found

    if lag < TOLERANCE:
        alone = fires_at(**given)
        return None if alone is None else (alone, 0.0)
    blocks = root(lambda at: blocks_at(fires(at), lag) - at, 0.0, lag, tolerance=1e-7)
    found = fires_at(**given, blocks=blocks)
    return None if found is None else (found, blocks)


def across_triac(fires: float, blocks: float) -> float:
    """Share of the mains' RMS volts that stands across a triac from where it blocks to where it fires (rad after the zero
    crossing). What stands across the load is √(1 − share²), for at any time one of the two has all of it. Source: mean
    square of a piece of a sine."""
    square = (fires - blocks - (math.sin(2 * fires) - math.sin(2 * blocks)) / 2) / math.pi
    return math.sqrt(min(1.0, max(0.0, square)))
