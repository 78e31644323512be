"""A block as text and as data, every figure by hand; the places and marks of diagrams."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import pytest

from generator.circuit import curves, report
from generator.circuit.circuit import Mains, build_block
from generator.circuit.value import Check, Result

sys.path.insert(0, str(Path(__file__).parent / "kinds"))
from bench import made  # noqa: E402

# (5 − 1.8)/330 A, with the red LED's 1.8 V ±10 %: 3.02/330 to 3.38/330 A; the resistor has 3.02²/330 to 3.38²/330 W, the LED
# 1.62·10.24 to 1.98·9.15 mW; 660 Ω halve the current, a shorted LED leaves 5/330 A
TEXT = """LED indicator
  value           nominal  band             working
  current         9.70 mA  9.15 to 10.2 mA  (5 V − 1·1.8 V)/330 Ω = 9.70 mA
  resistor_power  31.0 mW  27.6 to 34.6 mW  9.7 mA·(5 V − 1·1.8 V) = 31.0 mW
  led_power       17.5 mW  16.6 to 18.1 mW  1.8 V·9.7 mA = 17.5 mW

Colours stand for typical forward voltages, from memory: red 1.8 V, amber, yellow and orange 2.0 V, green 2.1 V, blue and white 3.0 V. No tolerance is stated for these, so it was assumed: forward ±10 %.

Ratings
  holds   LD1: carries 10.2 mA, usual limit 20 mA (49 % in hand)
  FAILS   R14: dissipates 34.6 mW, rated 20 mW (exceeded by 73 %)

If yours measures differently
  R14 open: current 0 A
  R14 high: current 4.85 mA
  LD1 open: current 0 A
  LD1 short (stays dark; the current rises): current 15.2 mA"""
GIVEN = {"supply": "5 V 0%", "forward": "LD1 red", "resistor": "R14 330 0.02W 0%", "count": "1"}


def test_the_whole_text() -> None:
    assert report.as_text(made("led-indicator", **GIVEN)) == TEXT


def test_the_same_as_data() -> None:
    """Plain units, no prefixes; what never comes is "inf"; a remark where there is one."""
    data = report.as_data(made("led-indicator", **GIVEN))
    assert data["kind"] == "led-indicator" and list(data["values"]) == [
        "current",
        "resistor_power",
        "led_power",
    ]
    assert data["values"]["current"] == {
        "value": pytest.approx(3.2 / 330), "low": pytest.approx(3.02 / 330), "high": pytest.approx(3.38 / 330), "unit": "A",
        "formula": "(supply − count·forward)/resistor", "working": "(5 V − 1·1.8 V)/330 Ω = 9.70 mA",
    }  # fmt: skip
    heat = data["checks"][1]
    assert (heat["part"], heat["ok"]) == ("R14", False) and heat["margin"] == pytest.approx(
        1 - 3.38**2 / 330 / 0.02
    )
    opened, *_, shorted = data["failures"]
    assert opened == {
        "part": "R14",
        "failed": "open",
        "values": {"current": {"value": 0.0, "low": 0.0, "high": 0.0}},
    }
    assert shorted["remark"] == "stays dark; the current rises"
    assert report.number(math.inf) == "inf" and report.number(2.5) == 2.5
    assert report.result_data(Result("t", "s", None, 1.0, math.inf)) == {"low": 1.0, "high": "inf"}


@pytest.mark.parametrize(
    ("margin", "least", "words"),
    [(0.25, False, "25 % in hand"), (0.0, False, "0 % in hand"), (-0.5, False, "exceeded by 50 %"), (-0.5, True, "50 % short"),
     (1.0, True, "100 % in hand"), (1.5, True, "2.5 times what is needed"), (None, False, "")],
)  # fmt: skip
def test_how_much_is_in_hand(margin: float | None, least: bool, words: str) -> None:
    assert report.margin_text(Check("R1", "sees 5 V", True, margin, least=least)) == words
    assert report.margin_text(Check("R1", "sees 5 V", True, margin, remark=True, least=least)) == ""


@pytest.mark.parametrize(
    ("kind", "given", "words"),
    [
        ("transistor-switch", {"vbe": "0.7 V"}, "vbe ±0.1 V"),
        ("led-indicator", {"forward": "LD1 red"}, "forward ±10 %"),
        ("transistor-switch", {"transistor": "Q1 hfe100"}, "−50 to +200 %"),
        ("transistor-switch", {"vce_sat": "0.2 V"}, "0.0200 to 0.300 V"),
    ],
)
def test_a_spread_in_words(kind: str, given: dict[str, str], words: str) -> None:
    from generator.circuit import catalogue

    block, troubles = build_block(kind, {**catalogue.kind(kind).example, **given}, Mains())
    assert block is not None, troubles
    assert words in report.spreads_taken(block)


def test_places_of_a_diagram() -> None:
    """Even steps and even ratios, both ends among them; a function at each."""
    even, decades = curves.spaced(2.0, 10.0), curves.spaced(1.0, 1e4, log=True)
    assert len(even) == len(decades) == curves.SAMPLES + 1 and (even[0], even[-1]) == (2.0, 10.0)
    assert even[curves.SAMPLES // 4] == pytest.approx(4.0) and decades[curves.SAMPLES // 4] == pytest.approx(
        10.0
    )
    assert curves.points(lambda x: x * x, (1.0, 3.0)) == ((1.0, 1.0), (3.0, 9.0))


def test_the_range_about_cut_points() -> None:
    """0 to 100 °C at least, a fifth more beyond a value that lies further off, never beyond −55 to 300 °C."""
    ends = {"least": (0.0, 100.0), "most": (-55.0, 300.0)}
    assert curves.around([20.0, 60.0], **ends) == (0.0, 100.0) and curves.around([], **ends) == (0.0, 100.0)
    assert curves.around([20.0, 150.0], **ends) == (0.0, 180.0) and curves.around([-20.0, 50.0], **ends) == (
        -44.0,
        100.0,
    )
    assert curves.around([-50.0, 290.0], **ends) == (-55.0, 300.0)


def test_the_marks_of_cut_points() -> None:
    """Both coordinates as values, or the middles of ranges with the further end; none where one is missing or never."""
    values = {"on.temperature": Result("on.temperature", "°C", 38.0, 37.0, 39.0), "on.output": Result("on.output", "V", 2.2, 2.1, 2.3),
              "off.temperature": Result("off.temperature", "°C", None, 50.0, 60.0), "off.output": Result("off.output", "V", None, 1.0, 1.5),
              "never.temperature": Result("never.temperature", "°C", math.inf, 80.0, math.inf), "never.output": Result("never.output", "V", 1.0, 1.0, 1.0),
              "half.temperature": Result("half.temperature", "°C", 20.0, 19.0, 21.0), "half.output": Result("half.output", "V", None, 1.0, 2.0)}  # fmt: skip
    on, off, half = curves.cut_marks(("on", "off", "never", "half", "lost"), values, "temperature")
    assert (on.name, on.x, on.y) == ("on", 38.0, 2.2) and math.isnan(on.x_high)
    assert (
        (off.x, off.y, off.x_high) == (55.0, 1.25, 60.0)
        and (half.x, half.y) == (20.0, 1.5)
        and math.isnan(half.x_high)
    )


def test_a_rail_over_two_periods() -> None:
    picture = curves.rail_diagram(
        lambda t: 12 - t, lambda t: 10 - t, f=50.0, crest=13.0, top=11.0, mean=10.5, trough=(0.008, 9.0)
    )
    assert picture.x == ("time", "s", 0.0, 0.04) and picture.y == ("voltage", "V", 0.0, 13.0)
    assert [(mark.name, mark.x, mark.y, mark.level) for mark in picture.marks] == [
        ("top", 0.0, 11.0, True), ("mean", 0.0, 10.5, True), ("trough", 0.008, 9.0, False)]  # fmt: skip
    source, rail = picture.curves
    assert (
        source.aside
        and not rail.aside
        and rail.points[-1] == pytest.approx((0.04, 9.96))
        and source.points[0] == (0.0, 12.0)
    )
