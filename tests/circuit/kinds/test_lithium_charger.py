"""Lithium charger, held against a charge integrated by scipy, data sheet figures and hand calculation."""

from __future__ import annotations

import pytest
from bench import after, failed, made, said, told, value
from scipy.integrate import solve_ivp

from generator.circuit.kinds._lithium_charging import charge_limit

EXAMPLE = {
    "input": "5 V",
    "battery": "3.7 V",
    "resistance": "120 mohm",
    "program": "R2 1k2",
    "program_factor": "1000 V",
    "capacity": "2 Ah",
}


def test_program_resistor_of_a_common_charger_chip() -> None:
    """I = 1000 V/R in data sheets of common one-cell linear chargers: 1.2 kΩ gives about 830 mA, 10 kΩ gives 100 mA, 2 kΩ 500 mA
    (from memory)."""
    for ohms, amperes in (("1k2", 0.833), ("10k", 0.1), ("2k", 0.5)):
        assert value(
            made("lithium-charger", **{**EXAMPLE, "program": f"R2 {ohms}"}), "set_current"
        ) == pytest.approx(amperes, abs=1e-3)


@pytest.mark.parametrize("volts", [3.1, 3.5, 3.9, 4.05, 4.12, 4.18])
def test_phases_against_an_integrated_charge(volts: float) -> None:
    """A cell as a large capacitor behind 120 mΩ and a charger of 833 mA that holds 4.2 V: scipy integrates from 3.0 V at rest until
    the voltage at rest is reached; the current then flowing is the charge current."""
    ohms, full, amperes, farad = 0.12, 4.2, 1000 / 1200, 2000.0

    def current(rest: float) -> float:
        return min(amperes, (full - rest) / ohms)

    def reached(t: float, state: list[float]) -> float:
        return state[0] - volts

    reached.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        lambda t, s: [current(s[0]) / farad], (0, 1e6), [3.0], events=reached, rtol=1e-9, max_step=50
    )
    at = float(run.y[0][-1])
    block = made("lithium-charger", **{**EXAMPLE, "battery": f"{volts} V"})
    assert value(block, "charge_current") == pytest.approx(current(at), rel=1e-5)
    assert value(block, "terminal") == pytest.approx(at + current(at) * ohms, rel=1e-6)


def test_phases_by_hand() -> None:
    """Below 3.0 V a tenth; at 4.2 V none; an input of 3.9 V less 0.3 V leaves (3.6 − 3.5)/0.12 = 833 mA, just; 3.55 V at rest 417 mA."""
    low = made("lithium-charger", **{**EXAMPLE, "battery": "2.7 V"})
    assert value(low, "charge_current") == pytest.approx(1 / 12) and "tenth" in said(low, True)
    full = made("lithium-charger", **{**EXAMPLE, "battery": "4.2 V"})
    assert value(full, "charge_current") == 0.0 and "finished" in said(full, True)
    held = made("lithium-charger", **{**EXAMPLE, "battery": "3.55 V", "input": "3.9 V"})
    assert value(held, "charge_current") == pytest.approx(0.05 / 0.12) and "holds the current down" in said(
        held, True
    )
    steady = made("lithium-charger", **EXAMPLE)
    assert "constant current" in said(steady, True) and "no fault" in said(steady, True)


def test_heat_and_rates_by_hand() -> None:
    """(5 − 3.8)·0.833 = 1.0 W; 0.833/2 = 0.417 an hour; 0.15 V/50 mΩ = 3 A; 4.2/62 = 67.7 mA."""
    block = made("lithium-charger", **EXAMPLE, fet_resistance="50 mohm", balancer="R5 62")
    assert value(block, "dissipation") == pytest.approx(1.0, abs=1e-3)
    assert value(block, "c_rate") == pytest.approx(0.41667, abs=1e-4)
    assert value(block, "trip_current") == pytest.approx(3.0)
    assert value(block, "balance_current") == pytest.approx(4.2 / 62)


def test_cells_one_by_one() -> None:
    """3.90, 3.92, 3.71 V: 12.6 V full, 0.21 V apart (fails), 11.53 V at rest. By hand."""
    given = {"input": "14 V", "battery": ["3.9 V", "3.92 V", "3.71 V"], "sense": "R3 0R1"}
    block = made("lithium-charger", **given)
    assert value(block, "full") == pytest.approx(12.6) and value(block, "imbalance") == pytest.approx(0.21)
    assert value(block, "set_current") == pytest.approx(1.0) and value(block, "terminal") == pytest.approx(
        11.53
    )
    assert "differ" in said(block, False)
    deep = made("lithium-charger", **{**given, "battery": ["3.9 V", "3.92 V", "2.3 V"]})
    assert "cell 3: at" in said(deep, False)


def test_checks() -> None:
    """4.4 V in for 4.2 V + 0.3 V; 2 A into 1.5 Ah; a cell at 4.3 V is beyond protection."""
    assert "input" in said(made("lithium-charger", **{**EXAMPLE, "input": "4.4 V"}), False)
    assert "charged at" in said(
        made("lithium-charger", **{**EXAMPLE, "program": "R2 500", "capacity": "1.5 Ah"}), False
    )
    assert "cuts off above" in said(made("lithium-charger", **{**EXAMPLE, "battery": "4.3 V"}), False)
    assert "lithium" in made("lithium-charger", **EXAMPLE).cautions


def test_failures() -> None:
    """A shorted cell of three: the other two would be driven to 6.3 V each: the dangerous one."""
    block = made(
        "lithium-charger",
        input="14 V",
        battery=["3.9 V", "3.9 V", "3.9 V"],
        sense="R3 0R1",
        resistance="0.1 ohm",
    )
    assert failed(block, "cell", "short").dangerous and "overcharges" in failed(block, "cell", "short").remark
    assert after(block, "cell", "short")["terminal"] == pytest.approx(
        7.8 + 0.1 * 0.1
    )  # 7.8 V counts as deeply discharged
    assert after(block, "cell", "open")["charge_current"] == 0.0
    assert after(made("lithium-charger", **EXAMPLE), "R2", "high")["charge_current"] == pytest.approx(
        1000 / 2400
    )


def test_program_needs_its_factor() -> None:
    assert "program_factor" in told("lithium-charger", input="5 V", battery="3.7 V", program="R2 1k2")


def test_the_current_over_the_charge_by_hand() -> None:
    """Of 1000 V/1.2 kΩ = 833 mA a tenth below 3.0 V, all of it at 3.5 V, (4.2 − 4.16) V/0.12 Ω = 333 mA at 4.16 V, none at
    4.2 V; the mark stands where the battery is."""
    block = made(
        "lithium-charger",
        input="5 V",
        battery="3.7 V",
        resistance="120 mohm",
        program="R2 1k2",
        program_factor="1000 V",
    )
    picture = block.kind.plot(block)
    assert picture is not None
    drawn = dict(picture.curves[0].points)
    at = {volts: drawn[min(drawn, key=lambda v: abs(v - volts))] for volts in (2.8, 3.5, 4.2)}
    assert list(at.values()) == pytest.approx([0.0833, 0.8333, 0.0], rel=1e-3)
    near = min(drawn, key=lambda v: abs(v - 4.16))
    assert drawn[near] == pytest.approx((4.2 - near) / 0.12, rel=1e-6)
    assert [(mark.x, mark.y) for mark in picture.marks] == [(3.7, pytest.approx(0.8333, rel=1e-3))]


def test_an_input_that_is_just_enough_is_enough() -> None:
    """3 · 4.2 V + 0.3 V = 12.9 V: not short of it by what binary fractions are off."""
    block = made(
        "lithium-charger",
        input="12.9 V",
        battery=["3.98 V", "4.05 V", "3.91 V"],
        program="R2 2k",
        program_factor="1000 V",
    )
    check = next(c for c in block.checks if "to charge full" in str(c.what))
    assert check.ok and check.margin == 0.0


@pytest.mark.parametrize(
    ("battery", "available", "amperes", "held"),
    [
        (8.0, 12.0, 0.5, "current"),  # (8.4 − 8.0) V/0.1 ohm would be 4 A
        (8.38, 12.0, 0.2, "voltage"),
        (8.4, 12.0, 0.0, "voltage"),
        (8.0, 8.02, 0.2, "input"),
        (8.0, 7.5, 0.0, "input"),
    ],
)
def test_what_holds_the_charging_current_by_hand(
    battery: float, available: float, amperes: float, held: str
) -> None:
    """0.5 A set into two cells of 8.4 V when full and 0.1 ohm: the least of what is set and what is left over the ohms."""
    found = charge_limit(set_current=0.5, battery=battery, full=8.4, resistance=0.1, available=available)
    assert found == (pytest.approx(amperes), held)
