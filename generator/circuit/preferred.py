"""A remark for each part whose value is in no E series: perhaps a misread band."""

from __future__ import annotations

from collections.abc import Iterable

from generator.circuit.says import _, measured
from generator.circuit.value import Check
from generator.notation.parts import Part
from generator.notation.preferred import nearest_preferred

SHUNTS_BELOW = 0.1  # ohm; they come as 5, 10, 20, 50 mΩ
# F; film capacitors for motors come as 1, 2, 4, 5, 6, 8, 10 µF (makers' lists, from memory)
FROM_ONE_MICROFARAD = 1e-6


def _made_in_round_values(part: Part, value: float) -> bool:
    """Whether parts of this sort are made in round values, in no E series: shunts, run capacitors."""
    if part.part_class == "resistor":
        return value < SHUNTS_BELOW
    return value >= FROM_ONE_MICROFARAD and value * 1e6 == round(value * 1e6) and value < 1e-4


def unusual_values(parts: Iterable[tuple[str, Part]]) -> list[Check]:
    """A remark for each resistor or capacitor whose value is not preferred. parts: what it is called, and the part."""
    remarks = []
    for called, part in parts:
        if part.part_class not in ("resistor", "capacitor") or part.value is None or part.value.value is None:
            continue
        value = part.value.value
        if _made_in_round_values(part, value):
            continue
        near = nearest_preferred(value)
        if near != value:
            shown, better = (measured(v, part.value.unit, 4, trim=True) for v in (value, near))
            text = _("%(value)s is not a preferred value: %(better)s?") % {"value": shown, "better": better}
            remarks.append(Check(called, text, True, None, True))
    return remarks
