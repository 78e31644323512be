"""The periodic states of rectifiers and droppers: followed by scipy over a period of the circuit's own differential equation
from the state that is claimed to repeat, which has to come back; the quick ways held against the sure ones."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from generator.circuit import bulk_cycle, dropper_cycle, rectifier_cycle, roots, steady_state
from generator.circuit.bulk_cycle import Drain, doubled_bulk, rectified_bulk
from generator.circuit.rectifier_cycle import Cycle

INF = math.inf


def followed(
    slopes: Callable[[float, np.ndarray], list[float]], start: list[float], span: tuple[float, float]
) -> np.ndarray:
    """(state, 4001 instants) by scipy."""
    found = solve_ivp(
        slopes, span, start, method="LSODA", rtol=1e-9, atol=1e-11, max_step=(span[1] - span[0]) / 300,
        t_eval=np.linspace(*span, 4001),
    )  # fmt: skip
    assert found.success
    state: np.ndarray = found.y
    return state


# emf V, drop V, source ohm, F, load A, load ohm, Hz, full wave
SUPPLIES = (
    (17.3, 1.37, 0.83, 1.13e-3, 0.171, INF, 50.0, True),
    (17.3, 0.71, 2.9, 0.47e-3, 0.083, 217.0, 60.0, False),
    (23.9, 1.53, 5.7, 0.22e-3, 0.0, 91.0, 50.0, True),
    (31.0, 0.9, 14.0, 0.1e-3, 0.31, INF, 50.0, True),
    (11.7, 0.6, 1.9, 2.2e-3, 0.7, 33.0, 60.0, True),
    (325.0, 0.75, 47.0, 10e-6, 0.019, 31e3, 50.0, False),
)


def rectified(
    emf: float, drop: float, ohm: float, farad: float, load: float, across: float, hertz: float, full: bool
) -> Callable[[float, np.ndarray], list[float]]:
    """V/s of the capacitor, V of it and A² of the diodes: Kirchhoff's laws, time 0 at the crest."""

    def slopes(t: float, state: np.ndarray) -> list[float]:
        v = state[0]
        sine = math.cos(2 * math.pi * hertz * t)
        charge = max(0.0, (abs(sine) if full else sine) * emf - drop - v) / ohm
        drawn = (load if v > 0 else min(load, charge)) + v / across
        return [(charge - drawn) / farad, v, charge**2]

    return slopes


def state_of(given: tuple[float, ...]) -> steady_state.Ripple:
    emf, drop, ohm, farad, load, across, hertz, full = given
    return steady_state.rectifier_steady_state(
        emf=emf, drop=drop, source_resistance=ohm, capacitance=farad, current=load, resistance=across,
        frequency=hertz, full_wave=bool(full),
    )  # fmt: skip


@pytest.mark.parametrize("given", SUPPLIES)
def test_a_rectifiers_state_comes_back_after_a_period(given: tuple[float, ...]) -> None:
    emf, drop, ohm, farad, load, across, hertz, full = given
    got = state_of(given)
    period = 1 / hertz / (2 if full else 1)
    start = math.acos((got.v_off + drop) / emf) / (
        2 * math.pi * hertz
    )  # no current: the source is down to it
    volts, area, square = followed(
        rectified(emf, drop, ohm, farad, load, across, hertz, bool(full)), [got.v_off, 0, 0], (start, start + period)
    )  # fmt: skip
    assert volts[-1] == pytest.approx(got.v_off, rel=1e-5)
    assert (volts.min(), volts.max()) == pytest.approx((got.trough, got.top), rel=1e-5)
    assert (area[-1], area[-1] / period) == pytest.approx((got.area, got.mean), rel=1e-5)
    assert square[-1] == pytest.approx(got.square, rel=1e-4)
    conducts = np.linspace(start, start + period, 4001)[np.flatnonzero(np.diff(square) > 1e-12)[0]]
    assert conducts - start == pytest.approx(got.t_off, abs=period / 2000)
    assert got.dip == pytest.approx(np.interp(start + got.t_off, np.linspace(start, start + period, 4001), volts)
                                    - got.trough, abs=1e-4 * emf)  # fmt: skip
    if math.isinf(across):
        mean = steady_state.rectifier_mean(
            emf=emf, drop=drop, source_resistance=ohm, capacitance=farad, current=load, frequency=hertz, full_wave=bool(full)
        )  # fmt: skip
        assert mean == pytest.approx(area[-1] / period, rel=1e-5)


@pytest.mark.parametrize("given", [(17.3, 1.37, 0.83, 22e-6, 0.9, INF, 50.0, False), (17.3, 1.1, 9.0, 47e-6, 0.8, 210.0, 60.0, True),
                                   (17.3, 1.1, 2.0, 10e-6, 0.6, INF, 50.0, True)])  # fmt: skip
def test_a_rail_that_runs_dry_begins_at_0_v(given: tuple[float, ...]) -> None:
    emf, drop, ohm, farad, load, across, hertz, full = given
    got = state_of(given)
    period = 1 / hertz / (2 if full else 1)
    # dry where the source is down to 0 V; there a solver would go to and fro, so that it is 20,000 plain steps
    slopes, step, v, highest, area = (
        rectified(emf, drop, ohm, farad, load, across, hertz, bool(full)), period / 20000, 0.0, 0.0, 0.0,
    )  # fmt: skip
    for n in range(20000):
        v = max(0.0, v + step * slopes(n * step - period / 2, np.array([v]))[0])
        highest, area = max(highest, v), area + v * step
    assert got.trough == 0
    assert highest == pytest.approx(got.top, rel=2e-3)
    assert area == pytest.approx(got.area, rel=2e-3)


@pytest.mark.parametrize(("load", "across", "hertz", "full"), [(0.13, INF, 50.0, True), (0.0, 173.0, 60.0, False), (0.07, 290.0, 50.0, False)])  # fmt: skip
def test_without_source_resistance_the_rail_is_the_source_or_a_decay(
    load: float, across: float, hertz: float, full: bool
) -> None:
    """The greater of the rectified sine and of what the load has left, by scipy from where the diodes stop."""
    emf, drop, farad, omega = 21.7, 1.29, 0.33e-3, 2 * math.pi * hertz
    got = steady_state.rectifier_steady_state(
        emf=emf, drop=drop, source_resistance=0.0, capacitance=farad, current=load, resistance=across,
        frequency=hertz, full_wave=full,
    )  # fmt: skip
    period = 1 / hertz / (2 if full else 1)
    # C·dv/dt of the falling source is what the load draws: the diodes' current is 0
    stop = math.acos((got.v_off + drop) / emf) / omega
    assert farad * emf * omega * math.sin(omega * stop) == pytest.approx(load + got.v_off / across, rel=1e-9)
    times = np.linspace(stop, stop + period, 4001)
    (decay,) = followed(lambda t, v: [-(load + v[0] / across) / farad], [got.v_off], (stop, stop + period))
    sine = emf * (np.abs(np.cos(omega * times)) if full else np.cos(omega * times)) - drop
    rail = np.where((times > stop + period / 4) & (sine > decay), sine, decay)
    rail[np.argmax(sine[1000:] > decay[1000:]) + 1000 :] = sine[
        np.argmax(sine[1000:] > decay[1000:]) + 1000 :
    ]
    assert (got.trough, got.top, got.dip) == pytest.approx((rail.min(), emf - drop, 0.0), rel=1e-3, abs=1e-9)
    assert got.area == pytest.approx(np.trapezoid(rail, times), rel=1e-5)
    assert got.square == INF
    # a current alone: dry after v·C/I (by hand), so that what is left of a long decay is half of v times that
    cycle = Cycle(emf, drop, 0.0, farad, load, across, omega, period)
    if math.isinf(across):
        assert cycle.decay_area(6.0, 10.0) == pytest.approx(6.0 * 6.0 * farad / load / 2)
    elif load:
        dry = across * farad * math.log(1 + 6.0 / (load * across))
        assert cycle.decayed(6.0, dry * 1.001) == 0 < cycle.decayed(6.0, dry * 0.999)
        whole = quad(lambda t: cycle.decayed(6.0, t), 0, dry)[0]
        assert cycle.decay_area(6.0, 10.0) == pytest.approx(whole)


@pytest.mark.parametrize(("ohm", "load", "across"), [(0.0, 0.0, INF), (3.3, 0.21, INF), (4.7, 0.11, 83.0), (0.0, 0.0, 83.0)])  # fmt: skip
@pytest.mark.parametrize("full", (True, False))
def test_with_its_capacitor_open_the_rail_follows_the_source(
    ohm: float, load: float, across: float, full: bool
) -> None:
    """The mean by numpy over a whole period of (source − drop − load·ohm)·R/(R + ohm), where it is above 0."""
    got = steady_state.rectifier_steady_state(emf=13.7, drop=1.31, source_resistance=ohm, capacitance=0.0, current=load,
                                              resistance=across, frequency=60.0, full_wave=full)  # fmt: skip
    sine = 13.7 * np.cos(np.linspace(0, 2 * math.pi, 200001))
    share = 1.0 if math.isinf(across) else across / (across + ohm)
    rail = np.maximum(0, ((np.abs(sine) if full else sine) - 1.31 - load * ohm) * share)
    period = 1 / 120 if full else 1 / 60
    assert (got.mean, got.top, got.trough) == pytest.approx((rail.mean(), rail.max(), 0.0), rel=1e-4)
    assert got.area == pytest.approx(got.mean * period)
    assert got.t_off == pytest.approx((rail == 0).mean() * period, rel=1e-3)


def test_where_nothing_repeats() -> None:
    """By hand: below the drop 0 V; without a load the crest; where the load takes all the source can give, 0 V."""
    base = {
        "source_resistance": 2.0,
        "capacitance": 1e-3,
        "resistance": INF,
        "frequency": 50.0,
        "full_wave": False,
    }
    none = steady_state.rectifier_steady_state(emf=1.2, drop=1.4, current=0.1, **base)
    idle = steady_state.rectifier_steady_state(emf=12.9, drop=1.4, current=0.0, **base)
    most = steady_state.rectifier_steady_state(emf=12.9, drop=1.4, current=5.75, **base)
    assert none == most == steady_state.Ripple(0, 0, 0, 0, 0.02, 0, 0, 0)
    assert idle == steady_state.Ripple(11.5, 11.5, 11.5, 11.5, 0.02, 0, 11.5 * 0.02, 0)


@pytest.mark.parametrize("given", SUPPLIES)
def test_the_quick_way_finds_what_going_round_finds(
    given: tuple[float, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Newton's method in both instants answers every ordinary supply, as periods one after the other do; and from near an
    instant its steps find it without a bracket."""
    emf, drop, ohm, farad, load, across, hertz, full = given
    omega, period = 2 * math.pi * hertz, 1 / hertz / (2 if full else 1)
    cycle = Cycle(emf, drop, ohm, farad, load, across, omega, period)
    quick, sure = cycle._both_instants(emf - drop), cycle._round_after_round(emf - drop)
    assert quick is not None
    assert (*quick[0], quick[1]) == pytest.approx((*sure[0], sure[1]), rel=1e-6)
    (t_on, start, t_off, v_off), off = sure
    lowest, highest = cycle.turns(t_on, start, t_off)
    assert sorted((lowest, highest, t_on)) == [t_on, lowest, highest]

    def lost(*_args: object, **_more: object) -> float:
        raise AssertionError("looked for between brackets")

    monkeypatch.setattr(rectifier_cycle, "root", lost)
    cycle.t_off, cycle.off = t_off - 0.01 / omega, off - 0.01 / omega
    assert cycle._off_at(t_on, start) == pytest.approx(t_off, abs=1e-9 / omega)
    assert cycle.on_again(v_off, t_off) == pytest.approx(off, abs=1e-7 / omega)
    assert cycle.next_on(cycle.decayed(v_off, off)) == pytest.approx(cycle.decayed(v_off, off), rel=1e-6)
    for flat in (lowest, highest):
        if t_on < flat < t_off:
            near = cycle._flat(flat - 0.003 / omega, t_on, start, flat - 0.1 / omega, flat + 0.1 / omega)
            assert cycle.slope(near, t_on, start) / omega == pytest.approx(0, abs=1e-6 * emf)
            h = 1e-5 / omega
            rises = cycle.voltage(t_off + h, t_on, start) - cycle.voltage(t_off - h, t_on, start)
            assert cycle.slope(t_off, t_on, start) == pytest.approx(rises / (2 * h), rel=1e-5)


def test_the_square_of_a_piece() -> None:
    """scipy's quad over i² of a current with all four terms; the charge over i."""
    piece = dropper_cycle.Piece(0.31, -0.17, 0.043, 0.77, 219.0, 314.16, -0.0023, 0.0041)
    assert piece.charge() == pytest.approx(quad(piece.current, piece.start, piece.end)[0])
    assert piece.square() == pytest.approx(quad(lambda t: piece.current(t) ** 2, piece.start, piece.end)[0])
    t = 0.0011
    by_hand = 0.31 * math.cos(0.345576) - 0.17 * math.sin(0.345576) + 0.043 + 0.77 * math.exp(-219 * 0.0034)
    assert piece.current(t) == pytest.approx(by_hand)


# A, W, ohm
DRAINS = (Drain(0.031), Drain(power=7.3), Drain(resistance=4700.0), Drain(0.021, resistance=9100.0), Drain(power=5.1, resistance=12e3))  # fmt: skip


@pytest.mark.parametrize("drain", DRAINS)
def test_a_drain_empties_a_capacitor(drain: Drain) -> None:
    """−C·dv/dt = I + P/v + v/R by scipy, from 310 V on 33 µF; and when it is dry."""
    assert drain.at(200.0) == pytest.approx(drain.current + drain.power / 200 + 200 / drain.resistance)

    def falls(_t: float, v: np.ndarray) -> list[float]:
        return [-(drain.current + drain.power / v[0] + v[0] / drain.resistance) / 33e-6, v[0]]

    volts, area = followed(falls, [310.0, 0.0], (0.0, 0.05))
    assert drain.left(310.0, 0.05, 33e-6) == pytest.approx(volts[-1])
    assert drain.area(310.0, 0.05, 33e-6) == pytest.approx(area[-1])
    if math.isinf(drain.resistance) or drain.current or drain.power:
        assert drain.left(310.0, 10.0, 33e-6) == 0
        # up to where it is dry
        times = np.linspace(0, 2.0, 100001)
        whole = np.trapezoid([drain.left(310.0, t, 33e-6) for t in times], times)
        assert drain.area(310.0, 10.0, 33e-6) == pytest.approx(whole, rel=1e-4)


@pytest.mark.parametrize("drain", DRAINS)
@pytest.mark.parametrize("full", (True, False))
def test_a_bulk_capacitor_on_an_ideal_source(drain: Drain, full: bool) -> None:
    """The greater of the rectified sine and of what the drain has left since the diodes stopped."""
    emf, drop, farad, hertz = 322.0, 1.57, 47e-6, 60.0
    got = rectified_bulk(emf=emf, drop=drop, farad=farad, drain=drain, frequency=hertz, full_wave=full)
    omega, period = 2 * math.pi * hertz, 1 / hertz / (2 if full else 1)
    stop = math.acos((got.v_off + drop) / emf) / omega
    assert farad * emf * omega * math.sin(omega * stop) == pytest.approx(drain.at(got.v_off), rel=1e-6)
    times = np.linspace(stop, stop + period, 20001)
    decay = np.array([drain.left(got.v_off, t - stop, farad) for t in times])
    sine = emf * (np.abs(np.cos(omega * times)) if full else np.cos(omega * times)) - drop
    on = int(np.argmax((times > stop + period / 3) & (sine > decay)))
    assert (got.trough, got.t_off) == pytest.approx((decay[on], times[on] - stop), rel=1e-3)
    assert (got.top, got.period) == pytest.approx((emf - drop, period))
    whole = np.trapezoid(np.concatenate([decay[:on], sine[on:]]), times)
    assert got.area == pytest.approx(whole, rel=1e-5)


@pytest.mark.parametrize("drain", DRAINS)
def test_a_doublers_capacitors_change_places_after_half_a_period(drain: Drain) -> None:
    """From the trough, where the one that is charged next stands at the source, scipy over half a period of Kirchhoff's
    laws, with 0.02 ohm in the diode."""
    emf, drop, farad, hertz, bleeder = 167.0, 0.83, 68e-6, 60.0, 130e3
    got = doubled_bulk(emf=emf, drop=drop, farad=farad, bleeder=bleeder, drain=drain, frequency=hertz)
    omega = 2 * math.pi * hertz
    start = -math.acos((got.lower + drop) / emf) / omega

    def slopes(t: float, state: np.ndarray) -> list[float]:
        lower, upper = state[:2]
        sine = emf * math.cos(omega * t)
        drawn = drain.at(lower + upper)
        into_lower = max(0.0, sine - drop - lower) / 0.02
        into_upper = max(0.0, -sine - drop - upper) / 0.02
        return [
            (into_lower - drawn - lower / bleeder) / farad,
            (into_upper - drawn - upper / bleeder) / farad,
            lower + upper,
        ]

    lower, upper, area = followed(slopes, [got.lower, got.upper, 0.0], (start, start + 0.5 / hertz))
    assert (lower[-1], upper[-1]) == pytest.approx((got.upper, got.lower), rel=2e-3)
    assert ((lower + upper).max(), (lower + upper).min()) == pytest.approx((got.top, got.trough), rel=1e-3)
    assert area[-1] == pytest.approx(got.area, rel=1e-3)
    assert got.trough == pytest.approx(got.upper + got.lower)
    assert got.period == pytest.approx(0.5 / hertz)
    # the other diode stopped t_off earlier, where the source was at what it charged
    stopped = start - got.t_off + 0.5 / hertz
    charged = emf * math.cos(omega * stopped) - drop
    assert charged == pytest.approx(lower.max(), rel=5e-3) or charged < lower.max()


def test_a_bulk_capacitor_without_a_load_or_a_source() -> None:
    """By hand: the crest less the drops, twice that in a doubler; nothing below the drop."""
    idle = rectified_bulk(emf=325, drop=2, farad=1e-4, drain=Drain(), frequency=50, full_wave=True)
    assert (idle.trough, idle.top, idle.area, idle.period, idle.v_off, idle.t_off) == (
        323,
        323,
        3.23,
        0.01,
        323,
        0.01,
    )
    both = doubled_bulk(emf=325, drop=1, farad=1e-4, bleeder=INF, drain=Drain(), frequency=50)
    assert (both.trough, both.top, both.area, both.upper, both.lower) == (648, 648, 6.48, 324, 324)
    assert (both.period, both.v_off, both.t_off) == (0.01, 648, 0.01)
    for none in (rectified_bulk(emf=1, drop=2, farad=1e-4, drain=Drain(0.1), frequency=50, full_wave=True),
                 doubled_bulk(emf=1, drop=2, farad=1e-4, bleeder=INF, drain=Drain(0.1), frequency=50)):  # fmt: skip
        assert none == bulk_cycle.Bulk(0, 0, 0, 0.01, 0, 0.01)


# series ohm, F, ohm across the dropper, V forward, V backward
DROPPERS = (
    (47.0, 0.47e-6, 470e3, 12.7, 0.83), (100.0, 1e-6, 220e3, 24.9, 24.9), (220.0, 0.33e-6, 15e3, 5.9, INF),
    (330.0, 0.22e-6, 21e3, INF, 17.0), (1000.0, 0.0, 6800.0, 13.1, 0.7), (150.0, 0.68e-6, 330e3, 0.0, 61.0),
)  # fmt: skip


@pytest.mark.parametrize("given", DROPPERS)
def test_a_droppers_charge_and_heat_in_a_period(given: tuple[float, ...]) -> None:
    """From a discharged dropper by scipy until it repeats, 8 periods on: the charge each way and ∫i²."""
    series, farad, across, up, down = given
    peak, hertz = 331.0, 50.0

    def passed(t: float, v: float) -> float:
        left = peak * math.cos(2 * math.pi * hertz * t) - v
        return max(0.0, left - up) / series - max(0.0, -left - down) / series

    if farad:

        def slopes(t: float, state: np.ndarray) -> list[float]:
            i = passed(t, state[0])
            return [(i - state[0] / across) / farad, max(i, 0.0), max(-i, 0.0), i * i]

        state = [0.0, 0.0, 0.0, 0.0]
        for turn in range(8):
            found = solve_ivp(slopes, (turn / hertz, (turn + 1) / hertz), state[:1] + [0, 0, 0], method="LSODA",
                              rtol=1e-7, atol=1e-10, max_step=1e-4)  # fmt: skip
            state = list(found.y[:, -1])
        _, plus, minus, square = state
    else:
        times = np.linspace(0, 1 / hertz, 100001)
        volts = peak * np.cos(2 * math.pi * hertz * times)
        forward = np.maximum(0, volts - up) / (series + across)
        backward = np.maximum(0, -volts - down) / (series + across)
        plus, minus = np.trapezoid(forward, times), np.trapezoid(backward, times)
        square = np.trapezoid(forward**2 + backward**2, times)
    got = dropper_cycle.dropper_cycle(
        peak=peak, frequency=hertz, series=series, capacitance=farad, discharge=across, up=up, down=down
    )
    assert (got.plus, got.minus) == pytest.approx((plus, minus), rel=1e-3, abs=1e-9)
    assert got.mean_square == pytest.approx(square * hertz, rel=1e-3)


def test_a_dropper_that_passes_nothing() -> None:
    """Open resistor; a capacitor that one direction charges once and nothing discharges; nothing but an open capacitor."""
    for changed in ({"series": INF}, {"discharge": INF, "down": INF}, {"discharge": INF, "up": INF}, {"discharge": INF, "capacitance": 0.0}):  # fmt: skip
        given = {"peak": 325.0, "frequency": 50.0, "series": 100.0, "capacitance": 1e-6, "discharge": 1e6, "up": 5.0, "down": 1.0}  # fmt: skip
        got = dropper_cycle.dropper_cycle(**{**given, **changed})
        assert got == dropper_cycle.DropperCycle(0.0, 0.0, 0.0)


def test_where_a_droppers_path_opens_without_a_bracket(monkeypatch: pytest.MonkeyPatch) -> None:
    """peak·cos ωt − v·e^(−t/τ) = level at the instant that is found, by Newton's steps alone."""
    monkeypatch.setattr(dropper_cycle, "root", lambda *_args: pytest.fail("looked for between brackets"))
    circuit = dropper_cycle._Circuit(331.0, 314.16, 47.0, 0.47e-6, 470e3)
    for level, before in itertools.product((6.1, 24.9), (-290.0, -120.0, 50.0)):

        def left(at: float) -> float:
            return before * math.exp((-0.009 - at) / (470e3 * 0.47e-6))

        at = circuit.meets(left, 470e3 * 0.47e-6, level, -0.009)
        assert 331.0 * math.cos(314.16 * at) - left(at) == pytest.approx(level, abs=1e-6)
        assert -0.009 < at < 0


@pytest.mark.parametrize(("power", "low", "high", "zero"), [(3, 0.5, 3.1, 8.0), (1, -2.0, 9.7, 3.3), (7, 0.0, 2.0, 11.0)])  # fmt: skip
def test_a_root_is_found_in_few_calls(power: int, low: float, high: float, zero: float) -> None:
    """x^n = a, whose root is a^(1/n); regula falsi alone would crawl along these, the Illinois step does not."""
    calls: list[float] = []

    def f(x: float) -> float:
        calls.append(x)
        return x**power - zero

    assert roots.root(f, low, high) == pytest.approx(zero ** (1 / power), rel=1e-11)
    assert roots.root(lambda x: -f(x), low, high) == pytest.approx(zero ** (1 / power), rel=1e-11)
    assert roots.root(lambda x: f(-x), -high, -low) == pytest.approx(-(zero ** (1 / power)), rel=1e-11)
    assert len(calls) < 60
    assert all(low <= abs(x) <= high or low < 0 for x in calls)


def test_where_no_root_lies_between() -> None:
    """The end that is nearer zero; an end that is zero is the root."""
    assert roots.root(lambda x: x + 1, 0.0, 5.0) == 0.0
    assert roots.root(lambda x: x - 6, 0.0, 5.0) == 5.0
    assert roots.root(lambda x: x, 0.0, 5.0) == 0.0 and roots.root(lambda x: x - 5, 0.0, 5.0) == 5.0
    assert roots.root(lambda x: x - 1, 0.0, 5.0, tolerance=0.5) == pytest.approx(1.0, abs=2.5)


def test_the_first_of_several_roots() -> None:
    """sin x: the first zero above the start; by ratio the same; undefined places are passed over."""
    assert roots.first_root(math.sin, -1.0, 9.0) == pytest.approx(0.0, abs=1e-9)
    assert roots.first_root(math.sin, 1.0, 9.0) == pytest.approx(math.pi)
    assert roots.first_root(math.sin, 0.1, 90.0) == pytest.approx(math.pi)
    assert roots.first_root(lambda x: x + 7, 1.0, 9.0) is None
    assert roots.first_root(lambda x: math.nan if x < 2 else x - 3, 1.0, 9.0) == pytest.approx(3.0)
    assert roots.first_root(lambda x: INF if x < 2 else x - 1.5, 1.0, 9.0) is None
    assert roots.first_root(lambda x: x - 1.0, 1.0, 9.0) == 1.0
    # a pole is not a zero: 1/(x − 3) changes its sign where it is infinite, and only finite neighbours count
    assert roots.first_root(lambda x: 1 / (x - 3) if x != 3 else INF, 0.0, 6.0) is None
