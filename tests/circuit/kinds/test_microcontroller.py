"""Microcontroller: pins read from a note, and where they stand on the drawing."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any

import pytest

from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build, build_block
from generator.circuit.kinds.microcontroller import Pin, pins_of, read_pin
from generator.drawing.frame import TitleBlock
from generator.drawing.schematic import draw

EXAMPLE = {
    "designator": "U2 8-bit", "supply": "5 V", "decoupling": "C8 100n",
    "pins": ["10 fan -> fan-drive", "1 VDD", "2 heater -> heater-drive", "3 air <- air", "9 menu <- menu", "6 spare", "8 GND"],
}  # fmt: skip


def controller(**changes: Any) -> Block:
    parameters = {k: v for k, v in {**EXAMPLE, **changes}.items() if v != ""}
    block, troubles = build_block("microcontroller", parameters, Mains())
    assert block is not None, troubles
    return block


def texts(block: Block) -> dict[str, tuple[float, float, str]]:
    """Text -> (x, y, anchor) on the drawing."""
    root = ET.fromstring(draw(block, TitleBlock("Controller")).svg)
    found = {}
    for element in root.iter("{http://www.w3.org/2000/svg}text"):
        found[element.text or ""] = (
            float(element.get("x", 0)),
            float(element.get("y", 0)),
            element.get("text-anchor", "start"),
        )
    return found


@pytest.mark.parametrize("text, pin", [
    ("1 VDD", Pin("1", "VDD")),
    ("2 heater -> heater-drive", Pin("2", "heater", "heater-drive", True)),
    ("3 turner current <- turner-sense", Pin("3", "turner current", "turner-sense")),
    ("B12 x->y", Pin("B12", "x", "y", True)),
    ("12", None), ("VDD 1", None), ("2 ->", None), ("2 a -> b -> c", None), ("", None), ("2 -> b", None),
])  # fmt: skip
def test_pin_notation(text: str, pin: Pin | None) -> None:
    assert read_pin(text) == pin


@pytest.mark.parametrize("name", ["VDD", "VCC", "AVDD", "AVCC", "VDD1", "V+", "3V3"])
def test_supply_pins_go_on_top(name: str) -> None:
    """Names of supply pins in data sheets (common practice, no source)."""
    pin = read_pin(f"1 {name}")
    assert pin and pin.is_supply and not pin.is_common


@pytest.mark.parametrize("name", ["GND", "VSS", "AGND", "DGND", "AVSS", "VSS2", "0 V"])
def test_common_pins_go_to_the_bottom(name: str) -> None:
    pin = read_pin(f"8 {name}")
    assert pin and pin.is_common and not pin.is_supply


def test_pins_are_in_the_order_of_their_numbers() -> None:
    """9 before 10, whatever the order in the note."""
    assert [p.number for p in pins_of(controller())] == ["1", "2", "3", "6", "8", "9", "10"]


def test_inputs_stand_left_outputs_right_supply_on_top() -> None:
    """Signal from left to right, supply on top, common at the bottom, as IEC 61082-1 has it for circuit diagrams."""
    found = texts(controller())
    x = {name: place[0] for name, place in found.items()}
    y = {name: place[1] for name, place in found.items()}
    assert max(x["air"], x["menu"], x["spare"]) < x["U2"] < min(x["heater"], x["fan"])
    assert x["heater"] < x["heater-drive"] and found["heater-drive"][2] == "start"
    assert y["air"] < y["spare"] < y["menu"] or y["air"] < y["menu"]
    assert y["heater"] < y["fan"]
    assert y["VDD"] < min(y["air"], y["heater"]) + 1 and y["GND"] > y["fan"]
    assert x["C8"] > x["heater-drive"]


def test_every_pin_number_is_drawn_beside_its_name() -> None:
    found = texts(controller())
    for pin in pins_of(controller()):
        number, name = found[pin.number], found[pin.name]
        assert abs(number[1] - name[1]) < 25, pin


def test_forty_pins_and_no_decoupling() -> None:
    pins = [f"{n} P{n} {'->' if n % 2 else '<-'} block-{n}" for n in range(40, 0, -1)]
    found = texts(controller(pins=pins, decoupling=""))
    assert {f"P{n}" for n in range(1, 41)} | {f"block-{n}" for n in range(1, 41)} <= found.keys()
    outputs = [found[f"P{n}"][1] for n in range(1, 41, 2)]
    assert outputs == sorted(outputs)


def test_nothing_is_computed() -> None:
    block = controller()
    assert block.values == {} and block.checks == []
    assert {(f.part, f.failed) for f in block.failures} == {("C8", "open"), ("C8", "short"), ("C8", "low")}
    assert "0 V" in next(f.remark for f in block.failures if f.failed == "short")


def test_the_drawing_is_told_in_words() -> None:
    assert "3 air &lt;- air" in draw(controller(), TitleBlock("Controller")).svg


@pytest.mark.parametrize("changes, words", [
    ({"pins": ["x"]}, "x: no pin"),
    ({"pins": ["1 VDD", "1 GND"]}, "pin 1 is both VDD and GND"),
    ({"pins": [f"{n} P{n}" for n in range(1, 42)]}, "41 entries"),
    ({"pins": [["1 VDD"]]}, "a line of text is expected"),
    ({"pins": ["1 " + "x" * 70]}, "longer than 60"),
    ({"supply": "0 V"}, "supply: 0 V is zero"),
    ({"supply": "-5 V"}, "below zero"),
    ({"supply": "nan"}, "not a value"),
    ({"supply": "1e400 V"}, "not a number"),
    ({"supply": "5 A"}, "is a current"),
    ({"decoupling": "C8"}, "C8 has no value"),
    ({"pin": ["1 VDD"]}, "no such parameter of microcontroller"),
    ({"pins": ""}, "microcontroller needs pins"),
])  # fmt: skip
def test_bad_input_is_told(changes: dict[str, Any], words: str) -> None:
    parameters = {k: v for k, v in {**EXAMPLE, **changes}.items() if v != ""}
    block, troubles = build_block("microcontroller", parameters, Mains())
    assert block is None
    assert any(words in t.what and "microcontroller" in t.what for t in troubles), troubles


def test_a_pin_that_goes_to_no_block_of_the_note_is_told() -> None:
    """With the place of the pin and the nearest name; on its own at the bench a chip may name anything."""
    blocks = {"controller": {"kind": "microcontroller", **EXAMPLE, "pins": ["1 VDD", "2 lamp -> heat-lmp", "3 air <- heat-lamp"]},
              "heat-lamp": {"kind": "led-indicator", "supply": "5 V", "resistor": "560", "forward": "red"}}  # fmt: skip
    circuit = build(blocks, Mains())
    assert [(t.path, t.what, t.hint, t.severity) for t in circuit.troubles] == [
        (
            ("controller", "pins", 1),
            "microcontroller controller: no block heat-lmp",
            "did you mean heat-lamp?",
            "warning",
        )
    ]
    assert set(circuit.blocks) == {"controller", "heat-lamp"}
