"""Series-pass regulator, held against nodal analysis, a textbook design and hand calculation."""

from __future__ import annotations

import math

import pytest
from bench import after, failed, made, said, value
from nodal import Network

EXAMPLE = {"input": "16 V", "input_high": "21 V", "series": "R1 330 0.5W", "zener": "ZD1 12V 1W", "transistor": "Q1 hfe50 3A 60V",
           "load": "300 mA", "capacitor": "C2 100u 25V"}  # fmt: skip


def follower(zener: bool, ohms: float) -> dict[str, float]:
    """The transistor as vbe and a source of hfe times the base current, found by going round. Source: nodal analysis."""
    base = 0.0
    for _ in range(200):
        net = (
            Network()
            .voltage("input", "in", "0", 16.0)
            .resistor("in", "b", 330.0)
            .voltage("vbe", "b", "e", 0.7)
        )
        if zener:
            net.voltage("zener", "b", "0", 12.0)
        net.current("in", "e", 50 * base).resistor("e", "0", ohms)
        volts, amperes = net.solve()
        base += (-amperes["vbe"] - base) * 0.02
    return {"output": volts["e"], "base": base, "zener": -amperes.get("zener", 0.0)}


def test_in_regulation_against_nodal_analysis() -> None:
    found = follower(True, 37.667)
    block = made("series-pass", **{**EXAMPLE, "load": "37.667 ohm"})
    assert value(block, "output_voltage") == pytest.approx(found["output"], rel=1e-5)
    assert value(block, "base_current") == pytest.approx(found["base"], rel=1e-3)
    assert value(block, "zener_current") == pytest.approx(found["zener"], rel=1e-3)


def test_out_of_regulation_against_nodal_analysis() -> None:
    """10 Ω take all that the series resistor passes: the zener lets go and the output sinks."""
    found = follower(False, 10.0)
    block = made("series-pass", **{**EXAMPLE, "load": "10 ohm"})
    assert value(block, "output_voltage") == pytest.approx(found["output"], rel=1e-3)
    assert value(block, "zener_current") == 0.0 and "does not conduct" in said(block, False)


def test_textbook_design() -> None:
    """12 V zener, hfe 50, 16 to 21 V in (the emitter follower of every textbook on supplies, worked by hand): 11.3 V out; base
    300/51 = 5.88 mA; zener 12.12 − 5.88 = 6.24 mA; at most 51·12.12 = 618 mA; unloaded zener 12·9/330 = 0.327 W; the
    transistor (21 − 11.3)·294.1 mA + 0.7·5.88 mA = 2.857 W."""
    block = made("series-pass", **EXAMPLE)
    found = {name: value(block, name) for name in block.values}
    assert found == pytest.approx(
        {"output_voltage": 11.3, "base_current": 5.8824e-3, "zener_current": 6.2389e-3, "max_load": 0.61818,
         "zener_power_no_load": 0.32727, "dissipation": 2.8571}, rel=1e-3,
    )  # fmt: skip


@pytest.mark.parametrize("load", ("300 mA 0%", f"{11.3 / 0.3!r} ohm"))
def test_energy_is_conserved_at_the_highest_input(load: str) -> None:
    """Input less output, zener and series resistor is what the transistor keeps."""
    block = made("series-pass", **{**EXAMPLE, "load": load})
    base, series = 0.3 / 51, 9 / 330
    taken = 21 * (0.3 - base + series)
    kept = 12 * (series - base) + series**2 * 330 + 11.3 * 0.3
    assert value(block, "dissipation") == pytest.approx(taken - kept, rel=1e-9)


def test_zener_lets_go_at_max_load() -> None:
    most = value(made("series-pass", **EXAMPLE), "max_load")
    assert value(made("series-pass", **{**EXAMPLE, "load": f"{most * 0.999!r} A"}), "zener_current") > 0
    over = made("series-pass", **{**EXAMPLE, "load": f"{most * 1.05!r} A"})
    assert value(over, "zener_current") == 0 and value(over, "output_voltage") < 11.3


def test_failures() -> None:
    """Zener open: 16 − 330·5.88 mA − 0.7 = 13.36 V, the dangerous one; transistor shorted: the whole input. By hand."""
    block = made("series-pass", **EXAMPLE)
    assert (
        after(block, "ZD1", "open")["output_voltage"] == pytest.approx(13.36, abs=0.01)
        and failed(block, "ZD1", "open").dangerous
    )
    assert after(block, "Q1", "short")["output_voltage"] == 16.0
    for part, mode in (("ZD1", "short"), ("Q1", "open"), ("R1", "open"), ("C2", "short")):
        assert math.isclose(after(block, part, mode)["output_voltage"] or 0.0, 0.0)


def test_ratings() -> None:
    assert "ZD1" in said(made("series-pass", **{**EXAMPLE, "zener": "ZD1 12V 250mW"}), False)
    assert "Q1: dissipates" in said(made("series-pass", **{**EXAMPLE, "transistor": "Q1 hfe50 2W"}), False)


def test_an_output_dragged_to_nothing_heats_the_transistor_most() -> None:
    """9 V, 1 kohm, hfe 40, a load of 400 mA: the base gets (9 - 0.7) V / 1 kohm = 8.3 mA, the collector 40 times that, with
    9 V across it: 9 · 0.332 + 0.7 · 0.0083 = 2.99 W. By hand."""
    given = {
        "input": "9 V",
        "series": "R1 1k",
        "zener": "ZD1 5V6",
        "transistor": "Q1 hfe40",
        "load": "400 mA",
    }
    block = made("series-pass", **given)
    assert value(block, "output_voltage") == 0.0
    assert value(block, "dissipation") == pytest.approx(2.994, rel=1e-3)
