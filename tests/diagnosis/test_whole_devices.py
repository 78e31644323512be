"""The simulation that the diagnosis is measured with, against hand calculation; no ngspice is needed."""

from __future__ import annotations

import sys
from math import pi
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.append(str(Path(__file__).resolve().parents[1] / "benchmarks"))

from whole_devices.asked import Candidate  # noqa: E402
from whole_devices.board import OPEN, Board  # noqa: E402
from whole_devices.mains import blown, line_of  # noqa: E402
from whole_devices.oracle import Bank  # noqa: E402
from whole_devices.places import named_nets  # noqa: E402
from whole_devices.scoring import Known  # noqa: E402
from whole_devices.simulate import all_makes  # noqa: E402
from whole_devices.spreads import Draw  # noqa: E402
from whole_devices.supplies import dropper_rails  # noqa: E402

MAKES = all_makes()


def board(name: str) -> Board:
    return MAKES[name].build(Draw(None))


def test_a_droppers_current_passes_the_resistor_before_it() -> None:
    """230 V on 470 nF: 2 pi 50 x 470e-9 x 230 = 34 mA, a little less for the 15 V it feeds; on 100 ohm 3.4 V."""
    own = board("nightlight")
    line = line_of(own, "shaded", {}, set())
    assert line.source == pytest.approx(230, rel=1e-3)
    assert line.resistance == pytest.approx(100.4, rel=1e-3)
    assert own.supply
    given = {name: np.array([value]) for name, value in own.supply.values.items()}
    load = np.arange(151)[None, :] * 0.2 / 1200  # some 12 mA at 15 V
    rails = dropper_rails(
        load, 0.2, np.array([line.source]), given["line_farads"], given["series"] + line.resistance,
        given["discharge"], given["farads"], given["mode"], False,
    )  # fmt: skip
    reactive = 2 * pi * 50 * 470e-9 * 230
    assert abs(rails.amperes[0]) == pytest.approx(reactive, rel=0.04)
    volts = line.volts(rails.amperes[0])
    assert line.read(volts, ("ml", "l1")) == pytest.approx(100 * reactive, rel=0.04)
    assert line.read(volts, ("l1", "0")) == pytest.approx(230, abs=1)  # in quadrature: hardly less is left
    assert np.degrees(np.angle(rails.amperes[0])) > 80  # it leads
    assert rails.capacitor[0] == pytest.approx(abs(rails.amperes[0]) / (2 * pi * 50 * 470e-9), rel=0.02)


def test_across_a_blown_fuse_the_line_is_read_and_behind_it_nothing() -> None:
    """10 Mohm of the meter against 7 kohm of the dropper; behind the fuse the dropper pulls to the neutral."""
    own = board("nightlight")
    line = line_of(own, "shaded", {"r1": OPEN}, set())
    assert own.supply
    given = {name: np.array([value]) for name, value in own.supply.values.items()}
    rails = dropper_rails(
        np.arange(151)[None, :] * 0.2 / 1200, 0.2, np.array([line.source]), given["line_farads"],
        given["series"] + line.resistance, given["discharge"], given["farads"], given["mode"], False,
    )  # fmt: skip
    volts = line.volts(rails.amperes[0])
    assert line.read(volts, ("ml", "l1")) == pytest.approx(230, rel=0.02)
    assert line.read(volts, ("l1", "0")) < 3


@pytest.mark.parametrize(
    ("name", "state", "changes", "closed", "gone"),
    [
        ("aquarium", "cool", {}, {"RL1"}, set()),  # 150 W behind 1 A: 0.65 A
        ("aquarium", "cool", {"he1": 50.0}, {"RL1"}, {"f1"}),  # 4.6 A behind 1 A
        ("aquarium", "cool", {"he1": 50.0}, set(), set()),  # its relay is off
        ("towelrail", "off", {"p_rv1": 0.02}, set(), {"f1"}),
        ("fanheater", "full", {}, {"RL1", "RL2"}, set()),  # 1800 W behind 10 A: 7.8 A
    ],
)
def test_a_fuse_blows_well_above_its_rating(
    name: str, state: str, changes: dict[str, float], closed: set[str], gone: set[str]
) -> None:
    own = board(name)
    line = line_of(own, state, changes, closed)
    assert set(blown(own, changes, [(line, line.volts(0), True)])) == gone


def test_a_thermal_fuse_opens_where_the_fan_stands() -> None:
    own = board("fanheater")
    line = line_of(own, "low", {}, {"RL1"})
    assert not blown(own, {}, [(line, line.volts(0), True)])
    assert set(blown(own, {}, [(line, line.volts(0), False)])) == {"tf1"}
    cold = line_of(own, "idle", {}, set())
    assert not blown(own, {}, [(cold, cold.volts(0), False)])


def test_nothing_lies_between_a_whole_fuse_and_a_blown_one() -> None:
    """Two sizes of one fault, 230 V and 0 V: 115 V is neither, unless both left the fuse whole."""
    values = (
        np.stack([np.full((12, 1), 230.0), np.full((12, 1), 0.0)]) + np.linspace(-1, 1, 12)[None, :, None]
    )
    read, sigma, floor = np.array([115.0]), np.array([1.0]), np.array([0.5])

    def likelihood(blew: list[str]) -> float:
        return Bank(values, np.array([0, 0]), np.array(blew)).judge([0], read, sigma, floor)[0]

    assert likelihood(["", "F1"]) < likelihood(["", ""]) - 10


def test_the_fuse_with_its_cause_is_right_and_the_fuse_alone_is_not() -> None:
    make = MAKES["aquarium"]
    known = Known(make.NOTE, named_nets(make), board("aquarium").parts)
    case: dict[str, Any] = {
        "truth": [{"part": "HE1", "failed": "low", "size": 0.1, "blew": ["F1"]}], "tied": []
    }  # fmt: skip
    fuse = Candidate("inlet", "F1", "open", 0.5)
    element = Candidate("element", "HE1", "low", 0.5)
    both = Candidate("inlet", "F1", "open", 0.5, other=element)
    assert known.right(element, case) and known.right(both, case)
    assert known.right(Candidate("element", "HE1", "low", 0.5, other=fuse), case)
    assert not known.right(fuse, case)
    assert known.right(fuse, {**case, "tied": [["F1", "open"]]})
