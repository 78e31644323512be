"""Capacitive dropper: held against scipy's integration, the usual rule of thumb, and the limit at the plug."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from bench import PLAIN, after, failed, made, said, told, value
from integrated import dropper
from scipy.optimize import brentq

from generator.circuit.kinds._dropper_network import _at as rail_at
from generator.circuit.network.newton import operating_points
from generator.circuit.network.sources import SAWTOOTH, Rail
from tests import spice
from tests.circuit.network.alone import Alone

CREST = 230 * math.sqrt(2)
EXAMPLE = {
    "dropper": "C1 330n X2 275V", "series": "R1 100 1W", "discharge": "R2 470k 0.5W 500V", "output": "5.1 V", "load": "8 mA",
    "smoothing": "C2 470u 16V", "clamp": "ZD1 5V1 1W",
}  # fmt: skip
EXACT = {"output": "5.1 V 0%", "clamp": "ZD1 5V1 1W 0%", "diode_drop": "0.7 V 0%"}
PARTS = {"crest": CREST, "series": 100.0, "farad": 330e-9, "ohm": 470e3}


@pytest.mark.parametrize(
    "given, reference",
    [
        ({}, {"up": 5.8, "down": 0.7}),
        ({"output": "150 V"}, {"up": 150.7, "down": 0.7}),
        ({"discharge": ""}, {"up": 5.8, "down": 0.7, "ohm": math.inf}),
        (
            {"dropper": "C1 1u X2", "series": "R1 1k", "f": "60 Hz"},
            {"up": 5.8, "down": 0.7, "farad": 1e-6, "series": 1e3, "hertz": 60.0},
        ),
    ],
)
def test_half_wave_against_an_integration(given: dict[str, str], reference: dict[str, float]) -> None:
    """Source: scipy solve_ivp of source, resistor and capacitor into the two levels."""
    block = made("capacitive-dropper", PLAIN, **{**EXAMPLE, **given})
    expected = dropper(**{**PARTS, **reference})  # type: ignore[arg-type]
    assert value(block, "current") == pytest.approx(expected.forward, rel=1e-5)
    assert value(block, "series_power") == pytest.approx(
        expected.rms**2 * {**PARTS, **reference}["series"], rel=1e-5
    )


@pytest.mark.parametrize("output", [5.1, 24.0, 200.0])
def test_bridge_against_an_integration(output: float) -> None:
    """Both halves reach the rail. Source: scipy solve_ivp."""
    block = made(
        "capacitive-dropper",
        PLAIN,
        **{**EXAMPLE, "rectifier": "bridge", "output": f"{output} V", "clamp": ""},
    )
    expected = dropper(**PARTS, up=output + 1.4, down=output + 1.4)
    assert value(block, "current") == pytest.approx(expected.forward + expected.backward, rel=1e-5)


@pytest.mark.parametrize("rectifier, times, crests", [("half-wave", 1, 2), ("bridge", 4, 1)])
def test_rule_of_thumb_in_its_limit(rectifier: str, times: float, crests: float) -> None:
    """f·C·(2·V̂ − output − 2·drop) half-wave, 4·f·C·(V̂ − output − 2·drop) bridge: the charge that the dropper takes up,
    twice a period. Common practice, no source; with 10 Ω in series and nothing across the dropper it is exact to 0.1 %."""
    given = {**EXAMPLE, "series": "R1 10", "discharge": "", "rectifier": rectifier, "clamp": ""}
    block = made("capacitive-dropper", PLAIN, **given)
    assert value(block, "current") == pytest.approx(
        times * 50 * 330e-9 * (crests * CREST - 5.1 - 1.4), rel=1e-3
    )


def test_the_series_resistor_takes_its_share() -> None:
    """What the rule of thumb leaves out: a large series resistor lowers the current. Source: scipy."""
    block = made("capacitive-dropper", PLAIN, **{**EXAMPLE, "series": "R1 4k7"})
    expected = dropper(**{**PARTS, "series": 4700.0}, up=5.8, down=0.7)
    assert value(block, "current") == pytest.approx(expected.forward, rel=1e-5)
    assert value(block, "current") < 0.9 * value(made("capacitive-dropper", PLAIN, **EXAMPLE), "current")


def test_values_by_hand() -> None:
    """1/(2π·50 Hz·330 nF) = 9646 Ω; 325.3 V/100 Ω = 3.25 A; 470 kΩ·330 nF = 155.1 ms; e^(−1/0.1551)·325.3 V = 0.515 V;
    155.1 ms·ln(325.3/34) = 350 ms."""
    block = made("capacitive-dropper", **EXAMPLE)
    assert value(block, "reactance") == pytest.approx(9646, abs=1)
    assert value(block, "surge_current") == pytest.approx(3.253, abs=1e-3)
    assert value(block, "replug_surge") == pytest.approx(6.505, abs=1e-3)
    assert value(block, "plug_voltage_1s") == pytest.approx(0.515, abs=1e-3)
    assert value(block, "discharge_time_34v") == pytest.approx(0.350, abs=1e-3)
    assert value(block, "surplus") == pytest.approx(value(block, "current") - 8e-3)
    assert value(block, "clamp_power") == pytest.approx(5.1 * value(block, "current"))
    assert value(block, "rail") == 5.1


def delivered(rail: float, *, bridge: bool, farad: float = 330e-9) -> float:
    found = dropper(
        crest=CREST,
        series=100.0,
        farad=farad,
        ohm=470e3,
        up=rail + (1.4 if bridge else 0.7),
        down=rail + 1.4 if bridge else 0.7,
    )
    return found.forward + (found.backward if bridge else 0.0)


@pytest.mark.parametrize("rectifier", ["half-wave", "bridge"])
def test_rail_where_the_load_wants_more(rectifier: str) -> None:
    """The clamp lets go; the rail settles where the load's current is what the dropper gives. Source: scipy brentq."""
    bridge = rectifier == "bridge"
    given = {
        **EXAMPLE,
        "output": "24 V",
        "clamp": "ZD1 24V",
        "load": "R7 1k",
        "dropper": "C1 220n X2",
        "rectifier": rectifier,
    }
    block = made("capacitive-dropper", PLAIN, **given)
    expected = brentq(lambda v: v / 1e3 - delivered(v, bridge=bridge, farad=220e-9), 0.0, 24.0, xtol=1e-4)
    assert value(block, "rail") == pytest.approx(expected, rel=1e-4)
    assert value(block, "surplus") < 0
    assert "load" in said(block, False)


def test_failures_against_an_integration() -> None:
    """The dropper gone low, the return path open (only what the discharge resistor lets through). Source: scipy."""
    block = made("capacitive-dropper", PLAIN, **{**EXAMPLE, "load": "R7 2k2"})
    low = dropper(**{**PARTS, "farad": 66e-9}, up=5.8, down=0.7)
    assert after(block, "C1", "low")["current"] == pytest.approx(low.forward, rel=1e-5)
    starved = dropper(**PARTS, up=5.8, down=math.inf, periods=40)
    assert after(block, "ZD1", "open")["current"] == pytest.approx(starved.forward, rel=1e-3)
    rail = after(block, "ZD1", "open")["rail"]
    assert rail is not None
    there = dropper(**PARTS, up=rail + 0.7, down=math.inf, periods=40)
    assert rail == pytest.approx(there.forward * 2200, rel=1e-3)
    for part, mode in (
        ("rectifier diode", "open"),
        ("rectifier diode", "short"),
        ("ZD1", "short"),
        ("C2", "short"),
        ("R1", "open"),
    ):
        assert after(block, part, mode)["rail"] == 0.0, (part, mode)


def test_bridge_failures_against_an_integration() -> None:
    """A shorted diode leaves the half-wave circuit; an open one leaves what the discharge resistor lets through; an open
    clamp lets the rail climb to where the load takes all of it. Source: scipy."""
    given = {**EXAMPLE, "rectifier": "bridge", "output": "24 V", "clamp": "ZD1 24V", "load": "R7 4k7"}
    block = made("capacitive-dropper", PLAIN, **given)
    half = dropper(**PARTS, up=24.7, down=0.7)
    assert after(block, "rectifier diode", "short")["current"] == pytest.approx(half.forward, rel=1e-5)
    lame = dropper(**PARTS, up=25.4, down=math.inf, periods=40)
    assert after(block, "rectifier diode", "open")["current"] == pytest.approx(lame.forward, rel=1e-3)
    climbed = brentq(lambda v: v / 4700 - delivered(v, bridge=True), 24.0, 320.0, xtol=1e-3)
    assert after(block, "ZD1", "open")["rail"] == pytest.approx(climbed, rel=1e-4)
    assert failed(block, "ZD1", "open").dangerous


def test_unclamped_rail_without_load() -> None:
    """Bridge: up to the crest less two diodes. Half-wave with its return diode: a voltage doubler. Handbook circuits."""
    block = made("capacitive-dropper", PLAIN, **{**EXAMPLE, "rectifier": "bridge", "load": ""})
    assert after(block, "ZD1", "open")["rail"] == pytest.approx(CREST - 1.4)


def test_open_smoothing_capacitor() -> None:
    """Half-sines of current into the load, held by the clamp. Source: numpy mean over a period of such bumps."""
    import numpy as np

    block = made("capacitive-dropper", PLAIN, **{**EXAMPLE, "load": "R7 1k"})
    current = (
        value(block, "current") * math.pi * np.maximum(0.0, np.sin(np.linspace(0, 2 * math.pi, 200_001)[:-1]))
    )
    expected = np.minimum(5.1, 1e3 * current).mean()
    assert after(block, "C2", "open")["rail"] == pytest.approx(expected, rel=1e-4)


def test_at_the_plug() -> None:
    block = made("capacitive-dropper", **EXAMPLE)
    shown = after(block, "R2", "open")
    assert shown["plug_voltage_1s"] == pytest.approx(CREST) and math.isinf(shown["discharge_time_34v"] or 0)
    assert failed(block, "R2", "open").dangerous
    assert after(block, "C1", "open")["plug_voltage_1s"] == 0.0
    bare = made("capacitive-dropper", **{**EXAMPLE, "discharge": ""})
    assert math.isinf(value(bare, "discharge_time_34v"))
    assert "leaves at the plug" in said(bare, False)
    small = {
        **EXAMPLE,
        "dropper": "C1 47n X2 275V",
    }  # below the standard's 100 nF, but 253 V·√2 = 358 V stay on it
    assert "the plug's pins keep up to 358 V" in said(
        made("capacitive-dropper", **{**small, "discharge": ""}), False
    )
    assert "plug" not in said(made("capacitive-dropper", **small), False)


def test_a_shorted_dropper_burns_the_series_resistor() -> None:
    """Common practice, no source: hundreds of watts in a one-watt resistor (230 V across 100 Ω are 529 W)."""
    block = made("capacitive-dropper", **EXAMPLE)
    shown = failed(block, "C1", "short")
    assert shown.values["rail"].value == 0.0 and "fuse" in shown.remark


def test_bands_at_the_corners_of_an_integration() -> None:
    """Most current: mains and dropper high, series low. Source: scipy."""
    block = made("capacitive-dropper", **{**EXAMPLE, **EXACT, "discharge": ""})
    most = dropper(crest=CREST * 1.1, series=95.0, farad=363e-9, ohm=math.inf, up=5.8, down=0.7)
    least = dropper(crest=CREST * 0.9, series=105.0, farad=297e-9, ohm=math.inf, up=5.8, down=0.7)
    assert block.values["current"].high == pytest.approx(most.forward, rel=1e-5)
    assert block.values["current"].low == pytest.approx(least.forward, rel=1e-5)


def test_checks() -> None:
    assert "X1 or X2" in said(made("capacitive-dropper", **{**EXAMPLE, "dropper": "C1 330n 400V"}), False)
    assert "C1" not in said(made("capacitive-dropper", **EXAMPLE), False)
    assert "load" in said(
        made("capacitive-dropper", **{**EXAMPLE, "load": "9 mA"}), False
    )  # 10.6 mA, but 8.6 at the bottom
    exact = made("capacitive-dropper", **{**EXAMPLE, "load": "9.2 mA", "supply": "230 V"})
    assert "load" in said(exact, False)  # the mains band holds also where the note states the mains
    small = made("capacitive-dropper", **{**EXAMPLE, "output": "24 V", "clamp": "ZD1 24V 250mW"})
    assert "ZD1" in said(small, False)  # 24 V · 12.5 mA = 0.30 W at maximum mains


def test_half_wave_clamp_takes_the_return_current_too() -> None:
    """(5.1 V + 0.7 V)·I with the zener as the return diode, 5.1 V·I behind a bridge (Joule's law, by hand)."""
    for rectifier, extra, crests in (("half-wave", 0.7, 1), ("bridge", 0.0, 2)):
        exact = EXACT | {"dropper": "C1 330n X2 0%", "series": "R1 100 0%", "discharge": "R2 470k 0%"}
        block = made("capacitive-dropper", PLAIN, **{**EXAMPLE, **exact, "rectifier": rectifier})
        check = next(c for c in block.checks if c.part == "ZD1" and c.margin is not None)
        level = 5.8 if crests == 1 else 6.5
        found = dropper(**PARTS, up=level, down=0.7 if crests == 1 else level)
        current = found.forward + (found.backward if crests == 2 else 0.0)
        assert 1 - (check.margin or 0) == pytest.approx((5.1 + extra) * current, rel=1e-4)


@pytest.mark.parametrize(
    "wrong, words",
    [
        ({"dropper": "C1 0n X2"}, "zero"), ({"series": "-100"}, "below zero"), ({"output": "nan"}, "not a value"),
        ({"output": "1e400 V"}, "not a number"), ({"output": "5 A"}, "a current"), ({"dopper": "330n"}, "dropper"),
        ({"series": ""}, "needs series"), ({"rectifier": "centre-tap"}, "half-wave, bridge"), ({"load": "5 V"}, "a load is a current"),
    ],
)  # fmt: skip
def test_bad_input_is_told(wrong: dict[str, str], words: str) -> None:
    text = told("capacitive-dropper", **{**EXAMPLE, **wrong})
    assert words in text
    assert "capacitive-dropper" in text


TRANSIENT = """
V1 l 0 SIN(0 325.27 50)
R1 l a 100
C1 a node 330n
R2 a node 470k
{parts}
C2 plus 0 4700u IC={start}
I1 plus 0 7m
.model d D(IS=1e-9 N=1.8)
.model z D(IS=1e-9 N=1.8 BV={zener} IBV=5m NBV=1.5)
"""
FORMS = {
    "diode": ("DZ 0 node z\nD1 node plus d", 5.6, {"output": "4.9 V", "clamp": "ZD1 5V6 1W"}),
    "rail": ("D2 0 node d\nD1 node plus d\nDZ 0 plus z", 5.1, {"output": "5.1 V", "return_diode": "D2"}),
}


@pytest.mark.parametrize("form", FORMS)
def test_both_forms_of_the_clamp_against_ngspice(form: str, tmp_path: Path) -> None:
    """Zener before the rectifier diode: the rail is Vz − Vf; across the rail: Vz. A DC meter on the node between dropper
    and diodes shows half the rail. Source: ngspice, transient analysis of the circuit with exponential diodes and next to
    no ripple, 0.1 V."""
    spice.needed()
    parts, zener, given = FORMS[form]
    text = TRANSIENT.format(parts=parts, zener=zener, start=float(given["output"].split()[0]))
    found = spice.means(text, ["plus", "node"], start=0.9, stop=1.0, step=5e-5, folder=tmp_path)
    block = made("capacitive-dropper", PLAIN, **{**EXAMPLE, "load": "7 mA", **given})
    assert value(block, "rail") == pytest.approx(found["plus"], abs=0.1)
    alone = Alone(block)
    point = operating_points(alone.system)
    assert float(point.volts(f"{block.name}.plus")[0]) == pytest.approx(found["plus"], abs=0.1)
    assert float(point.volts(f"{block.name}._behind")[0]) == pytest.approx(found["node"], abs=0.1)


BRIDGE = "D1 node plus d\nD2 0 node d\nD3 x plus d\nD4 0 x d\nDZ 0 plus z"
DRAWS = [  # form, load in A, smoothing in F: all but nothing drawn, with a surplus, with little, dried out, a bridge
    ("diode", 2e-4, 100e-6), ("rail", 2e-4, 100e-6), ("bridge", 2e-4, 100e-6),
    ("diode", 4e-3, 470e-6), ("diode", 8e-3, 470e-6), ("rail", 7e-3, 47e-6), ("bridge", 14e-3, 22e-6), ("bridge", 14e-3, 100e-6),
]  # fmt: skip


@pytest.mark.parametrize("form, load, farads", DRAWS)
def test_what_a_meters_ac_range_shows_on_the_rail(
    form: str, load: float, farads: float, tmp_path: Path
) -> None:
    """RMS of the ripple. Source: ngspice, transient analysis with exponential diodes; 8 % and 4 mV,
    as junctions are round where the model has a corner."""
    spice.needed()
    parts, zener, given = FORMS.get(form, (BRIDGE, 5.1, {"output": "5.1 V", "rectifier": "bridge"}))
    text = TRANSIENT.format(parts=parts, zener=zener, start=4)
    text = text.replace("4700u", f"{farads}").replace(
        "I1 plus 0 7m", f"B1 plus 0 I={load}*min(1,V(plus)/0.05)"
    )
    if form == "bridge":
        text = text.replace("V1 l 0", "V1 l x")
    mean, rms = (
        spice.means(text, ["plus"], start=0.9, stop=1.0, step=5e-5, folder=tmp_path, measure=m)["plus"]
        for m in ("avg", "rms")
    )
    exact = {
        name: f"{entry} 0%" for name, entry in {**EXAMPLE, **given}.items() if name in ("dropper", "output")
    }
    block = made(
        "capacitive-dropper",
        PLAIN,
        **{**EXAMPLE, **given, **exact, "load": f"{load} A", "smoothing": f"C2 {farads * 1e6}u"},
    )
    rail = next(e for e in Alone(block).elements if isinstance(e, Rail))
    assert rail.figures is not None
    numbers = {**rail.nominal(), "clamped": float(form != "diode")}
    shown = rail.figures(numbers, load)["ripple"] * SAWTOOTH
    assert shown == pytest.approx(math.sqrt(rms**2 - mean**2), rel=0.08, abs=0.004)


SAGS = [  # form, load in A, smoothing in F: sound, and dried out more and more
    ("diode", 7e-3, 470e-6), ("diode", 7e-3, 47e-6), ("diode", 7e-3, 22e-6), ("diode", 7e-3, 10e-6), ("diode", 2e-3, 22e-6),
    ("rail", 7e-3, 47e-6), ("rail", 8e-3, 22e-6), ("bridge", 14e-3, 22e-6), ("bridge", 14e-3, 47e-6),
]  # fmt: skip


@pytest.mark.parametrize("form, load, farads", SAGS)
def test_what_a_worn_smoothing_capacitor_leaves(
    form: str, load: float, farads: float, tmp_path: Path
) -> None:
    """Half-wave, the load has the capacitor for itself for 10 to 15 ms: 7 mA take 1.5 to 2.2 V of 47 uF, and the mean falls by
    half of it. Source: ngspice, transient analysis, mean on the rail; 0.15 V for the roundness of junctions."""
    spice.needed()
    parts, zener, given = FORMS.get(form, (BRIDGE, 5.1, {"output": "5.1 V", "rectifier": "bridge"}))
    text = TRANSIENT.format(parts=parts, zener=zener, start=4).replace("4700u", f"{farads}")
    text = text.replace("I1 plus 0 7m", f"B1 plus 0 I={load}*min(1,V(plus)/0.05)")
    if form == "bridge":
        text = text.replace("V1 l 0", "V1 l x")
    expected = spice.means(text, ["plus"], start=0.9, stop=1.0, step=5e-5, folder=tmp_path)["plus"]
    entries = {**EXAMPLE, **given, "load": f"{load} A", "smoothing": f"C2 {farads * 1e6}u"}
    block = made("capacitive-dropper", PLAIN, **entries)
    (plus,) = operating_points(Alone(block).system).volts(f"{block.name}.plus")
    assert float(plus) == pytest.approx(expected, abs=0.15)


@pytest.mark.parametrize("form", FORMS)
def test_what_the_clamp_does_as_it_fails(form: str) -> None:
    """Before the diode it is the only way back: open, the rail starves. Across the rail: open, the rail climbs until
    something gives way. By hand from the two drawings."""
    block = made("capacitive-dropper", PLAIN, **{**EXAMPLE, "load": "7 mA", **FORMS[form][2]})
    rail, opened = after(block, "ZD1", "open")["rail"], failed(block, "ZD1", "open")
    assert rail is not None
    assert (rail < 0.5, rail > 100, opened.dangerous) == (form == "diode", form == "rail", form == "rail")


def test_a_return_diode_and_a_clamp_before_the_diode_contradict_each_other() -> None:
    """A zener before the diode is the return diode; a bridge needs none."""
    for given in ({"clamp_at": "diode"}, {"rectifier": "bridge"}):
        assert "return_diode" in told("capacitive-dropper", **{**EXAMPLE, "return_diode": "D2", **given})


@pytest.mark.parametrize(("share", "mains"), [(1.0, 1.0), (0.5, 1.0), (1.0, 1.1), (0.5, 1.1), (0.0, 1.0)])
def test_a_dropper_lets_through_as_much_as_reaches_it(share: float, mains: float) -> None:
    """Behind a dimmer, a resistor or an open fuse it sees its share of the mains: at 230 V half of it is 115 V."""
    block = made("capacitive-dropper", **EXAMPLE)
    p = {"share": share, "mains": mains, "farads": 330e-9, "series": 100.0, "discharge": 1e6, "failed": 0.0}
    assert rail_at(block.point, p).supply == pytest.approx(230.0 * share * mains)
