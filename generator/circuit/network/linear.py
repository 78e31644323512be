"""Systems of linear equations, in batches."""

from __future__ import annotations

import numpy as np

from generator.circuit.network.primitives import Array

NEGLIGIBLE = 1e-14  # singular values below this share of the largest are what rounding leaves of zero in a few hundred nets


def solved(matrices: Array, rights: Array) -> Array:
    """The solution of each system of a batch, (batch, size, columns); of one that is singular, the smallest that fits best."""
    try:
        return np.linalg.solve(matrices, rights)
    except np.linalg.LinAlgError:
        singular = np.linalg.slogdet(matrices)[0] == 0
        found = np.linalg.solve(
            np.where(singular[:, None, None], np.eye(matrices.shape[-1]), matrices), rights
        )
        found[singular] = np.linalg.pinv(matrices[singular], rcond=NEGLIGIBLE) @ rights[singular]
        return found


def solved_one(matrices: Array, rights: Array) -> Array:
    """The same for one right side each, (batch, size)."""
    return solved(matrices, rights[..., None])[..., 0]
