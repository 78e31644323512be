"""A capacitive dropper in the network of its device: what it lets through as a rail, its diodes and its clamp."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from generator.circuit.kinds._dropper_path import (
    alternating,
    before_diode,
    cycle,
    delivered,
    mean_of_bumps,
    open_form,
    path_of,
    sags,
    unclamped,
)
from generator.circuit.network.element import Element, Number, Worn, exact, fixed
from generator.circuit.network.junctions import BREAKDOWN_AT, KNEE, Diode
from generator.circuit.network.passive import Resistor
from generator.circuit.network.sources import SAWTOOTH, Curve, Rail
from generator.circuit.network.stamps import POINTS, Stamp
from generator.circuit.point import Point
from generator.circuit.spread import SPREADS

if TYPE_CHECKING:
    from generator.circuit.block import Block
    from generator.circuit.network.wiring import Wiring


NOT_WHOLE = (
    ("", ""), ("diodes", "open"), ("diodes", "short"), ("return_diode", "open"), ("return_diode", "short"),
    ("clamp", "open"), ("clamp", "short"),
)  # fmt: skip


def _at(x: Point, p: Mapping[str, float]) -> Point:
    """The point with the numbers of a rail; `failed`: which of NOT_WHOLE."""
    point = x.changed(
        supply=x.supply * p["share"] * p["mains"], dropper=p["farads"], series=max(p["series"], 1e-3),
        discharge=None if x.discharge is None else p["discharge"],
    )  # fmt: skip
    point.__dict__["_failure"] = NOT_WHOLE[int(p["failed"])]
    return point


def available(x: Point, volts: float) -> float:
    """Mean amperes that reach the rail while it stands at some volts."""
    if x.supply * math.sqrt(2) <= volts + 2 * x.diode_drop or x.supply < 1.0:
        return 0.0
    path = path_of(x)
    return float(delivered(x, path, cycle(x, path, max(0.0, volts))) * x.f)


def current_over_volts(x: Point) -> Curve:
    """(amperes, volts) of the rail without its clamp, amperes rising from none: what the dropper lets through falls with the
    rail's volts, nearly in a straight line, up to where nothing gets through any more."""
    top = max(unclamped(x, path_of(x)) if x.supply >= 1.0 else 0.0, 2.0 * x.output)
    volts = [top * share for share in (0.6, 0.3, 0.1)]
    volts = [v for v in volts if v > 3 * x.output] + [
        x.output * share for share in (3.0, 2.0, 1.3, 1.0, 0.7, 0.4)
    ]
    dead = available(x, 0.0) <= 0.0
    found = [(0.0, 1e-9 if dead else top)]
    for level in volts:
        amperes = available(x, level)
        if amperes > found[-1][0] + 1e-9:
            found.append((amperes, level))
    shorted = max(available(x, 0.0), found[-1][0] * 1.001 + 1e-9)
    found.append((shorted, 0.0))
    while len(found) < POINTS:  # beyond a short it gives no more
        found.append((found[-1][0] * 1.01 + 1e-9, found[-1][1] - 0.5 * x.output))
    return tuple(a for a, _ in found), tuple(v for _, v in found)


def _held(x: Point, level: float, farads: float) -> Curve:
    """(amperes, volts) of the rail as its clamp holds it at a level (V) and its smoothing capacitor (F) keeps it there: with a
    surplus for the clamp it sags between the pulses, without one it falls to where load and dropper come to terms."""
    full = available(x, level)
    loads = [share * full for share in (0.0, 0.15, 0.35, 0.55, 0.75, 0.9, 0.97)]
    found = [
        (amperes, level + KNEE * math.log((full - amperes) / BREAKDOWN_AT) - sagged)
        for amperes, sagged in zip(loads, sags(x.changed(output=level), loads, farads))
    ]
    found += [(available(x, share * found[-1][1]), share * found[-1][1]) for share in (0.7, 0.4, 0.2)]
    shorted = max(available(x, 0.0), found[-1][0] + 1e-9)
    found += [(shorted, 0.0), (shorted * 1.01 + 1e-9, -0.5 * level)]
    return tuple(a for a, _ in found), tuple(v for _, v in found)


def _of_bumps(x: Point) -> Curve:
    """(amperes, volts) of the rail without its smoothing capacitor, as a DC meter shows it: the clamp cuts the bumps off."""
    bumps = 2 if path_of(x).backward_sees_rail else 1
    current = available(x, x.output)
    shares = [n / (POINTS - 1) for n in range(POINTS)]
    amperes = [max(current, 1e-9) * math.pi / bumps * share for share in shares]
    volts = [mean_of_bumps(x.changed(load=i, load_is="A"), current, bumps) for i in amperes]
    return tuple(amperes), tuple(v - 1e-9 * n for n, v in enumerate(volts))


def _level(block: Block, w: Wiring) -> Number:
    """The rail's volts as the clamp holds it, with their band. Before the rectifier diode the zener's tolerance is that of
    more than the rail, and the diode takes its own part, at tens of milliamperes like any small one."""
    x, stated = block.point, w.number("output", "zener", "clamp")
    if not before_diode(x) or block.given("output").toleranced:
        return stated
    clamp = block.quantity("clamp")
    low, high = SPREADS["zener"].ends(1.0) if clamp is None or not clamp.toleranced or not clamp.middle else (
        clamp.low / clamp.middle, clamp.high / clamp.middle
    )  # fmt: skip
    zener = x.output + x.diode_drop
    axis = next((axis for axis, _low, _high in stated.ends), w.net("output"))
    least, most = SPREADS["silicon junction"].ends(x.diode_drop)
    return Number(x.output, ((axis, zener * low - most, zener * high - least),))


def rail_of(block: Block, w: Wiring) -> Rail:
    """The dropper with its rectifier as a rail, and how its parts fail in it."""
    x, stored = block.point, block.quantity("smoothing")
    given = {
        "mains": w.number(lambda at: at.supply / x.supply), "farads": w.number("dropper"), "series": w.number("series"),
        "discharge": exact(math.inf) if x.discharge is None else w.number("discharge"), "failed": exact(0.0),
        "smoothing": exact(0.0) if stored is None else Number(
            stored.middle, ((w.net("smoothing"), stored.low, stored.high),)
        ),
        # where the note does not say which form it is, anything between what the two leave on the rail
        "clamped": Number(0.5, ((w.net("form"), 0.0, 1.0),)) if open_form(x) else exact(not before_diode(x)),
        "level": _level(block, w),
        "knee": Number(KNEE, ((w.net("knee"), *SPREADS["knee"].ends(KNEE)),)),
    }  # fmt: skip

    def fails(key: str) -> dict[str, Worn]:
        return {mode: fixed(failed=n) for n, (part, mode) in enumerate(NOT_WHOLE) if part == key}

    wear: dict[str, dict[str, Worn]] = {
        "dropper": {
            "open": fixed(farads=0.0), "short": fixed(series=math.inf),
            "low": lambda p, size: {"farads": p["farads"] * (size or 0.2)},
        },
        "series": {"open": fixed(series=math.inf), "high": lambda p, size: {"series": p["series"] * (size or 2.0)}},
        "discharge": {"open": fixed(discharge=math.inf), "leaky": lambda p, size: {"discharge": size or 1e4}},
        "diodes": fails("diodes"), "return_diode": fails("return_diode"),
        "clamp": {
            **(fails("clamp") if before_diode(x) else {"open": fixed(level=math.inf)}),
            "high": lambda p, size: {"level": p["level"] * (size or 1.3)},
        },
        "smoothing": {
            "open": fixed(smoothing=0.0), "short": fixed(smoothing=math.inf),
            "low": lambda p, size: {"smoothing": p["smoothing"] * (size or 0.2)},
        },
    }  # fmt: skip
    named = {
        key: (str(w.who(key)["called"]), modes)
        for key, modes in wear.items()
        if modes and w.who(key)["modes"]
    }

    def curve(p: Mapping[str, float]) -> Curve:
        point = _at(x, p)
        if x.smoothing is not None and not p["smoothing"]:
            return _of_bumps(point)
        holds = math.isfinite(p["level"]) and point.failed("clamp") != "open"
        if x.smoothing is not None and holds and available(point, p["level"]) > 1e-4:
            return _held(point, p["level"], min(p["smoothing"], 1.0))
        return current_over_volts(point)

    def figures(p: Mapping[str, float], amperes: float) -> dict[str, float]:
        point, taken = _at(x, p), max(amperes, 0.0)
        ends = (
            (share, knee) for share, knee in ((1 - p["clamped"], 0.0), (p["clamped"], p["knee"])) if share > 0
        )
        volts = sum(share * alternating(point, taken, p["smoothing"], knee) for share, knee in ends)
        return {"ripple": volts / SAWTOOTH}

    def starved(p: Mapping[str, float]) -> float:
        point = _at(x, p)
        if point.supply < 1.0:
            return 0.0
        # both halves go through the load
        passes = x.rectifier != "bridge" and point.failed("diodes") == "short"
        return STARVED if passes or 0 < available(point, 0.0) < TRICKLE else 0.0

    return Rail(
        **w.who("rectifier", ()), starved=starved, plus="plus", minus="common", given=given, wear=named,
        curve=curve, fed=(w.net("live"), w.net("neutral"), x.supply),
        figures=None if x.smoothing is None else figures, clamp=w.net("clamp hold" if before_diode(x) else "clamp"),
    )  # fmt: skip


# A below which no load stated in amperes draws what is stated, and V that a rail then shows one way or the other: chips take
# next to nothing below the threshold of their transistors, a zener conducts forward; common practice, no source
TRICKLE, STARVED = 1e-3, 0.5
HOLDS = 1e-3  # S by which the mean of the node before the diodes is held: nothing else lies there at direct current


@dataclass(frozen=True, kw_only=True)
class Low(Resistor):
    """What the rectifier and its rail are to the mains: beside its volts, next to none. No ohmmeter meets it."""

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return ()

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        return [f"C{name} {node[self.a]} {node[self.b]} 1 ; nothing to the mains, open to the steady volts"]


@dataclass(frozen=True, kw_only=True)
class Clamped(Diode):
    """A zener before the rectifier diode, as the rail sees it: through that diode, in every other half of the period.

    Its breakdown is that of the rail, drop (V) below its own. Shorted it takes what the rail would get, and not what the
    rail has; a leak across it works half of the time. An ohmmeter meets the zener itself.
    """

    drop: Number

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return ()

    def failed(self, p: Mapping[str, float], mode: str, size: float | None = None) -> dict[str, float]:
        if mode == "short":
            return {**p, "alive": 0.0}
        if mode == "leaky":
            return {**p, "leak": 2 * (size or 1e4)}
        found = super().failed(p, mode, size)
        own = (p["breakdown"] + p["drop"]) * found["breakdown"] / p["breakdown"]
        return {**found, "breakdown": max(own - p["drop"], 0.1)}


@dataclass(frozen=True, kw_only=True)
class Between(Element):
    """The node between dropper and diodes: half the period a drop above the rail, half of it one below common, so that a
    DC meter shows half the rail. level: V of the rail that the clamp would make, alone: 1 where the rail is cut off from it."""

    TERMINALS: ClassVar[tuple[str, ...]] = ("node", "plus", "common")

    node: str
    plus: str
    common: str
    level: Number
    alone: Number = exact(0.0)

    def _numbers(self, p: Mapping[str, float]) -> tuple[float, float, float]:
        if p["alone"]:
            return -HOLDS * p["level"] / 2, HOLDS, 0.0
        return 0.0, HOLDS, -HOLDS / 2

    def stamps(self, p: Mapping[str, float]) -> tuple[Stamp, ...]:
        own = (self.node, self.common)
        return (Stamp("linear", own, (own, (self.plus, self.common)), self._numbers(p)),)

    def spice(self, p: Mapping[str, float], node: Mapping[str, str], name: str) -> list[str]:
        n, plus, common = (node[net] for net in self.nets)
        steady, own, other = self._numbers(p)
        return [
            f"B{name} {n} {common} I={steady:.8g}+{own:.8g}*V({n},{common})+({other:.8g})*V({plus},{common})"
        ]


def wire_dropper(block: Block, w: Wiring) -> None:
    """What the dropper lets through, as a rail, its diodes as an ohmmeter meets them, and the clamp where it stands."""
    x = block.point
    w.supply("supply", "live", "neutral", ac=True)
    w.common("neutral", mains=True)
    w.resistor("series", "live", "_in", ac=True)
    w.capacitor("dropper", "_in", "_behind", ac=True)
    w.resistor("discharge", "_in", "_behind", ac=True)
    low = {**w.who("rectified", ()), "called": "", "wear": _one_way(block)}
    w.add(Low(**low, a="_behind", b="neutral", ohms=exact(0.0), ac=True))
    _wire_diodes(block, w)
    w.add(rail_of(block, w))
    w.capacitor("smoothing", "plus", "common")
    if before_diode(x):
        w.diode("clamp", "common", "_behind", sort="zener", ac=True)
        hold = {**w.who("clamp"), "name": w.net("clamp hold"), "called": ""}
        level, drop = _level(block, w), w.number("diode_drop")
        w.add(Clamped(**hold, anode="common", cathode="plus", breakdown=level, drop=drop))
    else:
        w.diode("clamp", "common", "plus", sort="zener", breakdown="output")
    cut = {"diodes": (block.label("rectifier"), {"open": fixed(alone=1.0)})} if before_diode(x) else {}
    node = {**w.who("node", ()), "called": "", "wear": cut}
    w.add(Between(**node, node="_behind", plus="plus", common="common", level=w.number("output")))
    w.load("load", "plus")
    w.volts("rail", "plus")


def _one_way(block: Block) -> dict[str, tuple[str, dict[str, Worn]]]:
    """The parts without which current passes one way only: then the dropper charges once, and passes no more."""
    needed = {"clamp"} if before_diode(block.point) else {"diodes", "return_diode"}
    names = {"clamp": "clamp", "diodes": "rectifier", "return_diode": "return_diode"}
    return {
        key: (block.label(names[key]), {"open": fixed(ohms=math.inf)})
        for key in needed
        if block.has(names[key])
    }


def _wire_diodes(block: Block, w: Wiring) -> None:
    """The rectifier diodes, which work in the rail's curve and of which a meter finds each with the plug out."""
    ends = [("_behind", "plus")]
    if block.point.rectifier == "bridge":
        w.common("common", mains=True)
        ends += [("neutral", "plus"), ("common", "_behind"), ("common", "neutral")]
    else:
        w.same("neutral", "common")
        if not before_diode(block.point):
            w.diode("return_diode", "common", "_behind", forward="diode_drop", spread="rectifier", ac=True)
    for copy, (anode, cathode) in enumerate(ends):
        w.diode("diodes", anode, cathode, forward="diode_drop", spread="rectifier", ac=True, copy=copy)
