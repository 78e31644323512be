"""Which single failure explains the readings: likelihoods from predictions, not rules.

The score is the posterior share of each hypothesis, given the likelihood of all readings together; all failures are
equally likely beforehand, health is likelier than any.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from generator.circuit.block import MODES
from generator.diagnosis.drift import DRIFTS, find_drift
from generator.diagnosis.likelihood import agrees, band_of, log_likelihood, slack_of
from generator.diagnosis.model import HEALTH, Hypothesis, Model, Prediction, Spot, hypotheses
from generator.diagnosis.readings import Shown

HEALTH_PRIOR = 10.0  # how much likelier health is than any one failure, before reading anything
DRIFT_PRIOR = 0.25  # a part drifted to just any value, beside one failed outright
RARE = 0.3  # a drift in a way in which such a part seldom goes, beside the usual one
NARROWEST = 0.02  # share of the range of a drift that what fits is taken to cover at least
SOMETHING_ELSE = -13.0  # log-likelihood of a reading under what no single failure explains
PLAUSIBLE = 0.02  # posterior share from which a hypothesis is worth telling apart


@dataclass(frozen=True)
class Fit:
    """A hypothesis held against all readings. score: posterior share; explains, contradicts: the spots.

    prior: how likely it is beforehand, an outright failure being 1. expected: what it predicts at each spot (low, high),
    None where it predicts no value. drift: (from, to) of the part's value that would explain the readings, its nominal
    value and its unit.
    """

    hypothesis: Hypothesis
    score: float
    log_likelihood: float
    explains: tuple[Spot, ...]
    contradicts: tuple[Spot, ...]
    expected: dict[Spot, tuple[float, float] | None]
    prior: float = 1.0
    drift: tuple[float, float, float, str] | None = None


def rank(model: Model, shown: Sequence[tuple[Spot, Shown]]) -> list[Fit]:
    """Health and every failure that can move the spots, best first. Empty without readings."""
    if not shown:
        return []
    sound = model.predict(Hypothesis(*HEALTH))
    health = _held(Hypothesis(*HEALTH), sound, sound, shown, HEALTH_PRIOR)
    fits = [
        _held(hypothesis, model.predict(hypothesis), sound, shown)
        for name in model.relevant()
        for hypothesis in hypotheses(model.circuit.blocks[name], name)
    ]
    if health.contradicts:
        fits = _with_drifts(fits, _drifted(model, sound, shown, health.contradicts))
    return _scored([health, *fits], len(shown))


def _held(
    hypothesis: Hypothesis,
    found: Prediction,
    sound: Prediction,
    shown: Sequence[tuple[Spot, Shown]],
    prior: float = 1.0,
) -> Fit:
    explains: list[Spot] = []
    contradicts: list[Spot] = []
    expected: dict[Spot, tuple[float, float] | None] = {}
    for spot, read in shown:
        band = band_of(found, spot)
        expected[spot] = band
        (explains if agrees(read, band, slack_of(sound, spot)) else contradicts).append(spot)
    return Fit(
        hypothesis,
        0.0,
        log_likelihood(found, sound, shown),
        tuple(explains),
        tuple(contradicts),
        expected,
        prior,
    )


def _drifted(
    model: Model, sound: Prediction, shown: Sequence[tuple[Spot, Shown]], unexplained: Sequence[Spot]
) -> list[Fit]:
    """Each part that drifts, at the value that explains the readings best."""
    found = []
    for name in model.relevant():
        block = model.circuit.blocks[name]
        found += _worn(model, sound, shown, unexplained, name)
        for key, part_class, called, _ in block.failing_parts:
            nominal = block.point.__dict__.get(key)
            if not isinstance(nominal, (int, float)) or not 0 < nominal < math.inf:
                continue
            for mode, low, high in DRIFTS.get(part_class, ()):
                part = Hypothesis(name, key, called, mode, mode=mode)
                unit = "F" if part_class == "capacitor" else "ohm"
                drift = find_drift(model, sound, shown, unexplained, part, nominal, unit, low, high)
                if drift:
                    # a value may be anywhere: the narrower what fits, the less likely it was beforehand
                    prior = (
                        DRIFT_PRIOR
                        * (1.0 if mode in MODES[part_class] else RARE)
                        * max(NARROWEST, drift.share)
                    )
                    found.append(
                        replace(
                            _held(drift.hypothesis, drift.predicted, sound, shown, prior), drift=drift.reach
                        )
                    )
    return found


def _worn(
    model: Model,
    sound: Prediction,
    shown: Sequence[tuple[Spot, Shown]],
    unexplained: Sequence[Spot],
    name: str,
) -> list[Fit]:
    """Each part of a block that leaks, or has tired, by as much as explains the readings best."""
    block, found = model.circuit.blocks[name], []
    called = {key: part for key, _, part, _ in block.failing_parts}
    for wear in block.kind.wear:
        if wear.key not in called:
            continue
        part = Hypothesis(name, wear.key, called[wear.key], wear.failed, mode=wear.failed)
        nominal = wear.sound(block.point)
        unit = "ohm" if nominal == math.inf else ""
        drift = find_drift(model, sound, shown, unexplained, part, nominal, unit, wear.least, wear.most)
        if drift:
            prior = DRIFT_PRIOR * RARE * max(NARROWEST, drift.share)
            found.append(
                replace(_held(drift.hypothesis, drift.predicted, sound, shown, prior), drift=drift.reach)
            )
    return found


def _with_drifts(fits: list[Fit], drifted: list[Fit]) -> list[Fit]:
    """Each drift in the place of its outright failure where it explains more, else its range beside that failure."""
    kept = {(f.hypothesis.block, f.hypothesis.key, f.hypothesis.failed): f for f in fits}
    for fit in drifted:
        at = (fit.hypothesis.block, fit.hypothesis.key, fit.hypothesis.failed)
        outright = kept.get(at)
        if outright is None or fit.log_likelihood + math.log(fit.prior) > outright.log_likelihood:
            kept[at] = fit
        elif not fit.contradicts:
            kept[at] = replace(outright, drift=fit.drift)
    return list(kept.values())


def _scored(fits: list[Fit], readings: int) -> list[Fit]:
    """The fits with their share of the posterior, best first; what no single failure explains has a share too."""
    logs = [fit.log_likelihood + math.log(fit.prior) for fit in fits]
    other = SOMETHING_ELSE * readings
    top = max(*logs, other)
    weights = [math.exp(value - top) for value in logs]
    total = sum(weights) + math.exp(other - top)
    scored = [replace(fit, score=weight / total) for fit, weight in zip(fits, weights)]
    return sorted(
        scored,
        key=lambda f: (
            -f.score,
            len(f.contradicts),
            f.hypothesis.block != "",
            f.hypothesis.part,
            f.hypothesis.failed,
        ),
    )
