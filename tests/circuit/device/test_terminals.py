"""Every terminal that a join may name is one of the network's nets, and what a timer's output does there, by hand."""

from __future__ import annotations

import pytest

from generator.circuit import catalogue
from generator.circuit.device import PlaceError, work_out
from generator.circuit.point import Mains
from tests.circuit.device.examples import built

NOT_THERE = {"chain": "gives figures of a signal, and lies in no circuit"}


@pytest.mark.parametrize("name", catalogue.names())
def test_every_terminal_lies_at_an_element(name: str) -> None:
    """In the example or in one of its variants: a net at which nothing lies has no volts to read and feeds nothing."""
    kind = catalogue.kind(name)
    if name in NOT_THERE:
        assert not kind.is_wired
        return
    known: set[str] = set()
    for changes in ({}, *(variant.changes for variant in kind.variants)):
        device = work_out({"it": {"kind": name, **kind.example_with(changes)}}, Mains())
        nets = {net for element in device.elements.values() for net in element.nets}
        known |= {terminal for terminal in kind.terminals if device.net(f"it.{terminal}") in nets}
    assert known == set(kind.terminals)


TIMER = """
joins: [[flash.supply, cells.plus], [flash.out, lamp.supply]]
blocks:
  cells: {kind: battery-pack, cells: 4, chemistry: alkaline, capacity: 8000 mAh}
  flash: {kind: timer-555, timer: U4, ra: R8 10k, rb: R9 47k, capacitor: C6 1u}
  lamp: {kind: led-indicator, resistor: R10 22k, forward: LD1 red}
"""


@pytest.mark.parametrize(
    "text", [TIMER, TIMER.replace(", [flash.out, lamp.supply]", "").replace("{kind: led-i", "{supply: flash, kind: led-i")]
)  # fmt: skip
def test_a_timers_output_feeds_what_hangs_on_it(text: str) -> None:
    """High for (10 + 47)/(10 + 2·47) = 54.8 % of the time, then at 85 % of 6 V (a bipolar chip loses 1.3 to 1.7 V, a CMOS
    one nothing: from memory): 2.8 V on a DC range. The lamp is worked out for when it is lit: (6 V - 1.8 V)/22 kohm = 191 µA."""
    device = built(text)
    assert not device.check() and not device.circuit.troubles
    place = device.place("flash.out")
    assert float(device.solved.point.volts(place.plus, place.minus)[0]) == pytest.approx(2.80, rel=0.02)
    assert device.blocks["lamp"].values["current"].value == pytest.approx(4.2 / 22e3, rel=0.01)


def test_a_timer_that_waits_for_a_trigger() -> None:
    """A monostable is driven by a state, as a pin is: high in it, else 0 V. High, a bipolar chip stays up to 1.7 V below its supply
    of 6 V, a CMOS one next to none (from memory, data sheets)."""
    device = built(TIMER.replace("ra: R8", "mode: monostable, ra: R8").replace("rb: R9 47k, ", ""))
    running, idle = device.solved.point.volts(device.net("flash.out"), device.common)
    assert [state.name for state in device.states] == ["running", "idle"]
    assert 6.0 - 1.7 < float(running) < 6.0 and float(idle) == pytest.approx(0.0, abs=0.05)


def test_a_place_at_which_nothing_lies_is_told() -> None:
    """A chip's pin that is wired to nothing: no volts are known there, and that is said where it is read."""
    text = (
        TIMER
        + "  brain: {kind: microcontroller, designator: U1, supply: 5 V, pins: [1 VDD, 2 spare, 3 GND]}\n"
    )
    device = built(text)
    with pytest.raises(PlaceError, match="nothing is known of what stands there"):
        device.place("brain.spare")


FILTERED = """
blocks:
  charge: {kind: charge-resistor, supply: 9 V, resistor: R17 47, battery: pack, chemistry: ni-mh, capacity: 2 Ah}
  pack: {kind: battery-pack, cells: 4, chemistry: ni-mh, capacity: 2 Ah, load: 1 mA}
  clean: {kind: network, parts: [R2 1k from pack.plus to out, R3 3k from out to pack.minus]}
  lamp: {kind: divider, SUPPLYupper: R4 1k, lower: R5 1k}
  mark: {kind: divider, MARKupper: R6 10k, lower: R7 10k}
JOINS
"""


@pytest.mark.parametrize(
    ("supply", "mark", "joins"),
    [
        ("supply: clean.out, ", "supply: charge.in, ", ""),
        ("", "", "joins: [[lamp.supply, clean.out], [mark.supply, charge.in]]"),
    ],
)
def test_a_net_of_a_network_and_a_terminal_are_supplies(supply: str, mark: str, joins: str) -> None:
    """Of the pack's volts U: 1k above 3k beside 2k is U·1.2/2.2, and half of that at the tap (Ohm's law); half of the 9 V, which the
    charger still has of its own."""
    device = built(FILTERED.replace("SUPPLY", supply).replace("MARK", mark).replace("JOINS", joins))
    assert not device.troubles
    (pack,), (out,), (tap,), (half,) = (
        device.solved.point.volts(device.net(net))
        for net in ("pack.plus", "clean.out", "lamp.tap", "mark.tap")
    )
    assert out == pytest.approx(pack * 1.2 / 2.2, rel=1e-3) and tap == pytest.approx(out / 2, rel=1e-3)
    assert half == pytest.approx(4.5, rel=1e-3) and 4.8 < pack < 6.2


@pytest.mark.parametrize(("stated", "ends"), [("current: 3 mA, ", (24e-3, 36e-3)), ("", (0.0, 50e-3))])
def test_a_chip_draws_a_current_of_its_own(stated: str, ends: tuple[float, float]) -> None:
    """Across 10 Ω before it: 30 mV for 3 mA, a fifth either way as any load; up to 5 mA where nobody says it (data sheets of small
    controllers: 0.3 to 1 mA for each MHz)."""
    from generator.circuit.device.results import reach
    from generator.circuit.network.reading import Reading

    device = built(f"""
blocks:
  reg: {{kind: linear-regulator, regulator: U1, input: 9 V, output: 5 V}}
  clean: {{kind: network, parts: [R2 10 0% from reg.out to out]}}
  brain: {{kind: microcontroller, designator: U2, {stated}supply: clean.out, pins: [1 VDD, 2 spare, 8 GND]}}
joins: [[brain.common, reg.common]]
""")
    assert not device.troubles
    ((low, nominal, high),) = reach(
        device, [(device.states[0].name, Reading(device.net("reg.out"), device.net("clean.out")))]
    )
    assert low == pytest.approx(ends[0], abs=1e-3) and high == pytest.approx(ends[1], abs=1e-3)
    assert nominal == pytest.approx(30e-3 if stated else 0.0, abs=1e-3)
