"""A charger for lithium cells with their protection: in which phase it is, and what the cells and the protection allow."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from generator.circuit import curves, param
from generator.circuit.block import Block, Check, ExtraPart, Kind, Point, Value, Variant
from generator.circuit.cells import CHEMISTRIES, wire_cells
from generator.circuit.formula import STATED, Found
from generator.circuit.kinds import _lithium_charging as charging
from generator.circuit.kinds import _lithium_drawing as drawing
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.charging import Limiter
from generator.circuit.network.chips import Loop
from generator.circuit.network.element import Worn, exact, fixed
from generator.circuit.network.passive import Resistor
from generator.circuit.network.wiring import BULK
from generator.circuit.placing import across
from generator.circuit.ratings import at_least, within, worth_saying
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet
from generator.notation.quantity import Quantity

CC_CV = "the constant-current, constant-voltage charge of lithium cells, as in charger data sheets"
HELD = "_held" + BULK  # between the charger's two limits, inside it
LEAST_RESISTANCE = 0.01  # ohm of a pack and its leads, where the note states none
LARGEST_IMBALANCE = 0.1  # V; common practice, no source


def _cut_off(x: Point) -> float:
    """Volts a cell at which protection cuts off on discharge."""
    return float(charging.OVER_DISCHARGE[x.chemistry] if x.over_discharge is None else x.over_discharge)


def _cell_checks(block: Block) -> list[Check]:
    """Each cell between where protection cuts off on discharge and on charge."""
    x, given = block.point, block.inputs["battery"]
    low = _cut_off(x)
    high = charging.OVER_CHARGE[x.chemistry] if x.over_charge is None else x.over_charge
    cells = charging.stated_cells(x)
    each = given if isinstance(given, list) else [Quantity(None, given.low / cells, given.high / cells, "V")]
    found = []
    for number, volts in enumerate(each, 1):
        called = _("cell %(number)s") % {"number": number} if len(each) > 1 else "cell"
        found.append(at_least(called, low, volts.low, "V", "at", "protection cuts off below"))
        found.append(within(called, high, volts.high, "V", "at", "protection cuts off above"))
    return found


def _phase_remark(block: Block) -> list[Check]:
    """What the charger is doing now, and that this is no fault."""
    x, solved = block.point, block.solved
    current = solved.get("charge_current")
    if current is None:
        return []
    amps = {"amps": measured(current, "A")}
    fed = {"battery": solved["battery"], "full": solved["full"]}
    state = charging.phase(**fed, precharge_to=charging.recovers_at(x))
    limit = block.values["charge_current"].formula
    if state == "full":
        text = _("full: the charger has finished, no current is right")
    elif current == 0:
        text = _("cannot charge: the input less the dropout is below the battery")
    elif state == "precharge":
        text = _("deeply discharged: it is charged at a tenth, %(amps)s, until it has recovered; that is no "
                 "fault") % amps  # fmt: skip
    elif limit.startswith("(full"):
        text = _("constant voltage: the current falls as it fills, now %(amps)s; that is no fault") % amps
    elif limit.startswith("(input"):
        text = _("the input holds the current down to %(amps)s") % amps
    else:
        text = (
            _("constant current of %(amps)s: the terminals stay below full for now; that is no fault") % amps
        )
    return [worth_saying(block.label("charger"), text)]


def _programmed(block: Block) -> bool:
    return block.has("program")


def _lost(x: Point) -> float:
    """Ohm between the charger and the cells: the pack's, of which the protection's transistors are a part."""
    return max(float(x.resistance), LEAST_RESISTANCE)


def _wire_charger(block: Block, w: Wiring) -> None:
    """From in to "_charged" (and through sense): at most its current, and no more once the battery is full."""
    x, kind = block.point, block.kind
    sensed = w.has("sense")
    behind = "_sensed" if sensed else "_charged"
    full, dropout = w.number(lambda at: kind.values_at(at)["full"]), w.number("dropout")
    w.add(Loop(
        **w.who("charger"), input="in", output=HELD, common="common", sense=behind, volts=full, dropout=dropout,
        quiescent=exact(0.0),
    ))  # fmt: skip

    def most(at: Point) -> float:
        return charging.held_to(at, kind.values_at(at))

    setting = "program" if w.has("program") else "sense"
    slower: dict[str, Worn] = {
        "open": fixed(amperes=0.0),
        "high": lambda p, size: {"amperes": p["amperes"] / (size or 2.0)},
    }
    left = w.block.solved["battery"] * (charging.stated_cells(x) - 1) / charging.stated_cells(x)
    weak = fixed(amperes=charging.held_to(x, {**block.solved, "battery": left}))
    wear: dict[str, tuple[str, Mapping[str, Worn]]] = {setting: (block.label(setting), slower)}
    if "battery" not in w.fed:  # else its cells are another block's
        wear["cell"] = (w.who("cell")["called"], {"short": weak})
    limit = {**w.who("charger"), "name": w.net("limit"), "called": "", "wear": wear}
    amperes = w.number(most) if charging.set_value(x) is not None else exact(0.0)
    w.add(Limiter(**limit, a=HELD, b="_charged", amperes=amperes))
    w.resistor("sense", "_charged", "_sensed")


class LithiumCharger(Kind):
    title = "Lithium charger"
    group = "Power"
    by_regime = True
    what = "A charger for lithium cells, with their protection and balancing: its phase, its current, and what the cells allow."
    assumes = (
        "A battery at rest with a plain resistance. Full is 4.2 V a cell (li-ion) or 3.65 V (li-fe-po4); limits of protection are "
        "typical, from memory: check the chip's own."
    )
    terminals = ("in", "battery", "common")
    cautions = ("lithium",)

    input = param.Quantity("V", "what feeds the charger")
    battery = param.Cells("V", "the battery at rest; or a list with the volts of each cell")
    cells = param.Count("how many in series", default="1")
    chemistry = param.Choice(("li-ion", "li-fe-po4"), "li-ion or li-fe-po4", default="li-ion")
    resistance = param.Quantity("ohm", "of the whole pack", default="0 ohm", zero=True)
    program = param.Part(
        "resistor", "the resistor that sets the current", default=None, role="program resistor"
    )
    program_factor = param.Quantity(
        "V", "volts that are divided by it (charger's data sheet)", default=None, measurable=False
    )
    sense = param.Part(
        "resistor",
        "the resistor that senses the current, in place of program",
        default=None,
        role="sense resistor",
    )
    sense_voltage = param.Quantity(
        "V",
        "volts across it at the set current",
        default=param.Unstated("0.1 V", "sense threshold"),
        beside="sense",
    )
    precharge_below = param.Quantity("V", "volts a cell below which a tenth flows", default=None)
    dropout = param.Quantity(
        "V", "the least that the charger needs across itself", default="0.3 V", zero=True
    )
    capacity = param.Quantity("Ah", "of a cell", default=None)
    over_discharge = param.Quantity(
        "V", "volts a cell at which protection cuts off on discharge", default=None
    )
    over_charge = param.Quantity("V", "volts a cell at which it cuts off on charge", default=None)
    trip_voltage = param.Quantity(
        "V",
        "across the protection's transistors, at which it trips",
        default=param.Unstated("0.15 V", "trip voltage"),
        beside="fet_resistance",
    )
    fet_resistance = param.Quantity("ohm", "of the protection's transistors together", default=None)
    balancer = param.Part(
        "resistor", "the resistor that drains a full cell", default=None, role="balancing resistor"
    )

    charger = param.Part("chip", "the charger, such as U3", default=None)

    values = (
        Value("full", "V", "the battery full, as the charger ends", "cells·cell_full", CC_CV, at="across the battery, just off the charger"),
        Value("set_current", "A", "the current that is set", "program_factor/program", "charger data sheets"),
        Value("charge_current", "A", "what flows into the battery as it is", "set_current", CC_CV, at="in series with the battery",
              interior=True),
        Value("terminal", "V", "across the battery while it is charged", "battery + charge_current·resistance", "Ohm's law",
              at="across the battery, charging", interior=True),
        Value("dissipation", "W", "heat in a linear charger", "(input − terminal)·charge_current", "Joule's law",
              interior=True),
        Value("c_rate", "1/h", "share of the capacity in an hour", "set_current/capacity", "definition of the charge rate"),
        Value("imbalance", "V", "highest less lowest cell", "highest − lowest", "definition", at="across each cell in turn", interior=True),
        Value("trip_current", "A", "at which the protection opens", "trip_voltage/fet_resistance", "Ohm's law"),
        Value("balance_current", "A", "what drains a full cell", "full/(cells·balancer)", "Ohm's law",
              at="volts across the balancing resistor, divided by its ohms"),
    )  # fmt: skip
    helper_units = {"cells": "", "cell_full": "V", "battery": "V", "highest": "V", "lowest": "V"}
    extra_parts = (
        ExtraPart("cell", "cell", "cell"),
        ExtraPart("charger", "chip", "charger", where=lambda x: not x.charger_there),
    )
    danger = {("cell", "short"), ("charger", "short")}
    remarks = {
    ("cell", "open"): "no current flows; the meter sees the charger's own voltage instead of the battery's",
    ("charger", "open"): "nothing is charged",
    ("charger", "short"): "the whole input lies on the cells: fire, unless the protection opens",
    ("program", "open"): "the set current is zero, or the charger reports a fault",
    ("sense", "open"): "no current passes",
    ("balancer", "open"): "that cell is no longer held down as it fills, and drifts from the others",
}  # fmt: skip
    example = {
        "input": "5 V", "battery": "3.7 V", "resistance": "120 mohm", "program": "R2 1k2", "program_factor": "1000 V", "capacity": "2000 mAh",
        "fet_resistance": "50 mohm",
    }  # fmt: skip
    variants = (
        Variant("three cells, sensed current, balancers", {"battery": ["3.9 V", "3.92 V", "3.85 V"],
            "input": "14 V", "program": "", "program_factor": "", "sense": "R3 0R1", "balancer": "R5-R7 62"}),
        Variant("a cell discharged too deeply", {"battery": "2.7 V"}),
        Variant("nearly full: constant voltage", {"battery": "4.19 V", "fet_resistance": ""}),
    )  # fmt: skip

    def solve(self, x: Point) -> Found:
        cell = CHEMISTRIES[x.chemistry]
        cells = charging.stated_cells(x)
        found: Found = {"cells": cells, "cell_full": cell.full, "full": STATED}
        battery = sum(x.each("battery")) if x.battery_count else x.battery
        if x.battery_count > 1:
            found["highest"], found["lowest"] = max(x.each("battery")), min(x.each("battery"))
            found["imbalance"] = STATED
        if x.failed("cell") == "short":
            battery *= (cells - 1) / cells
        found["battery"] = battery
        found |= charging.set_current(x)
        found |= charging.charge(x, battery, cells * cell.full)
        if x.capacity is not None and "set_current" in found:
            found["c_rate"] = STATED
        if x.fet_resistance is not None:
            found["trip_current"] = STATED
        if x.balancer is not None:
            found["balance_current"] = STATED
        return found

    def checks(self, block: Block) -> list[Check]:
        x, found = block.point, []
        given, dropout = block.given("input"), block.given("dropout")
        needed = block.high("full") + dropout.high
        found.append(at_least(block.label("charger"), needed, given.low, "V", "input, to charge full,"))
        if "c_rate" in block.values:
            found.append(within("battery", 1.0, block.high("c_rate"), "1/h", "charged at", "most cells take"))
        found += _cell_checks(block)
        if "imbalance" in block.values:
            volts = block.high("imbalance")
            found.append(within("battery", LARGEST_IMBALANCE, volts, "V", "cells differ by", "at most"))
        part = block.part("program") or block.part("sense")
        if part is None and x.capacity is not None:
            called = block.label("charger")
            found.append(
                worth_saying(called, "neither program nor sense is stated: the charge current is not known")
            )
        return found + _phase_remark(block)

    def remark(self, x: Point, key: str, mode: str) -> str:
        if (key, mode) == ("cell", "short"):
            several = charging.stated_cells(x) > 1
            words = (
                "the charger goes on to the voltage of the full battery and overcharges the other cells: fire"
            )
            return words if several else "nothing to charge: do not try to bring it back"
        return super().remark(x, key, mode)

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        listed = inputs["battery"]
        cells = inputs["cells"]
        if isinstance(listed, list) and cells.text and cells.middle not in (1.0, float(len(listed))):
            what = f"{len(listed)} cells are listed, and {cells.middle:g} are stated"
            return [("cells", what, "leave it out: the list says how many")]
        if inputs["program"] is not None and inputs["program_factor"] is None:
            hint = "volts by which the charger's data sheet divides program, such as 1000 V"
            return [("program_factor", "is not stated", hint)]
        return []

    def wire(self, block: Block, w: Wiring) -> None:
        """The charger as a limit of current and then of volts at the battery; the pack behind its resistance; what sets the
        current, and what drains a full cell while the charger lets it."""
        w.supply("input", "in")
        _wire_charger(block, w)
        w.resistor("program", "_program", "common")
        w.wired.feeds["battery"] = ("battery", "common")
        own = "battery" not in w.fed
        behind = "_charged" if not w.has("sense") else "_sensed"
        lost = _lost(block.point)
        if own:
            cell = block.point.battery if not block.point.battery_count else sum(block.point.each("battery"))
            w.same("battery", behind)
            w.add(Resistor(**w.who("pack", ()), a="_cells_minus", b="common", ohms=exact(lost)))
            cells = charging.stated_cells(block.point)
            wire_cells(w, "battery", "_cells_minus", cells, (cell / cells,) * 3)
        else:
            w.add(Resistor(**w.who("pack", ()), a=behind, b="battery", ohms=exact(lost)))
        w.resistor("balancer", "battery", "_balancer")
        w.volts("terminal", "battery" if own else behind)
        if "charge_current" in block.solved:
            w.amps("charge_current", "pack")

    def plot(self, block: Block) -> curves.Diagram | None:
        """The charging current (A) over the volts of the battery at rest, from cut off to full, and where it is now."""
        x, solved = block.point, block.solved
        top, now = charging.set_value(x), solved.get("charge_current")
        if top is None or now is None:
            return None
        full, cells = solved["full"], charging.stated_cells(x)
        lowest = min(cells * _cut_off(x), solved["battery"])

        def amperes(battery: float) -> float:
            state = charging.phase(battery=battery, full=full, precharge_to=charging.recovers_at(x))
            if state == "full":
                return 0.0
            return charging.charge_limit(
                set_current=top / charging.PRECHARGE_SHARE if state == "precharge" else top,
                battery=battery, full=full, resistance=x.resistance, available=x.input - x.dropout,
            )[0]  # fmt: skip

        if full <= lowest or top <= 0:
            return None
        curve = curves.Curve("current", curves.points(amperes, curves.spaced(lowest, full)))
        marks = (curves.Mark("now", solved["battery"], now),) if lowest <= solved["battery"] <= full else ()
        return curves.Diagram(
            "charging current as the battery fills", ("battery at rest", "V", lowest, full), ("current", "A", 0.0, top),
            (curve,), marks,
        )  # fmt: skip

    def draw(self, block: Block, sheet: Sheet) -> None:
        """The charger on the left with the resistor that sets its current, the cells on the right, the protection below them."""
        cells = charging.stated_cells(block.point)
        sheet.port(-1, 0, [Line("input", "r"), *computed(block, "input")])
        title = [*part_label(block, "charger"), *named(block, "dissipation", "heat")]
        left = {0: "in", 1: "prog"} if _programmed(block) else {0: "in"}
        pins = sheet.box(1, 0, 1, title, left=left, right={0: "bat"}, bottom="common")
        sheet.wire((-1, 0), pins["left 0"])
        sheet.wire(pins["right 0"], (2, 0))
        column = 2
        if block.has("sense"):
            across(block, sheet, "sense", 0, 2, 3, *computed(block, "set_current"))
            column = 3
        common = drawing.draw_cells(block, sheet, column, cells)
        sheet.wire(pins["bottom"], (1, common))
        sheet.port(-1, common, [Line("0 V", "r")])
        sheet.wire((-1, common), (1, common))
        if _programmed(block):
            program = [*part_label(block, "program"), *computed(block, "set_current")]
            sheet.wire(pins["left 1"], (0, 1))
            sheet.down("resistor", 0, 1, common, program, left=True, segment=(1, 2))
            sheet.dot((0, common))
