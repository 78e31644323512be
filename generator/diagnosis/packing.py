"""What every failure makes the meter show, as text: for each place, which failures move it, how far, and how it scatters then.

    packed(seen, differs, rows)     # a text for each place; rule() says how it is read

Five characters of ALPHABET for every row (a size of a failure) under which a place is not as in the sound device, or a size
between others not as they say: how many rows
are skipped, two for the mean, one for the scatter, one for how much of it goes with that of the sound device. A mean of n
about HALF is sound + sign(n) · step · (e^(|n| · GRAIN) − 1); about NIL it is counted from nought in finer steps, for what is
small beside that of the sound device. OPEN and UNKNOWN stand for OL and for nothing known. Scatter of n: e^((n − SAME) ·
WIDER) times that of the sound device, which counts as LEAST_SCATTER steps at least. Common share of n: (n − WHOLLY) / WHOLLY.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from generator.circuit.network.primitives import Array
from generator.diagnosis.scattering import LEAST_SCATTER, Scattering

# what HTML and JSON leave as it is
ALPHABET = "".join(chr(c) for c in range(0x21, 0x7F) if chr(c) not in "&<>'\"\\")
BASE = len(ALPHABET)
GRAIN = 0.03  # a mean is kept to this share: below evidence.UNSURE, by which no model is exact
REACH = BASE**2 // 4 - 1  # counts each way
HALF, NIL = REACH, 3 * REACH
OPEN, UNKNOWN = BASE**2 - 1, BASE**2 - 2
FINER = 100.0  # steps about nought in one of the others
SMALL = 0.3  # of what the sound device shows: what shows less is counted from nought
WIDER, SAME = 0.3, 44  # e^0.3: a third
WHOLLY = 6
CLOSE = 0.02  # of how far a failure moves a place, and a step: sizes between two others are told apart from there on
MISSED = 0.4  # of a step: moved by less, a place is as in the sound device


def rule() -> dict[str, Any]:
    """The numbers by which a script reads it."""
    return {
        "alphabet": ALPHABET, "grain": GRAIN, "half": HALF, "nil": NIL, "finer": FINER, "open": OPEN, "unknown": UNKNOWN,
        "wider": WIDER, "same": SAME, "wholly": WHOLLY, "scatter": LEAST_SCATTER,
    }  # fmt: skip


def differing(seen: Scattering) -> NDArray[np.bool_]:
    """(H, places): which rows move which places, or scatter them otherwise. The first row is the sound device."""
    mean, step = seen.mean, seen.step
    finite = np.isfinite(mean)
    near = np.abs(np.where(finite, mean, 0.0) - np.where(np.isfinite(mean[0]), mean[0], 0.0)) < MISSED * step
    alike = finite & near & (np.abs(_ratio(seen)) < 1.5 * WIDER)
    found: NDArray[np.bool_] = ~np.where(np.isinf(mean[0]), np.isinf(mean), alike)
    return found


def foretold(seen: Scattering, row: int, before: int, behind: int, part: float) -> NDArray[np.bool_]:
    """(places): whether a row is near enough what the two next to its size say of it. part: how far from the
    one to the other its size lies, 1 and more beyond them."""
    straight = np.isfinite(seen.mean[[before, behind]]).all(0)
    near = before if part < 0.5 else behind
    mean, one, other = (np.where(straight, seen.mean[n], 0.0) for n in (row, before, behind))
    gap = np.where(straight & np.isfinite(seen.mean[row]), mean - one - part * (other - one), math.inf)
    gap = np.where(~straight & (seen.mean[row] == seen.mean[near]), 0.0, gap)
    sound = np.where(np.isfinite(seen.mean[0]), seen.mean[0], 0.0)
    ratio = _ratio(seen)[[row, before, behind]]
    wider = np.where(straight, ratio[0] - ratio[1] - part * (ratio[2] - ratio[1]), 0.0)
    size = CLOSE * np.abs(mean)
    enough = np.minimum(seen.step, size + seen.step / FINER) + np.minimum(CLOSE * np.abs(mean - sound), size)
    found: NDArray[np.bool_] = (np.abs(gap) < enough) & (np.abs(wider) < 2 * WIDER)
    return found


def packed(seen: Scattering, differs: NDArray[np.bool_], rows: Sequence[int]) -> list[str]:
    """A text for each place, of these rows. differs (H, places): what has to be said."""
    mean, step = seen.mean, seen.step
    sound = np.where(np.isinf(mean[0]), 0.0, mean[0])
    finite = np.isfinite(mean)
    shown = np.where(finite, mean, 0.0)
    small = finite & (np.abs(shown) < SMALL * np.abs(sound))
    code = np.where(small, _count(shown, step / FINER) + NIL, _count(shown - sound, step) + HALF)
    code = np.where(np.isinf(mean), OPEN, np.where(np.isnan(mean), UNKNOWN, code)).astype(int)
    wider = np.where(finite, np.rint(_ratio(seen) / WIDER), 0).astype(int) + SAME
    common = np.rint(np.where(finite, seen.together, 0.0) * WHOLLY).astype(int) + WHOLLY
    own = np.array(rows, dtype=int)
    return [
        _text(np.flatnonzero(differs[own, n]), code[own, n], wider[own, n], common[own, n])
        for n in range(len(step))
    ]


def _ratio(seen: Scattering) -> Array:
    """Logarithm of how much more than in the sound device each place scatters."""
    wide = np.maximum(np.where(np.isfinite(seen.mean), seen.spread, 0.0), LEAST_SCATTER * seen.step)
    found: Array = np.clip(np.log(wide / wide[0]), -WIDER * SAME, WIDER * (BASE - 1 - SAME))
    return found


def _count(value: Array, step: Array) -> Array:
    found: Array = np.sign(value) * np.minimum(np.rint(np.log1p(np.abs(value) / step) / GRAIN), REACH - 1)
    return found


def _text(rows: Array, code: Array, wider: Array, common: Array) -> str:
    text, last = [], -1
    for row in rows.tolist():
        skipped = row - last - 1
        text.append(ALPHABET[-1] * (skipped // (BASE - 1)) + ALPHABET[skipped % (BASE - 1)])
        high, low = divmod(int(code[row]), BASE)
        text.append(ALPHABET[high] + ALPHABET[low] + ALPHABET[wider[row]] + ALPHABET[common[row]])
        last = row
    return "".join(text)
