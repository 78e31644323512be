"""Which single failure explains the readings: likelihoods from predictions, not rules.

The readings are taken together as one vector. Under a hypothesis it scatters about the predicted mean with the part
tolerances (uniform over their bands), the meter's accuracy and a little for what no drawing shows. The score is the
posterior share of each hypothesis, all failures being equally likely beforehand and health more likely than any.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from generator.circuit.block import Block
from generator.diagnosis.model import HEALTH, Hypothesis, Model, Prediction, Spot
from generator.diagnosis.readings import Shown

HEALTH_PRIOR = 30.0  # how much likelier health is than any one failure, before reading anything
DRIFT_PRIOR = 0.25  # a part drifted to just any value, beside one failed outright
MISMATCH = -16.0  # log-likelihood of a reading where nothing of the kind is predicted (open, or no value)
HOPELESS = 40.0  # mean squared misfit, in meter spreads, beyond which a drift is not followed closer
FLOOR = -40.0  # of one reading; one wild reading must not outweigh all others
UNDRAWN = 0.01  # share of the sound value: contact resistance, leakage, what the drawing leaves out
SOMETHING_ELSE = -13.0  # log-likelihood of a reading under what no single failure explains
PLAUSIBLE = 0.02  # posterior share from which a hypothesis is worth telling apart

# How parts drift: resistors go high, capacitors lose capacitance, thermistors go either way.
DRIFTS = {"resistor": (("high", 1.05, 100.0),), "capacitor": (("low", 0.02, 0.95),),
          "thermistor": (("high", 1.05, 20.0), ("low", 0.05, 0.95)), "photoresistor": (("high", 1.05, 20.0),)}  # fmt: skip


@dataclass(frozen=True)
class Fit:
    """A hypothesis held against all readings. score: posterior share; explains, contradicts: the spots.

    drift: (from, to) of the part's value that would explain the readings, in its unit, and its nominal value.
    expected: what it predicts at each spot (low, high), None where it predicts no value.
    """

    hypothesis: Hypothesis
    score: float
    log_likelihood: float
    explains: tuple[Spot, ...]
    contradicts: tuple[Spot, ...]
    expected: dict[Spot, tuple[float, float] | None]
    drift: tuple[float, float, float, str] | None = None


def rank(model: Model, shown: Sequence[tuple[Spot, Shown]]) -> list[Fit]:
    """Health and every failure that can move the spots, best first. Empty without readings."""
    if not shown:
        return []
    health = Hypothesis(*HEALTH)
    sound = model.predict(health)
    fits = [_fit(model, health, sound, sound, shown)]
    healthy = not fits[0].contradicts
    for name in model.relevant():
        block = model.circuit.blocks[name]
        for hypothesis in hypotheses_of(block, name):
            fits.append(_fit(model, hypothesis, model.predict(hypothesis), sound, shown))
    if not healthy:
        fits = _with_drifts(model, fits, sound, shown)
    return _scored(fits, len(shown))


def hypotheses_of(block: Block, name: str) -> list[Hypothesis]:
    from generator.diagnosis.model import hypotheses

    return hypotheses(block, name)


def _scored(fits: list[Fit], readings: int) -> list[Fit]:
    def prior(fit: Fit) -> float:
        if not fit.hypothesis.block:
            return HEALTH_PRIOR
        return DRIFT_PRIOR if fit.hypothesis.factor is not None else 1.0

    logs = [fit.log_likelihood + math.log(prior(fit)) for fit in fits]
    other = SOMETHING_ELSE * readings
    top = max(*logs, other)
    weights = [math.exp(value - top) for value in logs]
    total = sum(weights) + math.exp(other - top)
    scored = [replace(fit, score=weight / total) for fit, weight in zip(fits, weights)]
    return sorted(scored, key=lambda f: (-f.score, len(f.contradicts), f.hypothesis.block != "", f.hypothesis.part, f.hypothesis.failed))


def _fit(
    model: Model, hypothesis: Hypothesis, found: Prediction, sound: Prediction, shown: Sequence[tuple[Spot, Shown]]
) -> Fit:
    explains, contradicts = [], []
    expected: dict[Spot, tuple[float, float] | None] = {}
    for spot, read in shown:
        band = _band(found, spot)
        expected[spot] = band
        (explains if _agrees(read, band, _slack(sound, spot)) else contradicts).append(spot)
    return Fit(hypothesis, 0.0, _log_likelihood(found, sound, shown), tuple(explains), tuple(contradicts), expected)


def _band(found: Prediction, spot: Spot) -> tuple[float, float] | None:
    mean = found.mean[spot]
    if mean is None:
        return None
    reach = sum(abs(shift) for shift in found.shifts[spot].values())
    return mean - reach, mean + reach


def _slack(sound: Prediction, spot: Spot) -> float:
    mean = sound.mean[spot]
    return UNDRAWN * abs(mean) if mean is not None and math.isfinite(mean) else 0.0


def _agrees(read: Shown, band: tuple[float, float] | None, slack: float) -> bool:
    if band is None:
        return read.state == "open"
    if read.state == "open":
        return band[1] >= read.low
    return read.low - slack <= band[1] and read.high + slack >= band[0]


def _log_likelihood(found: Prediction, sound: Prediction, shown: Sequence[tuple[Spot, Shown]]) -> float:
    """Log of the probability that the meter shows these intervals."""
    total = 0.0
    spots: list[tuple[Spot, Shown, float]] = []
    for spot, read in shown:
        mean = found.mean[spot]
        numeric = mean is not None and math.isfinite(mean) and read.state != "open"
        if numeric:
            assert mean is not None
            spots.append((spot, read, mean))
        else:
            total += 0.0 if _agrees(read, _band(found, spot), 0.0) else MISMATCH
    return total + max(_gaussian(found, sound, spots), FLOOR * len(spots)) if spots else total


def _gaussian(found: Prediction, sound: Prediction, spots: list[tuple[Spot, Shown, float]]) -> float:
    size = len(spots)
    spreads = [max(read.spread, _slack(sound, spot) * 0.5, 1e-9) for spot, read, _ in spots]
    matrix = [[0.0] * size for _ in range(size)]
    for i, (spot, _, mean) in enumerate(spots):
        matrix[i][i] += spreads[i] ** 2 / 3 + max(_slack(sound, spot), UNDRAWN * abs(mean) * 0.3) ** 2
        for j in range(i + 1):
            other = found.shifts[spots[j][0]]
            together = sum(shift * other[key] for key, shift in found.shifts[spot].items() if key in other) / 3
            matrix[i][j] += together
            if i != j:
                matrix[j][i] += together
    gaps = [read.middle - mean for _, read, mean in spots]
    return _normal_log_density(matrix, gaps) + sum(math.log(2 * spread) for spread in spreads)


def _normal_log_density(matrix: list[list[float]], gaps: list[float]) -> float:
    """Log density of a normal distribution by Cholesky's decomposition of its covariance."""
    size = len(gaps)
    lower = [[0.0] * size for _ in range(size)]
    solved: list[float] = []
    log_determinant = 0.0
    for i in range(size):
        for j in range(i):
            lower[i][j] = (matrix[i][j] - sum(lower[i][k] * lower[j][k] for k in range(j))) / lower[j][j]
        pivot = matrix[i][i] - sum(lower[i][k] ** 2 for k in range(i))
        lower[i][i] = math.sqrt(max(pivot, 1e-12 * matrix[i][i], 1e-300))
        solved.append((gaps[i] - sum(lower[i][k] * solved[k] for k in range(i))) / lower[i][i])
        log_determinant += math.log(lower[i][i])
    return -0.5 * sum(z * z for z in solved) - log_determinant - 0.5 * size * math.log(2 * math.pi)


# --- drifted parts ------------------------------------------------------------------------------------------------


def _with_drifts(model: Model, fits: list[Fit], sound: Prediction, shown: Sequence[tuple[Spot, Shown]]) -> list[Fit]:
    """Each part that drifts, at the value that explains the readings best, where that beats its outright failure."""
    drifted: list[Fit] = []
    for name in model.relevant():
        block = model.circuit.blocks[name]
        for key, part_class, called, _ in block._failing:
            for mode, low, high in DRIFTS.get(part_class, ()):
                found = _drift(model, block, name, key, called, mode, low, high, sound, shown)
                if found:
                    drifted.append(found)
    kept = {(f.hypothesis.block, f.hypothesis.key, f.hypothesis.failed): f for f in fits}
    for fit in drifted:
        at = (fit.hypothesis.block, fit.hypothesis.key, fit.hypothesis.failed)
        outright = kept.get(at)
        if outright is None or fit.log_likelihood + math.log(DRIFT_PRIOR) > outright.log_likelihood:
            kept[at] = fit
        elif not fit.contradicts:
            kept[at] = replace(outright, drift=fit.drift)
    return list(kept.values())


def _drift(
    model: Model, block: Block, name: str, key: str, called: str, mode: str, low: float, high: float,
    sound: Prediction, shown: Sequence[tuple[Spot, Shown]],
) -> Fit | None:  # fmt: skip
    nominal = block.point.__dict__.get(key)
    if not isinstance(nominal, (int, float)) or not math.isfinite(nominal) or nominal <= 0:
        return None

    def hypothesis(log_factor: float) -> Hypothesis:
        return Hypothesis(name, key, called, mode, factor=math.exp(log_factor), mode=mode)

    def misfit(log_factor: float) -> float:
        means = model.means(hypothesis(log_factor))
        total = 0.0
        for spot, read in shown:
            mean = means[spot]
            if mean is None or not math.isfinite(mean) or read.state == "open":
                total += 0.0 if (read.state == "open") == (mean is None or mean >= 20e6) else 50.0
                continue
            width = max(read.spread, _slack(sound, spot), 1e-12)
            total += min(50.0, ((read.middle - mean) / width) ** 2)
        return total

    start, end = math.log(low), math.log(high)
    ends = misfit(start), misfit(end)
    if abs(ends[0] - ends[1]) < 1e-9:
        return None  # the readings do not see this part
    steps = 8
    grid = [start + (end - start) * i / steps for i in range(steps + 1)]
    heights = [ends[0], *(misfit(x) for x in grid[1:-1]), ends[1]]
    best = min(range(len(grid)), key=lambda i: heights[i])
    if heights[best] > HOPELESS * len(shown):
        return None  # at no value does it come near
    log_factor = _narrow(misfit, grid[max(0, best - 1)], grid[min(steps, best + 1)])
    chosen = hypothesis(log_factor)
    fit = _fit(model, chosen, model.predict(chosen), sound, shown)
    reach = _drift_range(misfit, log_factor, start, end)
    unit = "F" if block.kind.param(key) and block.part(key) and block.part(key).part_class == "capacitor" else "ohm"  # type: ignore[union-attr]
    return replace(fit, drift=(nominal * math.exp(reach[0]), nominal * math.exp(reach[1]), nominal, unit))


def _narrow(f, a: float, b: float) -> float:  # type: ignore[no-untyped-def]
    """The minimum of f between a and b by golden section, to 2 % in the factor."""
    golden = (math.sqrt(5) - 1) / 2
    c, d = b - golden * (b - a), a + golden * (b - a)
    fc, fd = f(c), f(d)
    while b - a > 0.02:
        if fc < fd:
            b, d, fd = d, c, fc
            c = b - golden * (b - a)
            fc = f(c)
        else:
            a, c, fc = c, d, fd
            d = a + golden * (b - a)
            fd = f(d)
    return (a + b) / 2


def _drift_range(misfit, best: float, start: float, end: float) -> tuple[float, float]:  # type: ignore[no-untyped-def]
    """How far the factor may go to either side before the readings are off by about the meter's accuracy more."""
    limit = misfit(best) + 4.0

    def edge(towards: float) -> float:
        inner, outer = best, towards
        if misfit(outer) <= limit:
            return outer
        for _ in range(9):
            middle = (inner + outer) / 2
            inner, outer = (middle, outer) if misfit(middle) <= limit else (inner, middle)
        return inner

    return edge(start), edge(end)
