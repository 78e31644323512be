"""The functions that kinds solve with, each by itself: the equation that it answers, by scipy, numpy or by hand."""

from __future__ import annotations

import math
from itertools import accumulate

import numpy as np
import pytest
from scipy.optimize import brentq

from generator.circuit.diodes import is_schottky
from generator.circuit.kinds import _dropper_path as dropper
from generator.circuit.kinds._lithium_charging import charge_limit, phase
from generator.circuit.kinds.series_pass import follower_output
from generator.circuit.point import Point
from generator.notation.part_reading import parse_part
from generator.notes.text import clean

KNEE = 0.0388  # V: 1.5·kT/q


@pytest.mark.parametrize("load_is_ohm", (True, False))
@pytest.mark.parametrize(
    ("input_", "load_ohms"), [(16.0, 120.0), (8.5, 33.0), (11.0, 33.0), (9.3, 470.0), (0.4, 100.0)]
)
def test_an_emitter_follower(input_: float, load_ohms: float, load_is_ohm: bool) -> None:
    """The base has the zener's volts while there is current to spare, else input − series·I/(hfe + 1), by scipy."""
    series, zener, vbe, hfe = 330.0, 8.2, 0.65, 60.0
    load = load_ohms if load_is_ohm else 7.5 / load_ohms

    def drawn(out: float) -> float:
        return out / load if load_is_ohm else load

    free = brentq(lambda out: input_ - series * drawn(out) / (hfe + 1) - vbe - out, -1e4, 100.0)
    wanted = min(zener - vbe, max(0.0, free))
    got, regulates = follower_output(
        input=input_, series=series, zener=zener, hfe=hfe, vbe=vbe, load=load, load_is_ohm=load_is_ohm
    )
    assert got == pytest.approx(wanted, abs=1e-9) and regulates == (free > zener - vbe)


@pytest.mark.parametrize(
    ("set_", "battery", "available", "resistance", "wanted"),
    [(0.5, 3.7, 4.7, 0.2, (0.5, "current")), (0.5, 4.15, 4.7, 0.2, (0.25, "voltage")), (0.5, 3.7, 3.76, 0.2, (0.3, "input")),
     (0.5, 4.2, 4.7, 0.2, (0.0, "voltage")), (0.5, 3.7, 3.6, 0.2, (0.0, "input")), (0.5, 4.15, 4.7, 0.0, (0.5, "current"))],
)  # fmt: skip
def test_what_holds_a_charging_current(
    set_: float, battery: float, available: float, resistance: float, wanted: tuple[float, str]
) -> None:
    """(4.2 − 4.15)/0.2 = 0.25 A as the terminals reach full; (3.76 − 3.7)/0.2 = 0.3 A where the input gives no more."""
    amperes, held = charge_limit(
        set_current=set_, battery=battery, full=4.2, resistance=resistance, available=available
    )
    assert (amperes, held) == (pytest.approx(wanted[0]), wanted[1])
    states = [phase(battery=v, full=4.2, precharge_to=3.0) for v in (2.9, 3.0, 4.19, 4.2)]
    assert states == ["precharge", "charge", "charge", "full"]


def test_a_schottky_by_its_words() -> None:
    assert is_schottky(parse_part("D1 Schottky 40V", "diode")) and not is_schottky(
        parse_part("D1 1A 40V", "diode")
    )
    assert not is_schottky(None)


# --- a capacitive dropper's rail ------------------------------------------------------------------------------


@pytest.mark.parametrize("load_is", ("A", "ohm"))
@pytest.mark.parametrize("bumps", (1, 2))
@pytest.mark.parametrize("load", (0.004, 0.03))
def test_the_mean_of_bumps(load: float, bumps: int, load_is: str) -> None:
    """Half-sines of current into load and clamp, averaged by numpy over a period: the clamp holds 5.1 V while there is more than
    the load draws; below that a resistor has its own volts and a constant current none."""
    ohms, mean = 5.1 / load, 0.012
    x = Point(load=load if load_is == "A" else ohms, load_is=load_is, output=5.1)
    turn = np.linspace(0, 2 * math.pi, 400_001)
    wave = np.maximum(0, np.sin(turn)) if bumps == 1 else np.abs(np.sin(turn))
    amperes = wave * mean * math.pi / bumps
    volts = np.minimum(5.1, amperes * ohms) if load_is == "ohm" else np.where(amperes > load, 5.1, 0.0)
    assert dropper.mean_of_bumps(x, mean, bumps) == pytest.approx(volts.mean(), rel=1e-4)
    assert dropper.mean_of_bumps(x, 0.0, bumps) == 0.0
    for idle in (None, math.inf):
        assert dropper.mean_of_bumps(Point(load=idle, load_is=load_is, output=5.1), mean, bumps) == 5.1


def test_how_high_an_idle_rail_climbs() -> None:
    """325.27 V of crest less 0.7 V; with the other half charging the dropper to 325.27 − 0.7 V first, on top of that what the
    discharge resistor has left after half a period."""
    x = Point(supply=230.0, diode_drop=0.7, discharge=470e3, dropper=330e-9, f=50.0)
    crest = 230 * math.sqrt(2)
    half = dropper.Path(1, 0.7, False)
    left = math.exp(-0.01 / (470e3 * 330e-9))
    assert dropper.unclamped(x, half) == pytest.approx(crest - 0.7 + (crest - 0.7) * left)
    assert dropper.unclamped(x.changed(discharge=None), half) == pytest.approx(2 * (crest - 0.7))
    assert (
        dropper.unclamped(x, dropper.Path(2, 1.4, True))
        == pytest.approx(crest - 1.4)
        == dropper.unclamped(x.changed(dropper=0.0), dropper.Path(2, 0.7, False))
    )
    assert dropper.unclamped(x, dropper.Path(1, None, False)) == pytest.approx(crest - 0.7)
    assert dropper.unclamped(x.changed(discharge=None), dropper.Path(1, None, False)) == 0.0


def test_where_load_and_dropper_balance() -> None:
    """Secant steps find where a line crosses zero at once, a curve to a ten-millionth, and go no higher than the ceiling."""
    asked: list[float] = []

    def line(v: float) -> float:
        asked.append(v)
        return 0.003 * v - 0.02

    assert dropper._balanced(line, 5.0, 40.0) == pytest.approx(0.02 / 0.003) and len(asked) <= 5
    assert dropper._balanced(lambda v: v**1.3 - 7, 5.0, 40.0) == pytest.approx(7 ** (1 / 1.3), rel=1e-6)
    assert dropper._balanced(lambda v: 0.001 * v - 1.0, 5.0, 40.0) == pytest.approx(40.0)
    assert (
        dropper.demand(Point(load=None), 5.0) == 0.0
        and dropper.demand(Point(load=0.02, load_is="A"), 5.0) == 0.02
    )
    assert dropper.demand(Point(load=250.0, load_is="ohm"), 5.0) == 0.02


def test_what_a_clamp_takes() -> None:
    """5 mA at its level, e times that a knee higher; a step ends where v + rises·i(v) = free, by scipy."""
    assert dropper.zener_current(5.6, 5.6, KNEE) == 5e-3 and dropper.zener_current(
        5.6 + KNEE, 5.6, KNEE
    ) == pytest.approx(5e-3 * math.e)
    for free, volts, surplus, rises in (
        (5.9, 5.5, 0.02, 20.0),
        (5.62, 5.6, 1e-3, 20.0),
        (5.4, 5.3, 0.01, 5.0),
        (5.55, 5.6, -1e-3, 20.0),
    ):
        wanted = brentq(lambda v: v + rises * dropper.zener_current(v, 5.6, KNEE) - free, 0.0, free)  # noqa: B023
        assert dropper._clamped(free, volts, surplus, rises, 5.6, KNEE) == pytest.approx(wanted, abs=2e-4)
    assert dropper._clamped(4.0, 3.9, 0.01, 20.0, 5.6, KNEE) == 4.0


@pytest.mark.parametrize("amperes", (0.002, 0.011, 0.2))
def test_how_far_a_rail_sags(amperes: float) -> None:
    """The mean below the level, step by step: what arrives fills it up to the level, the load empties it, to 0 V at most."""
    arrives = [0.03 * max(0.0, math.sin(n / 200 * 2 * math.pi)) for n in range(50, 250)]
    rises, level = 3.0, 5.0
    volts = list(
        accumulate(arrives, lambda v, i: min(level, max(0.0, v + (i - amperes) * rises)), initial=level)
    )[1:]
    assert dropper._sag(level, arrives, amperes, rises) == pytest.approx(
        level - float(np.mean(volts)), rel=0.02
    )
    assert dropper._scatter(volts) == pytest.approx(float(np.std(volts)))


def test_characters_that_are_not_allowed_are_told_where_they_stand() -> None:
    """A bell in the second line, third column, of a text that begins on line 7; positions do not move."""
    text, problems = clean("abc\nde\x07f\ng\x00", 7, "note.md")
    assert text == "abc\nde f\ng "
    assert [(problem.line, problem.column) for problem in problems] == [(8, 3), (9, 2)]
