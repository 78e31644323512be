"""How well readings fit a prediction: the bands, and the likelihood of all readings together.

The readings are taken together as one vector. Under a hypothesis it scatters about the predicted mean with the part
tolerances (uniform over their bands), the meter's accuracy and a little for what no drawing shows.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from generator.diagnosis.model import Prediction, Spot
from generator.diagnosis.readings import Shown

MISMATCH = -16.0  # log-likelihood of a reading where nothing of the kind is predicted (open, or no value)
NOTHING_READ = -3.0  # of a 0 on the display where no value is predicted; less than where 0 is predicted
FLOOR = -40.0  # of one reading; one wild reading must not outweigh all others
UNDRAWN = 0.01  # share of the sound value: contact resistance, leakage, what the drawing leaves out


def band_of(found: Prediction, spot: Spot) -> tuple[float, float] | None:
    """(low, high) of what the hypothesis predicts at a spot; None where it predicts no value."""
    mean = found.mean[spot]
    if mean is None:
        return None
    reach = sum(abs(shift) for shift in found.shifts[spot].values())
    return mean - reach, math.inf if spot in found.beyond else mean + reach


def slack_of(sound: Prediction, spot: Spot) -> float:
    """What a reading may be off for what no drawing shows, in the spot's unit."""
    mean = sound.mean[spot]
    return UNDRAWN * abs(mean) if mean is not None and math.isfinite(mean) else 0.0


def agrees(read: Shown, band: tuple[float, float] | None, slack: float) -> bool:
    """Whether a reading can be what a band predicts, allowing for the meter and the slack."""
    if band is None:  # a meter shows 0 where there is nothing to read
        return read.state == "open" or read.low <= 0 <= read.high
    if read.state == "open":
        return band[1] >= read.low
    return read.low - slack <= band[1] and read.high + slack >= band[0]


def log_likelihood(found: Prediction, sound: Prediction, shown: Sequence[tuple[Spot, Shown]]) -> float:
    """Log of the probability that the meter shows these intervals."""
    total = 0.0
    spots: list[tuple[Spot, Shown, float]] = []
    for spot, read in shown:
        mean = found.mean[spot]
        numeric = mean is not None and math.isfinite(mean) and read.state != "open"
        if spot in found.beyond:
            total += (
                _of_a_rise(read) if agrees(read, band_of(found, spot), slack_of(sound, spot)) else MISMATCH
            )
        elif mean is None and read.state != "open" and agrees(read, None, 0.0):
            total += NOTHING_READ
        elif numeric:
            assert mean is not None
            spots.append((spot, read, mean))
        else:
            total += 0.0 if agrees(read, band_of(found, spot), 0.0) else MISMATCH
    return total + max(_gaussian(found, sound, spots), FLOOR * len(spots)) if spots else total


def _of_a_rise(read: Shown) -> float:
    """Log-likelihood of a reading of something that rises without a known end: anywhere in two decades alike."""
    return math.log(2 * read.spread / (max(abs(read.middle), read.spread) * math.log(100.0)))


def _gaussian(found: Prediction, sound: Prediction, spots: list[tuple[Spot, Shown, float]]) -> float:
    size = len(spots)
    spreads = [max(read.spread, slack_of(sound, spot) * 0.5, 1e-9) for spot, read, _ in spots]
    matrix = [[0.0] * size for _ in range(size)]
    for i, (spot, _, mean) in enumerate(spots):
        matrix[i][i] += spreads[i] ** 2 / 3 + max(slack_of(sound, spot), UNDRAWN * abs(mean) * 0.3) ** 2
        for j in range(i + 1):
            other = found.shifts[spots[j][0]]
            together = (
                sum(shift * other[key] for key, shift in found.shifts[spot].items() if key in other) / 3
            )
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
