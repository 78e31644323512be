"""What may be wrong with a device: health, every part failed in every way and by any size, bridges between neighbours.

Each has a weight beforehand: what people see most on a bench is likelier before anything is read. A size (a resistor gone
high by any factor, a leak of any ohms) stands on a logarithmic grid; the steps of one grid are one hypothesis to people.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

HEALTH_WEIGHT = 20.0  # beside the failures' weights below: nothing is wrong where the meter was put

# How much likelier one failure is than another before anything is read, a resistor open being 1. Electrolytics dry out,
# contacts, connectors and joints wear, power semiconductors short; fixed resistors and small ceramics seldom fail. Orders
# of magnitude as in handbooks of failure rates (base rates and shares of failure modes; from memory), and common practice.
WEIGHTS: Mapping[str, Mapping[str, float]] = {
    "resistor": {"open": 1.0, "high": 0.8, "low": 0.2, "leaky": 0.1, "short": 0.1},
    "high-ohm resistor": {"open": 1.5, "high": 1.5, "low": 0.2, "leaky": 0.2, "short": 0.1},
    "low-ohm resistor": {"open": 1.2, "high": 0.8, "low": 0.1, "leaky": 0.1, "short": 0.2},
    "potentiometer": {"open": 1.5, "high": 1.5, "low": 0.3, "leaky": 0.3, "short": 0.3},
    "electrolytic": {"low": 3.0, "leaky": 1.0, "short": 1.0, "open": 0.8},
    "capacitor": {"short": 0.5, "leaky": 0.5, "low": 0.6, "open": 0.4},
    # metallised film in the line heals itself with every surge, and has less left each time (common practice, no source)
    "mains capacitor": {"low": 3.0, "open": 1.0, "short": 0.5, "leaky": 0.3},
    "thermistor": {"open": 2.0, "high": 0.7, "low": 0.4, "leaky": 0.7, "short": 0.7},
    "photoresistor": {"open": 1.0, "high": 1.0, "low": 0.3, "leaky": 0.4, "short": 0.4},
    "diode": {"short": 1.2, "open": 1.0, "leaky": 0.3},
    "zener": {"short": 1.0, "open": 1.0, "leaky": 0.3, "low": 0.3, "high": 0.15},
    "led": {"open": 1.0, "short": 0.7, "leaky": 0.3},
    "transistor": {"short": 1.2, "open": 1.0, "leaky": 0.3, "low": 0.3},
    "mosfet": {"short": 1.5, "open": 0.8, "leaky": 0.4, "leaky gate": 0.7},
    "triac": {"short": 1.2, "open": 1.0, "leaky": 0.3},
    "optocoupler": {"open": 0.8, "short": 0.5, "low": 0.8, "dark": 0.5},
    "switch": {"open": 1.5, "high resistance": 1.5, "short": 0.8, "leaky": 0.3},
    "contact": {"open": 1.5, "high resistance": 1.5, "short": 1.0, "leaky": 0.3},
    "pin": {"open": 1.5, "high resistance": 1.5},
    "fuse": {"open": 1.5}, "thermal fuse": {"open": 1.5},
    "coil": {"open": 1.0, "short": 0.3, "low": 0.3, "high": 0.3}, "winding": {"open": 1.0, "short": 0.3, "low": 0.3, "high": 0.3, "stalled": 0.8, "shorted turns": 0.3},
    # brushes and what they run on, bearings and gears wear (common practice, no source)
    "motor": {"open": 1.5, "high": 1.0, "stalled": 1.0, "short": 0.3, "low": 0.3},
    "element": {"open": 1.5, "short": 0.3, "low": 0.3, "high": 0.3}, "inductor": {"open": 0.7}, "varistor": {"short": 0.7, "leaky": 0.3},
    "chip": {"open": 0.7, "short": 0.5, "low": 0.3, "high": 0.3, "leaky": 0.3, "stuck high": 0.3, "stuck low": 0.3},
    "controller": {"short": 0.8}, "chip's current": {"open": 0.6, "high": 0.4, "low": 0.3},
    "cell": {"open": 0.8, "short": 0.5, "high resistance": 1.5}, "pack": {"dead": 1.5, "high resistance": 6.0, "low": 0.7, "open": 0.8}, "source": {"dead": 1.0, "low": 0.3},
    "mains": {"dead": 1.0, "low": 0.03},
    "diac": {"open": 1.0, "short": 0.7}, "loudspeaker": {"open": 1.0, "short": 0.3},
    "load": {"open": 0.6, "short": 0.5, "high": 0.4, "low": 0.3},
    "bridge": {"bridge": 0.12},
    "any": {"open": 0.7, "short": 0.5},
}  # fmt: skip

# Sizes, on logarithmic grids. high, low: factors of the part's value; leaky: ohm beside it; high resistance: ohm in a
# contact; short: ohm left; stuck: ohm from a chip's output to common or its supply; shorted turns: share of its volts that a
# transformer has left; bridge: ohm, from solder to a wet track.
SIZES: Mapping[str, tuple[float, ...]] = {
    "high": (1.3, 1.7, 2.5, 4.0, 8.0, 20.0, 60.0, 200.0),
    "low": (0.75, 0.6, 0.4, 0.25, 0.12, 0.05, 0.02),
    "leaky gate": (100.0, 300.0, 1e3, 3e3, 1e4, 1e5),
    "leaky": (10.0, 30.0, 100.0, 300.0, 1e3, 3e3, 1e4, 3e4, 1e5, 3e5, 1e6),
    "high resistance": (0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1e3, 3e3, 1e4, 3e4, 1e5),
    "short": (0.03, 0.5, 5.0),
    "stuck high": (25.0, 60.0, 140.0), "stuck low": (25.0, 60.0, 140.0),
    "shorted turns": (0.8, 0.6, 0.4, 0.25),
    "bridge": (0.1, 100.0, 1e3, 1e4, 1e5),
}  # fmt: skip
# A transistor is open at one leg more often than through and through: the bond of its collector carries most (common
# practice, no source)
LEGS = {("transistor", "open"): (("", 0.4), ("collector", 0.6))}
SHORTED = 0.1  # ohm that most shorted parts have left; more is the rarer, the more it is (common practice, no source)
SHORT_OF = 0.02  # of a resistor's value: what is left of it at most where it is shorted
# Of what only drifts a little before it counts as failed: a reference, a source, the load of a rail.
NARROW: Mapping[str, tuple[float, ...]] = {"high": (1.15, 1.4, 1.8), "low": (0.85, 0.7, 0.5, 0.3)}
NARROW_CLASSES = frozenset({"source", "mains", "chip", "load", "chip's current"})
# A zener that was overheated conducts earlier, hardly ever later (common practice, no source)
ZENER: Mapping[str, tuple[float, ...]] = {"high": (1.1, 1.25), "low": (0.85, 0.7, 0.5, 0.3)}
ZENER_CLASSES = frozenset({"zener"})
# Of resistors, which are bought to a few percent: so little is a failure already.
SLIGHT: Mapping[str, tuple[float, ...]] = {"high": (1.12, *SIZES["high"]), "low": (0.88, *SIZES["low"])}
SLIGHT_CLASSES = frozenset({"resistor", "high-ohm resistor", "low-ohm resistor"})
INNER: Mapping[str, tuple[float, ...]] = {
    "high resistance": (0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0), "low": (0.85, 0.7, 0.5, 0.3),
}  # fmt: skip
INNER_CLASSES = frozenset({"cell", "pack"})
CHIP_SHORT: Mapping[str, tuple[float, ...]] = {"short": (0.1, 1.0, 5.0, 30.0)}
CHIP_CLASSES = frozenset({"controller"})
# What an electrolytic has left: one that has dried out has next to nothing
DRIED: Mapping[str, tuple[float, ...]] = {"low": (0.75, 0.6, 0.4, 0.25, 0.12, 0.05, 0.02, 0.008)}
DRIED_CLASSES = frozenset({"electrolytic"})
GAIN: Mapping[str, tuple[float, ...]] = {"high": (2.0, 4.0), "low": (0.5, 0.25, 0.1, 0.03)}
GAIN_CLASSES = frozenset({"transistor", "optocoupler"})

# What a contact that is stuck has left; more is a worn one
WELDED: Mapping[str, tuple[float, ...]] = {"short": (0.03, 0.15)}
WELDED_CLASSES = frozenset({"switch", "contact"})

_OF_CLASS = (
    (WELDED_CLASSES, WELDED), (NARROW_CLASSES, NARROW), (ZENER_CLASSES, ZENER), (SLIGHT_CLASSES, SLIGHT), (GAIN_CLASSES, GAIN), (DRIED_CLASSES, DRIED), (INNER_CLASSES, INNER), (CHIP_CLASSES, CHIP_SHORT)
)  # fmt: skip


# ohm from a rail to its common through unpowered chips and a regulator's own divider: anything of these (common practice, no
# source), or nothing
RAIL_OHMS = ("3e3", "5e3", "8e3", "13e3", "22e3", "40e3", "100e3", "300e3", "1e6")

Identity = tuple[object, ...]


@dataclass(frozen=True)
class Change:
    """One part failed in one way and by one size. block and key are "" for health.

    called: its designator or role. part_class: as WEIGHTS has it. weight: how likely it is beforehand, shared by the
    steps of its grid. element: for what is no part of a block (a bridge, a connector's pin), its name in the network. also:
    a second failure at the same time; caused: the first has brought it about. leg: the one that is meant of a part of several. pressed: (element, state): a sound device, somebody holding a button in a state; or (rail, ohm): what it lets
    through with the plug out.
    """

    block: str = ""
    key: str = ""
    mode: str = "none"
    size: float | None = None
    weight: float = HEALTH_WEIGHT
    called: str = ""
    part_class: str = ""
    element: str = ""
    also: Change | None = None
    caused: bool = False
    leg: str = ""
    pressed: tuple[str, str] = ("", "")

    @property
    def sound(self) -> bool:
        """Whether nothing has failed; a button may be held all the same."""
        return not self.block and not self.element

    @cached_property
    def group(self) -> tuple[str, ...]:
        """What counts as one failure, whatever its size."""
        own = (self.block, self.element or self.key, self.mode)
        return own if self.also is None else (*own, *self.also.group)

    @property
    def plugged(self) -> Change:
        """The same with the plug in, where what a rail lets through is its chips' own current."""
        if self.pressed[1] not in RAIL_OHMS:
            return self
        return replace(self, pressed=("", ""), size=None if self.sound else self.size)

    @cached_property
    def alone(self) -> Identity:
        """What the first part does to the circuit, whatever the second does."""
        return (self.block, self.key, self.element, self.mode, self.size, self.leg)

    @cached_property
    def identity(self) -> Identity:
        """What two changes have in common that do the same to the circuit, however likely they are."""
        also = self.also and (self.also.group, self.also.size, self.also.leg)
        return (self.group, self.size, self.leg, self.pressed, also)


HEALTH = Change()


def by_failure(changes: Iterable[Change]) -> dict[tuple[str, ...], list[Change]]:
    """The sizes of each failure together, in their order."""
    found: dict[tuple[str, ...], list[Change]] = {}
    for change in changes:
        found.setdefault(change.group, []).append(change)
    return found


def changes_of(
    part_class: str,
    modes: Iterable[str],
    *,
    block: str,
    key: str,
    called: str,
    element: str = "",
    ohms: float = math.inf,
) -> list[Change]:
    """Every failure of one part. modes: those that it can take; ohms: a resistor's, of which a short is next to nothing: what is left of more has gone low."""
    weights = WEIGHTS.get(part_class, WEIGHTS["any"])
    found = []
    for mode in modes:
        weight = weights.get(mode, 0.0)
        if weight:
            sizes = sizes_of(part_class, mode)
            if mode == "short" and sizes[0] is not None:
                sizes = tuple(size for size in sizes if size and size <= SHORT_OF * ohms) or sizes[:1]
            found += [
                Change(block, key, mode, size, weight * share * part, called, part_class, element, leg=leg)
                for size, share in zip(sizes, _shares(mode, sizes))
                for leg, part in LEGS.get((part_class, mode), (("", 1.0),))
            ]
    return found


def _shares(mode: str, sizes: Sequence[float | None]) -> list[float]:
    """Which share of a failure's weight each size has: the same, but what is shorted mostly has next to nothing left."""
    shares = [1.0 if size is None or mode != "short" else min(1.0, (SHORTED / size) ** 0.5) for size in sizes]
    return [share / sum(shares) for share in shares]


def sizes_of(part_class: str, mode: str) -> tuple[float | None, ...]:
    """The grid of a way of failing; (None,) where it has no size."""
    own = next((grids for classes, grids in _OF_CLASS if part_class in classes), SIZES)
    return own.get(mode) or SIZES.get(mode) or (None,)


def between(size: float, grid: tuple[float, ...], steps: int) -> list[float]:
    """steps sizes, evenly on a logarithmic scale, over the stretch of a grid for which one of its sizes stands."""
    logs = sorted(math.log(value) for value in grid)
    at = min(range(len(logs)), key=lambda i: abs(logs[i] - math.log(size)))
    half = (logs[1] - logs[0]) / 2 if len(logs) > 1 else 0.0
    low = (logs[at - 1] + logs[at]) / 2 if at else logs[at] - half
    high = (logs[at] + logs[at + 1]) / 2 if at + 1 < len(logs) else logs[at] + (logs[at] - low)
    return [math.exp(low + (high - low) * (step + 0.5) / steps) for step in range(steps)]
