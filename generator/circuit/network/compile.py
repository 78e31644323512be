"""Elements compiled into the equations of one network: C·x + U·y(W·x) = 0.

x holds the volts of every net against the reference of its island, then the currents of the branches; y are the stamps'
values, evaluated form by form. C holds what never changes: where the branch currents flow, and the insulation of each net.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property

import numpy as np

from generator.circuit.network.bends import Bends, Ready
from generator.circuit.network.element import Element
from generator.circuit.network.primitives import CONTROLS, FORMS, Array, ready
from generator.circuit.network.stamps import BEFORE, J, Stamp

INSULATION = 1e-11  # S from every net to its reference, so that one that floats has an answer
TIE = 1e-9  # S: what holds an island without a common
WIDTH = max(form.width for form in FORMS.values())
NAMES = tuple(FORMS)

Changes = Mapping[str, Mapping[str, float]]  # element -> its changed parameters


class System:
    """The equations of a network. commons: nets that are 0 V, the first of each island being its reference."""

    def __init__(self, elements: Sequence[Element], commons: Iterable[str] = ()) -> None:
        self.elements = {element.name: element for element in elements}
        if len(self.elements) < len(elements):
            raise ValueError("two elements of one name")
        self.nominal = {name: element.nominal() for name, element in self.elements.items()}
        stamps: list[tuple[str, Stamp]] = []
        self.of: dict[str, range] = {}  # element -> its stamps
        self.scatters: list[bool] = []  # of each stamp: Element.SCATTERS
        for name, element in self.elements.items():
            own = () if element.ac else element.stamps(self.nominal[name])
            self.of[name] = range(len(stamps), len(stamps) + len(own))
            self.scatters += [self.elements[name].SCATTERS] * len(own)
            stamps += [(name, stamp) for stamp in own]
        self.stamps = [stamp for _, stamp in stamps]
        self.nets = list(dict.fromkeys(net for element in elements if not element.ac for net in element.nets))
        self.references = _references(elements, self.nets, list(commons))
        held = {reference for reference, tied in self.references.values() if tied}
        free = [net for net in self.nets if net not in held]
        self.index = {net: position for position, net in enumerate(free)}
        branches = [m for m, stamp in enumerate(self.stamps) if stamp.branch]
        self.branch = {m: len(free) + position for position, m in enumerate(branches)}
        self.size = len(free) + len(branches)
        self.voltages = len(free)
        self.index.update(dict.fromkeys(held, self.size))  # one place past the end: always 0
        self._known: dict[tuple[object, ...], list[tuple[float, ...]]] = {}
        self._assemble(free)

    def _assemble(self, free: list[str]) -> None:
        n, count = self.size, len(self.stamps)
        constant = np.zeros((n + 1, n + 1))
        out = np.zeros((n + 1, count))
        self.plus, self.minus = (np.full((count, CONTROLS), n) for _ in range(2))
        for m, stamp in enumerate(self.stamps):
            a, b = (self.index[net] for net in stamp.out)
            if stamp.branch:
                j = self.branch[m]
                out[j, m] = 1.0
                constant[a, j] += 1.0
                constant[b, j] -= 1.0
            else:
                out[a, m] += 1.0
                out[b, m] -= 1.0
            for position, control in enumerate(stamp.controls):
                if control in (J, BEFORE):
                    self.plus[m, position] = self.branch[max(own for own in self.branch if own <= m)]
                else:
                    self.plus[m, position], self.minus[m, position] = (self.index[net] for net in control)
        for net in free:
            at, (reference, _tied) = self.index[net], self.references[net]
            other = self.index[reference]
            if at == other:
                constant[at, at] += TIE
                continue
            for row, column, sign in ((at, at, 1), (other, other, 1), (at, other, -1), (other, at, -1)):
                constant[row, column] += sign * INSULATION
        self.constant, self.out = constant[:n, :n], out[:n]
        self.form = np.array([NAMES.index(stamp.form) for stamp in self.stamps], dtype=int)
        self.groups = [
            (form, np.flatnonzero(self.form == form))
            for form in range(len(NAMES))
            if (self.form == form).any()
        ]
        self.is_rule = np.array([stamp.branch for stamp in self.stamps], dtype=bool)
        self.bends = Bends([stamp.form for stamp in self.stamps])

    @cached_property
    def controls(self) -> Array:
        """W as a dense array (CONTROLS, stamps, size)."""
        dense = np.zeros((CONTROLS, len(self.stamps), self.size + 1))
        rows = np.arange(len(self.stamps))
        for c in range(CONTROLS):
            np.add.at(dense[c], (rows, self.plus[:, c]), 1.0)
            np.add.at(dense[c], (rows, self.minus[:, c]), -1.0)
        return dense[:, :, : self.size]

    @cached_property
    def straight(self) -> Array:
        """The linear stamps."""
        return np.flatnonzero(self.form == 0)

    @cached_property
    def bent_controls(self) -> list[Array]:
        """W of the stamps that bend, for each control (those that have it, size)."""
        return [self.controls[c, self.bends.stamps[:count]] for c, count in enumerate(self.bends.counts)]

    @cached_property
    def bent_out(self) -> Array:
        """U of the stamps that bend, (size, those)."""
        return self.out[:, self.bends.stamps]

    @cached_property
    def _bent_ends(self) -> tuple[Array, Array]:
        count = len(self.bends.counts)
        return self.plus[self.bends.stamps, :count].T, self.minus[self.bends.stamps, :count].T

    def bent_seen(self, x: Array) -> Array:
        """The controls of the stamps that bend, (controls, states, those), at x (states, size)."""
        whole = np.concatenate([x.T, np.zeros((1, len(x)))])
        plus, minus = self._bent_ends
        return np.ascontiguousarray((whole[plus] - whole[minus]).transpose(0, 2, 1))

    def bent_ready(self, numbers: Array) -> Ready:
        """The numbers of the stamps that bend, of all (states, stamps, WIDTH)."""
        return self.bends.ready(numbers[:, self.bends.stamps])

    @cached_property
    def base(self) -> Array:
        """Every stamp's numbers at nominal, (stamps, WIDTH)."""
        return self._rows(self.stamps)

    @staticmethod
    def _rows(stamps: Sequence[Stamp]) -> Array:
        rows = np.zeros((len(stamps), WIDTH))
        for row, stamp in zip(rows, stamps):
            row[: len(stamp.numbers)] = stamp.numbers
        return rows

    def numbers_of(self, name: str, p: Mapping[str, float]) -> list[tuple[float, ...]]:
        """The numbers of an element's stamps with all its parameters, in the order of its nominal ones; worked out once."""
        key = (name, *p.values())
        if key not in self._known:
            self._known[key] = [stamp.numbers for stamp in self.elements[name].stamps(p)]
        return self._known[key]

    def changed(self, changes: Changes) -> dict[int, tuple[float, ...]]:
        """The stamps whose numbers differ from nominal with these parameters: stamp -> numbers."""
        found = {}
        for name, parameters in changes.items():
            if name not in self.of or not self.of[name]:
                continue
            own = self.numbers_of(name, {**self.nominal[name], **parameters})
            for m, numbers in zip(self.of[name], own):
                if numbers != self.stamps[m].numbers:
                    found[m] = numbers
        return found

    def numbers(self, states: Sequence[Changes]) -> Array:
        """The stamps' numbers in several states, (states, stamps, WIDTH)."""
        numbers = np.repeat(self.base[None], len(states), 0)
        for row, changes in zip(numbers, states):
            for m, values in self.changed(changes).items():
                row[m, : len(values)] = values
        return numbers

    def seen(self, x: Array) -> Array:
        """The controls of every stamp, (..., stamps, CONTROLS), at x (..., size)."""
        whole = np.concatenate([x, np.zeros((*x.shape[:-1], 1))], -1)
        differences: Array = whole[..., self.plus] - whole[..., self.minus]
        return differences

    def values(self, z: Array, numbers: Array) -> tuple[Array, Array]:
        """y (..., stamps) and its derivatives (..., stamps, CONTROLS) at controls z."""
        y, dy = np.empty(z.shape[:-1]), np.zeros(z.shape)
        for form, members in self.groups:
            p = ready(NAMES[form], numbers[..., members, :])
            y[..., members], slopes = FORMS[NAMES[form]].evaluate(np.moveaxis(z[..., members, :], -1, 0), p)
            for c, slope in enumerate(slopes):
                dy[..., members, c] = slope
        return y, dy

    def jacobian(self, dy: Array) -> Array:
        """∂F/∂x, (..., size, size)."""
        weighted = np.einsum("...mc,cmn->...mn", dy, self.controls)
        slopes: Array = self.constant + self.out @ weighted
        return slopes

    def volts(self, x: Array, net: str) -> Array:
        """The volts of a net against its island's reference."""
        at = self.index[net]
        return np.zeros(x.shape[:-1]) if at == self.size else x[..., at]


def _references(
    elements: Sequence[Element], nets: list[str], commons: list[str]
) -> dict[str, tuple[str, bool]]:
    """For every net (the reference of its island, whether that is held at 0 V or only tied)."""
    parent = {net: net for net in nets}

    def root(net: str) -> str:
        while parent[net] != net:
            parent[net] = parent[parent[net]]
            net = parent[net]
        return net

    for element in elements:
        for group in () if element.ac else element.groups():
            for net in group[1:]:
                parent[root(net)] = root(group[0])
    chosen: dict[str, tuple[str, bool]] = {}
    for net in commons:
        if net in parent:
            chosen.setdefault(root(net), (net, True))
    return {net: chosen.setdefault(root(net), (net, False)) for net in nets}
