"""The independent circuits held to something outside themselves: hand calculation, and scipy's integrator."""

from __future__ import annotations

import math

import numpy as np
import pytest
from lab import display, last_digit
from network import Network
from rectifiers import rail
from scipy.integrate import solve_ivp


def test_a_bridge_of_resistors() -> None:
    """10 V over 1k/2k and 3k/4k: nodes at 10·2/3 and 10·4/7 V (Ohm's law)."""
    net = Network()
    net.source("s", "0", 10.0)
    for a, b, ohm in (("s", "p", 1e3), ("p", "0", 2e3), ("s", "q", 3e3), ("q", "0", 4e3)):
        net.resistor(a, b, ohm)
    volts, _ = net.solve()
    assert volts["p"] == pytest.approx(20 / 3) and volts["q"] == pytest.approx(40 / 7)


@pytest.mark.parametrize("supply, current", [(5.0, (5.0 - 1.8) / 560.0), (1.5, 0.0)])
def test_a_diode_conducts_above_its_drop_only(supply: float, current: float) -> None:
    net = Network()
    net.source("s", "0", supply)
    net.resistor("s", "a", 560.0, "R")
    net.diode("a", "0", 1.8, "D")
    assert net.solve()[1]["R"] == pytest.approx(current, rel=1e-5, abs=1e-9)


@pytest.mark.parametrize("load, current", [(400.0, 11.8 / 400.0), (20.0, 100 * 4.3 / 10e3)])
def test_a_transistor_saturates_or_runs_out_of_base_current(load: float, current: float) -> None:
    """5 V over 10 kΩ: 0.43 mA; times 100 is 43 mA, enough for 400 ohm at 12 V but not for 20 ohm."""
    net = Network()
    net.source("d", "0", 5.0)
    net.source("v", "0", 12.0)
    net.resistor("d", "b", 10e3)
    net.resistor("v", "c", load, "load")
    net.transistor("b", "c", "0", hfe=100, vbe=0.7, vce_sat=0.2, name="Q")
    assert net.solve()[1]["load"] == pytest.approx(current, rel=1e-3)


@pytest.mark.parametrize("supply, out", [(12.0, 5.0), (6.0, 4.0), (1.0, 0.0)])
def test_a_regulator_holds_follows_or_stops(supply: float, out: float) -> None:
    """5 V regulator with 2 V dropout into 100 ohm: holds, follows 2 V below, gives nothing."""
    net = Network()
    net.source("s", "0", supply)
    net.regulator("s", "o", volts=5.0, dropout=2.0, name="chip")
    net.resistor("o", "0", 100.0)
    assert net.solve()[0]["o"] == pytest.approx(out, abs=1e-3)


def test_a_current_load_stops_at_an_empty_rail() -> None:
    net = Network()
    net.source("s", "0", 5.0)
    net.resistor("s", "o", 1e3)
    net.load("o", 0.02, "load")
    assert net.solve()[0]["o"] == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize("source, both", [(2.0, True), (0.5, False)])
def test_the_rectifier_steps_agree_with_scipy(source: float, both: bool) -> None:
    """The same circuit integrated by solve_ivp (Radau): mean within 0.3 %, ripple within 2 %."""
    emf, drop, c, current, ohm, f = 18.0, 1.4, 680e-6, 0.1, 22e3, 50.0

    def change(t: float, v: np.ndarray) -> list[float]:
        e = emf * math.cos(2 * math.pi * f * t)
        pushed = (abs(e) if both else e) - drop
        drawn = current if v[0] > 0 else 0.0
        return [(max(0.0, pushed - v[0]) / source - drawn - v[0] / ohm) / c]

    found = solve_ivp(change, (0, 0.4), [emf - drop], method="Radau", max_step=2e-4, rtol=1e-7, atol=1e-7)
    last = np.interp(np.linspace(0.38, 0.4, 2000), found.t, found.y[0])
    stepped = rail(
        emf=emf,
        drop=drop,
        source=source,
        capacitance=c,
        current=current,
        resistance=ohm,
        frequency=f,
        both_halves=both,
    )
    assert stepped.mean() == pytest.approx(last.mean(), rel=3e-3)
    assert stepped.max() - stepped.min() == pytest.approx(last.max() - last.min(), rel=0.02)


@pytest.mark.parametrize(
    "value, unit, step",
    [(1.234, "V", 1e-3), (12.3, "V", 1e-2), (0.15, "V", 1e-4), (47e3, "ohm", 100.0), (0.0, "A", 1e-7)],
)
def test_the_display_has_two_thousand_counts(value: float, unit: str, step: float) -> None:
    assert last_digit(value, unit) == pytest.approx(step)


def test_the_display_stays_within_its_accuracy() -> None:
    import random

    chance = random.Random(3)
    for _ in range(200):
        text = display(12.0, "V", chance)
        assert text.endswith(" V") and abs(float(text.split()[0]) - 12.0) <= 0.12 + 0.03 + 0.005
    assert display(math.inf, "s", chance) == "never" and display(30e6, "ohm", chance) == "open"
