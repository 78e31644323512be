"""Battery: voltages by chemistry, energy and runtime by hand, and what a lost cell shows."""

from __future__ import annotations

import pytest
from bench import after, failed, made, said, told, value

from generator.circuit.circuit import Mains
from generator.circuit.device import work_out
from generator.circuit.device.results import nets
from generator.drawing import symbols
from generator.drawing.sheet import Sheet
from tests.circuit.network.alone import Alone

EXAMPLE = {"cells": "3", "chemistry": "li-ion", "capacity": "2.5 Ah", "load": "500 mA"}


@pytest.mark.parametrize(
    "cells, chemistry, nominal, full, empty",
    [
        # what packs are sold and judged as (trade's figures and data sheets, from memory): nominal, full, empty
        ("1", "li-ion", (3.6, 3.7), (4.2, 4.2), (2.75, 3.0)),
        ("5", "li-ion", (18.0, 18.5), (21.0, 21.0), (13.75, 15.0)),
        ("4", "li-fe-po4", (12.8, 12.8), (14.4, 14.6), (10.0, 10.0)),
        ("6", "ni-mh", (7.2, 7.2), (8.4, 8.7), (6.0, 6.0)),  # IEC 61951-2: end of discharge 1.0 V a cell
        ("6", "ni-cd", (7.2, 7.2), (8.4, 8.7), (6.0, 6.0)),  # IEC 61951-1: the same
        ("6", "alkaline", (9.0, 9.0), (9.3, 9.9), (4.8, 6.0)),  # a 9 V block (IEC 60086-2, 6LR61)
        ("6", "lead-acid", (12.0, 12.0), (12.6, 12.9), (10.5, 10.8)),  # a car or alarm battery, rested
    ],
)
def test_voltages(
    cells: str,
    chemistry: str,
    nominal: tuple[float, float],
    full: tuple[float, float],
    empty: tuple[float, float],
) -> None:
    block = made("battery-pack", cells=cells, chemistry=chemistry, capacity="2 Ah", load="1 A")
    for name, (low, high) in (("nominal", nominal), ("full", full), ("empty", empty)):
        assert low - 1e-9 <= value(block, name) <= high + 1e-9, name


def test_energy_and_runtime_by_hand() -> None:
    """4 × 1.2 V × 2 Ah = 9.6 Wh; 2 Ah at 0.5 A last 4 h. By hand."""
    block = made("battery-pack", cells="4", chemistry="ni-mh", capacity="2000 mAh", load="500 mA")
    assert value(block, "energy") == pytest.approx(9.6)
    assert value(block, "runtime") == pytest.approx(4 * 3600)


def test_capacity_with_a_tolerance() -> None:
    """2 Ah ± 10 % at 1 A: 1.8 h to 2.2 h. By hand."""
    block = made("battery-pack", cells="1", chemistry="alkaline", capacity="2 Ah 10%", load="1 A 0%")
    assert block.values["runtime"].low == pytest.approx(1.8 * 3600)
    assert block.values["runtime"].high == pytest.approx(2.2 * 3600)


def test_lost_cells() -> None:
    """Series connection: a shorted cell takes its voltage away, an open one all current (Kirchhoff's laws)."""
    block = made("battery-pack", **{**EXAMPLE, "chemistry": "ni-mh"})
    shown = after(block, "one cell", "short")
    assert shown["nominal"] == pytest.approx(2.4) and shown["runtime"] == value(block, "runtime")
    assert set(after(block, "one cell", "open").values()) == {0.0}
    single = made("battery-pack", **{**EXAMPLE, "cells": "1"})
    assert set(after(single, "one cell", "short").values()) == {0.0}


def test_lithium_calls_for_its_caution() -> None:
    assert made("battery-pack", **EXAMPLE).cautions == ("lithium",)
    assert failed(made("battery-pack", **EXAMPLE), "one cell", "short").dangerous
    other = made("battery-pack", **{**EXAMPLE, "chemistry": "alkaline"})
    assert other.cautions == () and not failed(other, "one cell", "short").dangerous


def test_heavy_load_is_remarked_on() -> None:
    """6 A, give or take 20 %, from 2.5 Ah: 7.2/2.5 = 2.9 times its capacity an hour."""
    assert "2.9 C" in said(made("battery-pack", **{**EXAMPLE, "load": "6 A"}), True)


@pytest.mark.parametrize(
    "wrong, words",
    [
        ({"cells": "0"}, "not a whole number"), ({"cells": "-1"}, "not a whole number"), ({"cells": "2.5"}, "not a whole number"),
        ({"cells": "nan"}, "not a whole number"), ({"chemistry": "lipo"}, "li-ion"), ({"capacity": "2 A"}, "a current"),
        ({"load": "1e400 A"}, "not a number"), ({"load": "0"}, "zero"), ({"capacity": ""}, "needs capacity"), ({"cell": "3"}, "cells"),
    ],
)  # fmt: skip
def test_bad_input_is_told(wrong: dict[str, str], words: str) -> None:
    text = told("battery-pack", **{**EXAMPLE, **wrong})
    assert words in text
    assert "battery-pack" in text


def test_cells_sag_under_load_each_by_its_own_resistance() -> None:
    """New alkaline cells of household size have 0.1 to 0.3 Ω (data sheets, from memory): four at 6 Ω show 6 V·6/(6.4 to 7.2), one
    at a quarter of the ohms a quarter of that; at worst 4 · 0.9 V behind 4 · 0.3 Ω (Ohm's law)."""

    def loaded(cells: int, ohms: str) -> dict[str, float]:
        pack = {
            "kind": "battery-pack",
            "cells": str(cells),
            "chemistry": "alkaline",
            "capacity": "2 Ah",
            "load": "1 uA",
        }
        load = {"kind": "network", "parts": [f"R1 {ohms} 0% from pack.plus to pack.minus"]}
        told = nets(work_out({"pack": pack, "lamp": load}, Mains()))
        found: dict[str, float] = told["pack.plus"]["volts"]["running"]["dc"]
        return found

    four, one = loaded(4, "6"), loaded(1, "1.5")
    assert 6 * 6 / 7.2 <= four["value"] <= 6 * 6 / 6.4
    assert one["value"] == pytest.approx(four["value"] / 4, rel=1e-3)
    assert four["low"] == pytest.approx(3.6 * 6 / 7.2, rel=0.01)


@pytest.mark.parametrize("count", [1, 2, 3, 7])
def test_one_cell_gives_out_or_all_of_them(count: int) -> None:
    """1.5 V each in series: flat they leave nothing, at 70 % the same share; one that is flat leaves the others' volts. A
    single cell is no pack. By hand."""
    alone = Alone(made("battery-pack", **{**EXAMPLE, "cells": str(count), "chemistry": "alkaline"}))
    shown = {("cell", "dead"): 1.5 * (count - 1), ("cell", "low"): 1.5 * (count - 0.3)}
    if count > 1:
        shown |= {("cells", "dead"): 0.0, ("cells", "low"): 1.5 * count * 0.7}
    else:
        with pytest.raises(KeyError):
            alone.failed("cells", "dead")
    for (key, mode), volts in shown.items():
        assert alone.value("nominal", alone.failed(key, mode)) == pytest.approx(volts, abs=1e-6), (key, mode)


@pytest.mark.parametrize(("count", "word"), [(1, "cell"), (2, "battery"), (6, "battery")])
def test_one_cell_is_drawn_as_one(count: int, word: str) -> None:
    """IEC 60617 has a symbol for a primary or secondary cell and one for a battery of them (from memory)."""
    block, sheet = made("battery-pack", **{**EXAMPLE, "cells": str(count)}), Sheet()
    block.kind.draw(block, sheet)
    assert symbols.two_terminal(word, "down").svg in [own.symbol.svg for own in sheet.verticals]
