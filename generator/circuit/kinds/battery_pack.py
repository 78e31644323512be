"""Cells in series: what a meter shows full and empty, what they hold, how long they last."""

from __future__ import annotations

import math

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Kind, Point, Solved, Value, Variant
from generator.circuit.cells import CHEMISTRIES, NAMES, SOURCE, wire_cells
from generator.circuit.inputs import Inputs
from generator.circuit.labels import computed
from generator.circuit.network import Wiring
from generator.circuit.placing import down
from generator.circuit.ratings import worth_saying
from generator.circuit.says import _, measured, number
from generator.circuit.sheet import Line, Sheet
from generator.notation.quantity import Quantity

HOUR = 3600.0  # s


class BatteryPack(Kind):
    title = "Battery"
    group = "Power"
    what = "Cells in series: their voltage full and empty, the energy in them, and how long they last."
    assumes = (
        "All cells alike and new; the capacity holds near the current for which it is stated. In a whole device they "
        "stand above what they show at rest while they are charged, by as much as their chemistry does."
    )
    terminals = ("plus", "minus")
    off_board = True
    load_in_use = True
    cautions = ("lithium",)

    cells = param.Count("how many in series")
    chemistry = param.Choice(NAMES, "of the cells")
    capacity = param.Quantity("Ah", "as stated on the cells")
    load = param.Quantity("A", "current drawn", spread="load")

    values = (
        Value("nominal", "V", "what is printed on it; it lies between empty and full", "cells·cell_nominal", SOURCE,
              at="across the pack, half charged"),
        Value("full", "V", "just off the charger, or fresh, without load", "cells·cell_full", SOURCE,
              at="across the pack, full"),
        Value("empty", "V", "where it is to be switched off, under load", "cells·cell_empty", SOURCE,
              at="across the pack, empty, under load"),
        Value("energy", "Wh", "stored when full", "cells·cell_stated·capacity", "energy = voltage × charge"),
        Value("runtime", "s", "from full to empty at the load", "capacity·hour/load",
              "charge = current × time", at="with a watch"),
    )  # fmt: skip
    helper_units = {"cell_nominal": "V", "cell_stated": "V", "cell_full": "V", "cell_empty": "V", "hour": "s"}
    extra_parts = (ExtraPart("cell", "cell", "one cell"),)
    example = {"cells": "3", "chemistry": "li-ion", "capacity": "2.5 Ah", "load": "500 mA"}
    variants = (
        Variant("one alkaline cell", {"cells": "1", "chemistry": "alkaline"}),
        Variant("a lead-acid battery", {"cells": "6", "chemistry": "lead-acid"}),
    )

    def solve(self, x: Point) -> Solved:
        cell = CHEMISTRIES[x.chemistry]
        working = {"open": 0, "short": x.cells - 1}.get(x.failed("cell"), x.cells)
        away = cell.full - cell.nominal if x.charge > 0 else cell.nominal - cell.empty
        found = {
            "cells": working, "cell_nominal": cell.nominal + x.charge * away, "cell_full": cell.full,
            "cell_empty": cell.empty, "cell_stated": cell.nominal, "hour": HOUR,
        }  # fmt: skip
        if not working:
            return {**found, "runtime": 0.0}
        return found if x.load > 0 else {**found, "runtime": math.inf}

    def more_inputs(self, inputs: Inputs) -> None:
        """How full it is: from −1, empty, over the nominal voltage to 1, full."""
        inputs.add("charge", Quantity(0.0, -1.0, 1.0, ""), "")

    def checks(self, block: Block) -> list[Check]:
        load, capacity = block.given("load"), block.given("capacity")
        found = []
        rate = load.high / capacity.low
        if rate > 1:
            what = _(
                "discharged at %(rate)s C: less capacity and a shorter runtime than stated, unless it is made for high currents"
            )
            found.append(worth_saying("battery", what % {"rate": number(f"{rate:.1f}")}))
        return found

    def remark(self, x: Point, key: str, mode: str) -> str:
        if mode == "open":
            return "no current at all; each cell alone still shows its voltage"
        if CHEMISTRIES[x.chemistry].lithium:
            return "never charge it: the charger would drive the other cells beyond full"
        return "one cell's voltage is missing"

    def wire(self, block: Block, w: Wiring) -> None:
        """One cell, which can fail by itself, and the others on top of it; the pack's minus is a common."""
        cell = CHEMISTRIES[block.point.chemistry]
        volts = cell.nominal, cell.empty, cell.full
        wire_cells(w, "plus", "minus", int(block.point.cells), volts, cell.inner, cell)
        w.same("common", "minus")
        w.load("load", "plus", "minus")
        w.volts("nominal", "plus", "minus", put=(("load", "amperes", 0.0),))

    def draw(self, block: Block, sheet: Sheet) -> None:
        cells = int(block.point.cells)
        cell = f"{cells} × {block.point.chemistry}"
        capacity = measured(block.point.capacity, "Ah", trim=True)
        label = [Line("battery", "r"), Line(cell), Line(capacity)]
        sheet.down("cell" if cells == 1 else "battery", 0, 0, 1, label, left=True)
        sheet.tag(0, *computed(block, "full", "empty"))
        sheet.wire((0, 0), (1, 0))
        sheet.wire((0, 1), (1, 1))
        down(block, sheet, "load", 1, 0, 1)
        sheet.dot((1, 0), (1, 1))
        for row, name in ((0, "+"), (1, "0 V")):
            sheet.wire((1, row), (2, row))
            sheet.port(
                2, row, [Line(name, "r"), *(computed(block, "nominal") if row == 0 else [])], right=True
            )

    def dangerous(self, x: Point) -> set[tuple[str, str]]:
        return {("cell", "short")} if CHEMISTRIES[x.chemistry].lithium else set()

    def cautions_at(self, x: Point) -> tuple[str, ...]:
        return ("lithium",) if CHEMISTRIES[x.chemistry].lithium else ()
