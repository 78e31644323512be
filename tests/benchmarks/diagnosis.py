"""How well and how fast failures are found from readings.   python tests/benchmarks/diagnosis.py [--seeds 20,21]

Prints, first, the confusion table of faults injected into independent circuits, with the counts behind the
requirements; second, how long judging a note takes: nine blocks and six readings, sound and with one failure, fresh
blocks each time; third, the bytes that the reading helper's data add to such a page, plain and compressed.
"""

from __future__ import annotations

import argparse
import gzip
import json
import statistics
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent.parent), str(HERE.parent / "diagnosis")]

from test_drifted_parts import all_drifted
from test_injected_faults import all_cases, confusion, summary

from generator.circuit.circuit import Circuit, Mains, build
from generator.diagnosis.helper import helper_data
from generator.diagnosis.judge import Taken, judge
from generator.diagnosis.readings import Meter

REPEATS = 15

# An invented food warmer: supply, rail, sensor, comparator, driver, heater, indicator, timer and inlet.
WARMER = {
    "inlet": {"kind": "mains-inlet", "load": "190 W", "fuse": "F1 2A 250V", "x_capacitor": "C1 220n X2 275V", "bleeder": "R1 1M"},
    "supply": {
        "kind": "transformer-supply", "secondary": "12 V", "smoothing": "C3 1000u 35V 20%", "bleeder": "R4 22k", "regulation": "12 %",
        "rated_current": "250 mA", "load": "120 mA",
    },
    "rail": {"kind": "linear-regulator", "input": "supply.trough", "input_high": "supply.high_mains_peak", "output": "5 V", "load": "60 mA"},
    "sensor": {
        "kind": "thermistor-divider", "supply": "rail.output_voltage", "fixed": "R9 10k 1%", "thermistor": "TH1 10k B3950",
        "cut_points": {"off": {"temperature": "60 C"}},
    },
    "compare": {"kind": "comparator", "supply": "5 V", "reference": "2 V", "input_resistor": "R5 10k", "feedback": "R6 220k", "pull_up": "R7 10k"},
    "drive": {
        "kind": "transistor-switch", "drive": "5 V", "base": "R16 2k2", "pull_down": "R17 10k", "transistor": "Q1 hfe100 500mA 45V",
        "load": "RL1 400", "load_supply": "supply.trough", "flyback": "D6",
    },
    "element": {"kind": "heater", "power": "E1 180 W", "rated_voltage": "230 V", "contact": "RL1 5A"},
    "lamp": {"kind": "led-indicator", "supply": "rail.output_voltage", "resistor": "R14 560", "forward": "LD1 red"},
    "blink": {"kind": "timer-555", "ra": "R20 10k", "rb": "R21 47k", "capacitor": "C5 10u 25V"},
}  # fmt: skip
READINGS = {
    "sound": {"supply.mean": "14.6 V", "supply.ripple": "0.80 V", "rail.output_voltage": "5.00 V", "sensor.output_25": "2.50 V",
              "drive.load_current": "32 mA", "element.resistance": "294 ohm"},
    "smoothing low": {"supply.mean": "12.4 V", "supply.ripple": "7.6 V", "rail.output_voltage": "4.6 V", "sensor.output_25": "2.31 V",
                      "drive.load_current": "19 mA", "element.resistance": "294 ohm"},
    "two faults": {"supply.mean": "14.6 V", "supply.ripple": "5.8 V", "rail.output_voltage": "1.2 V", "sensor.output_25": "0.3 V",
                   "drive.load_current": "32 mA", "element.resistance": "open"},
}  # fmt: skip


def worked_out() -> Circuit:
    """The circuit as a note's page has it: values, checks and failures known."""
    circuit = build(WARMER, Mains())
    assert not circuit.troubles, circuit.troubles
    for block in circuit.blocks.values():
        _ = block.failures
    return circuit


def ranking(seeds: list[int]) -> None:
    for seed in seeds:
        cases = all_cases(seed)
        print(f"seed {seed}: {len(cases)} cases")
        print(confusion(cases))
        for what, (hits, of) in summary(cases).items():
            print(f"  {what}: {hits} of {of}, {100 * hits / of:.1f} %")
    drifted = all_drifted()
    found = [c for c in drifted if c.place <= 3]
    print(
        f"drifted parts: {len(found)} of {len(drifted)} among the first three; the range holds the truth in {sum(c.holds for c in found)}"
    )


def speed() -> None:
    for name, readings in READINGS.items():
        taken = [Taken(*at.split(".", 1), read) for at, read in readings.items()]
        times = []
        for _ in range(REPEATS):
            circuit = worked_out()
            started = time.perf_counter()
            found = judge(circuit, taken, Meter())
            times.append(1000 * (time.perf_counter() - started))
        best = found.fits[0].hypothesis
        print(
            f"judged, {name}: median {statistics.median(times):.1f} ms, best {min(times):.1f} ms; first: {best.part or 'sound'} {best.failed}"
        )
    times = []
    for _ in range(REPEATS):
        circuit = worked_out()
        started = time.perf_counter()
        data = helper_data(circuit)
        times.append(1000 * (time.perf_counter() - started))
    text = json.dumps(data, separators=(",", ":"), ensure_ascii=False).encode()
    print(
        f"reading helper's data: median {statistics.median(times):.1f} ms; {len(text)} bytes, {len(gzip.compress(text))} compressed"
    )


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument("--seeds", default="20", help="comma-separated; each some 1,700 cases")
    arguments = given.parse_args()
    ranking([int(seed) for seed in arguments.seeds.split(",") if seed])
    speed()


if __name__ == "__main__":
    main()
