"""Linear regulator, held against data-sheet arithmetic, nodal analysis and the conservation of energy."""

from __future__ import annotations

import math
from typing import Any

import pytest
from bench import after, made, said, told, value
from nodal import Network
from scipy.optimize import minimize_scalar

from generator.circuit.block import Block

EXAMPLE = {"input": "10 V", "input_high": "16 V", "series": "R2 10 1W", "output": "5 V", "load": "120 mA",
           "theta_ja": "65 K/W", "ambient": "35 C"}  # fmt: skip


def regulator(**changes: Any) -> Block:
    return made("linear-regulator", **{**EXAMPLE, **changes})


def refused(**changes: Any) -> str:
    return told("linear-regulator", **{**EXAMPLE, **changes})


def outside(*, supply: float, series: float, load: float, output: float = 5.0, dropout: float = 2.0, quiescent: float = 0.005,
            pass_element: str = "") -> dict[str, float]:  # fmt: skip
    """The same circuit by nodal analysis with a load resistor: a chip is a held output, or a fixed drop where it cannot hold.

    pass_element: "short" joins its input to its output, "open" takes the chip out.
    """

    def network(regime: str) -> dict[str, float]:
        net = (
            Network()
            .voltage("supply", "in", "0", supply)
            .resistor("in", "chip", series)
            .resistor("out", "0", load)
        )
        if regime != "open":
            net.current("chip", "0", quiescent)
        if regime == "regulated":
            net.current("chip", "0", output / load).voltage("out", "out", "0", output)
        elif regime == "dropout":
            net.voltage("pass", "chip", "out", dropout)
        elif regime == "short":
            net.voltage("pass", "chip", "out", 0.0)
        volts, amperes = net.solve()
        return {
            "drop": volts["in"] - volts["chip"],
            "chip": volts["chip"],
            "out": volts["out"],
            "in": amperes["supply"],
        }

    if pass_element:
        return network(pass_element)
    found = network("regulated")
    return found if found["chip"] - output >= dropout else network("dropout")


def test_dissipation_and_junction_of_a_data_sheet_example() -> None:
    """Input 9 V, output 5 V, 200 mA, 8 mA of its own, 65 K/W: 0.872 W, 81.7 °C.

    Source: P = (VI − VO)·IO + VI·IQ and TJ = TA + θJA·P as in the µA78xx data sheet, worked by hand; θJA of the
    package without a heat sink from memory.
    """
    block = regulator(input="9 V", input_high="", series="", load="200 mA", quiescent="8 mA", ambient="25 C")
    assert value(block, "dissipation") == pytest.approx(0.872)
    assert value(block, "junction_temperature") == pytest.approx(81.68)
    assert "series_drop" not in block.values and "series_power" not in block.values


def test_formula_without_a_series_resistor_has_no_empty_brackets() -> None:
    """(16 V − 5 V)·0.1 A + 16 V·5 mA = 1.18 W, by hand."""
    block = regulator(input="16 V", input_high="", series="", load="100 mA")
    assert block.values["dissipation"].formula == "(input_high − output)·load + input_high·quiescent"
    assert value(block, "dissipation") == pytest.approx(1.18)


def test_default_dropout_is_that_of_the_common_three_terminal_regulator() -> None:
    """2 V typical at full load. Source: µA78xx data sheet, from memory."""
    block = regulator(input="6.9 V", input_high="", series="", output="5 V 0%")
    assert not block.checks[0].ok
    assert regulator(input="7.1 V", input_high="", series="", output="5 V 0%").checks[0].ok


@pytest.mark.parametrize("supply", [12.0, 8.0, 7.0, 6.5, 4.0])
@pytest.mark.parametrize("series", [4.7, 33.0])
def test_resistor_load_against_nodal_analysis_in_every_regime(supply: float, series: float) -> None:
    """Regulated and in dropout, the output, the drop and the chip's heat are those of an independent circuit model."""
    block = regulator(input=f"{supply} V", input_high="", series=f"R2 {series} 1W", load="R7 50")
    found = outside(supply=supply, series=series, load=50.0)
    assert value(block, "output_voltage") == pytest.approx(found["out"], abs=1e-5)
    assert value(block, "series_drop") == pytest.approx(found["drop"], abs=1e-5)
    # conservation of energy: what comes in is what the load, the resistor and the chip turn into heat
    rest = supply * found["in"] - found["drop"] ** 2 / series - found["out"] ** 2 / 50.0
    assert value(block, "dissipation") == pytest.approx(rest, abs=1e-6)


@pytest.mark.parametrize("part, mode, circuit", [
    ("R2", "open", {"series": math.inf}), ("R2", "high", {"series": 66.0}),
    ("regulator", "open", {"pass_element": "open"}), ("regulator", "short", {"pass_element": "short"}),
])  # fmt: skip
def test_failures_against_nodal_analysis(part: str, mode: str, circuit: dict[str, Any]) -> None:
    """What a meter reads with one part failed is what the circuit model with that fault gives."""
    block = regulator(input="10 V", input_high="", series="R2 33 1W", load="R7 50")
    failure = next(f for f in block.failures if (f.part, f.failed) == (part, mode))
    found = outside(**{"supply": 10.0, "series": 33.0, "load": 50.0, **circuit})
    if math.isinf(
        circuit.get("series", 0.0)
    ):  # nothing can draw through an open resistor; the meter holds both ends
        found = {"out": 0.0, "drop": 10.0}
    assert failure.values["output_voltage"].value == pytest.approx(found["out"], abs=1e-5)
    assert failure.values["series_drop"].value == pytest.approx(found["drop"], abs=1e-5)


@pytest.mark.parametrize("pass_drop, failed", [(2.0, ""), (0.0, "short")])
def test_current_load_in_dropout_and_with_a_short_against_nodal_analysis(
    pass_drop: float, failed: str
) -> None:
    """Load and the regulator's own current both pass the series resistor: 7 V − 25 mA·33 ohm, less the drop of the chip."""
    net = Network().voltage("supply", "in", "0", 7.0).resistor("in", "chip", 33.0).current("chip", "0", 0.005)
    volts, _ = net.voltage("pass", "chip", "out", pass_drop).current("out", "0", 0.02).solve()
    block = regulator(input="7 V", input_high="", series="R2 33 1W", load="20 mA")
    values = (
        next(f for f in block.failures if f.part == "regulator" and f.failed == failed).values
        if failed
        else block.values
    )
    assert values["output_voltage"].value == pytest.approx(volts["out"], abs=1e-5)
    assert values["series_drop"].value == pytest.approx(7.0 - volts["chip"], abs=1e-5)


def test_shorted_regulator_is_the_dangerous_failure() -> None:
    failures = regulator().failures
    assert [(f.part, f.failed) for f in failures if f.dangerous] == [("regulator", "short")]
    assert "rises" in next(f.remark for f in failures if f.dangerous)


def test_a_rail_that_runs_dry_is_at_zero() -> None:
    """120 mA through 100 ohm would take 12.5 V of the 10 V that come in. Ohm's law."""
    block = regulator(input_high="", series="R2 100 1W")
    assert value(block, "output_voltage") == 0.0
    assert value(block, "series_drop") == pytest.approx(8.0)  # the chip's 2 V stay
    assert not block.checks[0].ok and "falls to 0 V" in block.checks[0].what


def test_heat_is_never_below_nothing() -> None:
    """A chip that gets no voltage turns nothing into heat, and nothing less through rounding either."""
    block = regulator(input="10 V", input_high="1 kV", series="R1 100M", output="1.5 kV")
    assert (
        0.0 <= block.values["dissipation"].low <= value(block, "dissipation") == pytest.approx(0.0, abs=1e-9)
    )


def test_heat_has_its_worst_inside_the_band_of_the_load() -> None:
    """With a series resistor the chip's heat peaks at a middling load. Source: scipy on the definition in the data sheet."""
    block = regulator(
        input="12 V", input_high="", series="R2 47 0%", load="20..95 mA", quiescent="5 mA 0%", output="5 V 0%"
    )
    heat = minimize_scalar(
        lambda i: -((12 - 47 * (i + 0.005) - 5) * i + (12 - 47 * (i + 0.005)) * 0.005), bounds=(0.02, 0.095)
    )
    result = block.values["dissipation"]
    assert result.value is None
    assert result.high == pytest.approx(-heat.fun, rel=1e-6)


def test_each_end_is_judged_at_its_own_worst() -> None:
    """Headroom at the lowest input, heat at the highest one."""
    one, other = regulator(input_high="16 V"), regulator(input_high="20 V")
    assert value(one, "headroom") == value(other, "headroom") == pytest.approx(10 - 1.25 - 5)
    assert value(other, "dissipation") - value(one, "dissipation") == pytest.approx(4 * 0.125)


def test_junction_check_uses_the_hot_end() -> None:
    """125 °C is passed at the nominal value, not at the end of the band."""
    block = regulator(series="R2 10 20% 1W", ambient="43.5 C")
    check = next(c for c in block.checks if "junction" in c.what)
    assert value(block, "junction_temperature") < 125 < block.values["junction_temperature"].high
    assert not check.ok and check.margin is not None and check.margin < 0


@pytest.mark.parametrize("parameter, text", [
    ("input", "0 V"), ("input", "-12 V"), ("input", "nan"), ("input", "1e400 V"), ("input", "12 A"), ("output", "5 ohm"),
    ("load", "5 V"), ("theta_ja", "65 W"), ("series", "12 V"), ("ambient", "-400 C"), ("dropout", "-1 V"),
])  # fmt: skip
def test_bad_values_are_named(parameter: str, text: str) -> None:
    assert f"linear-regulator {parameter}" in refused(**{parameter: text})


def test_contradictory_missing_and_unknown_parameters() -> None:
    assert "input_high: 8 V is below the input of 10 V" in refused(input_high="8 V")
    assert "linear-regulator needs load" in refused(load="")
    assert "outptu: no such parameter of linear-regulator" in refused(outptu="5 V") and "output" in refused(
        outptu="5 V"
    )


def test_bleeder_adds_to_the_load() -> None:
    """5 V on 1 kΩ are 5 mA more through the series resistor: (120 + 5 + 5) mA·10 Ω = 1.30 V; 25 mW in it; 100 µF fall to 1 V in
    0.1 s·ln 5 = 0.161 s. By hand."""
    given = {
        "input": "10 V",
        "series": "R2 10",
        "output": "5 V 0%",
        "load": "120 mA 0%",
        "quiescent": "5 mA 0%",
    }
    block = made("linear-regulator", **given, bleeder="R8 1k", output_capacitor="C2 100u")
    assert value(block, "series_drop") == pytest.approx(1.30)
    assert value(block, "headroom") == pytest.approx(10 - 1.3 - 5)
    assert value(block, "bleeder_power") == pytest.approx(0.025)
    assert value(block, "decay_time") == pytest.approx(0.1609, abs=1e-4)
    assert after(block, "C2", "short")["output_voltage"] == 0.0
    assert math.isinf(value(made("linear-regulator", **given, output_capacitor="C2 100u"), "decay_time"))


def test_bleeder_out_of_regulation_against_nodal_analysis() -> None:
    """6 V behind 10 Ω, 2 V dropout as a source, 240 Ω and 1 kΩ at the output, 5 mA to common. Source: nodal analysis."""
    net = (
        Network()
        .voltage("in", "in", "0", 6.0)
        .resistor("in", "chip", 10.0)
        .voltage("dropout", "chip", "out", 2.0)
    )
    net.resistor("out", "0", 240.0).resistor("out", "0", 1000.0).current("chip", "0", 0.005)
    volts, _ = net.solve()
    block = made(
        "linear-regulator",
        input="6 V",
        series="R2 10",
        output="5 V",
        load="R7 240",
        bleeder="R8 1k",
        quiescent="5 mA",
    )
    assert value(block, "output_voltage") == pytest.approx(volts["out"], rel=1e-6)


def test_stated_ratings_of_regulator_and_capacitors() -> None:
    given = {"input": "10 V", "input_high": "40 V", "output": "5 V", "load": "1.2 A"}
    block = made(
        "linear-regulator",
        **given,
        regulator="U2 35V 1A",
        input_capacitor="C1 10u 35V",
        output_capacitor="C2 10u 4V",
    )
    bad = said(block, False)
    for words in ("U2: sees", "U2: carries", "C1: sees", "C2: sees"):
        assert words in bad
