"""What capacitors from the mains to earth or to the case let through, and how much of it is allowed."""

from __future__ import annotations

from collections.abc import Sequence

from generator.circuit.block import Block, Check, Found
from generator.circuit.point import Point
from generator.circuit.ratings import within
from generator.circuit.says import _
from generator.notation.parts import Part

SOURCE = "capacitor's current at mains frequency: AC circuit theory"
# A. IEC 60335-1, clauses 13.2 and 16.2: portable class I 0.75 mA, class II 0.25 mA; stationary class I motor-operated
# appliances 3.5 mA. From memory, and the same figures from a second memory of EN 50678's tables: check your edition.
LIMITS = {"I": 0.75e-3, "II": 0.25e-3}
STATIONARY = 3.5e-3
_NEUTRAL = {"neutral", "n"}


def at_neutral(words: Sequence[str]) -> bool:
    """Whether a capacitor's words say that it lies at neutral."""
    return any(word.lower() in _NEUTRAL for word in words)


def says_its_line(part: Part) -> bool:
    """Whether a capacitor's words say at which line it lies."""
    return any(word.lower() in {*_NEUTRAL, "live", "line", "l"} for word in part.words)


def y_values(x: Point) -> Found:
    """Sums of the Y capacitors at each line, in F; their values are absent where one has shorted or there is none.

    The larger side counts, for most plugs go in both ways round; the other side is at the neutral and sees no voltage.
    """
    names = ("earth_leakage", "earth_leakage_neutral_open", "case_voltage_unearthed")
    farads = x.each("y_capacitors")
    if not farads or any(x.failed(f"y_capacitors_{i}") == "short" for i in range(len(farads))):
        return dict.fromkeys(names, None)
    sides = [0.0, 0.0]
    for each, words in zip(farads, x.y_capacitors_words):
        sides[at_neutral(words)] += each
    found: Found = {"y_live": sides[0], "y_neutral": sides[1], "y_largest": max(sides)}
    if sum(sides) == 0:
        found["case_voltage_unearthed"] = 0.0
    return found


def leakage_checks(block: Block, top: float) -> list[Check]:
    """The leakage at maximum mains against the limit of its protection class, and each capacitor's own volts."""
    found = [
        within(part.name("Y capacitor"), part.ratings["V"], top, "V", "sees, at maximum mains,")
        for part in block.inputs["y_capacitors"] or ()
        if "V" in part.ratings
    ]
    supply = block.quantity("supply")
    if "earth_leakage" not in block.values or supply is None:
        return found
    leak = block.high("earth_leakage") * max(1.0, top / supply.high)
    appliance = str(block.point.__dict__.get("class") or "I")
    limit = LIMITS[appliance]
    held = within("Y capacitors", limit, leak, "A", "leak to earth, at maximum mains,", "allowed")
    if not held.ok and appliance == "I" and leak <= STATIONARY:
        text = _("%(held)s in a portable appliance; a stationary one of class I may leak 3.5 mA") % {
            "held": held.what
        }
        held = Check(held.part, text, False, held.margin)
    return [*found, held]
