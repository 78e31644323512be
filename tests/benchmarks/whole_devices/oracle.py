"""Who could tell which faults apart: judged from the simulations alone, without priors.

Every fault of a device is simulated in the same dozen specimens. A fault's likelihood for some readings is
a Student t of its mean over the specimens, with their covariance (so that one low mains lowers everything
together) and the meter's own error. Sizes between the simulated ones are interpolated. A fault that is at
most TIE natural logs below the true one is tied with it: from those readings nobody could be 8:1 sure.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

TIE = 2.0
FREEDOM = 8.0
SHOWN = 4.0  # the fault must be e^4 likelier than a sound device, or its readings show nothing


@dataclass(frozen=True)
class Bank:
    """values: variants x specimens x places, ohms as logarithms; fault: of each variant, -1 for sound; blew:
    the fuses that it blew.
    """

    values: np.ndarray
    fault: np.ndarray
    blew: np.ndarray

    def judge(
        self, places: list[int], read: np.ndarray, sigma: np.ndarray, floor: np.ndarray
    ) -> dict[int, float]:
        """Log likelihood of each fault, the best of its sizes. read, sigma, floor: one for each place."""
        usable = np.isfinite(self.values[:, :, places]).all((1, 2))
        taken = np.where(usable[:, None, None], self.values[:, :, places], 0.0)
        means = taken.mean(1)
        spread = taken - means[:, None, :]
        covariance = np.einsum("vsi,vsj->vij", spread, spread) / (taken.shape[1] - 1)
        diagonal = np.einsum("vii->vi", covariance)
        own = np.zeros_like(covariance)
        index = np.arange(len(places))
        covariance = 0.75 * covariance
        own[:, index, index] = 0.25 * diagonal + sigma**2 + floor**2
        best: dict[int, float] = {}
        found = _student(read - means, covariance + own)
        for variant, value in enumerate(found):
            if usable[variant]:
                fault = int(self.fault[variant])
                best[fault] = max(best.get(fault, -np.inf), value)
        near = [
            v
            for v in range(len(self.fault) - 1)
            if self.fault[v] == self.fault[v + 1] >= 0
            and self.blew[v] == self.blew[v + 1]
            and usable[v]
            and usable[v + 1]
        ]
        near_index = np.array(near, dtype=int)
        if len(near):
            for share in (0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875):
                middle = means[near_index] * (1 - share) + means[near_index + 1] * share
                wide = (covariance + own)[near_index] * (1 - share) + (covariance + own)[
                    near_index + 1
                ] * share
                step = np.abs(means[near_index + 1] - means[near_index]) * 0.04
                wide = wide.copy()
                wide[:, index, index] += step**2
                for variant, value in zip(near, _student(read - middle, wide)):
                    fault = int(self.fault[variant])
                    best[fault] = max(best[fault], value)
        return best


def _student(off: np.ndarray, covariance: np.ndarray) -> np.ndarray:
    size = off.shape[1]
    solved = np.linalg.solve(covariance, off[:, :, None])[:, :, 0]
    distance = np.einsum("vi,vi->v", off, solved)
    return -0.5 * np.linalg.slogdet(covariance)[1] - (FREEDOM + size) / 2 * np.log1p(distance / FREEDOM)


def tied(scores: dict[int, float], true: int) -> list[int]:
    """The faults that cannot be told from the true one, likeliest first; -1 is a sound device."""
    least = scores[true] - TIE
    return sorted(
        (f for f, value in scores.items() if f != true and value >= least), key=lambda f: -scores[f]
    )
