"""A block as the elements of its network take it: nets, designators, numbers with their bands; and what is collected."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from generator.circuit.network.element import Element, Number, exact
from generator.circuit.spread import SPREADS

if TYPE_CHECKING:
    from generator.circuit.block import Block
    from generator.circuit.point import Point
    from generator.notation.parts import Part

Given = str | float | Number | Callable[["Point"], float] | None


@dataclass(frozen=True)
class Probe:
    """Where a named value is measured. how: "volts" (plus, minus), "amps" (into element, at its net plus if stated), "ohms" (plus, minus; unplugged),
    "rail" (element, figure: what its steady state says). times: a factor, such as an amplifier's gain. failed: what has
    to be done to the circuit for it, as (key, mode): a sensor unplugged. put: the same as (key, number, value): a sensor in
    the dark, a motor held still."""

    how: str
    plus: str = ""
    minus: str = ""
    element: str = ""
    figure: str = ""
    times: float = 1.0
    failed: tuple[tuple[str, str], ...] = ()
    put: tuple[tuple[str, str, float], ...] = ()


@dataclass
class Wired:
    """A block's share of the network."""

    elements: list[Element] = field(default_factory=list)
    probes: dict[str, Probe] = field(default_factory=dict)
    same: list[tuple[str, str]] = field(default_factory=list)  # nets that are one
    # parameter -> terminals (plus, minus) that it feeds
    feeds: dict[str, tuple[str, str]] = field(default_factory=dict)
    drive: str = ""  # the parameter that drives it
    inverse: bool = False  # it is on while its drive is low
    loads: dict[str, tuple[str, str]] = field(default_factory=dict)  # parameter of a stated load -> its rail
    # (terminal, "mains" or ""): what is a common
    commons: list[tuple[str, str]] = field(default_factory=list)
    goes: dict[str, str] = field(default_factory=dict)  # net of a chip's pin -> the block that it names
    # element -> the nets between which its part is measured, where that is several elements
    leads: dict[str, tuple[str, str]] = field(default_factory=dict)
    terminals: list[str] = field(default_factory=list)  # the nets by which it joins other blocks
    # entry of spread.py that no note states -> the value that it is about
    taken: dict[str, float] = field(default_factory=dict)


class Described:
    """A block as its elements take it: names, designators, numbers with their bands."""

    def __init__(
        self,
        block: Block,
        fed: Iterable[str] = (),
        *,
        air: float = 25.0,
        light: float = 10.0,
        left: float = 0.0,
    ) -> None:
        """fed: parameters that a join gives; air in °C and light in lux: what the sensors stand in; left: ohm of a pot."""
        self.block, self.x = block, block.point
        self.air, self.light, self.left = air, light, left
        self.fed = frozenset(fed)
        self.wired = Wired()

    # --- what the note states -----------------------------------------------------------------------------------

    def has(self, parameter: str) -> bool:
        """Whether the note (or a default) gives the parameter."""
        return self.block.inputs.get(parameter) is not None

    def part(self, parameter: str) -> Part | None:
        """The part behind a parameter."""
        return self.block.part(parameter)

    def net(self, terminal: str) -> str:
        """The net's name in the whole device: "reg.out"."""
        return f"{self.block.name}.{terminal}"

    def number(self, given: Given, spread: str = "", key: str = "") -> Number:
        """A number with its band; spread: the entry of spread.py where the note states no tolerance, of the part key."""
        if isinstance(given, Number):
            return given
        if isinstance(given, (int, float)):
            return self._spread(float(given), f"{key} {spread}".strip(), spread)
        read = (lambda x: x.__dict__.get(given)) if isinstance(given, str) else given
        assert read is not None
        value = read(self.x)
        if value is None:
            raise KeyError(f"{self.block.name}: nothing gives {given}")
        ends = []
        for axis in self.block.axes:
            if any(name in self.block.sources for name in axis.names):
                continue
            if isinstance(given, str) and given not in axis.names:
                continue
            low, high = (
                read(self.x.changed(**dict.fromkeys(axis.names, end))) for end in (axis.low, axis.high)
            )
            if low != value or high != value:
                ends.append((self._axis(axis.names[0]), float(low), float(high)))
        if spread and not ends and not (isinstance(given, str) and self._toleranced(given)):
            return self._spread(float(value), given if isinstance(given, str) else f"{key} {spread}", spread)
        return Number(float(value), tuple(ends))

    def sensed(self, ohms: Callable[[Point, float], float], of: str) -> Number:
        """A sensor's ohms in what it stands in, of: "air" (°C) or "light" (lux), which nobody knows exactly."""
        there = {"air": self.air, "light": self.light}[of]
        found = self.number(lambda x: ohms(x, there))
        low, high = (ohms(self.x, end) for end in self.ends(of, there))
        return Number(found.value, (*found.ends, (of, low, high)))

    def _axis(self, name: str) -> str:
        """What a tolerance axis is called in the whole device; the mains' band is one for all."""
        param = self.block.kind.param(name)
        return "mains" if param and param.moves_with_mains else self.net(name)

    def _toleranced(self, name: str) -> bool:
        given = self.block.inputs.get(name)
        return bool(
            getattr(getattr(given, "value", None), "toleranced", False) or getattr(given, "toleranced", False)
        )

    def _spread(self, value: float, name: str, spread: str) -> Number:
        if not spread:
            return exact(value)
        return Number(value, ((self.net(name or spread), *self.ends(spread, value)),))

    def ends(self, spread: str, value: float) -> tuple[float, float]:
        """(low, high) of an entry of spread.py about a value."""
        self.wired.taken.setdefault(spread, value)
        return SPREADS[spread].ends(value)

    def add(self, element: Element) -> Element:
        """Put an element of any class in; its nets are names as this block writes them."""
        nets: dict[str, Any] = {t: self.net(getattr(element, t)) for t in element.TERMINALS}
        placed = replace(element, **nets)
        self.wired.elements.append(placed)
        return placed

    # --- nets and places ----------------------------------------------------------------------------------------

    def same(self, one: str, other: str) -> None:
        """Two names of one net: the pin of a divider without a series resistor is its tap."""
        self.wired.same.append((self.net(one), self.net(other)))

    def common(self, terminal: str = "common", *, mains: bool = False) -> None:
        """The terminal is a 0 V. mains: one at mains potential; without it, of the low-voltage side. "common" is one of
        itself; blocks on the mains side say so."""
        self.wired.commons.append((self.net(terminal), "mains" if mains else ""))

    def volts(
        self,
        value: str,
        plus: str,
        minus: str = "common",
        *,
        times: float = 1.0,
        failed: tuple[tuple[str, str], ...] = (),
        put: tuple[tuple[str, str, float], ...] = (),
    ) -> None:
        """The named value is the voltage between two nets; failed, put: with these (see Probe), as "sensor unplugged" is."""
        self.wired.probes[value] = Probe(
            "volts", self.net(plus), self.net(minus), times=times, failed=failed, put=put
        )

    def amps(
        self,
        value: str,
        key: str,
        *,
        net: str = "",
        times: float = 1.0,
        failed: tuple[tuple[str, str], ...] = (),
        put: tuple[tuple[str, str, float], ...] = (),
    ) -> None:
        """The named value is the current into the element of that key at a net, its first terminal's unless stated."""
        at = self.net(net) if net else ""
        self.wired.probes[value] = Probe("amps", at, "", self.net(key), times=times, failed=failed, put=put)

    def load_amps(self, value: str, net: str, *, times: float = 1.0) -> None:
        """The named value is a switch's load current: through its load, or where what is joined is that, into the transistor
        at a net, times a factor."""
        if any(element.key == "load" for element in self.wired.elements):
            self.amps(value, "load")
        else:
            self.amps(value, "transistor", net=net, times=times)

    def ohms(self, value: str, a: str, b: str) -> None:
        """The named value is what an ohmmeter shows between two nets with the device unplugged."""
        self.wired.probes[value] = Probe("ohms", self.net(a), self.net(b))

    def of_rail(self, value: str, key: str, figure: str) -> None:
        """The named value is one that a rectified supply's steady state gives: ripple, trough, mean, no_load, ..."""
        self.wired.probes[value] = Probe("rail", element=self.net(key), figure=figure)

    def there(self, key: str, given: Given) -> bool:
        """Whether the block itself has the part: the note states it, and no join gives it."""
        if key in self.fed:
            return False
        return (
            given is not None
            or self.x.__dict__.get(key) is not None
            or self.block.inputs.get(key) is not None
        )

    def who(self, key: str, modes: tuple[str, ...] | None = None) -> dict[str, Any]:
        """Name, block, key, designator and failures of the part of a parameter or extra part."""
        failing = next((part for part in self.block.failing_parts if part.key == key), None)
        if failing is not None:
            called, modes = failing.called, failing.modes if modes is None else modes
        else:
            called = self.block.label(key)
        return {
            "name": self.net(key),
            "block": self.block.name,
            "key": key,
            "called": called,
            "modes": modes or (),
        }
