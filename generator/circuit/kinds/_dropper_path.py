"""How a capacitive dropper's diodes let current through, and where its rail settles."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from operator import sub

from generator.circuit.dropper_cycle import DropperCycle, dropper_cycle
from generator.circuit.network.junctions import BREAKDOWN_AT
from generator.circuit.point import Point
from generator.circuit.roots import root


@dataclass(frozen=True)
class Path:
    """How the diodes let current through: levels beyond the rail's voltage, and how much of it reaches the rail."""

    forward_drops: int  # diodes in the forward path
    backward: float | None  # level of the backward path without the rail, V; None: closed
    backward_sees_rail: bool  # a bridge
    delivers: bool = True


def before_diode(x: Point) -> bool:
    """Whether the clamp stands before the rectifier diode and is the return diode too; else it lies across the rail.

    Both are common. Where the note does not say, a return diode of its own says that the clamp is across the rail.
    """
    if x.rectifier == "bridge" or not x.clamp_there:
        return False
    return (x.clamp_at or ("rail" if x.return_diode_there else "diode")) == "diode"


def open_form(x: Point) -> bool:
    """Whether the note leaves open where the clamp stands."""
    return before_diode(x) and x.clamp_at is None


def path_of(x: Point) -> Path:
    """The diode path of the circuit, with what has failed in it."""
    diode, clamp, returning = x.failed("diodes"), x.failed("clamp"), x.failed("return_diode")
    if x.rectifier == "bridge":
        if diode == "open":  # the dropper charges up in one direction and then only leaks
            return Path(2, None, False)
        if diode == "short":  # one half goes past the rail, through the shorted diode and its neighbour
            return Path(1, x.diode_drop, False)
        return Path(2, 2 * x.diode_drop, True, clamp != "short")
    back = clamp if before_diode(x) else returning
    if back == "open":
        return Path(1, None, False)
    return Path(1, x.diode_drop, False, "short" not in (clamp, back, diode) and diode != "open")


def cycle(x: Point, path: Path, rail: float) -> DropperCycle:
    """The period with the rail held at a voltage."""
    back = "clamp" if before_diode(x) else "return_diode"
    shorted = x.rectifier != "bridge" and x.failed(back) == "short"
    up = 0.0 if shorted else rail + path.forward_drops * x.diode_drop
    down = (
        math.inf
        if path.backward is None
        else 0.0
        if shorted
        else path.backward + (rail if path.backward_sees_rail else 0.0)
    )
    burnt = x.failed("dropper") == "short"
    return dropper_cycle(
        peak=x.supply * math.sqrt(2), frequency=x.f, series=math.inf if burnt else x.series, capacitance=x.dropper,
        discharge=math.inf if x.discharge is None else x.discharge, up=up, down=down,
    )  # fmt: skip


def delivered(x: Point, path: Path, found: DropperCycle) -> float:
    """Charge a period that reaches the rail, in As."""
    if not path.delivers:
        return 0.0
    return found.plus + found.minus if path.backward_sees_rail else found.plus


def demand(x: Point, rail: float) -> float:
    """Amperes that the load draws at a rail voltage."""
    if x.load is None:
        return 0.0
    return float(x.load if x.load_is == "A" else rail / x.load)


def rail_volts(x: Point, path: Path, current: float, dead: bool) -> float:
    """What a DC meter shows on the rail: the clamp's voltage, or where load and dropper come to terms."""
    if dead:
        return 0.0
    if x.failed("smoothing") == "open":
        return mean_of_bumps(x, current, 2 if path.backward_sees_rail else 1)

    def lacking(rail: float) -> float:
        return float(demand(x, rail) - delivered(x, path, cycle(x, path, rail)) * x.f)

    ceiling = x.output
    if x.failed("clamp") == "open":
        ceiling = unclamped(x, path)
        if demand(x, ceiling) == 0.0:
            return ceiling
    elif demand(x, x.output) <= current:
        worn = x.failed("smoothing") == "low"
        return x.output - (sag(x, demand(x, x.output), x.smoothing) if worn else 0.0) if current > 0 else 0.0
    if x.load_is == "A" and lacking(0.0) >= 0:
        return 0.0
    return _balanced(lacking, x.output, ceiling)


def _balanced(lacking: Callable[[float], float], guess: float, ceiling: float) -> float:
    """Where a nearly straight rising line, below zero at 0 V, crosses zero, at most the ceiling: secant steps."""
    low, high = 0.0, guess
    f_low, f_high = lacking(low), lacking(high)
    for _step in range(12):
        if (f_high - f_low) * (high - low) <= 0:
            break
        middle = high - f_high * (high - low) / (f_high - f_low)
        low, f_low, high = high, f_high, min(max(0.0, middle), ceiling)
        if abs(high - low) <= 1e-7 * ceiling:
            return high
        f_high = lacking(high)
    return root(lacking, 0.0, ceiling, tolerance=1e-7)


def unclamped(x: Point, path: Path) -> float:
    """How high the rail climbs with nothing to hold it and no load, in V."""
    crest, drops = x.supply * math.sqrt(2), path.forward_drops * x.diode_drop
    if path.backward is None:  # the dropper keeps its charge, unless the resistor across it drains it
        return 0.0 if x.discharge is None else float(max(0.0, crest - drops))
    if path.backward_sees_rail or x.dropper == 0:
        return float(max(0.0, crest - drops))
    kept = 1.0 if x.discharge is None else math.exp(-1 / (2 * x.f * x.discharge * x.dropper))
    return float(max(0.0, crest - drops + (crest - path.backward) * kept))


def mean_of_bumps(x: Point, current: float, bumps: int) -> float:
    """Average of the rail without its smoothing capacitor: half-sines of current into load and clamp, V.

    current: mean, A; bumps: a period. The dropper is a current source as long as output is far below the crest.
    """
    crest = current * math.pi / bumps
    if crest <= 0:
        return 0.0
    if x.load is None or math.isinf(x.load):
        return float(x.output)
    clamped = x.load if x.load_is == "A" else x.output / x.load  # the current at which the clamp takes over
    share = min(1.0, clamped / crest)
    below = 0.0 if x.load_is == "A" else x.load * crest * (1 - math.sqrt(1 - share * share))
    return float(bumps * (2 * below + x.output * (math.pi - 2 * math.asin(share))) / (2 * math.pi))


STEPS = 200  # of a period, in which the rail's ups and downs are followed
TAKES_NOTHING = 12  # times its knee below its level, from which a clamp takes next to nothing


def alternating(x: Point, amperes: float, farads: float, knee: float) -> float:
    """AC volts, RMS, on the smoothing capacitor (F) under a steady current (A): the current that comes in pulses charges
    it, the load empties it, down to 0 V at most, and a clamp across it leaves the curve of its knee there (knee, V for each e-fold of its current), of which
    nothing is left behind the rectifier diode. Charge over capacitance, by small steps.
    """
    path = path_of(x)
    if x.supply * math.sqrt(2) <= x.output:
        return 0.0
    period = cycle(x, path, x.output)
    loaded = x.changed(load=amperes, load_is="A")
    rail = rail_volts(loaded, path, delivered(x, path, period) * x.f, not path.delivers)
    if rail != x.output:
        period = cycle(x, path, rail)
    arrives, rises, level = _arriving(x, path, period), 1 / (STEPS * x.f * max(farads, 1e-12)), rail
    if knee:
        level = x.output
    *_, repeats = _followed(rail, arrives, amperes, rises, level, knee)  # the first time round
    return _scatter(_followed(repeats, arrives, amperes, rises, level, knee))


def _followed(
    volts: float, arrives: Sequence[float], amperes: float, rises: float, level: float, knee: float
) -> list[float]:
    """The rail's volts in the steps of a period that begins at some, while amperes are taken of what arrives; see alternating."""
    seen, free_up_to = [], level - TAKES_NOTHING * knee
    for current in arrives:
        before, surplus = volts, current - amperes
        volts += surplus * rises
        if volts > free_up_to:
            volts = _clamped(volts, before, surplus, rises, level, knee) if knee else level
        if volts < 0.0:
            volts = 0.0
        seen.append(volts)
    return seen


def _scatter(values: Sequence[float]) -> float:
    """Root mean square of what values differ from their mean by."""
    apart = [value - values[0] for value in values]
    mean = sum(apart) / len(apart)
    return math.sqrt(sum([(value - mean) ** 2 for value in apart]) / len(apart))


def _arriving(x: Point, path: Path, period: DropperCycle) -> list[float]:
    """Amperes into the rail in the STEPS of a period."""
    step = 1 / (STEPS * x.f)
    arrives = [0.0] * STEPS
    for way, piece in enumerate(period.pieces[: 2 if path.backward_sees_rail else 1]):
        if piece is not None and path.delivers:
            for n in range(math.ceil(piece.start / step), math.floor(piece.end / step) + 1):
                arrives[(n + way * STEPS // 2) % STEPS] = piece.current(n * step)
    return arrives


def sag(x: Point, amperes: float, farads: float) -> float:
    """By how much the mean of the rail lies below the clamp's level while a load (A) empties its smoothing capacitor (F)
    between the pulses, V. Each pulse fills it up to the level again, else the rail is not clamped and this says nothing.

    Charge over capacitance: about amperes·10 ms/(2·farads) with half-wave rectification, but never below 0 V.
    """
    return sags(x, [amperes], farads)[0]


def sags(x: Point, loads: Sequence[float], farads: float) -> list[float]:
    """The same for several loads on one rail."""
    path = path_of(x)
    if not path.delivers or x.supply * math.sqrt(2) <= x.output:
        return [0.0] * len(loads)
    bumps = 2 if path.backward_sees_rail else 1
    arrives = _arriving(x, path, cycle(x, path, x.output))[: STEPS // bumps]
    rises = 1 / (STEPS * x.f * max(farads, 1e-12))
    first = max(range(len(arrives)), key=lambda n: arrives[n])
    from_crest = [*arrives[first:], *arrives[:first]]  # where the rail is at the clamp's level
    return [_sag(x.output, from_crest, amperes, rises) if amperes > 0 else 0.0 for amperes in loads]


def _sag(level: float, arrives: Sequence[float], amperes: float, rises: float) -> float:
    moved = list(accumulate(((current - amperes) * rises for current in arrives), initial=0.0))
    below: list[float] = list(map(sub, accumulate(moved, max), moved))
    if max(below) <= level:
        return sum(below) / len(arrives)
    volts, total = level, 0.0  # it runs dry on the way
    for current in arrives:
        volts = min(level, max(0.0, volts + (current - amperes) * rises))
        total += level - volts
    return total / len(arrives)


def zener_current(volts: float, level: float, knee: float) -> float:
    """Amperes of a clamp that carries BREAKDOWN_AT at its level, along its knee."""
    return BREAKDOWN_AT * math.exp(min(60.0, (volts - level) / knee))


def _clamped(free: float, volts: float, surplus: float, rises: float, level: float, knee: float) -> float:
    """Where a step ends with the clamp taking its part: v + rises·zener_current(v) = free (implicit Euler, Newton's method
    from above, where the knee is steepest). free: without the clamp; rises: V an ampere in the step."""
    if free < level - TAKES_NOTHING * knee:
        return free
    at = free if surplus <= 0 else min(free, max(volts, level + knee * math.log(surplus / BREAKDOWN_AT)))
    for _step in range(6):
        taken = zener_current(at, level, knee)
        by = (at + rises * taken - free) / (1 + rises * taken / knee)
        at -= by
        if abs(by) < 1e-4:
            break
    return at
