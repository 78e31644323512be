"""Where a repairer of one device can put the probes, in the words of its note."""

from __future__ import annotations

import re
from dataclasses import dataclass
from types import ModuleType
from typing import Any

from whole_devices.board import Board


@dataclass(frozen=True)
class Place:
    """kind: dc, ac, ohms, diode; the two nets, red first; state is empty unplugged. note: as a reading says
    it.
    """

    kind: str
    a: str
    b: str
    state: str
    note: tuple[tuple[str, Any], ...]

    def entry(self, read: str) -> dict[str, Any]:
        return {
            **{k: list(v) if isinstance(v, tuple) else v for k, v in self.note},
            "read": read,
            **({"when": self.state} if self.state else {}),
        }


def named_nets(make: ModuleType) -> dict[str, str]:
    """Every name of a net that a note of this device may use: block.terminal, TP1, CN2 pin 1."""
    names = {}
    for line in make.NETS.strip().splitlines():
        block, _, rest = line.partition(":")
        for pair in rest.split():
            terminal, _, node = pair.partition("=")
            names[f"{block}.{terminal}"] = node
    for pair in make.POINTS.split():
        name, _, node = pair.partition("=")
        names[name.replace("/", " pin ")] = node
    return names


def places(make: ModuleType, board: Board) -> list[Place]:
    """All of them; the first name of a net that a repairer would use: test point, connector, terminal."""
    names: dict[str, str] = {}
    for name, node in sorted(
        named_nets(make).items(), key=lambda item: (not re.match("TP|CN", item[0]), item[0])
    ):
        names.setdefault(node, name)
    supply = board.supply
    mains = set(make.MAINS.split())
    found = []
    for state in board.states:
        for node, name in names.items():
            common = board.islands.get(node, "0")
            if node in (common, "0") or node in board.islands.values():
                continue
            kind = "ac" if node in mains or node in board.islands else "dc"
            found.append(Place(kind, node, common, state, (("at", name),)))
        for part, (a, b) in board.parts.items():
            if re.fullmatch(r"(R|LD|D|HE|M|F|TF|S)\d+", part):
                kind = "ac" if {a, b} & (set(board.islands) | mains) else "dc"
                found.append(Place(kind, a, b, state, (("across", part),)))
        if supply:
            found.append(Place("ripple", supply.rail, supply.common, state, (("at", names[supply.rail]),)))
    for part, (a, b) in board.parts.items():
        if re.fullmatch(r"(R|HE|M|L|TH|LDR|F|TF|C|BZ)\d+", part):
            found.append(Place("ohms", a, b, "", (("ohms", part),)))
        elif part.endswith(" coil"):  # from terminal to terminal: the contact has the same designator
            found.append(Place("ohms", a, b, "", (("ohms", (names[a], names[b])),)))
    rails = [n for n in names if re.fullmatch(r"v\w*", n)]
    found += [Place("ohms", n, "0", "", (("ohms", (names[n], _common(make))),)) for n in rails]
    for part, (a, b) in board.junctions.items():
        if re.fullmatch(r"(D|LD|ZD)\d+", part):
            found.append(Place("diode", a, b, "", (("diode", part),)))
        elif part.endswith(" b-e") and a in names and b in {*names, "0"}:
            found.append(Place("diode", a, b, "", (("diode", (names[a], names.get(b, _common(make)))),)))
    return found


def _common(make: ModuleType) -> str:
    return next(
        name
        for name, node in named_nets(make).items()
        if node == "0" and name.endswith("common") or node == "0" and name.endswith("minus")
    )
