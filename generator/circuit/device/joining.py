"""What joins the blocks of a device: names and values of other blocks, chip pins, the note's own joins, and their sides."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from generator.circuit.device import beyond
from generator.circuit.device.nets import Nets, is_inner, islands, nets_of, output_of
from generator.circuit.device.told import Told
from generator.circuit.network import sources
from generator.circuit.network.described import Wired
from generator.circuit.network.element import Element
from generator.circuit.network.mains import Diac, Triac
from generator.circuit.network.wiring import Wiring
from generator.problems import ERROR, NAMELESS, Trouble, did_you_mean

if TYPE_CHECKING:
    from generator.circuit.block import Block
    from generator.circuit.circuit import Circuit


def given(block: Block) -> set[str]:
    """The parameters of a block that another block gives."""
    return {*block.sources, *block.joined, *block.shares}


class Joining:
    """Wires the blocks and joins their nets; keeps what is wrong with that in troubles."""

    def __init__(self, circuit: Circuit, told: Told) -> None:
        self.circuit, self.told = circuit, told
        self.blocks: Mapping[str, Block] = circuit.blocks
        self.troubles: list[Trouble] = []
        self.wired: dict[str, Wired] = {
            name: self._wire(block, self._given(block)) for name, block in self.blocks.items()
        }
        self.through = beyond.fed_through(self.blocks, self.wired, told.joins)
        neutrals = [ends for _block, _parameter, ends in self.through if ends]
        more = (*self._at_terminals(), *self._behind_triacs(), *self._beside_triacs())
        self.joins = (*told.joins, *more, *neutrals)
        # neutrals of what stands where a triac has its load, by whichever end
        self.lifted = {f"{block}.neutral" for _triac, block, _end in self._at_triacs()}
        self.moved = self._moved_commons()
        self.by_pin: set[tuple[str, str]] = set()  # (block, parameter) that a chip's pin gives

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

    def _at_terminals(self) -> list[tuple[str, str]]:
        """Parameters that are another block's terminal, or a net of a network: joined to it."""
        return [
            (f"{name}.{self.wired[name].feeds[parameter][0]}", text)
            for name, block in self.blocks.items()
            for parameter, text in block.sources.items()
            if parameter in self.wired[name].feeds and not self._is_value(text)
        ]

    def _is_value(self, text: str) -> bool:
        giver, _dot, value = text.partition(".")
        return giver not in self.blocks or value in self.blocks[giver].values

    def _behind_triacs(self) -> list[tuple[str, str]]:
        """What is joined by one end to where a triac has its load, and by the other to nothing, lies between it and live."""
        named = {place for places in self.told.joins for place in places}
        found = []
        for triac, block, end in self._at_triacs():
            other = {"live": "neutral", "neutral": "live"}[end]
            if f"{block}.{other}" not in named and not given(self.blocks[block]):
                found.append((f"{triac}.live", f"{block}.{other}"))
        return found

    def _beside_triacs(self) -> list[tuple[str, str]]:
        """What fires a triac by a diac is charged by what stands across that triac, where the note does not say it."""
        named = {place for places in self.told.joins for place in places}
        found = []
        for places in self.told.joins:
            ends = [place.partition(".")[0] for place in places if place.endswith(".gate")]
            timing = [name for name in ends if any(isinstance(e, Diac) for e in self._elements(name))]
            triacs = [name for name in ends if any(isinstance(e, Triac) for e in self._elements(name))]
            for one, other in zip(timing, triacs):
                found += [
                    (f"{other}.{end}", f"{one}.{end}")
                    for end in ("load", "neutral")
                    if f"{one}.{end}" not in named
                ]
        return found

    def _elements(self, block: str) -> list[Element]:
        return self.wired[block].elements if block in self.wired else []

    def _at_triacs(self) -> list[tuple[str, str, str]]:
        """(triac, block, which end of it) for every block that a join puts where a triac has its load."""
        found = []
        for places in self.told.joins:
            ends = [
                (block, end)
                for block, _dot, end in (place.partition(".") for place in places)
                if block in self.blocks
            ]
            triac = next(
                (
                    block
                    for block, end in ends
                    if end == "load" and {"live", end} <= {*self.blocks[block].kind.terminals}
                ),
                "",
            )
            found += [
                (triac, block, end)
                for block, end in ends
                if triac and end in ("live", "neutral") and block != triac
            ]
        return found

    def _moved_commons(self) -> set[str]:
        """The commons (a motor's or battery's minus among them) that a join puts on another net."""
        named = {place for places in self.joins for place in places}
        return {
            f"{name}.{end}" for name in self.blocks for end in ("common", "minus") if f"{name}.{end}" in named
        } | self.lifted

    def _commons(self, nets: Nets) -> set[str]:
        """The nets that are 0 V at mains potential."""
        return {
            nets.root(net)
            for own in self.wired.values()
            for net, side in own.commons
            if side and net not in self.lifted
        }

    def _fed_by_joins(self) -> dict[str, set[str]]:
        """Parameters that a chip's pin or a join gives, by block."""
        fed: dict[str, set[str]] = {}
        for chip, own in self.wired.items():
            driven = {element.pin for element in own.elements if isinstance(element, sources.Pin)}
            for pin, target in own.goes.items():
                if target == chip:  # a block whose own output it is
                    continue
                parameter = self._driven_parameter(target) if pin in driven else ""
                if parameter and self._drives(pin, target, parameter):
                    fed.setdefault(target, set()).add(parameter)
                    self.by_pin.add((target, parameter))
        named = [place for places in self.joins for place in places]
        for place in named:
            block, _, terminal = place.partition(".")
            for parameter, (plus, _minus) in self.wired[block].feeds.items() if block in self.wired else ():
                if plus == terminal and not self._keeps_its_own(block, parameter):
                    fed.setdefault(block, set()).add(parameter)
        for block, parameter, _ends in self.through:
            fed.setdefault(block, set()).add(parameter)
        return fed

    def _keeps_its_own(self, block: str, parameter: str) -> bool:
        """Whether a block is the first of several that are joined where each is fed, and nothing there feeds them: its
        own source is the one of all, as two blocks on one mains."""
        net = self._early.root(f"{block}.{self.wired[block].feeds[parameter][0]}")
        fed = {
            f"{name}.{plus}": (name, own)
            for name, wired in self.wired.items()
            for own, (plus, _minus) in wired.feeds.items()
            if any(
                isinstance(e, sources.Source) and (e.key == own or f"{name}.{plus}" in e.nets)
                for e in wired.elements
            )
        }
        there = [n for n in self._early.order if self._early.root(n) == net and not is_inner(n)]
        # a net that only parts beyond the blocks' parameters have is not known yet
        named = [place for places in self.joins if set(places) & set(there) for place in places]
        takes = {
            f"{name}.{wired.feeds[own][0]}"
            for name, wired in self.wired.items()
            for own in given(self.blocks[name])
            if own in wired.feeds
        }
        sources_there = [fed[name] for name in there if name in fed]
        return all(name in fed or name in takes for name in [*there, *named]) and sources_there[:1] == [
            (block, parameter)
        ]

    def _driven_parameter(self, block: str) -> str:
        """The parameter by which a chip's pin drives a block: its drive, else what feeds it."""
        own = self.wired.get(block)
        if own is None:
            return ""
        return own.drive or next(iter(own.feeds), "")

    def _drives(self, pin: str, block: str, parameter: str) -> bool:
        """Whether a chip's pin is wired to what it drives: not across the isolation, where a coupler is between them that
        the note does not show; a triac's gate belongs to the mains side."""
        minus = f"{block}.{self.wired[block].feeds[parameter][1]}"
        if (minus, "mains") not in self.wired[block].commons:
            return True
        return self._early.root(f"{pin.partition('.')[0]}.common") == self._early.root(minus)

    @cached_property
    def _early(self) -> Nets:
        """The nets by references and joins alone."""
        nets = nets_of(self.wired)
        self._references(nets)
        for places in self.joins:
            known = [place for place in places if place in nets]
            for one, other in zip(known, known[1:]):
                nets.join(one, other)
        return nets

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
        if dot and not self._is_value(text):
            return None  # a join of its own
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
                if target not in self.wired or target == chip:
                    continue
                if pin in driven:
                    parameter = self._driven_parameter(target)
                    if parameter and self._drives(pin, target, parameter):
                        plus, minus = self.wired[target].feeds[parameter]
                        nets.join(pin, f"{target}.{plus}")
                        if minus.endswith("common") and f"{target}.common" not in self.moved:
                            nets.join(f"{chip}.common", f"{target}.{minus}")
                elif output := output_of(nets, target):
                    nets.join(pin, output[0])

    # --- the note's own joins ---------------------------------------------------------------------------------------

    def _known(self, nets: Nets, path: tuple[str | int, ...], called: str, place: str) -> bool:
        if place in nets:
            return True
        block, dot, terminal = place.partition(".")
        if block in self.circuit.broken:
            return False
        if block not in self.blocks:
            self._trouble(
                path, f"{called}: no block {block[:40] or NAMELESS}", did_you_mean(block, self.blocks)
            )
        elif not dot:
            if output_of(nets, block):
                return True
            self._trouble(path, f"{called}: {block} has no output", self._terminals(nets, block))
        else:
            known = [
                net.partition(".")[2] for net in nets.order if net.startswith(f"{block}.") and "._" not in net
            ]
            kind = self.blocks[block].kind.name
            what = f"{called}: {kind} {block} has no terminal {terminal[:40] or NAMELESS}"
            self._trouble(path, what, did_you_mean(terminal, known))
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
        for position, places in enumerate(self.joins):
            called = " - ".join(places)
            if len(places) < 2:
                hint = "two or more places, such as [air.pin, watch.input]"
                self._trouble(("joins", position), f"{called}: one place is not a join", hint)
                continue
            if not all([self._known(nets, ("joins", position), place, place) for place in places]):
                continue
            ends = [self._net(nets, place) for place in places]
            live = self._commons(nets)
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
