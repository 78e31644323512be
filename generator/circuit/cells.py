"""One cell of each common chemistry (its volts, its inside, how fast it may be charged), and cells in series in the network."""

from __future__ import annotations

import math
from dataclasses import dataclass

from generator.circuit.network import Wiring
from generator.circuit.network.charging import OnCharge
from generator.circuit.network.element import Number, Worn, fixed
from generator.circuit.network.sources import Source


@dataclass(frozen=True)
class Chemistry:
    """Volts of one cell: nominal; full, as a meter shows just off the charger (primary cells: fresh); empty, under load.

    inner: ohm of one cell at most, new, the size that household devices have, with its contacts (from memory).
    on_charge: V by which it stands above its volts at rest while it is charged, usually and at most.
    lithium: needs a charger that ends at a voltage. charge_rate: highest current through a bare resistor, as a share of
    the capacity an hour; 0 for cells that are not to be charged.
    """

    nominal: float
    full: float
    empty: float
    charge_rate: float
    inner: float
    source: str
    on_charge: tuple[float, float] = (0.0, 0.0)
    lithium: bool = False


CHEMISTRIES = {
    "li-ion": Chemistry(3.7, 4.2, 3.0, 0.0, 0.15, "typical cell data sheets; nominal 3.6 or 3.7 V as in IEC 61960 (from memory)", (0.1, 0.2), True),
    "li-fe-po4": Chemistry(3.2, 3.65, 2.5, 0.0, 0.1, "typical cell data sheets (from memory)", (0.1, 0.2), True),
    "ni-mh": Chemistry(1.2, 1.4, 1.0, 0.1, 0.1, "IEC 61951-2: discharged to 1.0 V, charged at a tenth for 16 h; 1.4 to 1.5 V on charge (from memory)", (0.1, 0.15)),
    "ni-cd": Chemistry(1.2, 1.4, 1.0, 0.1, 0.1, "IEC 61951-1: discharged to 1.0 V, charged at a tenth for 16 h; 1.4 to 1.5 V on charge (from memory)", (0.1, 0.15)),
    "alkaline": Chemistry(1.5, 1.6, 0.9, 0.0, 0.3, "IEC 60086-2: end point 0.9 V in most discharge tests (from memory)"),
    "lead-acid": Chemistry(2.0, 2.13, 1.75, 0.25, 0.03, "rested and full 12.8 V, discharged 10.5 V for six cells; 2.2 to 2.4 V a cell on charge (common practice, no source)", (0.15, 0.27)),
}  # fmt: skip
NAMES = tuple(CHEMISTRIES)
SOURCE = "volts a cell from memory of standards and data sheets: " + "; ".join(
    f"{name} {c.nominal:g}, {c.full:g}, {c.empty:g} V" for name, c in CHEMISTRIES.items()
)


def cells_behind(voltage: float, chemistry: Chemistry) -> int:
    """How many cells in series a battery voltage means: the fewest that can show it."""
    return max(1, math.ceil(voltage / chemistry.full - 1e-9))


def wire_cells(
    w: Wiring, plus: str, minus: str, cells: int, volts: tuple[float, float, float], inner: float = 0.0,
    chemistry: Chemistry | None = None,
) -> None:  # fmt: skip
    """Cells in series between two nets: one that can fail by itself, the others on top of it.

    volts: of one cell, nominal, empty, full; how full they are is one axis for all of them. inner: ohm of one at most.
    chemistry: says what they stand above these on charge; None where they are already the volts of cells that are being charged.
    """
    nominal, empty, full = volts

    def of(count: int) -> Number:
        ends = ((w.net("charge"), count * empty, count * full),) if empty < full else ()
        return Number(count * nominal, ends)

    def ohms(count: int) -> Number:
        return Number(count * inner / 2, ((w.net("inner"), 0.0, count * inner),) if inner else ())

    flat: dict[str, Worn] = {
        "dead": fixed(volts=0.0),
        "low": lambda p, size: {"volts": p["volts"] * (size or 0.7)},
    }
    own = {"cells": (str(w.who("cells")["called"]), flat)} if cells > 1 else {}

    usual, most = (cells * above for above in (chemistry.on_charge if chemistry else (0.0, 0.0)))
    if chemistry and most:
        above = Number(usual, ((w.net("on_charge"), 0.0, most),))
        who = {**w.who("on_charge", ()), "called": ""}  # it is nothing that people find
        w.add(OnCharge(**who, plus=plus, rest="_rest", volts=above, lasts=not chemistry.lithium))
        plus = "_rest"
    between = "_cells" if cells > 1 else plus
    w.add(Source(**w.who("cell"), plus=between, minus=minus, volts=of(1), ohms=ohms(1), wear=own))
    if cells > 1:
        w.add(
            Source(**w.who("cells", ()), plus=plus, minus=between, volts=of(cells - 1), ohms=ohms(cells - 1))
        )


def lithium_cells(voltage: float) -> int:
    """How many lithium cells in series a voltage may mean; 0 where it lies between what one number and the next can show.

    By the voltages empty and full of CHEMISTRIES; up to ten cells, as in tools and bicycles.
    """
    lithium = [chemistry for chemistry in CHEMISTRIES.values() if chemistry.lithium]
    counts = (n for n in range(1, 11) if any(n * c.empty <= voltage <= n * c.full for c in lithium))
    return next(counts, 0)
