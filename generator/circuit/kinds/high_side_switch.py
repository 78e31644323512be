"""A PNP transistor or P-channel MOSFET between the supply and a load."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from generator.circuit import param, switching
from generator.circuit.block import STATED, Block, Check, Formula, Found, Kind, Point, Value, Variant
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.placing import across, down
from generator.circuit.ratings import at_least, rating, within
from generator.circuit.says import _, measured, phrase
from generator.circuit.sheet import Line, Sheet
from generator.notation.parts import Part


def is_pnp(x: Point) -> bool:
    """Whether the transistor is bipolar: it states a current gain."""
    return "transistor_hfe" in x.__dict__


def _off(x: Point) -> Found:
    """Volts from source or emitter to the control while the drive is high: they have to be too few to conduct."""
    if math.isinf(x.base):
        return {"off_voltage": 0.0}
    if x.drive_high >= x.supply:
        return {"off_voltage": 0.0}
    if x.pull_up is None or math.isinf(x.pull_up):
        return {"off_voltage": Formula("supply − drive_high")}
    return {"off_voltage": STATED}


def _drive_without_transistor(x: Point) -> Found:
    """What flows from the supply through the resistors alone."""
    if x.pull_up is None or math.isinf(x.pull_up) or math.isinf(x.base) or x.supply <= x.drive_low:
        return {"drive_current": 0.0}
    return {"drive_current": Formula("(supply − drive_low)/(pull_up + base)")}


def _pnp(x: Point) -> Found:
    pull_up = math.inf if x.pull_up is None else x.pull_up
    reach = (
        x.supply - x.drive_low
        if math.isinf(pull_up)
        else (x.supply - x.drive_low) * _portion(pull_up, x.base)
    )
    broken = x.failed("transistor") == "open"
    if reach <= x.vbe or broken or math.isinf(x.base):
        drive = _drive_without_transistor(x)
        return {
            **drive,
            "base_current": 0.0,
            "load_current": 0.0,
            "transistor_power": 0.0,
            "output_voltage": 0.0,
        }
    found: Found = {"drive_current": STATED}
    drained = "" if math.isinf(pull_up) else " − vbe/pull_up"
    found["base_current"] = Formula(f"drive_current{drained}")
    base = (x.supply - x.drive_low - x.vbe) / x.base - x.vbe / pull_up
    wanted = switching.fully_on(x, x.supply, x.vce_sat)
    available = x.transistor_hfe * base
    as_current = x.load_is == "A"
    found["saturated"] = wanted
    if wanted > 0:
        found["overdrive"] = STATED
    saturated = wanted <= available
    if x.failed("load") == "open":
        return {**found, "load_current": 0.0, "output_voltage": Formula("supply"), "transistor_power": 0.0}
    if saturated:
        found["load_current"] = (
            Formula("load" if as_current else "max(supply − vce_sat, 0)/load") if wanted > 0 else 0.0
        )
        found["output_voltage"] = Formula("max(supply − vce_sat, 0)")
    else:
        found["load_current"] = Formula("transistor_hfe·base_current")
        found["output_voltage"] = Formula(
            "(supply − vce_sat)·load_current/load" if as_current else "load·load_current"
        )
    if wanted > 0:
        found["forced_gain"] = STATED
    found["transistor_power"] = STATED
    return found


def _load_ohm(x: Point) -> float:
    return switching.load_as_ohm(x, x.supply, x.vce_sat if is_pnp(x) else x.load * x.transistor_rds)


def _p_channel(x: Point) -> Found:
    found = _drive_without_transistor(x)
    pull_up = math.inf if x.pull_up is None else x.pull_up
    if math.isinf(x.base):
        at_gate = 0.0
        found["gate_voltage"] = 0.0
    else:
        at_gate = max(0.0, x.supply - x.drive_low)
        if not math.isinf(pull_up):
            at_gate *= _portion(pull_up, x.base)
        found["gate_voltage"] = STATED
    on = at_gate >= x.transistor_vth and x.failed("transistor") != "open"
    if not on or x.failed("load") == "open":
        lifted = on and x.failed("load") == "open"
        return {
            **found,
            "load_current": 0.0,
            "output_voltage": Formula("supply") if lifted else 0.0,
            "transistor_power": 0.0,
        }
    if x.load_is == "A":
        found["load_current"] = (
            Formula("min(load, supply/transistor_rds)") if x.transistor_rds else Formula("load")
        )
    else:
        found["load_current"] = Formula("supply/(load + transistor_rds)")
    found["output_voltage"] = Formula("max(supply − load_current·transistor_rds, 0)")
    found["transistor_power"] = Formula("load_current²·transistor_rds")
    return found


def _portion(upper: float, lower: float) -> float:
    return upper / (upper + lower) if upper + lower else 0.0


def _bipolar_checks(block: Block, called: str) -> list[Check]:
    if block.low("base_current") <= 0:
        return [Check(called, "stays off: the drive does not draw the base vbe below the supply", False)]
    found = []
    if "overdrive" in block.values:
        found.append(at_least(called, switching.LEAST_OVERDRIVE, block.low("overdrive"), "", "overdrive"))
        if block.low("overdrive") < 1:
            text = _("not saturated: the load may get only %(volts)s") % {
                "volts": measured(block.low("output_voltage"), "V")
            }
            found.append(Check(called, text, False))
    return found


_CONTROL = "emitter to base, or source to gate"


class HighSideSwitch(Kind):
    title = "High-side switch"
    group = "Driving"
    by_regime = True
    what = "A PNP transistor or P-channel MOSFET that switches a load to the supply."
    assumes = (
        "Drive, load, gain, threshold and on-resistance are exact unless they state a tolerance. Above the threshold the "
        "channel has its on-resistance; between the threshold and twice that it really has more."
    )
    terminals = ("supply", "drive", "out", "common")

    supply = param.Quantity("V", "what it switches to the load")
    transistor = param.Part(
        "pnp or p-channel transistor",
        "PNP, such as Q2 hfe100, or P-channel, such as Q2 vth2 rds0R05",
        role="transistor",
    )
    base = param.Part("resistor", "the resistor from the drive to base or gate", role="base resistor")
    pull_up = param.Part(
        "resistor", "the resistor from base or gate to the supply", default=None, role="pull-up"
    )
    drive_low = param.Quantity(
        "V", "the drive while on", default=param.Unstated("0.2 V", "saturation"), zero=True
    )
    drive_high = param.Quantity("V", "the drive while off", default=supply)
    vbe = param.Quantity(
        "V", "emitter-base voltage while on (PNP)", default="0.7 V", spread="silicon junction"
    )
    vce_sat = param.Quantity(
        "V", "what stays across a PNP fully on", default="0.2 V", zero=True, spread="saturation"
    )
    load = param.Load("what is switched: a resistance or a current", part="coil")
    flyback = switching.FLYBACK

    values = (
        Value("drive_current", "A", "what the drive has to sink while on", "(supply − drive_low − vbe)/base", switching.KIRCHHOFF,
              at="volts across the base resistor divided by its ohms"),
        Value("base_current", "A", "out of the base", "drive_current − vbe/pull_up", switching.KIRCHHOFF,
              at="drive current less what the pull-up gives"),
        Value("gate_voltage", "V", "source to gate while on", "max(supply − drive_low, 0) − drive_current·base", "voltage divider",
              at="source to gate"),
        Value("load_current", "A", "through the load", "(supply − vce_sat)/load", switching.SATURATION, at="in series with the load"),
        Value("forced_gain", "", "load current over base current", "load_current/base_current", "definition",
              interior=True),
        Value("overdrive", "", "how many times over the drive can carry the load", "transistor_hfe·base_current/saturated",
              "definition"),
        Value("output_voltage", "V", "at the load while on", "supply − vce_sat", switching.SATURATION, at="output to common, while on"),
        Value("transistor_power", "W", "heat in the transistor while on", "(supply − output_voltage)·load_current", "Joule's law", interior=True),
        Value("off_voltage", "V", "across the control while off: has to be too little to conduct",
              "(supply − drive_high)·pull_up/(pull_up + base)", "voltage divider", at=_CONTROL + ", while off"),
    )  # fmt: skip
    helper_units = {"saturated": "A"}
    danger = {("transistor", "short")}
    remarks = {
        **switching.REMARKS,
        ("transistor", "open"): "the load never comes on, though it is driven",
        ("base", "open"): "it is never driven: the load stays off",
        ("pull_up", "open"): "works while it is driven; undriven, the control floats and the load may come on",
    }  # fmt: skip
    example = {
        "supply": "12 V", "transistor": "Q2 hfe100 500mA 45V", "base": "R4 2k2", "pull_up": "R5 10k", "load": "RL1 240", "flyback": "D3",
    }  # fmt: skip
    variants = (
        Variant("P-channel", {"transistor": "Q2 vth2 rds0R05 5A 30V", "base": "R4 1k", "load": "2 A",
            "flyback": ""}),
        Variant("a lamp at 5 V", {"supply": "5 V", "base": "R4 1k", "pull_up": "", "load": "LP1 100",
            "flyback": ""}),
    )  # fmt: skip

    def solve(self, x: Point) -> Found:
        found = _pnp(x) if is_pnp(x) else _p_channel(x)
        if x.failed("transistor") == "short":
            found |= {
                "load_current": switching.fully_on(x, x.supply, 0.0) if x.load else 0.0,
                "output_voltage": Formula("supply"),
                "transistor_power": 0.0,
            }
        if x.failed("flyback") == "short":  # the load is bridged: the fuse goes, or the transistor
            found |= {"load_current": 0.0, "output_voltage": 0.0, "transistor_power": 0.0}
        return {**found, **_off(x)}

    def checks(self, block: Block) -> list[Check]:
        called = block.label("transistor")
        supply = block.given("supply")
        pnp = is_pnp(block.point)
        found = _bipolar_checks(block, called) if pnp else switching.gate_checks(block)
        part = block.part("transistor")
        keeps = ("vbe", block.quantity("vbe")) if pnp else ("vth", part.extras.get("vth") if part else None)
        if keeps[1] is not None:
            left, conducts = block.high("off_voltage"), _("conducts from %(name)s") % {"name": keeps[0]}
            stays = within(called, keeps[1].low, left, "V", "off, the drive leaves", conducts)
            if not stays.ok:
                text = _("cannot be switched off: the drive leaves %(left)s across it, and it conducts from %(from)s") % {
                    "left": measured(block.high("off_voltage"), "V"), "from": measured(keeps[1].low, "V")}  # fmt: skip
                stays = Check(called, text, False, stays.margin)
            found.append(stays)
        found += switching.transistor_ratings(block, "transistor_power", "supply")
        across = max(0.0, supply.high - block.point.drive_low)
        base = block.quantity("base")
        if base is not None and base.low > 0:
            found += rating(block, "base", "W", across * across / base.low if pnp else 0.0, "dissipates")
        return found + switching.flyback_checks(block, "supply")

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        part = inputs["transistor"]
        given = set(part.extras) if isinstance(part, Part) else set()
        found = switching.vet_load(inputs)
        if "hfe" in given and given & {"vth", "rds"}:
            hint = "Q2 hfe100 for a PNP, Q2 vth2 rds0R05 for a P-channel"
            found.append(("transistor", "states both hfe and vth or rds", hint))
        elif "hfe" not in given and given != {"vth", "rds"}:
            missing = "neither hfe nor vth and rds" if not given else "no rds" if "vth" in given else "no vth"
            found.append(
                ("transistor", f"states {missing}", "Q2 hfe100 for a PNP, Q2 vth2 rds0R05 for a P-channel")
            )
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """The transistor from the supply to the load, its control through the resistor to the drive, which is low to switch on."""
        x = block.point
        w.supply("supply", "supply")
        w.drive("drive_low", "drive", on="drive_low", idle="drive_high", inverse=True)
        w.resistor("base", "drive", "_control")
        w.resistor("pull_up", "supply", "_control")
        if is_pnp(x):
            w.transistor(
                "transistor", "_control", "out", "supply", hfe="transistor_hfe", vbe="vbe", vce_sat="vce_sat",
                at=block.solved["base_current"], forced=block.solved.get("forced_gain", 0.0), pnp=True,
            )  # fmt: skip
        else:
            above = block.solved["gate_voltage"] - x.transistor_vth
            w.mosfet(
                "transistor", "_control", "out", "supply", vth="transistor_vth", rds="transistor_rds",
                at=above if above > 0 else x.transistor_vth, p_channel=True,
            )  # fmt: skip
            w.volts("gate_voltage", "supply", "_control")
        w.winding("load", "out", "common", _load_ohm)
        w.diode("flyback", "common", "out", required=False)
        w.volts("output_voltage", "out")
        w.load_amps("load_current", "out", times=-1.0)

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Supply on top, the transistor under it, the load down to common, the drive from the left."""
        pnp = is_pnp(block.point)
        word, control, top, bottom = (
            ("pnp", "base", "emitter", "collector") if pnp else ("p-mosfet", "gate", "source", "drain")
        )
        at_series = "base_current" if pnp else "gate_voltage"
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        sheet.port(
            0,
            1,
            [
                Line("drive", "r"),
                *[replace(line, text=phrase(_("on"), line.text)) for line in computed(block, "drive_low")],
            ],
        )
        sheet.port(0, 3, [Line("0 V", "r")])
        across(block, sheet, "base", 1, 0, 1)
        at = sheet.device(word, 2, 1, top, switching.transistor_label(block), also=control)
        # the control's own: a PNP's base current runs out of it, behind what the pull-up gives
        carries = "current" if pnp else "node"
        beside = computed(block, at_series)
        if not pnp:  # the node itself stands that much under the supply
            beside = [replace(line, text=phrase(line.text, _("below source"))) for line in beside]
        sheet.across(carries, 1, 1, at[control], beside, reverse=pnp)
        sheet.wire((0, 0), (2, 0), at[top])
        if block.has("pull_up"):
            down(block, sheet, "pull_up", 1, 0, 1)
            sheet.dot((1, 0), (1, 1))
        sheet.wire(at[bottom], (2, 2))
        symbol = switching.load_symbol(block.inputs.get("load"))
        load = [*part_label(block, "load"), *computed(block, "load_current")]
        sheet.down(symbol, 2, 2, 3, load, left=True)
        sheet.wire((0, 3), (2, 3))
        last = 2
        if block.has("flyback"):
            sheet.down("diode", 3, 2, 3, part_label(block, "flyback"), reverse=True)
            sheet.wire((2, 2), (3, 2))
            sheet.wire((2, 3), (3, 3))
            sheet.dot((2, 3), (3, 2))
            last = 3
        sheet.dot((2, 2))
        sheet.wire((last, 2), (last + 1, 2))
        sheet.port(last + 1, 2, [Line("output", "r"), *named(block, "output_voltage")], right=True)
