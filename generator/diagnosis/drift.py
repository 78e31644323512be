"""Parts that have drifted: which value of a resistor, capacitor or thermistor would explain the readings."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from generator.diagnosis.likelihood import agrees, band_of, slack_of
from generator.diagnosis.model import Hypothesis, Model, Prediction, Spot
from generator.diagnosis.readings import OPEN_FROM, Shown

ENDS = (0.02, 100.0)  # times the nominal value: beyond that a part is as good as open or shorted
# How parts drift, and between which factors: resistors go high, capacitors lose capacitance, sensors go either way.
DRIFTS = {
    "resistor": (("high", 1.05, ENDS[1]),),
    "capacitor": (("low", ENDS[0], 0.95),),
    "thermistor": (("high", 1.05, 20.0), ("low", 0.05, 0.95)),
    "photoresistor": (("high", 1.05, 20.0), ("low", 0.05, 0.95)),
}
GRID = 6  # steps of the first look along a drift
NEAR = 0.4  # of the log of the factor: how far beside the best another value is looked for
HOPELESS = math.asinh(20.0)  # mean misfit beyond which a drift explains nothing
CLIFF = 3.0  # times the scatter of the sound circuit
SCATTERS_MOST = 3.0  # times: how much wider a band may get as its middle grows


@dataclass(frozen=True)
class Drift:
    """A drift that comes near the readings: the part at its best value, what it predicts there, and the range of its
    value (from, to, nominal, unit) over which the readings still agree. share: of all that it could have drifted to, on a
    logarithmic scale."""

    hypothesis: Hypothesis
    predicted: Prediction
    reach: tuple[float, float, float, str]
    share: float


def find_drift(
    model: Model, sound: Prediction, shown: Sequence[tuple[Spot, Shown]], unexplained: Sequence[Spot],
    part: Hypothesis, nominal: float, unit: str, low: float, high: float,
) -> Drift | None:  # fmt: skip
    """The value of a part that explains the readings best; None where none comes near.

    part: how it drifts; nominal: its value in unit, inf for a leak across it; low, high: between which factors of its
    value (or, for a leak, between which ohm) it may have drifted; unexplained: the spots where the sound circuit does not
    fit, all of which the part has to move.
    """
    search = _Search(model, sound, shown, part, math.log(low), math.log(high))
    if any(
        all(search.means(x)[spot] == sound.mean[spot] for x in (search.start, search.end))
        for spot in unexplained
    ):
        return None
    if any(search.never_near(spot) for spot in unexplained):
        return None
    best = search.best(unexplained[0])
    if search.misfit(best) > HOPELESS**2 * len(shown):
        return None
    best, predicted = search.agreeing(best)
    first, last = search.reach(best, predicted)
    scale = nominal if math.isfinite(nominal) else 1.0
    ends = scale * math.exp(first), scale * math.exp(last)
    share = (last - first) / (search.end - search.start)
    return Drift(search.at(best), predicted, (*ends, nominal, unit), share)


class _Search:
    """Along the logarithm of the factor of one part's value, between start and end."""

    def __init__(
        self,
        model: Model,
        sound: Prediction,
        shown: Sequence[tuple[Spot, Shown]],
        part: Hypothesis,
        start: float,
        end: float,
    ) -> None:
        self.model, self.sound, self.shown, self.part, self.start, self.end = (
            model,
            sound,
            shown,
            part,
            start,
            end,
        )
        self.widths = [_width(read, sound, spot) for spot, read in shown]
        self.slacks = [slack_of(sound, spot) for spot, _ in shown]
        self._means: dict[float, dict[Spot, float | None]] = {}

    def at(self, x: float) -> Hypothesis:
        part = self.part
        return Hypothesis(part.block, part.key, part.part, part.failed, factor=math.exp(x), mode=part.mode)

    def means(self, x: float) -> dict[Spot, float | None]:
        if x not in self._means:
            self._means[x] = self.model.means(self.at(x))
        return self._means[x]

    def misfit(self, x: float) -> float:
        """How far the readings are off: it grows with the distance everywhere, so that a search finds its way from afar."""
        there = self.means(x)
        return sum(
            _off(read, there[spot], width) ** 2 for (spot, read), width in zip(self.shown, self.widths)
        )

    def never_near(self, spot: Spot) -> bool:
        """Whether the part's whole travel leaves a reading far off to one side (what drifts, moves a reading one way)."""
        number = next(n for n, (at, _) in enumerate(self.shown) if at == spot)
        read, width = self.shown[number][1], self.widths[number]
        first, last = (_off(read, self.means(x)[spot], width) for x in (self.start, self.end))
        return first * last > 0 and min(abs(first), abs(last)) > HOPELESS

    def best(self, unexplained: Spot) -> float:
        """Where the readings fit best on the whole."""
        grid = [self.start + (self.end - self.start) * i / GRID for i in range(GRID + 1)]
        nearest = min(range(GRID + 1), key=lambda i: self.misfit(grid[i]))
        best = lowest(self.misfit, grid[max(0, nearest - 1)], grid[min(GRID, nearest + 1)])
        if self.misfit(best) > len(
            self.shown
        ):  # perhaps on a cliff between two grid points: a rail that breaks down
            number = next(n for n, (spot, _) in enumerate(self.shown) if spot == unexplained)
            read, width = self.shown[number][1], self.widths[number]
            cliff = crossing(lambda x: _off(read, self.means(x)[unexplained], width), grid)
            if cliff is not None and self.misfit(cliff) < self.misfit(best):
                return cliff
        return best

    def agreeing(self, best: float) -> tuple[float, Prediction]:
        """best, or a neighbour at which every reading meets its band: the best on the whole may just miss one."""
        predicted = self.model.predict(self.at(best))
        if self.gap(best, predicted) > 0:
            beside = lowest(
                lambda x: self.gap(x, predicted), max(self.start, best - NEAR), min(self.end, best + NEAR)
            )
            if self.gap(beside, predicted) <= 0:
                return beside, self.model.predict(self.at(beside))
        return best, predicted

    def gap(self, x: float, predicted: Prediction) -> float:
        """How far the worst reading is outside its band, which is taken to be as wide, for its size, as predicted; on a
        cliff it is predicted anew."""
        if self.steep(predicted):
            anew = self.model.predict(self.at(x))
            return max(
                _gap(read, band_of(anew, spot), slack) for (spot, read), slack in zip(self.shown, self.slacks)
            )
        there = self.means(x)
        return max(
            _gap(read, _moved(predicted, spot, there[spot]), slack)
            for (spot, read), slack in zip(self.shown, self.slacks)
        )

    def steep(self, predicted: Prediction) -> bool:
        """Whether a reading scatters far more here than in the sound circuit: the value stands on a cliff."""
        for spot, read in self.shown:
            here, sound = (
                sum(abs(shift) for shift in p.shifts[spot].values()) for p in (predicted, self.sound)
            )
            mean, was = predicted.mean[spot], self.sound.mean[spot]
            if mean is None or was is None or not (math.isfinite(mean) and math.isfinite(was)):
                continue
            if here > CLIFF * (
                sound * max(1.0, abs(mean / was) if was else 1.0) + read.spread + 0.02 * abs(was)
            ):
                return True
        return False

    def reach(self, best: float, predicted: Prediction) -> tuple[float, float]:
        """How far the factor may go to either side and the readings still agree, the other parts' tolerances allowed for."""

        def edge(towards: float) -> float:
            inner, step = best, math.copysign(0.1, towards - best)
            while self.gap(inner, predicted) <= 0:  # in growing steps, then closing in to 3 % of the factor
                outer = inner + step
                if abs(outer - best) >= abs(towards - best):
                    if self.gap(towards, predicted) <= 0:
                        return towards
                    outer = towards
                    break
                if self.gap(outer, predicted) > 0:
                    break
                inner, step = outer, 2 * step
            else:
                return best
            while abs(outer - inner) > 0.03:
                middle = (inner + outer) / 2
                inner, outer = (middle, outer) if self.gap(middle, predicted) <= 0 else (inner, middle)
            return inner

        return edge(self.start), edge(self.end)


def _width(read: Shown, sound: Prediction, spot: Spot) -> float:
    """What the meter and the other parts' tolerances leave open of a reading."""
    mean = sound.mean[spot]
    reach = sum(abs(shift) for shift in sound.shifts[spot].values())
    share = reach / abs(mean) if mean and math.isfinite(mean) and math.isfinite(reach) else 0.0
    return max(
        read.spread + share * abs(read.middle) if math.isfinite(read.middle) else 0.0,
        slack_of(sound, spot),
        1e-12,
    )


def _off(read: Shown, mean: float | None, width: float) -> float:
    """Distance of a reading from a mean in widths, on a scale that is straight near 0 and logarithmic far off."""
    if mean is None or not math.isfinite(mean) or read.state == "open":
        fits = (read.state == "open") == (mean is None or mean >= OPEN_FROM)
        return 0.0 if fits else math.asinh(1e4)
    return math.asinh((read.middle - mean) / width)


def _gap(read: Shown, band: tuple[float, float] | None, slack: float) -> float:
    """How far a reading is outside a band, as a share of its own spread; not above 0 where they meet."""
    if band is None or read.state == "open" or not math.isfinite(band[0]):
        return 0.0 if agrees(read, band, slack) else 1e4
    return max(read.low - slack - band[1], band[0] - read.high - slack) / max(read.spread, 1e-12)


def _moved(predicted: Prediction, spot: Spot, mean: float | None) -> tuple[float, float] | None:
    """The band at a spot, moved to another mean; a larger value scatters more."""
    band, before = band_of(predicted, spot), predicted.mean[spot]
    if mean is None or band is None or before is None or not (math.isfinite(mean) and math.isfinite(before)):
        return None if mean is None else (mean, mean)
    reach = (band[1] - band[0]) / 2 * (min(abs(mean / before), SCATTERS_MOST) if before else 1.0)
    return mean - reach, mean + reach


def crossing(f: Callable[[float], float], grid: Sequence[float]) -> float | None:
    """Where f changes its sign along a grid, by halving to 1e-4; None where it does not."""
    for a, b in pairwise(grid):
        if f(a) * f(b) < 0:
            rising = f(a) < 0
            while b - a > 1e-4:
                middle = (a + b) / 2
                a, b = (middle, b) if (f(middle) < 0) == rising else (a, middle)
            return (a + b) / 2
    return None


def lowest(f: Callable[[float], float], a: float, b: float) -> float:
    """The minimum of f between a and b by golden section, to 0.04."""
    golden = (math.sqrt(5) - 1) / 2
    c, d = b - golden * (b - a), a + golden * (b - a)
    fc, fd = f(c), f(d)
    while b - a > 0.04:
        if fc < fd:
            b, d, fd = d, c, fc
            c = b - golden * (b - a)
            fc = f(c)
        else:
            a, c, fc = c, d, fd
            d = a + golden * (b - a)
            fd = f(d)
    return (a + b) / 2
