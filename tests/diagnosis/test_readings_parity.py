"""A reading means one thing: the page's script and the build read the same text as the same numbers."""

from __future__ import annotations

import json
import math
import random
import shutil
import subprocess
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from generator.notation.quantity import QuantityError
from generator.notation.reading import ABOUT, RANGES, WAVES, Meter, Shown, read_shown, table
from generator.notation.units import UNITS

STATIC = Path(__file__).resolve().parents[2] / "themes" / "bench" / "static" / "helper"
METER = Meter(0.012, 4)
UNITS_READ = ("V", "A", "ohm", "F", "s", "W", "Hz", "°C", "K", "", "lux", "V/K", "H", "degree")

WRITTEN = [
    "17.4 V", "12,3 V DC", "12.3 V DC", "231 V AC", "231 VAC", "231V~", "1.2 V AC", "9.4 Vpp", "9.4 V p-p", "15 Vrms", "AC 12 V", "DC 5 V", "12 V=",
    "O.L", "0L", "O.L.", "0.L M", "OL Mohm", "open", "Open (both ways)", "open, even when warm", "never", "∞", "short", "shorted", "kurzschluss",
    "about 12 V", "ca. 9.8 V", "~9.8V", "≈ 9.8 V", "roughly 5 mA", "12.1..12.4 V", "12.1 to 12.4 V", "12.1-12.4 V", "47..56k", "820..1k2", "100..100k",
    "900..1.2mA", "2..3 mA", "47k..56k 5%", "< 5 mA", "<1 mA", "≤ 0.5 V", "> 2M", "5", "0 V", "0 A", "0.0 V", "-20 °C", "−12 V", "+5 V", "4k7", "R47", "2R2", "n47",
    "u47 F", "104K", "10k J", "1,000 V", "0,125 W", "1e3 V", "1e-3 V", "1.5e1V", "12 V ±5%", "12 V 5 %", "12 V +80/-20%", "50 %", "0.5", "90 s", "2 min", "5 min",
    "90 s in", "12.1 V after 10 min", "9.8 V (warm)", "5 V at the pin", "3 Amps", "10 kOhm", "10 kilo", "1 Meg", "100 nf", "2200 mfd", "5 V V", "hot", "", " ", "nan",
    "inf", "1e999 V", "12 ohm", "1 2 V", "--5 V", "+-5 V", "5..", "..5", "5 V..", "12.3.4 V", "5 V AC DC", "12 v ac", "0x10", "1_000", "٣ V", "12 V\u00a0DC",
    "20 C", "20 deg C", "300 K", "100 lx", "1.5 kHz", "120 V AC after lunch", "about open", "about  3 V", "approximately 3V", "0.3 V with load", "5mAh", "toString", "constructor",
    "<=1V", "12.3 V, drifting", "12.3 V; steady", "12.3 V,", "– 12 V", "-0.5 V on pin 3", "1.2 V peak to peak", "38 ºC", "overload", "+7 %", "-7%",
    "1 megohm", "2.2 Megohms", "3 milliamps", "10 kilo ohm", "10 kilohms", "16 Volts AC", "100UF", "47 NF", "5 mAmps", "10 MOHM", "5 percent", "12.4 volts dc", "3 hours",
    "3 constructor", "12 V pk", "7 V peak", "3.3 k", "3.3 K", "3.3 MΩ", "10 mΩ", "0 ohm", "0R", "1e-20 V", "5" * 90, "5 V 150 %", "5 % %", "%", "5 V %", "± 5 V",
]  # fmt: skip


def generated(count: int = 6000) -> list[str]:
    """Readings put together from figures, units and words, and the same with a letter changed; the same with every run."""
    chance = random.Random(7)
    figures = [
        "0",
        "5",
        "12.3",
        "12,3",
        "0.05",
        "470",
        "1e3",
        "-4.2",
        "+7",
        "4k7",
        "R47",
        "5V1",
        "n47",
        "1,000",
        ".5",
        "5.",
        "100..220",
        "1.1 to 1.2",
        "9-12",
    ]
    units = [
        "",
        *sorted(UNITS),
        "mV",
        "kV",
        "mA",
        "uA",
        "µA",
        "kΩ",
        "MΩ",
        "k",
        "M",
        "m",
        "nF",
        "uF",
        "kHz",
        "ms",
        "Volts",
        "KOHM",
    ]
    behind = [
        "",
        "",
        "",
        *(f" {word}" for word in RANGES),
        *RANGES,
        " (cold)",
        " after 10 min",
        " ±5%",
        " 5 %",
        " J",
    ]
    before = ["", "", "", "", "<", "< ", ">", *(f"{word} " for word in ABOUT), "AC ", "DC "]
    texts = []
    for _ in range(count):
        text = (
            chance.choice(before)
            + chance.choice(figures)
            + chance.choice(["", " "])
            + chance.choice(units)
            + chance.choice(behind)
        )
        if chance.random() < 0.3 and text:
            at = chance.randrange(len(text))
            text = text[:at] + chance.choice("0123456789.,%+-kmMVAΩ ~") + text[at + chance.randrange(2) :]
        texts.append(text)
    return texts


def in_python(text: str, unit: str, wave: str) -> Any:
    try:
        shown = read_shown(text, unit, METER, wave)
    except QuantityError as error:
        return (
            "why"
            if wave and any(str(reason) in error.what for reason in table()["reasons"].values())
            else None
        )
    return [shown.state, shown.value, shown.low, shown.high, shown.range]


@pytest.fixture(scope="module")
def script(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Any:
    """A function that runs an expression of `readings` over a list: in Node where it is installed, else in a browser."""
    source = (STATIC / "readings.js").read_text("utf-8")
    setup = f"const readings = readingsOf({json.dumps(table())}, {json.dumps({'share': METER.share, 'counts': METER.counts})});"
    node = shutil.which("node")

    def run(expression: str, cases: list[Any]) -> list[Any]:
        tail = f"const plain = (key, value) => (value === Infinity ? 1e300 : value); const out = JSON.stringify({json.dumps(cases)}.map({expression}), plain);"
        if node:
            file = tmp_path_factory.mktemp("script") / "run.js"
            file.write_text(f"{source}\n{setup}\n{tail}\nprocess.stdout.write(out);", "utf-8")
            return list(
                json.loads(
                    subprocess.run([node, str(file)], capture_output=True, text=True, check=True).stdout
                )
            )
        page = request.getfixturevalue("browser").new_page()
        found = page.evaluate(f"() => {{ {source}\n{setup}\n{tail} return out; }}")
        page.close()
        return list(json.loads(found))

    return run


def test_the_same_numbers_of_every_text(script: Any) -> None:
    cases = [(text, unit, "") for text, unit in product(WRITTEN, UNITS_READ)]
    cases += [(text, unit, wave) for text in WRITTEN for unit in ("V", "A") for wave in WAVES]
    chance = random.Random(11)
    cases += [
        (text, unit, chance.choice(["", "", *WAVES]))
        for text in generated()
        for unit in ("V", "A", "ohm", chance.choice(UNITS_READ))
    ]
    on_the_page = script(
        "([text, unit, wave]) => { const f = readings.read(text, unit, wave); return f && (f.why ? 'why' : [f.state, f.value, f.low, f.high, f.range]); }",
        cases,
    )
    different = [
        (case, ours, theirs)
        for case, theirs in zip(cases, on_the_page, strict=True)
        if not _same(ours := in_python(*case), theirs)
    ]
    assert different[:20] == []
    readable = sum(isinstance(found, list) for found in on_the_page)
    assert readable > 1000 and len(cases) - readable > 1000  # the list tells both sorts apart


def _same(ours: Any, theirs: Any) -> bool:
    if not isinstance(ours, list) or not isinstance(theirs, list):
        return bool(ours == theirs)
    numbers = [(a, b) for a, b in zip(ours[1:4], theirs[1:4])]
    return (ours[0], ours[4]) == (theirs[0], theirs[4]) and all(
        a is b or a is not None and b is not None and math.isclose(min(a, 1e300), min(b, 1e300), rel_tol=1e-9, abs_tol=1e-18) for a, b in numbers
    )  # fmt: skip


def test_an_ac_range_shows_rms() -> None:
    """230 V RMS of a sine have a peak of 230·√2 = 325.3 V; a ripple's RMS is not its height, a DC rail's is nothing."""
    shown = read_shown("230 V AC", "V", Meter(0.0, 0), "sine peak")
    assert shown.value == pytest.approx(325.27, abs=0.01)
    assert read_shown("650 Vpp", "V", Meter(), "sine peak").value == pytest.approx(325.0)
    assert read_shown("1.2 Vpp", "V", Meter(), "peak to peak").value == pytest.approx(1.2)
    assert read_shown("1.2 V", "V", Meter(), "peak to peak").value == pytest.approx(1.2)
    for text, wave, told in [
        ("1.2 V AC", "peak to peak", "RMS"), ("1.2 V DC", "peak to peak", "mean"), ("5 V AC", "dc", "DC voltage"), ("325 V DC", "sine peak", "alternates"),
        ("650 Vpp", "rms", "RMS"),
    ]:  # fmt: skip
        with pytest.raises(QuantityError, match=told):
            read_shown(text, "V", Meter(), wave)


def test_shown_keeps_the_range() -> None:
    assert isinstance(found := read_shown("231 V AC", "V", Meter()), Shown) and found.range == "ac"


def test_ac_of_a_peak_and_of_a_ripple_at_the_bench() -> None:
    """231 V RMS have a crest of 326.7 V; a ripple's RMS is no peak-to-peak value (definition of RMS, by hand)."""
    from generator.circuit.circuit import Mains, build_block
    from generator.diagnosis.bench import fitting

    inlet, _ = build_block("mains-inlet", {"load": "100 W", "fuse": "F1 2A"}, Mains())
    assert inlet is not None
    judged = fitting(inlet, [("peak", "231 V AC")])
    assert judged.problems == [] and judged.judgement is not None
    shown = judged.judgement.judged[0].shown
    assert shown is not None and shown.value == pytest.approx(326.68, abs=0.01)
    supply, _ = build_block(
        "transformer-supply", {"secondary": "12 V", "smoothing": "C3 1000u", "load": "120 mA"}, Mains()
    )
    assert supply is not None and "RMS of a ripple" in fitting(supply, [("ripple", "1.2 V AC")]).problems[0]
