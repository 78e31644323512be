"""Each form of equation by itself: its value as the textbook has it, its slopes against differences of that value, and what
the limits of a step are there for. The semiconductors at the working points by which they are stated."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest

from generator.circuit.network import limits, primitives
from generator.circuit.network.element import Element, exact
from generator.circuit.network.junctions import BREAKDOWN_AT, KNEE, THERMAL, Diode, Mosfet, Transistor
from generator.circuit.network.stamps import POINTS, Stamp

WIDTH = 0.0465562  # V: 1.8·kT/q at 27 °C
LED = (1e-12, WIDTH)  # A, V
CURVE = (*np.linspace(0, 1.1, POINTS), *(24 - 3 * np.linspace(0, 1.1, POINTS) ** 1.5))


def padded(form: str, numbers: Sequence[float]) -> np.ndarray:
    """Numbers as ready takes them; those left out are 0."""
    return np.array([[*numbers, *[0.0] * (primitives.FORMS[form].width - len(numbers))]])


def of(form: str, z: Sequence[float], numbers: Sequence[float]) -> tuple[float, list[float]]:
    """Value and slopes of a form."""
    p = primitives.ready(form, padded(form, numbers))
    z = [*z, *[0.0] * (primitives.FORMS[form].controls - len(z))]
    y, dy = primitives.FORMS[form].evaluate(np.array(z, dtype=float)[:, None], p)
    return float(y[0]), [float(np.broadcast_to(own, (1,))[0]) for own in dy]


def shockley(v: float, saturation: float = LED[0], width: float = WIDTH) -> float:
    return saturation * math.exp(v / width)


def met(a: float, b: float) -> float:
    """Fischer and Burmeister's function: 0 where one of two is 0 and the other above."""
    return a + b - math.hypot(a, b)


def step(form: str, n: int, z: float) -> float:
    """Small beside the width of an exponential and beside the rounding of a corner, large beside what 53 bits lose."""
    if form in ("amplifier", "sink"):
        return (1e-8, 2e-6 if form == "amplifier" else 1e-8, 2e-6 if form == "amplifier" else 2e-10, 2e-8)[n]
    return 1e-5 * max(1e-9, abs(z)) if form == "draw" else 1e-7 * max(1e-3, abs(z))


# form, controls, numbers, the value by the equation that is beside it in the textbook
VALUES: list[tuple[str, tuple[float, ...], tuple[float, ...], float]] = [
    ("linear", (0.7, -1.3), (0.11, 0.23, 0.37), 0.11 + 0.23 * 0.7 - 0.37 * 1.3),
    # Shockley forward and backward; beyond 30 A the tangent at 30 A
    ("junction", (0.61, ), (*LED, 1e-6, 0.0, 0.0, 1.0), shockley(0.61) - 1e-12 + 0.61e-6),
    ("junction", (-5.2, ), (*LED, 1e-6, 5.1, 5e-3, 0.03), -1e-12 - 5.2e-6 - 5e-3 * math.exp(0.1 / 0.03)),
    ("junction", (0.61, ), (*LED, 1e-6, 5.1, 5e-3, 0.03), shockley(0.61) - 1e-12 + 0.61e-6),
    ("junction", (2.3, ), (*LED, 1e-6, 0.0, 0.0, 1.0), 30 * (1 + 2.3 / WIDTH - math.log(30e12)) - 1e-12 + 2.3e-6),
    ("junction", (-7.3, ), (*LED, 1e-6, 5.1, 5e-3, 0.03), -1e-12 - 7.3e-6 - 30 * (1 + 2.2 / 0.03 - math.log(6000))),
    ("junction", (0.61, ), (0.0, WIDTH, 1e-6, 0.0, 0.0, 1.0), 0.61e-6),
    # Ebers and Moll's transport current
    ("transport", (0.61, 0.57), LED, shockley(0.61) - shockley(0.57)),
    ("transport", (-0.3, 0.62), LED, shockley(-0.3) - shockley(0.62)),
    # Shichman and Hodges: triode, saturated, off, and the other way round
    ("channel", (5.1, 0.4), (2.3, 0.7, 1e-4), 0.7 * (2.8 * 0.4 - 0.08) + 4e-5),
    ("channel", (5.1, 9.0), (2.3, 0.7, 1e-4), 0.35 * 2.8**2 + 9e-4),
    ("channel", (1.9, 9.0), (2.3, 0.7, 1e-4), 9e-4),
    ("channel", (5.1, -0.4), (2.3, 0.7, 1e-4), -0.7 * (3.2 * 0.4 - 0.08) - 4e-5),
    # a current that dies with its supply: I·v/w below, I above; its corner is rounded by 2 %
    ("load", (3.1, ), (0.25, 0.5), 0.25), ("load", (0.0, ), (0.25, 0.5), 0.0), ("load", (-1.0, ), (0.25, 0.5), -0.5),
    # either no current, or the output at the lesser of set and input less dropout
    ("regulator", (3.1, 5.2, 0.0), (5.0, 1.1, 10.0, 0.0), met(0.0, 0.2)),
    ("regulator", (3.1, 4.6, 0.3), (5.0, 1.1, 10.0, 0.0), met(3.0, -0.4 + 3e-5)),
    ("regulator", (0.7, 4.1, 0.3), (5.0, 1.1, 10.0, 0.0), met(3.0, 0.4 + 3e-5)),
    ("regulator", (3.1, 4.6, 0.3), (5.0, 1.1, 10.0, 1.0), 0.3),
    # its output where the gain has it, at its lower and at its upper limit; nothing where it is open
    ("amplifier", (2.0 / 1e5, 2.0, 9.0, 0.0), (1e5, 100.0, 0.1, 1.5, 0.0, 0.0), 0.0),
    ("amplifier", (2.4 / 1e5, 2.0, 9.0, 4e-3), (1e5, 100.0, 0.0, 1.5, 0.0, 0.0), 0.0),
    ("amplifier", (1.0, 7.5, 9.0, 0.0), (1e5, 100.0, 0.1, 1.5, 0.0, 0.0), 0.0),
    ("amplifier", (1.0, 5.0, 9.0, 0.0), (1e5, 100.0, 0.1, 1.5, 5.0, 0.0), 0.0),
    ("amplifier", (-1.0, 0.1, 9.0, 0.0), (1e5, 100.0, 0.1, 1.5, 0.0, 0.0), 0.0),
    ("amplifier", (-1.0, 0.5, 9.0, 0.0), (1e5, 100.0, 0.1, 1.5, 0.0, 0.0), met(0.4, -met(7.4 - 0.4, -1.0))),
    ("amplifier", (1.0, 2.0, 9.0, 7e-3), (1e5, 100.0, 0.1, 1.5, 0.0, 1.0), 7e-3),
    # volts that are added to the difference of the inputs
    ("amplifier", (2e-5 - 3e-3, 2.0, 9.0, 0.0), (1e5, 100.0, 0.1, 1.5, 0.0, 0.0, 3e-3), 0.0), ("sink", (-1.0, 4.0, 0.0), (1e5, 50.0, 0.2, 0.0, 1.5), 0.0),
    # 30 W for each ampere given, over 12 V; as a resistance below 5 V; from 3 A on it goes back, to nothing at 6 A
    ("power", (-2.0, 12.0), (30.0, 5.0, 3.0), 5.0), ("power", (-2.0, 2.5), (30.0, 5.0, 3.0), 6.0), ("power", (-4.0, 12.0), (30.0, 5.0, 3.0), 5.0),
    ("power", (-7.0, 12.0), (30.0, 5.0, 3.0), 0.0), ("power", (1.0, 12.0), (30.0, 5.0, 3.0), 0.0),
    # 0.5 A of which 0.2 A are friction, 4 ohm, 4 V of EMF: at 6 V all of it; at half of its speed 0.2 + 0.3/4 A and 2 V on top
    # of 1.1 V; below 0.8 V it stands and is its winding
    ("motor", (6.0,), (0.5, 4.0, 4.0, 0.4), 0.5), ("motor", (3.1,), (0.5, 4.0, 4.0, 0.4), 0.275), ("motor", (0.2,), (0.5, 4.0, 4.0, 0.4), 0.05),
    # through 50 ohm down to its low level where the difference is below 0
    ("sink", (-1.0, 0.7, 10e-3), (1e5, 50.0, 0.2, 0.0), 0.0), ("sink", (1.0, 4.0, 0.0), (1e5, 50.0, 0.2, 0.0), 0.0),
    ("sink", (-1.0, 1.3, 10e-3), (1e5, 50.0, 0.2, 0.0), met(0.5, -met(1.1 - 0.5, 1.0))), ("sink", (-1.0, 0.7, 3e-3), (1e5, 50.0, 0.2, 1.0), 3e-3),
    # what it gives above 0, no more than an ampere a volt
    ("draw", (3e-3, 9.0), (), 3e-3), ("draw", (-3e-3, 9.0), (), 0.0), ("draw", (0.5, 0.1), (), 0.1), ("draw", (0.5, -1.0), (), 0.0),
    # ctr·(LED's current), or its saturated transistor's g·v; within the 2 % of its corner
    ("coupler", (0.93, 5.0), (*LED, 0.8, 0.02), 0.8 * shockley(0.93)), ("coupler", (1.15, 1.1), (*LED, 0.8, 0.002), 2.2e-3),
    # V plus to minus less what the curve has at −j
    ("rail", (20.0, -0.43), CURVE, 20 - float(np.interp(0.43, CURVE[:POINTS], CURVE[POINTS:]))),
    ("rail", (20.0, -1.02), CURVE, 20 - float(np.interp(1.02, CURVE[:POINTS], CURVE[POINTS:]))),
    ("rail", (30.0, 1e-6), CURVE, 30 - 24 - 1.0), ("rail", (17.0, -1.3), CURVE, 17 - CURVE[-1] - 0.2 * (CURVE[-1] - CURVE[-2]) / 0.1),
]  # fmt: skip


@pytest.mark.parametrize(("form", "z", "numbers", "wanted"), VALUES)
def test_a_form_has_its_value_and_its_slopes(
    form: str, z: tuple[float, ...], numbers: tuple[float, ...], wanted: float
) -> None:
    y, dy = of(form, z, numbers)
    loose = {"load": 2e-3, "coupler": 1e-3, "draw": 1e-6}.get(form, 1e-5)
    size = (
        1e-12
        if form in ("transport", "junction")
        else loose * max(0.3, max(map(abs, z)) if form == "amplifier" else 0.3)
    )
    assert y == pytest.approx(wanted, rel=3e-4 if form in ("load", "coupler", "motor") else 1e-6, abs=size)
    assert len(dy) == len(z) == primitives.FORMS[form].controls
    for n, slope in enumerate(dy):
        h = step(form, n, z[n])
        up, down = ([*z[:n], z[n] + way * h, *z[n + 1 :]] for way in (1, -1))
        rises = (of(form, up, numbers)[0] - of(form, down, numbers)[0]) / (2 * h)
        assert slope == pytest.approx(rises, rel=2e-4, abs=1e-6 * max(map(abs, dy)) + 1e-12), n


CORNERS: list[tuple[str, tuple[float, ...], tuple[float, ...]]] = [
    ("load", (0.49,), (0.25, 0.5)), ("load", (0.51,), (0.25, 0.5)), ("regulator", (1.1003, 4.9995, 1e-7), (5.0, 1.1, 10.0, 0.0)),
    ("regulator", (1.0996, 4.9992, -2e-8), (5.0, 1.1, 10.0, 0.0)), ("amplifier", (2e-5, 7.4, 9.0, 1e-3), (1e5, 100.0, 0.1, 1.5, 0.0, 0.0)),
    ("amplifier", (3e-7, 0.13, 1.62, 1e-4), (1e5, 100.0, 0.1, 1.5, 0.0, 0.0)), ("amplifier", (2.1e-5, 2.0, 6.501, 3e-4), (1e5, 100.0, 0.1, 1.5, 5.0, 0.0)),
    ("amplifier", (1e-6, 0.0504, 0.0502, 1e-5), (1e5, 100.0, 0.05, 0.0, 0.0, 0.0)),
    ("sink", (-3e-6, 0.2007, 1e-5), (1e5, 50.0, 0.2, 0.0)), ("sink", (2e-6, 0.1996, 2e-5), (1e5, 50.0, 0.2, 0.0)),
    ("draw", (1.3e-9, 0.7e-9), ()), ("draw", (-0.8e-9, 2e-9), ()), ("coupler", (0.93, 0.0004), (*LED, 0.8, 0.02)), ("coupler", (0.93, 0.0187), (*LED, 0.8, 0.02)),
]  # fmt: skip


@pytest.mark.parametrize(("form", "z", "numbers"), CORNERS)
def test_a_forms_slopes_hold_in_its_rounded_corners(
    form: str, z: tuple[float, ...], numbers: tuple[float, ...]
) -> None:
    _, dy = of(form, z, numbers)
    for n, slope in enumerate(dy):
        h = step(form, n, z[n])
        up, down = ([*z[:n], z[n] + way * h, *z[n + 1 :]] for way in (1, -1))
        rises = (of(form, up, numbers)[0] - of(form, down, numbers)[0]) / (2 * h)
        assert slope == pytest.approx(rises, rel=3e-3, abs=1e-5 * max(map(abs, dy)) + 1e-13), n


def test_many_stamps_are_evaluated_as_each_by_itself() -> None:
    """A breakdown in one of several, and several currents of one rail: what one gives alone it gives beside others."""
    rows = np.array([[*LED, 1e-6, 0.0, 0.0, 1.0], [*LED, 1e-6, 5.1, 5e-3, 0.03]])
    y, _ = primitives.junction(np.array([[0.6, -5.15]]), primitives.ready("junction", rows))
    assert y == pytest.approx([of("junction", (0.6,), rows[0])[0], of("junction", (-5.15,), rows[1])[0]])
    plain = primitives.ready("junction", rows[:1])
    assert len(plain) == 8 and len(primitives.ready("junction", rows)) == 10
    assert primitives.with_curves(plain, primitives.ready("junction", rows)).shape == (10, 1)
    assert primitives.with_curves(primitives.ready("junction", rows), plain).shape == (10, 2)
    p = primitives.ready("rail", np.array([CURVE]))
    volts, taken = np.array([[20.0], [21.0]]), np.array([[-0.2], [-0.9]])
    y, (one, slope) = primitives.rail(np.stack([volts, taken]), p)
    assert y.ravel() == pytest.approx(
        [of("rail", (20.0, -0.2), CURVE)[0], of("rail", (21.0, -0.9), CURVE)[0]]
    )
    assert (one == 1).all() and slope.shape == (2, 1)


# --- how far a step may go ------------------------------------------------------------------------------------


def limited(form: str, new: Sequence[float], old: Sequence[float], numbers: Sequence[float]) -> list[float]:
    held = np.array(new, dtype=float)[:, None]
    limits.LIMITS[form](
        held, np.array(old, dtype=float)[:, None], primitives.ready(form, np.array([numbers]))
    )
    return [float(v) for v in held[:, 0]]


KNEE_OF_LED = WIDTH * math.log(WIDTH / (math.sqrt(2) * 1e-12))  # Nagel's critical voltage


@pytest.mark.parametrize("form", ["junction", "coupler"])
def test_a_junction_climbs_by_the_logarithm_of_what_is_asked(form: str) -> None:
    """Nagel 1975 (SPICE2), pnjlim: beyond the critical voltage v + w·ln(1 + Δv/w); from 0 V or below w·ln(v/w); small
    steps as they are. What falls by more than 70 % of its current falls to where its curve has what was asked."""
    numbers = (*LED, 1e-6, 0.0, 0.0, 1.0) if form == "junction" else (*LED, 0.8, 0.02)
    rest = [] if form == "junction" else [5.0]

    def step(new: float, old: float) -> float:
        return limited(form, [new, *rest], [old, *rest], numbers)[0]

    assert step(3.0, 1.2) == pytest.approx(1.2 + WIDTH * math.log(1 + 1.8 / WIDTH))
    assert step(3.0, 0.0) == step(3.0, -2.0) == pytest.approx(WIDTH * math.log(3.0 / WIDTH))
    assert step(1.23, 1.2) == 1.23 and step(0.5, 0.1) == 0.5 and step(-9.0, 0.0) == -9.0
    assert step(1.2 + 1.9 * WIDTH, 1.2) == pytest.approx(1.2 + 1.9 * WIDTH)
    assert step(1.2 + 2.1 * WIDTH, 1.2) == pytest.approx(1.2 + WIDTH * math.log(3.1))
    assert step(1.2 - 0.8 * WIDTH, 1.2) == pytest.approx(1.2 + WIDTH * math.log(0.2))
    assert step(1.2 - 0.6 * WIDTH, 1.2) == pytest.approx(1.2 - 0.6 * WIDTH)
    assert step(1.2 - 1.1 * WIDTH, 1.2) == pytest.approx(1.2 + WIDTH * math.log(1e-3))
    assert step(0.6, 1.6) == 0.6  # below the critical voltage a long way down goes as it was asked
    assert 0.6 < KNEE_OF_LED < 1.2
    # on its straight line no step is too long
    assert step(9.0, 1.8) == 9.0 and WIDTH * math.log(30e12) < 1.8


def test_a_breakdown_climbs_as_a_junction_does() -> None:
    numbers = (*LED, 1e-6, 5.1, 5e-3, 0.03)
    assert limited("junction", [-9.0], [-5.15], numbers) == pytest.approx(
        [-5.15 - 0.03 * math.log(1 + 3.85 / 0.03)]
    )
    assert limited("junction", [-9.0], [-1.0], numbers) == pytest.approx([-5.1 - 0.03 * math.log(3.9 / 0.03)])
    assert limited("junction", [-5.0], [-1.0], numbers) == [-5.0]
    assert limited("junction", [-9.0], [-1.0], (*LED, 1e-6, 0.0, 0.0, 1.0)) == [-9.0]
    assert limited("transport", [3.0, 0.5], [1.2, 0.4], LED) == pytest.approx(
        [1.2 + WIDTH * math.log(1 + 1.8 / WIDTH), 0.5]
    )


@pytest.mark.parametrize(
    ("form", "new", "old", "wanted"),
    [
        # a load, a coupler's transistor: from above no further than to where it gives way
        ("load", [-3.0], [2.0], [5e-3]), ("load", [-3.0], [0.0], [-3.0]), ("load", [1.0], [2.0], [1.0]), ("load", [0.0], [2.0], [0.0]),
        ("coupler", [0.3, -3.0], [0.3, 2.0], [0.3, 5e-3]), ("rail", [-3.0, 0.1], [2.0, 0.3], [5e-3, 0.1]), ("rail", [-3.0, 0.1], [0.05, 0.3], [-3.0, 0.1]),
        ("regulator", [1.0, -3.0, 0.0], [1.0, 2.0, 0.0], [1.0, 5e-3, 0.0]), ("regulator", [1.0, -3.0, 0.0], [1.0, 0.09, 0.0], [1.0, -3.0, 0.0]),
        # SPICE2's limits for a MOSFET's drain: below 3.5 V to between −0.5 and 4 V, from there to 3·v + 2, no less than 2 V
        ("channel", [2.0, 9.0], [2.0, 1.0], [2.0, 4.0]), ("channel", [2.0, -9.0], [2.0, 1.0], [2.0, -0.5]),
        ("channel", [2.0, 99.0], [2.0, 5.0], [2.0, 17.0]), ("channel", [2.0, -9.0], [2.0, 5.0], [2.0, 2.0]),
        ("channel", [2.0, -99.0], [2.0, -5.0], [2.0, -17.0]), ("channel", [2.0, 9.0], [2.0, -1.0], [2.0, 0.5]),
        ("channel", [2.0, 13.0], [2.0, 3.5], [2.0, 12.5]),
        ("channel", [9.0, 1.0], [2.0, 1.0], [5.0, 1.0]), ("channel", [-9.0, 1.0], [2.0, 1.0], [-1.0, 1.0]),
        # an open-collector output from above no further than to its low level
        ("sink", [1.0, -2.0, 0.0], [1.0, 4.0, 0.0], [1.0, 0.205, 0.0]), ("sink", [1.0, -2.0, 0.0], [1.0, 0.25, 0.0], [1.0, -2.0, 0.0]),
        ("sink", [-1.0, 3.0, 0.0], [-1.0, 0.1, 0.0], [-1.0, 0.205, 0.0]), ("sink", [-1.0, 3.0, 0.0], [1.0, 0.1, 0.0], [-1.0, 3.0, 0.0]),
    ],
)  # fmt: skip
def test_a_step_goes_no_further(form: str, new: list[float], old: list[float], wanted: list[float]) -> None:
    numbers = {"load": (0.25, 0.5), "coupler": (*LED, 0.8, 0.02), "rail": CURVE, "regulator": (5.0, 1.1, 10.0, 0.0),
               "channel": (2.3, 0.7, 1e-4), "sink": (1e5, 50.0, 0.2, 0.0)}[form]  # fmt: skip
    assert limited(form, new, old, numbers) == pytest.approx(wanted)


# --- semiconductors ------------------------------------------------------------------------------------------


def flows(stamps: Sequence[Stamp], volts: dict[str, float]) -> dict[str, float]:
    """The current that leaves each net into an element whose nets are held at these volts."""
    found = dict.fromkeys(volts, 0.0)
    for stamp in stamps:
        assert not stamp.branch
        y, _ = of(stamp.form, [volts[a] - volts[b] for a, b in stamp.controls], stamp.numbers)
        found[stamp.out[0]] += y
        found[stamp.out[1]] -= y
    return found


def numbers_of(element: Element, **changed: float) -> dict[str, float]:
    return {**element.nominal(), **changed}


def test_a_diode_has_its_forward_volts_at_its_current() -> None:
    one = Diode(
        name="d",
        anode="a",
        cathode="k",
        forward=exact(0.83),
        at=0.021,
        emission=1.3,
        breakdown=exact(6.2),
        tested=0.57,
    )
    p = numbers_of(one)
    assert flows(one.stamps(p), {"a": 0.83, "k": 0.0})["a"] == pytest.approx(0.021, rel=1e-6)
    ten_times = 0.83 + 1.3 * 0.0258649 * math.log(10)
    assert flows(one.stamps(p), {"a": ten_times, "k": 0.0})["a"] == pytest.approx(0.21, rel=1e-6)
    # the zener volts at 5 mA, and by how much they rise for e times that
    assert flows(one.stamps(p), {"a": 0.0, "k": 6.2})["k"] == pytest.approx(5e-3, rel=1e-6)
    assert flows(one.stamps(p), {"a": 0.0, "k": 6.2 + 1.5 * 0.0258649})["k"] == pytest.approx(
        5e-3 * math.e, rel=1e-6
    )
    assert (BREAKDOWN_AT, KNEE, THERMAL) == (5e-3, 1.5 * 0.0258649, 0.0258649)
    # the diode range shows `tested` at 1 mA, or what the model has there; the ohms range less than a junction needs
    assert flows(one.cold(p, "diode"), {"a": 0.57, "k": 0.0})["a"] == pytest.approx(1e-3, rel=1e-6)
    plain = Diode(name="d", anode="a", cathode="k", forward=exact(0.83), at=0.021, emission=1.3)
    at_1_ma = 0.83 + 1.3 * 0.0258649 * math.log(1 / 21)
    assert flows(plain.cold(numbers_of(plain), "diode"), {"a": at_1_ma, "k": 0.0})["a"] == pytest.approx(
        1e-3, rel=1e-5
    )
    assert flows(one.cold(p, "ohms"), {"a": 0.2, "k": 0.0})["a"] < 1e-9
    assert abs(flows(plain.stamps(numbers_of(plain)), {"a": 0.0, "k": 6.5})["k"]) < 1e-9  # no zener
    for dead in (one.stamps({**p, "alive": 0.0}), one.cold({**p, "alive": 0.0}, "diode")):
        assert flows(dead, {"a": 0.9, "k": 0.0})["a"] < 1e-9
    assert flows(one.stamps({**p, "leak": 470.0}), {"a": 0.0, "k": 1.0})["k"] == pytest.approx(
        1 / 470, rel=1e-3
    )


@pytest.mark.parametrize("pnp", [False, True])
def test_a_transistor_has_its_volts_at_its_working_point(pnp: bool) -> None:
    sign = -1 if pnp else 1
    own = Transistor(name="q", base="b", collector="c", emitter="e", hfe=exact(140.0), vbe=exact(0.72), vce_sat=exact(0.11),
                     at=1.7e-3, forced=23.0, pnp=pnp)  # fmt: skip
    p = numbers_of(own)
    saturated = flows(own.stamps(p), {"b": sign * 0.72, "c": sign * 0.11, "e": 0.0})
    assert (saturated["b"], saturated["c"]) == pytest.approx((sign * 1.7e-3, sign * 23 * 1.7e-3), rel=1e-4)
    # not saturated: hfe times the base current, whatever the collector has
    active = Transistor(
        name="q", base="b", collector="c", emitter="e", hfe=exact(140.0), vbe=exact(0.72), at=1.7e-5, pnp=pnp
    )
    for volts in (3.0, 9.0):
        here = flows(active.stamps(numbers_of(active)), {"b": sign * 0.72, "c": sign * volts, "e": 0.0})
        assert (here["b"], here["c"]) == pytest.approx((sign * 1.7e-5, sign * 140 * 1.7e-5), rel=1e-4)
    half = flows(active.stamps(numbers_of(active)), {"b": sign * 0.72, "c": sign * 0.2, "e": 0.0})
    assert half["c"] / half["b"] == pytest.approx(70.0, rel=1e-3)  # vce_sat holds at half of hfe
    # a forced gain that it cannot have stands for half of hfe too
    beyond = Transistor(
        name="q",
        base="b",
        collector="c",
        emitter="e",
        hfe=exact(20.0),
        vce_sat=exact(0.2),
        forced=19.5,
        pnp=pnp,
    )
    here = flows(beyond.stamps(numbers_of(beyond)), {"b": sign * 0.7, "c": sign * 0.2, "e": 0.0})
    assert here["c"] / here["b"] == pytest.approx(10.0, rel=1e-3)
    for dead, nets in ((numbers_of(own, alive=0.0), "bc"), (numbers_of(own, joined=0.0), "c")):
        here = flows(own.stamps(dead), {"b": sign * 0.72, "c": sign * 0.11, "e": 0.0})
        assert all(abs(here[net]) < 1e-9 for net in nets)
    leaks = flows(own.stamps(numbers_of(own, leak=3300.0)), {"b": 0.0, "c": sign * 5.0, "e": 0.0})
    assert leaks["c"] == pytest.approx(sign * 5 / 3300, rel=1e-6)
    # both junctions show 0.67 V at the 1 mA of a diode range
    for other in "ec":
        volts = {
            "b": sign * 0.67,
            "c": 0.0 if other == "c" else sign * 0.67,
            "e": 0.0 if other == "e" else sign * 0.67,
        }
        assert flows(own.cold(p, "diode"), volts)["b"] == pytest.approx(sign * 1e-3, rel=1e-4)
    assert abs(flows(own.cold(p, "ohms"), {"b": sign * 0.3, "c": 0.0, "e": 0.0})["b"]) < 1e-9


@pytest.mark.parametrize("p_channel", [False, True])
def test_a_mosfet_has_its_ohms_with_its_gate_driven(p_channel: bool) -> None:
    sign = -1 if p_channel else 1
    own = Mosfet(
        name="q",
        gate="g",
        drain="d",
        source="s",
        vth=exact(2.7),
        rds=exact(0.19),
        at=4.3,
        p_channel=p_channel,
    )
    p = numbers_of(own)
    on = flows(own.stamps(p), {"g": sign * 7.0, "d": sign * 1e-3, "s": 0.0})
    assert on["d"] == pytest.approx(sign * 1e-3 / 0.19, rel=1e-3) and abs(on["g"]) < 1e-9
    off = flows(own.stamps(p), {"g": sign * 2.6, "d": sign * 9.0, "s": 0.0})
    assert abs(off["d"]) < 5e-8
    # saturated: half of K·(Vgs − Vth)², K = 1/(rds·at)
    assert flows(own.stamps(p), {"g": sign * 3.5, "d": sign * 9.0, "s": 0.0})["d"] == pytest.approx(
        sign * 0.32 / (0.19 * 4.3)
    )
    # its body diode: 0.7 V at 0.1 A, and 0.6 V at the 1 mA of a diode range
    assert flows(own.stamps(p), {"g": 0.0, "d": sign * -0.7, "s": 0.0})["d"] == pytest.approx(
        sign * -0.1, rel=1e-4
    )
    assert flows(own.cold(p, "diode"), {"g": 0.0, "d": sign * -0.6, "s": 0.0})["d"] == pytest.approx(
        sign * -1e-3, rel=1e-4
    )
    assert abs(flows(own.cold(p, "ohms"), {"g": 0.0, "d": sign * -0.2, "s": 0.0})["d"]) < 1e-9
    leaks = numbers_of(own, leak=3300.0, gate_leak=910.0)
    here = flows(own.stamps(leaks), {"g": sign * 2.0, "d": sign * 5.0, "s": 0.0})
    assert (here["d"], here["g"]) == pytest.approx((sign * 5 / 3300, sign * 2 / 910), rel=1e-4)
    assert flows(own.cold(leaks, "ohms"), {"g": sign * 2.0, "d": sign * 5.0, "s": 0.0})["g"] == pytest.approx(
        sign * 2 / 910
    )
    dead = flows(own.stamps(numbers_of(own, alive=0.0)), {"g": sign * 7.0, "d": sign * 5.0, "s": 0.0})
    assert abs(dead["d"]) < 1e-9


FAILURES: list[tuple[Callable[[], Element], str, dict[str, float]]] = [
    (lambda: Diode(name="d", anode="a", cathode="k", forward=exact(0.8), breakdown=exact(5.1)), "high", {"forward": 1.04, "breakdown": 6.63}),
    (lambda: Diode(name="d", anode="a", cathode="k", forward=exact(0.8), breakdown=exact(5.1)), "low", {"forward": 0.56, "breakdown": 3.57}),
    (lambda: Transistor(name="q", base="b", collector="c", emitter="e", hfe=exact(140.0)), "low", {"hfe": 28.0}),
    (lambda: Transistor(name="q", base="b", collector="c", emitter="e", hfe=exact(140.0)), "high", {"hfe": 420.0}),
    (lambda: Transistor(name="q", base="b", collector="c", emitter="e", hfe=exact(140.0)), "open collector", {"joined": 0.0}),
    (lambda: Mosfet(name="q", gate="g", drain="d", source="s", rds=exact(0.2)), "high", {"rds": 2.0}),
    (lambda: Mosfet(name="q", gate="g", drain="d", source="s", rds=exact(0.2)), "low", {"rds": 0.1}),
    (lambda: Mosfet(name="q", gate="g", drain="d", source="s"), "leaky gate", {"gate_leak": 1e3}),
]  # fmt: skip


@pytest.mark.parametrize(("make", "mode", "wanted"), FAILURES)
def test_what_a_failure_without_a_size_does(
    make: Callable[[], Element], mode: str, wanted: dict[str, float]
) -> None:
    """The sizes that the tables state, and nothing else is changed."""
    element = make()
    p = element.nominal()
    assert element.failed(p, mode) == pytest.approx({**p, **wanted})
