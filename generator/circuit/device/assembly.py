"""A note's blocks put together: wired, joined, told what is wrong, into one Device."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from generator.circuit.device.apart import joint, joint_before
from generator.circuit.device.beyond import (
    lone_contacts,
    on_direct,
    on_mains,
    one_place,
    one_relay,
    rectified_by_hand,
)
from generator.circuit.device.clamps import apart as clamped_apart
from generator.circuit.device.clamps import where_they_count
from generator.circuit.device.device import Device
from generator.circuit.device.extra_wiring import wire_extra
from generator.circuit.device.joining import Joining, given
from generator.circuit.device.nets import Nets, join_commons, nets_of, output_of
from generator.circuit.device.told import NOTHING, State, Told
from generator.circuit.network import sources
from generator.circuit.network.element import Element, NoOperatingPoint
from generator.circuit.network.mains import Triac
from generator.circuit.network.passive import Winding
from generator.circuit.network.wiring import Wiring
from generator.problems import NAMELESS, WARNING, did_you_mean

if TYPE_CHECKING:
    from generator.circuit.block import Block
    from generator.circuit.circuit import Circuit
    from generator.circuit.point import Mains

MOST_KEPT = 4
_recent: list[Device] = []
APART = (sources.Source, sources.Motor, Winding)  # what of a block off the board has ends on wires


def assemble(circuit: Circuit, told: Told = NOTHING) -> Device:
    """The device of a note. Never raises for what a note may hold: see Device.troubles (paths as in the front matter).

    The few that were asked for last are kept, for judging, page and data of one note ask for the same.
    """
    for kept in _recent:
        if kept.circuit is circuit and kept.told == told:
            return kept
    device = _Assembly(circuit, told).device()
    _recent.append(device)
    while len(_recent) > MOST_KEPT:
        _recent.pop(0).kept.clear()  # which knows the device in turn: nothing else would free the two
    return device


class _Assembly(Joining):
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
        elements = [element.renamed(nets.root) for own in self.wired.values() for element in own.elements]
        elements, clamps = clamped_apart(elements)
        extras = {f"{name}.{extra.name}" for name, block in self.blocks.items() for _, extra in block.extras}
        elements = on_direct(
            on_mains(elements, extras, {common, *self._commons(nets)}), {common, *self._commons(nets)}
        )
        self.troubles += lone_contacts(elements, self.blocks)
        told, unknown = rectified_by_hand(elements, extras, {common, *self._commons(nets)}, self.blocks)
        self.troubles += told
        self._twice(
            elements, {common, *(nets.root(net) for own in self.wired.values() for net, _ in own.commons)}
        )
        for terminal in self.told.apart:
            elements = joint_before(nets, elements, terminal)
        connectors, elements = self._connectors(nets, where_they_count(elements, clamps))
        points = {
            name: place
            for name, place in self.told.test_points.items()
            if self._known(nets, ("test_points", name), name, place)
        }
        mains = self._commons(nets)
        states = self._states()
        return Device(
            circuit=self.circuit, told=self.told, wired=self.wired, nets_by_name=nets, elements={e.name: e for e in elements},
            common=common, mains_commons=mains, connectors=connectors, test_points=points, states=states, troubles=self.troubles,
            unknown=frozenset(unknown),
        )  # fmt: skip

    # --- what the note says beyond its blocks -----------------------------------------------------------------------

    def _extras(self, nets: Nets) -> None:
        """Parts beyond the kinds' parameters, between nets of their own block or of any."""
        # designator -> its block, and whether it is one of the extra parts there
        seen: dict[str, tuple[str, bool]] = {}
        for name, block in self.blocks.items():
            for part in block.parts:
                if part.designator:
                    seen.setdefault(part.designator, (name, False))
        for name, block in self.blocks.items():
            w = Wiring(block)
            w.wired = self.wired[name]
            for position, extra in block.extras:
                path = ("blocks", name, block.extras_key, position)
                called = extra.part.designator
                before = seen.setdefault(called, (name, True)) if called else (name, True)
                if before != (name, True) and not one_relay(called, extra):
                    self._trouble(path, f"{called} is in {seen[called][0]} already", one_place(called))
                    continue
                found = [self._extra_net(nets, path, name, net, block) for net in extra.nets]
                if all(found):
                    wire_extra(w, extra, tuple(net for net in found if net))

    def _twice(self, elements: list[Element], commons: set[str]) -> None:
        """A part that two blocks have at one net: as it is written, there are two of them."""
        first: dict[tuple[str, type], Element] = {}
        for element in elements:
            if not element.called or not self.blocks[element.block].designators & {element.called}:
                continue
            before = first.setdefault((element.called, type(element)), element)
            if before.block != element.block and (set(before.nets) & set(element.nets)) - commons:
                what = f"{element.called} is in {before.block} already, at the same net: two are computed"
                hint = "a part is in one place: name it in one of the blocks, or give the other its own designator"
                self._trouble(("blocks", element.block), what, hint, WARNING)

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
            elements = self._between_pins(
                elements, name, [nets.root(net) if net else "" for net in found[name]]
            )
        return found, elements

    def _between_pins(self, elements: list[Element], connector: str, pins: list[str]) -> list[Element]:
        """What stands off the board and has both its ends on pins of one connector stands behind those pins."""
        for block in self.wired:
            if not self.blocks[block].kind.off_board:
                continue
            apart = [e for e in elements if e.block == block and isinstance(e, APART)]
            ends = [net for net, times in Counter(net for e in apart for net in e.nets).items() if times == 1]
            if len(ends) != 2 or not set(ends) <= set(pins):
                continue
            for net in ends:
                pin = f"{connector} pin {pins.index(net) + 1}"
                moved = next(e for e in apart if net in e.nets)
                if not any(e.name == pin for e in elements):
                    elements = _pin_before(elements, [moved], net, pin)
                    apart = [e for e in elements if e.block == block and isinstance(e, APART)]
        return elements

    def _behind(
        self, elements: list[Element], net: str, part: str, pin: str, path: tuple[str | int, ...]
    ) -> list[Element]:
        there = [e for e in elements if net in e.nets]
        moved = [e for e in there if part in (e.called, e.key)][:1]
        if not moved:  # several elements are one part: all of what it is lies beyond
            moved = [e for e in there if part in self.blocks[e.block].designators]
        if not moved:
            own = [(e.called, self.blocks[e.block].designators) for e in there]
            known = {one for called, those in own for one in ({called} if called in those else those)}
            hint = did_you_mean(part, sorted(known)) if known else ""
            self._trouble(path, f"{pin}: no part {part or NAMELESS} at {net}", hint, WARNING)
            return elements
        return _pin_before(elements, moved, net, pin)

    # --- states -----------------------------------------------------------------------------------------------------

    def _drivable(self) -> dict[str, str]:
        """Blocks that a state can drive -> the pin element that drives them, "" for a source of their own."""
        found: dict[str, str] = {}
        for name, own in self.wired.items():
            if any(
                isinstance(e, sources.Drive) or isinstance(e, Triac) and not e.follows for e in own.elements
            ):
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
                    what = f"{state.name}: no block {block[:40]}"
                    self._trouble(path, what, did_you_mean(block, drivable or self.blocks))
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
                what = f"{state.name}: {block} has no sensor for a temperature or light"
                hint = "a temperature or an illuminance is for thermistors and light sensors"
                self._trouble(path, what, hint)
        fed = {}
        for block, volts in state.fed.items():
            if block in self.circuit.broken:
                continue
            if sources.own_of(self.wired[block].elements) is not None:
                fed[block] = volts
            else:
                what = f"{state.name}: {block} has no source of its own"
                self._trouble(
                    ("states", state.name, block), what, "say it of the block whose volts are stated"
                )
        on = tuple(block for block in state.on if block in drivable)
        return replace(state, on=on, sensors=sensors, fed=fed)

    def _senses(self, block: str, value: float) -> bool:
        """Whether a block's elements depend on the air or light that it stands in."""
        found = []
        for own in (
            Wiring(self.blocks[block]),
            Wiring(self.blocks[block], air=value + 1, light=value + 1, left=value + 1),
        ):
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
        loads = unstated(device, device.solved)
    except NoOperatingPoint:
        return device
    return assemble(build(blocks, mains, told.joins, loads), told)


def _pin_before(elements: list[Element], moved: list[Element], net: str, pin: str) -> list[Element]:
    """The elements with a connector's pin between a net and some of them."""
    beyond = f"{pin}._beyond"
    own = {e.name: e.renamed(lambda end: beyond if end == net else end) for e in moved}
    between = joint(pin, moved[0].block, net, beyond, moved[0].ac)
    return [own.get(e.name, e) for e in elements] + [between]
