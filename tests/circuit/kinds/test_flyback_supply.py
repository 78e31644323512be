"""Flyback supply, held against ngspice, energy, and hand calculation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from bench import after, failed, made, said, value

from generator.circuit import catalogue
from generator.circuit.circuit import Mains, build_block

# Lossless but for the diode: the share that reaches the output is output/(output + 0.7 V).
MADE = {
    "input": "100 V",
    "output": "12 V",
    "load": "1.5 A",
    "turns_ratio": "8",
    "primary_inductance": "600u",
    "frequency": "65 kHz",
}


def test_discontinuous_against_ngspice() -> None:
    """600 µH : 1/8, coupling 0.99999, ideal switch, 0.7 V, 8 Ω (ngspice-39, .tran 10n): 11.998 V, peak 0.98857 A, mean input
    0.19058 A."""
    block = made("flyback-supply", **MADE, efficiency=repr(12 / 12.7))
    assert value(block, "peak_current") == pytest.approx(0.98857, rel=1e-3)
    assert value(block, "duty") == pytest.approx(0.98857 * 39 / 100, rel=1e-3)
    assert 12 * 1.5 / (12 / 12.7) == pytest.approx(100 * 0.19058, rel=1e-3)


@pytest.mark.parametrize("diode, least, most", [("D6 100V 2A schottky", 0.2, 0.55), ("D6 100V 2A", 0.6, 1.1)])
def test_a_diode_that_is_called_a_schottky_is_one(diode: str, least: float, most: float) -> None:
    """Forward volts of 1 to 3 A Schottky diodes, 0.3 to 0.55 V, and of rectifiers, 0.6 to 1.1 V (data sheets, from memory)."""
    drop = made("flyback-supply", **MADE, diode=diode).quantity("diode_drop")
    assert drop is not None and least <= drop.low < drop.high <= most


def test_continuous_against_ngspice() -> None:
    """The same with 3 Ω and the duty 101.6/201.6: ngspice printed 11.985 V, peak 1.6526 A."""
    given = {**MADE, "output": "11.985 V", "load": "3.995 A"}
    block = made("flyback-supply", **given, efficiency=repr(11.985 / 12.685))
    assert value(block, "peak_current") == pytest.approx(1.6526, rel=1e-3)
    assert value(block, "duty") == pytest.approx(101.48 / 201.48, rel=1e-6)


@pytest.mark.parametrize(("load", "duty"), [("1.5 A", 0.0), ("4 A", 101.48 / 201.48)])
def test_the_sense_resistor_gets_hot_by_the_square_of_the_current(load: str, duty: float) -> None:
    """The switch's current as a sawtooth or a trapezoid over a period, its square summed by numpy; tolerances only add to it."""
    block = made("flyback-supply", **{**MADE, "load": load}, sense="R5 0R2 0% 1mW", efficiency="1")
    peak, share = value(block, "peak_current"), value(block, "duty")
    assert duty == 0 or share == pytest.approx(duty, rel=0.01)
    rise = 100 / 600e-6 * share / 65e3
    current = np.linspace(max(0.0, peak - rise), peak, 10_001)
    watts = 0.2 * share * float(np.mean(current**2))
    (told,) = (check for check in block.checks if check.part == "R5" and "dissipates" in str(check.what))
    assert not told.ok and told.margin is not None
    assert watts * 0.999 <= (1 - told.margin) * 1e-3 <= watts * 1.6


@pytest.mark.parametrize(
    "ohms, volts, peak", [("3", 5.5419, 0.76940), ("1", 4.6455, 1.21386), ("20", 5.7378, 0.30787)]
)
def test_overloaded_against_ngspice(ohms: str, volts: float, peak: float) -> None:
    """A switch that opens at 0.3 (0.12 for 20 Ω) of each period, whatever comes out: ngspice printed these volts with these
    peaks. With the peak as the limit the output has to sink there; 1 Ω is continuous there, the others not."""
    given = {**MADE, "load": f"{ohms} ohm", "sense": f"R5 {1 / peak!r}"}
    block = made("flyback-supply", **given, efficiency=repr(volts / (volts + 0.7)))
    assert value(block, "limit_current") == pytest.approx(peak)
    assert value(block, "output_voltage") == pytest.approx(volts, rel=5e-3)
    assert value(block, "peak_current") == pytest.approx(peak)
    assert "draws" in said(block, False) and "sags" in said(block, True)


def test_by_hand() -> None:
    """8·12.7 = 101.6 V reflected; 375 + 150 = 525 V at the switch; 12 + 375/8 = 58.9 V at the diode; 1.1·12.7 − 0.7 = 13.27 V;
    1 V/0.56 Ω = 1.786 A; 0.8·39 Ω·1.786²/(2·12) ... continuous: d = 0.504, P = 50.4·(1.786 − 0.646) = 57.4 W, 3.83 A."""
    block = made(
        "flyback-supply",
        **MADE,
        input_high="375 V",
        clamp="D3 150V",
        sense="R5 0R56 0%",
        auxiliary_ratio="1.1",
    )
    assert value(block, "reflected") == pytest.approx(101.6)
    assert value(block, "switch_voltage") == pytest.approx(525)
    assert value(block, "reverse_voltage") == pytest.approx(58.875)
    assert value(block, "auxiliary") == pytest.approx(13.27)
    assert value(block, "limit_current") == pytest.approx(1.7857, abs=1e-4)
    d = 101.6 / 201.6
    assert value(block, "max_load") == pytest.approx(0.8 * 100 * d * (1 / 0.56 - 100 * d / 78) / 12)
    assert made("flyback-supply", **MADE).values["switch_voltage"].value == pytest.approx(201.6)


def test_the_regimes_meet() -> None:
    """At the boundary both ways of computing give one peak: input·d/LF. From the volt-second balance."""
    boundary = value(made("flyback-supply", **MADE), "boundary_load")
    peaks = [
        value(made("flyback-supply", **{**MADE, "load": f"{boundary * k!r} A"}), "peak_current")
        for k in (0.99999, 1.00001)
    ]
    assert peaks == pytest.approx([100 * 101.6 / 201.6 / 39] * 2, rel=1e-4)


def test_absent_without_the_transformer() -> None:
    block = made("flyback-supply", input="100 V", output="12 V", load="1 A")
    assert set(block.values) == {"output_voltage"}


def test_checks_and_failures() -> None:
    """A clamp below the reflected voltage takes the energy that is meant for the output; an open one kills the transistor."""
    weak = made("flyback-supply", **MADE, clamp="D3 91V")
    assert "D3" in said(weak, False)
    block = made("flyback-supply", **MADE, clamp="D3 150V", transistor="Q1 200V 1A", sense="R5 0R56")
    assert "Q1: holds off" in said(block, False) and "Q1: switches" in said(block, False)
    for part, mode in (
        ("D3", "open"),
        ("Q1", "short"),
        ("Q1", "open"),
        ("R5", "open"),
        ("output diode", "short"),
    ):
        assert after(block, part, mode)["output_voltage"] == 0.0
    assert (
        failed(block, "D3", "open").dangerous and "kills the transistor" in failed(block, "D3", "open").remark
    )
    weaker = after(
        block, "R5", "high"
    )  # the limit at half: by hand 0.8·39·(0.5/0.56)²/24 = 1.036 A, below the load
    assert weaker["output_voltage"] is not None and weaker["output_voltage"] < 12


def test_mains_caution_by_its_input() -> None:
    assert {"mains", "charge"} <= set(made("flyback-supply", **MADE).cautions)
    low = {**MADE, "input": "24 V", "turns_ratio": "2"}
    assert not {"mains", "charge"} & set(made("flyback-supply", **low).cautions)
    assert math.isclose(value(made("flyback-supply", **low), "reflected"), 25.4)


def test_turns_ratio_as_it_is_written_on_drawings() -> None:
    """8:1, 16:2 and 8 are one ratio."""
    for text in ("8:1", "16 : 2", "8"):
        assert value(made("flyback-supply", **{**MADE, "turns_ratio": text}), "reflected") == pytest.approx(
            101.6
        )


@pytest.mark.parametrize(
    ("ratio", "volts"), [("1.5", 1.5 * 5.7 - 0.7), ("0.25", 0.25 * 5.7 - 0.7), ("0.1", 0.0)]
)
def test_an_auxiliary_winding_gives_its_share_less_a_diode(ratio: str, volts: float) -> None:
    """5 V and a diode's 0.7 V at the output winding, by the turns; where the diode takes it all, nothing."""
    given = {
        **catalogue.kind("flyback-supply").example,
        "output": "5 V",
        "diode_drop": "0.7 V",
        "auxiliary_ratio": ratio,
    }
    block, troubles = build_block("flyback-supply", given, Mains())
    assert block is not None, troubles
    assert block.values["auxiliary"].value == pytest.approx(volts)
