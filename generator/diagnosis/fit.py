"""Which single failure explains the readings: likelihoods from predictions, not rules.

The readings are taken together as one vector. Under a hypothesis it scatters about the predicted mean with the part
tolerances (uniform over their bands), the meter's accuracy and a little for what no drawing shows. The score is the
posterior share of each hypothesis, all failures being equally likely beforehand and health more likely than any.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from generator.circuit.block import Block
from generator.diagnosis.model import HEALTH, Hypothesis, Model, Prediction, Spot
from generator.diagnosis.readings import OPEN_FROM, Shown

HEALTH_PRIOR = 10.0  # how much likelier health is than any one failure, before reading anything
DRIFT_PRIOR = 0.25  # a part drifted to just any value, beside one failed outright
MISMATCH = -16.0  # log-likelihood of a reading where nothing of the kind is predicted (open, or no value)
GRID = 6  # steps of the first look along a part's drift
_HOPELESS = math.asinh(20.0)  # mean misfit beyond which a drift explains nothing
NEAR = 0.4  # of the log of a drift's factor: how far beside the best another value is looked for
NOTHING_READ = -3.0  # of a 0 on the display where no value is predicted; less than where 0 is predicted
FLOOR = -40.0  # of one reading; one wild reading must not outweigh all others
UNDRAWN = 0.01  # share of the sound value: contact resistance, leakage, what the drawing leaves out
SOMETHING_ELSE = -13.0  # log-likelihood of a reading under what no single failure explains
PLAUSIBLE = 0.02  # posterior share from which a hypothesis is worth telling apart

DRIFT_ENDS = (0.02, 100.0)  # times the nominal value: beyond that a part is as good as open or shorted
# How parts drift: resistors go high, capacitors lose capacitance, thermistors go either way.
DRIFTS = {"resistor": (("high", 1.05, DRIFT_ENDS[1]),), "capacitor": (("low", DRIFT_ENDS[0], 0.95),),
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
    return mean - reach, math.inf if spot in found.beyond else mean + reach


def _slack(sound: Prediction, spot: Spot) -> float:
    mean = sound.mean[spot]
    return UNDRAWN * abs(mean) if mean is not None and math.isfinite(mean) else 0.0


def _agrees(read: Shown, band: tuple[float, float] | None, slack: float) -> bool:
    if band is None:  # a meter shows 0 where there is nothing to read
        return read.state == "open" or read.low <= 0 <= read.high
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
        if spot in found.beyond:
            total += _of_a_rise(read) if _agrees(read, _band(found, spot), _slack(sound, spot)) else MISMATCH
        elif mean is None and read.state != "open" and _agrees(read, None, 0.0):
            total += NOTHING_READ
        elif numeric:
            assert mean is not None
            spots.append((spot, read, mean))
        else:
            total += 0.0 if _agrees(read, _band(found, spot), 0.0) else MISMATCH
    return total + max(_gaussian(found, sound, spots), FLOOR * len(spots)) if spots else total


def _of_a_rise(read: Shown) -> float:
    """Log-likelihood of a reading of something that rises without a known end: anywhere in two decades alike."""
    return math.log(2 * read.spread / (max(abs(read.middle), read.spread) * math.log(100.0)))


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
                found = _drift(model, block, name, key, called, mode, low, high, sound, shown, fits[0].contradicts)
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
    sound: Prediction, shown: Sequence[tuple[Spot, Shown]], contradicted: Sequence[Spot],
) -> Fit | None:  # fmt: skip
    nominal = block.point.__dict__.get(key)
    if not isinstance(nominal, (int, float)) or not math.isfinite(nominal) or nominal <= 0:
        return None

    def hypothesis(log_factor: float) -> Hypothesis:
        return Hypothesis(name, key, called, mode, factor=math.exp(log_factor), mode=mode)

    widths = [_width(read, sound, spot) for spot, read in shown]
    seen: dict[float, dict[Spot, float | None]] = {}

    def means(log_factor: float) -> dict[Spot, float | None]:
        if log_factor not in seen:
            seen[log_factor] = model.means(hypothesis(log_factor))
        return seen[log_factor]

    def misfit(log_factor: float) -> float:
        """How far the readings are off: it grows with the distance everywhere, so that the search finds its way from afar."""
        there = means(log_factor)
        return sum(_off(read, there[spot], width) ** 2 for (spot, read), width in zip(shown, widths))

    start, end = math.log(low), math.log(high)
    if any(all(means(x)[spot] == sound.mean[spot] for x in (start, end)) for spot in contradicted):
        return None  # it does not move what has to be explained
    grid = [start + (end - start) * i / GRID for i in range(GRID + 1)]
    best = min(range(len(grid)), key=lambda i: misfit(grid[i]))
    log_factor = _narrow(misfit, grid[max(0, best - 1)], grid[min(GRID, best + 1)])
    if misfit(log_factor) > len(shown):  # perhaps on a cliff between two grid points: a rail that breaks down
        cliff = _crossing(lambda x: _off(*_first(shown, means(x), widths, contradicted[0])), grid)
        log_factor = cliff if cliff is not None and misfit(cliff) < misfit(log_factor) else log_factor
    if misfit(log_factor) > _HOPELESS**2 * len(shown):
        return None  # at no value does it come near
    found = model.predict(hypothesis(log_factor))

    def gap(log_factor: float) -> float:
        """How far the readings are outside the bands there, which are taken to be as wide, for their size, as in found."""
        there = means(log_factor)
        return max(_gap(read, _moved(found, spot, there[spot]), _slack(sound, spot)) for spot, read in shown)

    if gap(log_factor) > 0:  # the best on the whole may just miss one reading that a neighbour meets
        beside = _narrow(gap, max(start, log_factor - NEAR), min(end, log_factor + NEAR))
        if gap(beside) <= 0:
            log_factor = beside
            found = model.predict(hypothesis(log_factor))
    fit = _fit(model, hypothesis(log_factor), found, sound, shown)
    reach = _drift_range(lambda x: gap(x) <= 0, log_factor, start, end)
    unit = "F" if block.kind.param(key) and block.part(key) and block.part(key).part_class == "capacitor" else "ohm"  # type: ignore[union-attr]
    return replace(fit, drift=(nominal * math.exp(reach[0]), nominal * math.exp(reach[1]), nominal, unit))


def _width(read: Shown, sound: Prediction, spot: Spot) -> float:
    """What the meter and the other parts' tolerances leave open of a reading."""
    mean = sound.mean[spot]
    reach = sum(abs(shift) for shift in sound.shifts[spot].values())
    share = reach / abs(mean) if mean and math.isfinite(mean) and math.isfinite(reach) else 0.0
    return max(read.spread + share * abs(read.middle) if math.isfinite(read.middle) else 0.0, _slack(sound, spot), 1e-12)


def _off(read: Shown, mean: float | None, width: float) -> float:
    """Distance of a reading from a mean in widths, on a scale that is straight near 0 and logarithmic far off."""
    if mean is None or not math.isfinite(mean) or read.state == "open":
        fits = (read.state == "open") == (mean is None or mean >= OPEN_FROM)
        return 0.0 if fits else math.asinh(1e4)
    return math.asinh((read.middle - mean) / width)


def _first(
    shown: Sequence[tuple[Spot, Shown]], there: dict[Spot, float | None], widths: Sequence[float], at: Spot
) -> tuple[Shown, float | None, float]:
    """The reading at a spot, what is predicted there, and its width."""
    return next((read, there[spot], width) for (spot, read), width in zip(shown, widths) if spot == at)


def _crossing(f: Callable[[float], float], grid: Sequence[float]) -> float | None:
    """Where f changes its sign along a grid, by halving to 1e-4; None where it does not."""
    for a, b in zip(grid, grid[1:]):
        if f(a) * f(b) < 0:
            rising = f(a) < 0
            while b - a > 1e-4:
                middle = (a + b) / 2
                a, b = (middle, b) if (f(middle) < 0) == rising else (a, middle)
            return (a + b) / 2
    return None


def _narrow(f: Callable[[float], float], a: float, b: float) -> float:
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


def _gap(read: Shown, band: tuple[float, float] | None, slack: float) -> float:
    """How far a reading is outside a band, as a share of its own spread; not above 0 where they meet."""
    if band is None or read.state == "open" or not math.isfinite(band[0]):
        return 0.0 if _agrees(read, band, slack) else 1e4
    return max(read.low - slack - band[1], band[0] - read.high - slack) / max(read.spread, 1e-12)


def _moved(found: Prediction, spot: Spot, mean: float | None) -> tuple[float, float] | None:
    """The band at a spot, moved to another mean; a larger value scatters more."""
    band, before = _band(found, spot), found.mean[spot]
    if mean is None or band is None or before is None or not (math.isfinite(mean) and math.isfinite(before)):
        return None if mean is None else (mean, mean)
    reach = (band[1] - band[0]) / 2 * (abs(mean / before) if before else 1.0)
    return mean - reach, mean + reach


def _drift_range(agrees: Callable[[float], bool], best: float, start: float, end: float) -> tuple[float, float]:
    """How far the log of the factor may go to either side and the readings still agree, the other parts' tolerances allowed for."""

    def edge(towards: float) -> float:
        inner, step = best, math.copysign(0.1, towards - best)
        while agrees(inner):  # in growing steps, then closing in to 1 % of the factor
            outer = inner + step
            if abs(outer - best) >= abs(towards - best):
                if agrees(towards):
                    return towards
                outer = towards
                break
            if not agrees(outer):
                break
            inner, step = outer, 2 * step
        else:
            return best
        while abs(outer - inner) > 0.01:
            middle = (inner + outer) / 2
            inner, outer = (middle, outer) if agrees(middle) else (inner, middle)
        return inner

    return edge(start), edge(end)
