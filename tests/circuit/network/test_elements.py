"""Each sort of element by itself: what flows at stated volts, what an ohmmeter meets, what each failure makes of its numbers.
By hand, from Ohm's law and the elements' own figures (their docstrings)."""

from __future__ import annotations

import cmath
import math

import pytest
from test_forms import flows, of

from generator.circuit.network.chips import Amplifier, Coupler, Loop, Regulator
from generator.circuit.network.element import (
    Beside,
    Element,
    Plus,
    Sized,
    Times,
    become,
    exact,
    leak_lines,
    siemens,
)
from generator.circuit.network.passive import Bridge, Capacitor, Contact, Inside, Resistor, Resting, Winding
from generator.circuit.network.sources import Drive, Feed, Load, Motor, Pin, Source, own_of
from generator.circuit.network.stamps import current, voltage

INF = math.inf
AB = {"name": "x", "a": "a", "b": "b"}


def through(element: Element, volts: float, *, cold: str = "", **changed: float) -> float:
    """Amperes from a to b with so many volts from a to b."""
    p = {**element.nominal(), **changed}
    stamps = element.cold(p, cold) if cold else element.stamps(p)
    return flows(stamps, {"a": volts, "b": 0.0})["a"]


def test_what_is_linear() -> None:
    resistor = Resistor(**AB, ohms=exact(470.0))
    assert through(resistor, 9.4) == pytest.approx(0.02) == through(resistor, 9.4, cold="ohms")
    assert through(resistor, 9.4, ohms=INF) == 0 and through(resistor, 1.0, ohms=0.0) == pytest.approx(
        1 / siemens(0.0) ** -1
    )
    assert resistor.admittance(resistor.nominal(), 314.0) == (("a", "b", pytest.approx(1 / 470)),)
    # a warm thermistor of 0.5 Ω that is 10 Ω cold; failed it is what it is
    warm = Resting(**AB, ohms=exact(0.5), at_rest=exact(10.0))
    assert through(warm, 1.0) == pytest.approx(2.0) and through(warm, 1.0, cold="ohms") == pytest.approx(0.1)
    assert through(warm, 1.0, cold="ohms", ohms=INF) == 0 and through(warm, 1.0, cold="ohms", ohms=0.0) > 10
    capacitor = Capacitor(**AB, farads=exact(2.2e-6))
    assert (
        through(capacitor, 10.0) == pytest.approx(1e-9) and through(capacitor, 10.0, farads=0.9e-6) == 0
    )  # what an electrolytic seeps
    assert through(capacitor, 10.0, cold="ohms") == 0 and through(capacitor, 10.0, leak=1e4) == pytest.approx(
        1e-3, rel=1e-5
    )
    assert capacitor.admittance({**capacitor.nominal(), "leak": 1e6}, 314.0) == (
        ("a", "b", pytest.approx(1e-6 + 314 * 2.2e-6j)),
    )
    ac = {**AB, "ac": True}
    for idle in (
        Resistor(**ac, ohms=exact(1.0)),
        Capacitor(**ac, farads=exact(1e-6)),
        Contact(**ac),
        Winding(**ac, ohms=exact(1.0)),
    ):
        assert idle.stamps(idle.nominal()) == ()


def test_windings_and_contacts() -> None:
    winding = Winding(**AB, ohms=exact(8.0), henries=exact(0.02), emf=exact(6.0), turning=exact(4.0))
    assert through(winding, 12.0) == pytest.approx(0.5) and through(
        winding, 12.0, cold="ohms"
    ) == pytest.approx(1.5)
    assert through(winding, 0.001, ohms=0.0, emf=0.0) == pytest.approx(
        0.001 * siemens(0.0)
    )  # shorted it does not turn
    ((_a, _b, there),) = winding.admittance(winding.nominal(), 314.0)
    assert 1 / there == pytest.approx(12 + 6.28j) and cmath.phase(1 / there) == pytest.approx(
        math.atan2(6.28, 12)
    )
    assert winding.admittance({**winding.nominal(), "ohms": INF}, 314.0)[0][2] == 0
    contact = Contact(**AB)
    assert through(contact, 0.02) == pytest.approx(1.0) and abs(through(contact, 10.0, closed=0.0)) < 1e-6
    p, opened = contact.nominal(), {**contact.nominal(), "closed": 0.0}
    assert (
        contact.failed(p, "high resistance")["ohms"] == 10
        and contact.failed(p, "high resistance", 33.0)["ohms"] == 33
    )
    assert contact.failed(p, "leaky") == p and contact.failed(opened, "leaky") == {"ohms": 1e5, "closed": 1.0}
    assert contact.failed(opened, "leaky", 470.0)["ohms"] == 470 and contact.failed(p, "open")["closed"] == 0
    assert contact.failed(opened, "short")["closed"] == 1 == contact.failed(opened, "stuck")["closed"]
    assert (
        contact.failed(opened, "short", 3.0)["ohms"] == 3 and contact.failed(opened, "short")["ohms"] == 0.02
    )
    assert Bridge(**AB).groups() == () and through(Bridge(**AB), 9.0) == 0


def test_sources() -> None:
    """12 V behind 0.5 Ω into a net at 11 V: the equation of its branch, plus − minus + … = 0 at 2 A out of plus."""
    source = Source(name="v", plus="a", minus="b", volts=exact(12.0), ohms=exact(0.5))
    (stamp,) = source.stamps(source.nominal())
    assert (
        stamp.branch
        and stamp.out == ("a", "b")
        and of(stamp.form, (11.0, -2.0), stamp.numbers)[0] == pytest.approx(0.0)
    )
    (off,) = source.stamps({**source.nominal(), "on": 0.0})
    assert of(off.form, (7.0, 0.0), off.numbers)[0] == 0 and of(off.form, (7.0, 0.3), off.numbers)[
        0
    ] == pytest.approx(0.3)
    assert source.stamps({**source.nominal(), "ohms": INF}) == (off,)
    drive = Drive(name="d", plus="a", minus="b", volts=exact(5.0), ohms=exact(1.0), idle=exact(0.2))
    (high,), (low,) = drive.stamps(drive.nominal()), drive.stamps({**drive.nominal(), "driven": 0.0})
    assert (
        of(high.form, (5.0, 0.0), high.numbers)[0]
        == pytest.approx(0)
        == of(low.form, (0.2, 0.0), low.numbers)[0]
    )
    assert own_of([drive, source]) is source and own_of([drive]) is None
    assert voltage("a", "b", 1.0).numbers == (-1.0, 1.0, -1e-4) and current("a", "b", 0.3).numbers == (
        0.3,
        0.0,
        0.0,
    )
    feed = Feed(name="f", plus="a", minus="b", amperes=exact(0.04))
    assert flows(feed.stamps(feed.nominal()), {"a": 0.0, "b": 0.0})["a"] == pytest.approx(-0.04)
    assert flows(feed.stamps(feed.nominal()), {"a": 1000.0, "b": 0.0})["a"] == pytest.approx(
        0.0
    )  # 1 kV at most


def test_what_loads_take() -> None:
    load = Load(**AB, amperes=exact(0.25))
    assert (
        through(load, 5.0) == pytest.approx(0.25, rel=1e-4)
        and through(load, 0.0) == 0
        and through(load, 5.0, cold="ohms") == 0
    )
    assert (
        through(load, 5.0, leak=100.0) == pytest.approx(0.3, rel=1e-4)
        and through(load, 5.0, leak=100.0, cold="ohms") == 0.05
    )
    # a motor of 6 Ω and 0.2 A at 12 V, half of its torque friction: 10.8 V of its own; at rest its winding
    motor = Motor(**AB, amperes=exact(0.2), ohms=exact(6.0), emf=exact(10.8), friction=exact(0.5))
    assert through(motor, 12.0) == pytest.approx(0.2, rel=1e-3)
    assert through(motor, 12.0, cold="ohms") == pytest.approx(2.0) == through(motor, 12.0, stalled=1.0)
    # up to 0.6 V, where it overcomes the friction of 0.1 A, its winding; from there 0.1 A and as much times the square of its
    # speed, V = 6·I + 10.8·speed: at 6.3 V the speed is (√(116.64 + 2.4·5.7) − 10.8)/1.2
    assert through(motor, 0.3) == pytest.approx(0.05, rel=0.02)
    for volts in (6.3, 24.0):
        speed = (math.sqrt(116.64 + 2.4 * (volts - 0.6)) - 10.8) / 1.2
        assert through(motor, volts) == pytest.approx(0.1 + 0.1 * speed**2, rel=1e-3)
    assert abs(through(motor, 12.0, ohms=INF)) < 1e-12
    plain = Motor(**AB, amperes=exact(0.2), ohms=exact(6.0))  # no more is known: its current at any volts
    assert through(plain, 12.0) == pytest.approx(0.2, rel=1e-3) == through(plain, 5.0)
    pin = Pin(name="p", pin="a", supply="s", common="b", ohms=exact(25.0))
    p = pin.nominal()
    for given, wanted in (({}, 0.04), ({"high": 1.0, "low": 0.0}, -0.16), ({"low": 0.0}, 0.0)):
        assert flows(pin.stamps({**p, **given}), {"a": 1.0, "s": 5.0, "b": 0.0})["a"] == pytest.approx(wanted)


def test_chips() -> None:
    """A regulator of 5 V: 5 mA of its own, 200 kΩ at its output; failed from input to output. An amplifier leaks a nanosiemens."""
    regulator = Regulator(name="u", input="i", output="o", common="c", volts=exact(5.0), dropout=exact(1.2))
    p = regulator.nominal()
    held, own, limit, across, divider = regulator.stamps(p)
    # 8 V in, 5 V out, at any current; 5.5 V in leave 4.3 V
    for i, o in ((8.0, 5.0), (5.5, 4.3)):
        assert of(held.form, (i - o, o, 0.2), held.numbers)[0] == pytest.approx(0.0, abs=3e-5)
    rest = (own, limit, across, divider)
    assert flows(rest, {"i": 8.0, "o": 5.0, "c": 0.0})["i"] == pytest.approx(5e-3, rel=1e-3)
    assert flows(rest, {"i": 8.0, "o": 5.0, "c": 0.0})["o"] == pytest.approx(5 / 2e5)
    shorted = regulator.stamps({**p, "across": 100.0, "alive": 0.0})
    assert of(shorted[0].form, (3.0, 5.0, 0.2), shorted[0].numbers)[0] == pytest.approx(
        0.2
    )  # its own current is 0
    assert flows(shorted[1:], {"i": 8.0, "o": 5.0, "c": 0.0})["o"] == pytest.approx(-0.03)
    held_back = regulator.stamps({**p, "alive": 0.0, "limited": 0.7, "quiescent": 0.0})
    assert flows(held_back[1:], {"i": 8.0, "o": 5.0, "c": 0.0})["i"] == pytest.approx(0.7, rel=2e-3)
    assert flows(regulator.cold({**p, "across": 50.0}, "ohms"), {"i": 1.0, "o": 0.0})["i"] == pytest.approx(
        0.02
    )
    loop = Loop(name="u", input="i", output="o", common="c", sense="f", volts=exact(2.5))
    assert loop.stamps(loop.nominal())[0].controls[1] == ("f", "c")
    amplifier = Amplifier(
        name="u", plus="p", minus="m", output="o", supply="s", common="c", quiescent=exact(1e-3)
    )
    nets = {"p": 0.0, "m": 0.0, "o": 2.0, "s": 9.0, "c": 0.0}
    rest = tuple(
        stamp for stamp in amplifier.stamps(amplifier.nominal()) if not stamp.branch and stamp.form != "draw"
    )
    assert flows(rest, nets)["s"] == pytest.approx(1e-3, rel=1e-3) and flows(rest, nets)[
        "o"
    ] == pytest.approx(2e-9, rel=0.01)
    dead = {**amplifier.nominal(), "alive": 0.0}
    low, high = (
        flows(
            [own for own in amplifier.stamps({**dead, **failed}) if not own.branch and own.form != "draw"],
            nets,
        )
        for failed in ({"leak": 60.0}, {"lift": 60.0})
    )
    assert low["o"] == pytest.approx(2 / 60) and high["o"] == pytest.approx(-7 / 60) and abs(low["s"]) < 1e-7


def test_a_coupler_passes_its_share() -> None:
    """5 mA at 1.2 V in the LED, 80 % of that in the transistor, no more than its volts over 100 Ω."""
    coupler = Coupler(name="u", anode="a", cathode="k", collector="c", emitter="e", ctr=exact(0.8))
    p = coupler.nominal()

    def flow(led: float, out: float, **changed: float) -> tuple[float, float]:
        found = flows(coupler.stamps({**p, **changed}), {"a": led, "k": 0.0, "c": out, "e": 0.0})
        return found["a"], found["c"]

    assert flow(1.2, 5.0) == pytest.approx((5e-3, 4e-3), rel=2e-3) and flow(1.2, 0.1)[1] == pytest.approx(
        1e-3, rel=2e-3
    )
    assert flow(1.2, 5.0, alive=0.0)[1] < 1e-9 and max(flow(1.2, 5.0, lit=0.0)) < 1e-9
    assert flow(0.0, 5.0, leak=1e4)[1] == pytest.approx(5e-4) and coupler.groups() == (("a", "k"), ("c", "e"))
    tested = flows(coupler.cold(p, "diode"), {"a": 1.2, "k": 0.0, "c": 0.0, "e": 0.0})["a"]
    assert tested == pytest.approx(5e-3, rel=1e-6) and len(coupler.cold(p, "ohms")) == 1


FAILED: tuple[tuple[Element, str, float | None, dict[str, float]], ...] = (
    (Resistor(**AB, ohms=exact(470.0)), "open", None, {"ohms": INF}), (Resistor(**AB, ohms=exact(470.0)), "high", None, {"ohms": 940}),
    (Resistor(**AB, ohms=exact(470.0)), "high", 3.0, {"ohms": 1410}), (Resistor(**AB, ohms=exact(470.0)), "low", None, {"ohms": 235}),
    (Resistor(**AB, ohms=exact(470.0)), "short", None, {"ohms": 0.0}), (Resistor(**AB, ohms=exact(470.0)), "short", 470.0, {"ohms": 235}),
    (Resistor(**AB, ohms=exact(470.0)), "high resistance", None, {"ohms": 480}), (Resistor(**AB, ohms=exact(1e4)), "leaky", None, {"ohms": 5e3}),
    (Capacitor(**AB, farads=exact(1e-6)), "low", None, {"farads": 2e-7}), (Capacitor(**AB, farads=exact(1e-6)), "high", None, {"farads": 2e-6}),
    (Capacitor(**AB, farads=exact(1e-6)), "open", None, {"farads": 0.0}), (Capacitor(**AB, farads=exact(1e-6)), "leaky", None, {"leak": 1e4}),
    (Capacitor(**AB, farads=exact(1e-6)), "short", None, {"leak": 0.0}), (Capacitor(**AB, farads=exact(1e-6)), "short", 0.5, {"leak": 0.5}),
    (Bridge(**AB), "bridge", None, {"ohms": 0.1}), (Inside(**AB), "short", None, {"ohms": 1.0}),
    (Source(name="v", plus="a", minus="b", volts=exact(10.0)), "low", None, {"volts": 7.0}), (Source(name="v", plus="a", minus="b", volts=exact(10.0)), "high", None, {"volts": 13.0}),
    (Source(name="v", plus="a", minus="b", volts=exact(10.0)), "dead", None, {"volts": 0.0}), (Source(name="v", plus="a", minus="b", volts=exact(10.0)), "high resistance", None, {"ohms": 1.0}),
    (Source(name="v", plus="a", minus="b", volts=exact(10.0)), "open", None, {"on": 0.0}), (Source(name="v", plus="a", minus="b", volts=exact(10.0)), "short", None, {"volts": 0.0}),
    (Load(**AB, amperes=exact(0.1)), "high", None, {"amperes": 0.2}), (Load(**AB, amperes=exact(0.1)), "low", None, {"amperes": 0.05}),
    (Load(**AB, amperes=exact(0.1)), "open", None, {"amperes": 0.0}), (Load(**AB, amperes=exact(0.1)), "leaky", None, {"leak": 1e3}), (Load(**AB, amperes=exact(0.1)), "short", None, {"leak": 0.0}),
    (Motor(**AB, amperes=exact(0.1), ohms=exact(5.0)), "stalled", None, {"stalled": 1.0}),
    (Pin(name="p", pin="a", supply="s", common="b"), "stuck high", None, {"high": 1.0, "low": 0.0}), (Pin(name="p", pin="a", supply="s", common="b"), "stuck low", None, {"high": 0.0, "low": 1.0}),
    (Pin(name="p", pin="a", supply="s", common="b"), "open", None, {"high": 0.0, "low": 0.0}),
    (Regulator(name="u", input="i", output="o", common="c", volts=exact(5.0)), "open", None, {"alive": 0.0, "quiescent": 0.0}),
    (Regulator(name="u", input="i", output="o", common="c", volts=exact(5.0)), "short", None, {"across": 0.0}), (Regulator(name="u", input="i", output="o", common="c", volts=exact(5.0)), "leaky", None, {"across": 1e3}),
    (Regulator(name="u", input="i", output="o", common="c", volts=exact(5.0)), "high", None, {"volts": 6.5}), (Regulator(name="u", input="i", output="o", common="c", volts=exact(5.0)), "low", None, {"volts": 3.5}),
    (Coupler(name="u", anode="a", cathode="k", collector="c", emitter="e", ctr=exact(1.0)), "dark", None, {"lit": 0.0}),
    (Coupler(name="u", anode="a", cathode="k", collector="c", emitter="e", ctr=exact(1.0)), "low", None, {"ctr": 0.2}), (Coupler(name="u", anode="a", cathode="k", collector="c", emitter="e", ctr=exact(1.0)), "high", None, {"ctr": 3.0}),
    (Amplifier(name="u", plus="p", minus="m", output="o", supply="s", common="c"), "stuck low", None, {"alive": 0.0, "leak": 60.0}),
    (Amplifier(name="u", plus="p", minus="m", output="o", supply="s", common="c"), "stuck high", None, {"alive": 0.0, "lift": 60.0}),
    (Amplifier(name="u", plus="p", minus="m", output="o", supply="s", common="c"), "open", None, {"alive": 0.0}),
)  # fmt: skip


@pytest.mark.parametrize(("element", "mode", "size", "wanted"), FAILED)
def test_what_a_failure_changes(
    element: Element, mode: str, size: float | None, wanted: dict[str, float]
) -> None:
    """Its size where one is said, else the usual one; and nothing besides."""
    p = element.nominal()
    assert element.failed(p, mode, size) == pytest.approx({**p, **wanted})
    with pytest.raises(ValueError, match="does not fail"):
        Resistor(**AB, ohms=exact(1.0)).failed({}, "stalled")


def test_how_a_number_becomes_another() -> None:
    assert become(100.0, Times(2.0), None) == 200 and become(100.0, Times(2.0), 3.0) == 300
    assert become(100.0, Plus(10.0), None) == 110 and become(100.0, Plus(10.0), 1.0) == 101
    assert become(100.0, Beside(100.0), None) == 50 and become(100.0, Beside(0.0), None) == 0
    assert (
        become(100.0, Sized(7.0), None) == 7
        and become(100.0, Sized(7.0), 8.0) == 8
        and become(100.0, 5.0, 8.0) == 5
    )
    assert (
        siemens(50.0) == 0.02
        and siemens(INF) == 0
        and siemens(1e30) == 0
        and siemens(0.0) == siemens(-1.0) == 100
    )
    assert leak_lines("x", "1", "2", INF) == [] and leak_lines("x", "1", "2", 470.0) == ["Rx 1 2 470"]
    resistor = Resistor(
        **AB,
        key="r",
        called="R1",
        ohms=exact(10.0),
        wear={"d": ("D1", {"open": lambda p, size: {"ohms": size or 9.0}})},
    )
    p = resistor.nominal()
    assert resistor.worn(p, "d", "open", None) == {"ohms": 9.0} and resistor.worn(p, "d", "open", 4.0) == {
        "ohms": 4.0
    }
    assert (
        resistor.worn(p, "r", "high", None) == {"ohms": 20.0}
        and resistor.worn(p, "r", "stalled", None) is None
    )
    assert resistor.worn(p, "q", "open", None) is None and resistor.renamed(str.upper).nets == ("A", "B")
