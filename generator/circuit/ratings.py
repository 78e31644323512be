"""Rating checks that many kinds share: voltage, power and current of a part."""

from __future__ import annotations

from generator.circuit.block import Block, Check
from generator.circuit.says import _, measured

ROUNDING = 1e-9  # of a limit: what sums of decimal fractions are off by (3 · 4.2 V + 0.3 V is just 12.9 V)


def margin(limit: float, actual: float) -> float:
    """The share of the limit left over: 0.25 where a quarter is in hand, below 0 where it is exceeded."""
    return (limit - actual) / limit


def highest(block: Block, name: str) -> float:
    """The highest that a stated value may be; 0 where it is not stated."""
    given = block.quantity(name)
    return given.high if given else 0.0


def within(part: str, limit: float, actual: float, unit: str, what: str, limit_is: str = "rated") -> Check:
    """actual held against a limit that it must not pass: "sees 19.3 V at maximum mains, rated 35 V"."""
    left = margin(limit, actual)
    held = actual <= limit + ROUNDING * abs(limit)
    return Check(part, _held(what, actual, limit_is, limit, unit), held, max(0.0, left) if held else left)


def at_least(part: str, least: float, actual: float, unit: str, what: str, least_is: str = "needs") -> Check:
    """actual held against a least value: "headroom 1.4 V, needs 2 V". margin: the share by which it is above it."""
    left = (actual - least) / least if least else None
    held = actual >= least - ROUNDING * abs(least)
    if left is not None and held:
        left = max(0.0, left)
    return Check(part, _held(what, actual, least_is, least, unit), held, left, least=True)


def worth_saying(part: str, what: str) -> Check:
    """A remark among the checks: no rating, and nothing that fails."""
    return Check(part, what, True, remark=True)


def _held(what: str, actual: float, limit_is: str, limit: float, unit: str) -> str:
    values = {
        "what": _(what), "actual": measured(actual, unit),
        "limit_is": _(limit_is), "limit": measured(limit, unit, trim=True),
    }  # fmt: skip
    return _("%(what)s %(actual)s, %(limit_is)s %(limit)s") % values


def rating(block: Block, param: str, unit: str, actual: float, what: str) -> list[Check]:
    """A stated rating of the part behind a parameter against what it sees; nothing where none is stated. A contact's value is
    the current that it is rated for."""
    part = block.part(param)
    if part is None:
        return []
    own = part.value.middle if part.part_class == "contact" and part.value and unit == "A" else None
    limit = part.ratings.get(unit, own)
    return [] if limit is None else [within(block.label(param), limit, actual, unit, what)]


def load_ratings(block: Block, volts: float, peak: float | None = None) -> list[Check]:
    """The stated power and voltage of a load resistor against what it gets, at the most.

    volts: RMS across it, or the mean where it hardly ripples; peak: the highest, where that is another.
    """
    load = block.quantity("load")
    if load is None or load.low <= 0:
        return []
    found = rating(block, "load", "W", volts * volts / load.low, "dissipates")
    return found + rating(block, "load", "V", volts if peak is None else peak, "sees")


def alternating(block: Block, param: str) -> list[Check]:
    """A failed check where the capacitor behind a parameter sees alternating voltage but is, or counts as, electrolytic."""
    part = block.part(param)
    if part is None or part.capacitor_type != "electrolytic":
        return []
    return [
        Check(
            block.label(param), "an electrolytic on alternating voltage bursts: a film type is needed", False
        )
    ]
