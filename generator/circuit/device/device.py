"""A device: its circuitry solved, and what a meter shows at every place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from generator.circuit.device.circuitry import Circuitry
from generator.circuit.device.places import Place, read_place, volts_between
from generator.circuit.network.element import NoOperatingPoint
from generator.problems import HINT, WARNING, Trouble

if TYPE_CHECKING:
    from generator.circuit.device.states import Solved
    from generator.circuit.network.around import Around
    from generator.circuit.network.ohms import Unplugged
    from generator.circuit.network.tolerances import Axis

NOTHING = 1e-6  # V: what insulation lets stand where nothing makes a voltage


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
            self.kept.clear()
        return solve(self, self.system, self.side, self.states, near)

    def check(self) -> list[Trouble]:
        """All that is wrong with the device, what only its solution shows among it: loads stated too low, no operating point."""
        try:
            _ = self.solved
        except NoOperatingPoint as error:
            hint = "check how the blocks are joined, and values that contradict each other"
            return [*self.troubles, Trouble(("blocks",), str(error), hint, WARNING)]
        return [*self.troubles, *self._unfed()]

    def _unfed(self) -> list[Trouble]:
        """A hint for every block written part by part in which nothing makes a voltage, in any state: a loop without a source."""
        found, index = [], self.system.index
        for name, block in self.blocks.items():
            nets = {net for element in self.of_block(name) for net in element.nets}
            if block.extras_key == "parts" and nets and nets <= index.keys() - self.side.index.keys():
                volts = [self.solved.point.volts(net) for net in nets]
                if all(abs(float(v)) < NOTHING for own in volts for v in own):
                    what = f"{name}: 0 V everywhere, in every state: nothing feeds it"
                    hint = "join one of its nets to what makes a voltage; its ohms can be read all the same"
                    found.append(Trouble(("blocks", name, block.extras_key), what, hint, HINT))
        return found

    def around(self, state: str = "") -> Around:
        """Variants of a state."""
        from generator.circuit.network.around import Around

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

    @cached_property
    def axes_unplugged(self) -> list[Axis]:
        """The same with the plug out, where nobody says in what light it lies."""
        from generator.circuit.network.tolerances import on_the_bench

        return on_the_bench(self.axes, {name: element.nominal() for name, element in self.elements.items()})

    def unplugged(self, changes: Mapping[str, Mapping[str, float]] | None = None) -> Unplugged:
        """The device with the plug out and every capacitor empty."""
        from generator.circuit.network.ohms import Unplugged

        if changes:
            return Unplugged(list(self.elements.values()), changes)
        if "unplugged" not in self.kept:
            self.kept["unplugged"] = Unplugged(list(self.elements.values()))
        found: Unplugged = self.kept["unplugged"]
        return found
