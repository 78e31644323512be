"""A motor with electronic commutation: three windings, a bridge of six transistors, three Hall sensors."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Kind, Point, Value, Variant
from generator.circuit.formula import STATED, Formula, Found
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.element import Worn, exact, fixed
from generator.circuit.network.motors import Commutated, Star, Toggling
from generator.circuit.network.passive import Winding
from generator.circuit.network.sources import FRICTION
from generator.circuit.placing import down
from generator.circuit.ratings import rating, within, worth_saying
from generator.circuit.says import _, measured, phrase
from generator.circuit.sheet import Line, Sheet

SIX_STEP = "six-step commutation: at any moment two windings, two transistors and the shunt are in series"


def _motor_current(x: Point) -> Formula | float:
    """What drives the motor less what it generates, over the resistance, and at most what the limit lets through."""
    drive = x.duty * x.supply - x.speed / x.kv
    if drive <= 0:
        return 0.0
    ohms = x.winding + 2 * x.bridge + (x.shunt or 0.0)
    limited = x.limit is not None and x.shunt and drive / ohms > x.limit / x.shunt
    return Formula("limit_current") if limited else STATED


def _shunt_heat(block: Block, amperes: float) -> float:
    shunt = block.quantity("shunt")
    heat = block.high("shunt_power")
    return heat if heat or shunt is None else amperes**2 * shunt.high


LEADS = ("u", "v", "w")


def _driven(block: Block, w: Wiring) -> dict[str, Any]:
    """What it takes: turning, its current for its share of the time, as its supply falls no more than its resistance lets
    through; held still and unlimited, that resistance as the drive's share makes it."""
    x, kind = block.point, block.kind
    limited = x.kv is not None and block.values["motor_current"].formula == "limit_current"
    held = x.kv is not None and x.speed == 0 and not limited

    def mean(at: Point) -> float:
        return float(at.duty * kind.values_at(at).get("motor_current", 0.0))

    def ohms(at: Point) -> float:
        shunt = at.shunt or 0.0
        return float((at.winding + 2 * at.bridge + shunt * (1 - at.duty**2)) / at.duty**2)

    who = {**w.who("winding"), "name": w.net("motor"), "called": ""}
    wear: dict[str, tuple[str, Mapping[str, Worn]]] = {
        "transistors": (block.label("transistors"), {"open": fixed(ohms=math.inf)})
    }
    if limited:
        wear["shunt"] = (
            block.label("shunt"),
            {"high": lambda p, size: {"amperes": p["amperes"] / (size or 2.0)}},
        )
    return {
        **who, "amperes": w.number(mean), "ohms": w.number(ohms), "stalled": exact(held), "wear": wear,
        "emf": exact(0.0 if limited else x.supply - mean(x) * ohms(x)), "friction": w.number(FRICTION, "friction"),
    }  # fmt: skip


class BldcMotor(Kind):
    title = "Brushless motor"
    group = "Driving"
    by_regime = True
    what = "A motor with electronic commutation and Hall sensors: fans, drives, e-bikes, cordless tools."
    assumes = (
        "Ideal six-step commutation without friction. Windings, kv and speed are exact unless they state a tolerance; small "
        "windings are below what a plain meter resolves: compare the three readings with each other."
    )
    terminals = ("plus", "minus", "u", "v", "w")

    supply = param.Quantity("V", "what feeds the bridge")
    duty = param.Quantity("", "share of the time in which it is driven", default="1")
    winding = param.Part(
        "winding", "ohms from lead to lead, the same between any two, such as M1 0R4", role="motor"
    )
    pole_pairs = param.Count("pairs of poles of the rotor")
    kv = param.Quantity("rpm/V", "speed for each volt, unloaded", default=None)
    speed = param.Quantity("rpm", "at which it turns", default="0 rpm", zero=True)
    bridge = param.Quantity("ohm", "on-resistance of one transistor", default="0 ohm", zero=True)
    shunt = param.Part("resistor", "the resistor in the bridge's common", default=None)
    limit = param.Quantity("V", "volts at the shunt at which the current is limited", default=None)
    hall_supply = param.Quantity(
        "V", "what feeds the Hall sensors' pull-ups", default=param.Unstated("5 V", "regulator")
    )
    hall_low = param.Quantity(
        "V", "a Hall output that is low", default=param.Unstated("0.2 V", "open collector"), zero=True
    )

    transistors = param.Part(
        "mosfet", "the bridge's transistors, such as Q1-Q6", default=None, role="bridge transistor"
    )
    hall = param.Part("chip", "the Hall sensors, such as U2-U4", default=None, role="Hall sensor")

    values = (
        Value("phase_resistance", "ohm", "of one winding of the star", "winding/2", "star connection",
              at="half of what a meter finds between two leads, plug out", cold=True),
        Value("limit_current", "A", "at which the current is limited", "limit/shunt", "Ohm's law"),
        Value("back_emf", "V", "what the turning motor generates", "speed/kv", "definition of kv"),
        Value("stall_current", "A", "at standstill, fully driven and unlimited", "supply/R", SIX_STEP),
        Value("motor_current", "A", "while it turns at this speed", "(duty·supply − back_emf)/R", SIX_STEP,
              at="volts across the shunt, divided by its ohms and the duty", interior=True),
        Value("shunt_voltage", "V", "across the shunt", "shunt·motor_current", "Ohm's law", at="across the shunt; driven in pulses, a DC meter shows it times the duty", interior=True),
        Value("shunt_power", "W", "heat in the shunt", "shunt·motor_current²", "Joule's law", interior=True),
        Value("no_load_speed", "rpm", "unloaded", "kv·duty·supply", "definition of kv"),
        Value("hall_frequency", "Hz", "at each Hall output", "pole_pairs·speed/60", "one period for each pair of poles",
              at="Hall output to common, frequency range"),
        Value("hall_mean", "V", "at each Hall output, turning; turned slowly by hand it jumps between high and low",
              "(hall_supply + hall_low)/2", "half of each turn high, half low", at="Hall output to common, DC range, turning"),
    )  # fmt: skip
    helper_units = {"R": "ohm"}
    extra_parts = (
        ExtraPart("transistors", "mosfet", "bridge transistor", where=lambda x: not x.transistors_there),
        ExtraPart("hall", "chip", "Hall sensor", where=lambda x: not x.hall_there),
    )
    remarks = {
    ("winding", "open"): "two of the three readings between the leads are open; it stutters or does not start",
    ("transistors", "open"): "one phase is not driven: it stutters, does not start from some positions",
    ("transistors", "short"): "one phase is tied to a rail: the fuse blows; turned by hand, the motor brakes in steps",
    ("hall", "open"): "its output stays high: it does not start from some positions, or stutters",
    ("hall", "short"): "its output stays low: it does not start from some positions, or stutters",
    ("shunt", "open"): "the bridge has lost its common: nothing turns",
    ("shunt", "high"): "the limit trips at half the current: it is weak",
}  # fmt: skip
    example = {
        "supply": "24 V", "winding": "M1 0R6", "pole_pairs": "4", "kv": "160 rpm/V", "speed": "3400 rpm", "bridge": "20 mohm",
        "shunt": "R30 0R05 2W", "limit": "0.5 V",
    }  # fmt: skip
    variants = (
        Variant("stalled, held by its limit", {"speed": "", "limit": "0.1 V"}),
        Variant("kv not known", {"kv": "", "shunt": "", "limit": "", "speed": "3000 rpm"}),
        Variant("turning at half drive", {"speed": "1500 rpm", "bridge": "", "duty": "0.5"}),
    )

    def solve(self, x: Point) -> Found:
        found: Found = {}
        if x.failed("hall") == "open":
            found["hall_mean"] = Formula("hall_supply")
        elif x.failed("hall") == "short":
            found["hall_mean"] = Formula("hall_low")
        else:
            found["hall_mean"] = STATED
        found["hall_frequency"] = STATED
        if x.failed("hall"):
            found["hall_frequency"] = 0.0
        cut = (
            x.failed("winding") == "open"
            or x.failed("transistors") == "open"
            or (x.shunt is not None and math.isinf(x.shunt))
        )
        if x.failed("winding") != "open":
            found["phase_resistance"] = STATED
        if x.kv is not None:
            found["no_load_speed"] = STATED
            found["back_emf"] = STATED if x.speed else 0.0
        if x.limit is not None and x.shunt is not None and not math.isinf(x.shunt):
            found["limit_current"] = STATED
        if cut or x.failed("transistors") == "short":
            return {
                **found,
                "stall_current": 0.0,
                "motor_current": 0.0,
                **({"shunt_voltage": 0.0} if x.shunt else {}),
            }
        found["R"] = Formula("winding + 2·bridge" + (" + shunt" if x.shunt is not None else ""))
        found["stall_current"] = STATED
        if x.kv is not None:
            found["motor_current"] = _motor_current(x)
            if x.shunt is not None:
                found["shunt_voltage"] = STATED
                found["shunt_power"] = STATED
        return found

    def checks(self, block: Block) -> list[Check]:
        x, found = block.point, []
        called = block.label("winding")
        supply = block.given("supply")
        if "motor_current" in block.values:
            formula = block.values["motor_current"].formula
            amps = {"amps": measured(block.high("motor_current"), "A")}
            if formula == "0":
                text = _(
                    "turns as fast as its drive can make it: it takes next to nothing, or is driven by its load"
                )
                found.append(worth_saying(called, text))
            elif formula.endswith("limit_current"):
                found.append(worth_saying(called, _("the limit holds it at %(amps)s") % amps))
            elif x.speed == 0:
                found.append(worth_saying(called, _("stalled, without a limit it takes %(amps)s") % amps))
        if "no_load_speed" in block.values and x.speed:
            speed = block.given("speed")
            found.append(
                within(called, block.high("no_load_speed"), speed.low, "rpm", "turns at", "unloaded at most")
            )
        most = block.high("limit_current") or block.high("stall_current")
        found += rating(block, "winding", "A", block.high("motor_current"), "carries")
        found += rating(block, "winding", "V", supply.high, "is fed with")
        return found + rating(block, "shunt", "W", _shunt_heat(block, most), "dissipates")

    def wire(self, block: Block, w: Wiring) -> None:
        """What it takes on average through the shunt, its windings in a star between the leads, the diodes in the bridge's
        transistors, and one Hall output."""
        x = block.point
        w.supply("supply", "plus", "minus")
        w.common("minus")
        low = "_low" if w.has("shunt") else "minus"
        w.resistor("shunt", "_low", "minus")
        w.add(Commutated(**_driven(block, w), a="plus", b=low))
        for copy, lead in enumerate(LEADS):
            own = {**w.who("winding"), "name": w.net("winding" + (f"#{copy}" if copy else ""))}
            w.add(Winding(**own, a=lead, b="_star", ohms=w.number(lambda at: at.winding / 2, "winding")))
        # as `winding` is stated: from lead to lead
        w.wired.leads[w.net("winding")] = (w.net("u"), w.net("v"))
        turning = x.duty / 2 if x.speed else 0.0
        name, share = w.net("star"), exact(turning)
        w.add(Star(name=name, block=block.name, star="_star", plus="plus", minus=low, share=share))
        for copy, lead in enumerate(LEADS):
            w.diode("transistors", lead, "plus", ac=False, copy=2 * copy)
            w.diode("transistors", low, lead, copy=2 * copy + 1)
        w.supply("hall_supply", "_hall_supply", "minus")
        w.add(
            Toggling(
                **w.who("hall"), out="_hall", supply="_hall_supply", common="minus", low=w.number("hall_low")
            )
        )
        w.volts("hall_mean", "_hall", "minus")
        if w.has("shunt") and "motor_current" in block.solved:
            w.volts("shunt_voltage", "_low", "minus", times=1 / x.duty)
            w.amps("motor_current", "motor", times=1 / x.duty)

    def draw(self, block: Block, sheet: Sheet) -> None:
        """The bridge as a box with the Hall sensors, the three windings in a star at its right, the shunt below it."""
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        title = [
            *(part_label(block, "transistors") if block.part("transistors") else [Line("bridge", "r")]),
            *[replace(line, text=phrase(_("duty"), line.text)) for line in computed(block, "duty")],
        ]
        pins = sheet.box(
            2, 1, 3, title, left={2: "hall"}, right={1: "u", 2: "v", 3: "w"}, top="+", bottom="−"
        )
        sheet.wire((0, 0), (2, 0), pins["top"])
        sheet.tag(2, *named(block, "motor_current", "takes"))
        first = [*part_label(block, "winding"), Line(_("between two leads"))]
        for row, label in ((1, first), (2, computed(block, "back_emf")), (3, [])):
            sheet.wire(pins[f"right {row}"], (3, row))
            sheet.across("inductor", row, 3, 4, label)
        sheet.wire((4, 1), (4, 3))
        sheet.dot((4, 2))
        sheet.wire((0, 2), pins["left 2"])
        hall = part_label(block, "hall") if block.part("hall") else [Line("hall sensors", "r")]
        sheet.port(
            0,
            2,
            # standing still, a sensor is high or low, and shows no mean
            [
                *hall,
                *(named(block, "hall_mean", "mean") if block.solved.get("hall_frequency") != 0 else []),
                *named(block, "hall_frequency"),
            ],
        )
        sheet.wire(pins["bottom"], (2, 4))
        if block.has("shunt"):
            shown = [*named(block, "shunt_voltage"), *named(block, "limit_current", "limit")]
            down(block, sheet, "shunt", 2, 4, 5, *shown)
        else:
            sheet.wire((2, 4), (2, 5))
        sheet.wire((0, 5), (2, 5))
        sheet.port(0, 5, [Line("0 V", "r")])
