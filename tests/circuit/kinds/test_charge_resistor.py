"""Charging resistor: Ohm's law by nodal analysis, rates by the standard, and what lithium must not be charged with."""

from __future__ import annotations

import pytest
from bench import PLAIN, after, failed, made, said, told, value
from nodal import Network

EXAMPLE = {
    "supply": "6 V",
    "battery": "2.8 V",
    "resistor": "R1 22 1W",
    "capacity": "1.8 Ah",
    "chemistry": "ni-mh",
}


@pytest.mark.parametrize("supply, battery, ohm", [(6.0, 2.8, 22.0), (12.0, 7.2, 47.0), (5.0, 4.1, 1.0)])
def test_current_against_nodal_analysis(supply: float, battery: float, ohm: float) -> None:
    """Source: numpy, two sources with a resistor between them."""
    net = (
        Network()
        .voltage("supply", "s", "0", supply)
        .voltage("battery", "b", "0", battery)
        .resistor("s", "b", ohm)
    )
    _, currents = net.solve()
    block = made("charge-resistor", PLAIN, supply=f"{supply} V", battery=f"{battery} V", resistor=f"R1 {ohm}")
    assert value(block, "current") == pytest.approx(currents["supply"], rel=1e-6)
    assert value(block, "resistor_power") == pytest.approx(currents["supply"] * (supply - battery), rel=1e-6)


def test_rate_by_hand() -> None:
    """3.2 V/22 Ω = 145.5 mA into 1.8 Ah: 0.0808 of its capacity an hour. By hand."""
    assert value(made("charge-resistor", **EXAMPLE), "c_rate") == pytest.approx(0.0808, abs=1e-4)


@pytest.mark.parametrize("resistor, ok", [("R1 22", True), ("R1 18", True), ("R1 15", False)])
def test_nickel_is_charged_at_a_tenth(resistor: str, ok: bool) -> None:
    """0.1 I_t for 16 h: IEC 61951-1 and -2 (from memory). 3.2 V at −5 %: 153, 187 and 225 mA against 180 mA; the middle one
    passes only at nominal values."""
    block = made("charge-resistor", **{**EXAMPLE, "resistor": resistor})
    expected = ok and resistor != "R1 18"
    assert ("battery" in said(block, True)) is expected
    assert ("battery" in said(block, False)) is not expected


@pytest.mark.parametrize(
    "supply, battery, refused",
    [
        ("5 V", "3.7 V", True),
        ("4.2 V", "3.7 V", False),
        ("9 V", "7.4 V", True),
        ("8.4 V", "7.4 V", False),
        ("12.6 V", "11.1 V", False),
        ("19 V", "16.8 V", True),
    ],
)
def test_lithium_is_refused(supply: str, battery: str, refused: bool) -> None:
    """A supply above 4.2 V a cell drives lithium cells beyond full (cell data sheets, from memory)."""
    block = made("charge-resistor", supply=supply, battery=battery, resistor="R1 10", chemistry="li-ion")
    assert ("bare resistor" in said(block, False)) is refused
    assert "bare resistor" not in said(block, True)
    assert block.cautions == ("lithium",)


def test_primary_cells_are_refused() -> None:
    """Alkaline cells carry the words not to be charged (IEC 60086-5, from memory)."""
    assert "must not be charged" in said(
        made("charge-resistor", **{**EXAMPLE, "chemistry": "alkaline"}), False
    )


def test_supply_below_the_battery() -> None:
    """Nothing flows the right way: 0 A, and a check says so."""
    block = made("charge-resistor", **{**EXAMPLE, "supply": "2.5 V"})
    assert value(block, "current") == 0.0 and value(block, "resistor_power") == 0.0
    assert "does not charge" in said(block, False)
    tight = said(
        made("charge-resistor", **{**EXAMPLE, "supply": "3 V 10%"}), False
    )  # 2.7 V at its lowest, under 2.8 V
    assert "may not charge" in tight and "does not charge" not in tight


def test_failures_against_nodal_analysis() -> None:
    """Resistor gone high; one of two cells shorted. Source: numpy."""
    block = made("charge-resistor", PLAIN, **EXAMPLE)
    for battery, ohm, part, mode in (
        (2.8, 44.0, "R1", "high"),
        (1.4, 22.0, "a cell of the battery", "short"),
    ):
        net = (
            Network()
            .voltage("supply", "s", "0", 6.0)
            .voltage("battery", "b", "0", battery)
            .resistor("s", "b", ohm)
        )
        _, currents = net.solve()
        assert after(block, part, mode)["current"] == pytest.approx(currents["supply"], rel=1e-6)
    assert after(block, "R1", "open")["current"] == 0.0
    assert after(block, "a cell of the battery", "open")["current"] == 0.0
    assert "hotter" in failed(block, "a cell of the battery", "short").remark


def test_resistor_power_at_the_bad_end() -> None:
    """3.2² V²/22 Ω = 465 mW, but at −5 % 490 mW: rated 480 mW fails, rated 500 mW passes. Joule's law, by hand."""
    assert "R1" in said(made("charge-resistor", **{**EXAMPLE, "resistor": "R1 22 0.5W"}), True)
    assert "R1" in said(made("charge-resistor", **{**EXAMPLE, "resistor": "R1 22 0.48W"}), False)
    block = made("charge-resistor", **EXAMPLE)
    assert block.values["current"].high == pytest.approx(3.2 / 20.9)
    assert block.values["current"].low == pytest.approx(3.2 / 23.1)


@pytest.mark.parametrize(
    "wrong, words",
    [
        ({"supply": "0"}, "zero"), ({"supply": "-6 V"}, "below zero"), ({"battery": "nan"}, "not a value"), ({"battery": "1e400 V"}, "not a number"),
        ({"capacity": "5 V"}, "a voltage"), ({"resistr": "22"}, "resistor"), ({"resistor": ""}, "needs resistor"), ({"chemistry": "ni-mg"}, "ni-mh"),
    ],
)  # fmt: skip
def test_bad_input_is_told(wrong: dict[str, str], words: str) -> None:
    text = told("charge-resistor", **{**EXAMPLE, **wrong})
    assert words in text
    assert "charge-resistor" in text
