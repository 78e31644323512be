"""What a device's readings say, in sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from generator.diagnosis.hypotheses import GAIN_CLASSES, NARROW_CLASSES, Change
from generator.diagnosis.readings import resolution
from generator.diagnosis.spots import cold_name, spot_name
from generator.language import _, failure_name, ngettext, pgettext, value_name
from generator.notation.printed import format_band, format_value

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.diagnosis.asking import Asked
    from generator.diagnosis.judging import Fit, Judged, Judgement

CAPACITORS = frozenset({"capacitor", "electrolytic"})
NAMED = 4  # how many fits and misfits are put into sentences
PLAUSIBLE = 0.02  # of the best share, from which a failure is worth naming
SEVERAL = 0.5  # share of what no single failure explains, from which that is said first
TIED = 0.7  # share of the best failure's share, from which the next one is as likely
SOLDER = 0.05  # ohm: less is next to none
EVEN = 0.05  # share of a band's width by which it may lie off 0 and still be said as ±
DRIFTED_OFF = 0.02, 100.0  # times the nominal value: beyond that a part is as good as shorted or open


def name_of(change: Change) -> str:
    """A failure in words: "C3 open", a pair "C3 open and R4 high", or that nothing is wrong."""
    if change.sound:
        return _("nothing wrong here")
    if change.mode == "bridge":
        own = _("a bridge between %(nets)s") % {"nets": change.called.replace(" ~ ", f" {_('and')} ")}
    else:
        own = f"{_(change.called)} {failed_name(change)}"
    if change.also is not None:
        return _("%(first)s and %(last)s") % {"first": own, "last": name_of(change.also)}
    return own


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
        return text % {"part": _(fit.change.called), "band": band}
    values = {"part": _(fit.change.called), "nominal": format_value(nominal, unit, trim=True)}
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


def unexplained(fit: Fit) -> list[int]:
    """Positions of the readings that a fit neither explains nor sets aside as misread."""
    return [n for n in fit.contradicts if n not in fit.doubted]


def leaders(fits: Sequence[Fit]) -> list[Fit]:
    """The failures that the readings leave standing, in the order of their shares: none far behind the best."""
    best = fits[0].share
    return [f for f in fits if not unexplained(f) and f.share >= max(PLAUSIBLE * best, 1e-4)]


def conclusion(judgement: Judgement) -> list[str]:
    """What follows from the readings, a sentence each; the first failure named is the first of the list."""
    sentences = [_contradiction(judgement, *pair) for pair in judgement.contradictory]
    if not judgement.fits:
        return sentences
    readings, best = len(judgement.fitted), judgement.fits[0]
    pair = best.change.also is not None and not best.change.caused
    several = judgement.beyond >= SEVERAL or pair or bool(unexplained(best))
    if several:
        sentences.append(_("No single fault explains this: two faults, or the drawing is wrong."))
    if several and (not pair or unexplained(best)):
        sentences.append(_nearest(judgement))
        return [sentence for sentence in sentences if sentence]
    left = [f for f in leaders(judgement.fits) if f.doubted == best.doubted]
    faults = [f for f in left if not f.sound]
    names = _("a sound circuit") if best.sound else _either(_named(faults))
    sentences.append(_fit(judgement, best, names, readings))
    if best.sound:
        if faults:
            text = ngettext("It does not rule out %(names)s.", "They do not rule out %(names)s.", readings)
            sentences.append(text % {"names": _either(_named(faults))})
        return sentences
    sentences += [f"{d[0].upper()}{d[1:]}." for f in faults[:NAMED] if (d := drift_text(f))]
    within = all(judged.verdict is not None and judged.verdict.ok for judged in judgement.fitted)
    if len(faults) < len(left) and within:
        text = ngettext(
            "It is within its band all the same: a sound circuit at the edge of its tolerances is not ruled out.",
            "Each is within its band all the same: a sound circuit at the edge of its tolerances is not ruled out.",
            readings,
        )
        sentences.append(text)
    elif len(faults) < len(left):
        sentences.append(_("A sound circuit at the edge of its tolerances is not ruled out."))
    elif within and readings > 1:
        sentences.append(_("Each is within its own band, but together they hardly fit a sound circuit."))
    elif within:
        sentences.append(
            _("It is within its band, but a sound circuit hardly ever reads so far from nominal.")
        )
    return sentences + _misfits(judgement, [f for f in judgement.fits if f not in left], readings, 2)


def _fit(judgement: Judgement, best: Fit, names: str, readings: int) -> str:
    """ "All 5 readings fit C3 open", or all but one that was misread."""
    if best.doubted:
        odd = [judgement.fitted[n] for n in best.doubted]
        values = {
            "names": names,
            "read": odd[0].reading.read,
            "place": place_name(odd[0], alone=_alone(judgement), device=judgement.device),
        }
        return (
            _("The readings fit %(names)s if %(read)s at %(place)s was misread: measure it again.") % values
        )
    if readings == 2:
        return _("Both readings fit %(names)s.") % {"names": names}
    text = ngettext("The reading fits %(names)s.", "All %(n)s readings fit %(names)s.", readings)
    return text % {"names": names, "n": readings}


def _alone(judgement: Judgement) -> bool:
    return judgement.device is not None and len(judgement.device.blocks) == 1


def _contradiction(judgement: Judgement, first: int, second: int) -> str:
    one, other = judgement.judged[first], judgement.judged[second]
    readings = _("%(first)s and %(last)s") % {"first": one.reading.read, "last": other.reading.read}
    spot = place_name(one, alone=_alone(judgement), device=judgement.device)
    values = {"spot": spot, "readings": readings}
    return (
        _("The readings of %(spot)s contradict each other: %(readings)s. Both are kept; measure again.")
        % values
    )


def _named(fits: Sequence[Fit]) -> list[str]:
    """Names of the first few failures, and how many more there are."""
    return _few([name_of(f.change) for f in fits])


def _either(names: list[str]) -> str:
    if len(names) == 1:
        return names[0]
    return _("%(first)s or %(last)s") % {"first": ", ".join(names[:-1]), "last": names[-1]}


def _would_be(judgement: Judgement, fit: Fit) -> dict[str, str]:
    position = (unexplained(fit) or list(fit.contradicts))[0]
    judged = judgement.fitted[position]
    unit = judged.taken.sought.unit if judged.taken.sought else "V"
    return {
        "name": name_of(fit.change),
        "spot": place_name(judged, alone=_alone(judgement), device=judgement.device),
        "expected": expected_text(unit, fit.expected[position]),
    }


def _nearest(judgement: Judgement) -> str:
    """The failure that comes nearest, and where it does not fit."""
    faults = [f for f in judgement.fits if not f.sound]
    if not faults:
        return ""
    nearest = faults[0]
    if not unexplained(nearest):
        return _("Nearest is %(name)s.") % {"name": name_of(nearest.change)}
    return _("Nearest is %(name)s, but then %(spot)s would be %(expected)s.") % _would_be(judgement, nearest)


def _misfits(judgement: Judgement, fits: Sequence[Fit], readings: int, most: int) -> list[str]:
    """Why the next likely failures do not fit: what they would have read. Those that leave what is odd as it is in a sound
    circuit go without saying."""
    sound = next((f for f in judgement.fits if f.sound), None)
    odd = set(sound.contradicts) if sound else set()
    sentences: list[str] = []
    told: set[str] = set()
    for fit in sorted(fits, key=lambda f: (len(f.contradicts), -f.likelihood)):
        if fit.sound or fit.change.also or not unexplained(fit) or fit.change.called in told:
            continue
        if odd and odd <= set(fit.contradicts):
            continue
        text = ngettext(
            "It does not fit %(name)s: %(spot)s would be %(expected)s.",
            "They do not fit %(name)s: %(spot)s would be %(expected)s.",
            readings,
        )
        sentences.append(text % _would_be(judgement, fit))
        told.add(fit.change.called)
        if len(sentences) == most:
            break
    return sentences


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


def next_text(asked: Sequence[Asked], device: Device | None) -> str:
    """Which reading to take next, and what it would tell. device: the one that it was asked of."""
    if not asked or device is None:
        return ""
    best = asked[0]
    seen: dict[str, list[str]] = {}
    for change, _share, low, high in best.expected:
        band = None if math.isnan(low) else (low, high)
        seen.setdefault(expected_text(best.unit, band), []).append(name_of(change))
    told = "; ".join(
        _("%(reading)s means %(names)s") % {"reading": text, "names": _either(_few(names))}
        for text, names in list(seen.items())[:NAMED]
    )
    return _("Measure next: %(place)s. %(told)s.") % {
        "place": probing_name(best, device),
        "told": told[:1].upper() + told[1:],
    }


def tie_text(judgement: Judgement, asked: Sequence[Asked], device: Device | None) -> str:
    """That the two likeliest failures fit alike, and which reading tells them apart; "" where one is ahead."""
    faults = [fit for fit in judgement.fits if not fit.sound and not unexplained(fit)][:2]
    if device is None or len(faults) < 2 or faults[1].share < TIED * faults[0].share:
        return ""
    pair = [fit.change for fit in faults]
    if pair[0].called == pair[1].called:
        return ""  # one part: it is changed either way
    values = {"one": name_of(pair[0]), "other": name_of(pair[1])}
    for own in asked:
        bands = {change.group: (low, high) for change, _share, low, high in own.expected}
        one, other = (bands.get(change.group, (math.nan, math.nan)) for change in pair)
        if one[0] > other[1] or other[0] > one[1]:
            if own is asked[0]:
                return _("These readings do not tell %(one)s from %(other)s; the next one does.") % values
            values |= {"place": probing_name(own, device)}
            values |= {"first": expected_text(own.unit, one), "second": expected_text(own.unit, other)}
            text = _("These readings do not tell %(one)s from %(other)s. What does: %(place)s, %(first)s with %(one)s, "
                     "%(second)s with %(other)s.")  # fmt: skip
            return text % values
    return _("Nothing that a meter shows here tells %(one)s from %(other)s.") % values


def _few(names: Sequence[str]) -> list[str]:
    """Names of the first few, and how many more there are."""
    names = list(dict.fromkeys(names))
    more = len(names) - NAMED
    if more <= 0:
        return names
    return [*names[:NAMED], ngettext("%(n)s other failure", "%(n)s other failures", more) % {"n": more}]


def hazard_text(hazard: str) -> str:
    """The caution that stands beside a reading."""
    if hazard == "mains":
        return _("Mains potential: only for those who are competent and permitted to measure it.")
    if hazard == "charged":
        return _("A charged part: keep clear of it, and discharge it before you touch anything.")
    return ""
