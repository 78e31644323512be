"""A note's blocks put together: wired, joined, told what is wrong, into one Device."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from generator.circuit.device.device import Device
from generator.circuit.device.extra_wiring import wire_extra
from generator.circuit.device.nets import Nets, islands, join_commons, nets_of, output_of
from generator.circuit.device.told import NOTHING, State, Told
from generator.circuit.network import sources
from generator.circuit.network.alone import renamed
from generator.circuit.network.described import Wired
from generator.circuit.network.element import Element, NoOperatingPoint, exact
from generator.circuit.network.passive import Resistor
from generator.circuit.network.wiring import Wiring
from generator.problems import ERROR, WARNING, Trouble, did_you_mean

if TYPE_CHECKING:
    from generator.circuit.block import Block
    from generator.circuit.circuit import Circuit
    from generator.circuit.point import Mains

MOST_KEPT = 4
_recent: list[Device] = []
PIN_OHMS = 0.01  # of a connector's pin


def assemble(circuit: Circuit, told: Told = NOTHING) -> Device:
    """The device of a note. Never raises for what a note may hold: see Device.troubles (paths as in the front matter).

    The few that were asked for last are kept, for judging, page and data of one note ask for the same.
    """
    for kept in _recent:
        if kept.circuit is circuit and kept.told == told:
            return kept
    device = _Assembly(circuit, told).device()
    _recent.append(device)
    del _recent[:-MOST_KEPT]
    return device


def given(block: Block) -> set[str]:
    """The parameters of a block that another block gives."""
    return {*block.sources, *block.joined, *block.shares}


class _Assembly:
    def __init__(self, circuit: Circuit, told: Told) -> None:
        self.circuit, self.told = circuit, told
        self.blocks: Mapping[str, Block] = circuit.blocks
        self.troubles: list[Trouble] = []
        self.wired: dict[str, Wired] = {
            name: self._wire(block, self._given(block)) for name, block in self.blocks.items()
        }
        self.moved = self._moved_commons()
        self.by_pin: set[tuple[str, str]] = set()  # (block, parameter) that a chip's pin gives

    def device(self) -> Device:
        fed = self._fed_by_joins()
        for name, parameters in fed.items():
            self.wired[name] = self._wire(self.blocks[name], {*self._given(self.blocks[name]), *parameters})
        nets = nets_of(self.wired)
        self._extras(nets)
        self._references(nets)
        self._pins(nets)
        common = join_commons(nets, self.wired, self.moved)
        self._explicit(nets, common)
        elements = [renamed(element, nets.root) for own in self.wired.values() for element in own.elements]
        connectors, elements = self._connectors(nets, elements)
        points = {
            name: place
            for name, place in self.told.test_points.items()
            if self._known(nets, ("test_points", name), name, place)
        }
        mains = {nets.root(net) for own in self.wired.values() for net, side in own.commons if side}
        states = self._states()
        return Device(
            circuit=self.circuit, told=self.told, wired=self.wired, nets_by_name=nets, elements={e.name: e for e in elements},
            common=common, mains_commons=mains, connectors=connectors, test_points=points, states=states, troubles=self.troubles,
        )  # fmt: skip

    def _given(self, block: Block) -> set[str]:
        """The parameters of a block that another block gives, and the loads that are what is joined."""
        return {*given(block), *(p for name, p in self.circuit.unstated_loads if name == block.name)}

    def _wire(self, block: Block, fed: Iterable[str]) -> Wired:
        w = Wiring(block, fed)
        block.kind.wire(block, w)
        w.wired.terminals = [w.net(terminal) for terminal in block.kind.terminals]
        return w.wired

    def _trouble(self, path: tuple[str | int, ...], what: str, hint: str = "", severity: str = ERROR) -> None:
        self.troubles.append(Trouble(path, what, hint, severity))

    # --- what feeds what --------------------------------------------------------------------------------------------

    def _moved_commons(self) -> set[str]:
        """The commons (a motor's or battery's minus among them) that a join puts on another net."""
        named = {place for places in self.told.joins for place in places}
        return {
            f"{name}.{end}" for name in self.blocks for end in ("common", "minus") if f"{name}.{end}" in named
        }

    def _fed_by_joins(self) -> dict[str, set[str]]:
        """Parameters that a chip's pin or a join gives, by block."""
        fed: dict[str, set[str]] = {}
        for own in self.wired.values():
            driven = {element.pin for element in own.elements if isinstance(element, sources.Pin)}
            for pin, target in own.goes.items():
                parameter = self._driven_parameter(target) if pin in driven else ""
                if parameter:
                    fed.setdefault(target, set()).add(parameter)
                    self.by_pin.add((target, parameter))
        named = [place for places in self.told.joins for place in places]
        for place in named:
            block, _, terminal = place.partition(".")
            for parameter, (plus, _minus) in self.wired[block].feeds.items() if block in self.wired else ():
                if plus == terminal:
                    fed.setdefault(block, set()).add(parameter)
        return fed

    def _driven_parameter(self, block: str) -> str:
        """The parameter by which a chip's pin drives a block: its drive, else what feeds it."""
        own = self.wired.get(block)
        if own is None:
            return ""
        return own.drive or next(iter(own.feeds), "")

    def _references(self, nets: Nets) -> None:
        """Parameters that are another block's value or name: the place where that is measured. A chip's pin goes before."""
        for name, block in self.blocks.items():
            own = self.wired[name]
            for parameter, other in block.shares.items():
                if parameter in own.feeds and (theirs := next(iter(self.wired[other].feeds.values()), None)):
                    nets.join(f"{name}.{own.feeds[parameter][0]}", f"{other}.{theirs[0]}")
            for parameter, text in {**block.sources, **block.joined}.items():
                ends = own.feeds.get(parameter)
                if ends is None or (name, parameter) in self.by_pin:
                    continue
                given = self._measured(nets, text)
                if given is None:
                    continue
                nets.join(f"{name}.{ends[0]}", given[0])
                if given[1] in nets and f"{name}.{ends[1]}" not in self.moved:
                    nets.join(f"{name}.{ends[1]}", given[1])

    def _measured(self, nets: Nets, text: str) -> tuple[str, str] | None:
        """The two nets where a value of a block, or its output, is measured."""
        giver, dot, value = text.partition(".")
        own = self.wired.get(giver)
        probe = own.probes.get(value) if own and dot else None
        if own and probe and probe.how == "volts" and not probe.failed:
            return probe.plus, probe.minus
        if own and probe and probe.how == "rail":
            rail = next(element for element in own.elements if element.name == probe.element)
            return rail.nets[0], rail.nets[1]
        return output_of(nets, giver)

    def _pins(self, nets: Nets) -> None:
        """Chip pins and the blocks that they name."""
        for chip, own in self.wired.items():
            driven = {element.pin for element in own.elements if isinstance(element, sources.Pin)}
            for pin, target in own.goes.items():
                if target not in self.wired:
                    continue
                if pin in driven:
                    parameter = self._driven_parameter(target)
                    if parameter:
                        plus, minus = self.wired[target].feeds[parameter]
                        nets.join(pin, f"{target}.{plus}")
                        if minus.endswith("common") and f"{target}.common" not in self.moved:
                            nets.join(f"{chip}.common", f"{target}.{minus}")
                elif output := output_of(nets, target):
                    nets.join(pin, output[0])

    # --- what the note says beyond its blocks -----------------------------------------------------------------------

    def _known(self, nets: Nets, path: tuple[str | int, ...], called: str, place: str) -> bool:
        if place in nets:
            return True
        block, dot, terminal = place.partition(".")
        if block in self.circuit.broken:
            return False
        if block not in self.blocks:
            self._trouble(path, f"{called}: no block {block[:40]}", did_you_mean(block, self.blocks))
        elif not dot:
            if output_of(nets, block):
                return True
            self._trouble(path, f"{called}: {block} has no output", self._terminals(nets, block))
        else:
            known = [
                net.partition(".")[2] for net in nets.order if net.startswith(f"{block}.") and "._" not in net
            ]
            kind = self.blocks[block].kind.name
            self._trouble(
                path,
                f"{called}: {kind} {block} has no terminal {terminal[:40]}",
                did_you_mean(terminal, known),
            )
        return False

    def _terminals(self, nets: Nets, block: str) -> str:
        found = [
            net.partition(".")[2] for net in nets.order if net.startswith(f"{block}.") and "._" not in net
        ]
        return "its terminals: " + ", ".join(found) if found else "this kind has no terminals yet"

    def _net(self, nets: Nets, place: str) -> str:
        if place in nets:
            return place
        output = output_of(nets, place)
        assert output is not None
        return output[0]

    def _explicit(self, nets: Nets, common: str) -> None:
        """The joins of the note, one after another; one that would bridge the isolation is refused."""
        groups = [group for own in self.wired.values() for e in own.elements for group in e.groups()]
        for position, places in enumerate(self.told.joins):
            called = " - ".join(places)
            if len(places) < 2:
                self._trouble(
                    ("joins", position),
                    f"{called}: one place is no join",
                    "two or more places, such as [air.pin, watch.input]",
                )
                continue
            if not all([self._known(nets, ("joins", position), place, place) for place in places]):
                continue
            ends = [self._net(nets, place) for place in places]
            live = {nets.root(net) for own in self.wired.values() for net, side in own.commons if side}
            for one, other in zip(ends, ends[1:]):
                if self._across(nets, groups, common, live, one, other):
                    what = f"{called}: joins the mains side to the low-voltage side"
                    first, second = (one, other) if self._side(nets, groups, live, one) else (other, one)
                    self._trouble(
                        ("joins", position), what, f"{first} is at mains potential, {second} is not"
                    )
                else:
                    nets.join(one, other)

    def _side(self, nets: Nets, groups: list[tuple[str, ...]], live: set[str], net: str) -> bool:
        """Whether a net is on the mains side."""
        island = islands(
            [[nets.root(n) for n in group] for group in groups], {nets.root(n) for n in nets.order}
        )
        return island(nets.root(net)) in {island(mains) for mains in live}

    def _across(
        self, nets: Nets, groups: list[tuple[str, ...]], common: str, live: set[str], one: str, other: str
    ) -> bool:
        if not live or not common:
            return False
        island = islands(
            [[nets.root(n) for n in group] for group in groups], {nets.root(n) for n in nets.order}
        )
        sides = {island(net) for net in live}
        low = island(nets.root(common))
        if low in sides:
            return False
        a, b = island(nets.root(one)), island(nets.root(other))
        return (a in sides and b == low) or (b in sides and a == low)

    def _extras(self, nets: Nets) -> None:
        """Parts beyond the kinds' parameters, between nets of their own block or of any."""
        seen: dict[str, str] = {}
        for name, block in self.blocks.items():
            for part in block.parts:
                if part.designator:
                    seen.setdefault(part.designator, name)
        for name, block in self.blocks.items():
            w = Wiring(block)
            w.wired = self.wired[name]
            for position, extra in block.extras:
                path = ("blocks", name, block.extras_key, position)
                if extra.part.designator and seen.setdefault(extra.part.designator, f"{name} ") not in (
                    f"{name} ",
                ):
                    self._trouble(
                        path,
                        f"{extra.part.designator} is in {seen[extra.part.designator].strip()} already",
                        "a part is in one place",
                    )
                    continue
                found = [self._extra_net(nets, path, name, net, block) for net in extra.nets]
                if all(found):
                    wire_extra(w, extra, tuple(net for net in found if net))

    def _extra_net(self, nets: Nets, path: tuple[str | int, ...], name: str, net: str, block: Block) -> str:
        """A net as an extra part names it: a terminal of its block, one of another, or a new one of its own."""
        own = f"{name}.{net}"
        if "." in net:
            return net if self._known(nets, path, net, net) else ""
        if own not in nets and net in self.blocks and output_of(nets, net):
            return self._net(nets, net)
        nets.add(own)
        return own

    def _connectors(self, nets: Nets, elements: list[Element]) -> tuple[dict[str, list[str]], list[Element]]:
        """Where each connector's pins are; a part beyond a pin gets the pin between itself and the net."""
        found: dict[str, list[str]] = {}
        for name, pins in self.told.connectors.items():
            found[name] = []
            for position, text in enumerate(pins):
                place, arrow, part = (piece.strip() for piece in text.partition("->"))
                path = ("connectors", name, position)
                if (
                    not place
                    or place == "-"
                    or not self._known(nets, path, f"{name} pin {position + 1}", place)
                ):
                    found[name].append("")
                    continue
                net = self._net(nets, place)
                found[name].append(net)
                if arrow:
                    elements = self._behind(
                        elements, nets.root(net), part, f"{name} pin {position + 1}", path
                    )
        return found, elements

    def _behind(
        self, elements: list[Element], net: str, part: str, pin: str, path: tuple[str | int, ...]
    ) -> list[Element]:
        moved = [e for e in elements if part in (e.called, e.key) and net in e.nets]
        if not moved:
            known = [e.called for e in elements if net in e.nets and e.called]
            self._trouble(path, f"{pin}: no part {part} at {net}", did_you_mean(part, known), WARNING)
            return elements
        beyond = f"{pin}._beyond"
        element = renamed(moved[0], lambda own: beyond if own == net else own)
        block = element.block
        between = Resistor(
            name=pin,
            block=block,
            key=pin,
            called=pin,
            modes=("open",),
            a=net,
            b=beyond,
            ohms=exact(PIN_OHMS),
            ac=element.ac,
        )
        return [element if e.name == element.name else e for e in elements] + [between]

    # --- states -----------------------------------------------------------------------------------------------------

    def _drivable(self) -> dict[str, str]:
        """Blocks that a state can drive -> the pin element that drives them, "" for a source of their own."""
        found: dict[str, str] = {}
        for name, own in self.wired.items():
            if any(isinstance(element, sources.Drive) for element in own.elements):
                found[name] = ""
        for own in self.wired.values():
            for element in own.elements:
                target = own.goes.get(element.pin, "") if isinstance(element, sources.Pin) else ""
                if target in self.wired:
                    found[target] = element.name
        return found

    def _states(self) -> list[State]:
        drivable = self._drivable()
        if not self.told.states:
            running = State("running", tuple(drivable))
            return [running, State("idle")] if drivable else [running]
        for state in self.told.states:
            for position, block in enumerate(state.on):
                path = ("states", state.name, "on", position)
                if block in self.circuit.broken:
                    continue
                if block not in self.blocks:
                    self._trouble(
                        path,
                        f"{state.name}: no block {block[:40]}",
                        did_you_mean(block, drivable or self.blocks),
                    )
                elif block not in drivable:
                    self._trouble(
                        path, f"{state.name}: {block} cannot be driven", self._why_not(block, drivable)
                    )
        return [self._known_in(state, drivable) for state in self.told.states]

    def _known_in(self, state: State, drivable: Mapping[str, str]) -> State:
        """The state without what it says of blocks that are not there or do not have what it takes."""
        sensors = {}
        for block, value in state.sensors.items():
            path = ("states", state.name, block)
            if block in self.circuit.broken:
                continue
            if block not in self.blocks:
                self._trouble(path, f"{state.name}: no block {block[:40]}", did_you_mean(block, self.blocks))
            elif self._senses(block, value):
                sensors[block] = value
            else:
                what = f"{state.name}: {block} has no sensor that stands in anything"
                self._trouble(
                    path, what, "a temperature or an illuminance is for thermistors and light sensors"
                )
        on = tuple(block for block in state.on if block in drivable)
        return replace(state, on=on, sensors=sensors)

    def _senses(self, block: str, value: float) -> bool:
        """Whether a block's elements depend on the air or light that it stands in."""
        found = []
        for own in (Wiring(self.blocks[block]), Wiring(self.blocks[block], air=value + 1, light=value + 1)):
            self.blocks[block].kind.wire(self.blocks[block], own)
            found.append([element.nominal() for element in own.wired.elements])
        before, after = found
        return before != after

    def _why_not(self, block: str, drivable: Mapping[str, str]) -> str:
        if self.wired[block].drive in given(self.blocks[block]):
            return "another circuit drives it, and it follows that"
        return (
            "can be driven: " + ", ".join(drivable)
            if drivable
            else "nothing in this note is driven by a chip's pin or a source"
        )


def work_out(blocks: Mapping[str, object], mains: Mains, told: Told = NOTHING) -> Device:
    """The blocks of a note as written, worked out and put together. Troubles of the blocks are in Device.circuit.

    A load that the note leaves out is what is joined: found from the network, then the blocks are worked out with it.
    """
    from generator.circuit.circuit import build
    from generator.circuit.device.loads import unstated

    circuit = build(blocks, mains, told.joins)
    device = assemble(circuit, told)
    if not circuit.unstated_loads:
        return device
    try:
        loads = unstated(device)
    except NoOperatingPoint:
        return device
    return assemble(build(blocks, mains, told.joins, loads), told)
