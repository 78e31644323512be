"""How well faults are found in whole devices that ngspice simulated.   python tests/benchmarks/devices.py

    --half tuning|reporting   only this half (both)
    --misses KIND             prints the cases of a kind (fault, sound, ...) that went wrong; tuning half only
    --device NAME             only this device

Twelve invented devices (whole_devices/makes), each simulated in a dozen specimens drawn from published
ranges, sound and with every fault; the readings are what a hand-held meter showed and what a person wrote
of it. The cases lie in whole_devices/cases.json; whole_devices/generate.py makes them anew. Half of them
are for tuning, the other half is reported and should not be looked at one by one. "Tied" is judged by the
simulations alone (whole_devices/oracle.py). Last, what a note costs beside drawing its blocks and nothing
else.

Mains fuses blow at 1.5 to 2.1 times their rating, and a thermal fuse opens where the heater it sits at is on
while the fan stands; readings are taken after that, and the truth is the cause. What a dropper or a
transformer draws passes all that lies before it. One meter of 10 Mohm is on the board at a time. The pump's
cases are older: there every net carries a meter. With it off, ngspice searches them too long.

Still not as on a bench: nothing but fuses is destroyed by what a fault does (a shorted relay diode leaves its
transistor alive, a regulator never gets too hot, a small transformer bears a shorted winding, a controller 14 V);
the cooker's thermal fuse never opens, for a stuck element boils the pot dry only after hours; the mains are
a sine, and the meter shows true RMS; floating mains wires show no ghost volts by stray capacitance; the
ohmmeter stays below every junction and finds no charged capacitor; batteries are taken out before ohms are
read; capacitors have no series resistance; a zener's volts move with its current less than a real one's; a
relay has no hysteresis; a stuck contact, a leak or a drifted resistor stays as it is however hot it gets.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import time
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent.parent)]

from whole_devices.asked import Answer, ask, way  # noqa: E402
from whole_devices.follow import follow  # noqa: E402
from whole_devices.places import named_nets  # noqa: E402
from whole_devices.scoring import Known, Row, confusion, rows  # noqa: E402
from whole_devices.simulate import all_makes  # noqa: E402
from whole_devices.spreads import Draw  # noqa: E402

CASES = HERE / "whole_devices" / "cases.json"
WANTED = {
    "true failure first, or tied with it": "90 %",
    "in the first three": "97 %",
    "sound told that something is wrong": "at most 3 %",
    "sound, a load 20 % off, told": "at most 5 %",
    "sound, on a battery, its load off or it half empty, told": "at most 5 %",
    "misread: true part listed": "85 %",
    "misread: bad reading named": "90 %",
    "two faults: says that no single one explains": "90 %",
    "two faults: pair in the first three": "60 %",
    "from one reading by its proposals: found within 4 more": "90 %",
    "  readings taken until then (its proposals), in all": "1.5 each",
}


def drawing_seconds(notes: list[str]) -> float:
    """Drawing the blocks of one note and nothing else, median over the devices."""
    import yaml

    from generator.circuit.circuit import Mains, build
    from generator.drawing.frame import TitleBlock
    from generator.drawing.schematic import draw

    times = []
    for note in notes:
        blocks = build(yaml.load(note, yaml.BaseLoader)["blocks"], Mains()).blocks
        for _ in range(2):  # the second time with symbols remembered, as in a build
            started = time.process_time()
            for name, block in blocks.items():
                block.drawings.clear()
                draw(block, TitleBlock(title=name))
            taken = time.process_time() - started
        times.append(taken)
    return statistics.median(times)


def printed(half: str, table: list[Row]) -> None:
    print(f"\n{half} half")
    for what, hits, of in table:
        wanted = WANTED.get(what, "")
        if what.startswith("  "):
            print(f"{what:66} {hits / max(of, 1):9.2f}           {wanted}")
        else:
            print(f"{what:66} {hits:4} of {of:4} {100 * hits / max(of, 1):5.0f} %   {wanted}")


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument("--half", choices=("tuning", "reporting"))
    given.add_argument("--device")
    given.add_argument("--misses", metavar="KIND")
    arguments = given.parse_args()
    makes = all_makes()
    known = {
        name: Known(make.NOTE, named_nets(make), make.build(Draw(None)).parts) for name, make in makes.items()
    }
    cases: list[dict[str, Any]] = json.loads(CASES.read_text("utf-8"))
    cases = [
        c for c in cases if arguments.device in (None, c["device"]) and arguments.half in (None, c["half"])
    ]
    print(f"{len(cases)} cases of {len({c['device'] for c in cases})} devices; asked by: {way()}")
    answers = ask([(makes[c["device"]].NOTE, c["readings"], known[c["device"]].nets) for c in cases])
    for half in ("tuning", "reporting"):
        chosen = [(c, a) for c, a in zip(cases, answers) if c["half"] == half]
        if not chosen:
            continue
        some, said = [c for c, _ in chosen], [a for _, a in chosen]
        first = [(c, a) for c, a in chosen if c["set"] == "first"]

        def led(_: str, first: list[tuple[dict[str, Any], Answer]] = first) -> list[Row]:
            ones, theirs = [c for c, _ in first], [a for _, a in first]
            return follow(ones, theirs, known, makes) + follow(ones, theirs, known, makes, randomly=True)

        printed(half, rows(some, said, known, led))
        print("\n" + confusion(some, said, known))
        if arguments.misses and half == "tuning":
            misses(some, said, known, arguments.misses)
    each = statistics.median(a.seconds for a in answers)
    drawing = drawing_seconds([make.NOTE for make in makes.values()])
    print(
        f"\na note: median {1000 * each:.0f} ms; drawing its blocks alone {1000 * drawing:.0f} ms; ratio {each / drawing:.2f}"
    )


def misses(cases: list[dict[str, Any]], answers: list[Answer], known: dict[str, Known], kind: str) -> None:
    """What went wrong, for whoever tunes."""
    for case, answer in zip(cases, answers):
        device = known[case["device"]]
        wrong = not answer.fits or not device.right(answer.fits[0], {**case, "tied": case.get("tied", [])})
        if case["set"] == kind and wrong:
            print(f"\n{case['id']}: {case['truth'] or 'sound'}; tied: {case.get('tied', [])}")
            for entry in case["readings"]:
                print("   ", json.dumps(entry, ensure_ascii=False))
            for fit in answer.fits[:4]:
                print(
                    f"    {100 * fit.share:5.1f} % {fit.block} {fit.part} {fit.failed} {' - '.join(fit.between)}"
                )
            for problem in answer.problems[:3]:
                print("    !", problem)


if __name__ == "__main__":
    main()
