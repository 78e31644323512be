"""The stamps of a network that bend: which they are, form by form, and what they come to in many variants at once.

Controls z and derivatives dy lie as (controls, variants, stamps), the stamps that have most controls first, so that those that
have a control at all are the first ones; what a stamp has not is 0.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from generator.circuit.network.limits import LIMITS
from generator.circuit.network.primitives import FORMS, Array, ready

Ready = list[Array]  # by form: the numbers, (numbers, variants, stamps of the form)


class Bends:
    """stamps: which of the network's stamps bend, in their order here; counts: how many of them have a first control, a
    second, ...; forms: (name, which of them)."""

    def __init__(self, forms: Sequence[str]) -> None:
        """forms: of every stamp of the network."""
        bent = [m for m, form in enumerate(forms) if form != "linear"]
        names = sorted({forms[m] for m in bent}, key=lambda name: (-FORMS[name].controls, name))
        groups = [(name, [m for m in bent if forms[m] == name]) for name in names]
        self.stamps = np.array([m for _, own in groups for m in own], dtype=int)
        self.forms: list[tuple[str, slice]] = []
        for name, own in groups:
            first = self.forms[-1][1].stop if self.forms else 0
            self.forms.append((name, slice(first, first + len(own))))
        most = max((FORMS[name].controls for name in names), default=1)
        self.counts = [sum(FORMS[forms[m]].controls > c for m in bent) for c in range(most)]

    def __len__(self) -> int:
        return len(self.stamps)

    def ready(self, numbers: Array) -> Ready:
        """The numbers (variants, these stamps, WIDTH) as evaluate takes them."""
        return [ready(name, numbers[:, own]) for name, own in self.forms]

    def evaluate(self, z: Array, p: Ready) -> tuple[Array, Array]:
        """Their values (variants, stamps) and derivatives, at controls z."""
        y, dy = np.empty(z.shape[1:]), np.zeros(z.shape)
        for (name, own), numbers in zip(self.forms, p):
            y[:, own], slopes = FORMS[name].evaluate(z[:, :, own], numbers)
            for c, slope in enumerate(slopes):
                dy[c, :, own] = slope
        return y, dy

    def limited(self, wanted: Array, before: Array, p: Ready) -> Array:
        """The controls to linearise at next."""
        held = wanted.copy()
        for (name, own), numbers in zip(self.forms, p):
            if name in LIMITS:
                LIMITS[name](held[:, :, own], before[:, :, own], numbers)
        return held

    def weighted(self, dy: Array, moves: Sequence[Array]) -> Array:
        """The sum over controls of dy times what moves[c] (..., stamps that have it, others) says of each, (variants, stamps,
        others)."""
        found: Array = dy[0, :, :, None] * moves[0]  # all have a first one
        for c, count in enumerate(self.counts[1:], start=1):
            found[:, :count] += dy[c, :, :count, None] * moves[c]
        return found

    def unpacked(self, flat: Array) -> Array:
        """Controls (variants, those that there are), control by control, as z has them."""
        z, first = np.zeros((len(self.counts), len(flat), len(self))), 0
        for c, count in enumerate(self.counts):
            z[c, :, :count] = flat[:, first : first + count]
            first += count
        return z

    def split(self, packed: Array) -> list[Array]:
        """What packed gave, or has on its last axis but one, control by control."""
        return np.split(packed, np.cumsum(self.counts)[:-1], -2)

    def packed(self, by_stamp: Array) -> Array:
        """What is known of every control (CONTROLS, these stamps, ...), of those that there are, control by control."""
        return np.concatenate([by_stamp[c, :count] for c, count in enumerate(self.counts)])


def rows_of(p: Ready, rows: Array) -> Ready:
    """The numbers of some variants."""
    return [own[:, rows] for own in p]
