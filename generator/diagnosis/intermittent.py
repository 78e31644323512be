"""Two readings of one place that contradict each other, and what explains both by being broken at one time and not at the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from generator.diagnosis.naming import part_name
from generator.language import _

if TYPE_CHECKING:
    from generator.diagnosis.hypotheses import Change
    from generator.diagnosis.judging import Fit, Judgement

WEARS = frozenset({"contact", "switch", "pin", "fuse", "thermal fuse", "potentiometer"})
CELLS, NO_PART = frozenset({"cell", "pack"}), frozenset({"source", "mains", "load", "chip's current"})
BREAKS = ("open", "high resistance")  # what a contact or a joint does that is moved or gets warm


def comes_and_goes(judgement: Judgement, first: int, second: int) -> list[str]:
    """The parts that explain both readings (positions in `judged`), contacts and connectors before joints. Each other reading has to
    be that of one condition or the other."""
    places = [n for n, judged in enumerate(judgement.judged) if judged.fitted]
    sound = next((fit for fit in judgement.fits if fit.sound and not fit.change.pressed[0]), None)
    if sound is None or not {first, second} <= {*places}:
        return []
    pair = places.index(first), places.index(second)
    found: dict[str, bool] = {}
    for fit in judgement.fits:
        if (
            fit.change.mode not in BREAKS
            or fit.change.part_class in NO_PART
            or fit.change.also is not None
            or fit.change.pressed[0]
        ):
            continue
        each = [(_shows(judgement, sound, n), _shows(judgement, fit, n)) for n in range(len(places))]
        one, other = each[pair[0]], each[pair[1]]
        if all(map(any, each)) and (one[0] and other[1] or one[1] and other[0]):
            wears = fit.change.part_class in WEARS
            found.setdefault(_what_moves(fit.change), wears)
    return sorted(found, key=lambda name: not found[name])


def _what_moves(change: Change) -> str:
    """What of a part breaks and holds again."""
    if change.part_class in CELLS:
        return _("a contact of the battery")
    name = part_name(change)
    return name if change.part_class in WEARS else _("a joint of %(part)s") % {"part": name}


def _shows(judgement: Judgement, fit: Fit, position: int) -> bool:
    """Whether a reading is what the meter shows under a failure."""
    shown, expected = judgement.fitted[position].shown, fit.expected[position]
    if shown is None or expected is None:
        return False
    return shown.high >= expected[0] and shown.low <= expected[1]
