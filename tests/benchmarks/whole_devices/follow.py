"""A bench that answers: the reading that a page proposes is taken on the simulated specimen, and the page
is asked again.
"""

from __future__ import annotations

import zlib
from types import ModuleType
from typing import Any

import numpy as np
from whole_devices.asked import Answer, ask
from whole_devices.meter import Meter
from whole_devices.places import named_nets, places
from whole_devices.scoring import Known, Row
from whole_devices.spreads import Draw

# readings more than the first; the share at which a repairer stops measuring (common practice, no source)
MOST, SURE = 4, 0.9


class Stand:
    """One case's specimen: what a place shows when somebody asks for it."""

    def __init__(self, case: dict[str, Any], make: ModuleType) -> None:
        self.case, self.board, self.nets = case, make.build(Draw(None)), named_nets(make)
        self.mains = set(make.MAINS.split()) | set(self.board.islands)
        self.meter = Meter(np.random.default_rng(zlib.crc32(case["id"].encode())))
        self.readings: list[dict[str, Any]] = list(case["readings"])
        self.steps = 0
        self.open = True

    def _node(self, name: str) -> str | None:
        return self.nets.get(name)

    def _part(self, name: str) -> tuple[str, str] | None:
        for part in (name, f"{name} coil", f"{name} contact", f"{name} primary"):
            if part in self.board.parts:
                return self.board.parts[part]
        return None

    def _alone(self, part: str) -> float:
        """Ohms of a part with one leg lifted, at its nominal value where it has not failed; a meter shows 60 Mohm as open."""
        *_, sound = self.board.resistors.get(part.lower(), (1e9,))
        for truth in self.case["truth"]:
            if truth["part"] == part:
                size = truth.get("size", 1.0)
                ways = {"open": 1e9, "short": 0.02, "leaky": size, "high": sound * size, "low": sound * size}
                return float(ways.get(truth["failed"], sound))
        return float(sound)

    def take(self, place: dict[str, Any]) -> bool:
        """Take a proposed reading; False where nobody could."""
        bench = self.case["bench"]
        state = place.get("when") or self.board.states[0]
        entry = {k: place[k] for k in ("at", "across", "ohms", "diode") if k in place}
        if "ohms" in entry or "diode" in entry:
            kind = "ohms" if "ohms" in entry else "diode"
            asked = entry[kind]
            if isinstance(asked, str) and asked.endswith(" lifted"):
                self._write(entry, kind, self._alone(asked.removesuffix(" lifted")), "")
                return True
            ends = self._part(asked) if isinstance(asked, str) else tuple(self._node(n) for n in asked)
            if isinstance(asked, str) and kind == "diode":
                ends = self.board.junctions.get(asked, ends)
            if isinstance(asked, str) and ends is None:
                node = self._node(asked)
                ends = (node, self.board.islands.get(node, "0")) if node else None
            if not ends or None in ends:
                return False
            a, b = ends
            if kind == "ohms":
                true = 0.0 if a == b else bench["ohms"].get(f"{a} {b}", bench["ohms"].get(f"{b} {a}", 1e9))
            elif f"{a} {b}" in bench["diode"]:
                true = bench["diode"][f"{a} {b}"]
            else:
                return False
            self._write(entry, kind, true, "")
            return True
        volts = bench["volts"].get(state)
        if volts is None:
            return False
        if f"{state} {entry.get('across')}" in bench.get("across", {}):
            kind = "ac" if set(self.board.parts[entry["across"]]) & self.mains else "dc"
            self._write(entry, kind, bench["across"][f"{state} {entry['across']}"], state)
            return True
        if "across" in entry:
            ends = self._part(entry["across"])
        else:
            node = self._node(str(entry.get("at", "")))
            if place.get("unit") == "V AC" and self.board.supply and node == self.board.supply.rail:
                self._write(entry, "ac", bench["ripple"][state], state)
                return True
            ends = (node, self.board.islands.get(node, "0")) if node else None
        if not ends or any(end not in volts and end != "0" for end in ends):
            return False
        kind = "ac" if set(ends) & self.mains else "dc"
        true = volts.get(ends[0], 0.0) - volts.get(ends[1], 0.0)
        self._write(entry, kind, abs(true) if kind == "ac" or "across" in entry else true, state)
        return True

    def _write(self, entry: dict[str, Any], kind: str, true: float, state: str) -> None:
        self.readings.append(
            {**entry, "read": self.meter.read(kind, true).text, **({"when": state} if state else {})}
        )


def follow(
    cases: list[dict[str, Any]],
    answers: list[Answer],
    known: dict[str, Known],
    makes: dict[str, ModuleType],
    randomly: bool = False,
) -> list[Row]:
    """Rows of the table: how often the part that failed, or what is tied with it, comes to stand first within MOST readings
    more, and the mean number that it took; how often it stands first when the measuring ends: at SURE, with MOST, or with
    nothing more proposed.
    """
    stands = [Stand(case, makes[case["device"]]) for case in cases]
    rng = np.random.default_rng(7)
    now = list(answers)
    first: dict[int, int] = {}  # number of the case -> readings until the truth led

    def leads(number: int) -> bool:
        case, fits = cases[number], now[number].fits
        device = known[case["device"]]
        return bool(fits) and (device.right(fits[0], case) or device.on_true_part(fits[0], case))

    proposals = (
        {name: places(make, make.build(Draw(None))) for name, make in makes.items()} if randomly else {}
    )
    for _ in range(MOST):
        waiting = []
        for number, stand in enumerate(stands):
            if leads(number):
                first.setdefault(number, stand.steps)
            if not stand.open or (
                now[number].fits and now[number].fits[0].share >= SURE and not now[number].fits[0].sound
            ):
                stand.open = False
                continue
            wanted = now[number].next
            if randomly:
                pool = proposals[stand.case["device"]]
                wanted = [pool[int(k)].entry("") for k in rng.choice(len(pool), 5)]
            if any(stand.take(place) for place in wanted):
                stand.steps += 1
                waiting.append(number)
            else:
                stand.open = False
        if not waiting:
            break
        asked = ask(
            [(makes[stands[n].case["device"]].NOTE, stands[n].readings, stands[n].nets) for n in waiting]
        )
        for number, answer in zip(waiting, asked):
            now[number] = answer
    last = sum(leads(number) for number in range(len(cases)))
    for number, stand in enumerate(stands):
        if leads(number):
            first.setdefault(number, stand.steps)
    how = "random places" if randomly else "its proposals"
    return [
        (f"from one reading by {how}: found within {MOST} more", len(first), len(cases)),
        (f"  readings taken until then ({how}), in all", sum(first.values()), len(first)),
        (f"from one reading by {how}: first when it ends", last, len(cases)),
    ]
