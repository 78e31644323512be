"""A device: its circuitry solved, and what a meter shows at every place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from generator.circuit.device.circuitry import Circuitry
from generator.circuit.device.places import Place, read_place, volts_between
from generator.circuit.network.element import NoOperatingPoint
from generator.problems import WARNING, Trouble

if TYPE_CHECKING:
    from generator.circuit.device.states import Solved
    from generator.circuit.network.ohms import Unplugged
    from generator.circuit.network.tolerances import Axis
    from generator.circuit.network.variants import Around


class Device(Circuitry):
    """See the package's docstring."""

    def place(self, text: str) -> Place:
        """The place that a text names. Raises PlaceError."""
        return read_place(self, text)

    def place_across(self, texts: Sequence[str]) -> Place:
        """Where volts are read across one part, or between two places. Raises PlaceError."""
        return self.place(texts[0]) if len(texts) == 1 else volts_between(self, *texts)

    @cached_property
    def solved(self) -> Solved:
        """Every state. Raises NoOperatingPoint."""
        from generator.circuit.device import loads
        from generator.circuit.device.states import solve

        changed, near = loads.settle(self)
        if changed:
            self.elements.update(changed)
            for known in ("system", "side", "_by_part"):
                self.__dict__.pop(known, None)
        return solve(self, self.system, self.side, self.states, near)

    def check(self) -> list[Trouble]:
        """All that is wrong with the device, what only its solution shows among it: loads stated too low, no operating point."""
        try:
            _ = self.solved
        except NoOperatingPoint as error:
            hint = "look at how the blocks are joined, and at values that contradict each other"
            return [*self.troubles, Trouble(("blocks",), str(error), hint, WARNING)]
        return self.troubles

    def around(self, state: str = "") -> Around:
        """Variants of a state."""
        from generator.circuit.network.variants import Around

        key = ("around", self.row(state))
        if key not in self.kept:
            self.kept[key] = Around(self.solved.point, self.row(state))
        found: Around = self.kept[key]
        return found

    @cached_property
    def axes(self) -> list[Axis]:
        """The tolerance axes of all elements."""
        from generator.circuit.network.tolerances import axes

        _ = self.solved
        return axes(self.elements.values())

    def unplugged(self, changes: Mapping[str, Mapping[str, float]] | None = None) -> Unplugged:
        """The device with the plug out and every capacitor empty."""
        from generator.circuit.network.ohms import Unplugged

        return Unplugged(list(self.elements.values()), changes)
