"""Bands as they stand in a narrow column, as a hand-held meter would tell their ends apart."""

from __future__ import annotations

import math
from collections.abc import Mapping

from generator.language import _
from generator.notation.printed import format_span, format_value
from generator.notation.reading import OPEN_FROM

HARDLY = 0.03  # share of a value by which the ends of a band may differ and be read as one
LEAST_VOLTS = 0.01  # less is none
LEAST_OHMS = 0.5  # ohm; test leads show as much


def volts_in_column(volts: Mapping[str, Mapping[str, float]]) -> str:
    """What a net carries in one state: its direct volts, then its alternating ones with their sign."""
    found = []
    for kind, sign in (("dc", ""), ("ac", "~")):
        if kind in volts and (kind == "dc" or volts[kind]["high"] > LEAST_VOLTS):
            ends = (volts[kind]["low"], volts[kind]["high"])
            low, high = (0.0 if abs(end) < LEAST_VOLTS else end for end in ends)
            found.append(_in_column(low, high, "V") + sign)
    return ", ".join(found)


def ohms_in_column(band: Mapping[str, float] | None) -> str:
    """What an ohmmeter shows: a band, 0 for what test leads have, or that nothing conducts."""
    if band is None or not math.isfinite(band["low"]) or band["low"] >= OPEN_FROM:
        return _("open")
    if band["high"] < LEAST_OHMS:
        return format_value(0.0, "ohm")
    return _in_column(band["low"], min(band["high"], 1e9), "ohm")


def _in_column(low: float, high: float, unit: str) -> str:
    """One figure where a hand-held meter would not tell the ends apart."""
    if high - low <= HARDLY * max(abs(low), abs(high)):
        return format_value((low + high) / 2, unit)
    return format_span(low, high, unit)
