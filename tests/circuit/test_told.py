"""What is told of a slip that somebody makes in a part, a value, a block or a place: the words, by hand, and that the nearest
thing which is right is taken."""

from __future__ import annotations

from typing import Any

import pytest
from kind_cases import every_case

from generator.circuit.circuit import Mains, build, build_block
from generator.circuit.device import PlaceError, Told, work_out
from generator.circuit.joined import others_at
from generator.notation.part_reading import parse_part
from generator.notation.quantity import QuantityError, parse
from tests.circuit.device.examples import built


@pytest.mark.parametrize(("text", "unit", "said", "right"), [
    ("900..1.2mA", "A", "the unit of 900 is missing", "900uA..1.2mA"), ("1,000", "ohm", "may mean 1000 or 1", "1000"), ("-5", "ohm", "below zero", "5"),
    ("0", "ohm", "is zero", "0.1"), ("-280 C", "°C", "not a temperature", "-40 C"), ("“12 V”", "V", "is not a value", "12 V"), ("", "V", "an empty text", "1 V"),
    ("1e9 V", "V", "1e9", "1e3 V"), ("3001 C", "°C", "not a temperature", "2999 C"),
])  # fmt: skip
def test_a_value_that_is_none(text: str, unit: str, said: str, right: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, unit)
    assert said in str(caught.value)
    assert parse(right, unit)


@pytest.mark.parametrize(("text", "part", "said", "right"), [
    ("R1 10k 5% 1%", "resistor", "5% and 1%: two tolerances", "R1 10k 5% 5%"), ("R1 10k 47k", "resistor", "10k and 47k: two values", "R1 10k 47V"),
    ("R1 10kJ 1%", "resistor", "two tolerances", "R1 10kJ 5%"), ("R1 1k..2k 5%", "resistor", "a range has no tolerance", "R1 1k..2k"),
    ("R1 1k..2k J", "resistor", "J after a range is not a tolerance", "R1 1k J"), ("R1 10kJ K", "resistor", "two tolerances", "R1 10kK"),
    ("Q1 50%", "transistor", "a tolerance of what?", "Q1 hfe100 50%"), ("Q1 hfe100 20% 50%", "transistor", "two tolerances", "Q1 hfe100 50%"),
    ("C1 100n micro", "capacitor", "prefixes are written as letters", "C1 10u"), ("R1 marked", "resistor", "nothing follows marked", "R1 marked 103"),
    ("Q1 marked 103", "transistor", "no marking codes of a transistor", "Q1"), ("TH1 marked red red red", "thermistor", "colour bands of a thermistor", "TH1 marked 103"),
    ("R1 marked black", "resistor", "a link of 0", "R1 marked 101"), ("C1 marked 1002", "capacitor", "may count pF or be digits with zeros", "C1 marked 102"),
])  # fmt: skip
def test_a_part_that_is_none(text: str, part: str, said: str, right: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_part(text, part)
    assert said in str(caught.value)
    assert parse_part(right, part)


def of_kind(parameter: str) -> tuple[str, dict[str, Any]]:
    """The first kind that takes a parameter, with an example in which it is given."""
    return next((name, given) for name, given in every_case() if parameter in given)


@pytest.mark.parametrize(("parameter", "entry", "said"), [
    ("positions", ["E1"], "positions have names"), ("positions", {"high": {"parallel": ["E1"]}}, "neither a list nor {series: [...]}"),
    ("positions", {"high": {"series": []}}, "designators are expected here"), ("positions", {"high": [" "]}, "designators are expected here"),
    ("positions", {"high!": ["E1"]}, "is not a name for a position"), ("keys", ["R1 1k"], "keys have names"),
    ("keys", {"up": ["R1 1k"]}, "one resistor is expected here, or 0"), ("keys", {"up<": "R1 1k"}, "is not a name for a key"),
    ("cut_points", ["1"], "cut points have names"), ("elements", [[[["R1 1k"]]]], "branches are nested too deep"),
    ("turns_ratio", "8:0", "no turns at all"),
])  # fmt: skip
def test_a_shape_that_is_none(parameter: str, entry: object, said: str) -> None:
    name, given = of_kind(parameter)
    block, _ = build_block(name, given, Mains())
    assert block is not None
    block, troubles = build_block(name, {**given, parameter: entry}, Mains())
    assert block is None and said in " | ".join(trouble.what for trouble in troubles)


def test_most_blocks_of_a_note() -> None:
    """A hundred are worked out, of one more none is; twenty as a matter of course."""
    one = {"kind": "rc-delay", "resistor": "10k", "capacitor": "1u", "supply": "5 V", "threshold": "2 V"}
    told = build({f"b{n}": one for n in range(101)}, Mains())
    assert not told.blocks and "101 blocks in one note" in told.troubles[0].what
    assert len(build({f"b{n}": one for n in range(20)}, Mains()).blocks) == 20


DEVICE = """
test_points: {TP1: supply.plus}
connectors: {CN3: [reg.out, x, supply.common]}
blocks:
  inlet: {kind: mains-inlet, load: 20 W, fuse: F1 250mA}
  supply: {kind: transformer-supply, primary: inlet, secondary: 12 V, smoothing: C1 2200u 25V, bleeder: R1 4k7}
  reg: {kind: linear-regulator, regulator: U1, input: supply, output: 5 V}
  level: {kind: divider, supply: reg, upper: R2 10k, lower: R3 10k}
"""


@pytest.mark.parametrize(("place", "said"), [
    ("CN3 pin 4", "CN3 has 3 pins"), ("CN3 pin 0", "CN3 has 3 pins"), ("level.topp", "has no terminal or value topp"), ("TP2", "no such place"),
    ("levle.tap", "no such place"),
])  # fmt: skip
def test_a_place_that_is_none(place: str, said: str) -> None:
    device = built(DEVICE)
    with pytest.raises(PlaceError) as caught:
        device.place(place)
    assert said in str(caught.value)


def test_places_by_every_name() -> None:
    """A test point, a terminal and a pin of one net are one place; 12 V·√2 − 1.4 V at most stand there, 5 V behind the regulator."""
    device = built(DEVICE)
    assert device.place("TP1").plus == device.place("supply.plus").plus == device.place("supply").plus
    assert device.place("CN3 pin 1").plus == device.place("reg.out").plus == device.place("level.supply").plus
    assert device.place("CN3 pin 3").plus == device.place("supply.common").plus
    assert device.place("R2").how == "part" and device.place("reg.output_voltage").value == "output_voltage"
    tap = device.place_across(("level.tap", "supply.common"))
    assert (tap.plus, tap.minus) == (device.place("level.tap").plus, device.place("supply.common").plus)


@pytest.mark.parametrize(("one", "other", "said"), [
    ("level.tap", "supply.secondary_a", "the volts between these two are not worked out"), ("supply.secondary_a", "level.tap", "not worked out"),
    ("level.tap", "level.tap", "both are one net"), ("inlet.live", "level.tap", "from the mains side to the low-voltage side"),
    ("level.tap", "inlet.live", "inlet.live is at mains potential, level.tap is not"), ("R2", "level.tap", "not one place to put a lead"),
])  # fmt: skip
def test_two_places_between_which_nothing_is_to_be_read(one: str, other: str, said: str) -> None:
    with pytest.raises(PlaceError) as caught:
        built(DEVICE).place_across((one, other))
    assert said in str(caught.value)


@pytest.mark.parametrize(("part", "volts", "said"), [
    ("BT1 9V", 9.0, ""), ("BT1 battery 1.5V", 1.5, ""), ("BT1 battery", None, "BT1 battery: its volts are missing"), ("U1 regulator 12V", 12.0, ""),
])  # fmt: skip
def test_the_volts_of_a_battery_written_with_its_nets(part: str, volts: float | None, said: str) -> None:
    """One without them would be a battery of 0 V, and everything behind it dead."""
    nets = "a x common" if part.startswith("U") else "a common"
    lines = ["R1 1k from a to common", "R2 1k from x to common", f"{part} from {nets}"]
    device = work_out({"net": {"kind": "network", "parts": lines}}, Mains(), Told())
    told = " | ".join(trouble.what for trouble in device.circuit.troubles)
    if volts is None:
        assert said in told
    else:
        assert told == "" and device.elements[f"net.{part.split()[0]}"].nominal()["volts"] == volts


def test_what_a_block_is_joined_to() -> None:
    """The other places of each join in which it has a terminal; a test point or a block by its name alone is no terminal."""
    joins = [["a.out", "b.in", "TP1"], ["b.out", "c.in"], ["a", "c.out"], ["c.plus", "a.minus"]]
    assert others_at(joins, "a") == [("out", "b.in"), ("out", "TP1"), ("minus", "c.plus")]
    assert others_at(joins, "b") == [("in", "a.out"), ("in", "TP1"), ("out", "c.in")]
    assert others_at(joins, "d") == []
