"""A series motor with brushes on the mains: drills, blenders, vacuum cleaners, sewing machines."""

from __future__ import annotations

import math
from collections.abc import Callable

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Kind, Point, Value, Variant
from generator.circuit.formula import STATED, Formula, Found
from generator.circuit.hazards import EXTRA_LOW_AC
from generator.circuit.labels import computed, label_of, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.element import exact
from generator.circuit.network.passive import Resistor
from generator.circuit.ratings import rating, within
from generator.circuit.sheet import Line, Sheet

SERIES = "the series motor's equivalent circuit: resistance, inductance and back EMF in series"


def _before(fields: int) -> int:
    """How many of the field windings lie before the armature."""
    return (fields + 1) // 2


def _turning(block: Block) -> Callable[[Point], float]:
    """What brushes and back EMF come to with the current in phase, ohm: what is missing to supply/running_current."""
    volts, windings = block.point.supply, block.solved["resistance"]

    def turning(x: Point) -> float:
        reactance = 2 * math.pi * x.f * x.inductance
        impedance = volts / x.running_current
        return float(math.sqrt(max(0.0, impedance**2 - reactance**2)) - windings)

    return lambda x: max(0.0, turning(x))


class UniversalMotor(Kind):
    title = "Universal motor"
    group = "Driving"
    by_regime = True
    earthed = "frame"
    what = "A series motor with brushes, on the mains: drills, blenders, vacuum cleaners, sewing machines."
    assumes = (
        "Sinusoidal quantities, and the back EMF in phase with the current. Windings are read cold; a warm one has up to a "
        "third more. An ohmmeter on the armature depends on where the brushes stand: turn the shaft and read again. "
        "In a device it turns: at other volts than the supply its current is in proportion."
    )
    terminals = ("live", "neutral")
    cautions = ("mains",)

    supply = param.Quantity("V", "the mains", default=param.MAINS)
    fields = param.Parts(
        "winding",
        "the field windings, such as [L1 4R2, L2 4R2]",
        role="field winding",
        modes=("open", "short"),
    )
    armature = param.Part("winding", "ohms from brush to brush, such as M1 6R")
    running_current = param.Quantity("A", "what it draws while it runs", spread="running current")
    inductance = param.Quantity("H", "of all windings in series", default="0 H", zero=True)
    brush_drop = param.Quantity(
        "V", "across both brushes together", default=param.Unstated("2 V", "brushes"), zero=True
    )
    f = param.Quantity(
        "Hz", "mains frequency; 0 is not taken: on DC leave the inductance out", default=param.FREQUENCY
    )

    values = (
        Value("resistance", "ohm", "from end to end of the motor", "field + armature", "resistances in series",
              at="across the motor, plug out, switch on", cold=True),
        Value("stall_current", "A", "at standstill, as it is switched on", "supply/√(resistance² + X²)", SERIES,
              at="clamp meter around one wire, as it starts", hazard="mains"),
        Value("power_factor", "", "while it runs", "√(1 − (running_current·X/supply)²)", SERIES, at="plug-in power meter", interior=True),
        Value("input_power", "W", "what it takes while it runs", "supply·running_current·power_factor", SERIES,
              at="plug-in power meter", interior=True),
        Value("back_emf", "V", "what the turning armature generates against the supply, RMS",
              "supply·power_factor − running_current·resistance − brush_drop", SERIES, interior=True),
        Value("copper_power", "W", "heat in the windings", "running_current²·resistance", "Joule's law", interior=True),
    )  # fmt: skip
    helper_units = {"X": "ohm", "field": "ohm"}
    extra_parts = (ExtraPart("brushes", "brush", "brushes"),)
    remarks = {
        ("brushes", ""): "worn down or stuck: nothing flows; often it starts again after a knock",
        ("armature", ""): "one open coil of the armature: bad sparking, two bars of the commutator burnt; all of it open is rare",
        ("fields", "short"): "less field: it draws more, runs hot and sparks",
        ("fields", ""): "nothing flows",
    }  # fmt: skip
    example = {
        "fields": ["L1 4R2", "L2 4R2"], "armature": "M1 6R5", "running_current": "2.6 A", "inductance": "90 mH",
    }  # fmt: skip
    variants = (
        Variant("one field winding", {"fields": ["L1 8R"], "inductance": ""}),
        Variant("four field windings at 120 V", {"fields": ["L1 4R", "L2 4R", "L3 2R", "L4 2R"],
            "supply": "120 V", "f": "60 Hz", "inductance": "12 mH", "running_current": "4 A"}),
    )  # fmt: skip

    def solve(self, x: Point) -> Found:
        gone = {"open": math.inf, "short": 0.0}
        fields = [gone.get(x.failed(f"fields_{i}"), ohms) for i, ohms in enumerate(x.each("fields"))]
        cut = math.inf in fields or x.failed("armature") == "open" or x.failed("brushes") == "open"
        if cut:  # nothing flows, and an ohmmeter shows no resistance from end to end
            return {"stall_current": 0.0, "input_power": 0.0, "copper_power": 0.0}
        found: Found = {"X": Formula("2·π·f·inductance"), "field": sum(fields), "resistance": STATED}
        stalled = "√(resistance² + X²)" if x.inductance else "resistance"
        found["stall_current"] = Formula(f"supply/{stalled}")
        if any(x.failed(f"fields_{i}") == "short" for i in range(len(fields))):
            return found  # it runs with a current that nobody has stated
        reactive = x.running_current * 2 * math.pi * x.f * x.inductance / x.supply
        if not x.inductance:
            found["power_factor"] = 1.0
        else:
            found["power_factor"] = STATED if reactive < 1 else 0.0
        found["input_power"] = STATED
        found["back_emf"] = Formula("max(supply·power_factor − running_current·resistance − brush_drop, 0)")
        found["copper_power"] = STATED
        return found

    def checks(self, block: Block) -> list[Check]:
        running, called = block.given("running_current"), block.label("armature")
        stalled = block.low("stall_current")
        below = within(called, stalled, running.high, "A", "said to draw, running,", "stalled it draws")
        found = [below] if below.ok else [Check(below.part, below.what, False, below.margin)]
        found += rating(block, "armature", "A", running.high, "carries")
        for part in block.inputs["fields"]:
            if "A" in part.ratings:
                found.append(
                    within(part.name("field winding"), part.ratings["A"], running.high, "A", "carries")
                )
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """All in series from live to neutral, the fields before and behind the armature. With the plug in it turns: what the
        back EMF comes to lets no more than the running current through at the supply."""
        w.supply("supply", "live", "neutral", ac=True)
        w.common("neutral", mains=True)
        before = _before(block.point.fields_count)
        last = "live"
        for position in range(before):
            key = f"fields_{position}"
            w.add(Resistor(**w.who(key), a=last, b=f"_{key}", ohms=w.number(key, "winding"), ac=True))
            last = f"_{key}"
        w.add(Resistor(**w.who("brushes"), a=last, b="_brush", ohms=exact(0.0), ac=True))
        behind = [f"fields_{position}" for position in range(before, block.point.fields_count)][::-1]
        ends = [*(f"_{key}" for key in behind), "neutral"]
        henries = w.number("inductance", "motor inductance")
        w.winding(
            "armature", "_brush", ends[0], spread="brushed", henries=henries, turning=_turning(block), ac=True
        )
        for key, a, b in zip(behind, ends, ends[1:]):
            w.add(Resistor(**w.who(key), a=a, b=b, ohms=w.number(key, "winding"), ac=True))
        w.ohms("resistance", "live", "neutral")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """From live through the first field to the armature and back through the others to neutral: all in series."""
        fields = block.inputs["fields"]
        sheet.port(0, 0, [Line("L", "r"), *computed(block, "supply")])
        armature = [*part_label(block, "armature"), *named(block, "back_emf"), *named(block, "stall_current")]
        before = _before(len(fields))
        column = 0
        for part in fields[:before]:
            sheet.across("inductor", 0, column, column + 1, label_of(part, "field winding"))
            column += 1
        rest = fields[before:]
        last = max(column, len(rest))
        sheet.wire((column, 0), (last, 0))
        sheet.down("motor", last, 0, 1, armature)
        for offset, part in enumerate(rest):
            sheet.across("inductor", 1, offset, offset + 1, label_of(part, "field winding"), below=True)
        sheet.wire((len(rest), 1), (last, 1))
        sheet.port(0, 1, [Line("N", "r")])

    def cautions_at(self, x: Point) -> tuple[str, ...]:
        return self.cautions if x.supply > EXTRA_LOW_AC else ()
