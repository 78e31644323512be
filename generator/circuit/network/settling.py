"""Newton's method on the stamps that bend, of many changed networks in one batch.

What is linear, the changes among it, has been eliminated before: a network is known here by how the deviations δ of these
stamps from their linearisation move their own controls.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from generator.circuit.network.bends import Bends, Ready, rows_of
from generator.circuit.network.linear import solved_one
from generator.circuit.network.primitives import Array, with_curves

MOST_STEPS = 40
PATIENT = 8  # steps, after which they may go less and less far: what goes to and fro comes to rest
TURNS, BACK = 3, 0.5  # after so many steps one that takes back that share of the last goes but half as far
# of a control and 1 V or A, by which it moves where all rests, or goes to and fro for good
STILL, NEAR = 1e-7, 1e-3
IDLE = 1e-6  # V that a step moves any net, below which it is one no more
KEPT = 0.8  # of a batch: with more of it still moving, what has come to rest goes on with it, for that costs less


@dataclass(frozen=True)
class Bent:
    """B changed networks with N stamps that bend, each about some point.

    lives (B, N): those that may deviate; reach (B, N): ohm by which a deviation moves nets at most; furthest (B): V that a
    control may move in a step; ahead (B, N), slopes (controls, B, N): the point's linearisation, at controls of 0; at
    (controls, B, N): the controls while none of them deviates; moves (B, all controls, N): how deviations move them; others (B, some,
    N): how far they move nets through what is linear; p: their numbers.
    """

    lives: Array
    reach: Array
    furthest: Array
    ahead: Array
    slopes: Array
    at: Array
    moves: Array
    others: Array
    p: Ready

    def of(self, rows: Array) -> Bent:
        """Some of the networks."""
        return Bent(
            self.lives[rows], self.reach[rows], self.furthest[rows], self.ahead[rows], self.slopes[:, rows], self.at[:, rows],
            self.moves[rows], self.others[rows], rows_of(self.p, rows),
        )  # fmt: skip


def joined(several: Sequence[Bent]) -> Bent:
    """Those of several batches of one system, one after the other."""
    if len(several) == 1:
        return several[0]
    wide = max(own.others.shape[1] for own in several)
    others = [np.pad(own.others, ((0, 0), (0, wide - own.others.shape[1]), (0, 0))) for own in several]
    by_form = zip(*(own.p for own in several))
    arrays = {
        own.name: np.concatenate(
            [getattr(one, own.name) for one in several], int(own.name in ("slopes", "at"))
        )
        for own in fields(Bent)
        if own.name not in ("others", "p")
    }
    return Bent(**arrays, others=np.concatenate(others), p=[_one_by_one(own) for own in by_form])


def _one_by_one(several: Sequence[Array]) -> Array:
    """The numbers of one form, of several batches."""
    most = max(several, key=len)
    return np.concatenate([with_curves(p, most) for p in several], 1)


def settled(bends: Bends, bent: Bent, z: Array) -> tuple[Array, Array, Array]:
    """(δ, how much steeper the stamps have become there, which converged). z: the controls to begin at."""
    diagonal, firsts = np.arange(len(bends)), np.cumsum([0, *bends.counts])
    delta, slopes, good = np.zeros(z.shape[1:]), np.zeros(z.shape), np.zeros(z.shape[1], bool)
    rows, busy, before = np.arange(len(good)), np.ones(len(good), bool), delta
    each = [bent.moves[:, a:b] for a, b in zip(firsts, firsts[1:])]
    share, gone = np.ones(len(good)), np.zeros(z.shape)
    for step in range(MOST_STEPS):
        y, dy = bends.evaluate(z, bent.p)
        steeper = (dy - bent.slopes) * bent.lives
        right = (y - bent.ahead - (dy * z).sum(0)) * bent.lives + (steeper * bent.at).sum(0)
        matrices = bends.weighted(steeper, each)
        matrices[:, diagonal, diagonal] += 1.0
        new = solved_one(matrices, right)
        wanted = bent.at - bends.unpacked((bent.moves @ new[..., None])[..., 0])
        most = (bent.furthest / max(1, step - PATIENT))[:, None]  # it goes to and fro: shorter steps
        far = np.clip(wanted - z, -most, most)
        if step > TURNS:
            back = (far * gone).sum((0, 2)) < -BACK * (gone**2).sum((0, 2))
            share = np.where(back, share / 2, np.minimum(share * 2, 1.0))
        gone = far * share[:, None]
        wanted = z + gone
        limited = bends.limited(wanted, z, bent.p)
        moved = (np.abs(limited - z) / (1 + np.abs(wanted))).max((0, 2))
        free = (moved <= NEAR) & (limited == wanted).all((0, 2))
        if step < 2 * PATIENT and free.any():
            turn = new - before
            free &= (np.abs(turn) * bent.reach <= IDLE).all(-1)
            free &= (np.abs(bent.others @ turn[..., None]) <= IDLE).all((-1, -2))
        before, z = new, limited
        done = busy & ((moved <= STILL) | free) & (step > 0)
        last = step == MOST_STEPS - 1
        if done.any() or last:
            ends = busy if last else done
            delta[rows[ends]], slopes[:, rows[ends]], good[rows[done]] = new[ends], steeper[:, ends], True
            busy &= ~done
            left = np.count_nonzero(busy)
            if not left:
                break
            if left <= KEPT * len(rows):
                rows, before, z, bent = rows[busy], before[busy], z[:, busy], bent.of(busy)
                share, gone = share[busy], gone[:, busy]
                each, busy = [bent.moves[:, a:b] for a, b in zip(firsts, firsts[1:])], np.ones(left, bool)
    return delta, slopes, good
