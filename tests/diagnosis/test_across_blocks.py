"""Faults in a chain of blocks: supply, regulator, sensor. A dead or sagging rail is to be blamed on its cause.

The whole chain is stepped through time as one circuit: what a meter shows of each block is an average over a period.
"""

from __future__ import annotations

import math
import random
from functools import cache

from lab import METER, MODES, OPEN, Failed, Real, display
from rectifiers import rail

from generator.circuit.circuit import Circuit, Mains, build
from generator.diagnosis.fit import Fit
from generator.diagnosis.judge import Taken, judge
from generator.diagnosis.readings import Meter

BLOCKS = {
    "supply": {
        "kind": "transformer-supply", "secondary": "12 V", "smoothing": "C3 1000u 35V 20%", "bleeder": "R4 22k", "regulation": "12 %",
        "rated_current": "250 mA", "load": "125 mA",
    },
    "rail": {"kind": "linear-regulator", "input": "supply.trough", "output": "5 V", "load": "120 mA"},
    "sensor": {"kind": "thermistor-divider", "supply": "rail.output_voltage", "fixed": "R9 10k 1%", "thermistor": "TH1 10k B3950"},
    "relay": {
        "kind": "transistor-switch", "drive": "rail.output_voltage", "base": "R16 4k7", "transistor": "Q1 hfe100 0% 500mA 45V",
        "load": "RL1 400 0%", "vbe": "0.7 V 0%", "vce_sat": "0.2 V 0%", "load_supply": "supply.trough",
    },
}  # fmt: skip
PARTS = (
    Real("C3", "C", 1000e-6, 0.2), Real("R4", "R", 22e3, 0.05), Real("rectifier diode", "D"), Real("transformer winding", "one"),
    Real("regulator", "D"), Real("R9", "R", 10e3, 0.01), Real("TH1", "T", 10e3, 0.05), Real("R16", "R", 4700.0, 0.05),
    Real("Q1", "D"), Real("RL1", "one"),
)  # fmt: skip
UNITS = {"supply.mean": "V", "supply.ripple_frequency": "Hz", "supply.ripple": "V", "rail.output_voltage": "V", "sensor.output_25": "V",
         "sensor.resistance_25": "ohm", "relay.load_current": "A", "relay.collector_voltage": "V"}  # fmt: skip


def measured(p: dict[str, float], failed: Failed) -> dict[str, float]:
    """What a meter shows at each place, sound or with one part failed."""
    dead = failed in (("C3", "short"), ("rectifier diode", "short"), ("transformer winding", "open"))
    half = failed == ("rectifier diode", "open")
    volts = 12.0 * p["mains"] / 230.0
    v = [0.0] * 10 if dead else rail(
        emf=volts * math.sqrt(2) * 1.12, drop=1.4, source=volts * 0.12 / 0.25, capacitance=0.0 if failed == ("C3", "open") else p["C3"],
        current=0.125, resistance=p["R4"] * METER / (p["R4"] + METER), frequency=50.0, both_halves=not half,
    ).tolist()  # fmt: skip
    out = [_regulated(x, failed) for x in v]
    sensor = [x * p["TH1"] / (p["TH1"] + p["R9"]) for x in out]
    coil, collector = zip(*(_relay(x, y, p, failed) for x, y in zip(v, out)))
    mean = lambda values: sum(values) / len(values)
    return {
        "supply.mean": mean(v), "supply.ripple": max(v) - min(v), "supply.ripple_frequency": 0.0 if dead else 50.0 if half else 100.0,
        "rail.output_voltage": mean(out), "sensor.output_25": mean(sensor), "sensor.resistance_25": math.inf if p["TH1"] >= OPEN else p["TH1"],
        "relay.load_current": mean(coil), "relay.collector_voltage": mean(collector),
    }  # fmt: skip


def _regulated(into: float, failed: Failed) -> float:
    if failed == ("regulator", "open"):
        return 0.0
    return into if failed == ("regulator", "short") else min(5.0, max(0.0, into - 2.0))


def _relay(supply: float, drive: float, p: dict[str, float], failed: Failed) -> tuple[float, float]:
    """(coil current, volts across the transistor) at one moment: saturated, or as far as the base current goes."""
    base = max(0.0, drive - 0.7) / p["R16"] if failed != ("Q1", "open") else 0.0
    if failed == ("RL1", "open"):
        return 0.0, 0.0
    if failed == ("Q1", "short"):
        return supply / 400.0, 0.0
    current = min(max(0.0, supply - 0.2) / 400.0, 100 * base)
    return current, supply - current * 400.0


@cache
def cases() -> tuple[tuple[Failed, dict[str, str], list[Fit]], ...]:
    circuit: Circuit = build(BLOCKS, Mains())
    assert not circuit.troubles
    chance = random.Random(11)
    found = []
    faults: list[Failed] = [
        (part.name, mode)
        for part in PARTS
        for mode in MODES[part.sort]
        if (part.name, mode[:1]) != ("R4", "h")
    ]
    for failed in [("", "")] * 20 + faults * 5:
        p = {part.name: part.value * (1 + part.tolerance * chance.uniform(-1, 1)) for part in PARTS}
        p["mains"] = 230.0 * (1 + 0.1 * chance.uniform(-1, 1))
        part, mode = failed
        if part in ("TH1", "R9", "R16", "R4"):
            p[part] = OPEN if mode == "open" else 1e-3 if mode == "short" else 2 * p[part]
        if failed == ("C3", "low"):
            p["C3"] /= 5
        shown = measured(p, failed)
        places = [
            "supply.mean",
            "rail.output_voltage",
            *chance.sample(sorted(set(shown) - {"supply.mean", "rail.output_voltage"}), 3),
        ]
        readings = {place: display(shown[place], UNITS[place], chance) for place in places}
        taken = [Taken(*place.split(".", 1), read) for place, read in readings.items()]
        found.append((failed, readings, judge(circuit, taken, Meter()).fits))
    return tuple(found)


def named(fit: Fit) -> Failed:
    return fit.hypothesis.part, "" if not fit.hypothesis.block else fit.hypothesis.failed


def test_sound_chains_are_not_accused() -> None:
    wrong = [
        (readings, [named(f) for f in fits[:2]])
        for failed, readings, fits in cases()
        if failed == ("", "") and fits[0].hypothesis.block
    ]
    assert not wrong, wrong


def test_the_cause_is_named_and_not_what_it_starves() -> None:
    """First or tied in 90 % of the cases, but for those in which the readings taken are still those of a sound chain."""
    lost, several = [], 0
    for failed, readings, fits in cases():
        if failed == ("", ""):
            continue
        own = next((f for f in fits if named(f) == failed), None)
        if own is None:  # nothing that was read depends on the part
            assert not fits[0].hypothesis.block, (failed, readings, named(fits[0]))
            continue
        place = sum(f.score > own.score * 1.02 for f in fits)
        unseen = not fits[0].hypothesis.block
        several += not unseen
        if place and not unseen:
            lost.append(
                (failed, readings, [(named(f), round(f.score, 3)) for f in fits[:3]], own.contradicts)
            )
    assert several >= 60
    assert len(lost) <= 0.1 * several, lost
