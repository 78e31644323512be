"""An n-channel MOSFET that switches a load to the common rail."""

from __future__ import annotations

import math
from typing import Any

from generator.circuit import param, switching
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.formula import parallel
from generator.circuit.network import Wiring
from generator.circuit.sheet import Sheet


def _channel(x: Point, on: bool) -> Solved:
    """Load current and what stands across the transistor, where that is not as in the table."""
    bypassed = switching.shorted(x)
    on = (on or bypassed) and x.failed("transistor") != "open"
    if x.failed("load") == "open" or on and switching.bridged(x):
        # bridged, it lies straight across the supply: the fuse has blown
        return {"load_current": 0.0, "on_drop": 0.0}
    if not on:
        return {"load_current": Formula("0·load_supply"), "on_drop": Formula("load_supply")}
    found: dict[str, float | Formula] = {"transistor_rds": 0.0} if bypassed else {}
    if x.load_is == "A":
        # A load that wants more than the channel lets through gets what the supply drives through the channel.
        limited = x.transistor_rds > 0 and not bypassed
        found["load_current"] = Formula("min(load, load_supply/transistor_rds)" if limited else "load")
    return found


def _load_ohm(x: Point) -> float:
    return switching.load_as_ohm(x, x.load_supply, x.load * x.transistor_rds)


class MosfetSwitch(Kind):
    title = "MOSFET switch"
    group = "Driving"
    what = "An n-channel MOSFET that switches a load - a fan, a lamp, a heater - to the common rail."
    assumes = (
        "The drive is exact unless it states a tolerance. Above the threshold the channel has its on- "
        "resistance; between the threshold and twice that it really has more."
    )
    terminals = ("drive", "gate", "drain", "load_supply", "common")

    drive = param.Quantity("V", "what the gate resistor is driven with while on")
    gate = param.Part("resistor", "the resistor from the drive to the gate", role="gate resistor", zero=True)
    pull_down = param.Part("resistor", "the resistor from gate to source", default=None, role="pull-down")
    transistor = param.Part(
        "mosfet", "the MOSFET with threshold and on-resistance, such as Q1 vth2 rds0R05 10A 30V"
    )
    load = param.Load("what is switched: a resistance (140 ohm) or a current (2 A)", part="coil")
    load_supply = param.Quantity("V", "what the load is fed from")
    gate_capacitance = param.Quantity("F", "input capacitance of the gate", default=None)
    flyback = switching.FLYBACK
    across_switch = switching.ACROSS_SWITCH
    across_load = switching.ACROSS_LOAD
    load_inductance = switching.LOAD_INDUCTANCE

    values = (
        Value("gate_voltage", "V", "at the gate while driven", "drive·pull_down/(pull_down + gate)",
              "voltage divider", at="gate to source"),
        Value("load_current", "A", "through the load", "load_supply/(load + transistor_rds)", switching.ON_RESISTANCE,
              at="in series with the load"),
        Value("on_drop", "V", "across the transistor while driven", "load_current·transistor_rds",
              switching.ON_RESISTANCE, at="drain to source"),
        Value("dissipation", "W", "heat in the transistor while on, switching left out",
              "load_current·on_drop", "Joule's law", interior=True),
        Value("surge_current", "A", "at first, into the empty capacitor across the load", "load_supply/transistor_rds",
              switching.ON_RESISTANCE, interior=True),
        *switching.SWITCHED_OFF,
        Value("gate_time_constant", "s", "how slowly the gate follows", "(gate∥pull_down)·gate_capacitance",
              "RC circuit: the gate sees both resistors side by side"),
    )  # fmt: skip
    helper_units = {"load_ohm": "ohm"}
    danger = {("transistor", "short")}
    remarks = {
        **switching.REMARKS,
        ("transistor", "open"): "the load never comes on, though the gate is driven",
        ("pull_down", "open"): "nothing changes while it is driven; with the drive unplugged the gate floats and the load may come on",
    }  # fmt: skip
    example = {
        "drive": "5 V", "gate": "R18 100", "pull_down": "R19 100k", "transistor": "Q2 vth1.5 rds0R1 2A 30V",
        "load": "M2 140", "load_supply": "12 V", "flyback": "D7", "gate_capacitance": "1n",
    }  # fmt: skip
    variants = (
        Variant("load stated as a current", {"pull_down": "", "flyback": "", "load": "500 mA"}),
        Variant("a lamp", {"load": "LP1 24", "flyback": "", "gate_capacitance": ""}),
    )

    def solve(self, x: Point) -> Solved:
        gate = switching.undriven(x, "gate")
        found: dict[str, float | Formula | None] = {
            "gate_voltage": gate, **_channel(x, gate.of(x) >= x.transistor_vth),
        }  # fmt: skip
        if math.isinf(parallel(x.gate, x.pull_down or math.inf)):
            found["gate_time_constant"] = None
        elif x.pull_down is None:
            found["gate_time_constant"] = Formula("gate·gate_capacitance")
        conducts = (gate.of(x) >= x.transistor_vth and x.failed("transistor") != "open") or switching.shorted(
            x
        )
        extra = switching.capacitor_values(
            x, "load_supply/transistor_rds", _load_ohm(x), conducts and not switching.shorted(x)
        )
        return {**found, **extra}

    def checks(self, block: Block) -> list[Check]:
        return (
            switching.gate_checks(block)
            + switching.transistor_ratings(block, "dissipation")
            + switching.flyback_checks(block)
        )

    def remark(self, x: Point, key: str, mode: str) -> str:
        if (key, mode) == ("gate", "open") and x.pull_down is None:
            return "the gate floats: the load may be off, on or in between; shown as off"
        if (key, mode) in (("flyback", "short"), ("across_load", "short")):
            driven = switching.undriven(x, "gate").of(x) >= x.transistor_vth
            return self.remarks[(key, mode)] if driven else "bridges the load"
        return super().remark(x, key, mode)

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        example = "Q1 vth2 rds0R05 10A 30V"
        return switching.vet_load(inputs) + switching.vet_extras(
            inputs, "transistor", ("vth", example), ("rds", example)
        )

    def wire(self, block: Block, w: Wiring) -> None:
        """From the drive through the gate resistor; the load from its supply down to the drain."""
        w.drive("drive", "drive")
        w.supply("load_supply", "load_supply")
        w.resistor("gate", "drive", "gate")
        w.resistor("pull_down", "gate", "common")
        above = block.solved["gate_voltage"] - block.point.transistor_vth
        w.mosfet(
            "transistor", "gate", "drain", "common", vth="transistor_vth", rds="transistor_rds",
            at=above if above > 0 else block.point.transistor_vth,
        )  # fmt: skip
        w.winding("load", "load_supply", "drain", _load_ohm)
        w.diode("flyback", "drain", "load_supply", required=False)
        w.capacitor("across_switch", "drain", "common")
        w.capacitor("across_load", "load_supply", "drain")
        w.volts("gate_voltage", "gate")
        w.volts("on_drop", "drain")
        w.load_amps("load_current", "drain")

    def draw(self, block: Block, sheet: Sheet) -> None:
        switching.draw_low_side(block, sheet, word="n-mosfet", control="gate", top="drain", bottom="source", series="gate",
                      at_series="gate_voltage", at_top="on_drop")  # fmt: skip
