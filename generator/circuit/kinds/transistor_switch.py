"""A bipolar transistor that switches a load to the common rail."""

from __future__ import annotations

from typing import Any

from generator.circuit import param, switching
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.network import Wiring
from generator.circuit.ratings import at_least, rating
from generator.circuit.says import _, measured
from generator.circuit.sheet import Sheet


def _load_ohm(x: Point) -> float:
    """The load in ohm."""
    return switching.load_as_ohm(x, x.load_supply, x.vce_sat)


def _collector(x: Point, base_current: float) -> Solved:
    """Load current, collector voltage and heat for the collector current that the base drive allows."""
    available, wanted = x.transistor_hfe * base_current, switching.fully_on(x, x.load_supply, x.vce_sat)
    if switching.bridged(x):
        # The load is bridged; the transistor draws what its base allows straight from the supply.
        power = x.load_supply * available
        return {"load_current": 0.0, "collector_voltage": x.load_supply, "transistor_power": power}
    if switching.shorted(x):
        load = _load_ohm(x)
        current = x.load_supply / load if load else wanted
        return {"load_current": current, "collector_voltage": 0.0, "transistor_power": 0.0}
    found: dict[str, float | Formula] = {}
    if x.failed("load") == "open":
        found["load_current"] = 0.0
    elif x.load_supply <= x.vce_sat:
        found["load_current"] = Formula("max(load_supply − vce_sat, 0)/transistor_hfe")
    elif x.load_is == "A":
        found["load_current"] = Formula("min(load, transistor_hfe·base_current)")
    if available <= 0:  # nothing but the load lifts the collector
        found["collector_voltage"] = 0.0 if x.failed("load") == "open" else Formula("load_supply")
    elif available < wanted:
        by_current = "load_supply − (load_supply − vce_sat)·load_current/load"
        found["collector_voltage"] = Formula(
            by_current if x.load_is == "A" else "load_supply − load_current·load"
        )
    elif x.load_supply <= x.vce_sat:
        found["collector_voltage"] = Formula("load_supply")
    return found


class TransistorSwitch(Kind):
    title = "Transistor switch"
    group = "Driving"
    what = "A bipolar transistor that switches a load - a relay, a lamp, a motor - to the common rail."
    assumes = (
        "The drive is exact unless it states a tolerance. A load given as a current counts as the "
        "resistance that takes it with the transistor fully on."
    )
    terminals = ("drive", "base", "collector", "load_supply", "common")

    drive = param.Quantity("V", "what the base resistor is driven with while on")
    base = param.Part("resistor", "the resistor from the drive to the base", role="base resistor")
    pull_down = param.Part("resistor", "the resistor from base to emitter", default=None, role="pull-down")
    transistor = param.Part("transistor", "the transistor with its current gain, such as Q1 hfe100 500mA 45V")
    vbe = param.Quantity("V", "base-emitter voltage while on", default="0.7 V", spread="silicon junction")
    vce_sat = param.Quantity(
        "V", "what stays across the transistor fully on", default="0.2 V", zero=True, spread="saturation"
    )
    load = param.Load("what is switched: a resistance (RL1 400) or a current (35 mA)", part="coil")
    load_supply = param.Quantity("V", "what the load is fed from")
    flyback = switching.FLYBACK
    across_switch = switching.ACROSS_SWITCH
    across_load = switching.ACROSS_LOAD
    load_inductance = switching.LOAD_INDUCTANCE

    values = (
        Value("base_current", "A", "into the base", "(drive − vbe)/base − vbe/pull_down", switching.KIRCHHOFF,
              at="volts across the base resistor divided by its ohms, less what the pull-down takes"),
        Value("base_voltage", "V", "at the base", "vbe", switching.KIRCHHOFF, at="base to emitter"),
        Value("load_current", "A", "through the load",
              "min((load_supply − vce_sat)/load, transistor_hfe·base_current)", switching.SATURATION,
              at="in series with the load"),
        Value("collector_voltage", "V", "across the transistor while driven", "vce_sat", switching.SATURATION,
              at="collector to emitter"),
        Value("forced_gain", "", "load current over base current", "load_current/base_current", "definition", interior=True),
        Value("overdrive", "", "how many times over the drive can carry the load",
              "transistor_hfe·base_current/saturated", "definition"),
        Value("transistor_power", "W", "heat in the transistor while on", "collector_voltage·load_current",
              "Joule's law", interior=True),
        Value("surge_current", "A", "at first, into the empty capacitor across the load", "transistor_hfe·base_current",
              switching.SATURATION, interior=True),
        *switching.SWITCHED_OFF,
        Value("base_resistor_power", "W", "heat in the base resistor", "(drive − base_voltage)²/base",
              "Joule's law", interior=True),
    )  # fmt: skip
    helper_units = {"saturated": "A", "load_ohm": "ohm"}
    danger = {("transistor", "short")}
    remarks = {
        **switching.REMARKS,
        ("transistor", "open"): "as if it were not there",
        ("flyback", "open"): "nothing changes until switch-off; then the spike destroys the transistor",
        ("flyback", "short"): "bridges the load: the transistor draws straight from the supply and burns, unless a fuse blows first",
        ("pull_down", "open"): "nothing changes while it is driven; with the drive unplugged the base is left to stray currents",
    }  # fmt: skip
    example = {
        "drive": "5 V", "base": "R16 2k2", "pull_down": "R17 10k", "transistor": "Q1 hfe100 500mA 45V",
        "load": "RL1 400", "load_supply": "12 V", "flyback": "D6", "load_inductance": "0.4 H",
    }  # fmt: skip
    variants = (
        Variant("load stated as a current", {"pull_down": "", "flyback": "", "load": "35 mA",
            "load_inductance": ""}),
        Variant("a lamp", {"load": "LP1 400", "flyback": "", "load_inductance": ""}),
    )  # fmt: skip

    def solve(self, x: Point) -> Solved:
        into_base = "(drive − vbe)/base" + (" − vbe/pull_down" if x.pull_down is not None else "")
        broken = x.failed("transistor") == "open"
        base_current = 0.0 if broken else max(0.0, Formula(into_base).of(x))
        found: dict[str, float | Formula | None] = {
            "saturated": switching.fully_on(x, x.load_supply, x.vce_sat)
        }
        if base_current > 0:
            found["base_current"] = Formula(into_base)
        else:
            found["base_current"] = 0.0 if broken else Formula(f"max({into_base}, 0)")
            found |= {"base_voltage": switching.undriven(x, "base"), "forced_gain": None}
        if found["saturated"] == 0:
            found["overdrive"] = None
        found |= _collector(x, base_current)
        extra = switching.capacitor_values(
            x, "transistor_hfe·base_current", _load_ohm(x), base_current > 0 or switching.shorted(x)
        )
        return {**found, **extra}

    def checks(self, block: Block) -> list[Check]:
        called = block.label("transistor")
        found = []
        if "overdrive" in block.values:
            found.append(at_least(called, switching.LEAST_OVERDRIVE, block.low("overdrive"), "", "overdrive"))
        if block.low("base_current") == 0:
            never = _("stays off: the drive does not lift the base to vbe")
            sometimes = _("may stay off: in the worst case the drive does not lift the base to vbe")
            found.append(Check(called, sometimes if block.high("base_current") > 0 else never, False))
        elif block.low("overdrive") < 1 and "overdrive" in block.values:
            left = measured(block.high("collector_voltage"), "V")
            text = _("not saturated: up to %(left)s stays across it, and the load gets the rest") % {
                "left": left
            }
            found.append(Check(called, text, False))
        found += switching.transistor_ratings(block, "transistor_power")
        found += rating(block, "base", "W", block.high("base_resistor_power"), "dissipates")
        return found + switching.flyback_checks(block)

    def remark(self, x: Point, key: str, mode: str) -> str:
        off = switching.undriven(x, "base").of(x) < x.vbe
        if (key, mode) in (("flyback", "short"), ("across_load", "short")) and off:
            return "bridges the load"
        return super().remark(x, key, mode)

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        return switching.vet_load(inputs) + switching.vet_extras(
            inputs, "transistor", ("hfe", "Q1 hfe100 500mA 45V")
        )

    def wire(self, block: Block, w: Wiring) -> None:
        """From the drive through the base resistor; the load from its supply down to the collector."""
        w.drive("drive", "drive")
        w.supply("load_supply", "load_supply")
        w.resistor("base", "drive", "base")
        w.resistor("pull_down", "base", "common")
        w.transistor(
            "transistor", "base", "collector", "common", hfe="transistor_hfe", vbe="vbe", vce_sat="vce_sat",
            at=block.solved["base_current"], forced=block.solved.get("forced_gain", 0.0),
        )  # fmt: skip
        w.winding("load", "load_supply", "collector", _load_ohm)
        w.diode("flyback", "collector", "load_supply", required=False)
        w.capacitor("across_switch", "collector", "common")
        w.capacitor("across_load", "load_supply", "collector")
        w.volts("base_voltage", "base")
        w.volts("collector_voltage", "collector")
        w.load_amps("load_current", "collector")
        w.amps("base_current", "transistor")

    def draw(self, block: Block, sheet: Sheet) -> None:
        switching.draw_low_side(block, sheet, word="npn", control="base", top="collector", bottom="emitter", series="base",
                      at_series="base_current", at_top="collector_voltage")  # fmt: skip
