"""What a note says of the device as a whole, beyond its blocks: plain data, as the notes room reads it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class State:
    """What the device is doing while it is measured.

    on: the blocks that are driven, the other drivable ones being not. sensors: block -> what its sensor stands in, °C for
    a thermistor, lux for a light sensor, and how many ohms are left of a pot; 25 °C, 10 lux and none where the state does not
    say. fed: block -> volts of the source of its own, 0 where that is pulled out.
    """

    name: str
    on: tuple[str, ...] = ()
    sensors: Mapping[str, float] = field(default_factory=dict)
    fed: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Told:
    """states: none for the usual ones. joins: places that are one net. connectors: name -> place at each pin, a part
    beyond the pin after "->". test_points: name -> place. All places as written. apart: terminals of one net that are read
    apart, so that a joint stands before each."""

    states: tuple[State, ...] = ()
    joins: tuple[tuple[str, ...], ...] = ()
    connectors: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    test_points: Mapping[str, str] = field(default_factory=dict)
    apart: tuple[str, ...] = ()


NOTHING = Told()
