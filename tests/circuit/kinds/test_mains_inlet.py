"""Mains inlet: the limit at the plug, currents by hand, what a blown fuse leaves, and the ratings of what is in the line."""

from __future__ import annotations

import math

import pytest
from bench import PLAIN, after, failed, made, said, told, value
from scipy.integrate import solve_ivp

from generator.circuit.circuit import Mains

CREST = 230 * math.sqrt(2)
EXAMPLE = {
    "load": "180 W", "fuse": "F1 2A 250V", "thermal_fuses": ["TF1 167C 10A live", "TF2 167C 10A neutral"],
    "x_capacitor": "C1 220n X2 275V", "bleeder": "R1 1M", "varistor": "RV1 275V", "switch": "S1 6A 250V",
}  # fmt: skip


def left_after(seconds: float, ohm: float, farad: float, crest: float = CREST) -> float:
    """Volts left on a capacitor, integrated by scipy."""
    run = solve_ivp(lambda t, v: -v / (ohm * farad), (0, seconds), [crest], rtol=1e-10, atol=1e-12)
    return float(run.y[0][-1])


@pytest.mark.parametrize("ohm, farad", [(1e6, 220e-9), (470e3, 470e-9), (2.2e6, 1e-6), (3.3e6, 100e-9)])
def test_discharge_against_an_integration(ohm: float, farad: float) -> None:
    """What is left after 1 s, and that discharge_time_34v is when 34 V are left. Source: scipy solve_ivp."""
    given = {**EXAMPLE, "bleeder": f"R1 {ohm:g}", "x_capacitor": f"C1 {farad * 1e9:g}n X2"}
    block = made("mains-inlet", PLAIN, **given)
    assert value(block, "plug_voltage_1s") == pytest.approx(left_after(1.0, ohm, farad), rel=1e-6)
    assert left_after(value(block, "discharge_time_34v"), ohm, farad) == pytest.approx(34.0, rel=1e-6)


def test_currents_by_hand() -> None:
    """180 W at 230 V: 0.783 A, at a power factor of 0.6 1.304 A; 230 V·√2 = 325.3 V; 2 A/0.783 A = 2.56. By hand."""
    block = made("mains-inlet", **EXAMPLE)
    assert value(block, "current") == pytest.approx(0.7826, abs=1e-4)
    assert value(block, "peak") == pytest.approx(325.27, abs=0.01)
    assert value(block, "fuse_margin") == pytest.approx(2.5556, abs=1e-4)
    poor = made("mains-inlet", **{**EXAMPLE, "power_factor": "0.6"})
    assert value(poor, "current") == pytest.approx(1.3043, abs=1e-4)
    assert made("mains-inlet", **{**EXAMPLE, "load": "180 W 0%"}).values["current"].high == pytest.approx(
        180 / 207
    )
    assert block.values["current"].high == pytest.approx(
        1.05 * 180 / 207
    )  # rated power +5 %: IEC 60335-1, from memory
    assert block.values["peak"].high == pytest.approx(253 * math.sqrt(2))


@pytest.mark.parametrize(
    "capacitor, bleeder, ok",
    [
        # peak 357.8 V at 253 V; 1 s through 1.05·R and 1.1·C: e^(−1/RC) has to be below 34/357.8, so RC below 0.425 s
        ("C1 100n X2", "R1 3M6", True),  # 0.416 s
        ("C1 100n X2", "R1 3M9", False),  # 0.450 s
        ("C1 470n X2", "R1 820k", False),  # 0.445 s
        ("C1 470n X2", "R1 680k", True),  # 0.369 s
        ("C1 100n X2", "", False),
    ],
)
def test_limit_at_the_plug(capacitor: str, bleeder: str, ok: bool) -> None:
    """34 V one second after unplugging, at the bad end of everything. IEC 60335-1, clause 22.5 (from memory)."""
    block = made("mains-inlet", **{**EXAMPLE, "x_capacitor": capacitor, "bleeder": bleeder})
    assert ("at the plug" in said(block, True)) is ok
    assert ("at the plug" in said(block, False)) is not ok


def test_small_capacitors_are_not_held_to_it() -> None:
    """Below 0.1 µF the standard asks for nothing (from memory)."""
    block = made("mains-inlet", **{**EXAMPLE, "x_capacitor": "C1 47n X2", "bleeder": ""})
    assert "at the plug" not in said(block, False) + said(block, True)
    assert math.isinf(value(block, "discharge_time_34v"))
    assert value(block, "plug_voltage_1s") == pytest.approx(CREST)


def test_stated_mains_is_still_checked_at_its_top() -> None:
    """3.7 MΩ·5 %·100 nF·10 %: 0.427 s leave 31 V of 325 V but 34.5 V of 358 V. Exponential discharge, by hand."""
    for supply in ("", "230 V"):
        block = made(
            "mains-inlet", **{**EXAMPLE, "x_capacitor": "C1 100n X2", "bleeder": "R1 3.7M", "supply": supply}
        )
        assert "at the plug" in said(block, False)


def test_top_of_the_mains() -> None:
    """A stated mains is held to 10 % above it (EN 50160), or to a wider band of its own: 230 V·1.2 = 276 V."""
    for supply, top in (
        ("", 253.0),
        ("230 V", 253.0),
        ("230 V 5%", 253.0),
        ("230 V 20%", 276.0),
        ("220..260 V", 264.0),
    ):
        block = made("mains-inlet", **{**EXAMPLE, "supply": supply})
        assert block.mains_top() == pytest.approx(top), supply


def test_dead_line_shows_nothing() -> None:
    """With the fuse blown nothing behind it is live, and the capacitor there was never charged; with switch or thermal
    fuse open the capacitor before them is charged all the same. Common practice, no source."""
    block = made("mains-inlet", **EXAMPLE)
    for part, mode in (("F1", "open"), ("C1", "short"), ("RV1", "short")):
        assert set(after(block, part, mode).values()) == {0.0}, part
    for part in ("S1", "TF1", "TF2"):
        shown = after(block, part, "open")
        assert shown["current"] == shown["peak"] == 0.0
        assert shown["plug_voltage_1s"] == value(block, "plug_voltage_1s")
    assert "fuse" in failed(block, "C1", "short").remark and "fuse" in failed(block, "RV1", "short").remark


def test_failed_discharge() -> None:
    """Open bleeder: all of the crest; gone high: as integrated at twice the value; capacitor gone low: a fifth of the time."""
    block = made("mains-inlet", PLAIN, **EXAMPLE)
    shown = after(block, "R1", "open")
    assert shown["plug_voltage_1s"] == pytest.approx(CREST) and math.isinf(shown["discharge_time_34v"] or 0.0)
    assert failed(block, "R1", "open").dangerous
    assert after(block, "R1", "high")["plug_voltage_1s"] == pytest.approx(
        left_after(1.0, 2e6, 220e-9), rel=1e-6
    )
    assert after(block, "C1", "low")["discharge_time_34v"] == pytest.approx(
        value(block, "discharge_time_34v") / 5
    )
    assert after(block, "C1", "open")["plug_voltage_1s"] == 0.0


def test_switch_that_is_stuck_or_burnt() -> None:
    block = made("mains-inlet", **EXAMPLE)
    assert after(block, "S1", "short")["current"] == value(block, "current")
    assert failed(block, "S1", "short").dangerous
    burnt = after(block, "S1", "high resistance")
    assert burnt["peak"] == pytest.approx(0.9 * CREST)  # the remark says that a tenth is assumed across it
    assert "10 %" in failed(block, "S1", "high resistance").remark


@pytest.mark.parametrize(
    "varistor, ok",
    [
        ("RV1 275V", True),
        ("RV1 250V", False),
        ("RV1 14D431K", True),
        ("RV1 391", False),
        ("RV1 471", True),
        ("RV1 241", False),
    ],
)
def test_varistor_by_its_ac_rating(varistor: str, ok: bool) -> None:
    """A disc marked 431 is 430 V at 1 mA and 275 V AC, 391 is 250 V AC: tables of zinc oxide varistors (from memory).
    The top of the mains band is 253 V."""
    block = made("mains-inlet", **{**EXAMPLE, "varistor": varistor})
    assert ("RV1" in said(block, True)) is ok
    assert ("RV1" in said(block, False)) is not ok


def test_fuse_and_contacts_carry_the_load() -> None:
    """180 W at 207 V are 0.870 A: a fuse for 800 mA passes at 230 V only, so it fails."""
    assert "F1" in said(made("mains-inlet", **{**EXAMPLE, "fuse": "F1 800mA"}), False)
    assert "F1" in said(made("mains-inlet", **{**EXAMPLE, "fuse": "F1 1A"}), True)
    assert "S1" in said(made("mains-inlet", **{**EXAMPLE, "switch": "S1 0.5A"}), False)
    assert "TF1" in said(made("mains-inlet", **{**EXAMPLE, "thermal_fuses": ["TF1 167C 0.5A live"]}), False)
    wide = made("mains-inlet", Mains(band=0.3), **{**EXAMPLE, "fuse": "F1 1A"})  # 161 V: 1.12 A
    assert "F1" in said(wide, False)


def test_one_thermal_fuse_is_remarked_on() -> None:
    block = made("mains-inlet", **{**EXAMPLE, "thermal_fuses": ["TF1 167C live"]})
    remark = next(c for c in block.checks if c.part == "TF1" and c.remark)
    assert "live" in remark.what and remark.ok
    assert not any(c.remark and c.part.startswith("TF") for c in made("mains-inlet", **EXAMPLE).checks)


def test_unmarked_capacitor_is_remarked_on() -> None:
    assert any(
        c.remark and "X1 or X2" in c.what
        for c in made("mains-inlet", **{**EXAMPLE, "x_capacitor": "C1 220n 400V"}).checks
    )


def test_absent_parts_leave_their_values_out() -> None:
    block = made("mains-inlet", load="180 W", fuse="2A")
    assert list(block.values) == ["current", "peak", "fuse_margin"]
    assert [f.part for f in block.failures] == ["fuse"]


@pytest.mark.parametrize(
    "wrong, words",
    [
        ({"load": "0"}, "zero"), ({"load": "-5 W"}, "below zero"), ({"load": "nan"}, "not a value"), ({"load": "1e400 W"}, "not a number"),
        ({"load": "5 A"}, "a current"), ({"lode": "5 W"}, "load"), ({"load": ""}, "needs load"), ({"power_factor": "1.2"}, "above 1"),
        ({"fuse": "F1 230V"}, "a fuse is expected"),
    ],
)  # fmt: skip
def test_bad_input_is_told(wrong: dict[str, str], words: str) -> None:
    text = told("mains-inlet", **{**EXAMPLE, **wrong})
    assert words in text
    assert "mains-inlet" in text


def test_leakage_by_phasors() -> None:
    """2.2 nF at live and at neutral, 230 V 50 Hz: 0.159 mA, with the neutral open 0.318 mA; an unearthed case floats at half, 115 V.
    Complex arithmetic."""
    given = {"load": "60 W", "fuse": "F1 1A", "y_capacitors": ["C3 2n2 Y2 live", "C4 2n2 Y2 neutral"]}
    block = made("mains-inlet", PLAIN, **given, class_="II")
    one = 230 / abs(1 / (2j * math.pi * 50 * 2.2e-9))
    assert value(block, "earth_leakage") == pytest.approx(one) == pytest.approx(0.15896e-3, rel=1e-4)
    assert value(block, "earth_leakage_neutral_open") == pytest.approx(2 * one)
    assert value(block, "case_voltage_unearthed") == pytest.approx(115)
    alone = made("mains-inlet", PLAIN, **{**given, "y_capacitors": ["C3 2n2 Y2 live"]})
    assert value(alone, "case_voltage_unearthed") == pytest.approx(230)
    assert (
        "case_voltage_unearthed" not in after(block, "C3", "short") and failed(block, "C3", "short").dangerous
    )


@pytest.mark.parametrize(
    "farad, appliance, ok",
    [("2n2", "II", True), ("4n7", "II", False), ("4n7", "I", True), ("15n", "I", False)],
)
def test_leakage_limits(farad: str, appliance: str, ok: bool) -> None:
    """Class II 0.25 mA, portable class I 0.75 mA at maximum mains: IEC 60335-1, clauses 13.2 and 16.2, from memory. 4.7 nF +10 % at
    253 V leak 0.411 mA, 15 nF 1.31 mA, 2.2 nF 0.192 mA."""
    block = made(
        "mains-inlet", load="60 W", fuse="F1 1A", y_capacitors=[f"C3 {farad} Y2 live"], class_=appliance
    )
    assert ("leak to earth" in said(block, ok)) and ("leak to earth" not in said(block, not ok))


def test_surge_and_losses_by_hand() -> None:
    """20 W at 230 V are 87 mA: 10 Ω take 75.6 mW, 1.2 Ω drop 104 mV; plugged in at the crest 325.3/(10 + 5 + 1.2) = 20.1 A."""
    block = made("mains-inlet", PLAIN, load="20 W", fuse_resistor="R9 10 2W", inrush="NTC1 5", choke="L1 1R2")
    assert value(block, "fuse_resistor_power") == pytest.approx(0.0756, abs=1e-4)
    assert value(block, "choke_drop") == pytest.approx(0.10435, abs=1e-4)
    assert value(block, "surge_current") == pytest.approx(325.27 / 16.2, rel=1e-4)
    assert "fuse" not in said(block, False)
    for part in ("R9", "NTC1", "L1"):
        assert after(block, part, "open")["current"] == 0.0


def test_something_has_to_fuse() -> None:
    assert "fusible" in said(made("mains-inlet", load="20 W"), False)
    assert "line" in told("mains-inlet", load="20 W", fuse="F1 1A", y_capacitors=["C3 2n2 Y2"])
