"""What failures, places and readings are called: the pieces that sentences (words.py) and tables are made of."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from generator.circuit.device.apart import CONNECTION
from generator.diagnosis.hypotheses import GAIN_CLASSES, NARROW_CLASSES, Change
from generator.diagnosis.readings import resolution
from generator.diagnosis.spots import TERMINALS, cold_name, spot_name
from generator.language import _, failure_name, ngettext, pgettext, value_name
from generator.notation.printed import format_band, format_value

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.diagnosis.asking import Asked
    from generator.diagnosis.judging import Fit, Judged

CAPACITORS = frozenset({"capacitor", "mains capacitor", "electrolytic"})
NAMED = 4  # how many fits and misfits are put into sentences
SOLDER = 0.05  # ohm: less is next to none
EVEN = 0.05  # share of a band's width by which it may lie off 0 and still be said as ±
# roles that many blocks have
SAYS_NOTHING = frozenset({"load", "load supply", "output supply", "input", "in", "primary", "drive", "draws"})
DRIFTED_OFF = 0.02, 100.0  # times the nominal value: beyond that a part is as good as shorted or open


def name_of(change: Change) -> str:
    """A failure in words: "C3 open", a pair "C3 open and R4 high", or that nothing is wrong."""
    if change.sound:
        return _("nothing wrong here")
    if change.mode == "bridge":
        own = _("a bridge between %(nets)s") % {"nets": change.called.replace(" ~ ", f" {_('and')} ")}
    else:
        own = f"{part_name(change)} {failed_name(change)}"
    if change.also is not None:
        return _("%(first)s and %(last)s") % {"first": own, "last": name_of(change.also)}
    return own


def part_name(change: Change) -> str:
    """A failed part: its designator, else its role, and of which block it is where that says nothing by itself."""
    if change.called.startswith(CONNECTION):
        block, _dot, terminal = change.called.removeprefix(CONNECTION).partition(".")
        return _("connection at %(spot)s") % {
            "spot": _("%(value)s of %(block)s")
            % {"value": _(TERMINALS.get(terminal, terminal)), "block": block}
        }
    called = _(TERMINALS.get(change.called, change.called)).replace(" ~ ", f" {_('and')} ")
    if change.called not in SAYS_NOTHING:
        return called
    return _("%(value)s of %(block)s") % {"value": called, "block": change.block}


def failed_name(change: Change) -> str:
    """How it failed. Other languages have another word for a supply that is low than for a capacitor or a gain that is."""
    if change.part_class in NARROW_CLASSES and change.mode == "high":
        return pgettext("voltage or load", "high")
    if change.part_class in NARROW_CLASSES | {"pack"} and change.mode == "low":
        return pgettext("voltage or load", "low")
    if change.part_class in GAIN_CLASSES and change.mode == "low":
        return pgettext("gain", "low")
    if change.part_class not in CAPACITORS and change.mode == "low":
        return pgettext("resistance", "low")
    return failure_name(change.mode)


def either(names: list[str]) -> str:
    if len(names) == 1:
        return names[0]
    return _("%(first)s or %(last)s") % {"first": ", ".join(names[:-1]), "last": names[-1]}


def few(names: Sequence[str]) -> list[str]:
    """Names of the first few, and how many more there are."""
    names = list(dict.fromkeys(names))
    more = len(names) - NAMED
    if more <= 0:
        return names
    return [*names[:NAMED], ngettext("%(n)s other failure", "%(n)s other failures", more) % {"n": more}]


def taken_at(judged: Judged, device: Device) -> str:
    """Where the probes were put, in words of the trade: "ohms of R9", "ohms, plus of cells (C5) to 0 V"."""
    reading = judged.reading
    if reading.ohms:
        part, pair = _("ohms of %(part)s"), _("ohms, %(one)s to %(other)s")
    elif reading.diode:
        part, pair = _("diode range at %(part)s"), _("diode range, %(one)s to %(other)s")
    else:
        part, pair = _("volts across %(part)s"), _("volts, %(one)s to %(other)s")
    spots = [spot_name(device, text) for text in reading.ohms or reading.diode or reading.across if text]
    if len(spots) == 2:
        return pair % {"one": spots[0], "other": spots[1]}
    return part % {"part": spots[0]} if spots else spot_name(device, reading.at)


def place_name(judged: Judged, *, alone: bool = False, device: Device | None = None) -> str:
    """Where a reading was taken. alone: the device is one block, which then needs no name."""
    reading, sought = judged.reading, judged.taken.sought
    place = sought.place if sought is not None else None
    if place is not None and place.value:
        value = value_name(place.value)
        named = value if alone else _("%(value)s of %(block)s") % {"value": value, "block": place.block}
    elif device is not None:
        named = taken_at(judged, device)
    else:
        named = reading.at or " - ".join(reading.across or reading.ohms or reading.diode)
        if reading.across:
            named = _("the volts across %(part)s") % {"part": named}
        elif reading.ohms:
            named = _("the ohms of %(part)s") % {"part": named}
    return f"{named} ({reading.when})" if reading.when else named


def probing_name(asked: Asked, device: Device) -> str:
    """Where and how to measure: "the ohms of R9, plug out", "collector of drive (Q1, RL1), heating"."""
    probing = asked.probing
    if probing.rail:
        place = _("the AC volts at %(place)s") % {"place": spot_name(device, probing.rail)}
        return f"{place}, {pgettext('state', probing.sought.state)}" if len(device.states) > 1 else place
    spots = [spot_name(device, name) for name in probing.at]
    place = (
        spots[0] if len(spots) == 1 else _("%(first)s and %(last)s") % {"first": spots[0], "last": spots[1]}
    )
    if probing.kind in ("ohms", "diode"):
        text = (
            _("the ohms of %(place)s, %(off)s")
            if probing.kind == "ohms"
            else _("the diode range at %(place)s, %(off)s")
        )
        return text % {"place": place, "off": cold_name(device)}
    named = _("the volts across %(place)s") % {"place": place} if probing.kind == "across" else place
    if probing.sought.state and probing.how == "volts" and len(device.states) > 1:
        return f"{named}, {pgettext('state', probing.sought.state)}"
    return named


def expected_text(unit: str, band: tuple[float, float] | None) -> str:
    """What a reading would be: a band, "open", or no value at all."""
    if band is None:
        return _("no value")
    if math.isinf(band[0]):
        return format_value(math.inf, unit)
    low, high = (as_shown(end, unit) for end in band)
    low = max(0.0, low) if unit == "ohm" else low
    if math.isinf(high):
        return _("%(low)s or more") % {"low": format_value(low, unit)}
    if low == high == 0:
        return format_value(0.0, unit)
    if low < 0 < high and abs(low + high) <= EVEN * (high - low):
        return f"±{format_value(high, unit)}"
    return format_band(low, high, unit)


def as_shown(value: float, unit: str) -> float:
    """Less than half a count on the meter's smallest range is a 0 on its display."""
    return 0.0 if abs(value) < resolution(0.0, unit) / 2 else value


def drift_text(fit: Fit) -> str:
    """ "fits if C3 has fallen to 60 to 90 µF of 1000 µF"."""
    if fit.reach is None or fit.change.also is not None:
        return ""
    low, high, nominal, unit = fit.reach
    if nominal == math.inf:
        if fit.change.mode == "leaky":
            text = _("fits if %(band)s lie across %(part)s")
        elif fit.change.mode == "bridge":
            text = _("fits if the bridge has %(band)s")
        else:
            text = _("fits if %(part)s has %(band)s")
        band = (
            _("%(high)s or less") % {"high": format_value(high, unit)}
            if low < SOLDER
            else format_band(low, high, unit)
        )
        return text % {"part": part_name(fit.change), "band": band}
    values = {"part": part_name(fit.change), "nominal": format_value(nominal, unit, trim=True)}
    if fit.change.mode == "low":
        least = low <= nominal * DRIFTED_OFF[0] * 1.01
        band = (
            _("%(high)s or less") % {"high": format_value(high, unit)}
            if least
            else format_band(low, high, unit)
        )
        return _("fits if %(part)s has fallen to %(band)s of %(nominal)s") % {**values, "band": band}
    most = high >= nominal * DRIFTED_OFF[1] * 0.99
    band = _("%(low)s or more") % {"low": format_value(low, unit)} if most else format_band(low, high, unit)
    return _("fits if %(part)s has risen to %(band)s of %(nominal)s") % {**values, "band": band}


def hazard_text(hazard: str) -> str:
    """The caution that stands beside a reading."""
    if hazard == "mains":
        return _("Mains potential: only for those who are competent and permitted to measure it.")
    if hazard == "charged":
        return _("A charged part: keep clear of it, and discharge it before you touch anything.")
    return ""
