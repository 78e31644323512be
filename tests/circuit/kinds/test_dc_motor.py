"""DC motor, held against an integration of its equations of motion, a textbook exercise and circuit theory."""

from __future__ import annotations

import pytest
from bench import after, failed, made, said, told, value
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from generator.circuit.network.newton import operating_points
from tests.circuit.device.examples import built

EXAMPLE = {"supply": "6 V", "winding": "M1 6 ohm", "running_current": "180 mA", "capacitor": "C3 100n 50V"}


def test_textbook_exercise() -> None:
    """12 V, 0.5 Ω armature, 4 A: 10 V back EMF, 24 A at standstill, 48 W running, 288 W stalled. A usual exercise, by hand."""
    block = made("dc-motor", supply="12 V", winding="0.5 ohm", running_current="4 A")
    found = {name: value(block, name) for name in block.values}
    assert found == pytest.approx(
        {"stall_current": 24.0, "running_power": 48.0, "stall_power": 288.0, "back_emf": 10.0}
    )


@pytest.mark.parametrize("torque", [0.5e-3, 2e-3, 4e-3])
def test_against_the_equations_of_motion(torque: float) -> None:
    """Run up from standstill by scipy: i = (V − k·w)/R, J·w' = k·i − torque. At switch-on it draws the stall current; at
    speed, what it generates, k·w, is the back EMF for the current that it then draws."""
    volts, ohms, constant, inertia = 6.0, 6.0, 0.01, 1e-6
    run = solve_ivp(lambda t, w: [(constant * (volts - constant * w[0]) / ohms - torque) / inertia], (0, 2.0), [0.0],
                    rtol=1e-9, atol=1e-9)  # fmt: skip
    first, last = (float(volts - constant * run.y[0, at]) / ohms for at in (0, -1))
    block = made("dc-motor", supply="6 V", winding="6 ohm", running_current=f"{last!r} A")
    assert value(block, "stall_current") == pytest.approx(first)
    assert value(block, "back_emf") == pytest.approx(constant * run.y[0, -1], rel=1e-6)


@settings(deadline=None)
@given(st.floats(1, 400), st.floats(0.1, 1e3), st.floats(0.01, 1.0))
def test_energy_is_conserved(supply: float, winding: float, share: float) -> None:
    """What is taken is heat in the winding and what the back EMF turns into work."""
    current = share * supply / winding
    block = made(
        "dc-motor", supply=f"{supply!r} V", winding=f"{winding!r} ohm", running_current=f"{current!r} A"
    )
    assert value(block, "running_power") == pytest.approx(
        current**2 * winding + current * value(block, "back_emf"), rel=1e-6
    )


@pytest.mark.parametrize("volts", [12.0, 6.0, 3.0, 1.2, 0.5])
def test_less_supply_turns_it_slower(volts: float) -> None:
    """Run up by scipy under a torque of which half is friction, the rest grows with the square of the speed, stated at 6 V: from 12 V
    down to what no longer starts it, where it is its winding. It starts at 0.25 A through 4 ohm, 1.0 V."""
    ohms, constant, inertia = 4.0, 0.01, 1e-6
    stated, top = 0.5, (6.0 - 0.5 * 4.0) / 0.01

    def speeds_up(t: float, w: list[float]) -> list[float]:
        torque = constant * ((volts - constant * w[0]) / ohms - stated * (0.5 + 0.5 * (w[0] / top) ** 2))
        return [max(torque, 0.0) / inertia if w[0] <= 0 else torque / inertia]

    run = solve_ivp(speeds_up, (0, 5.0), [0.0], rtol=1e-8, atol=1e-8, method="LSODA")
    block = "{kind: dc-motor, supply: 6 V, winding: M1 4 ohm, running_current: 0.5 A}"
    system = built(f"blocks: {{motor: {block}}}").system
    point = operating_points(system, [{}, {"motor.supply": {"volts": volts}}])
    full, here = point.amperes("motor.winding")
    assert full == pytest.approx(0.5, rel=1e-3)
    assert here == pytest.approx((volts - constant * run.y[0, -1]) / ohms, rel=0.01)


def test_failures() -> None:
    """An open winding carries nothing; a shorted suppression capacitor leaves nothing behind the fuse. By hand: 6 V/6 Ω, 6 V − 180 mA·6 Ω."""
    block = made("dc-motor", **EXAMPLE)
    assert after(block, "M1", "open") == {"stall_current": 0.0, "back_emf": 0.0}
    assert after(block, "C3", "short") == {"stall_current": 0.0, "back_emf": 0.0}
    assert "fuse" in failed(block, "C3", "short").remark
    for mode in ("open", "low"):
        assert after(block, "C3", mode) == pytest.approx({"stall_current": 1.0, "back_emf": 4.92})


def test_bands_from_stated_tolerances_only() -> None:
    plain, wide = made("dc-motor", **EXAMPLE), made("dc-motor", **{**EXAMPLE, "winding": "M1 6 ohm 10%"})
    assert plain.values["stall_current"].low == plain.values["stall_current"].high
    result = wide.values["stall_current"]
    assert (result.low, result.high) == pytest.approx((6 / 6.6, 6 / 5.4))


def test_more_than_the_stall_current_is_told() -> None:
    block = made("dc-motor", **{**EXAMPLE, "running_current": "1.2 A"})
    assert value(block, "back_emf") == 0.0
    assert "one of them is wrong" in said(block, ok=False)
    assert "rated 4 V" in said(made("dc-motor", **{**EXAMPLE, "capacitor": "C3 100n 4V"}), ok=False)


@pytest.mark.parametrize("parameter, text", [
    ("supply", "0 V"), ("supply", "-6 V"), ("supply", "nan"), ("supply", "1e400 V"), ("supply", "6 A"), ("winding", "0 ohm"),
    ("winding", "M1"), ("winding", "6 V"), ("running_current", "180 mV"), ("capacitor", "100 V"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert f"dc-motor {parameter}" in told("dc-motor", **{**EXAMPLE, parameter: text})


def test_missing_and_unknown_parameters() -> None:
    assert "dc-motor needs winding" in told("dc-motor", **{**EXAMPLE, "winding": ""})
    assert "did you mean running_current" in told("dc-motor", **EXAMPLE, runing_current="1 A")
