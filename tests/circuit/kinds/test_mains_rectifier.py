"""Mains rectifier, held against scipy's integration of its equations, ngspice, and hand calculation."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from bench import PLAIN, after, failed, made, said, told, value
from scipy.integrate import solve_ivp

from generator.circuit.circuit import Mains
from generator.circuit.network.around import Around
from generator.circuit.network.newton import operating_points
from generator.circuit.network.variants import solve
from tests import spice
from tests.circuit.network.alone import Alone

ROOT2 = math.sqrt(2)
EXAMPLE = {"bulk": "C1 120u 400V", "bleeder": "R1 220k 1W", "load": "45 W"}
SOURCE = 0.02  # ohm, in place of an ideal source: the diodes' current is then a function of the voltages


def integrated(emf: float, drop: float, farad: float, hertz: float, watts: float = 0.0, amperes: float = 0.0,
               ohms: float = math.inf, bleeder: float = math.inf, sort: str = "bridge") -> tuple[float, float, float]:  # fmt: skip
    """(trough, top, mean) of the rail over the last of eight periods. Source: scipy solve_ivp, LSODA."""
    omega, period, doubled = 2 * math.pi * hertz, 1 / hertz, sort == "doubler"

    def slope(t: float, state: np.ndarray) -> list[float]:
        wave = emf * math.cos(omega * t)
        rail = max(sum(state), 1e-3)
        drawn = amperes + watts / rail + rail / ohms
        if doubled:
            pulses = [max(0.0, (side * wave - drop - v) / SOURCE) for side, v in zip((1, -1), state)]
        else:
            pulses = [max(0.0, ((abs(wave) if sort == "bridge" else wave) - drop - state[0]) / SOURCE)]
        return [(i - drawn - v / bleeder) / farad for i, v in zip(pulses, state)]

    state: Any = [emf - drop] * (2 if doubled else 1)
    for number in range(8):
        span = (number * period, (number + 1) * period)
        run = solve_ivp(
            slope,
            span,
            state,
            method="LSODA",
            rtol=1e-7,
            atol=1e-6,
            max_step=period / 1500,
            dense_output=True,
        )
        state = run.y[:, -1]
    volts = run.sol(np.linspace(*span, 8000)).sum(axis=0)
    return float(volts.min()), float(volts.max()), float(volts.mean())


@pytest.mark.parametrize(
    "given, reference",
    [
        ({}, {"emf": 230 * ROOT2, "drop": 1.4, "farad": 120e-6, "hertz": 50, "watts": 45, "bleeder": 220e3}),
        ({"load": "200 mA", "bleeder": ""}, {"emf": 230 * ROOT2, "drop": 1.4, "farad": 120e-6, "hertz": 50, "amperes": 0.2}),
        ({"load": "R9 2k2"}, {"emf": 230 * ROOT2, "drop": 1.4, "farad": 120e-6, "hertz": 50, "ohms": 2200, "bleeder": 220e3}),
        ({"rectifier": "half-wave", "bulk": "C1 10u 400V", "load": "4 W"},
         {"emf": 230 * ROOT2, "drop": 0.7, "farad": 10e-6, "hertz": 50, "watts": 4, "bleeder": 220e3, "sort": "half-wave"}),
        ({"rectifier": "doubler", "supply": "120 V", "f": "60 Hz", "bulk": "C1 470u 200V", "load": "120 W"},
         {"emf": 120 * ROOT2, "drop": 0.7, "farad": 470e-6, "hertz": 60, "watts": 120, "bleeder": 220e3, "sort": "doubler"}),
        ({"rectifier": "doubler", "supply": "120 V", "f": "60 Hz", "bulk": "C1 220u 200V", "load": "300 mA", "bleeder": ""},
         {"emf": 120 * ROOT2, "drop": 0.7, "farad": 220e-6, "hertz": 60, "amperes": 0.3, "sort": "doubler"}),
        ({"rectifier": "doubler", "supply": "120 V", "f": "60 Hz", "bulk": "C1 220u 200V", "load": "R9 1k"},
         {"emf": 120 * ROOT2, "drop": 0.7, "farad": 220e-6, "hertz": 60, "ohms": 1e3, "bleeder": 220e3, "sort": "doubler"}),
        # all but dry: while one capacitor is charged, the load draws the other below 0 V
        ({"rectifier": "doubler", "supply": "120 V", "f": "60 Hz", "bulk": "C1 4u7 200V", "load": "R9 1k"},
         {"emf": 120 * ROOT2, "drop": 0.7, "farad": 4.7e-6, "hertz": 60, "ohms": 1e3, "bleeder": 220e3, "sort": "doubler"}),
    ],
)  # fmt: skip
def test_rail_against_an_integration(given: dict[str, str], reference: dict[str, Any]) -> None:
    """The rail under a power, a current and a resistor; the doubler's halves charged in turn. Source: scipy."""
    trough, top, mean = integrated(**reference)
    block = made("mains-rectifier", PLAIN, **{**EXAMPLE, **given})
    assert value(block, "trough") == pytest.approx(trough, abs=0.02)
    assert value(block, "trough") + value(block, "ripple") == pytest.approx(top, abs=0.1)
    assert value(block, "mean") == pytest.approx(mean, abs=0.03)


def test_against_ngspice() -> None:
    """Bridge, 230 V, 120 µF, 220 kΩ, 45 W as a behavioural source 45/v: ngspice-39 (.tran 20u, diodes n=0.05 behind 0.67 V,
    0.05 Ω in the mains) printed mean 318.595, highest 323.847, lowest 312.993 V."""
    block = made("mains-rectifier", PLAIN, **EXAMPLE)
    assert value(block, "mean") == pytest.approx(318.595, abs=0.1)
    assert value(block, "trough") == pytest.approx(312.993, abs=0.1)
    assert value(block, "ripple") == pytest.approx(323.847 - 312.993, abs=0.1)


def test_by_hand() -> None:
    """230·√2 − 1.4 = 323.9 V; at 253 V 356.4 V; surge 325.3/10 = 32.5 A; 323.9²/220k = 0.477 W; 26.4 s·ln(323.9/34) = 59.5 s."""
    block = made("mains-rectifier", **EXAMPLE, inrush="NTC1 10")
    assert value(block, "peak") == pytest.approx(323.87, abs=0.01)
    assert value(block, "high_mains_peak") == pytest.approx(356.4, abs=0.05)
    assert value(block, "surge_current") == pytest.approx(32.53, abs=0.01)
    assert value(block, "bleeder_power") == pytest.approx(0.4768, abs=1e-4)
    assert value(block, "discharge_time_34v") == pytest.approx(59.5, abs=0.05)
    assert value(block, "ripple_frequency") == 100


def test_doubler_by_hand() -> None:
    """2·120·√2 − 2·0.7 = 338.0 V, half of it on each capacitor: 169²/220k = 0.130 W in each bleeder."""
    given = {**EXAMPLE, "rectifier": "doubler", "supply": "120 V", "f": "60 Hz"}
    block = made("mains-rectifier", PLAIN, **given)
    assert value(block, "peak") == pytest.approx(338.01, abs=0.01)
    assert value(block, "bleeder_power") == pytest.approx(0.1298, abs=1e-4)
    assert value(block, "ripple_frequency") == 120


def test_checks() -> None:
    """356 V at maximum mains on 350 V fails though 324 V would pass; a doubler's capacitor sees half; a bleeder is missed."""
    assert "C1" in said(made("mains-rectifier", **{**EXAMPLE, "bulk": "C1 120u 350V"}), False)
    halved = {**EXAMPLE, "rectifier": "doubler", "supply": "120 V", "bulk": "C1 470u 200V"}
    assert "C1" in said(made("mains-rectifier", **halved), True)
    bare = made("mains-rectifier", **{**EXAMPLE, "bleeder": ""})
    assert math.isinf(value(bare, "discharge_time_34v")) and "bleeder" in said(bare, False)


@pytest.mark.parametrize(
    "load, amperes",
    [("3 A 1%", 3.0), ("R9 1k 1%", integrated(230 * ROOT2, 1.4, 120e-6, 50, ohms=1e3)[2] / 1e3),
     ("60 W 1%", 60 / integrated(230 * ROOT2, 1.4, 120e-6, 50, watts=60)[2])],
)  # fmt: skip
def test_the_bypass_carries_what_the_load_draws(load: str, amperes: float) -> None:
    """A current, Ohm's law, or watts over volts, at the mean of the rail (scipy), 1 % more at the most, of 5 A. The bulk is unsure too."""
    given = {"bulk": "C1 120u 400V", "load": load, "inrush": "NTC1 10", "bypass": "RL1 5A"}
    block = made("mains-rectifier", PLAIN, **given)
    check = next(c for c in block.checks if c.part == "RL1")
    assert check.ok and check.margin is not None
    assert (1 - check.margin) * 5 == pytest.approx(1.01 * amperes, rel=0.01)


def test_failures() -> None:
    """A diode lost: half-wave through two drops (integrated by scipy). Shorts leave nothing; so does an open limiter."""
    block = made("mains-rectifier", PLAIN, **EXAMPLE, rectifier="D1-D4 bridge", inrush="NTC1 10")
    trough, top, mean = integrated(230 * ROOT2, 1.4, 120e-6, 50, watts=45, bleeder=220e3, sort="half-wave")
    lost = after(block, "D1-D4", "open")
    assert lost["mean"] == pytest.approx(mean, abs=0.05)
    assert lost["ripple"] == pytest.approx(top - trough, abs=0.1)
    assert lost["ripple_frequency"] == 50
    for part, mode in (("D1-D4", "short"), ("C1", "short"), ("NTC1", "open")):
        assert after(block, part, mode)["mean"] == 0.0
    assert "fuse" in failed(block, "C1", "short").remark
    assert math.isinf(after(block, "R1", "open")["discharge_time_34v"] or 0.0)
    average = 2 / math.pi * 230 * ROOT2  # of a rectified sine, less about the drops
    assert after(block, "C1", "open")["mean"] == pytest.approx(average - 1.4, abs=0.1)


def test_load_in_watts_and_bad_ones() -> None:
    assert made("mains-rectifier", **{**EXAMPLE, "load": "1.2 kW"}).quantity("load").middle == 1200  # type: ignore[union-attr]
    assert "power" in told("mains-rectifier", **{**EXAMPLE, "load": "12 V"})
    assert "bridge" in told("mains-rectifier", **{**EXAMPLE, "rectifier": "brigde"})


def test_top_of_another_band() -> None:
    """120 V +5 %: 126·√2 − 1.4 = 176.8 V. By hand."""
    block = made("mains-rectifier", Mains(120, 60, 0.05), **EXAMPLE)
    assert value(block, "high_mains_peak") == pytest.approx(176.79, abs=0.01)


def test_the_drawn_rail_obeys_its_capacitor() -> None:
    """Between two pulses C·dv/dt = −P/v; in a pulse it lies on the rectified mains less two drops. From the drawn points,
    by difference quotients: 20 W from 47 µF at 230 V, 50 Hz."""
    block = made("mains-rectifier", PLAIN, bulk="C1 47u 400V", load="20 W", diode_drop="0.7 V")
    picture = block.kind.plot(block)
    assert picture is not None
    rail = picture.curves[1].points
    falling = 0
    for (t0, v0), (t1, v1) in zip(rail, rail[1:]):
        crest = abs(230 * math.sqrt(2) * math.sin(2 * math.pi * 50 * (t0 + t1) / 2)) - 1.4
        middle = (v0 + v1) / 2
        if middle > crest + 5:  # well clear of the pulse
            assert (v1 - v0) / (t1 - t0) == pytest.approx(-20 / middle / 47e-6, rel=0.01)
            falling += 1
        else:
            assert middle == pytest.approx(crest, abs=6)
    assert falling > len(rail) / 2


HALVED = """
V1 neutral live SIN(0 169.71 60)
D1 live plus d
D2 0 live d
C1 plus neutral 220u IC=165
C2 neutral 0 {lower} IC=165
R1 plus neutral 100k
R2 neutral 0 100k
R9 plus 0 2k
.model d D(IS=1e-9 N=1.8)
"""


@pytest.mark.parametrize(
    "key, failed, farads", [("", "", "220u"), ("bulk", "open", "1p"), ("bulk", "low", "44u")]
)
def test_the_middle_of_a_doubler_is_a_net(key: str, failed: str, farads: str, tmp_path: Path) -> None:
    """The means of rail and of each half as a meter shows them, one capacitor open, and both dried out. Source: ngspice,
    transient analysis with exponential diodes; 3 %."""
    spice.needed()
    text = HALVED.format(lower=farads)
    text = text.replace("C1 plus neutral 220u", "C1 plus neutral 44u") if failed == "low" else text
    found = spice.means(text, ["plus", "neutral"], start=0.6, stop=0.9, step=5e-5, folder=tmp_path)
    block = made("mains-rectifier", PLAIN, bulk="C1 220u 200V", bleeder="R1 100k", load="R9 2k", rectifier="doubler",
                 supply="120 V", f="60 Hz")  # fmt: skip
    alone = Alone(block)
    changed = alone.failed(key, failed) if key else {}
    around = Around(operating_points(alone.system))
    x = solve(around, around.changes([changed])).x[0]
    plus, middle = (float(x[alone.system.index[f"{block.name}.{net}"]]) for net in ("plus", "middle"))
    sound = (
        [plus, plus - middle] if failed == "open" else [plus, middle]
    )  # of the two it is the upper that opens here
    assert sound == pytest.approx([found["plus"], found["neutral"]], rel=0.03, abs=3.0)
