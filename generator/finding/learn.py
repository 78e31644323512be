"""What words say of causes and of kinds of device, learned from the library itself when its index is built.

Multinomial logistic regression (Böhning, Annals of the Institute of Statistical Mathematics 44, 1992; from
memory) on the terms of the notes, each note's vector scaled to length 1, with a penalty on the weights and
none on the biases. Only terms and classes that meet in a note have a weight. Minimised by limited-memory BFGS
(Nocedal, Wright: Numerical Optimization, 2nd edition, algorithms 7.4 and 7.5).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np

    Floats = np.ndarray[Any, np.dtype[np.float64]]

PENALTY = 0.05  # times the sum of the squared weights, against the sum over the notes of -ln P
STEPS = 30  # of 25, 40 and 60, 60 found no more in generated libraries
ENOUGH = 1e-5  # share of the sum by which a step must still lower it
MEMORY = 8
NOTES = 4_000  # that are learned from; of a larger library, notes evenly spaced
WORK = 1_200_000  # notes times classes, likewise
COMMON = 40  # notes from which on a term is multiplied as a dense row


@dataclass(frozen=True)
class Learned:
    """weights: term -> (class, weight); biases: one for each class."""

    weights: Mapping[str, list[tuple[int, float]]]
    biases: list[float]


def learn(notes: Sequence[Mapping[str, float]], classes: Sequence[int], count: int) -> Learned:
    """Weights of terms for classes. notes: term -> how much of it, of any length; classes: of each note,
    below count.

    Takes time with the terms of the notes and with notes times classes, up to WORK. An empty library learns
    nothing.
    """
    if not notes or count < 1:
        return Learned({}, [0.0] * count)
    stride = max(-(-len(notes) * count // WORK), -(-len(notes) // NOTES))
    return _Problem(notes[::stride], classes[::stride], count).solve()


class _Problem:
    """The sums to be minimised. X (notes by terms) is kept in two parts: common terms dense, the others as
    triples of (note, weight, how much)."""

    def __init__(self, notes: Sequence[Mapping[str, float]], classes: Sequence[int], count: int) -> None:
        import numpy as np

        self.names = sorted({term for note in notes for term in note})
        number = {term: n for n, term in enumerate(self.names)}
        self.rows, self.count = len(notes), count
        self.classes = np.asarray(classes, dtype=np.int64)
        row = np.repeat(np.arange(self.rows), [len(note) for note in notes])
        term = np.asarray([number[name] for note in notes for name in note], dtype=np.int64)
        value = np.asarray([amount for note in notes for amount in note.values()], dtype=np.float64)
        length = np.sqrt(np.bincount(row, value * value, self.rows))
        value = value / np.where(length > 0, length, 1)[row]
        # A weight for each term and class that meet, sorted by term.
        self.pairs = np.unique(term * count + self.classes[row]) if len(term) else np.zeros(0, np.int64)
        self.term_of, self.class_of = self.pairs // count, self.pairs % count
        frequency = np.bincount(term, minlength=len(self.names))
        common = np.flatnonzero(frequency >= COMMON)
        place = np.full(len(self.names), -1)
        place[common] = np.arange(len(common))
        dense = place[term] >= 0
        self.dense = np.zeros((self.rows, len(common)), np.float32)
        self.dense[row[dense], place[term[dense]]] = value[dense]
        self.dense_pairs = np.flatnonzero(place[self.term_of] >= 0)
        self.dense_at = (place[self.term_of[self.dense_pairs]], self.class_of[self.dense_pairs])
        # The triples: each (note, term) of a rare term meets all classes of that term.
        row, term, value = row[~dense], term[~dense], value[~dense]
        first = np.searchsorted(self.term_of, term)
        held = np.searchsorted(self.term_of, term, side="right") - first
        which = np.repeat(np.arange(len(term)), held)
        self.pair = first[which] + np.arange(len(which)) - np.repeat(np.cumsum(held) - held, held)
        self.value = value[which]
        self.cell = row[which] * count + self.class_of[self.pair]
        share = np.bincount(self.classes, minlength=count) / self.rows
        self.start = np.log(np.where(share > 0, share, 0.5 / self.rows))

    def value_and_slope(self, at: Floats) -> tuple[float, Floats]:
        """The sum over the notes of -ln P plus the penalty, and its gradient; at: the weights, then the
        biases.
        """
        import numpy as np

        weights, biases = at[: len(self.pairs)], at[len(self.pairs) :]
        block = np.zeros((self.dense.shape[1], self.count), np.float32)
        block[self.dense_at] = weights[self.dense_pairs]
        rare = np.bincount(self.cell, weights[self.pair] * self.value, self.rows * self.count)
        scores = (self.dense @ block).astype(np.float64) + rare.reshape(self.rows, self.count) + biases
        scores -= scores.max(axis=1, keepdims=True)
        every = np.arange(self.rows)
        right = scores[every, self.classes]
        np.exp(scores, out=scores)
        whole = scores.sum(axis=1, keepdims=True)
        loss = float(np.log(whole).sum() - right.sum() + PENALTY * _dot(weights, weights))
        scores /= whole
        scores[every, self.classes] -= 1
        slope = (
            np.bincount(self.pair, scores.ravel()[self.cell] * self.value, len(self.pairs))
            + 2 * PENALTY * weights
        )
        slope[self.dense_pairs] += (self.dense.T @ scores.astype(np.float32))[self.dense_at]
        return loss, np.concatenate([slope, scores.sum(axis=0)])

    def solve(self) -> Learned:
        import numpy as np

        at = minimised(self.value_and_slope, np.concatenate([np.zeros(len(self.pairs)), self.start]), STEPS)
        weights: dict[str, list[tuple[int, float]]] = {}
        for term, kind, weight in zip(self.term_of.tolist(), self.class_of.tolist(), at.tolist()):
            weights.setdefault(self.names[term], []).append((kind, weight))
        return Learned(weights, at[len(self.pairs) :].tolist())


def _dot(one: Floats, other: Floats) -> float:
    """The scalar product, in one thread: `@` would wake several for it, and wait for them."""
    return float((one * other).sum())


def minimised(function: Callable[[Floats], tuple[float, Floats]], at: Floats, steps: int) -> Floats:
    """Where a smooth function is least, near enough, from a start; function: the value and the gradient.

    Two-loop recursion of L-BFGS, the step halved until it lowers the value enough (Armijo's rule).
    """
    import numpy as np

    value, slope = function(at)
    pairs: list[tuple[Floats, Floats, float]] = []
    for _ in range(steps):
        way = -slope
        past = []
        for moved, turned, scale in reversed(pairs):
            part = scale * _dot(moved, way)
            past.append(part)
            way = way - part * turned
        if pairs:
            moved, turned, scale = pairs[-1]
            way = way / (scale * _dot(turned, turned))
        for (moved, turned, scale), part in zip(pairs, reversed(past)):
            way = way + moved * (part - scale * _dot(turned, way))
        fall = _dot(slope, way)
        size = 1.0 if pairs else min(1.0, 1 / max(1e-12, float(np.abs(slope).sum())))
        for _ in range(20):
            there, then = function(at + size * way)
            if there <= value + 1e-4 * size * fall:
                break
            size /= 2
        else:
            break
        moved, turned = size * way, then - slope
        bend = _dot(moved, turned)
        if bend > 1e-12:
            pairs = [*pairs[1 - MEMORY :], (moved, turned, 1 / bend)]
        done = abs(value - there) <= ENOUGH * abs(value)
        at, value, slope = at + moved, there, then
        if done:
            break
    return at
