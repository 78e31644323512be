"""Which names are one net: what blocks say of themselves, references, chip pins, joins, and the commons of each side."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from generator.circuit.network.described import Wired

# what a block's name alone means, in this order
OUTPUTS = ("plus", "out", "pin", "tap", "live_out", "output", "battery")


@dataclass
class Nets:
    """Names of nets in groups that are one. order: the names in the order in which the note has them."""

    parent: dict[str, str] = field(default_factory=dict)
    order: dict[str, int] = field(default_factory=dict)

    def add(self, net: str) -> None:
        """Make a net known."""
        if net not in self.parent:
            self.parent[net] = net
            self.order[net] = len(self.order)

    def __contains__(self, net: str) -> bool:
        return net in self.parent

    def root(self, net: str) -> str:
        """The one name of the group: that which comes first in the note, an inner one only where there is no other."""
        self.add(net)
        while self.parent[net] != net:
            self.parent[net] = self.parent[self.parent[net]]
            net = self.parent[net]
        return net

    def join(self, one: str, other: str) -> None:
        """Make two nets one."""
        a, b = self.root(one), self.root(other)
        if a == b:
            return
        first, second = sorted((a, b), key=lambda net: (is_inner(net), self.order[net]))
        self.parent[second] = first

    def part(self, net: str) -> str:
        """Take the names that a net has in its own block out of its group, to be a net by that name; what the others are
        called by then, "" where there are none and all stays."""
        group = [name for name in self.order if self.root(name) == self.root(net)]
        block = net.partition(".")[0]
        own = [name for name in group if name.partition(".")[0] == block]
        rest = sorted(set(group) - set(own), key=lambda name: (is_inner(name), self.order[name]))
        if not rest:
            return ""
        self.parent |= {name: rest[0] for name in rest} | {name: net for name in own}
        return rest[0]

    def members(self) -> dict[str, list[str]]:
        """Every group by its name, with its members in the note's order."""
        found: dict[str, list[str]] = {}
        for net in self.order:
            found.setdefault(self.root(net), []).append(net)
        return found


def is_inner(net: str) -> bool:
    """Whether a net is a block's own, not one of its terminals."""
    return net.partition(".")[2].startswith("_")


def nets_of(wired: Mapping[str, Wired]) -> Nets:
    """All nets of the blocks, with those that a block itself says are one."""
    nets = Nets()
    for name, own in wired.items():
        for net in own.terminals:
            nets.add(net)
        for element in own.elements:
            for net in element.nets:
                nets.add(net)
        for one, other in own.same:
            nets.add(one)
            nets.add(other)
        for plus, minus in own.feeds.values():
            nets.add(f"{name}.{plus}")
            nets.add(f"{name}.{minus}")
    for own in wired.values():
        for one, other in own.same:
            nets.join(one, other)
    return nets


def output_of(nets: Nets, block: str) -> tuple[str, str] | None:
    """(output, its common) of a block, which its name alone stands for; None where it has no output."""
    for terminal in OUTPUTS:
        net = f"{block}.{terminal}"
        if net in nets:
            other = f"{block}.neutral_out" if terminal == "live_out" else f"{block}.common"
            return net, other if other in nets else f"{block}.minus"
    return None


def join_commons(nets: Nets, wired: Mapping[str, Wired], moved: set[str]) -> str:
    """Make the commons of the low-voltage side one net; its name, "" where there is none. moved: commons that a join puts on
    another net."""
    mains = {nets.root(net) for own in wired.values() for net, side in own.commons if side}
    first = ""
    for name, own in wired.items():
        for net in (f"{name}.common", *(net for net, side in own.commons if not side)):
            if net not in nets or net in moved or nets.root(net) in mains:
                continue
            if first:
                nets.join(first, net)
            first = first or net
    return nets.root(first) if first else ""


def islands(groups: Iterable[Iterable[str]], nets: Iterable[str]) -> Callable[[str], str]:
    """A function that names the galvanic island of a net; groups: nets between which current can pass."""
    found = Nets()
    for net in nets:
        found.add(net)
    for group in groups:
        members = list(group)
        for net in members[1:]:
            found.join(members[0], net)
    return found.root
