"""How well a further reading would split what is left: its expected gain in information.

Pure arithmetic on arrays; what can be measured, and how gladly, is for asking.py.
"""

from __future__ import annotations

import numpy as np

from generator.diagnosis.evidence import Array

# likelihood below which two predictions count as told apart for good: a reading may be wrong
LEAST_APART = 1e-4

NOTHING = 1e-300


def expected_gain(
    share: Array, mean: Array, spread: Array, same: Array | None = None, leak: Array | float = np.inf
) -> Array:
    """For each of P places the bits by which reading it is expected to lessen the doubt between C candidates.

    share (C): how likely each is now, any scale. mean, spread (C, P): what the meter would show under each and its standard
    deviation, mean inf for OL, nan where a candidate says nothing of a place. same (C, C): True for two candidates that
    count as one answer (the same part failed in much the same way), None for no such pairs. leak (P): from where on a number
    may also be read where a candidate says OL. Returns (P) at least 0.

    Each candidate in turn is taken to be true and its mean to be read; the gain is the mutual information between answer
    and reading with the readings taken at their means. Source: expected information gain, e.g. D. J. C. MacKay,
    Information Theory, Inference, and Learning Algorithms, 2003, chapter 8 (definition of mutual information).
    """
    whole = share.sum()
    prior = share / whole if whole > 0 else np.full(len(share), 1 / len(share))
    alike = np.eye(len(prior), dtype=bool) if same is None else same
    seen = likeness(mean, spread, leak)
    seen = np.maximum(seen, LEAST_APART)
    posterior = prior[:, None, None] * seen.transpose(1, 0, 2)  # (answer, truth, place)
    posterior /= posterior.sum(0, keepdims=True)
    own = np.einsum("at,atp->tp", alike.astype(float), posterior)  # share of the true answer after reading
    before = alike.astype(float) @ prior
    # a candidate that cannot be weighs nothing, whatever a reading makes of it
    bits = np.log2(np.maximum(own, NOTHING)) - np.log2(np.maximum(before, NOTHING))[:, None]
    gained: Array = np.einsum("t,tp->p", prior, bits)
    return np.maximum(gained, 0.0)


def likeness(mean: Array, spread: Array, leak: Array | float = np.inf) -> Array:
    """(C, C, P): how likely the reading at the mean of one candidate (first) is under another (second), itself being 1. leak
    (P): as in expected_gain."""
    one, other = mean[:, None, :], mean[None, :, :]
    known = ~(np.isnan(one) | np.isnan(other))
    open_ = np.isinf(one), np.isinf(other)
    both = ~open_[0] & ~open_[1] & known
    gap = np.where(both, np.where(both, one, 0.0) - np.where(both, other, 0.0), 0.0)
    width = spread[None, :, :] ** 2 + spread[:, None, :] ** 2
    near = np.exp(-0.5 * gap**2 / np.maximum(width, 1e-18))
    nearly = open_[1] & (one > leak)  # OL itself among them
    return np.where(known, np.where(both, near, (open_[0] == open_[1]) | nearly), 1.0)
