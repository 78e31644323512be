"""More functions that kinds solve with: supplies, triacs, sensors; by scipy, numpy or by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from bench import PLAIN, made
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from generator.circuit import catalogue, phase_cut
from generator.circuit.kinds import _rectifier_rail as rectifier
from generator.circuit.kinds import _transformer_rail as transformer
from generator.circuit.kinds.flyback_supply import limited_output, power_taken
from generator.circuit.kinds.heater import position_power
from generator.circuit.kinds.led_string import share_of_shorted_string
from generator.circuit.kinds.thermistor_divider import resistance_at
from generator.circuit.kinds.timer_555 import _drifted
from generator.circuit.kinds.zener_regulator import _unregulated
from generator.circuit.network.fuses import fuse_ohms
from generator.circuit.network.rectified import _falling
from generator.circuit.point import Point

INF = math.inf


@pytest.mark.parametrize("peak", (0.3, 0.9, 1.7))
def test_what_a_flyback_takes_by_its_peak(peak: float) -> None:
    """120 V on 400 µH at 65 kHz and a duty of 0.35: the mean of the current's own trapezium by numpy, or the energy of a period."""
    volts, henry, hertz, duty = 120.0, 400e-6, 65e3, 0.35
    share = np.linspace(0, 1, 200_001)
    rise = volts / henry / hertz  # A in a whole period
    start = max(0.0, peak - rise * duty)
    amperes = np.where(share < min(duty, peak / rise), start + rise * share, 0.0)
    got = power_taken(input=volts, peak_current=peak, duty=duty, inductance=henry, frequency=hertz)
    assert got == pytest.approx(volts * float(np.trapezoid(amperes, share)), rel=1e-3)


@pytest.mark.parametrize(("load", "is_"), [(1.4, "A"), (6.0, "ohm"), (0.4, "A")])
def test_where_a_limited_flyback_sinks_to(load: float, is_: str) -> None:
    """0.8 of what it takes at 0.6 A of peak is what the load takes: looked for from above by numpy."""
    x = Point(turns_ratio=8.0, diode_drop=0.6, input=150.0, primary_inductance=700e-6, frequency=65e3, efficiency=0.8, load=load,
              load_is=is_, output=12.0)  # fmt: skip

    def given(volts: float) -> float:
        reflected = 8.0 * (volts + 0.6)
        taken = power_taken(
            input=150.0,
            peak_current=0.6,
            duty=reflected / (150 + reflected),
            inductance=700e-6,
            frequency=65e3,
        )
        return 0.8 * taken - (volts * load if is_ == "A" else volts**2 / load)

    levels = np.linspace(0.01, 12.0, 2401)
    holds = [v for v in levels if given(v) >= 0]
    wanted = 12.0 if given(12.0) >= 0 else brentq(given, holds[-1], 12.0) if holds else 0.0
    assert limited_output(x, 0.6) == pytest.approx(wanted, abs=0.01)


def test_a_string_with_an_led_shorted() -> None:
    """Three strings of 10 Ω on 60 mA, one 3 V shorter: i₁ − i₂ = 3/10, i₁ + 2·i₂ = 0.06 would give it more than all."""
    assert share_of_shorted_string(current=0.9, strings=3, forward=3.0, resistor=10.0) == pytest.approx(0.5)
    assert share_of_shorted_string(current=0.06, strings=3, forward=3.0, resistor=10.0) == 0.06
    assert share_of_shorted_string(current=0.06, strings=1, forward=3.0, resistor=10.0) == 0.06
    assert share_of_shorted_string(current=0.06, strings=3, forward=3.0, resistor=None) == 0.06


@pytest.mark.parametrize(("fires", "lag"), [(1.1, 0.4), (2.0, 1.2), (0.3, 0.7), (3.2, 0.5), (1.0, 0.0)])
def test_when_a_triacs_current_dies(fires: float, lag: float) -> None:
    """di/dθ·tan lag + i = sin θ/cos lag from where it fires, by scipy: it is zero again so far into the next half-cycle."""
    got = phase_cut.blocks_at(fires, lag)
    if lag == 0 or fires >= math.pi:
        assert got == 0
    elif fires <= lag:
        assert got == lag
    else:
        run = solve_ivp(
            lambda t, i: [(math.sin(t) / math.cos(lag) - i[0]) / math.tan(lag)],
            (fires, math.pi + got),
            [0.0],
            rtol=1e-10,
            atol=1e-12,
        )
        assert run.y[0, -1] == pytest.approx(0, abs=1e-6) and run.y[0].min() > -1e-6 and 0 < got <= lag


def test_what_stands_across_a_triac() -> None:
    """The mean square of a sine from 0.3 to 1.9 rad, as a share of that of all of it, by numpy."""
    angle = np.linspace(0.3, 1.9, 100_001)
    share = np.trapezoid(np.sin(angle) ** 2, angle) / (math.pi / 2)
    assert phase_cut.across_triac(1.9, 0.3) == pytest.approx(math.sqrt(share))
    assert phase_cut.across_triac(math.pi, 0.0) == 1 and phase_cut.across_triac(0.3, 0.3) == 0
    given = {"peak": 325.0, "resistance": 10e3, "drop": 12.0, "least": 32.0}
    needed = 12 + phase_cut.GATE_CURRENT * 10e3
    assert phase_cut.firing_angle_without_capacitor(**given) == pytest.approx(
        math.asin(max(32, needed) / 325)
    )
    assert phase_cut.firing_angle_without_capacitor(**{**given, "resistance": 1.0}) == pytest.approx(
        math.asin(32 / 325)
    )
    assert phase_cut.firing_angle_without_capacitor(**{**given, "resistance": 1e9}) is None


@pytest.mark.parametrize("celsius", (-20.0, 25.0, 93.0))
def test_a_thermistor_by_its_coefficients(celsius: float) -> None:
    """1/T = a + b·ln R + c·(ln R)³ (Steinhart and Hart 1968), solved for R by scipy; without c by hand; by B likewise."""
    a, b, c = 1.129148e-3, 2.34125e-4, 8.76741e-8
    kelvin = celsius + 273.15
    x = Point(thermistor=10e3, thermistor_nominal=10e3, sh=[a, b, c])
    wanted = math.exp(brentq(lambda log: a + b * log + c * log**3 - 1 / kelvin, 0, 30))
    assert resistance_at(x, celsius) == pytest.approx(wanted, rel=1e-9)
    assert (
        resistance_at(Point(thermistor=0.0, sh=[a, b, c]), celsius) == 0
        and resistance_at(Point(thermistor=INF, sh=None), celsius) == INF
    )


def test_elements_and_fuses() -> None:
    """100 W and 200 W at one voltage: 300 W side by side, 66.7 W in series; a fuse of 1 A has a tenth of an ohm, smaller ones more."""
    assert position_power("parallel", [100.0, 200.0]) == 300 and position_power(
        "series", [100.0, 200.0]
    ) == pytest.approx(200 / 3)
    assert position_power("series", [100.0, 0.0]) == 0 and position_power("parallel", [100.0, 0.0]) == 100
    ohms = [fuse_ohms("f", amperes) for amperes in (0.1, 1.0, 10.0, INF)]
    assert ohms[0].value > 10 * ohms[1].value > 0 and ohms[1].value > ohms[2].value
    for own in ohms:
        ((_axis, low, high),) = own.ends
        assert 0 <= low <= own.value <= high
    assert _falling([5.0, 5.0, 4.0, 4.5]) == (5.0, 5.0 - 1e-9, 4.0, 4.0 - 1e-9)


@pytest.mark.parametrize(
    ("series", "load", "is_", "volts"),
    [
        (100.0, 0.05, "A", 7.0),
        (100.0, 0.2, "A", 0.0),
        (INF, 0.05, "A", 0.0),
        (100.0, 200.0, "ohm", 8.0),
        (100.0, INF, "ohm", 12.0),
    ],
)
def test_a_zener_regulator_without_its_zener(series: float, load: float, is_: str, volts: float) -> None:
    """12 V less what the load drops in the series resistor; Ohm's law."""
    x = Point(supply=12.0, series=series, load=load, load_is=is_)
    assert _unregulated(x).of(x) == pytest.approx(volts)


def test_a_timers_duty_as_a_resistor_drifts() -> None:
    """(RA + RB)/(RA + 2·RB): 10 kΩ and 20 kΩ are high for 0.6 of the time, with 40 kΩ for 5/9, with RA 30 kΩ for 5/7."""
    x = Point(ra=10e3, rb=20e3)
    assert _drifted(x, "rb", 2.0)({}, None) == {"up": pytest.approx(5 / 9)}
    assert _drifted(x, "ra", 2.0)({}, 3.0) == {"up": pytest.approx(5 / 7)} and _drifted(x, "ra", 1.0)(
        {}, None
    ) == {"up": pytest.approx(0.6)}


@pytest.mark.parametrize("sort", ("bridge", "half-wave", "doubler"))
def test_a_mains_rectifier_without_its_capacitor(sort: str) -> None:
    """The mean of what the diodes let through, by numpy; a doubler's other half charges to the crest as before."""
    x = Point(supply=120.0, diode_drop=0.9, rectifier=sort, load=0.1, load_is="A", f=60.0)
    n = 2 if sort == "bridge" else 1
    got = rectifier.without_bulk(x, n)
    sine = 120 * math.sqrt(2) * np.sin(np.linspace(0, 2 * math.pi, 400_001))
    crest = 120 * math.sqrt(2)
    rail = np.maximum(0, (np.abs(sine) if sort == "bridge" else sine) - n * 0.9)
    mean, top = (crest - 0.9, 2 * crest - 1.8) if sort == "doubler" else (rail.mean(), crest - n * 0.9)
    assert got["mean"] == got["peak"] == pytest.approx(mean, rel=1e-4)
    assert got["ripple"] == got["high_mains_peak"] == pytest.approx(top)
    assert (
        got["ripple_frequency"] == (120.0 if sort == "bridge" else 60.0)
        and got["trough"] == 0 == got["discharge_time_34v"]
    )
    assert "mean" not in rectifier.without_bulk(x.changed(load=None), n)


@pytest.mark.parametrize(
    ("load", "is_", "current", "power", "ohms"),
    [
        (0.2, "A", 0.2, 0.0, 150e3),
        (30.0, "W", 0.0, 30.0, 150e3),
        (50e3, "ohm", 0.0, 0.0, 37.5e3),
        (None, "A", 0.0, 0.0, 150e3),
    ],
)
def test_what_draws_from_a_rail(
    load: float | None, is_: str, current: float, power: float, ohms: float
) -> None:
    """50 kΩ beside a bleeder of 150 kΩ: 37.5 kΩ. Ohm's law."""
    drain = rectifier.drain_of(Point(load=load, load_is=is_, bleeder=150e3, rectifier="bridge"))
    assert (drain.current, drain.power, drain.resistance) == (current, power, pytest.approx(ohms))
    assert (
        rectifier.drain_of(Point(load=None, load_is="A", bleeder=None, rectifier="bridge")).resistance == INF
    )


@pytest.mark.parametrize(("sort", "n"), [("bridge", 2), ("centre-tap", 1), ("half-wave", 1)])
@pytest.mark.parametrize(("load", "is_"), [(0.3, "A"), (47.0, "ohm")])
def test_pulses_in_winding_and_capacitor(sort: str, n: int, load: float, is_: str) -> None:
    """12 V of 1 A with 15 % of regulation, so 1.8 Ω, on 1500 µF: RMS amperes by scipy over a period after ten. A half of a
    centre-tapped winding has every other pulse."""
    x = Point(rectifier=sort, secondary=12.0, regulation=0.15, rated_current=1.0, diode_drop=0.8, smoothing=1.5e-3, bleeder=None,
              load=load, load_is=is_, f=50.0)  # fmt: skip
    state, drain = transformer._steady_state(x, 12.0, n, sort != "half-wave")
    assert drain == (INF if is_ == "A" else 47.0)
    winding, capacitor = transformer.pulses_rms(x, 12.0)
    period = 0.02 if sort == "half-wave" else 0.01
    charge = (
        state.square / period
    )  # mean square of the charging current, which test_steady_state.py holds to scipy
    direct = load if is_ == "A" else state.mean / 47.0
    halves = 2 if sort == "centre-tap" else 1
    assert winding == pytest.approx(math.sqrt(charge / halves))
    assert capacitor == pytest.approx(math.sqrt(charge - direct**2))
    # a winding whose own resistance is not known: a factor of the direct current (common practice)
    bare, _ = transformer.pulses_rms(x.changed(rated_current=None, regulation=0.0), 12.0)
    assert 1.1 * direct < bare < 3 * direct


def test_half_a_period_of_a_dimmer() -> None:
    """A sine of 230 V·√2 over 180°, from where each end of the knob fires on; both end at 0 V."""
    kind = catalogue.kind("phase-control")
    block = made("phase-control", PLAIN, **kind.example)
    picture = kind.plot(block)
    assert picture is not None and picture.x == ("angle", "degree", 0.0, 180.0)
    assert picture.y == ("voltage", "V", 0.0, pytest.approx(230 * math.sqrt(2)))
    mains, up, down = picture.curves
    assert (mains.aside, mains.area, up.aside, up.area, down.aside, down.area) == (
        True,
        False,
        True,
        True,
        False,
        True,
    )
    for curve, value in ((up, "firing_angle_min"), (down, "firing_angle_max")):
        fires = block.values[value].value
        assert fires is not None and curve.points[0] == pytest.approx(
            (fires, 230 * math.sqrt(2) * math.sin(math.radians(fires)))
        )
        assert curve.points[-1] == pytest.approx((180.0, 0.0), abs=1e-9)
    assert [(mark.name, mark.x) for mark in picture.marks] == [
        ("knob up", up.points[0][0]),
        ("knob down", down.points[0][0]),
    ]


def test_an_open_resistor_has_no_heat() -> None:
    """A feedback divider with the other resistor open: the reference's current finds no way."""
    kind = catalogue.kind("feedback-divider")
    x = made("feedback-divider", PLAIN, **kind.example).point
    assert kind.solve(x.changed(lower=INF))["lower_power"] == 0.0
    assert kind.solve(x.changed(upper=INF, reference_across="upper"))["upper_power"] == 0.0
