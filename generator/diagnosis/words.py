"""What a device's readings say, in sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from generator.diagnosis.intermittent import comes_and_goes
from generator.diagnosis.naming import (
    NAMED,
    drift_text,
    either,
    expected_text,
    few,
    name_of,
    place_name,
    probing_name,
)
from generator.language import _, ngettext

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.diagnosis.asking import Asked
    from generator.diagnosis.judging import Fit, Judgement

PLAUSIBLE = 0.02  # of the best share, from which a failure is worth naming
SEVERAL = 0.5  # share of what no single failure explains, from which that is said first
TIED = 0.7  # share of the best failure's share, from which the next one is as likely


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
    names = _("a sound circuit") if best.sound else either(_named(faults))
    sentences.append(_fit(judgement, best, names, readings))
    if best.sound:
        if faults:
            text = ngettext("It does not rule out %(names)s.", "They do not rule out %(names)s.", readings)
            sentences.append(text % {"names": either(_named(faults))})
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
    broken = few(comes_and_goes(judgement, first, second))
    if broken:
        values["broken"] = either(broken)
        return (
            _(
                "The readings of %(spot)s contradict each other: %(readings)s. Both hold if %(broken)s comes and goes: move it and "
                "measure again."
            )
            % values
        )
    return (
        _("The readings of %(spot)s contradict each other: %(readings)s. Both are kept; measure again.")
        % values
    )


def _named(fits: Sequence[Fit]) -> list[str]:
    """Names of the first few failures, and how many more there are."""
    return few([name_of(f.change) for f in fits])


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
        _("%(reading)s means %(names)s") % {"reading": text, "names": either(few(names))}
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
