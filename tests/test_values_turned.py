"""The bench beside the kinds: a filled example to edit, a sum turned round, Ohm's law, parallel and series, RC."""

from __future__ import annotations

import json
import math
import re
from typing import Any

import pytest
from eseries import E24, E96, find_nearest

from generator.bench import values
from generator.circuit import catalogue
from generator.circuit.circuit import Mains
from generator.circuit.roots import first_root
from generator.circuit.sums import SumError, worked_out
from generator.circuit.sums_turned import text_of, turned_round
from generator.circuit.turned import RANGES, TurnedError, turn_round
from generator.notation.preferred import E24 as OURS_24
from generator.notation.preferred import E96 as OURS_96
from generator.notation.preferred import nearest_in


def called(kind: str | None, *parts: str, as_json: bool = False) -> tuple[int, str, str]:
    out: list[object] = []
    told: list[object] = []
    status = values(kind, parts, [], as_json=as_json, out=out.append, say=told.append)
    return status, "\n".join(map(str, out)), "\n".join(map(str, told))


@pytest.mark.parametrize("value", [320.0, 4712.0, 1.04, 9.7e6, 0.47, 1049.5])
def test_the_nearest_in_a_series(value: float) -> None:
    """The package eseries finds the nearest by difference; by ratio the two differ only between neighbours' means."""
    for ours, theirs in ((OURS_24, E24), (OURS_96, E96)):
        assert (
            abs(math.log(nearest_in(ours, value) / value))
            <= abs(math.log(find_nearest(theirs, value) / value)) + 1e-12
        )


def test_which_resistor_for_ten_milliamperes() -> None:
    """(5 V − 1.8 V)/10 mA = 320 Ω (Ohm's law); 330 Ω of E24 comes to 9.70 mA, 324 Ω of E96 to 9.88 mA."""
    turned = turn_round(
        "led-indicator", {"supply": "5 V", "forward": "red", "resistor": "?", "current": "10 mA"}, Mains()
    )
    assert turned.exact == pytest.approx(320.0)
    found = [(series, size, block.values["current"].value) for series, size, block in turned.nearest]
    assert found == [("E24", 330.0, pytest.approx(3.2 / 330)), ("E96", 324.0, pytest.approx(3.2 / 324))]


def test_which_capacitor_for_a_delay() -> None:
    """Half of the supply is reached after R·C·ln 2: 100 ms with 10 kΩ take 14.43 µF (exponential charge)."""
    turned = turn_round(
        "rc-delay",
        {"supply": "5 V", "threshold": "2.5 V", "resistor": "10k", "capacitor": "?", "delay": "100 ms"},
        Mains(),
    )
    assert turned.exact == pytest.approx(0.1 / (10e3 * math.log(2)), rel=1e-6)
    assert turned.nearest[0][:2] == ("E24", pytest.approx(15e-6))


@pytest.mark.parametrize(("kind", "parts", "said"), [
    ("battery-pack", ["cells=4", "chemistry=alkaline", "capacity=2000", "load=1 A"], "capacity: 2000 is taken as 2000 Ah"),
    ("dc-motor", ["supply=12 V", "winding=6", "running_current=150"], "running_current: 150 is taken as 150 A"),
])  # fmt: skip
def test_a_bare_figure_that_lost_its_milli_is_told(kind: str, parts: list[str], said: str) -> None:
    status, text, told = called(kind, *parts)
    assert status == 0 and text and said in told


def test_a_source_of_next_to_no_ohms_has_a_steady_state() -> None:
    """12 V behind 12 V·x/250 A: the peak is that of an ideal source, 12·√2 − 2·0.7 = 15.57 V (rectifier handbooks)."""
    status, text, _ = called("transformer-supply", "secondary=12 V", "smoothing=1000u", "load=120 mA", "rated_current=250 A", as_json=True)  # fmt: skip
    assert status == 0 and json.loads(text)["values"]["peak"]["value"] == pytest.approx(
        12 * math.sqrt(2) - 1.4
    )


def test_json_of_a_sum_turned_round() -> None:
    status, text, told = called(
        "led-indicator", "supply=5 V", "forward=red", "resistor=?", "current=10 mA", as_json=True
    )
    data = json.loads(text)
    assert (status, told, data["kind"]) == (0, "", "led-indicator")
    assert data["solved"]["value"] == pytest.approx(320.0) and data["solved"]["nearest"][0]["series"] == "E24"
    assert data["values"]["current"]["value"] == pytest.approx(
        3.2 / 330
    )  # worked out with the nearest of E24 (IEC 60063)


@pytest.mark.parametrize("given", [
    {"supply": "5 V", "resistor": "?", "current": "10 mA", "forward": "?"}, {"supply": "5 V", "resistor": "?"}, {"supply": "1 V", "resistor": "?", "current": "10 mA"},
    {"supply": "5 V", "resistor": "?", "current": "10 V"}, {"supply": "5 V", "forward": "red", "resistor": "?", "current": "10"}, {"resistor": "?", "current": "10 mA"},
])  # fmt: skip
def test_what_cannot_be_turned_round_is_told(given: dict[str, Any]) -> None:
    with pytest.raises(TurnedError):
        turn_round("led-indicator", given, Mains())


# Ohm's and Joule's laws, Kirchhoff's, by hand.
@pytest.mark.parametrize(("kind", "texts", "name", "value"), [
    ("ohm", ["12 V", "4k7"], "current", 12 / 4700), ("ohm", ["12 V", "4k7"], "power", 144 / 4700), ("ohm", ["2 A", "60 W"], "resistance", 15.0),
    ("ohm", ["voltage=230 V", "power=2 kW"], "resistance", 26.45), ("ohm", ["100 ohm", "0.25 W"], "voltage", 5.0), ("ohm", ["10 mA", "1k"], "voltage", 10.0),
    ("parallel", ["10k", "10k"], "resistance", 5e3), ("parallel", ["resistor=6k", "resistor=3k", "2k"], "resistance", 1e3), ("series", ["1k", "2k2", "330"], "resistance", 3530.0),
    ("rc", ["10k", "100n"], "time_constant", 1e-3), ("rc", ["capacitor=100n", "resistor=10k"], "cutoff", 159.155),
])  # fmt: skip
def test_sums_by_hand(kind: str, texts: list[str], name: str, value: float) -> None:
    assert next(f for f in worked_out(kind, texts) if f.name == name).value == pytest.approx(value, rel=1e-5)


def test_a_sum_has_a_band_where_what_is_given_has_one() -> None:
    """10k ±5 % beside 10k ±5 %: 4.75 to 5.25 kΩ."""
    (found,) = worked_out("parallel", ["10k 5%", "10k 5%"])
    assert (found.low, found.high) == pytest.approx((4750.0, 5250.0))


@pytest.mark.parametrize(("kind", "texts"), [
    ("ohm", ["12 V"]), ("ohm", ["12", "4k7"]), ("ohm", ["12 V", "5 V"]), ("parallel", ["10k"]), ("parallel", ["10k", "5 V"]), ("rc", ["10k", "4k7"]), ("ohm", ["speed=1", "1 V"]),
])  # fmt: skip
def test_what_makes_no_sum_is_told(kind: str, texts: list[str]) -> None:
    with pytest.raises(SumError):
        worked_out(kind, texts)


def test_a_bare_figure_is_known_by_its_name_or_not_at_all() -> None:
    """12 may be volts or ohms; by its name it is 12 V, and 12 V at 2 A are 6 Ω (Ohm's law). Resistors in parallel are ohms anyway."""
    with pytest.raises(SumError, match="the unit is missing"):
        worked_out("ohm", ["12", "2 A"])
    for twice in (["12 V", "5 V"], ["voltage=12 V", "voltage=5 V"], ["12 V", "2 A", "6 ohm"], ["12 V"]):
        with pytest.raises(SumError, match="ohm takes 2 of voltage, current, resistance, power"):
            worked_out("ohm", twice)
    named = worked_out("ohm", ["voltage=12", "current=2 A"])
    assert next(f.value for f in named if f.name == "resistance") == pytest.approx(6.0)
    assert worked_out("parallel", ["10", "15"])[0].value == pytest.approx(6.0)


@pytest.mark.parametrize("kind", catalogue.names())
def test_a_kind_alone_shows_an_example_to_edit(kind: str) -> None:
    """Where a kind needs parameters, its example is shown as a call that works; where it needs none, it is worked out."""
    status, text, told = called(kind)
    if status:
        assert text == "" and f"benchlore values {kind} " in told
        assert all(name in told for name in catalogue.kind(kind).example)


def test_names_that_are_none() -> None:
    assert called("")[0] == 2
    status, _text, told = called("x" * 10_000)
    assert status == 2 and len(told) < 1500 and "x" * 100 not in told
    assert "kind comes first" in called("led-indicator", "kind=heater")[2]


@pytest.mark.parametrize(("kind", "texts", "name", "exact", "e24"), [
    ("parallel", ["10k", "?", "resistance=3k2"], "resistor", 1 / (1 / 3200 - 1 / 10000), 4.7e3),  # 4705.9 ohm
    ("series", ["10k", "resistor=?", "resistance=14k7"], "resistor", 4700.0, 4.7e3),
    ("rc", ["10k", "?", "time_constant=1 ms"], "capacitor", 100e-9, 100e-9),
    ("rc", ["capacitor=100n", "resistor=?", "cutoff=1 kHz"], "resistor", 1 / (2 * math.pi * 1e3 * 100e-9), 1.6e3),  # 1591.5 ohm
    ("ohm", ["12 V", "resistance=?", "current=20 mA"], "resistance", 600.0, 620.0),
])  # fmt: skip
def test_a_sum_turned_round(kind: str, texts: list[str], name: str, exact: float, e24: float) -> None:
    """By hand from the formula of each; 600 lies between 560 and 620 of E24 (IEC 60063), nearer to 620 by ratio."""
    found = turned_round(kind, texts)
    assert (found.name, found.exact) == (name, pytest.approx(exact, rel=1e-6))
    assert dict((series, size) for series, size, _ in found.nearest)["E24"] == pytest.approx(e24)
    assert "E24:" in text_of(found)
    data = json.loads(called(kind, *texts, as_json=True)[1])  # its figures are those of the nearest of E24
    solved = data["solved"]
    assert (solved["parameter"], solved["value"]) == (name, pytest.approx(exact, rel=1e-6))
    assert [(own["series"], own["value"]) for own in solved["nearest"]][0] == ("E24", pytest.approx(e24))
    assert data["values"][solved["wanted"]] == solved["nearest"][0]["comes_to"]


@pytest.mark.parametrize(("kind", "texts", "said"), [
    ("parallel", ["10k", "?"], "one ? beside what it is to come to, such as benchlore values parallel 10k"),
    ("parallel", ["10k", "?", "resistance=20k"], "no resistor makes resistance 20k here"),
    ("series", ["10k", "?", "power=3 W"], "power: series gives resistance"),
    ("rc", ["10k", "inductor=?", "cutoff=1 kHz"], "inductor: rc takes resistor, capacitor"),
    ("parallel", ["?", "?", "resistance=3k"], "one ? beside"),
])  # fmt: skip
def test_a_sum_that_cannot_be_turned_round_is_told(kind: str, texts: list[str], said: str) -> None:
    with pytest.raises(SumError, match=re.escape(said)):
        turned_round(kind, texts)


@pytest.mark.parametrize(("kind", "parts", "reads"), [
    ("LONG", [], []), ("divider", ["LONG=3"], []), ("divider", ["supply=LONG", "upper=1k", "lower=1k"], []), ("marking", ["LONG"], []),
    ("divider", ["supply=5 V", "upper=1k", "lower=1k"], ["LONG=3"]), ("divider", ["supply=5 V", "upper=1k", "lower=1k"], ["output=LONG"]),
    ("ohm", ["LONG", "4k7"], []),
])  # fmt: skip
def test_a_long_text_is_not_echoed(kind: str, parts: list[str], reads: list[str]) -> None:
    long = "x" * 20_000
    told: list[object] = []
    texts = [text.replace("LONG", long) for text in parts]
    readings = [text.replace("LONG", long) for text in reads]
    status = values(
        kind.replace("LONG", long), texts, readings, as_json=False, out=lambda _: None, say=told.append
    )
    assert status == 2 and 0 < len("".join(map(str, told))) < 1000


# What a bench works with, smallest and largest (common practice, no source)
ON_A_BENCH = {
    "ohm": (0.01, 22e6), "F": (10e-12, 47e-3), "H": (1e-6, 5.0), "V": (0.05, 1000.0), "A": (50e-6, 50.0), "W": (0.01, 3000.0),
    "s": (1e-5, 86400.0), "Hz": (1.0, 1e6), "": (0.01, 1000.0), "°C": (-40.0, 250.0),
}  # fmt: skip


@pytest.mark.parametrize("unit", RANGES)
def test_what_is_looked_for_may_be_anything_that_a_bench_works_with(unit: str) -> None:
    for value in ON_A_BENCH[unit]:
        assert first_root(lambda size, value=value: size - value, *RANGES[unit]) == pytest.approx(
            value, rel=1e-6
        )


def test_which_current_makes_a_quarter_of_a_watt() -> None:
    """0.24 W from 12 V are 20 mA (Joule's law)."""
    assert turned_round("ohm", ["12 V", "current=?", "power=0.24 W"]).exact == pytest.approx(0.02, rel=1e-6)
