"""A kind as its author writes it: parameters from class attributes, names that cannot be taken, terminals, variants."""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path
from typing import Any

import pytest

from generator.circuit import catalogue, param
from generator.circuit.block import Block, Kind, Mains, Point
from generator.circuit.circuit import build_block
from generator.circuit.stated import read_inputs
from generator.drawing.sheet import Sheet


class Splitter(Kind):
    """A kind of this test's own, one parameter of each sort of default."""

    supply = param.Quantity("V", "the mains", default=param.MAINS)
    rated = param.Quantity("V", "what it is made for")
    top = param.Quantity("V", "the highest", default=rated)
    fed = param.Quantity("V", "what feeds it", default=param.MainsIfNear(rated))
    from_ = param.Part("resistor", "its first resistor", role="first resistor", default="10k")
    spare = param.Part("capacitor", "its capacitor", default=None)


def read(**given: str) -> dict[str, Any]:
    inputs, troubles = read_inputs(Splitter(), given, {}, Mains())
    assert troubles == []
    return inputs.numbers | {"axes": sorted(axis.names for axis in inputs.axes)}


def test_parameters_are_the_class_attributes() -> None:
    """In the order of the class; an underscore behind a word that Python keeps for itself is not part of the name."""
    assert [p.name for p in Splitter.params] == ["supply", "rated", "top", "fed", "from", "spare"]
    assert [p.name for p in Splitter.params if p.required] == ["rated"]
    assert Splitter().param("from") is Splitter.from_ and Splitter().param("from_") is None


def test_defaults() -> None:
    """What holds where a note is silent. 230 V and ±10 %: EN 50160; resistors 5 %: DESIGN, section 2."""
    far = read(rated="100 V 2%")
    assert far["supply"] == 230.0 and far["top"] == far["fed"] == 100.0
    assert far["from"] == 10e3 and far["spare"] is None
    assert far["axes"] == [
        ("from",),
        ("rated", "top", "fed"),
        ("supply",),
    ]  # those of one quantity move together
    near = read(rated="220 V")
    assert near["fed"] == 230.0 and near["top"] == 220.0


def test_defaults_in_words() -> None:
    """As the catalogue prints them."""
    assert [p.default.words() for p in Splitter.params] == [
        "the library's mains voltage",
        "",
        "as rated",
        "the mains where rated is near it, else as rated",
        "10k",
        "",
    ]


def test_a_parameter_takes_no_name_that_a_kind_needs() -> None:
    """A parameter called values would hide the table of values."""
    with pytest.raises(TypeError, match="remarks, values cannot be a parameter's name"):
        type(
            "Wrong",
            (Kind,),
            {"values": param.Count("a"), "remarks": param.Count("b"), "fine": param.Count("c")},
        )


# The nets by which each kind joins others (the contract).
TERMINALS = {
    "mains-inlet": "live neutral earth live_out neutral_out",
    "transformer-supply": "primary_live primary_neutral secondary_a secondary_b plus common centre",
    "capacitive-dropper": "live neutral plus common",
    "linear-regulator": "in out common",
    "zener-regulator": "in out common",
    "charge-resistor": "in out common",
    "feedback-divider": "in out feedback common",
    "offline-start": "bus plus common",
    "battery-pack": "plus minus",
    "dc-motor": "plus minus",
    "divider": "supply tap pin common",
    "thermistor-divider": "supply tap pin common",
    "light-divider": "supply tap pin common",
    "sense-resistor": "top common",
    "comparator": "input reference out supply common",
    "button-input": "supply pin common",
    "optocoupler": "input input_common output_supply out common",
    "rc-delay": "supply out common",
    "timer-555": "supply out common",
    "led-indicator": "supply common",
    "transistor-switch": "drive base collector load_supply common",
    "mosfet-switch": "drive gate drain load_supply common",
    "triac-switch": "live load neutral gate",
    "phase-control": "live load neutral gate",
    "heater": "live neutral",
}


@pytest.mark.parametrize("name", TERMINALS)
def test_terminals(name: str) -> None:
    assert catalogue.kind(name).terminals == tuple(TERMINALS[name].split())


@pytest.mark.parametrize("name", catalogue.names())
def test_what_a_catalogue_shows_is_sound(name: str) -> None:
    """The example and each variant are circuits to learn from: no check of theirs fails, and each has a caption."""
    kind = catalogue.kind(name)
    for changes in ({}, *(variant.changes for variant in kind.variants)):
        block, troubles = build_block(name, kind.example_with(changes), Mains())
        assert block is not None and troubles == []
        assert [f"{c.part}: {c.what}" for c in block.checks if not c.ok] == [], changes
    assert all(variant.caption for variant in kind.variants)


def test_the_kind_in_the_guide(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The guide's whole kind is one, and short. 12 V − 100 mA·47 Ω = 7.3 V; ±5 % and ±20 %: 12 − 0.12·49.35 (by hand)."""
    guide = (Path(__file__).resolve().parents[2] / "DEVELOPERS.md").read_text("utf-8")
    code = re.findall(r"```python\n(.*?)```", guide, re.DOTALL)[0]
    assert code.count("\n") < 60
    (tmp_path / "dropping_resistor.py").write_text(code, "utf-8")
    loader = importlib.util.spec_from_file_location("dropping_resistor", tmp_path / "dropping_resistor.py")
    assert loader and loader.loader
    module = importlib.util.module_from_spec(loader)
    monkeypatch.setitem(sys.modules, "dropping_resistor", module)
    loader.loader.exec_module(module)
    kind = module.DroppingResistor()
    assert kind.name == "dropping-resistor"
    inputs, troubles = read_inputs(kind, kind.example, {}, Mains())
    assert troubles == []
    block = Block(
        "own",
        kind,
        inputs.given,
        Point(**inputs.numbers),
        inputs.axes,
        Mains(),
        kind.values,
        units=inputs.units,
    )
    output = block.values["output"]
    assert output.value == pytest.approx(7.3) and output.low == pytest.approx(12 - 0.12 * 49.35)
    assert output.working == "12 V − 100 mA·47 Ω = 7.30 V"
    assert [check.ok for check in block.checks] == [True]
    sheet = Sheet()
    kind.draw(block, sheet)
    assert "R1" in sheet.drawn()[0]
