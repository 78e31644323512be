"""What a block comes to: a value as its kind defines it, the value worked out, and a rating held against it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Value:
    """One computed value of a kind: how it is named, its unit, formula and source.

    interior: its extremes may lie inside the tolerance box, not at a corner.
    at: where to put the meter, in words; empty where no meter shows it. hazard: "mains" or "charged" where measuring it is dangerous; cold: it is
    read with the plug out. whole: a count. Where a meter's own resistance moves a reading that no network gives (a cut
    point's, a time): impedance is the formula of the node's source resistance, by which the meter divides the value (inputs, values and helpers; an absent part
    counts as inf); across is the resistor that the meter lies across, so that both drain what is measured.
    """

    name: str
    unit: str
    what: str
    formula: str
    source: str = ""
    interior: bool = False
    at: str = ""
    hazard: str = ""
    cold: bool = False
    whole: bool = False
    impedance: str = ""
    across: str = ""
    wave: str = ""  # what it is to a meter: a key of notation.reading.WAVES, "" where that is left open

    @property
    def measurable(self) -> bool:
        """Whether a meter can show it."""
        return bool(self.at)


@dataclass(frozen=True)
class Result:
    """A value worked out. value None: a range, or absent in this band. inf: a time that never comes."""

    name: str
    unit: str
    value: float | None
    low: float
    high: float
    formula: str = ""
    working: str = ""
    definition: Value | None = None


@dataclass(frozen=True)
class Check:
    """A rating held against what the part sees. margin: share of the limit left over; below 0 is exceeded.

    part is a designator or role. remark: worth saying, but no failure of the check. least: the limit is one that must
    be reached; margin below 0 is what it falls short by.
    """

    part: str
    what: str
    ok: bool
    margin: float | None = None
    remark: bool = False
    least: bool = False
