"""The reading helper of a page: its table, and that its script answers as the build does for the same readings."""

from __future__ import annotations

import gzip
import json
import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from noted import judged_note

from generator.circuit.circuit import Mains
from generator.circuit.device import Device
from generator.diagnosis.asking import first_readings
from generator.diagnosis.helper import helper_data
from generator.diagnosis.hypotheses import Change
from generator.diagnosis.judging import Judgement, judge
from generator.diagnosis.naming import name_of
from generator.diagnosis.probing import key_of
from generator.diagnosis.readings import Meter
from generator.diagnosis.taking import sought_of
from generator.finding.entry import complaints_of
from generator.finding.thesaurus import default
from generator.notes.note import Note, read_note
from generator.notes.reading import Reading
from generator.notes.whole import put_together

ROOT = Path(__file__).resolve().parents[2]
STATIC = ROOT / "themes" / "bench" / "static" / "helper"
SCRIPT = """
const from = (name) => require(process.argv[1] + "/" + name + ".js");
const {readingsOf} = from("readings"), {failuresOf} = from("failures"), {likelihoodsOf} = from("likelihoods");
const {proposalsOf} = from("proposals");
const answers = JSON.parse(require("fs").readFileSync(0, "utf8")).map(({data, readings}) => {
  const table = failuresOf(data), rank = likelihoodsOf(table), held = proposalsOf(table), reads = readingsOf(data.reading, data.meter);
  const used = readings.map(([place, text]) => [place, reads.read(text, data.places[place].unit, data.places[place].wave ?? "")])
    .filter(([, own]) => own && !own.why)
    .map(([place, own]) => table.taken(place, own));
  const ranked = rank(used), next = held.next(used, ranked);
  return {
    fits: ranked.slice(0, 6).map(({failure, share}) => [failure?.block ?? "", failure?.key ?? "", failure?.mode ?? "none", share,
      failure?.also ? [failure.also.block, failure.also.key, failure.also.mode] : null]),
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


@cache
def demonstration() -> list[tuple[Note, Device, Judgement]]:
    """The notes of the demonstration that have blocks, judged."""
    found = []
    for path in sorted((ROOT / "content" / "notes").rglob("*.md")):
        note, _ = read_note(path, ROOT / "content", Mains())
        if note is not None and note.circuit.blocks:
            device = put_together(note.circuit, note.told)
            found.append((note, device, judge(device, note.measured, Meter())))
    return found


def job(device: Device, judgement: Judgement) -> dict[str, Any]:
    """The page's data with the note's own readings, each at the place of the list that a person takes for it."""
    data = helper_data(device, Meter(), judgement)
    places = [(place["kind"], tuple(place["at"]), place.get("when", "")) for place in data["places"]]
    readings = []
    for judged in judgement.fitted:
        reading, sought = judged.reading, judged.taken.sought
        assert sought is not None
        kinds = {"across": reading.across, "ohms": reading.ohms, "diode": reading.diode}
        kind = next((name for name, own in kinds.items() if any(own)), "at")
        at = tuple(kinds.get(kind) or [reading.at or f"{reading.block}.{reading.value}"])
        if (kind, at, sought.state) in places:
            number = places.index((kind, at, sought.state))
        else:  # read twice by two names: the list has one of them
            number = next(n for n, place in enumerate(data["places"]) if same_place(device, place, reading))
        readings.append((number, reading.read))
    return {"data": data, "readings": readings}


def key_at(device: Device, place: dict[str, Any]) -> tuple[object, ...]:
    names = tuple(place["at"])
    given: dict[str, Any] = {place["kind"]: names[0] if place["kind"] == "at" else names}
    return key_of(sought_of(device, Reading("", "", "", when=place.get("when", ""), **given)))


def same_place(device: Device, place: dict[str, Any], reading: Reading) -> bool:
    return key_at(device, place) == key_of(sought_of(device, reading))


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


def test_a_pair_beside_which_every_single_failure_is_nothing() -> None:
    """Two resistors of 10k measured by themselves at 100k, each twice: no single failure comes near, and the table says so."""
    twice = ["{ohms: R1, read: 100.0k}", "{ohms: R2, read: 100.0k}"] * 2
    device, judgement = divider(*twice)
    assert not any(fit.share for fit in judgement.fits if not fit.change.also)
    pair = judgement.fits[0].change
    assert pair.also is not None and {pair.called, pair.also.called} == {"R1", "R2"}
    assert helper_data(device, Meter(), judgement)["places"]


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
    taken: dict[tuple[str, str], int] = {}
    found = []
    for case in cases:
        if (
            case["half"] == "tuning"
            and case["set"] in ("fault", "double", "sound")
            and taken.get((case["device"], case["set"]), 0) < each
        ):
            taken[case["device"], case["set"]] = taken.get((case["device"], case["set"]), 0) + 1
            found.append((case["id"], with_readings(makes[case["device"]].NOTE, case["readings"])))
    return found


def of(change: Change) -> list[str]:
    return ["", "", "none"] if change.sound else [change.block, change.element or change.key, change.mode]


def same_first(named: list[tuple[str, Device, Judgement]]) -> list[str]:
    """Where the page's first is neither the build's nor one that the build holds nearly as likely."""
    answers = asked([job(device, judgement) for _, device, judgement in named])
    off = []
    for (name, _, judgement), answer in zip(named, answers):
        best = judgement.fits[0]
        near = [fit.change for fit in judgement.fits if fit.share > 0.75 * best.share]
        first = [answer["fits"][0][:3], answer["fits"][0][4]]
        if not any(first == [of(own), of(own.also) if own.also else None] for own in near):
            off.append(f"{name}: {name_of(best.change)} {best.share:.2f}; the page: {answer['fits'][:2]}")
    return off


@pytest.mark.slow
@pytest.mark.skipif(not NODE, reason="needs node")
def test_the_page_puts_first_what_the_build_does_on_whole_devices() -> None:
    """Quantised to a few kilobytes, its shares differ a little; in nine of ten cases, of one
    fault, of two and of none, the first is the same."""
    named = [(name, *judged_note(text)) for name, text in benchmark_cases(1)]
    off = same_first([own for own in named if own[2].fits])
    assert len(off) <= len(named) // 10, off


@pytest.mark.skipif(not NODE, reason="needs node")
def test_the_page_puts_first_what_the_build_does_on_the_demonstration() -> None:
    named = [(note.slug, *own) for note, *own in demonstration() if note.measured and own[1].fits]
    off = same_first(named)
    assert named and not off, off


SUPPLY = """---
title: Radio dead
date: 2026-02-02
device: {kind: radio, category: Misc}
symptoms: [dead]
outcome: unknown
blocks:
  inlet: {kind: mains-inlet, load: 20 W, fuse: F1 250mA}
  supply: {kind: transformer-supply, primary: inlet, transformer: T1, rectifier: D1-D4 bridge, secondary: 12 V,
           smoothing: C1 2200u 25V, bleeder: R1 4k7, load: 60 mA}
readings:
READINGS---
"""


def answered(*readings: str) -> list[list[Any]]:
    """The page's first failures for a bridge rectifier behind a fused transformer."""
    own = "".join(f"  - {reading}\n" for reading in readings)
    (answer,) = asked([job(*judged_note(SUPPLY.replace("READINGS", own)))])
    fits: list[list[Any]] = answer["fits"]
    return fits


@pytest.mark.skipif(not NODE, reason="needs node")
def test_a_short_that_blew_the_fuse() -> None:
    """Common practice: a shorted rectifier takes the fuse along. Found are no volts, an open fuse, and 0 V across that very diode
    on the diode range; the three others still block."""
    best = answered("{at: supply.plus, read: 0 V}", "{ohms: F1, read: OL}", "{diode: D3, read: 0.001 V}")[0]
    assert best[0] == "supply" and best[2] == "short" and best[4] == ["inlet", "fuse", "open"]


@pytest.mark.skipif(not NODE, reason="needs node")
def test_a_diode_of_a_bridge_that_was_measured_itself() -> None:
    """0 V at D3 on the diode range where D1 conducts at 0.6 V, as silicon does, and a fuse that is whole: D3 is shorted, not "one of
    D1-D4". Common practice."""
    best = answered("{diode: D3, read: 0.001 V}", "{diode: D1, read: 0.6 V}", "{ohms: F1, read: 0.2 ohm}")[0]
    device, _ = judged_note(SUPPLY.replace("READINGS", ""))
    assert (best[2], best[4]) == ("short", None)
    assert device.elements[best[1]].nets == device.elements[device.parts["D3"]].nets


@pytest.mark.skipif(not NODE, reason="needs node")
def test_ac_volts_on_a_rail_are_its_ripple() -> None:
    """60 mA from 2200 uF for 10 ms are 0.27 V peak to peak (I·t/C), a sawtooth of 0.08 V RMS (peak to peak over 2·sqrt(3)). 2 V RMS are
    that of a capacitor with a twentieth of it left, and no rail of 2 V."""
    best = answered("{at: supply.plus, read: 13 V}", "{at: supply.plus, read: 2 V AC}")[0]
    assert best[1:3] in (["smoothing", "low"], ["smoothing", "open"])


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


@pytest.mark.skipif(not NODE, reason="needs node")
def test_the_page_begins_where_the_build_does() -> None:
    """Nothing typed, an owner's complaint known: what the page proposes first is among the first three that the build does. It knows
    fewer places and sizes, so that of several nearly as good another may lead."""
    off, jobs, wanted = [], [], []
    for note, device, judgement in demonstration():
        complaints = complaints_of(note.symptoms, default())
        first = first_readings(device, Meter(), complaints)
        data = helper_data(device, Meter(), judgement, (), complaints)
        if first and data:
            jobs.append({"data": data, "readings": []})
            wanted.append((note.slug, device, [own.probing.key for own in first[:3]]))
    for (name, device, expected), answer, own in zip(wanted, asked(jobs), jobs):
        got = own["data"]["places"][answer["next"][0][0]]
        if key_at(device, got) not in expected:
            off.append((name, got["at"], expected))
    assert len(wanted) > 8 and len(off) <= len(wanted) // 5, off
