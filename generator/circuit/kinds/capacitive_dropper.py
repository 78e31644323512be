"""A supply straight from the mains, its current set by a capacitor in series: the cheap non-isolated one."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from generator.circuit import param, plug
from generator.circuit.block import Block, Check, ExtraPart, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.dropper_cycle import DropperCycle, dropper_cycle
from generator.circuit.kinds._dropper_drawing import draw as draw_dropper
from generator.circuit.network.element import Worn, exact
from generator.circuit.network.passive import Resistor
from generator.circuit.network.sources import Curve, Rail
from generator.circuit.network.stamps import POINTS
from generator.circuit.ratings import load_ratings, rating
from generator.circuit.roots import root
from generator.circuit.says import _, measured
from generator.circuit.sheet import Sheet

if TYPE_CHECKING:
    from generator.circuit.network.wiring import Wiring

CYCLE = "periodic steady state of mains, series resistor, dropper and diodes, solved piece by piece"
NEARLY = (
    "half-wave f·C·(2·supply·√2 − output − 2·diode_drop), bridge 4·f·C·(supply·√2 − output − 2·diode_drop)"
)
BLOWN = "a dead short on the mains but for the series resistor, which burns open (as here) or blows the fuse"


@dataclass(frozen=True)
class _Path:
    """How the diodes let current through: levels beyond the rail's voltage, and how much of it reaches the rail."""

    forward_drops: int  # diodes in the forward path
    backward: float | None  # level of the backward path without the rail, V; None: closed
    backward_sees_rail: bool  # a bridge
    delivers: bool = True


def path_of(x: Point) -> _Path:
    """The diode path of the circuit, with what has failed in it."""
    diode, clamp, returning = x.failed("diodes"), x.failed("clamp"), x.failed("return_diode")
    if x.rectifier == "bridge":
        if diode == "open":  # the dropper charges up in one direction and then only leaks
            return _Path(2, None, False)
        if diode == "short":  # one half goes past the rail, through the shorted diode and its neighbour
            return _Path(1, x.diode_drop, False)
        return _Path(2, 2 * x.diode_drop, True, clamp != "short")
    if "open" in (clamp, returning):
        return _Path(1, None, False)
    return _Path(1, x.diode_drop, False, "short" not in (clamp, returning, diode) and diode != "open")


def cycle(x: Point, path: _Path, rail: float) -> DropperCycle:
    """The period with the rail held at a voltage."""
    shorted = x.rectifier != "bridge" and "short" in (x.failed("clamp"), x.failed("return_diode"))
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


def delivered(x: Point, path: _Path, found: DropperCycle) -> float:
    """Charge a period that reaches the rail, in As."""
    if not path.delivers:
        return 0.0
    return found.plus + found.minus if path.backward_sees_rail else found.plus


def demand(x: Point, rail: float) -> float:
    """Amperes that the load draws at a rail voltage."""
    if x.load is None:
        return 0.0
    return float(x.load if x.load_is == "A" else rail / x.load)


def _rail(x: Point, path: _Path, current: float, dead: bool) -> float:
    """What a DC meter shows on the rail: the clamp's voltage, or where load and dropper come to terms."""
    if dead:
        return 0.0
    if x.failed("smoothing") == "open":
        return mean_of_bumps(x, current, 2 if path.backward_sees_rail else 1)

    def lacking(rail: float) -> float:
        return float(demand(x, rail) - delivered(x, path, cycle(x, path, rail)) * x.f)

    ceiling = x.output
    if x.failed("clamp") == "open":
        ceiling = _unclamped(x, path)
        if demand(x, ceiling) == 0.0:
            return ceiling
    elif demand(x, x.output) <= current:
        return x.output if current > 0 else 0.0
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


def _unclamped(x: Point, path: _Path) -> float:
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


def _at_mains_end(block: Block, name: str, top: bool) -> float:
    """A value at its bad end and at that end of the mains band, also where the note states the mains without one."""
    reached = block.high(name) if top else block.low(name)
    given = block.quantity("supply")
    assert given is not None
    supply = given.middle * (1 + block.mains.band if top else 1 - block.mains.below)
    if given.low <= supply <= given.high:
        return reached
    there, here = block.kind.values_at(block.point.changed(supply=supply))[name], block.solved[name]
    return reached * there / here if here else there


def _feeds_the_load(block: Block) -> list[Check]:
    load = block.quantity("load")
    if load is None:
        return []
    lowest, draws = _at_mains_end(block, "current", False), block.solved["i_load"]
    if load.unit == "A":
        draws = load.high
    elif load.low > 0:
        draws = draws * load.middle / load.low
    left = (lowest - draws) / draws if draws else None
    what = _("draws %(draws)s; at the bottom of the mains there are %(lowest)s")
    values = {"draws": measured(draws, "A", trim=True), "lowest": measured(lowest, "A", trim=True)}
    return [Check("load", what % values, lowest >= draws, left, least=True)]


def _dropper_checks(block: Block, top: float) -> list[Check]:
    dropper = block.part("dropper")
    assert dropper is not None and dropper.value is not None
    name = block.label("dropper")
    marked = plug.is_x_rated(dropper)
    found = [
        Check(
            name,
            "is marked as an X capacitor" if marked else "stands in the mains: it has to be marked X1 or X2",
            marked,
        )
    ]
    found += rating(block, "dropper", "V", top, "sees, at the top of the mains,")
    if plug.held_to_it(dropper.value.middle):
        found.append(plug.check(block, name))
    elif block.point.discharge is None:  # too small for the limit, but it stings
        what = _("no resistor across it: the plug's pins keep up to %(volts)s")
        found.append(Check(name, what % {"volts": measured(top * math.sqrt(2), "V")}, False))
    return found


NOT_WHOLE = (
    ("", ""), ("diodes", "open"), ("diodes", "short"), ("return_diode", "open"), ("return_diode", "short"),
    ("clamp", "open"),
)  # fmt: skip


def _at(x: Point, p: Mapping[str, float]) -> Point:
    """The point with the numbers of a rail; `failed`: which of NOT_WHOLE."""
    point = x.changed(
        supply=x.supply * p["share"] * p["mains"], dropper=p["farads"], series=max(p["series"], 1e-3),
        discharge=None if x.discharge is None else p["discharge"],
    )  # fmt: skip
    point.__dict__["_failure"] = NOT_WHOLE[int(p["failed"])]
    return point


def available(x: Point, volts: float) -> float:
    """Mean amperes that reach the rail while it stands at some volts."""
    if x.supply * math.sqrt(2) <= volts + 2 * x.diode_drop or x.supply < 1.0:
        return 0.0
    path = path_of(x)
    return float(delivered(x, path, cycle(x, path, max(0.0, volts))) * x.f)


def current_over_volts(x: Point) -> Curve:
    """(amperes, volts) of the rail without its clamp, amperes rising from none: what the dropper lets through falls with the
    rail's volts, nearly in a straight line, up to where nothing gets through any more."""
    top = max(_unclamped(x, path_of(x)) if x.supply >= 1.0 else 0.0, 2.0 * x.output)
    volts = [top * share for share in (0.6, 0.3, 0.1)]
    volts = [v for v in volts if v > 3 * x.output] + [
        x.output * share for share in (3.0, 2.0, 1.3, 1.0, 0.7, 0.4)
    ]
    dead = available(x, 0.0) <= 0.0
    found = [(0.0, 1e-9 if dead else top)]
    for level in volts:
        amperes = available(x, level)
        if amperes > found[-1][0] + 1e-9:
            found.append((amperes, level))
    shorted = max(available(x, 0.0), found[-1][0] * 1.001 + 1e-9)
    found.append((shorted, 0.0))
    while len(found) < POINTS:  # beyond a short it gives no more
        found.append((found[-1][0] * 1.01 + 1e-9, found[-1][1] - 0.5 * x.output))
    return tuple(a for a, _ in found), tuple(v for _, v in found)


def rail_of(block: Block, w: Wiring) -> Rail:
    """The dropper with its rectifier as a rail, and how its parts fail in it."""
    x = block.point
    given = {
        "mains": w.number(lambda at: at.supply / x.supply), "farads": w.number("dropper"), "series": w.number("series"),
        "discharge": exact(math.inf) if x.discharge is None else w.number("discharge"), "failed": exact(0.0),
    }  # fmt: skip

    def fails(key: str) -> dict[str, Worn]:
        return {mode: _fixed("failed", n) for n, (part, mode) in enumerate(NOT_WHOLE) if part == key}

    wear: dict[str, dict[str, Worn]] = {
        "dropper": {
            "open": _fixed("farads", 0.0), "short": _fixed("series", math.inf),
            "low": lambda p, size: {"farads": p["farads"] * (size or 0.2)},
        },
        "series": {"open": _fixed("series", math.inf), "high": lambda p, size: {"series": p["series"] * (size or 2.0)}},
        "discharge": {"open": _fixed("discharge", math.inf), "leaky": lambda p, size: {"discharge": size or 1e4}},
        "diodes": fails("diodes"), "return_diode": fails("return_diode"),
        "clamp": fails("clamp") if x.rectifier == "half-wave" and x.clamp is not None else {},
    }  # fmt: skip
    named = {
        key: (str(w.who(key)["called"]), modes)
        for key, modes in wear.items()
        if modes and w.who(key)["modes"]
    }
    placed = Rail(
        **w.who("rectifier", ()), plus="plus", minus="common", given=given, wear=named,
        curve=lambda p: current_over_volts(_at(x, p)), fed=(w.net("live"), w.net("neutral"), x.supply),
    )  # fmt: skip
    return placed


def _fixed(name: str, value: float) -> Worn:
    return lambda p, size: {name: value}


class CapacitiveDropper(Kind):
    title = "Capacitive dropper"
    group = "Power"
    what = (
        "A low voltage straight from the mains, without isolation: a capacitor in series sets the current, "
        "a clamp the voltage."
    )
    assumes = (
        "Everything in it, the output too, is at mains potential. The output is steady; the plug is pulled "
        "at the crest."
    )
    terminals = ("live", "neutral", "plus", "common")
    cautions = ("mains", "charge")

    supply = param.Quantity("V", "the mains", default=param.MAINS)
    dropper = param.Part("capacitor", "the capacitor in series", role="dropper")
    series = param.Part("resistor", "the resistor that limits the inrush", role="series resistor")
    discharge = param.Part(
        "resistor", "the resistor across the dropper", default=None, role="discharge resistor"
    )
    rectifier = param.Choice(
        ("half-wave", "bridge"),
        "how it is rectified",
        default="half-wave",
        role="rectifier diode",
        part="diode",
    )
    output = param.Quantity("V", "the clamped DC voltage", spread="zener")
    diode_drop = param.Quantity(
        "V", "forward voltage of each diode", default="0.7 V", zero=True, spread="rectifier"
    )
    load = param.Load("what draws from the output: a current or a resistor", default=None, modes=())
    smoothing = param.Part(
        "capacitor",
        "the smoothing capacitor",
        default=None,
        role="smoothing capacitor",
        unmarked="electrolytic",
        exact=True,
    )
    clamp = param.Part(
        "zener",
        "the zener that holds the output; half-wave it stands before the rectifier, a diode_drop above the "
        "output, and is the return diode too",
        default=None,
        role="clamp",
    )
    f = param.Quantity("Hz", "mains frequency", default=param.FREQUENCY)

    values = (
        Value("reactance", "ohm", "of the dropper at the mains frequency", "1/(2·π·f·dropper)",
              "capacitive reactance", at="dropper taken out, capacitance range: 1/(2πf·C)", cold=True),
        Value("current", "A", "mean DC current available at the output", "charge·f",
              f"{CYCLE}; nearly {NEARLY}", at="a milliammeter in place of the load reads nearly this",
              hazard="mains"),
        Value("surplus", "A", "what is left for the clamp", "current − load", "Kirchhoff's current law",
              measurable=False),
        Value("rail", "V", "what a DC meter shows on the output under load", "output",
              "the clamp holds it while there is a surplus", at="across the smoothing capacitor",
              hazard="mains"),
        Value("clamp_power", "W", "heat in the clamp with the load off", "output·current", "Joule's law",
              measurable=False),
        Value("surge_current", "A", "inrush when plugged in at the crest", "supply·√2/series",
              "Ohm's law, capacitor empty", measurable=False),
        Value("replug_surge", "A", "the same, plugged in again at the opposite crest", "2·supply·√2/series",
              "Ohm's law, capacitor charged", measurable=False),
        Value("series_power", "W", "heat in the series resistor", "series·i_rms²", CYCLE, measurable=False),
        Value("plug_voltage_1s", "V", "left between the plug's pins 1 s after it is pulled",
              "peak·exp(−wait/(discharge·dropper))", plug.RULE, at="between the pins of the pulled plug",
              hazard="charged", cold=True, across="discharge"),
        Value("discharge_time_34v", "s", "from the crest down to 34 V", "discharge·dropper·ln(peak/limit)",
              plug.SOURCE, at="between the pins of the pulled plug", hazard="charged", cold=True,
              across="discharge"),
    )  # fmt: skip
    helper_units = {
        "charge": "As",
        "i_rms": "A",
        "peak": "V",
        "wait": "s",
        "limit": "V",
        "i_load": "A",
        "v_rail": "V",
    }
    extra_parts = (
        ExtraPart("diodes", "diode", "rectifier diode", named_by="rectifier"),
        ExtraPart(
            "return_diode",
            "diode",
            "return diode",
            where=lambda x: x.rectifier == "half-wave" and x.clamp is None,
        ),
    )
    remarks = {
        ("dropper", "short"): BLOWN,
        ("dropper", "low"): "the usual one: X capacitors lose their capacitance with age",
        ("discharge", "open"): "the plug's pins stay charged after it is pulled",
        ("clamp", "open"): "no way back for the current: the rail is starved",
        ("clamp", "short"): "nothing blows: the dropper limits the current",
        ("smoothing", "short"): "nothing blows: the dropper limits the current",
        ("smoothing", "open"): "a DC meter shows the average of the bumps",
        ("smoothing", "low"): "more ripple; the average hardly changes",
        ("diodes", "short"): "the rail is emptied again in every other half",
        ("diodes", "open"): "nothing reaches the rail",
        ("return_diode", "open"): "no way back for the current: the rail is starved",
        ("return_diode", "short"): "nothing reaches the rail",
    }
    example = {
        "dropper": "C1 330n X2 275V", "series": "R1 100 1W", "discharge": "R2 470k 0.5W 500V",
        "output": "4.9 V", "load": "7 mA", "smoothing": "C2 470u 16V", "clamp": "ZD1 5V6 1W",
        "rectifier": "half-wave D1",
    }  # fmt: skip
    variants = (
        Variant(
            "with a bridge, feeding a resistor",
            {"rectifier": "bridge D1-D4", "load": "R7 1k", "output": "5.6 V"},
        ),
    )

    def solve(self, x: Point) -> Solved:
        path, crest = path_of(x), x.supply * math.sqrt(2)
        shorted, dead = x.failed("dropper") == "short", x.failed("smoothing") == "short"
        held = 0.0 if dead or x.failed("clamp") == "short" else x.output
        period = cycle(x, path, held)
        charge = 0.0 if dead else delivered(x, path, period)
        broken = math.isinf(x.series) or shorted
        stored = 0.0 if broken else crest
        found: dict[str, float | Formula | None] = {
            "charge": charge, "i_rms": math.sqrt(max(0.0, period.mean_square)), "peak": stored,
            "wait": plug.AFTER, "limit": plug.LIMIT,
        }  # fmt: skip
        if shorted or x.dropper == 0:
            found["reactance"] = 0.0 if shorted else math.inf
        if broken:
            found |= dict.fromkeys(("surge_current", "replug_surge", "series_power"), 0.0)
        if x.load is not None:
            found["i_load"] = Formula("load" if x.load_is == "A" else "output/load")
            found["surplus"] = Formula(f"current − {found['i_load']}")
        if x.smoothing is None:
            found["rail"] = None
        else:
            rail = _rail(x, path, charge * x.f, dead or not path.delivers)
            if rail != x.output:  # solved: where load and dropper come to terms
                found |= {"v_rail": rail, "rail": Formula("v_rail")}
        left = plug.solved(self, x, stored=stored, resistor="discharge", capacitor="dropper")
        return {**found, **left}

    def checks(self, block: Block) -> list[Check]:
        top = block.mains_top()
        current = _at_mains_end(block, "current", True)
        found = _feeds_the_load(block) + _dropper_checks(block, top)
        found += rating(
            block,
            "series",
            "W",
            _at_mains_end(block, "series_power", True),
            "turns into heat, at the top of the mains,",
        )
        discharge, output = block.quantity("discharge"), block.quantity("output")
        assert output is not None
        if discharge is not None:
            found += rating(
                block,
                "discharge",
                "W",
                top * top / discharge.low,
                "turns into heat, at the top of the mains,",
            )
            found += rating(block, "discharge", "V", top * math.sqrt(2), "sees, at the top of the mains,")
        found += rating(block, "smoothing", "V", output.high, "sees") + load_ratings(block, output.high)
        clamp = block.part("clamp")
        if clamp is not None and clamp.value is not None:
            returns = block.point.rectifier == "half-wave"
            drop = block.point.diode_drop if returns else 0.0
            power = (max(output.high, clamp.value.high) + drop) * current
            what = _("takes, with the load off at the top of the mains,")
            if returns:
                what = _("takes, both ways, with the load off at the top of the mains,")
            found += rating(block, "clamp", "W", power, what)
            holds = clamp.value.middle - drop
            if abs(holds - output.middle) > 0.1 * output.middle:
                values = {
                    "holds": measured(holds, "V", trim=True),
                    "stated": measured(output.middle, "V", trim=True),
                }
                found.append(
                    Check(
                        block.label("clamp"),
                        _("would hold the output at %(holds)s, not %(stated)s") % values,
                        True,
                        None,
                        True,
                    )
                )
        return found

    def remark(self, x: Point, key: str, mode: str) -> str:
        bridged = {
            ("clamp", "open"): "the rail climbs until capacitor or load gives way",
            ("diodes", "short"): "one half goes past the rail",
            ("diodes", "open"): "the dropper charges up in one direction",
        }
        if x.rectifier == "bridge" and (key, mode) in bridged:
            return bridged[(key, mode)]
        return super().remark(x, key, mode)

    def wire(self, block: Block, w: Wiring) -> None:
        """What the dropper lets through, as a rail; the clamp and what it feeds; series resistor and dropper on the mains."""
        x = block.point
        w.supply("supply", "live", "neutral", ac=True)
        w.common("neutral", mains=True)
        if x.rectifier == "bridge":
            w.common("common", mains=True)
        else:
            w.same("neutral", "common")
        w.resistor("series", "live", "_in", ac=True)
        w.capacitor("dropper", "_in", "_behind", ac=True)
        w.resistor("discharge", "_in", "_behind", ac=True)
        # beside the mains the rail's few volts do not count
        w.add(
            Resistor(
                **{**w.who("rectified", ()), "called": ""}, a="_behind", b="neutral", ohms=exact(0.0), ac=True
            )
        )
        w.add(rail_of(block, w))
        w.capacitor("smoothing", "plus", "common")
        w.diode("clamp", "common", "plus", sort="zener", breakdown="output")
        w.load("load", "plus")
        w.volts("rail", "plus")

    def draw(self, block: Block, sheet: Sheet) -> None:
        draw_dropper(block, sheet)

    def dangerous(self, x: Point) -> set[tuple[str, str]]:
        return {("discharge", "open"), *([("clamp", "open")] if x.rectifier == "bridge" else [])}
