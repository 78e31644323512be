"""What an ohmmeter shows in circuit: three topologies of real boards, each worked by hand."""

from __future__ import annotations

import math

import pytest

from generator.circuit.network.element import Element, exact
from generator.circuit.network.junctions import TESTED, Diode, Transistor
from generator.circuit.network.ohms import Unplugged
from generator.circuit.network.passive import Capacitor, Contact, Resistor, Winding


def R(name: str, a: str, b: str, ohms: float) -> Resistor:
    return Resistor(name=name, a=a, b=b, ohms=exact(ohms))


def divider_on_its_rail() -> list[Element]:
    """A thermistor divider across a rail that a 22 k bleeder and a divider of 100 k and 22 k load as well."""
    return [R("R9", "rail", "tap", 1e4), R("TH1", "tap", "0", 1e4), R("R4", "rail", "0", 22e3), R("R1", "rail", "sense", 1e5), R("R2", "sense", "0", 22e3),
            Capacitor(name="C3", a="rail", b="0", farads=exact(1e-3))]  # fmt: skip


def test_thermistor_in_circuit() -> None:
    """Across the 10 k thermistor: 10 k ∥ (10 k + 22 k ∥ 122 k). By hand: 22k∥122k = 18 638.9; + 10k = 28 638.9; ∥ 10k =
    7 412.5 ohm. The capacitor is empty and open."""
    assert Unplugged(divider_on_its_rail()).ohms("tap", "0") == pytest.approx(7412.5, rel=1e-4)


def test_rail_to_common() -> None:
    """20 k ∥ 22 k ∥ 122 k = 9 638.6... by hand: 20k∥22k = 10 476.19; ∥ 122k = 9 647.7 ohm."""
    assert Unplugged(divider_on_its_rail()).ohms("rail", "0") == pytest.approx(9647.7, rel=1e-4)


def test_relay_driver() -> None:
    """Base to common: 47 k ∥ (4.7 k to a chip that is open) = 47 k; junctions do not conduct. Coil with its diode: 400 ohm."""
    board: list[Element] = [
        R("R14", "pin", "base", 4700), R("R15", "base", "0", 47e3), Winding(name="RL1", a="plus", b="c", ohms=exact(400)),
        Transistor(name="Q1", base="base", collector="c", emitter="0", hfe=exact(100)),
        Diode(name="D6", anode="c", cathode="plus", tested=TESTED["silicon"]),
    ]  # fmt: skip
    unplugged = Unplugged(board)
    assert unplugged.ohms("base", "0") == pytest.approx(47e3, rel=1e-3)
    assert unplugged.ohms("plus", "c") == pytest.approx(400, rel=1e-4)
    assert math.isinf(unplugged.ohms("c", "0"))
    # a small transistor's base shows 0.6 to 0.75 V (common practice, no source); 47 k beside it takes 14 uA
    assert unplugged.diode("base", "0") == pytest.approx(0.67, abs=0.05)
    assert unplugged.diode("c", "plus") == pytest.approx(
        0.4, abs=0.02
    )  # 1 mA through 400 ohm, below the junction
    assert math.isinf(unplugged.diode("0", "base"))


def test_bridge_of_wheatstone() -> None:
    """An unbalanced bridge 1 k, 2 k, 3 k, 4 k with 5 k across, seen from its ends. Star-delta by hand: the delta 1k, 3k, 5k
    at the top becomes 1·3/9 k = 333.3, 1·5/9 k = 555.6, 3·5/9 k = 1 666.7; then 333.3 + (555.6 + 2k) ∥ (1 666.7 + 4k)
    = 333.3 + 1 761.2 = 2 094.6 ohm."""
    board = [
        R("1", "a", "l", 1e3),
        R("2", "l", "b", 2e3),
        R("3", "a", "r", 3e3),
        R("4", "r", "b", 4e3),
        R("5", "l", "r", 5e3),
    ]
    assert Unplugged(board).ohms("a", "b") == pytest.approx(2094.6, rel=1e-4)


def test_blue_led_is_beyond_the_range_and_red_is_not() -> None:
    """A meter's diode range ends at about 2 V: a red LED of 1.8 V at 10 mA shows, a blue one of 3 V does not."""
    red = Diode(name="LD1", anode="a", cathode="0", forward=exact(1.8), emission=2.0)
    blue = Diode(name="LD2", anode="b", cathode="0", forward=exact(3.0), emission=2.0)
    unplugged = Unplugged([red, blue])
    assert unplugged.diode("a", "0") == pytest.approx(1.7, abs=0.05)
    assert math.isinf(unplugged.diode("b", "0"))


def test_contacts_as_they_rest() -> None:
    """A relay's working contact is open with the plug out, its rest contact and a switch are closed."""
    working = Contact(name="RL1", a="a", b="0", coil="RL1")
    resting = Contact(name="RL2", a="b", b="0", coil="RL2", rest=True)
    unplugged = Unplugged([working, resting, R("R1", "a", "0", 1e4)])
    assert unplugged.ohms("a", "0") == pytest.approx(1e4, rel=1e-4)
    assert unplugged.ohms("b", "0") < 0.1


def test_bands_of_ohms_against_the_ends() -> None:
    """Each tolerance by itself exactly: 10 k 5 % ∥ 10 k 5 % lies between 9.5∥10 and 10.5∥10 for each."""
    from generator.circuit.network.element import Number
    from generator.circuit.network.tolerances import axes

    def toleranced(name: str) -> Resistor:
        return Resistor(name=name, a="a", b="0", ohms=Number(1e4, ((name, 9.5e3, 10.5e3),)))

    board = [toleranced("R1"), toleranced("R2")]
    ((value, low, high),) = Unplugged(board).bands([("a", "0")], axes(board))
    step_down, step_up = 5e3 - 9.5 * 10 / 19.5 * 1e3, 10.5 * 10 / 20.5 * 1e3 - 5e3
    assert value == pytest.approx(5e3, rel=1e-5)
    assert low == pytest.approx(5e3 - 2 * step_down, rel=1e-4)
    assert high == pytest.approx(5e3 + 2 * step_up, rel=1e-4)
