"""What the readings say, in sentences."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from generator.diagnosis.drift import ENDS
from generator.diagnosis.fit import PLAUSIBLE, Fit
from generator.diagnosis.model import Hypothesis, Model, Spot
from generator.diagnosis.next_reading import Next
from generator.diagnosis.readings import resolution
from generator.language import _, failure_name, ngettext, value_name
from generator.notation.quantity import format_band, format_value

Bands = Mapping[Spot, tuple[float, float] | None]
NAMED = 4  # how many fits and misfits are put into sentences


def name_of(hypothesis: Hypothesis) -> str:
    """A hypothesis in words: "C3 open", or that nothing is wrong."""
    if not hypothesis.block:
        return _("nothing wrong here")
    return f"{_(hypothesis.part)} {failure_name(hypothesis.failed)}"


def spot_name(model: Model, spot: Spot) -> str:
    value = value_name(spot.value)
    return (
        value
        if len(model.circuit.blocks) == 1
        else _("%(value)s of %(block)s") % {"value": value, "block": spot.block}
    )


def expected_text(model: Model, spot: Spot, band: tuple[float, float] | None) -> str:
    """What a reading would be: a band, "open", or no value at all."""
    if band is None:
        return _("no value")
    unit = _unit(model, spot)
    if math.isinf(band[0]):
        return format_value(math.inf, unit)
    low, high = (_as_shown(end, unit) for end in band)
    low = max(0.0, low) if high >= 0 and unit != "°C" else low
    if math.isinf(high):
        return _("%(low)s or more") % {"low": format_value(low, unit)}
    return format_value(0.0, unit) if low == high == 0 else format_band(low, high, unit)


def _as_shown(value: float, unit: str) -> float:
    """Less than half a count on the meter's smallest range is a 0 on its display."""
    return 0.0 if abs(value) < resolution(0.0, unit) / 2 else value


def _unit(model: Model, spot: Spot) -> str:
    return next(d.unit for d in model.circuit.blocks[spot.block].definitions if d.name == spot.value)


def drift_text(fit: Fit) -> str:
    """ "fits if C3 has fallen to 60 to 90 µF of 1000 µF"."""
    if not fit.drift:
        return ""
    low, high, nominal, unit = fit.drift
    if nominal == math.inf:  # nothing leaks across a sound part
        return _("fits if %(band)s lie across %(part)s") % {
            "part": _(fit.hypothesis.part),
            "band": format_band(low, high, unit),
        }
    if unit == "":
        values = {"band": format_band(low, high, unit), "nominal": format_value(nominal, unit, trim=True)}
        return _("fits if the transfer ratio has fallen to %(band)s of %(nominal)s") % values
    values = {"part": _(fit.hypothesis.part), "nominal": format_value(nominal, unit, trim=True)}
    if high < nominal:
        least = low <= nominal * ENDS[0] * 1.01
        band = (
            _("%(high)s or less") % {"high": format_value(high, unit)}
            if least
            else format_band(low, high, unit)
        )
        return _("fits if %(part)s has fallen to %(band)s of %(nominal)s") % {**values, "band": band}
    most = high >= nominal * ENDS[1] * 0.99
    band = _("%(low)s or more") % {"low": format_value(low, unit)} if most else format_band(low, high, unit)
    return _("fits if %(part)s has risen to %(band)s of %(nominal)s") % {**values, "band": band}


def leaders(fits: Sequence[Fit]) -> list[Fit]:
    """The hypotheses that the readings leave standing: each contradicts none, and is not far behind the best."""
    best = fits[0].score
    return [f for f in fits if not f.contradicts and f.score >= max(PLAUSIBLE * best, 1e-4)]


def conclusion(model: Model, fits: Sequence[Fit], readings: int) -> list[str]:
    """What follows from the readings, a sentence each."""
    if not fits:
        return []
    left = leaders(fits)
    if not left:
        return [
            _("Nothing single explains this: two faults, or the drawing is wrong."),
            *_nearest(model, fits),
        ]
    faults = [f for f in left if f.hypothesis.block]
    if not left[0].hypothesis.block:
        sentences = [_all_fit(_("a sound circuit"), readings)]
        if faults:
            text = ngettext("It does not rule out %(names)s.", "They do not rule out %(names)s.", readings)
            sentences.append(text % {"names": _either(_named(faults))})
        return sentences
    sentences = [_all_fit(_either(_named(faults)), readings)]
    sentences += [f"{d[0].upper()}{d[1:]}." for f in faults[:NAMED] if (d := drift_text(f))]
    if len(faults) < len(left):
        sentences.append(_("A sound circuit at the edge of its tolerances is not ruled out."))
    return sentences + _misfits(model, [f for f in fits if f not in left], readings, 2)


def contradiction_text(model: Model, spot: Spot, shown: Sequence[str]) -> str:
    """Readings of one point that cannot both be right."""
    values = {
        "spot": spot_name(model, spot),
        "readings": _("%(first)s and %(last)s") % {"first": ", ".join(shown[:-1]), "last": shown[-1]},
    }
    return (
        _(
            "The readings of %(spot)s contradict each other: %(readings)s. None of them is used; measure again."
        )
        % values
    )


def _named(fits: Sequence[Fit]) -> list[str]:
    """Names of the first few, and how many more there are."""
    names = [name_of(f.hypothesis) for f in fits[:NAMED]]
    more = len(fits) - len(names)
    return (
        names + [ngettext("%(n)s other failure", "%(n)s other failures", more) % {"n": more}]
        if more
        else names
    )


def _all_fit(names: str, readings: int) -> str:
    if readings == 2:
        return _("Both readings fit %(names)s.") % {"names": names}
    text = ngettext("The reading fits %(names)s.", "All %(n)s readings fit %(names)s.", readings)
    return text % {"names": names, "n": readings}


def _either(names: list[str]) -> str:
    if len(names) == 1:
        return names[0]
    return _("%(first)s or %(last)s") % {"first": ", ".join(names[:-1]), "last": names[-1]}


def _would_be(model: Model, fit: Fit) -> dict[str, str]:
    spot = fit.contradicts[0]
    return {
        "name": name_of(fit.hypothesis),
        "spot": spot_name(model, spot),
        "expected": expected_text(model, spot, fit.expected[spot]),
    }


def _nearest(model: Model, fits: Sequence[Fit]) -> list[str]:
    """The failure that comes nearest, and where it does not fit."""
    sound = next(f for f in fits if not f.hypothesis.block)
    faults = [f for f in fits if f.hypothesis.block and f.contradicts and f.explains and _moves(f, sound)]
    if not faults:
        return []
    nearest = min(faults, key=lambda f: (len(f.contradicts), -f.log_likelihood))
    return [_("Nearest is %(name)s, but then %(spot)s would be %(expected)s.") % _would_be(model, nearest)]


def _moves(fit: Fit, sound: Fit) -> bool:
    """Whether a failure changes anything of what a sound circuit leaves unexplained."""
    return not all(_alike({spot: fit.expected[spot]}, sound.expected) for spot in sound.contradicts)


def _misfits(model: Model, fits: Sequence[Fit], readings: int, most: int) -> list[str]:
    """Why the next likely failures do not fit: what they would have read. Those that leave what is odd as it is in a sound
    circuit go without saying."""
    sound = next((f for f in fits if not f.hypothesis.block), None)
    sentences: list[str] = []
    told: set[str] = set()
    for fit in sorted(fits, key=lambda f: (len(f.contradicts), -f.log_likelihood)):
        if (
            not fit.hypothesis.block
            or not fit.contradicts
            or fit.hypothesis.part in told
            or (sound and not _moves(fit, sound))
        ):
            continue
        text = ngettext(
            "It does not fit %(name)s: %(spot)s would be %(expected)s.",
            "They do not fit %(name)s: %(spot)s would be %(expected)s.",
            readings,
        )
        sentences.append(text % _would_be(model, fit))
        told.add(fit.hypothesis.part)
        if len(sentences) == most:
            break
    return sentences


def _alike(these: Bands, those: Bands) -> bool:
    """Whether two hypotheses predict the same readings, but for what a meter would miss."""
    for spot, a in these.items():
        b = those.get(spot)
        if a is None or b is None or not all(math.isfinite(end) for end in (*a, *b)):
            if a != b:
                return False
        elif abs((a[0] + a[1]) - (b[0] + b[1])) > 0.02 * max(abs(end) for end in (*a, *b)):
            return False
    return True


def next_text(model: Model, found: Next | None) -> str:
    """Which reading to take next, and what it would tell."""
    if found is None:
        return ""
    seen: dict[str, list[str]] = {}
    for fit, band in zip(found.separates, found.expected):
        seen.setdefault(expected_text(model, found.spot, band), []).append(name_of(fit.hypothesis))
    told = "; ".join(
        _("%(reading)s means %(names)s") % {"reading": text, "names": _either(names)}
        for text, names in seen.items()
    )
    where = f" ({_(found.definition.at)})" if found.definition.at else ""
    return _("Measure next: %(spot)s%(where)s. %(told)s.") % {
        "spot": spot_name(model, found.spot),
        "where": where,
        "told": told,
    }


def hazard_text(hazard: str) -> str:
    """The caution that stands beside a reading."""
    if hazard == "mains":
        return _("Mains potential: only for those who are competent and permitted to measure it.")
    if hazard == "charged":
        return _("A charged part: keep clear of it, and discharge it before you touch anything.")
    return ""
