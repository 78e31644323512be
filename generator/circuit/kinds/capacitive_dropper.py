"""A supply straight from the mains, its current set by a capacitor in series: the cheap non-isolated one."""

from __future__ import annotations

import math
from typing import Any

from generator.circuit import param, plug
from generator.circuit.block import Block, Check, ExtraPart, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.kinds._dropper_drawing import draw as draw_dropper
from generator.circuit.kinds._dropper_network import wire_dropper
from generator.circuit.kinds._dropper_path import before_diode, cycle, delivered, path_of, rail_volts
from generator.circuit.network import Wiring
from generator.circuit.ratings import load_ratings, rating, worth_saying
from generator.circuit.says import _, measured
from generator.circuit.sheet import Sheet

CYCLE = "periodic steady state of mains, series resistor, dropper and diodes, solved piece by piece"
NEARLY = (
    "half-wave f·C·(2·supply·√2 − output − 2·diode_drop), bridge 4·f·C·(supply·√2 − output − 2·diode_drop)"
)
BLOWN = "a dead short on the mains but for the series resistor, which burns open (as here) or blows the fuse"


def _at_mains_end(block: Block, name: str, top: bool) -> float:
    """A value at its bad end and at that end of the mains band, also where the note states the mains without one."""
    reached = block.high(name) if top else block.low(name)
    given = block.given("supply")
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
    what = _("draws %(draws)s; at minimum mains there are only %(lowest)s")
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
            "is marked as an X capacitor"
            if marked
            else "is in series with the mains: it has to be marked X1 or X2",
            marked,
        )
    ]
    found += rating(block, "dropper", "V", top, "sees, at maximum mains,")
    if plug.held_to_it(dropper.value.middle):
        found.append(plug.check(block, name))
    elif block.point.discharge is None:  # too small for the limit, but it stings
        what = _("no resistor across it: the plug's pins keep up to %(volts)s")
        found.append(Check(name, what % {"volts": measured(top * math.sqrt(2), "V")}, False))
    return found


class CapacitiveDropper(Kind):
    title = "Capacitive dropper"
    group = "Power"
    what = (
        "A low voltage straight from the mains, without isolation: a capacitor in series sets the current, "
        "a clamp the voltage."
    )
    assumes = (
        "Everything in it, the output too, is at mains potential. The output is steady; the plug is pulled "
        "at the crest. Half-wave comes in two forms. clamp_at diode: the zener stands before the rectifier diode "
        "and lets the other half back too, so that the output is a diode_drop below it. clamp_at rail: the zener "
        "stands across the output, and a return diode of its own lets the other half back."
    )
    terminals = ("live", "neutral", "plus", "common")
    cautions = ("mains", "charge")

    supply = param.Quantity("V", "the mains", default=param.MAINS)
    dropper = param.Part("capacitor", "the capacitor in series")
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
    clamp = param.Part("zener", "the zener that holds the output", default=None, exact=True)
    clamp_at = param.Choice(
        ("diode", "rail"),
        "which of the two forms; left out: rail with a return_diode or a bridge, else diode",
        default=None,
    )
    return_diode = param.Part(
        "diode",
        "the diode by which the other half comes back, where the clamp stands across the rail",
        default=None,
    )
    f = param.Quantity("Hz", "mains frequency", default=param.FREQUENCY)

    values = (
        Value("reactance", "ohm", "of the dropper at the mains frequency", "1/(2·π·f·dropper)",
              "capacitive reactance", at="dropper taken out, capacitance range: 1/(2πf·C)", cold=True),
        Value("current", "A", "mean DC current available at the output", "charge·f",
              f"{CYCLE}; nearly {NEARLY}", at="a milliammeter in place of the load reads nearly this",
              hazard="mains"),
        Value("surplus", "A", "what is left for the clamp", "current − load", "Kirchhoff's current law"),
        Value("rail", "V", "what a DC meter shows on the output under load", "output",
              "the clamp holds it while there is a surplus", at="across the smoothing capacitor",
              hazard="mains"),
        Value("clamp_power", "W", "heat in the clamp with the load off", "output·current", "Joule's law"),
        Value("surge_current", "A", "inrush when plugged in at the crest", "supply·√2/series",
              "Ohm's law, capacitor empty"),
        Value("replug_surge", "A", "the same, plugged in again at the opposite crest", "2·supply·√2/series",
              "Ohm's law, capacitor charged"),
        Value("series_power", "W", "heat in the series resistor", "series·i_rms²", CYCLE),
        Value("plug_voltage_1s", "V", "left between the plug's pins 1 s after it is pulled",
              "peak·exp(−wait/(discharge·dropper))", plug.RULE, at="between the pins of the pulled plug",
              hazard="charged", cold=True, across="discharge"),
        Value("discharge_time_34v", "s", "from the crest down to 34 V", "discharge·dropper·ln(peak/limit)",
              plug.SOURCE, at="between the pins of the pulled plug", hazard="charged", cold=True,
              across="discharge"),
    )  # fmt: skip
    helper_units = {
        "charge": "As", "i_rms": "A", "peak": "V", "wait": "s", "limit": "V", "i_load": "A", "v_rail": "V",
    }  # fmt: skip
    extra_parts = (
        ExtraPart("diodes", "diode", "rectifier diode", named_by="rectifier"),
        ExtraPart(
            "return_diode",
            "diode",
            "return diode",
            where=lambda x: x.rectifier == "half-wave" and not before_diode(x) and not x.return_diode_there,
        ),
    )
    remarks = {
        ("dropper", "short"): BLOWN,
        ("dropper", "low"): "the usual one: X capacitors lose their capacitance with age",
        ("discharge", "open"): "the plug's pins stay charged after it is pulled",
        ("clamp", "open"): "the rail climbs until capacitor or load gives way",
        ("clamp", "short"): "nothing blows: the dropper limits the current",
        ("smoothing", "short"): "nothing blows: the dropper limits the current",
        ("smoothing", "open"): "a DC meter shows the average of the bumps",
        ("smoothing", "low"): "more ripple; the average falls by half of it",
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
        Variant("the zener across the rail, with a return diode", {"rectifier": "half-wave D1",
            "return_diode": "D2", "clamp": "ZD1 5V1 1W", "output": "5.1 V"}),
        Variant("with a bridge, feeding a resistor", {"rectifier": "bridge D1-D4", "load": "R7 1k",
            "output": "5.6 V"}),
    )  # fmt: skip

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
            rail = rail_volts(x, path, charge * x.f, dead or not path.delivers)
            if rail != x.output:  # solved: where load and dropper come to terms
                found |= {"v_rail": rail, "rail": Formula("v_rail")}
        left = plug.solved(self, x, stored=stored, resistor="discharge", capacitor="dropper")
        return {**found, **left}

    def checks(self, block: Block) -> list[Check]:
        top = block.mains_top()
        current = _at_mains_end(block, "current", True)
        found = _feeds_the_load(block) + _dropper_checks(block, top)
        found += rating(
            block, "series", "W", _at_mains_end(block, "series_power", True), "dissipates, at maximum mains,"
        )
        discharge, output = block.quantity("discharge"), block.given("output")
        if discharge is not None:
            found += rating(
                block, "discharge", "W", top * top / discharge.low, "dissipates, at maximum mains,"
            )
            found += rating(block, "discharge", "V", top * math.sqrt(2), "sees, at maximum mains,")
        found += rating(block, "smoothing", "V", output.high, "sees") + load_ratings(block, output.high)
        clamp = block.part("clamp")
        if clamp is not None and clamp.value is not None:
            returns = before_diode(block.point)
            drop = block.point.diode_drop if returns else 0.0
            power = (max(output.high, clamp.value.high) + drop) * current
            what = _("takes, unloaded, at maximum mains,")
            if returns:
                what = _("takes, both ways, unloaded, at maximum mains,")
            found += rating(block, "clamp", "W", power, what)
            holds = clamp.value.middle - drop
            if abs(holds - output.middle) > 0.1 * output.middle:
                values = {
                    "holds": measured(holds, "V", trim=True),
                    "stated": measured(output.middle, "V", trim=True),
                }
                found.append(
                    worth_saying(
                        block.label("clamp"), _("would hold the output at %(holds)s, not %(stated)s") % values
                    )
                )
        return found

    def remark(self, x: Point, key: str, mode: str) -> str:
        bridged = {
            ("diodes", "short"): "one half goes past the rail",
            ("diodes", "open"): "the dropper charges up in one direction",
        }
        if x.rectifier == "bridge" and (key, mode) in bridged:
            return bridged[(key, mode)]
        if (key, mode) == ("clamp", "open") and before_diode(x):
            return "no way back for the current: the rail is starved"
        return super().remark(x, key, mode)

    def wire(self, block: Block, w: Wiring) -> None:
        wire_dropper(block, w)

    def vet(self, given: dict[str, Any]) -> list[tuple[str, str, str]]:
        bridge = str(getattr(given["rectifier"], "label", given["rectifier"])) == "bridge"
        if given["return_diode"] is None:
            return []
        if bridge:
            return [("return_diode", "stands beside a bridge", "a bridge brings the current back itself")]
        if given["clamp_at"] == "diode" and given["clamp"] is not None:
            hint = "leave one of them out: a zener before the diode is the return diode"
            return [("return_diode", "stands beside a clamp before the diode", hint)]
        return []

    def draw(self, block: Block, sheet: Sheet) -> None:
        draw_dropper(block, sheet)

    def dangerous(self, x: Point) -> set[tuple[str, str]]:
        return {("discharge", "open"), *([] if before_diode(x) else [("clamp", "open")])}
