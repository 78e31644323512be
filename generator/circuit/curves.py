"""What some blocks do over time, temperature or light, as points to draw: the same functions as the values, at many places.

A diagram is a picture beside the table of values, never the only place where a number stands.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from generator.circuit.block import Block, Result
from generator.circuit.divided import tap_voltage
from generator.circuit.kinds.light_divider import BRIGHT, DARK, photoresistance
from generator.circuit.kinds.phase_control import conducted_power_share
from generator.circuit.kinds.thermistor_divider import USED, resistance_at
from generator.circuit.kinds.transformer_supply import diodes_in_path
from generator.circuit.rectifier_cycle import Cycle

SAMPLES = 160
TIME_CONSTANTS = 5.0  # of an RC: what is left of the way is under 1 %
ROOM = 0.2  # share of the range of cut points that is shown beyond them

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Curve:
    """A line of a diagram. aside: what the main line is seen against; area: filled down to 0."""

    name: str
    points: Points
    aside: bool = False
    area: bool = False


@dataclass(frozen=True)
class Mark:
    """A point of a diagram with a name; x to x_high where only a range is known. level: a line across at y."""

    name: str
    x: float
    y: float
    x_high: float = math.nan
    y_high: float = math.nan
    level: bool = False


@dataclass(frozen=True)
class Diagram:
    """One picture. x, y: (name, unit, lowest, highest); log: the x axis goes in decades."""

    name: str
    x: tuple[str, str, float, float]
    y: tuple[str, str, float, float]
    curves: tuple[Curve, ...]
    marks: tuple[Mark, ...] = ()
    log: bool = False


def diagrams(block: Block) -> list[Diagram]:
    """The diagrams of a block; none for most kinds, and none where a value that one needs is absent."""
    make = _KINDS.get(block.kind.name)
    found = make(block) if make else None
    return [found] if found else []


def _spaced(low: float, high: float, log: bool = False) -> list[float]:
    if log:
        return [low * (high / low) ** (i / SAMPLES) for i in range(SAMPLES + 1)]
    return [low + (high - low) * i / SAMPLES for i in range(SAMPLES + 1)]


def _points(f: Callable[[float], float], xs: Iterable[float]) -> Points:
    return tuple((x, f(x)) for x in xs)


# --- sensors --------------------------------------------------------------------------------------------------------


def thermistor_output(block: Block) -> Diagram | None:
    """The tap's voltage (V) over temperature (°C), with the cut points on it."""
    x, supply = block.point, block.point.supply
    marks = _cut_marks(block, "temperature")
    degrees = [t for m in marks for t in (m.x, m.x_high) if not math.isnan(t)]
    low, high = _around(degrees, least=(0.0, 60.0), most=USED)

    def output(celsius: float) -> float:
        sensor = resistance_at(x, celsius)
        upper, lower = (x.fixed, sensor) if x.thermistor_side == "lower" else (sensor, x.fixed)
        return tap_voltage(supply=supply, upper=upper, lower=lower)

    curve = Curve("output", _points(output, _spaced(low, high)))
    return Diagram(
        "output over temperature",
        ("temperature", "°C", low, high),
        ("output", "V", 0.0, supply),
        (curve,),
        marks,
    )


def light_output(block: Block) -> Diagram | None:
    """The tap's voltage (V) over illuminance (lux, in decades), with the cut points on it."""
    x, supply = block.point, block.point.supply
    marks = _cut_marks(block, "illuminance")
    lux = [e for m in marks for e in (m.x, m.x_high) if not math.isnan(e)]
    low, high = min([DARK, *lux]), max([BRIGHT, *lux])
    if not low > 0:
        return None

    def output(illuminance: float) -> float:
        sensor = photoresistance(r10=x.sensor, gamma=x.sensor_gamma, illuminance=illuminance)
        upper, lower = (x.fixed, sensor) if x.sensor_side == "lower" else (sensor, x.fixed)
        return tap_voltage(supply=supply, upper=upper, lower=lower)

    curve = Curve("output", _points(output, _spaced(low, high, log=True)))
    return Diagram(
        "output over light",
        ("light", "lux", low, high),
        ("output", "V", 0.0, supply),
        (curve,),
        marks,
        log=True,
    )


def _cut_marks(block: Block, along: str) -> tuple[Mark, ...]:
    """The cut points that have both coordinates, as values or as ranges of values."""
    marks = []
    for cut in block.point.cuts:
        x, y = block.values.get(f"{cut}.{along}"), block.values.get(f"{cut}.output")
        if x is None or y is None or not all(map(math.isfinite, (x.low, x.high, y.low, y.high))):
            continue
        if x.value is None or y.value is None:
            # a range of temperatures against the range of voltages that goes with it: ends belong together crosswise
            marks.append(Mark(cut, _middle(x), _middle(y), x.high if x.value is None else math.nan, y.high))
        else:
            marks.append(Mark(cut, x.value, y.value))
    return tuple(marks)


def _middle(result: Result) -> float:
    return (result.low + result.high) / 2 if result.value is None else result.value


def _around(
    values: list[float], *, least: tuple[float, float], most: tuple[float, float]
) -> tuple[float, float]:
    """A range that shows all values with room beside them, at least as wide as least, never beyond most."""
    low, high = min([least[0], *values]), max([least[1], *values])
    room = (high - low) * ROOM
    low, high = low - (room if low < least[0] else 0.0), high + (room if high > least[1] else 0.0)
    return max(low, most[0]), min(high, most[1])


# --- time -----------------------------------------------------------------------------------------------------------


def rail_voltage(block: Block) -> Diagram | None:
    """Source and smoothing capacitor over two mains periods (s, V), in the steady state under load."""
    trough, mean = (r.value if r else None for r in map(block.values.get, ("trough", "mean")))
    cycle = _loaded_cycle(block)
    if trough is None or mean is None or cycle is None:
        return None
    f, crest = block.point.f, cycle.emf - cycle.drop
    full_wave = block.point.rectifier != "half-wave"
    on, _ = cycle.steady(crest)

    def source(t: float) -> float:
        wave = math.sin(cycle.omega * t)
        return float(max(0.0, cycle.emf * (abs(wave) if full_wave else wave) - cycle.drop))

    def rail(t: float) -> float:
        # a cycle counts from the crest, the picture from the zero crossing before it
        since = (t - 1 / (4 * f) - on.t_on) % cycle.period + on.t_on
        if since > on.t_off:
            return cycle.decayed(on.v_off, since - on.t_off)
        return cycle.voltage(since, on.t_on, on.start) if cycle.rs > 0 else cycle.source(since)

    span = 2 / f
    times = _spaced(0.0, span)
    lowest = min((t for t in times if t <= cycle.period), key=rail)
    marks = (
        Mark("top", 0.0, block.solved["v_top"], level=True), Mark("mean", 0.0, mean, level=True),
        Mark("trough", lowest + cycle.period, trough),
    )  # fmt: skip
    curves = (Curve("source", _points(source, times), aside=True), Curve("rail", _points(rail, times)))
    return Diagram(
        "rail over two mains periods", ("time", "s", 0.0, span), ("voltage", "V", 0.0, crest), curves, marks
    )


def _loaded_cycle(block: Block) -> Cycle | None:
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
    drop = diodes_in_path(x.rectifier) * x.diode_drop
    if emf - drop <= current * inner:
        return None
    period = 1 / (x.f if x.rectifier == "half-wave" else 2 * x.f)
    return Cycle(emf, drop, inner, x.smoothing, current, resistance, 2 * math.pi * x.f, period)


def capacitor_voltage(block: Block) -> Diagram | None:
    """An RC's capacitor while it charges or discharges (s, V), with the threshold."""
    x = block.point
    constant, delay = block.solved.get("time_constant"), block.values.get("delay")
    if not constant or delay is None:
        return None
    when = delay.value if delay.value is not None and math.isfinite(delay.value) else None
    span = max(TIME_CONSTANTS * constant, 0.0 if when is None else when * (1 + ROOM))

    def voltage(t: float) -> float:
        left = math.exp(-t / constant)
        return float(x.supply * (1 - left if x.direction == "charge" else left))

    marks = [Mark("threshold", 0.0, x.threshold, level=True)]
    if when is not None:
        marks.append(Mark("delay", when, x.threshold))
    curve = Curve("capacitor", _points(voltage, _spaced(0.0, span)))
    top = max(x.supply, x.threshold)
    return Diagram(
        "capacitor over time", ("time", "s", 0.0, span), ("voltage", "V", 0.0, top), (curve,), tuple(marks)
    )


def conducted_half_wave(block: Block) -> Diagram | None:
    """Half a mains period (degrees, V) and what of it reaches the load at both ends of the knob."""
    peak = block.point.supply * math.sqrt(2)

    def mains(angle: float) -> float:
        return float(peak * math.sin(math.radians(angle)))

    curves, marks = [Curve("mains", _points(mains, _spaced(0.0, 180.0)), aside=True)], []
    for name, value in (("knob up", "firing_angle_min"), ("knob down", "firing_angle_max")):
        result = block.values.get(value)
        if result is None or result.value is None or conducted_power_share(math.radians(result.value)) <= 0:
            continue
        angle = result.value
        curves.append(Curve(name, _points(mains, _spaced(angle, 180.0)), aside=name == "knob up", area=True))
        marks.append(Mark(name, angle, mains(angle)))
    if not marks:
        return None
    return Diagram(
        "half a mains period at the load",
        ("angle", "degree", 0.0, 180.0),
        ("voltage", "V", 0.0, peak),
        tuple(curves),
        tuple(marks),
    )


_KINDS: dict[str, Callable[[Block], Diagram | None]] = {
    "thermistor-divider": thermistor_output,
    "light-divider": light_output,
    "transformer-supply": rail_voltage,
    "rc-delay": capacitor_voltage,
    "phase-control": conducted_half_wave,
}
