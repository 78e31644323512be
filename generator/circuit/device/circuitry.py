"""A note's blocks as one circuit: its elements between nets, its places, its relays and its equations; nothing solved."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING, Any, NamedTuple

from generator.circuit.designated import relay_of
from generator.circuit.device.nets import Nets, is_inner, islands, output_of
from generator.circuit.device.told import State, Told
from generator.circuit.network import sources
from generator.circuit.network.converted import Converted
from generator.circuit.network.described import Wired
from generator.circuit.network.element import Element
from generator.circuit.network.junctions import Diode
from generator.circuit.network.mains import Diac, Triac
from generator.circuit.network.passive import Bridge, Capacitor, Contact, Resistor, Winding
from generator.circuit.network.wiring import BULK
from generator.notation.parts import each_of
from generator.problems import Trouble

if TYPE_CHECKING:
    from generator.circuit.block import Block
    from generator.circuit.circuit import Circuit
    from generator.circuit.network.compile import System
    from generator.circuit.network.phasors import MainsSide

_PIN = re.compile(r"pin (\d+)")
MOST_BRIDGES = 16  # of a block
_PASSIVE = Resistor, Capacitor, Winding, Contact, Diode  # what gives no current of its own


class Follower(NamedTuple):
    """What does as the volts between two nets say: a relay's contact as its coil's, a triac as its gate's, a converter
    as its controller's supply.

    element, number: what becomes 1 from the threshold on, or at rest; drive: the relay, or the triac itself; coil: the element of
    which the current pulls, not the volts.
    """

    element: str
    number: str
    drive: str
    nets: tuple[str, str]
    rest: bool
    coil: str = ""


@dataclass
class Circuitry:
    """elements: by name, their nets already under the names of the device's nets.

    common: the low-voltage side's 0 V ("" where there is none); mains_commons: those at mains potential.
    """

    circuit: Circuit
    told: Told
    wired: dict[str, Wired]
    nets_by_name: Nets
    elements: dict[str, Element]
    common: str
    mains_commons: set[str]
    connectors: dict[str, list[str]]
    test_points: dict[str, str]
    states: list[State]
    troubles: list[Trouble]
    # nets of direct current that parts rectify, of which nothing is known
    unknown: frozenset[str] = frozenset()
    # relay or triac -> volts on its coil or gate from which it works
    thresholds: dict[str, float] = field(default_factory=dict)
    # what others have worked out of it once, by a key of theirs
    kept: dict[Any, Any] = field(default_factory=dict, repr=False, compare=False)

    @property
    def blocks(self) -> Mapping[str, Block]:
        """The note's blocks."""
        return self.circuit.blocks

    # --- nets and places --------------------------------------------------------------------------------------------

    @property
    def all_nets(self) -> Nets:
        """Every name of a net; `in` tells whether one is known."""
        return self.nets_by_name

    def net(self, name: str) -> str:
        """The one name of a net."""
        return self.nets_by_name.root(name)

    def terminals(self, block: str) -> list[str]:
        """The terminals of a block, as names of nets."""
        return [net for net in self.nets_by_name.order if net.startswith(f"{block}.") and not is_inner(net)]

    def output(self, block: str) -> tuple[str, str] | None:
        """(output, its common) of a block."""
        return output_of(self.nets_by_name, block)

    @cached_property
    def members(self) -> dict[str, list[str]]:
        """Every net with its names, terminals before inner ones."""
        return self.nets_by_name.members()

    @cached_property
    def parts(self) -> dict[str, str]:
        """Designator -> the element that stands for the part."""
        found: dict[str, str] = {}
        alike: dict[str, list[str]] = {}
        rails = [name for name, element in self.elements.items() if isinstance(element, sources.Rail)]
        for name in [*(name for name in self.elements if name not in rails), *rails]:
            called = self.elements[name].called
            if called and not isinstance(self.elements[name], Bridge):
                found.setdefault(called, name)
                alike.setdefault(called, []).append(name)
        for called, names in alike.items():
            own = [name for name in names if name not in rails]
            for each, name in zip(each_of(called, len(own)), own):
                found.setdefault(each, name)
        return found

    @cached_property
    def ac_elements(self) -> set[str]:
        """The elements on the mains' alternating current."""
        return {name for name, element in self.elements.items() if element.ac}

    def is_mains_net(self, net: str) -> bool:
        """Whether a net carries the mains' alternating current rather than direct current."""
        return net in self.side.index and net not in self._direct_nets

    @cached_property
    def _direct_nets(self) -> set[str]:
        """The nets where something gives direct current: where only passive parts lie, such as a motor's winding on the mains,
        none flows."""
        direct = [e for e in self.elements.values() if not e.ac]
        inner = {e.name: [net for net in e.nets if net not in self.commons] for e in direct}
        island = islands(list(inner.values()), [net for nets in inner.values() for net in nets])
        given = {island(net) for e in direct if not isinstance(e, _PASSIVE) for net in inner[e.name]}
        found = {net for nets in inner.values() for net in nets if island(net) in given}
        return found.union(net for net in self.commons if net in self.system.index)

    @cached_property
    def commons(self) -> list[str]:
        """The nets that are 0 V: the low-voltage common, then those at mains potential."""
        return [*([self.common] if self.common else []), *sorted(self.mains_commons)]

    def common_of(self, net: str) -> str:
        """The common against which a net is measured, "" where it has none."""
        if net in self.system.references:
            return self.system.references[net][0]
        return self._mains_common.get(net, "")

    @cached_property
    def _mains_common(self) -> dict[str, str]:
        island = self._potential
        first: dict[str, str] = {}
        for common in sorted(self.mains_commons):
            first.setdefault(island(common), common)
        found = {net: first.get(island(net), "") for net in self.side.index}
        return {**found, **{end: t.minus for t in self.side.transformers for end in (t.plus, t.minus)}}

    def on_mains(self, net: str) -> bool:
        """Whether a net is at mains potential."""
        return self._potential(net) in {self._potential(common) for common in self.mains_commons}

    @cached_property
    def _potential(self) -> Callable[[str], str]:
        """Names the galvanic island of a net."""
        groups = [group for e in self.elements.values() for group in e.groups()]
        return islands(groups, [net for e in self.elements.values() for net in e.nets])

    def of_block(self, block: str) -> list[Element]:
        """The elements of a block."""
        return [element for element in self.elements.values() if element.block == block]

    def of_part(self, block: str, key: str) -> list[Element]:
        """The elements of a block that a part is, or that wear with it."""
        return self._by_part.get((block, key), [])

    @cached_property
    def _by_part(self) -> dict[tuple[str, str], list[Element]]:
        found: dict[tuple[str, str], list[Element]] = {}
        for element in self.elements.values():
            for key in dict.fromkeys((element.key, *element.wear)):
                found.setdefault((element.block, key), []).append(element)
        return found

    # --- drives and relays ------------------------------------------------------------------------------------------

    @cached_property
    def pin_targets(self) -> dict[str, str]:
        """A chip's output pin (its element) -> the block that it drives."""
        found = {}
        for own in self.wired.values():
            for element in own.elements:
                if isinstance(element, sources.Pin):
                    found[element.name] = own.goes.get(element.pin, "")
        return found

    @cached_property
    def inverse(self) -> dict[str, bool]:
        """Blocks that are on while their drive is low."""
        return {name: own.inverse for name, own in self.wired.items()}

    @cached_property
    def coils(self) -> dict[str, str]:
        """Designator of a contact's relay, or of the contact itself (RL1A is one of RL1's, unless a coil has that name) -> the
        element that is its coil, for relays whose contact the note has too."""
        coils = {e.called: name for name, e in self.elements.items() if isinstance(e, Winding) and not e.ac}
        contacts = [e.coil for e in self.elements.values() if isinstance(e, Contact) and e.coil]
        named = {own: own if own in coils else relay_of(own) for own in contacts}
        return {own: coils[relay] for own, relay in named.items() if relay in coils}

    @cached_property
    def followers(self) -> list[Follower]:
        """Relay contacts whose coil the note has, triacs whose gate another circuit drives by direct current, converters."""
        found = []
        for name, element in self.elements.items():
            if isinstance(element, Contact) and element.coil in self.coils:
                coil = self.coils[element.coil]
                a, b = self.elements[coil].nets
                found.append(Follower(name, "closed", element.coil, (a, b), element.rest, coil))
            elif isinstance(element, Triac) and element.follows and not fired_by(self, element):
                found.append(Follower(name, "driven", name, (element.gate, element.b), False))
        return found + self._running()

    def _running(self) -> list[Follower]:
        """Converters: they run while their input has volts, or what a start chain from the same bus gives their controller."""
        starts = {
            self.net(f"{name}.bus"): (self.net(f"{name}.plus"), self.net(f"{name}.common"))
            for name, block in self.blocks.items()
            if {"bus", "plus", "common"} <= {*block.kind.terminals}
        }
        return [
            Follower(e.name, "on", e.name, starts.get(e.fed, (e.fed, e.back)), False)
            for e in self.elements.values()
            if isinstance(e, Converted)
        ]

    @cached_property
    def regulated(self) -> list[tuple[str, str, str]]:
        """(a converter's source, upper, lower) for every feedback divider at a converter's output: what is made follows it."""
        made = {
            self.net(f"{e.block}.out"): e.name for e in self.elements.values() if isinstance(e, Converted)
        }
        found = []
        for name in self.blocks:
            upper, lower = (self.elements.get(f"{name}.{key}") for key in ("upper", "lower"))
            source = made.get(self.net(f"{name}.out")) if f"{name}.loop" in self.elements else None
            if source and isinstance(upper, Resistor) and isinstance(lower, Resistor):
                found.append((source, upper.name, lower.name))
        return found

    def rewired(self, state: State) -> list[Element]:
        """The elements of the blocks whose sensors the state puts into other air or light, whose pots it turns."""
        from generator.circuit.network.wiring import wire

        found: list[Element] = []
        for name, value in state.sensors.items():
            block = self.blocks[name]
            own = wire(
                block, {*block.sources, *block.joined, *block.shares}, air=value, light=value, left=value
            )
            found += [element.renamed(self.net) for element in own.elements] if own else []
        return found

    # --- equations -----------------------------------------------------------------------------------------------------

    def _system(self, elements: Sequence[Element]) -> System:
        from generator.circuit.network.compile import System

        bridges = [
            Bridge(name=f"{a} ~ {b}", block=block, a=a, b=b, modes=("bridge",))
            for a, b, block in self.bridges
        ]
        return System([*elements, *bridges], self.commons)

    @cached_property
    def system(self) -> System:
        """The equations of the direct-current side, solder bridges between neighbouring nets among its elements."""
        return self._system(list(self.elements.values()))

    @cached_property
    def side(self) -> MainsSide:
        """The mains side."""
        from generator.circuit.network.phasors import MainsSide

        return MainsSide(self.elements.values(), self.frequency, self.mains_commons)

    @property
    def frequency(self) -> float:
        """Of the mains, Hz: as the blocks on it have it."""
        stated = (block.point.__dict__.get("f") for block in self.blocks.values())
        mains = next((block.mains.frequency for block in self.blocks.values()), 50.0)
        return float(next((f for f in stated if f), mains))

    def row(self, state: str) -> int:
        """The position of a state by its name; the first for "". Raises KeyError."""
        return {own.name: position for position, own in enumerate(self.states)}[state] if state else 0

    @cached_property
    def bridges(self) -> list[tuple[str, str, str]]:
        """(net, net, block): neighbouring nets of one block between which there is no part with two ends, and a chip's
        neighbouring pins."""
        found: list[tuple[str, str, str]] = []
        for name in self.wired:
            own = [e for e in self.elements.values() if e.block == name and e.key and not e.ac and e.ON_BOARD]
            ends = [tuple(self.outside(net) for net in e.nets) for e in own]
            spans = {frozenset(nets) for nets in ends if len(nets) == 2}
            pairs: dict[tuple[str, str], None] = dict.fromkeys(self._neighbouring_pins(name))
            for one, other in product(ends, repeat=2):
                for a, b in product(one, other) if set(one) & set(other) else ():
                    inner = a == b or BULK in (a[-len(BULK) :], b[-len(BULK) :])
                    if not inner and frozenset((a, b)) not in spans and (b, a) not in pairs:
                        pairs[a, b] = None
            found += [(a, b, name) for a, b in list(pairs)[:MOST_BRIDGES]]
        once = {frozenset((a, b)): (a, b, block) for a, b, block in reversed(found)}
        return list(reversed(once.values()))

    def outside(self, net: str) -> str:
        """The net on which a junction's own resistance stands, for the one behind it."""
        if not net.endswith(BULK):
            return net
        bulk = next((e for e in self.elements.values() if e.name.endswith(BULK) and net in e.nets), None)
        return net if bulk is None else next(end for end in bulk.nets if end != net)

    def _neighbouring_pins(self, block: str) -> list[tuple[str, str]]:
        """The nets of a chip's pins that stand side by side and may be joined by solder."""
        numbered = sorted(
            (int(number[1]), self.net(net))
            for net in self.all_nets.order
            if (number := _PIN.fullmatch(net.removeprefix(f"{block}.")))
        )
        live = {net for element in self.elements.values() if not element.ac for net in element.nets}
        return [
            (a, b)
            for (first, a), (second, b) in zip(numbered, numbered[1:])
            if second == first + 1 and a != b and {a, b} <= live
        ]


def fired_by(device: Circuitry, triac: Triac) -> Diac | None:
    """The diac that fires a triac, where one does."""
    gates = {triac.gate, device.net(f"{triac.block}.gate")}
    return next((e for e in device.elements.values() if isinstance(e, Diac) and e.b in gates), None)
