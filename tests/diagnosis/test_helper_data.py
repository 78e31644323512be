"""The reading helper of a page: its table, and that its script answers as the build does for the same readings."""

from __future__ import annotations

import gzip
import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from noted import judged_note

from generator.circuit.circuit import Mains
from generator.circuit.device import Device
from generator.diagnosis.helper import helper_data
from generator.diagnosis.judging import Judgement, judge
from generator.diagnosis.probing import key_of
from generator.diagnosis.readings import Meter
from generator.diagnosis.taking import sought_of
from generator.notes.note import read_note
from generator.notes.reading import Reading
from generator.notes.whole import put_together

ROOT = Path(__file__).resolve().parents[2]
STATIC = ROOT / "themes" / "bench" / "static"
SCRIPT = """
const {readingsOf} = require(process.argv[1] + "/readings.js"), {likelihoodsOf} = require(process.argv[1] + "/likelihoods.js");
const answers = JSON.parse(require("fs").readFileSync(0, "utf8")).map(({data, readings}) => {
  const held = likelihoodsOf(data), reads = readingsOf(data.reading, data.meter);
  const used = readings.map(([place, text]) => [place, reads.read(text, data.places[place].unit)]).filter(([, own]) => own && !own.why)
    .map(([place, own]) => ({place, value: own.value, low: own.low, high: own.high, open: own.state === "open", rms: own.range === "ac"}));
  const ranked = held.rank(used), next = held.next(used, ranked);
  return {
    fits: ranked.slice(0, 6).map(({failure, share}) => [failure?.block ?? "", failure?.key ?? "", failure?.mode ?? "none", share]),
    beyond: ranked.beyond,
    next: next.map(({place, gain}) => [place, gain]),
    sound: data.places.map((_, place) => held.bandOf(held.health, place)),
    first: next.length ? next[0].expected.map(({failure, low, high}) => [failure?.part ?? "", failure?.mode ?? "none", low, high]) : [],
  };
});
console.log(JSON.stringify(answers));
"""
NODE = shutil.which("node") or ""

DIVIDER = """---
title: Pump runs dry
date: 2026-02-02
device: {kind: pump, category: Misc}
symptoms: [runs dry]
outcome: unknown
blocks:
  level: {kind: divider, supply: 12 V, upper: R1 10k 1%, lower: R2 10k 1%}
test_points: {TP1: level.tap}
READINGS---
"""


def divider(*readings: str) -> tuple[Device, Judgement]:
    own = "".join(f"  - {reading}\n" for reading in readings)
    return judged_note(DIVIDER.replace("READINGS", f"readings:\n{own}" if own else ""))


def job(device: Device, judgement: Judgement) -> dict[str, Any]:
    """The page's data with the note's own readings, each at the place that it has there."""
    data = helper_data(device, Meter(), judgement)
    at: dict[tuple[object, ...], int] = {}
    for number, place in enumerate(data["places"]):
        names = tuple(place["at"])
        given: dict[str, Any] = {place["kind"]: names[0] if place["kind"] == "at" else names}
        at[key_of(sought_of(device, Reading("", "", "", when=place.get("when", ""), **given)))] = number
    readings = []
    for judged in judgement.fitted:
        assert judged.taken.sought is not None
        number = at.get(key_of(judged.taken.sought))
        if number is None:  # an AC reading on a rail whose ripple has no name of its own
            number = next(
                n
                for n, place in enumerate(data["places"])
                if place.get("ripple")
                and place["at"][0] == judged.reading.at
                and place.get("when", "") == judged.taken.sought.state
            )
        readings.append((number, judged.reading.read))
    return {"data": data, "readings": readings}


def asked(jobs: list[dict[str, Any]]) -> list[dict[str, Any]]:
    told = subprocess.run(
        [NODE, "-e", SCRIPT, str(STATIC)], input=json.dumps(jobs), capture_output=True, text=True, check=False
    )
    assert told.returncode == 0, told.stderr
    answers: list[dict[str, Any]] = json.loads(told.stdout)
    return answers


@pytest.mark.skipif(not NODE, reason="needs node")
def test_half_of_two_equal_resistors() -> None:
    """12 V over 10k and 10k: 6 V at the tap (Ohm), R1 unplugged by itself 10k, as the source is open then. At 0 V R1 is open
    or R2 short, and R2 measured cold tells which: 10k or 0."""
    device, judgement = divider("{at: TP1, read: 0 V}")
    own = job(device, judgement)
    (answer,) = asked([own])
    places = own["data"]["places"]
    sound = {(tuple(place["at"]), place["how"]): answer["sound"][n] for n, place in enumerate(places)}
    assert sound[("TP1",), "volts"]["low"] < 6 < sound[("TP1",), "volts"]["high"]
    assert sound[("R1",), "ohms"]["low"] < 10_000 < sound[("R1",), "ohms"]["high"]
    assert {tuple(fit[1:3]) for fit in answer["fits"]} >= {("upper", "open"), ("lower", "short")}
    best = places[answer["next"][0][0]]
    assert best["how"] == "ohms"
    if best["at"] in (["R2"], ["TP1", "level.common"]):
        shown = {(part, mode): (low, high) for part, mode, low, high in answer["first"]}
        assert shown["R2", "short"][1] < 700 and shown["R1", "open"][0] < 10_000 < shown["R1", "open"][1]


@pytest.mark.skipif(not NODE, reason="needs node")
def test_shares_are_shares() -> None:
    device, judgement = divider("{at: TP1, read: 6.0 V}")
    (answer,) = asked([job(device, judgement)])
    total = sum(fit[3] for fit in answer["fits"]) + answer["beyond"]
    assert 0.5 < total <= 1.0001 and answer["fits"][0][2] == "none"


@pytest.mark.skipif(not NODE, reason="needs node")
def test_it_starts_with_a_first_measurement() -> None:
    device, judgement = divider()
    (answer,) = asked([job(device, judgement)])
    assert answer["next"] and answer["next"][0][1] > 0


def benchmark_cases(each: int) -> list[tuple[str, str]]:
    sys.path.insert(0, str(ROOT / "tests" / "benchmarks"))
    from whole_devices.asked import with_readings
    from whole_devices.simulate import all_makes

    makes = all_makes()
    cases = json.loads((ROOT / "tests" / "benchmarks" / "whole_devices" / "cases.json").read_text("utf-8"))
    taken: dict[str, int] = {}
    found = []
    for case in cases:
        if case["half"] == "tuning" and case["set"] == "fault" and taken.get(case["device"], 0) < each:
            taken[case["device"]] = taken.get(case["device"], 0) + 1
            found.append((case["id"], with_readings(makes[case["device"]].NOTE, case["readings"])))
    return found


def clear(judgement: Judgement) -> bool:
    """Whether the build's first is clearly so, and single: a third more likely than the next."""
    fits = judgement.fits
    return judgement.beyond < 0.5 and fits[0].change.also is None and fits[0].share > 1.35 * fits[1].share


def same_first(named: list[tuple[str, Device, Judgement]]) -> tuple[int, list[str]]:
    chosen = [own for own in named if clear(own[2])]
    answers = asked([job(device, judgement) for _, device, judgement in chosen])
    off = []
    for (name, _, judgement), answer in zip(chosen, answers):
        first = judgement.fits[0].change
        *part, mode = answer["fits"][0][:3]
        alike = {mode, first.mode} <= {"short", "leaky"}  # a short of some ohms is a leak of few
        if part != [first.block, first.element or first.key] or not (mode == first.mode or alike):
            off.append(
                f"{name}: {first.called} {first.mode} {judgement.fits[0].share:.2f}; the page: {answer['fits'][:2]}"
            )
    return len(chosen), off


@pytest.mark.slow
@pytest.mark.skipif(not NODE, reason="needs node")
def test_the_page_puts_first_what_the_build_does_on_whole_devices() -> None:
    """Quantised to a few kilobytes, its shares differ a little; in nineteen of twenty clear cases the first is the same."""
    named = [(name, *judged_note(text)) for name, text in benchmark_cases(1)]
    count, off = same_first([own for own in named if own[2].fits])
    assert count >= 4
    assert len(off) <= max(1, count // 20), off


@pytest.mark.skipif(not NODE, reason="needs node")
def test_the_page_puts_first_what_the_build_does_on_the_demonstration() -> None:
    named = []
    for path in sorted((ROOT / "content" / "notes").rglob("*.md")):
        note, _ = read_note(path, ROOT / "content", Mains())
        if note is None or not note.measured:
            continue
        device = put_together(note.circuit, note.told)
        judgement = judge(device, note.measured, Meter())
        if judgement.fits:
            named.append((path.stem, device, judgement))
    _, off = same_first(named)
    assert named and not off, off


def test_twelve_blocks_stay_small() -> None:
    """A page of a whole device with twelve blocks carries less than 15 kB of it, compressed."""
    case = next(text for name, text in benchmark_cases(1) if name.startswith("fanheater"))
    device, judgement = judged_note(case)
    assert len(device.blocks) == 12
    data = helper_data(device, Meter(), judgement)
    assert len(gzip.compress(json.dumps(data, separators=(",", ":"), allow_nan=False).encode())) < 15_000


def test_the_author_s_fault_is_marked() -> None:
    device, judgement = divider()
    data = helper_data(device, Meter(), judgement, [("R1", "open")])
    failures = data["failures"]
    assert [(failures["part"][n], failures["mode"][n]) for n in failures["found"]] == [("R1", "open")]


def test_nothing_to_measure_gives_nothing() -> None:
    assert helper_data(None) == {}
