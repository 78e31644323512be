"""Voltage divider against a handbook's exercise and nodal analysis."""

from __future__ import annotations

import math

import pytest
from bench import after, made, told, value
from nodal import Network

from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block


def block(**parameters: object) -> Block:
    built, troubles = build_block("divider", parameters, Mains())
    assert built is not None, troubles
    return built


def network(
    supply: float, upper: float, lower: float, load: float = math.inf, current: float = 0.0
) -> tuple[float, float]:
    """(volts at the tap, amperes from the supply)."""
    net = Network().voltage("s", "top", "0", supply).resistor("top", "tap", upper).resistor("tap", "0", lower)
    net.resistor("tap", "0", load)
    if current:
        net.current("tap", "0", current)
    volts, amperes = net.solve()
    return volts["tap"], amperes["s"]


def test_exercise_of_a_handbook() -> None:
    """30 V across 10 kΩ and 10 kΩ: 15 V open, 10 V with 10 kΩ on it, 5 kΩ as seen by a load.
    Source: Horowitz and Hill, The Art of Electronics, exercise on Thévenin equivalents in chapter 1 (from memory)."""
    values = block(supply="30 V", upper="10k", lower="10k", load="10k").values
    assert values["unloaded_output"].value == pytest.approx(15.0)
    assert values["output"].value == pytest.approx(10.0)
    assert values["source_resistance"].value == pytest.approx(5e3)


@pytest.mark.parametrize(
    "load, network_load", [("", {}), ("R7 22k", {"load": 22e3}), ("50 uA", {"current": 50e-6})]
)
def test_against_nodal_analysis(load: str, network_load: dict[str, float]) -> None:
    """Tap, current and powers of the loaded divider."""
    given = {"supply": "12 V", "upper": "R5 33k 1%", "lower": "R6 10k 1%", **({"load": load} if load else {})}
    values = block(**given).values
    tap, current = network(12.0, 33e3, 10e3, **network_load)
    assert values["output"].value == pytest.approx(tap, rel=1e-4)
    assert values["current"].value == pytest.approx(current, rel=1e-4)
    assert values["upper_power"].value == pytest.approx((12 - tap) * current, rel=1e-3)
    assert values["lower_power"].value == pytest.approx(tap**2 / 10e3, rel=1e-3)


@pytest.mark.parametrize(
    "load, network_load", [("", {}), ("R7 22k", {"load": 22e3}), ("50 uA", {"current": 50e-6})]
)
def test_at_the_cut_points_supply_the_tap_is_there(load: str, network_load: dict[str, float]) -> None:
    """Put back into the network, <name>.supply brings the loaded tap to the stated voltage."""
    given = {
        "supply": "12 V",
        "upper": "R5 33k",
        "lower": "R6 10k",
        "cut_points": {"trip": {"output": "2 V"}},
        **({"load": load} if load else {}),
    }
    supply = block(**given).values["trip.supply"].value
    assert supply is not None
    assert network(supply, 33e3, 10e3, **network_load)[0] == pytest.approx(2.0, rel=1e-4)


@pytest.mark.parametrize(
    "load, network_load", [("", {}), ("R7 22k", {"load": 22e3}), ("50 uA", {"current": 50e-6})]
)
def test_failures_against_nodal_analysis(load: str, network_load: dict[str, float]) -> None:
    """Open and high resistors; a tap that a current load would pull below 0 stays at 0."""
    given = {"supply": "12 V", "upper": "R5 33k", "lower": "R6 10k", **({"load": load} if load else {})}
    faults = {
        ("R5", "open"): (math.inf, 10e3),
        ("R5", "high"): (66e3, 10e3),
        ("R6", "open"): (33e3, math.inf),
        ("R6", "high"): (33e3, 20e3),
    }
    loads = (
        {("R7", "open"): {"load": math.inf}, ("R7", "high"): {"load": 44e3}} if load.startswith("R7") else {}
    )
    failures = block(**given).failures
    assert {(f.part, f.failed) for f in failures} == {*faults, *loads}
    for failure in failures:
        upper, lower = faults.get((failure.part, failure.failed), (33e3, 10e3))
        tap, _ = network(12.0, upper, lower, **loads.get((failure.part, failure.failed), network_load))
        assert failure.values["output"].value == pytest.approx(max(tap, 0.0), rel=1e-3, abs=1e-3), failure
        bare, _ = network(12.0, upper, lower)
        assert failure.values["unloaded_output"].value == pytest.approx(bare, rel=1e-3, abs=1e-3), failure
        drawn = (12.0 - max(tap, 0.0)) / upper
        assert failure.values["current"].value == pytest.approx(drawn, rel=1e-3, abs=2e-8), (
            failure
        )  # the meters draw 12 nA
        assert failure.dangerous == ((failure.part, failure.failed) == ("R6", "open"))


def test_power_has_its_extreme_inside_the_box() -> None:
    """Lower resistor 10 kΩ ±20 % below 10 kΩ: its power V²·L/(U + L)² is greatest at L = U, 10²/4/10k = 2.5 mW (power transfer
    theorem), and smallest at L = 8 kΩ: 100·8k/18k² = 2.469 mW. U is held within 0.001 %."""
    result = block(supply="10 V", upper="R1 10k 0.001%", lower="R2 10k 20%").values["lower_power"]
    assert result.high == pytest.approx(2.5e-3, rel=1e-4)
    assert result.low == pytest.approx(100 * 8e3 / 18e3**2, rel=1e-4)


def test_output_band_by_hand() -> None:
    """5 % parts where the note is silent: 12·9500/(9500 + 34650) to 12·10500/(10500 + 31350)."""
    result = block(supply="12 V", upper="R5 33k", lower="R6 10k").values["output"]
    assert (result.low, result.high) == (pytest.approx(12 * 9500 / 44150), pytest.approx(12 * 10500 / 41850))


def test_a_load_that_takes_all() -> None:
    """1 mA cannot come through 33 kΩ from 12 V: the tap is at 0, not below, and a check says so."""
    found = block(supply="12 V", upper="R5 33k", lower="R6 10k", load="1 mA")
    assert found.values["output"].value == 0.0
    assert [c.ok for c in found.checks] == [False]


def test_ratings_at_the_bad_end() -> None:
    """230 V across two 100 kΩ: 115 V and 0.132 W each at nominal; 5 % parts reach more than 0.132 W, so 0.13 W fails."""
    found = block(supply="230 V", upper="R1 100k 0.125W 200V", lower="R2 100k 0.25W 100V")
    told = {(c.part, c.what.split()[-1]): c.ok for c in found.checks}
    assert told == {("R1", "mW"): False, ("R1", "V"): True, ("R2", "mW"): True, ("R2", "V"): False}


@pytest.mark.parametrize("changes, words", [
    ({"upper": "-1k"}, "divider upper"), ({"lower": "-10k"}, "divider lower"), ({"supply": "12 A"}, "a voltage is expected"),
    ({"load": "12 V"}, "a load is a current"), ({"cut_points": {"trip": {"output": "0 V"}}}, "above zero"),
    ({"cut_points": {"trip": {"voltage": "1 V"}}}, "no such cut point"), ({"uper": "3k"}, "did you mean upper?"),
])  # fmt: skip
def test_bad_input(changes: dict[str, object], words: str) -> None:
    """Refused in words that name what is accepted."""
    built, troubles = build_block(
        "divider", {"supply": "12 V", "upper": "33k", "lower": "10k", **changes}, Mains()
    )
    assert built is None
    assert any(words in f"{t.what} {t.hint}" for t in troubles), troubles


def test_pin_behind_a_resistor_and_a_capacitor() -> None:
    """4.7 kΩ + 33k∥10k = 12.374 kΩ, with 100 nF 1.237 ms (RC low-pass, by hand). The pin reads as the tap; behind an open resistor
    it reads nothing, and 0 V with its capacitor shorted."""
    given = {
        "supply": "12 V",
        "upper": "R5 33k",
        "lower": "R6 10k",
        "series": "R7 4k7",
        "capacitor": "C2 100n",
    }
    block = made("divider", **given)
    assert value(block, "pin_time_constant") == pytest.approx(12.3744e3 * 100e-9, rel=1e-4)
    assert value(block, "output") == pytest.approx(12 * 10 / 43)
    assert "output" not in after(block, "R7", "open")
    assert after(block, "C2", "short")["output"] == 0.0
    assert "pin_time_constant" not in made("divider", supply="12 V", upper="33k", lower="10k").values


def test_capacitor_at_the_tap_itself() -> None:
    """Without a resistor before the pin the capacitor sees the divider alone: 33k∥10k·100 nF = 767 µs (RC circuit, by hand)."""
    block = made("divider", supply="12 V", upper="R5 33k", lower="R6 10k", capacitor="C2 100n")
    assert value(block, "pin_time_constant") == pytest.approx(330e6 / 43e3 * 100e-9)
    assert "0 Ω" not in block.values["pin_time_constant"].working


@pytest.mark.parametrize(("given", "output", "current"), [
    ({"upper": "R1 0", "lower": "R2 10k 0%"}, 12.0, 1.2e-3),
    ({"upper": "R1 0R", "lower": "R2 10k 0%", "load": "1k 0%"}, 12.0, 13.2e-3),
    ({"upper": "R1 0 ohm", "lower": "R2 10k 0%", "load": "1 mA 0%"}, 12.0, 2.2e-3),
    ({"upper": "R1 10k 0%", "lower": "R2 0R"}, 0.0, 1.2e-3),
])  # fmt: skip
def test_a_link_is_a_resistor_of_0_ohm(given: dict[str, str], output: float, current: float) -> None:
    """IEC 60062 marks them 0 or 000; Ohm's law for the rest."""
    block = made("divider", supply="12 V", **given)
    assert value(block, "output") == output and value(block, "current") == pytest.approx(current)


def test_two_links_short_the_supply() -> None:
    assert "both resistors are links" in told("divider", supply="12 V", upper="0R", lower="0R")
