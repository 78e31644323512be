"""Button input against nodal analysis and a numerical integration."""

from __future__ import annotations

import math

import numpy as np
import pytest
from nodal import Network
from scipy.integrate import solve_ivp

from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block

BASE = {"supply": "5 V", "pull_up": "R12 10k", "series": "R13 1k", "capacitor": "C9 100n"}
SHORT = 1e-4


def block(**changes: object) -> Block:
    parameters = {k: v for k, v in {**BASE, **changes}.items() if v != ""}
    built, troubles = build_block("button-input", parameters, Mains())
    assert built is not None, troubles
    return built


def network(
    pull_up: float = 10e3, series: float = 1e3, contact: float = math.inf, leak: float = math.inf
) -> tuple[float, float, float]:
    """(volts at the contact, volts at the pin, amperes through the contact) of the resistive circuit."""
    net = Network().voltage("s", "top", "0", 5.0).resistor("top", "node", pull_up)
    net.resistor("node", "pin", series).resistor("node", "0", contact).resistor("pin", "0", leak)
    volts, _ = net.solve()
    node = volts.get("node", 0.0)
    return node, volts.get("pin", 0.0), 0.0 if math.isinf(contact) else node / contact


def test_contact_limit_brings_the_pin_just_to_the_threshold() -> None:
    """At contact_limit the network's node stands at 0.3 of the supply: VIL of 74HC parts is 0.3·VCC (data sheets, from memory)."""
    limit = block().values["contact_limit"].value
    assert limit is not None
    assert network(contact=limit)[0] == pytest.approx(0.3 * 5.0, rel=1e-4)


def test_contact_limit_by_hand() -> None:
    """A TTL input, low below 0.8 V of 5 V (standard TTL, from memory): 4k7·0.16/0.84 = 895 Ω."""
    assert block(pull_up="R1 4k7", logic_low="0.16").values["contact_limit"].value == pytest.approx(
        895.2, abs=0.1
    )


def test_release_against_a_numerical_integration() -> None:
    """After release the pin reaches 63.2 % of the supply in one time constant (1 − 1/e)."""
    tau = block().values["release_time_constant"].value
    assert tau is not None
    run = solve_ivp(lambda t, v: (5.0 - v) / (11e3 * 100e-9), (0, tau), [0.0], rtol=1e-9, atol=1e-12)
    assert run.y[0, -1] == pytest.approx(5.0 * (1 - math.exp(-1)), rel=1e-6)


# what each failure does to the network, pressed and released
FAULTS = {
    ("R12", "open"): {"pull_up": math.inf}, ("R12", "high"): {"pull_up": 20e3},
    ("R13", "open"): {"series": math.inf}, ("R13", "high"): {"series": 2e3},
    ("C9", "open"): {}, ("C9", "short"): {"leak": SHORT}, ("C9", "low"): {},
    ("button", "open"): {}, ("button", "short"): {"contact": SHORT}, ("button", "high resistance"): {},
}  # fmt: skip
PRESSED = {"open": math.inf, "high resistance": 10e3}


def test_failures_against_nodal_analysis() -> None:
    """Idle voltage at the pin and current through the pressed contact, for every failure."""
    failures = block().failures
    assert {(f.part, f.failed) for f in failures} == set(FAULTS)
    for failure in failures:
        fault = FAULTS[failure.part, failure.failed]
        _, idle, _ = network(**fault)
        assert failure.values["idle_voltage"].value == pytest.approx(idle, abs=0.01), (
            failure.part + failure.failed
        )
        contact = PRESSED.get(failure.failed, SHORT) if failure.part == "button" else SHORT
        _, _, pressed = network(**{**fault, "contact": contact})
        assert failure.values["press_current"].value == pytest.approx(pressed, rel=1e-3, abs=1e-8), (
            failure.part + failure.failed
        )


def test_without_a_series_resistor() -> None:
    """series left out, 0 and 0R are one thing: the time constant is that of the pull-up (10 kΩ·100 nF = 1 ms)."""
    for series in ("", "0", "0R", "0 ohm"):
        found = block(series=series)
        assert found.values["release_time_constant"].value == pytest.approx(1e-3, rel=1e-12)
        assert [f.part for f in found.failures if f.part == "series resistor"] == []


def test_band_corners() -> None:
    """Resistors ±5 %, capacitor ±10 % where the note is silent: 11 kΩ·100 nF from 0.855 to 1.155 of itself."""
    result = block().values["release_time_constant"]
    assert (result.low, result.high) == (
        pytest.approx(1.1e-3 * 0.95 * 0.9),
        pytest.approx(1.1e-3 * 1.05 * 1.1),
    )


@pytest.mark.parametrize("doubled", ["pull_up", "capacitor"])
def test_scaling(doubled: str) -> None:
    """Without a series resistor, twice the pull-up or twice the capacitor is twice the time."""
    values = {"pull_up": ("R1 10k", "R1 20k"), "capacitor": ("C1 100n", "C1 200n")}[doubled]
    first, second = (block(series="", **{doubled: v}).values["release_time_constant"].value for v in values)
    assert np.isclose(second, 2 * first, rtol=1e-12)


def test_checks() -> None:
    """A capacitor below the supply fails; tiny press currents and bare capacitors are remarked on."""
    assert [c.ok for c in block(capacitor="C9 100n 4V").checks if c.part == "C9"] == [False]
    assert any("silver" in c.what for c in block(pull_up="R12 100k").checks)
    assert any(
        "straight through the contact" in c.what for c in block(series="", capacitor="C9 10u 16V").checks
    )
    assert not block().checks


@pytest.mark.parametrize("changes, words", [
    ({"logic_low": "1.5"}, "is not below 1"), ({"logic_low": "0"}, "is zero"), ({"pull_up": "0"}, "button-input pull_up"),
    ({"supply": "5 A"}, "a voltage is expected"), ({"series": "-1k"}, "button-input series"),
])  # fmt: skip
def test_bad_input(changes: dict[str, object], words: str) -> None:
    """Refused in words that name what is accepted."""
    built, troubles = build_block("button-input", {**BASE, **changes}, Mains())
    assert built is None
    assert any(words in f"{t.what} {t.hint}" for t in troubles), troubles
