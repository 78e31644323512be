"""What every element of a network is: nets between which it lies, numbers with their bands, how it fails.

An element says what it does in stamps (see stamps.py), each a current or an equation that primitives.py evaluates; it
computes nothing itself, so that a network can be described where numpy is not wanted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from typing import Any, ClassVar, Self, TypeAlias

from generator.circuit.formula import parallel
from generator.circuit.network.stamps import Stamp

SHORT = 0.01  # ohm: what is left of a shorted part, and the least that any part counts as
OPEN = 1e12  # ohm: insulation, so that a net that nothing holds still has one answer


Fails: TypeAlias = "dict[str, Mapping[str, float]]"


class NoOperatingPoint(ValueError):
    """A network has no operating point that could be found; the text is for people."""


@dataclass(frozen=True)
class Number:
    """A parameter of an element in plain units (V, A, ohm, F, H, W, ratios).

    ends: for every tolerance axis that moves it (axis, at the axis's low end, at its high end). Elements that name the
    same axis move together.
    """

    value: float
    ends: tuple[tuple[str, float, float], ...] = ()


def exact(value: float) -> Number:
    """A number without a band."""
    return Number(float(value))


# parameters, size -> what becomes of some
Worn = Callable[[Mapping[str, float], float | None], dict[str, float]]


def fixed(**numbers: float) -> Worn:
    """A way of failing that leaves the same numbers, whatever they were before and by whatever size."""
    return lambda p, size: dict(numbers)


@dataclass(frozen=True, kw_only=True)
class Element:
    """One part, or one thing that acts like one.

    name: unique in the network ("drive.base": block and key). block, key: the block it belongs to and its parameter or
    role there; called: its designator or role. modes: how it can fail. ac: it belongs to the mains' alternating
    current and takes no part in the DC solution. wear: key of another part of the block -> (called, {mode: changed
    numbers}), where that part's failures show in this element: the diodes in a rail, the resistor that sets a charger.
    """

    TERMINALS: ClassVar[tuple[str, ...]] = ("a", "b")
    FAILS: ClassVar[Fails] = {}  # mode -> what its numbers become
    SCATTERS: ClassVar[bool] = True  # whether what has failed scatters in proportion to what it is by then
    ON_BOARD: ClassVar[bool] = True  # whether its ends are places of a board, and not of an equation

    name: str
    block: str = ""
    key: str = ""
    called: str = ""
    modes: tuple[str, ...] = ()
    ac: bool = False
    wear: Mapping[str, tuple[str, Mapping[str, Worn]]] = field(default_factory=dict)

    @cached_property
    def nets(self) -> tuple[str, ...]:
        """The nets at its terminals, in the order of TERMINALS."""
        return tuple(getattr(self, terminal) for terminal in self.TERMINALS)

    @cached_property
    def numbers(self) -> dict[str, Number]:
        """Its parameters by name."""
        return {f.name: value for f in fields(self) if isinstance(value := getattr(self, f.name), Number)}

    @cached_property
    def _nominal(self) -> dict[str, float]:
        return {name: number.value for name, number in self.numbers.items()}

    def nominal(self) -> dict[str, float]:
        """Its parameters at their nominal values."""
        return dict(self._nominal)

    def renamed(self, name: Callable[[str], str]) -> Self:
        """The element with each of its nets under another name; name: a function of the net's name."""
        nets: dict[str, Any] = {terminal: name(getattr(self, terminal)) for terminal in self.TERMINALS}
        return replace(self, **nets)

    def groups(self) -> tuple[tuple[str, ...], ...]:
        """Its nets in groups between which a direct current can pass; across groups they are isolated."""
        return (self.nets,)

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        """What it does at direct current with the parameters p. The same stamps for every p, with other numbers."""
        return ()

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        """What an ohmmeter meets with the device unplugged: mode "ohms" (below 0.3 V) or "diode" (1 mA, up to 2 V)."""
        return ()

    def admittance(self, p: Mapping[str, float], omega: float) -> tuple[tuple[str, str, complex], ...]:
        """What it is at the mains frequency: (net, net, siemens) for each branch; omega in rad/s."""
        return ()

    def failed(self, p: Mapping[str, float], mode: str, size: float | None = None) -> dict[str, float]:
        """The parameters with one failure: "open", "short", "high", "low" (size: a factor), "leaky" (size: ohm)."""
        if mode not in self.FAILS:
            raise ValueError(f"{self.name} does not fail {mode}")
        return {**p, **{name: become(p[name], change, size) for name, change in self.FAILS[mode].items()}}

    def worn(
        self, p: Mapping[str, float], key: str, mode: str, size: float | None
    ) -> dict[str, float] | None:
        """The parameters with a failure of the part of a key: itself or one of its wear; None where that is neither."""
        found = self.wear.get(key, ("", {}))[1].get(mode)
        if found is not None:
            return {**p, **found(p, size)}
        if self.key != key:
            return None
        try:
            return self.failed(p, mode, size)
        except (KeyError, ValueError, TypeError):
            return None

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        """Its lines in a SPICE netlist; node: net -> node of the netlist; name: without spaces or dots."""
        raise NotImplementedError


def siemens(ohms: float) -> float:
    """Conductance of a resistance, held between those of an open and of a shorted part."""
    return 1 / min(max(ohms, SHORT), OPEN) if ohms < OPEN else 0.0


class Sized(float):
    """As large as the failure is said to be (ohm); this where it says nothing. So in Times, Plus and Beside."""


class Times(float):
    """The number times that factor."""


class Plus(float):
    """The number and that on top of it."""


class Beside(float):
    """The number, in ohm, with that beside it."""


def become(number: float, change: float, size: float | None) -> float:
    """What a number becomes by an entry of FAILS; one that is none of the four takes its place."""
    by = size or float(change)
    if isinstance(change, Sized):
        return by
    if isinstance(change, Times):
        return number * by
    if isinstance(change, Plus):
        return number + by
    return parallel(number, by) if isinstance(change, Beside) else change


RESISTIVE: Fails = {
    "open": {"ohms": math.inf},
    "short": {"ohms": Beside(0.0)},
    "high": {"ohms": Times(2.0)},
    "low": {"ohms": Times(0.5)},
    "high resistance": {"ohms": Plus(10.0)},
    "leaky": {"ohms": Beside(1e4)},
}
LEAKING: Fails = {"short": {"leak": Sized(0.0)}, "leaky": {"leak": Sized(1e4)}}
BROKEN: Fails = {"open": {"alive": 0.0}, **LEAKING}


def leak_lines(name: str, a: str, b: str, ohms: float) -> list[str]:
    """A leak between two nodes of a netlist, where there is one."""
    return [] if math.isinf(ohms) else [f"R{name} {a} {b} {max(ohms, SHORT):.8g}"]
