"""A battery charged from a supply through nothing but a resistor."""

from __future__ import annotations

import math

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.cells import CHEMISTRIES, NAMES, cells_behind, lithium_cells, wire_cells
from generator.circuit.labels import computed
from generator.circuit.network import Wiring
from generator.circuit.placing import across
from generator.circuit.ratings import rating, within, worth_saying
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet


def _safe_for(block: Block, supply: float, battery: float) -> Check:
    """Whether this chemistry may be charged so: lithium up to its full voltage, others up to a rate, primary cells never."""
    name = str(block.point.chemistry)
    cell = CHEMISTRIES[name]
    if cell.lithium:
        cells = cells_behind(battery, cell)
        if supply <= cells * cell.full:
            what = _("for %(name)s, taken as %(cells)s in series, the supply is") % {
                "name": name,
                "cells": cells,
            }
        else:
            what = _(
                "must not charge %(name)s through a bare resistor: taken as %(cells)s in series, the supply is"
            ) % {"name": name, "cells": cells}
        return within("battery", cells * cell.full, supply, "V", what, "full at")
    if not cell.charge_rate:
        return Check(
            "battery", _("%(name)s cells must not be charged: they leak or burst") % {"name": name}, False
        )
    rate = block.high("c_rate")
    if block.point.capacity is None:
        return worth_saying("battery", "state the capacity to have the charge rate checked")
    allowed = _("for %(name)s without supervision") % {"name": name}
    return within("battery", cell.charge_rate, rate, "1/h", "charged at", allowed)


class ChargeResistor(Kind):
    title = "Charging resistor"
    group = "Power"
    what = "A battery charged from a supply through nothing but a resistor, as in shavers, torches and toys."
    assumes = "A steady supply; the current falls as the battery's voltage rises. Nothing ends the charge."
    terminals = ("in", "out", "common")
    cautions = ("lithium",)

    supply = param.Quantity("V", "what it charges from")
    battery = param.Quantity("V", "voltage of the battery while it charges")
    resistor = param.Part("resistor", "the resistor between them", role="charging resistor")
    capacity = param.Quantity("Ah", "of the battery", default=None)
    chemistry = param.Choice(NAMES, "of its cells", default=None)

    values = (
        Value("current", "A", "charging current at that battery voltage", "(supply − battery)/resistor",
              "Ohm's law", at="in series with the battery"),
        Value("resistor_power", "W", "heat in the resistor", "current²·resistor", "Joule's law"),
        Value("c_rate", "1/h", "current as a share of the capacity", "current/capacity",
              "definition (IEC 61951: I_t)"),
    )  # fmt: skip
    extra_parts = (ExtraPart("cell", "cell", "a cell of the battery"),)
    remarks = {("cell", "short"): "the resistor takes the missing cell's voltage as well and gets hotter"}
    example = {
        "supply": "6 V", "battery": "2.8 V", "resistor": "R1 22 1W", "capacity": "1.8 Ah",
        "chemistry": "ni-mh",
    }  # fmt: skip
    variants = (Variant("capacity and chemistry not known", {"capacity": "", "chemistry": ""}),)

    def solve(self, x: Point) -> Solved:
        battery = x.battery
        if x.failed("cell") == "short":
            cells = cells_behind(battery, CHEMISTRIES[x.chemistry]) if x.chemistry else 1
            battery *= (cells - 1) / cells
        if x.failed("cell") == "open" or battery >= x.supply or math.isinf(x.resistor):
            return {"current": Formula("0"), "resistor_power": Formula("0")}
        return {"battery": battery}

    def checks(self, block: Block) -> list[Check]:
        supply, battery = block.given("supply"), block.given("battery")
        found = rating(block, "resistor", "W", block.high("resistor_power"), "dissipates")
        found += rating(block, "resistor", "V", max(0.0, supply.high - battery.low), "sees")
        if supply.low <= battery.high:
            values = {
                "supply": measured(supply.low, "V", trim=True),
                "battery": measured(battery.high, "V", trim=True),
            }
            if block.solved["current"]:
                what = (
                    _("may not charge: in the worst case %(supply)s is not above the battery's %(battery)s")
                    % values
                )
            else:
                what = _("%(supply)s is not above the battery's %(battery)s: it does not charge") % values
            found.append(Check("supply", what, False, (supply.low - battery.high) / battery.high, least=True))
        if not block.point.chemistry and (cells := lithium_cells(battery.middle)):
            what = _(
                "%(volts)s may be lithium, %(cells)s in series, which must not be charged through a bare resistor: state the chemistry"
            )
            taken = {"volts": measured(battery.middle, "V", trim=True), "cells": cells}
            found.append(worth_saying("battery", what % taken))
        if block.point.chemistry:
            found.append(_safe_for(block, supply.high, battery.high))
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """The resistor from the supply to the battery's plus; the battery, unless a block of its own is joined there."""
        w.supply("supply", "in")
        w.resistor("resistor", "in", "out")
        w.wired.feeds["battery"] = ("out", "common")
        if "battery" not in w.fed:
            volts, chemistry = block.point.battery, block.point.chemistry
            cells = cells_behind(volts, CHEMISTRIES[chemistry]) if chemistry else 1
            wire_cells(w, "out", "common", cells, (volts / cells,) * 3)
        w.amps("current", "resistor")

    def draw(self, block: Block, sheet: Sheet) -> None:
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        sheet.port(0, 1, [Line("0 V", "r")])
        across(block, sheet, "resistor", 0, 0, 1)
        sheet.tag(1, *computed(block, "current", "c_rate"))
        given = [Line("battery", "r"), *(Line(line.text) for line in computed(block, "battery"))]
        if block.point.chemistry:
            given.append(Line(str(block.point.chemistry)))
        if block.quantity("capacity"):
            given += [Line(line.text) for line in computed(block, "capacity")]
        sheet.down("battery", 1, 0, 1, given)
        sheet.wire((0, 1), (1, 1))

    def cautions_at(self, x: Point) -> tuple[str, ...]:
        return ("lithium",) if x.chemistry and CHEMISTRIES[x.chemistry].lithium else ()
