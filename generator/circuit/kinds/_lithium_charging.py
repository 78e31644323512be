"""How a charger for lithium cells charges: its phase, what limits it, and what comes of a failed part."""

from __future__ import annotations

from collections.abc import Mapping

from generator.circuit.block import Point
from generator.circuit.cells import CHEMISTRIES
from generator.circuit.formula import STATED, Formula, Found

# a deeply discharged cell gets a tenth of the set current first (charger data sheets, from memory)
PRECHARGE_SHARE = 10


# V a cell at which protection cuts off: data sheets of one-cell protection chips, from memory
OVER_DISCHARGE = {"li-ion": 2.5, "li-fe-po4": 2.0}


OVER_CHARGE = {"li-ion": 4.28, "li-fe-po4": 3.75}


def phase(*, battery: float, full: float, precharge_to: float) -> str:
    """In which phase a charger is: "full", "precharge" or "charge". All in V, of the whole battery at rest."""
    if battery >= full:
        return "full"
    return "precharge" if battery < precharge_to else "charge"


def charge_limit(
    *, set_current: float, battery: float, full: float, resistance: float, available: float
) -> tuple[float, str]:
    """Amperes into the battery above precharge, and what holds them there: "current", "voltage" or "input".

    set_current: A; battery, full: V, of the whole battery at rest and full; resistance: ohm, of the pack; available: V, the
    input less the charger's dropout. The least of set_current, (full − battery)/resistance and (available −
    battery)/resistance, at least 0: constant current until the terminals reach full, then constant voltage. Source:
    charger data sheets, Ohm's law.
    """
    limits = [(set_current, "current")]
    for volts, name in ((full, "voltage"), (available, "input")):
        if volts <= battery:
            limits.append((0.0, name))
        elif resistance > 0:
            limits.append(((volts - battery) / resistance, name))
    return min(limits)


def stated_cells(x: Point) -> int:
    """How many cells in series: as many as the battery's volts are listed of, else as stated."""
    return int(x.battery_count or x.cells)


def recovers_at(x: Point) -> float:
    """V of the whole battery, below which only a tenth flows."""
    empty = CHEMISTRIES[x.chemistry].empty if x.precharge_below is None else x.precharge_below
    return float(stated_cells(x) * empty)


def set_current(x: Point) -> Found:
    """What sets the charge current: the program resistor, else the sense resistor; nothing where neither is stated."""
    if x.program is not None and x.program_factor is not None:
        return {"set_current": STATED}
    return {"set_current": Formula("sense_voltage/sense")} if x.sense is not None else {}


def charge(x: Point, battery: float, full: float) -> Found:
    """Current, terminal voltage and heat in the phase in which the charger is."""
    if x.failed("charger") == "short":
        return _straight_through(x, battery)
    if x.failed("cell") == "open":
        reaches = "full" if full <= x.input - x.dropout else "max(input − dropout, 0)"
        return {"charge_current": 0.0, "terminal": Formula(reaches), "dissipation": 0.0}
    state = phase(battery=battery, full=full, precharge_to=recovers_at(x))
    current: float | Formula | None = None
    if state == "full" or x.failed("charger") == "open":
        current = 0.0
    elif (top := set_value(x)) is not None:
        most, held = charge_limit(
            set_current=top / PRECHARGE_SHARE if state == "precharge" else top,
            battery=battery, full=full, resistance=x.resistance, available=x.input - x.dropout,
        )  # fmt: skip
        first = f"set_current/{PRECHARGE_SHARE}" if state == "precharge" else "set_current"
        words = {
            "current": first,
            "voltage": "(full − battery)/resistance",
            "input": "(input − dropout − battery)/resistance",
        }
        current = Formula(words[held]) if most > 0 else 0.0
    if current is None:
        return {}
    found: Found = {"charge_current": current, "terminal": STATED}
    found["dissipation"] = STATED if current != 0.0 else 0.0
    return found


def set_value(x: Point) -> float | None:
    """The same in A, None where nothing sets it."""
    if x.program is not None and x.program_factor is not None:
        return float(x.program_factor / x.program)
    return float(x.sense_voltage / x.sense) if x.sense is not None else None


def _straight_through(x: Point, battery: float) -> Found:
    """A shorted charger: the input lies on the battery, and only its resistance limits."""
    found: Found = {"terminal": Formula("input")}
    if x.resistance > 0:
        found["charge_current"] = Formula("(input − battery)/resistance") if x.input > battery else 0.0
    return found


def held_to(x: Point, found: Mapping[str, float]) -> float:
    """Amperes that the charger allows in the phase in which the battery is."""
    top = set_value(x) or 0.0
    state = phase(battery=found["battery"], full=found["full"], precharge_to=recovers_at(x))
    return top / PRECHARGE_SHARE if state == "precharge" else top
