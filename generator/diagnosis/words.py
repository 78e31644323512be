"""What the readings say, in sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence

from generator.circuit.quantity import format_band, format_value
from generator.diagnosis.fit import PLAUSIBLE, Fit
from generator.diagnosis.model import Hypothesis, Model, Spot
from generator.diagnosis.next_reading import Next
from generator.language import _, ngettext

NAMED = 4  # how many fits and misfits are put into sentences


def name_of(hypothesis: Hypothesis) -> str:
    """A hypothesis in words: "C3 open", or that nothing is wrong."""
    if not hypothesis.block:
        return _("nothing wrong here")
    return f"{hypothesis.part} {_(hypothesis.failed)}"


def spot_name(model: Model, spot: Spot) -> str:
    value = spot.value.replace("_", " ").replace(".", ", ")
    return value if len(model.circuit.blocks) == 1 else f"{spot.block}: {value}"


def expected_text(model: Model, spot: Spot, band: tuple[float, float] | None) -> str:
    """What a reading would be: a band, "open", or no value at all."""
    if band is None:
        return _("no value")
    if math.isinf(band[0]):
        return format_value(math.inf, _unit(model, spot))
    return format_band(max(0.0, band[0]) if band[1] >= 0 else band[0], band[1], _unit(model, spot))


def _unit(model: Model, spot: Spot) -> str:
    return next(d.unit for d in model.circuit.blocks[spot.block].definitions if d.name == spot.value)


def drift_text(fit: Fit) -> str:
    """"fits if C3 has fallen to 60 to 90 µF of 1000 µF"."""
    if not fit.drift:
        return ""
    low, high, nominal, unit = fit.drift
    values = {"part": fit.hypothesis.part, "band": format_band(low, high, unit), "nominal": format_value(nominal, unit, trim=True)}
    if high < nominal:
        return _("fits if %(part)s has fallen to %(band)s of %(nominal)s") % values
    return _("fits if %(part)s has risen to %(band)s of %(nominal)s") % values


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
        return [_("Nothing single explains this: two faults, or the drawing is wrong."), *_misfits(model, fits, 1)]
    sentences = []
    if not left[0].hypothesis.block:
        sentences.append(_all_fit(_("a sound circuit"), readings))
        hidden = [f for f in left[1:] if f.hypothesis.block][:NAMED]
        if hidden:
            names = ", ".join(name_of(f.hypothesis) for f in hidden)
            sentences.append(_("They do not rule out: %(names)s.") % {"names": names})
        return sentences
    names = _either([name_of(f.hypothesis) for f in left[:NAMED]])
    sentences.append(_all_fit(names, readings))
    sentences += [f"{d[0].upper()}{d[1:]}." for f in left[:NAMED] if (d := drift_text(f))]
    sentences += _misfits(model, [f for f in fits if f not in left], 2)
    return sentences


def _all_fit(names: str, readings: int) -> str:
    if readings == 2:
        return _("Both readings fit %(names)s.") % {"names": names}
    text = ngettext("The reading fits %(names)s.", "All %(n)s readings fit %(names)s.", readings)
    return text % {"names": names, "n": readings}


def _either(names: list[str]) -> str:
    if len(names) == 1:
        return names[0]
    return _("%(first)s or %(last)s") % {"first": ", ".join(names[:-1]), "last": names[-1]}


def _misfits(model: Model, fits: Sequence[Fit], most: int) -> list[str]:
    """Why the next likely failures do not fit: what they would have read."""
    sentences = []
    for fit in sorted(fits, key=lambda f: (len(f.contradicts), -f.log_likelihood)):
        if not fit.hypothesis.block or not fit.contradicts:
            continue
        spot = fit.contradicts[0]
        values = {
            "name": name_of(fit.hypothesis),
            "spot": spot_name(model, spot),
            "expected": expected_text(model, spot, fit.expected[spot]),
        }
        sentences.append(_("It is not %(name)s: %(spot)s would be %(expected)s.") % values)
        if len(sentences) == most:
            break
    return sentences


def next_text(model: Model, found: Next | None) -> str:
    """Which reading to take next, and what it would tell."""
    if found is None:
        return ""
    seen: dict[str, list[str]] = {}
    for fit, band in zip(found.separates, found.expected):
        seen.setdefault(expected_text(model, found.spot, band), []).append(name_of(fit.hypothesis))
    told = "; ".join(f"{text}: {', '.join(names)}" for text, names in seen.items())
    where = f" ({_(found.definition.at)})" if found.definition.at else ""
    return _("Measure next: %(spot)s%(where)s. %(told)s.") % {"spot": spot_name(model, found.spot), "where": where, "told": told}


def hazard_text(hazard: str) -> str:
    """The caution that stands beside a reading."""
    if hazard == "mains":
        return _("Mains potential: only for those who are competent and permitted to measure it.")
    if hazard == "charged":
        return _("A charged part: keep clear of it, and discharge it before you touch anything.")
    return ""
