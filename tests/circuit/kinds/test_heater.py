"""Heater, held against the steam tables, an integration over time, and circuit theory."""

from __future__ import annotations

import math

import pytest
from bench import PLAIN, after, failed, made, said, told, value
from hypothesis import given, settings
from hypothesis import strategies as st
from nodal import Network
from scipy.integrate import solve_ivp

EXAMPLE = {
    "power": "E1 2200 W",
    "rated_voltage": "230 V",
    "contact": "RL1 16A",
    "water": "1.7 l",
    "from_": "20 C",
    "to": "100 C",
}
# Enthalpy of liquid water at saturation, kJ/kg, at 20, 40, 60, 80 and 100 °C. Source: steam tables (IAPWS), from memory.
ENTHALPY = {20: 83.9, 40: 167.5, 60: 251.2, 80: 335.0, 100: 419.1}


@pytest.mark.parametrize("start, end", [(20, 100), (20, 60), (40, 80), (60, 100)])
def test_heat_time_of_water_against_the_steam_tables(start: int, end: int) -> None:
    """A constant 4186 J/(kg·K) stays within 0.5 % of the tables from 20 °C to the boil."""
    block = made("heater", PLAIN, **{**EXAMPLE, "from_": f"{start} C", "to": f"{end} C", "efficiency": "1"})
    by_table = 1.7 * 1e3 * (ENTHALPY[end] - ENTHALPY[start]) / 2200
    assert value(block, "heat_time") == pytest.approx(by_table, rel=0.005)


def test_kettle_of_two_kilowatts() -> None:
    """230² V²/2200 W = 24.05 Ω and 9.57 A, worked by hand. Joule's law and Ohm's law."""
    block = made("heater", **EXAMPLE)
    assert value(block, "resistance") == pytest.approx(24.045, rel=1e-4)
    assert value(block, "current") == pytest.approx(9.565, rel=1e-4)
    assert value(block, "power_at_supply") == pytest.approx(2200)


def test_element_for_240_v_on_230_v() -> None:
    """(230/240)² of its power: a 3 kW element gives 2755 W. Source: the usual handbook example on rated voltages."""
    block = made("heater", power="3 kW", rated_voltage="240 V")
    assert value(block, "power_at_supply") == pytest.approx(2755, abs=0.5)


def test_heating_against_an_integration_over_time() -> None:
    """1.5 kg at 3300 J/(kg·K) with 40 % of 95 W: scipy integrates until 37.7 °C."""
    block = made("heater", PLAIN, power="95 W", rated_voltage="230 V", mass="1.5 kg", heat_capacity="3300", from_="20 C",
                 to="37.7 C", efficiency="0.4")  # fmt: skip
    reached = lambda t, y: y[0] - 37.7
    reached.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(lambda t, y: [95 * 0.4 / (1.5 * 3300)], (0, 1e5), [20.0], events=reached, max_step=100)
    assert value(block, "heat_time") == pytest.approx(run.t[-1], rel=1e-6)


def test_band_of_the_mains_goes_in_squared() -> None:
    """±10 % of voltage is 0.81 to 1.21 of the power. EN 50160 for the ±10 %."""
    block = made("heater", **{**EXAMPLE, "power": "E1 2200 W 0%", "efficiency": "0.9"})
    power, time = block.values["power_at_supply"], block.values["heat_time"]
    assert (power.low, power.high) == pytest.approx((0.81 * 2200, 1.21 * 2200))
    assert time.low / value(block, "heat_time") == pytest.approx(1 / 1.21)
    assert block.values["resistance"].low == block.values["resistance"].high


@pytest.mark.parametrize("rated, supply", [("230 V", 230.0), ("240 V", 230.0), ("220 V", 230.0), ("184 V", 230.0), ("12 V", 12.0),
                                            ("110 V", 110.0), ("400 V", 400.0)])  # fmt: skip
def test_supply_is_the_mains_only_where_the_rating_is_near_it(rated: str, supply: float) -> None:
    block = made("heater", power="60 W 0%", rated_voltage=rated)
    assert block.point.supply == supply
    assert (block.axes != []) is (supply == 230.0)


def test_rating_plate_with_a_range() -> None:
    """1850 to 2200 W at 220 to 240 V: 22.0 to 31.1 Ω, by hand at the corners; no single value."""
    result = made("heater", power="1850..2200 W", rated_voltage="220..240 V").values["resistance"]
    assert result.value is None
    assert (result.low, result.high) == pytest.approx((220**2 / 2200, 240**2 / 1850))


def test_contact_is_judged_at_the_top_of_the_mains() -> None:
    """9.57 A at 230 V are 10.5 A at 253 V, also where the note states 230 V exactly."""
    assert "rated 10 A" in said(made("heater", **{**EXAMPLE, "contact": "thermostat 10A"}), ok=False)
    assert "rated 10 A" in said(
        made("heater", **{**EXAMPLE, "contact": "thermostat 10A"}, supply="230 V"), ok=False
    )
    check = made("heater", **{**EXAMPLE, "power": "E1 2200 W 0%"}).checks[0]
    assert check.ok and check.margin == pytest.approx(1 - 1.1 * 2200 / 230 / 16)
    # On a stated low-voltage supply there is no mains band.
    assert made("heater", power="108 W 0%", rated_voltage="12 V", contact="RL1 10A").checks[
        0
    ].margin == pytest.approx(0.1)


def test_an_element_on_twice_its_voltage_is_told() -> None:
    """Twice the voltage across the same resistance is four times the power (Joule's law)."""
    assert "takes" in said(made("heater", power="500 W", rated_voltage="115 V", supply="230 V"), ok=False)


def test_failures_by_ohms_law() -> None:
    """230²/2200 = 24.05 Ω. A tenth of the supply across the contact leaves the element 0.9 of it: 0.81 of the power. By hand."""
    block = made("heater", PLAIN, **EXAMPLE)
    nothing = {"current": 0.0, "power_at_supply": 0.0, "heat_time": math.inf}
    assert after(block, "E1", "open") == {"resistance": math.inf, **nothing}
    away = after(block, "RL1", "open")
    assert away == {"resistance": pytest.approx(24.045, rel=1e-4), **nothing}
    stuck = failed(block, "RL1", "short")
    assert stuck.dangerous and stuck.values["current"].value == pytest.approx(2200 / 230)
    burnt = after(block, "RL1", "high resistance")  # a tenth of the supply is across the contact
    assert burnt["power_at_supply"] == pytest.approx(0.81 * 2200)


@settings(deadline=None)
@given(st.floats(10, 5000), st.floats(6, 400), st.floats(0.5, 2.0))
def test_power_goes_with_the_square_of_the_supply(power: float, rated: float, share: float) -> None:
    block = made("heater", power=f"{power!r} W", rated_voltage=f"{rated!r} V", supply=f"{rated * share!r} V")
    assert value(block, "power_at_supply") == pytest.approx(power * share**2, rel=1e-9)


def test_cautions_follow_the_supply() -> None:
    assert made("heater", **EXAMPLE).cautions == ("mains", "heat")
    assert made("heater", power="60 W", rated_voltage="12 V").cautions == ("heat",)


def test_no_time_without_something_to_heat() -> None:
    assert (
        "heat_time" not in made("heater", power="95 W", rated_voltage="230 V", from_="20 C", to="40 C").values
    )


@pytest.mark.parametrize(
    "left_out, words", [("from_", "to is stated without from"), ("to", "from is stated without to")]
)
def test_one_temperature_alone_gives_no_time_and_says_so(left_out: str, words: str) -> None:
    """Each may be left out by itself: the value that depends on it is then absent, the others stay."""
    block = made("heater", **{**EXAMPLE, left_out: ""})
    assert list(block.values) == ["resistance", "power_at_supply", "current"]
    assert words in said(block, ok=True)


@pytest.mark.parametrize("changes, words", [
    ({"mass": "1 kg"}, "water and mass are both given"), ({"heat_capacity": "2000"}, "water has its own heat capacity"),
    ({"to": "20 C"}, "is not above 20 C"),
    ({"efficiency": "1.2"}, "more than all of the heat"), ({"power": ""}, "neither power nor elements"),
])  # fmt: skip
def test_contradictory_and_missing_parameters(changes: dict[str, str], words: str) -> None:
    assert words in told("heater", **{**EXAMPLE, **changes})


@pytest.mark.parametrize("parameter, text", [
    ("power", "0 W"), ("power", "-95 W"), ("power", "nan"), ("power", "1e400 W"), ("power", "12 A"), ("power", "E1"),
    ("rated_voltage", "0 V"), ("rated_voltage", "230 W"), ("water", "1.7 kg"), ("from_", "-400 C"), ("efficiency", "0"),
    ("supply", "x"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert f"heater {parameter.rstrip('_')}" in told("heater", **{**EXAMPLE, parameter: text})


def test_a_temperature_without_its_unit_is_told() -> None:
    assert "15: the unit is missing; a temperature is expected, such as 38 C" in told(
        "heater", **{**EXAMPLE, "from_": "15"}
    )


def test_unknown_parameter() -> None:
    assert "did you mean rated_voltage" in told("heater", **EXAMPLE, rated_volts="230 V")


def test_positions_against_nodal_analysis() -> None:
    """1000 W and 1200 W at 230 V: alone, side by side, in series. Source: modified nodal analysis; 545 W in series by hand."""
    given = {"rated_voltage": "230 V", "elements": ["E1 1000 W", "E2 1200 W"]}
    positions = {"low": ["E1"], "high": ["E1", "E2"], "keep": {"series": ["E1", "E2"]}}
    block = made("heater", PLAIN, **given, positions=positions)
    ohms = [230**2 / 1000, 230**2 / 1200]
    single = Network().voltage("s", "l", "0", 230.0).resistor("l", "0", ohms[0])
    both = Network().voltage("s", "l", "0", 230.0).resistor("l", "0", ohms[0]).resistor("l", "0", ohms[1])
    chain = Network().voltage("s", "l", "0", 230.0).resistor("l", "m", ohms[0]).resistor("m", "0", ohms[1])
    for name, net in (("low", single), ("high", both), ("keep", chain)):
        amperes = net.solve()[1]["s"]
        assert value(block, f"{name}.current") == pytest.approx(amperes, rel=1e-5)
        assert value(block, f"{name}.power") == pytest.approx(230 * amperes, rel=1e-5)
        assert value(block, f"{name}.resistance") == pytest.approx(230 / amperes, rel=1e-5)
    assert value(block, "keep.power") == pytest.approx(545.45, abs=0.01)
    assert value(block, "resistance") == pytest.approx(230 / both.solve()[1]["s"], rel=1e-5)


def test_an_open_element_of_two() -> None:
    """What is left: 1200 W at "high", nothing in series. By hand."""
    given = {"rated_voltage": "230 V", "elements": ["E1 1000 W", "E2 1200 W"]}
    block = made("heater", PLAIN, **given, positions={"high": ["E1", "E2"], "keep": {"series": ["E1", "E2"]}})
    cut = after(block, "E1", "open")
    assert cut["high.power"] == pytest.approx(1200) and cut["keep.power"] == 0.0
    assert cut["resistance"] == pytest.approx(230**2 / 1200)


def test_thermostat() -> None:
    """Opens at 60 °C, closes at 52 °C: 8 K; its contact is held against the current; shorted it is dangerous."""
    given = {"power": "E1 2200 W", "rated_voltage": "230 V", "opens": "60 C", "closes": "52 C"}
    block = made("heater", **given, thermostat="S2 5A")
    assert value(block, "thermostat_band") == pytest.approx(8)
    assert "S2: switches" in said(block, False) and failed(block, "S2", "short").dangerous
    assert after(block, "S2", "open")["current"] == 0.0
    assert "closes" in told("heater", **{**given, "closes": "70 C"})


def test_power_or_elements() -> None:
    assert "power" in told("heater", rated_voltage="230 V")
    assert "E3" in told("heater", rated_voltage="230 V", elements=["E1 1 kW"], positions={"on": ["E3"]})
