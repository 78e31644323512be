"""Transistor switch, held against a textbook example, the Ebers-Moll equations and nodal analysis."""

from __future__ import annotations

import math
from typing import Any

import pytest
from bench import after, failed, made, said, told, value
from nodal import Network
from scipy.optimize import brentq, minimize_scalar

EXAMPLE = {
    "drive": "5 V", "base": "R16 2k2 0%", "pull_down": "R17 10k 0%", "transistor": "Q1 hfe100 500mA 45V", "load": "RL1 400",
    "load_supply": "12 V", "flyback": "D6", "load_inductance": "0.4 H",
}  # fmt: skip


def switch(**changes: Any) -> Any:
    return made("transistor-switch", **{**EXAMPLE, **changes})


def ebers_moll(*, drive: float, base: float, pull_down: float, load: float, supply: float, forward: float = 100.0,
               reverse: float = 2.0, saturation: float = 1e-14) -> dict[str, float]:  # fmt: skip
    """The transport form of Ebers and Moll's equations with the resistors around them, solved by scipy."""
    thermal = 0.02585

    def currents(vbe: float, vce: float) -> tuple[float, float]:
        f, r = math.exp(vbe / thermal), math.exp((vbe - vce) / thermal)
        return saturation * (f - r) - saturation / reverse * (r - 1), saturation / forward * (
            f - 1
        ) + saturation / reverse * (r - 1)

    def surplus(vbe: float) -> float:
        """Into the base through the resistors less what the junctions take, the collector at its balance."""
        return (drive - vbe) / base - vbe / pull_down - currents(vbe, at_collector(vbe))[1]

    def at_collector(vbe: float) -> float:
        return float(brentq(lambda vce: (supply - vce) / load - currents(vbe, vce)[0], 1e-6, supply))

    vbe = float(brentq(surplus, 0.3, 0.8))
    vce = at_collector(vbe)
    collector, into_base = currents(vbe, vce)
    return {"vbe": vbe, "vce": vce, "collector": collector, "base": into_base}


def test_lamp_on_ten_volts() -> None:
    """10 V, 0.1 A lamp, base resistor 1 kΩ from 10 V, gain 100: 9.4 mA into the base, which could carry 940 mA.

    Source: Horowitz and Hill, The Art of Electronics, the transistor switch (its base-emitter drop is 0.6 V), from memory.
    """
    block = switch(drive="10 V", base="1k 0%", pull_down="", vbe="0.6 V", vce_sat="0 V", load="100 mA", load_supply="10 V",
                   flyback="", load_inductance="")  # fmt: skip
    assert value(block, "base_current") == pytest.approx(9.4e-3)
    assert value(block, "load_current") == pytest.approx(0.1)
    assert value(block, "overdrive") == pytest.approx(9.4)
    assert value(block, "forced_gain") == pytest.approx(0.1 / 9.4e-3)


@pytest.mark.parametrize(
    "base, load", [(2200.0, 400.0), (4700.0, 220.0), (2200.0, 60.0), (10000.0, 100.0), (47000.0, 400.0)]
)
def test_saturated_or_not_as_ebers_and_moll_say(base: float, load: float) -> None:
    """Load current within 2 %, collector within 0.2 V of 12, in saturation and out of it. Source: scipy on their equations,
    whose base-emitter voltage is given to the block."""
    real = ebers_moll(drive=5.0, base=base, pull_down=10e3, load=load, supply=12.0)
    block = switch(base=f"{base} 0%", load=f"{load} ohm", vbe=f"{real['vbe']!r} V")
    assert value(block, "base_current") == pytest.approx(real["base"], rel=1e-6)
    assert value(block, "load_current") == pytest.approx(real["collector"], rel=0.02)
    assert value(block, "collector_voltage") == pytest.approx(real["vce"], abs=0.2)
    assert value(block, "transistor_power") == pytest.approx(
        value(block, "load_current") * value(block, "collector_voltage")
    )


def nodal(*, base: float = 2200.0, pull_down: float = 10e3, load: float = 400.0, collector: float | None = 0.2,
          junction: float | None = 0.7) -> dict[str, float]:  # fmt: skip
    """The switch as a net: the junction a held voltage, the collector held at `collector`, or neither (None)."""
    net = Network().voltage("drive", "d", "0", 5.0).voltage("supply", "s", "0", 12.0)
    net.resistor("d", "b", base).resistor("b", "0", pull_down).resistor("s", "c", load)
    if junction is not None:
        net.voltage("junction", "b", "0", junction)
    if collector is not None:
        net.voltage("collector", "c", "0", collector)
    volts, amperes = net.solve()
    return {
        "base_current": -amperes.get("junction", 0.0), "base_voltage": volts["b"], "load_current": amperes["supply"],
        "collector_voltage": volts["c"],
    }  # fmt: skip


@pytest.mark.parametrize("part, mode, circuit", [
    ("R16", "high", {"base": 4400.0}), ("R17", "open", {"pull_down": math.inf}), ("R17", "high", {"pull_down": 20e3}),
    ("Q1", "open", {"collector": None, "junction": None}), ("Q1", "short", {"collector": 0.0}),
    ("R16", "open", {"base": math.inf, "collector": None, "junction": None}), ("D6", "open", {}),
])  # fmt: skip
def test_failures_against_nodal_analysis(part: str, mode: str, circuit: dict[str, Any]) -> None:
    found = after(switch(), part, mode)
    for name, expected in nodal(**circuit).items():
        assert found[name] == pytest.approx(expected, abs=2e-5), name  # the nodes' 1 GΩ meters


def test_open_load_leaves_the_collector_low() -> None:
    found = after(switch(), "RL1", "open")
    assert found["load_current"] == 0.0 and found["collector_voltage"] == pytest.approx(0.2)


def test_shorted_flyback_diode_puts_the_supply_on_the_transistor() -> None:
    found = after(switch(), "D6", "short")
    assert found["load_current"] == 0.0 and found["collector_voltage"] == 12.0
    assert "fuse" in failed(switch(), "D6", "short").remark


def test_nothing_burns_behind_a_diode_that_shorts_a_load_switched_off() -> None:
    """0.3 V never lifts the base to 0.7 V: by hand."""
    assert failed(switch(drive="0.3 V"), "D6", "short").remark == "bridges the load"


def test_a_shorted_transistor_is_the_dangerous_failure() -> None:
    assert [(f.part, f.failed) for f in switch().failures if f.dangerous] == [("Q1", "short")]


def test_heat_has_its_worst_inside_the_band() -> None:
    """Out of saturation the heat peaks where half of the supply stands across the transistor: V²/(4·R).

    Source: maximum power theorem; the base resistor's band (by scipy's minimiser) reaches that point.
    """
    block = switch(
        base="40k 20%",
        pull_down="",
        load="1k 0%",
        transistor="Q1 hfe55 0%",
        flyback="",
        load_inductance="",
        vbe="0.7 V 0%",
    )
    peak = minimize_scalar(
        lambda r: -(55 * 4.3 / r) * (12 - 55 * 4.3 / r * 1000), bounds=(32e3, 48e3), method="bounded"
    )
    assert (
        block.values["transistor_power"].high
        == pytest.approx(-peak.fun, rel=1e-6)
        == pytest.approx(12**2 / 4000, rel=1e-6)
    )


def test_a_drive_below_the_junction_leaves_it_off() -> None:
    """0.8 V over 2.2 kΩ and 10 kΩ is 0.656 V at the base, less than 0.7 V. Voltage divider."""
    block = switch(drive="0.8 V", vbe="0.7 V 0%")
    assert (
        value(block, "base_current")
        == value(block, "load_current")
        == value(block, "transistor_power")
        == 0.0
    )
    assert value(block, "base_voltage") == pytest.approx(0.8 * 10 / 12.2)
    assert value(block, "collector_voltage") == 12.0
    assert "forced_gain" not in block.values
    assert "stays off" in said(block, ok=False)


def test_off_at_the_bad_end_only_is_said_so() -> None:
    """0.77 V over 1 kΩ and 10 kΩ is 0.7 V at the base: with resistors to 10 % it is less at one corner. Voltage divider."""
    assert "Q1: may stay off" in said(
        switch(drive="0.775 V", base="R16 1k 10%", pull_down="R17 10k 10%"), ok=False
    )
    assert "Q1: stays off" in said(switch(drive="0.6 V"), ok=False)


def test_weak_drive_is_out_of_saturation_and_says_so() -> None:
    block = switch(base="R16 47k 0%", load="RL1 100")
    assert value(block, "forced_gain") == pytest.approx(100.0)  # the gain itself is all there is
    assert "not saturated" in said(block, ok=False)


@pytest.mark.parametrize("base", [2200.0, 22e3, 47e3])
def test_a_load_by_its_current_or_by_its_resistance_is_one_load(base: float) -> None:
    """A coil of 118 mA at 12 V less 0.2 V is one of 100 Ω: in saturation, out of it, and with the transistor shorted (numpy
    nodal analysis of the resistance). Source: Ohm's law."""
    block = switch(base=f"R16 {base} 0%", load="118 mA", flyback="", load_inductance="")
    through = min(11.8 / 100, 100 * ((5 - 0.7) / base - 0.7 / 10e3))
    assert value(block, "load_current") == pytest.approx(through)
    assert value(block, "collector_voltage") == pytest.approx(12 - 100 * through)
    shorted = after(block, "Q1", "short")
    expected = nodal(base=base, load=100.0, collector=0.0)
    assert shorted["load_current"] == pytest.approx(expected["load_current"], abs=2e-5)


def test_too_little_falls_short_and_too_much_exceeds() -> None:
    """Overdrive is a least value, the collector current a limit. On the sheet and in the terminal alike."""
    from generator.circuit.report import as_text

    block = switch(base="R16 47k 0%", load="RL1 100", transistor="Q1 hfe100 1mA 45V")
    rows = {c.what.split()[0]: (c.least, c.ok) for c in block.checks}
    assert rows["overdrive"] == (True, False) and rows["switches"] == (False, False)
    text = as_text(block)
    assert " % short)" in next(
        line for line in text.splitlines() if "overdrive" in line and "needs 2" in line
    )
    assert "(exceeded by " in next(line for line in text.splitlines() if "rated 1 mA" in line)


def test_far_more_than_needed_is_said_in_times() -> None:
    """By hand: 28 where 2 are needed is 14 times that; 3 where 2 are needed leaves half of 2 in hand."""
    from generator.circuit.ratings import at_least
    from generator.circuit.report import margin_text

    assert margin_text(at_least("Q1", 2.0, 28.0, "", "overdrive")) == "14 times what is needed"
    assert margin_text(at_least("Q1", 2.0, 3.0, "", "overdrive")) == "50 % in hand"


def test_at_the_brink_of_saturation_little_stands_across_it() -> None:
    """A base resistor's tolerance that takes the drive 2 % short of the load's current leaves 2 % of the supply, not all of it."""
    exact = {"vbe": "0.7 V 0%", "vce_sat": "0.2 V 0%", "transistor": "Q1 hfe100 0%", "load": "43 mA 0%"}
    block = switch(base="R16 10k 2%", pull_down="", flyback="", load_inductance="", **exact)
    assert block.values["collector_voltage"].high == pytest.approx(12 - 11.8 * (4.3 / 10.2e3 * 100) / 43e-3)


def test_checks_take_the_bad_end() -> None:
    """Overdrive of 2 is met at the nominal value, not with the base resistor 5 % high."""
    block = switch(base="R16 6k8 5%", transistor="Q1 hfe100 25mA 10V", load="RL1 420")
    assert value(block, "overdrive") > 2 > block.values["overdrive"].low
    texts = said(block, ok=False)
    assert "overdrive" in texts and "rated 25 mA" in texts and "rated 10 V" in texts


@pytest.mark.parametrize("changes, complains", [
    ({"flyback": ""}, True), ({"flyback": "", "load": "M1 22", "load_inductance": ""}, True),
    ({"flyback": "", "load": "LP1 60", "load_inductance": ""}, False), ({}, False),
    ({"flyback": "", "load": "400 ohm relay", "load_inductance": ""}, True),
])  # fmt: skip
def test_an_inductive_load_needs_its_diode(changes: dict[str, str], complains: bool) -> None:
    assert ("no flyback diode" in said(switch(**changes), ok=False)) is complains


def test_energy_of_the_inductance_is_told() -> None:
    """Half of L·I²: 0.4 H at 29.5 mA is 0.174 mJ. Field energy of an inductor."""
    assert "0.174 mJ" in said(switch(flyback="", load="RL1 400 0%", vce_sat="0.2 V 0%"), ok=False)


@pytest.mark.parametrize("parameter, text", [
    ("drive", "0 V"), ("drive", "-5 V"), ("drive", "nan"), ("drive", "1e400 V"), ("drive", "5 mA"), ("base", "0"), ("base", "12 V"),
    ("load", "0 A"), ("load", "5 V"), ("transistor", "Q1"), ("transistor", "Q1 500mA"), ("vbe", "1 A"), ("load_supply", "12 ohm"),
    ("load_inductance", "1 F"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert f"transistor-switch {parameter}" in told("transistor-switch", **{**EXAMPLE, parameter: text})


def test_missing_and_unknown_parameters() -> None:
    assert "transistor-switch needs base" in told("transistor-switch", **{**EXAMPLE, "base": ""})
    assert "did you mean pull_down" in told("transistor-switch", **EXAMPLE, pulldown="10k")
    assert "states no hfe" in told("transistor-switch", **{**EXAMPLE, "transistor": "Q1 500mA"})


def test_capacitors_across_load_and_switch() -> None:
    """hfe 100 times 2 mA are all that the transistor gives the empty capacitor; 100 Ω·47 µF = 4.7 ms; 12 V + 0.118 A·√(0.1/1 µ) = 49.3 V at
    switch-off without a diode. By hand."""
    given = {
        "drive": "5 V",
        "base": "2150 ohm",
        "transistor": "Q1 hfe100 0%",
        "load": "100 ohm",
        "load_supply": "12 V",
    }
    block = made("transistor-switch", **given, across_load="C1 47u")
    assert value(block, "surge_current") == pytest.approx(0.2)
    assert value(block, "load_time_constant") == pytest.approx(4.7e-3)
    spike = made("transistor-switch", **given, across_switch="C2 1u film", load_inductance="0.1 H")
    assert value(spike, "switch_off_peak") == pytest.approx(12 + 0.118 * math.sqrt(0.1 / 1e-6))
    assert after(spike, "C2", "short")["collector_voltage"] == 0.0
    assert "switch_off_peak" not in after(spike, "C2", "open")
