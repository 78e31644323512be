"""Off-line start: against scipy's integration, a data-sheet style worked example, and each resistor on its own."""

from __future__ import annotations

import math

import pytest
from bench import PLAIN, after, failed, made, said, told, value
from nodal import Network
from scipy.integrate import solve_ivp

from generator.circuit.circuit import Mains

BUS = 230 * math.sqrt(2)
EXAMPLE = {
    "start_resistors": ["R1 330k 0.25W 350V", "R2 330k 0.25W 350V"], "capacitor": "C9 22u 35V", "start_voltage": "16 V",
    "start_current": "50 uA",
}  # fmt: skip


def reaches(*, ohm: float, farad: float, ampere: float, volt: float) -> float:
    """When the capacitor reaches volt; inf if not within five time constants. Integrated by scipy."""

    def there(t: float, state: list[float]) -> float:
        return state[0] - volt

    there.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        lambda t, v: ((BUS - v) / ohm - ampere) / farad,
        (0, 5 * ohm * farad),
        [0.0],
        events=there,
        rtol=1e-10,
        atol=1e-10,
    )
    return float(run.t_events[0][0]) if run.t_events[0].size else math.inf


@pytest.mark.parametrize(
    "ohms, farad, ampere, volt",
    [
        ((330e3, 330e3), 22e-6, 50e-6, 16.0),
        ((1e6,), 47e-6, 0.0, 8.5),
        ((220e3, 220e3, 220e3), 10e-6, 300e-6, 16.0),
        ((1e6,), 10e-6, 320e-6, 12.0),
    ],
)
def test_start_time_against_an_integration(
    ohms: tuple[float, ...], farad: float, ampere: float, volt: float
) -> None:
    """Source: scipy solve_ivp of the capacitor charged through the resistors with the start-up current drawn."""
    block = made(
        "offline-start", PLAIN, start_resistors=[f"R{i} {ohm:g}" for i, ohm in enumerate(ohms, 1)], capacitor=f"C9 {farad * 1e6:g}u",
        start_voltage=f"{volt} V", start_current=f"{ampere * 1e6:g} uA",
    )  # fmt: skip
    assert value(block, "start_time") == pytest.approx(
        reaches(ohm=sum(ohms), farad=farad, ampere=ampere, volt=volt), rel=1e-6
    )


def test_values_by_hand() -> None:
    """(325.3 − 16) V/660 kΩ = 468.6 µA; 309.3² V²/660 kΩ = 144.9 mW; the charge 22 µF·16 V at about 430 µA: 0.82 s."""
    block = made("offline-start", **EXAMPLE)
    assert value(block, "bus") == pytest.approx(BUS)
    assert value(block, "start_current_available") == pytest.approx(468.6e-6, abs=0.1e-6)
    assert value(block, "resistor_power") == pytest.approx(0.1449, abs=1e-4)
    assert value(block, "start_time") == pytest.approx(22e-6 * 16 / 430e-6, rel=0.02)


def test_never_starts_where_the_chip_draws_it_all() -> None:
    """325 V/1 MΩ = 325 µA, drawn 400 µA: the capacitor stays below 0 V of headroom (Ohm's law)."""
    block = made("offline-start", **{**EXAMPLE, "start_resistors": ["R1 1M"], "start_current": "400 uA"})
    assert math.isinf(value(block, "start_time"))
    assert "start resistors" in said(block, False)


def test_start_voltage_above_the_bus() -> None:
    block = made("offline-start", **{**EXAMPLE, "start_voltage": "400 V"})
    assert value(block, "start_current_available") == 0.0 and value(block, "resistor_power") == 0.0
    assert math.isinf(value(block, "start_time"))
    assert "start resistors" in said(block, False)
    without = said(made("offline-start", **{**EXAMPLE, "start_voltage": "400 V", "start_current": ""}), False)
    assert "a bus of 293 V at minimum mains, start-up needs 400 V" in without  # 207 V·√2


def test_failures_against_nodal_analysis() -> None:
    """Each resistor gone high, the capacitor shorted: current through the string with the chip's pin held. Source: numpy."""
    block = made("offline-start", PLAIN, **EXAMPLE)
    for first, second, pin, part, mode in (
        (660e3, 330e3, 16.0, "R1", "high"),
        (330e3, 660e3, 16.0, "R2", "high"),
        (330e3, 330e3, 0.0, "C9", "short"),
    ):
        net = (
            Network()
            .voltage("bus", "b", "0", BUS)
            .voltage("pin", "p", "0", pin)
            .resistor("b", "m", first)
            .resistor("m", "p", second)
        )
        _, currents = net.solve()
        assert after(block, part, mode)["start_current_available"] == pytest.approx(
            currents["bus"], rel=2e-3
        )  # its nodes carry 1 GΩ
    assert math.isinf(after(block, "C9", "short")["start_time"] or 0.0)
    assert after(block, "C9", "open")["start_time"] == 0.0
    for part in ("R1", "R2"):
        shown = after(block, part, "open")
        assert shown["start_current_available"] == 0.0 and math.isinf(shown["start_time"] or 0.0)
        assert shown["bus"] == pytest.approx(BUS)
        assert failed(block, part, "open").dangerous


def test_each_resistor_on_its_own() -> None:
    """Unlike resistors: the larger takes 358 V·(494/(494 + 95)) = 300 V with the capacitor shorted, at the ends of 5 %."""
    given = {**EXAMPLE, "start_resistors": ["R1 470k 0.25W 250V", "R2 100k 0.25W 250V"]}
    text = said(made("offline-start", **given), False)
    assert "R1: sees" in text and "R2" not in text
    # 357.8²·493.5/(493.5 + 95)² = 182 mW against 125 mW
    small = made("offline-start", **{**EXAMPLE, "start_resistors": ["R1 470k 0.125W 350V", "R2 100k 0.125W"]})
    assert "R1: dissipates" in said(small, False)
    single = made("offline-start", **{**EXAMPLE, "start_resistors": ["R1 660k 250V"]})
    assert "R1: sees" in said(single, False)


def test_resistor_without_a_stated_voltage_is_remarked_on() -> None:
    """Plain quarter-watt film resistors stand 250 V: typical data sheets (from memory)."""
    block = made("offline-start", **{**EXAMPLE, "start_resistors": ["R1 680k 0.25W"]})
    assert any(c.remark and "250 V" in c.what for c in block.checks)


def test_voltage_of_the_capacitor() -> None:
    """It charges up to the start voltage, 16 V: too much for 10 V."""
    for rated, ok in (("10V", False), ("25V", True)):
        assert "C9: sees" in said(made("offline-start", **{**EXAMPLE, "capacitor": f"C9 22u {rated}"}), ok)


def test_bands_and_a_wide_mains() -> None:
    """Slowest: mains low, resistors and capacitor high. Source: the integration at that corner."""
    block = made("offline-start", Mains(band=0.1), **{**EXAMPLE, "start_current": ""})
    slow = -693e3 * 26.4e-6 * math.log(1 - 16 / (0.9 * BUS))  # charging of a capacitor, by hand
    assert block.values["start_time"].high == pytest.approx(slow, rel=1e-9)
    assert block.values["start_current_available"].high == pytest.approx((1.1 * BUS - 16) / 627e3, rel=1e-9)


@pytest.mark.parametrize(
    "wrong, words",
    [
        ({"start_voltage": "0"}, "zero"), ({"start_voltage": "-16 V"}, "below zero"), ({"start_voltage": "nan"}, "not a value"),
        ({"start_voltage": "1e400 V"}, "not a number"), ({"capacitor": "C9 35V"}, "35V is a voltage"), ({"start_resistors": ""}, "needs start_resistors"),
        ({"start_current": "5 V"}, "a voltage"), ({"start_resistor": "R1 330k"}, "start_resistors"), ({"start_resistors": ["R1 33 V"]}, "resistor"),
    ],
)  # fmt: skip
def test_bad_input_is_told(wrong: dict[str, str], words: str) -> None:
    text = told("offline-start", **{**EXAMPLE, **wrong})
    assert words in text
    assert "offline-start" in text
