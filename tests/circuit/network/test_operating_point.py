"""Operating points against what others say: nodal equations by numpy, textbook bias circuits, ngspice."""

from __future__ import annotations

import math
import random
from pathlib import Path

import numpy as np
import pytest

from generator.circuit.network.chips import Amplifier, Coupler, Regulator
from generator.circuit.network.compile import System
from generator.circuit.network.element import Element, exact
from generator.circuit.network.junctions import Diode, Mosfet, Transistor
from generator.circuit.network.limits import LIMITS
from generator.circuit.network.newton import operating_points
from generator.circuit.network.passive import Contact, Resistor
from generator.circuit.network.rectified import curve
from generator.circuit.network.sources import Feed, Load, Source
from tests import spice


def volts(elements: list[Element], net: str) -> float:
    return float(operating_points(System(elements, ["0"])).volts(net)[0])


def R(name: str, a: str, b: str, ohms: float) -> Resistor:
    return Resistor(name=name, a=a, b=b, ohms=exact(ohms))


def V(name: str, plus: str, value: float, minus: str = "0") -> Source:
    return Source(name=name, plus=plus, minus=minus, volts=exact(value))


@pytest.mark.parametrize("seed", range(20))
def test_resistor_networks_against_the_nodal_equations(seed: int) -> None:
    """Random meshes of resistors with current sources into their nets: G·v = i, built and solved here by numpy."""
    rng = random.Random(seed)
    count = rng.randint(2, 15)
    nets = [f"n{i}" for i in range(count)]
    edges = [(i, rng.randrange(i)) for i in range(1, count)]
    edges += [tuple(rng.sample(range(count), 2)) for _ in range(count)]
    ohms = [10 ** rng.uniform(0, 5) for _ in edges]
    fed = [rng.uniform(-1e-2, 1e-2) for _ in range(count)]
    g = np.zeros((count, count))
    for (a, b), r in zip(edges, ohms):
        g[[a, b], [a, b]] += 1 / r
        g[[a, b], [b, a]] -= 1 / r
    g += (
        np.diag(np.abs(fed)) / 1e3
    )  # what drives a stated current gives 1 kV at most: it has 1 kV/I beside it
    expected = np.zeros(count)
    expected[1:] = np.linalg.solve(g[1:, 1:], np.array(fed[1:]))
    elements: list[Element] = [
        R(f"r{k}", nets[a], nets[b], r) for k, ((a, b), r) in enumerate(zip(edges, ohms))
    ]
    elements += [
        Feed(name=f"i{k}", plus=nets[k], minus="n0", amperes=exact(i))
        for k, i in enumerate(fed)
        if k and i > 0
    ]
    elements += [
        Feed(name=f"i{k}", plus="n0", minus=nets[k], amperes=exact(-i))
        for k, i in enumerate(fed)
        if k and i < 0
    ]
    point = operating_points(System(elements, ["n0"]))
    found = np.array([float(point.volts(net)[0]) for net in nets])
    np.testing.assert_allclose(found, expected, rtol=1e-4, atol=1e-6 * float(np.abs(expected).max()))


@pytest.mark.parametrize("seed", range(20))
def test_divided_sources_against_the_nodal_equations(seed: int) -> None:
    """The same with a voltage source in the first net, which is eliminated by hand."""
    rng = random.Random(seed)
    count = rng.randint(3, 15)
    edges = [(i, rng.randrange(i)) for i in range(1, count)]
    edges += [tuple(rng.sample(range(count), 2)) for _ in range(2 * count)]
    ohms = [10 ** rng.uniform(0, 5) for _ in edges]
    g = np.zeros((count, count))
    for (a, b), r in zip(edges, ohms):
        g[[a, b], [a, b]] += 1 / r
        g[[a, b], [b, a]] -= 1 / r
    expected = np.zeros(count)
    expected[1] = 12.0
    expected[2:] = np.linalg.solve(g[2:, 2:], -g[2:, 1] * 12.0)
    elements: list[Element] = [
        R(f"r{k}", f"n{a}", f"n{b}", r) for k, ((a, b), r) in enumerate(zip(edges, ohms))
    ]
    elements.append(V("v", "n1", 12.0, "n0"))
    point = operating_points(System(elements, ["n0"]))
    found = np.array([float(point.volts(f"n{i}")[0]) for i in range(count)])
    np.testing.assert_allclose(
        found, expected, atol=12 * 1e-3
    )  # 0.1 mohm in the source, beside 1 ohm and more


def test_diode_behind_a_resistor() -> None:
    """Sedra and Smith, Microelectronic Circuits, chapter on diodes, example of iterative analysis (from memory: 3.4):
    5 V, 1 kohm, a diode of 0.7 V at 1 mA: 0.738 V, 4.262 mA."""
    diode = Diode(name="d", anode="a", cathode="0", forward=exact(0.7), at=1e-3, emission=1.0)
    at = volts([V("v", "s", 5), R("r", "s", "a", 1e3), diode], "a")
    assert at == pytest.approx(0.738, abs=0.002)
    assert (5 - at) / 1e3 == pytest.approx(4.262e-3, rel=0.002)


def test_transistor_with_an_emitter_resistor() -> None:
    """Sedra and Smith, chapter on bipolar transistors, first DC example (from memory: 6.4): base at 4 V, 3.3 kohm in the
    emitter, 4.7 kohm to 10 V, beta 100: emitter 3.3 V, collector 5.3 V."""
    q = Transistor(
        name="q", base="b", collector="c", emitter="e", hfe=exact(100), vbe=exact(0.7), at=1e-3 / 101
    )
    point = operating_points(
        System(
            [V("vb", "b", 4), V("vc", "s", 10), R("rc", "s", "c", 4700), R("re", "e", "0", 3300), q], ["0"]
        )
    )
    assert float(point.volts("e")[0]) == pytest.approx(3.3, abs=0.02)
    assert float(point.volts("c")[0]) == pytest.approx(
        5.3, abs=0.05
    )  # 10 V − 0.99 mA·4.7 kohm, printed as 5.3


def test_transistor_biased_by_a_divider() -> None:
    """Sedra and Smith, the same chapter (from memory: example 6.10): 100 k and 50 k from 15 V, 3 k in the emitter, 5 k in
    the collector, beta 100: base 4.57 V, emitter 1.29 mA, collector 8.6 V."""
    q = Transistor(name="q", base="b", collector="c", emitter="e", hfe=exact(100), vbe=exact(0.7), at=1.28e-5)
    elements = [
        V("v", "s", 15),
        R("r1", "s", "b", 1e5),
        R("r2", "b", "0", 5e4),
        R("rc", "s", "c", 5e3),
        R("re", "e", "0", 3e3),
        q,
    ]
    point = operating_points(System(elements, ["0"]))
    assert float(point.volts("b")[0]) == pytest.approx(4.57, abs=0.02)
    assert float(point.volts("e")[0]) / 3e3 == pytest.approx(1.29e-3, rel=0.01)
    assert float(point.volts("c")[0]) == pytest.approx(8.6, abs=0.05)


def test_mosfet_biased_by_a_divider() -> None:
    """Sedra and Smith, chapter on MOSFETs (from memory: example 5.6): 10 M and 10 M from 10 V, 6 k in drain and source,
    threshold 1 V, k(W/L) 1 mA/V²: 0.5 mA, source 3 V, drain 7 V."""
    m = Mosfet(name="m", gate="g", drain="d", source="s", vth=exact(1.0), rds=exact(1e3), at=1.0)
    elements = [
        V("v", "p", 10),
        R("r1", "p", "g", 1e7),
        R("r2", "g", "0", 1e7),
        R("rd", "p", "d", 6e3),
        R("rs", "s", "0", 6e3),
        m,
    ]
    point = operating_points(System(elements, ["0"]))
    assert float(point.volts("s")[0]) == pytest.approx(3.0, abs=0.01)
    assert float(point.volts("d")[0]) == pytest.approx(7.0, abs=0.01)


def test_regulator_holds_follows_and_runs_dry() -> None:
    """By the definition of dropout: 5 V from 12 V; input less 2 V from 6 V; nothing from 1 V. It takes load and its own."""
    for supply, expected in ((12.0, 5.0), (6.0, 4.0), (1.0, 0.0)):
        u = Regulator(
            name="u",
            input="s",
            output="o",
            common="0",
            volts=exact(5),
            dropout=exact(2),
            quiescent=exact(5e-3),
        )
        point = operating_points(
            System([V("v", "s", supply), u, Load(name="l", a="o", b="0", amperes=exact(0.1))], ["0"])
        )
        assert float(point.volts("o")[0]) == pytest.approx(expected, abs=0.002)
        if expected == 5.0:
            assert -float(point.amperes("v")[0]) == pytest.approx(0.105, rel=1e-3)


def test_a_load_in_amperes_dies_with_its_supply_and_never_drives() -> None:
    """100 mA behind 1 kohm from 5 V: what the resistor lets through, and nothing below 0 V."""
    load = Load(name="l", a="o", b="0", amperes=exact(0.1))
    point = operating_points(System([V("v", "s", 5), R("r", "s", "o", 1e3), load], ["0"]))
    assert 0.0 <= float(point.volts("o")[0]) < 0.01
    assert -float(point.amperes("v")[0]) == pytest.approx(5e-3, rel=0.01)


def test_follower_and_amplifier_within_their_limits() -> None:
    """An ideal operational amplifier: follower; gain 1 + 9k/1k of 0.5 V; of 2 V it stops at its supply."""

    def at(signal: float, upper: float) -> float:
        a = Amplifier(name="a", plus="i", minus="m", output="o", supply="s", common="0")
        return volts(
            [V("v", "s", 12), V("vi", "i", signal), R("f", "o", "m", upper), R("g", "m", "0", 1e3), a], "o"
        )

    assert at(3.0, 0.0) == pytest.approx(3.0, abs=0.01)
    assert at(0.5, 9e3) == pytest.approx(5.0, abs=0.01)
    assert at(2.0, 9e3) == pytest.approx(12.0, abs=0.05)


def _samples() -> dict[str, list[Element]]:
    """Each sort of element in a small circuit of its own."""
    s = V("v", "s", 12)
    d = Diode(name="d", anode="a", cathode="0")
    zener = Diode(name="z", anode="0", cathode="a", breakdown=exact(5.1))
    q = Transistor(name="q", base="b", collector="c", emitter="0", hfe=exact(100), at=9e-4, forced=33)
    pnp = Transistor(name="q", base="b", collector="c", emitter="s", hfe=exact(80), at=1e-3, pnp=True)
    m = Mosfet(name="m", gate="b", drain="c", source="0", vth=exact(2), rds=exact(0.05), at=8.0)
    pm = Mosfet(
        name="m", gate="b", drain="c", source="s", vth=exact(2), rds=exact(0.05), at=8.0, p_channel=True
    )
    u = Regulator(name="u", input="s", output="a", common="0", volts=exact(5))
    op = Amplifier(name="op", plus="a", minus="b", output="b", supply="s", common="0", lost=exact(1.0))
    comp = Amplifier(name="op", plus="a", minus="b", output="c", supply="s", common="0", open_collector=True)
    oc = Coupler(name="oc", anode="a", cathode="0", collector="c", emitter="0", ctr=exact(0.8))
    divider = [R("r1", "s", "a", 1e4), R("r2", "a", "0", 1e4)]
    return {
        "diode": [s, R("r", "s", "a", 1e3), d],
        "diode reversed": [s, R("r", "s", "0x", 1e3), Diode(name="d", anode="0", cathode="0x"), R("r3", "0x", "0", 1e6)],
        "zener": [s, R("r", "s", "a", 1e3), zener],
        "npn saturated": [s, R("rb", "s", "b", 12e3), R("rc", "s", "c", 400), q],
        "npn active": [s, R("rb", "s", "b", 2.2e6), R("rc", "s", "c", 4700), q],
        "pnp": [s, R("rb", "b", "0", 10e3), R("rc", "c", "0", 470), pnp],
        "mosfet on": [s, R("rb", "s", "b", 1e3), R("rc", "s", "c", 24), m],
        "mosfet off": [s, R("rb", "0", "b", 1e3), R("rc", "s", "c", 24), m],
        "p-channel": [s, R("rb", "0", "b", 1e3), R("rc", "0", "c", 24), pm],
        "regulator": [s, u, R("l", "a", "0", 50)],
        "regulator out of regulation": [V("v", "s", 6), u, R("l", "a", "0", 50)],
        "follower": [s, *divider, op, R("l", "b", "0", 1e3)],
        "open collector": [s, *divider, R("r3", "s", "b", 1e4), R("r4", "b", "0", 3e4), comp, R("p", "s", "c", 1e4)],
        "open collector off": [s, *divider, R("r3", "s", "b", 3e4), R("r4", "b", "0", 1e4), comp, R("p", "s", "c", 1e4)],
        "coupler": [s, R("r", "s", "a", 2200), R("p", "s", "c", 10e3), oc],
        "coupler in its range": [s, R("r", "s", "a", 22e3), R("p", "s", "c", 10e3), oc],
        "load": [s, R("r", "s", "a", 33), Load(name="l", a="a", b="0", amperes=exact(0.1))],
        "contact": [s, Contact(name="k", a="s", b="a", closed=exact(0.0)), R("r", "a", "0", 1e4)],
    }  # fmt: skip


@pytest.mark.parametrize("name", list(_samples()))
@pytest.mark.parametrize("failed", ["", "open", "short", "leaky"])
def test_elements_against_ngspice(name: str, failed: str, tmp_path: Path) -> None:
    """Every sort of element, sound and failed, by its own lines of netlist: 2 % or 20 mV, as nets are held to."""
    spice.needed()
    elements = _samples()[name]
    changes = {}
    if failed:
        part = next(e for e in reversed(elements) if not isinstance(e, (Source, Resistor)))
        try:
            changes = {part.name: part.failed(part.nominal(), failed)}
        except (KeyError, ValueError):
            pytest.skip(f"a {type(part).__name__} does not fail {failed}")
    system = System(elements, ["0"])
    point = operating_points(system, [changes])
    node = {net: "0" if net == "0" else net for net in system.nets}
    lines = []
    for element in elements:
        lines += element.spice({**element.nominal(), **changes.get(element.name, {})}, node, element.name)
    lines += [f"Rhold{k} {net} 0 1e11" for k, net in enumerate(system.nets) if net != "0"]
    found = spice.operating_point("\n".join(lines), [net for net in system.nets if net != "0"], tmp_path)
    for net, expected in found.items():
        assert float(point.volts(net)[0]) == pytest.approx(expected, rel=0.02, abs=0.02), net


def test_contradicting_sources_have_an_answer() -> None:
    """12 V and 5 V on one net: half-way, by the same source resistance; no division by zero."""
    assert volts([V("a", "n", 12), V("b", "n", 5)], "n") == pytest.approx(8.5, abs=1e-6)


def test_islands_float_each_at_its_own_reference() -> None:
    """A battery that nothing joins to the rest: its volts between its own ends are right."""
    point = operating_points(
        System([V("v", "s", 12), R("r", "s", "0", 1e3), V("b", "p", 9, "q"), R("x", "p", "q", 1e3)], ["0"])
    )
    assert float(point.volts("p", "q")[0]) == pytest.approx(9.0, abs=1e-3)
    assert math.isclose(float(point.volts("s")[0]), 12.0, abs_tol=1e-3)


@pytest.mark.parametrize("asked", (-10.0, -2.0, 2.0, 10.0))
def test_a_gate_moves_by_3_volts_at_a_time(asked: float) -> None:
    """As the limits state it, so that no step of Newton's method leaps over a threshold, up or down. A rule, no source."""
    before = np.array([[1.0], [0.5]])
    held = before + [[asked], [0.0]]
    LIMITS["channel"](held, before, np.zeros((4, 1)))
    assert held[0, 0] == 1.0 + math.copysign(min(abs(asked), 3.0), asked)


def test_a_rectified_supply_ends_at_its_short_circuit_current() -> None:
    """12 V of crest less 1.4 V behind 2 Ω: shorted it gives (12 − 1.4)/2 = 5.3 A at its crest and no volts are left."""
    amperes, volts = curve(
        emf=12.0, drop=1.4, resistance=2.0, farads=1e-3, works_at=0.5, frequency=50.0, full_wave=True
    )
    assert np.interp(5.3, amperes, volts) == pytest.approx(0.0, abs=1e-6)
    assert np.interp(5.0, amperes, volts) > 0
