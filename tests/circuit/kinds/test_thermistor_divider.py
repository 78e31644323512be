"""Thermistor divider against data-sheet tables, numpy's roots and nodal analysis."""

from __future__ import annotations

import math

import numpy as np
import pytest
from nodal import Network

from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.drawing.sheet import Sheet

# °C -> ohm of a 10 kΩ NTC with B25/85 = 3977 K; data sheet of NTCLE100E3103, from memory.
TABLE_3977 = {-40: 332094, -20: 96358, -10: 55046, 0: 32554, 10: 19872, 20: 12488, 25: 10000, 30: 8059, 40: 5330, 50: 3606,
              60: 2490, 70: 1753, 80: 1256, 85: 1070, 100: 677.3}  # fmt: skip
# °C -> ohm of a 10 kΩ NTC with B25/85 = 3435 K; data sheet of 103AT-2, from memory.
TABLE_3435 = {-20: 67770, -10: 42470, 0: 27280, 10: 17960, 20: 12090, 25: 10000, 30: 8313, 40: 5827, 50: 4160, 60: 3020,
              70: 2228, 80: 1668, 85: 1451, 100: 973.1}  # fmt: skip

BASE = {"supply": "5 V", "fixed": "R9 10k 1%", "thermistor": "TH1 10k B3977 1%"}


def block(**changes: object) -> Block:
    parameters = {k: v for k, v in {**BASE, **changes}.items() if v != ""}
    built, troubles = build_block("thermistor-divider", parameters, Mains())
    assert built is not None, troubles
    return built


def trouble(**changes: object) -> str:
    built, troubles = build_block("thermistor-divider", {**BASE, **changes}, Mains())
    assert built is None
    return "; ".join(f"{t.what} | {t.hint}" for t in troubles)


def temperature(ohm: float, **changes: object) -> float:
    """°C that a resistance means."""
    found = block(cut_points={"here": {"resistance": f"{ohm!r}"}}, **changes).values["here.temperature"].value
    assert found is not None
    return found


def resistance(celsius: float, **changes: object) -> float:
    """Ohm at a temperature."""
    found = (
        block(cut_points={"here": {"temperature": f"{celsius} C"}}, **changes).values["here.resistance"].value
    )
    assert found is not None
    return found


def fitted(table: dict[int, float], at: tuple[int, int, int] = (0, 25, 70)) -> list[float]:
    """Steinhart-Hart coefficients through three lines of a table, by numpy's linear solver."""
    logs = [math.log(table[t]) for t in at]
    return [
        float(x) for x in np.linalg.solve([[1, log, log**3] for log in logs], [1 / (t + 273.15) for t in at])
    ]


@pytest.mark.parametrize("b, table", [(3977, TABLE_3977), (3435, TABLE_3435)])
def test_b_equation_against_data_sheet_tables(b: float, table: dict[int, float]) -> None:
    """Within 1.2 K from 0 to 85 °C, and off by about 2 K at −20 °C, as the page says."""
    for celsius, ohm in table.items():
        off = temperature(float(ohm), thermistor=f"TH1 10k B{b}") - celsius
        if 0 <= celsius <= 85:
            assert abs(off) < 1.2, (celsius, off)
        if celsius == -20:
            assert 1.5 < off < 2.6


def test_b_value_from_two_lines_of_the_table() -> None:
    """B25/85 = ln(R25/R85)/(1/298.15 − 1/358.15): the definition in IEC 60539; the table gives 3977 K back."""
    b = math.log(TABLE_3977[25] / TABLE_3977[85]) / (1 / 298.15 - 1 / 358.15)
    assert b == pytest.approx(3977, abs=1)
    assert resistance(85) == pytest.approx(1070, rel=0.002)


@pytest.mark.parametrize("table", [TABLE_3977, TABLE_3435])
def test_steinhart_hart_follows_the_whole_table(table: dict[int, float]) -> None:
    """Three lines fix the curve; all others lie within 0.06 K of it (Steinhart and Hart claim 0.02 K in 200 K)."""
    a, b, c = fitted(table)
    for celsius, ohm in table.items():
        assert temperature(float(ohm), sh=[a, b, c]) == pytest.approx(celsius, abs=0.06)


@pytest.mark.parametrize("celsius", [-55, -20, 0, 25, 60, 150])
def test_closed_form_against_numpy_roots(celsius: float) -> None:
    """The closed form is the one real root of c·x³ + b·x + a − 1/T, which numpy finds from the companion matrix."""
    a, b, c = fitted(TABLE_3977)
    roots = np.roots([c, 0.0, b, a - 1 / (celsius + 273.15)])
    real = [r.real for r in roots if abs(r.imag) < 1e-9]
    assert len(real) == 1
    assert resistance(celsius, sh=[a, b, c]) == pytest.approx(math.exp(real[0]), rel=1e-9)


def test_extended_polynomial_of_the_data_sheet() -> None:
    """1/T = A1 + B1·ln(R/R25) + C1·ln² + D1·ln³ with the maker's coefficients for B 3977 K (from memory) is within 0.2 K."""
    a1, b1, c1, d1 = 3.354016e-3, 2.569850e-4, 2.620131e-6, 6.383091e-8
    a, b, c = fitted(TABLE_3977)
    for ohm in (32554, 12488, 5330, 1753):
        log = math.log(ohm / 10e3)
        kelvin = 1 / (a1 + b1 * log + c1 * log**2 + d1 * log**3)
        assert temperature(float(ohm), sh=[a, b, c]) + 273.15 == pytest.approx(kelvin, abs=0.2)


@pytest.mark.parametrize("side", ["lower", "upper"])
@pytest.mark.parametrize("celsius", [0, 25, 40, 85])
def test_output_against_nodal_analysis_of_the_table(side: str, celsius: int) -> None:
    """With sh the tap is where a network with the table's own resistance has it."""
    sensor = block(
        sh=fitted(TABLE_3977), thermistor_side=side, cut_points={"t": {"temperature": f"{celsius} C"}}
    )
    net = Network().voltage("s", "top", "0", 5.0)
    upper, lower = (10e3, TABLE_3977[celsius]) if side == "lower" else (TABLE_3977[celsius], 10e3)
    volts, _ = net.resistor("top", "tap", upper).resistor("tap", "0", lower).solve()
    assert sensor.values["t.output"].value == pytest.approx(volts["tap"], abs=0.002)


@pytest.mark.parametrize("side", ["lower", "upper"])
def test_failures_against_nodal_analysis(side: str) -> None:
    """Each failure put into a network of its own: what a meter then shows at the tap, also with the sensor unplugged."""
    sensor = block(thermistor_side=side)
    faults = {
        ("R9", "open"): (math.inf, 1e4),
        ("R9", "high"): (20e3, 1e4),
        ("TH1", "open"): (10e3, math.inf),
        ("TH1", "short"): (10e3, 1e-3),
    }
    assert {(f.part, f.failed) for f in sensor.failures} == set(faults)
    for failure in sensor.failures:
        fixed, thermistor = faults[failure.part, failure.failed]
        for name, ohm in (("output_25", thermistor), ("open_output", math.inf), ("short_output", 1e-3)):
            upper, lower = (fixed, ohm) if side == "lower" else (ohm, fixed)
            volts, _ = (
                Network()
                .voltage("s", "top", "0", 5.0)
                .resistor("top", "tap", upper)
                .resistor("tap", "0", lower)
                .solve()
            )
            shown = failure.values[name].value
            assert shown == pytest.approx(volts.get("tap", 0.0), abs=1e-3), (
                failure.part,
                failure.failed,
                name,
            )


def test_an_open_thermistor_is_the_dangerous_failure() -> None:
    """An open NTC reads as cold whatever its place, and a heater may then never be switched off."""
    for side in ("lower", "upper"):
        assert [(f.part, f.failed) for f in block(thermistor_side=side).failures if f.dangerous] == [
            ("TH1", "open")
        ]


def test_slope_is_the_derivative() -> None:
    """slope_25 against the central difference of the tap's voltage over 2·10⁻³ K, by B and by Steinhart-Hart."""
    a, b, c = fitted(TABLE_3977)

    def tap(ohm: float) -> float:
        return 5.0 * ohm / (10e3 + ohm)

    step = 1e-3
    by_b = (
        tap(10e3 * math.exp(3977 * (1 / (298.15 + step) - 1 / 298.15)))
        - tap(10e3 * math.exp(3977 * (1 / (298.15 - step) - 1 / 298.15)))
    ) / (2 * step)
    assert block().values["slope_25"].value == pytest.approx(by_b, rel=1e-5)

    def root(kelvin: float) -> float:
        return float(np.exp(next(r.real for r in np.roots([c, 0, b, a - 1 / kelvin]) if abs(r.imag) < 1e-9)))

    by_sh = (tap(root(298.15 + step)) - tap(root(298.15 - step))) / (2 * step)
    assert block(sh=[a, b, c]).values["slope_25"].value == pytest.approx(by_sh, rel=1e-4)
    assert block(thermistor_side="upper").values["slope_25"].value == pytest.approx(-by_b, rel=1e-5)


def test_self_heating_and_its_extreme_inside_the_box() -> None:
    """2.5 V across 10 kΩ is 0.625 mW, so 0.3125 K at 2 mW/K (by hand). With ±20 % on the fixed resistor and a thermistor of
    10 kΩ the power V²·R/(R + F)² still rises to F = 8 kΩ; with F fixed at 10 kΩ and R from 8 to 12 kΩ it peaks at R = F."""
    sensor = block(dissipation_constant="2 mW/K")
    assert sensor.values["self_heating"].value == pytest.approx(0.3125, rel=1e-9)
    wide = block(dissipation_constant="2 mW/K", fixed="R9 10k 0.001%", thermistor="TH1 10k B3977 20%")
    assert wide.values["self_heating"].high == pytest.approx(0.3125, rel=1e-4)
    assert wide.values["self_heating"].low == pytest.approx(25 * 8e3 / 18e3**2 / 2e-3, rel=1e-4)


def test_band_of_a_temperature_from_corners_worked_by_hand() -> None:
    """Tap at 2.5 V: R = F. F and R25 ±1 %, B ±1 %: hottest where R25 is high, F low and B low."""
    result = block(cut_points={"off": {"output": "2.5 V"}}).values["off.temperature"]
    hot = 1 / (1 / 298.15 + math.log(9900 / 10100) / (3977 * 0.99)) - 273.15
    cold = 1 / (1 / 298.15 + math.log(10100 / 9900) / (3977 * 0.99)) - 273.15
    assert (result.low, result.high) == (pytest.approx(cold, abs=1e-6), pytest.approx(hot, abs=1e-6))
    assert result.value == pytest.approx(25.0, abs=1e-9)


@pytest.mark.parametrize("code, output", [(0, 0.5), (511, 511.5), (1023, 1023.5)])
def test_a_code_stands_for_the_middle_of_its_step(code: int, output: float) -> None:
    """Ten bits: step code is from code/1024 to (code + 1)/1024 of the supply (converter's definition), and comes back."""
    values = block(adc_bits="10", cut_points={"c": {"code": str(code)}}).values
    assert values["c.output"].value == pytest.approx(5 * output / 1024, rel=1e-12)
    assert values["c.code"].value == code


def test_codes_stop_at_the_top() -> None:
    """An unplugged sensor below a pull-up gives the highest code, not one beyond it."""
    sensor = block(adc_bits="8", thermistor_side="upper", cut_points={"hot": {"resistance": "1 ohm"}})
    assert sensor.values["hot.code"].value == 255


def test_a_range_has_a_band_and_no_value() -> None:
    """51k..62k between fixed and sensor: low and high at every derived value, no single value."""
    values = block(
        fixed="R9 47k 1%", thermistor="TH1 100k B3950 5%", cut_points={"off": {"resistance": "51k..62k"}}
    ).values
    for name in ("temperature", "resistance", "output"):
        assert values[f"off.{name}"].value is None
    hottest = 1 / (1 / 298.15 + math.log(51e3 / 105e3) / (3950 * 0.99)) - 273.15
    assert values["off.temperature"].high == pytest.approx(hottest, abs=1e-6)
    assert values["off.output"].low == pytest.approx(5 * 51e3 / (51e3 + 47e3 * 1.01), rel=1e-9)


def test_a_range_is_drawn_as_a_range() -> None:
    """4.7 and 5.6 kΩ under 10 kΩ ± 1 % at 5 V, by hand: 5 V·4.7/(10.1 + 4.7) = 1.59 V and 5 V·5.6/(9.9 + 5.6) = 1.81 V."""
    sheet = Sheet()
    sensor = block(cut_points={"clicked off": {"resistance": "4k7..5k6"}})
    sensor.kind.draw(sensor, sheet)
    drawn = [line.text for port in sheet.ports for line in port.lines]
    assert "clicked off 1.59 to 1.81 V" in drawn


def test_outside_the_b_equations_range_it_asks_for_sh() -> None:
    """A cut point at −20 °C is remarked on with B, not with sh."""
    cut = {"frost": {"temperature": "-20 C"}}
    assert any("state sh" in c.what and c.remark for c in block(cut_points=cut).checks)
    assert not any("state sh" in c.what for c in block(cut_points=cut, sh=fitted(TABLE_3977)).checks)


@pytest.mark.parametrize(("cut", "said"), [("-40 C", "about 3 K"), ("-20 C", "about 2 K"), ("-20..-10 C", "about 2 K"),
                                           ("140 C", "about 2 K"), ("200 C", "more than 3 K")])  # fmt: skip
def test_it_says_by_how_much_the_b_equation_is_off_there(cut: str, said: str) -> None:
    """At the temperature at hand, not at one of its own. By the data sheet of NTCLE100E3103, from memory: 332,094 Ω at −40 °C,
    96,358 Ω at −20 °C, and 231.9 Ω at 140 °C, which the B equation takes for −37.1, −18.3 and 142.2 °C; 182.6 Ω at 150 °C for
    152.8 °C."""
    told = [
        str(c.what) for c in block(cut_points={"off": {"temperature": cut}}).checks if "state sh" in c.what
    ]
    assert len(told) == 1
    assert f"(there by {said} for a common" in told[0]
    assert cut.partition("..")[0].removeprefix("-").removesuffix(" C") in told[0]


def test_b_tolerance() -> None:
    """1 % where the note is silent, else as stated behind B."""
    silent, stated = (
        block(thermistor=t, cut_points={"c": {"temperature": "60 C"}})
        for t in ("TH1 10k B3977 1%", "TH1 10k B3977±3% 1%")
    )
    factor = 1 / 333.15 - 1 / 298.15
    assert silent.values["c.resistance"].high == pytest.approx(
        10100 * math.exp(3977 * 0.99 * factor), rel=1e-9
    )
    assert stated.values["c.resistance"].high == pytest.approx(
        10100 * math.exp(3977 * 0.97 * factor), rel=1e-9
    )


@pytest.mark.parametrize("changes, words", [
    ({"thermistor": "TH1 10k"}, "no B value | such as 10k B3950"),
    ({"thermistor": "TH1 10k B39"}, "not a B value of an NTC"),
    ({"sh": [1e-3, 2e-4]}, "three are expected"),
    ({"sh": [1e-3, -2e-4, 1e-7]}, "b above 0"),
    ({"sh": [1.129148e-3, 2.34125e-4, 8.76741e-8], "thermistor": "TH1 100k"}, "at 25 °C, but the thermistor is stated as 100 kΩ"),
    ({"cut_points": {"x": {"output": "6 V"}}}, "never comes to 6 V | it lies between 0 and 5 V"),
    ({"cut_points": {"x": {"temperature": "900 C"}}}, "−100 to 300 °C"),
    ({"cut_points": {"x": {"code": "12"}}}, "needs adc_bits"),
    ({"cut_points": {"x": {"code": "1024"}}, "adc_bits": "10"}, "0 to 1023"),
    ({"cut_points": {"x": {"pressure": "3"}}}, "no such cut point"),
    ({"adc_bits": "400"}, "converters have 6 to 24 bits"),
])  # fmt: skip
def test_contradictions_are_told(changes: dict[str, object], words: str) -> None:
    """What cannot be is refused with the reason and what is accepted."""
    assert words in trouble(**changes)


@pytest.mark.parametrize(
    ("given", "part", "failed"),
    [
        ({"resistance": "5k"}, "thermistor", "open"),
        ({"resistance": "5k"}, "thermistor", "short"),
        ({"output": "1.67 V"}, "thermistor", "open"),
        ({"output": "1.67 V"}, "fixed", "open"),
    ],
)
def test_a_cut_point_means_no_temperature_where_a_part_is_broken(
    given: dict[str, str], part: str, failed: str
) -> None:
    """An open or shorted resistor is at no temperature, and behind an open one no voltage means one."""
    found = block(cut_points={"here": given})
    assert found.values["here.temperature"].value is not None
    failure = next(own for own in found.failures if (own.key, own.failed) == (part, failed))
    told = failure.values.get("here.temperature")
    assert told is None or told.value is None
