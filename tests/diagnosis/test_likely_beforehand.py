"""What is taken to be likely before anything is read, against what benches see; and the sizes that failures are tried by."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from noted import judged_note

from generator.diagnosis import hypotheses
from generator.diagnosis.hypotheses import SIZES, WEIGHTS, between, by_failure, changes_of, sizes_of

# The ways in which each part fails, the most frequent first, "=" between those that are as frequent: handbooks of failure
# modes (shares of open, short, drift) and common practice, from memory; no figures.
ORDER = {
    "resistor": "open > high > low > leaky = short", "high-ohm resistor": "open = high > low = leaky > short",
    "low-ohm resistor": "open > high > short > low = leaky", "potentiometer": "open = high > low = leaky = short",
    "electrolytic": "low > leaky = short > open", "capacitor": "low > short = leaky > open",
    "motor": "open > high = stalled > short = low", "mains capacitor": "low > open > short > leaky",
    "thermistor": "open > high = leaky = short > low", "photoresistor": "open = high > leaky = short > low",
    "diode": "short > open > leaky", "zener": "short = open > leaky = low > high", "led": "open > short > leaky",
    "transistor": "short > open > leaky = low", "mosfet": "short > open > leaky gate > leaky", "triac": "short > open > leaky",
    "optocoupler": "open = low > short = dark", "switch": "open = high resistance > short > leaky",
    "contact": "open = high resistance > short > leaky", "pin": "open = high resistance", "coil": "open > short = low = high",
    "winding": "open > stalled > short = low = high = shorted turns", "element": "open > short = low = high", "varistor": "short > leaky",
    "chip": "open > short > low = high = leaky = stuck high = stuck low", "cell": "high resistance > open > short",
    "pack": "high resistance > dead > open > low", "source": "dead > low", "mains": "dead > low", "diac": "open > short",
    "loudspeaker": "open > short", "load": "open > short > high > low", "chip's current": "open > high > low", "any": "open > short",
}  # fmt: skip

# The same across parts: what gives up first in a device that somebody brings.
ACROSS = (
    ("electrolytic low", "thermistor open", "switch open", "diode short", "resistor open", "mosfet open", "load open", "capacitor short",
     "resistor low", "bridge bridge", "mains low"),
    ("motor high", "winding high"),
    ("mains capacitor low", "diode short", "capacitor low"),
    ("high-ohm resistor open", "low-ohm resistor open", "resistor open", "inductor open", "capacitor open"),
    ("mosfet short", "transistor short", "zener short", "controller short", "chip short", "coil short", "resistor short"),
)  # fmt: skip


@pytest.mark.parametrize("part", ORDER)
def test_a_parts_failures_are_in_the_order_of_benches(part: str) -> None:
    groups = [group.split(" = ") for group in ORDER[part].split(" > ")]
    assert sorted(WEIGHTS[part]) == sorted(mode for group in groups for mode in group)
    told = [{WEIGHTS[part][mode] for mode in group} for group in groups]
    assert all(len(same) == 1 for same in told)
    assert all(min(more) > max(less) for more, less in pairwise(told))


@pytest.mark.parametrize("row", ACROSS)
def test_what_gives_up_first_is_likelier(row: tuple[str, ...]) -> None:
    told = [WEIGHTS[part][mode] for part, _, mode in (entry.rpartition(" ") for entry in row)]
    assert all(more > less for more, less in pairwise(told))


def test_what_is_the_same_part_by_another_name_fails_as_often() -> None:
    assert WEIGHTS["fuse"] == WEIGHTS["thermal fuse"]
    assert {**WEIGHTS["contact"], "short": 0} == {**WEIGHTS["switch"], "short": 0}
    assert {**WEIGHTS["winding"], "stalled": 0, "shorted turns": 0} == {
        **WEIGHTS["coil"],
        "stalled": 0,
        "shorted turns": 0,
    }
    assert sum(share for _, share in hypotheses.LEGS["transistor", "open"]) == 1


GRIDS = {
    **{(part, mode): grid for part, mode, grid in (
        (min(classes), mode, grid) for classes, grids in hypotheses._OF_CLASS for mode, grid in grids.items())},
    **{("", mode): grid for mode, grid in SIZES.items()},
}  # fmt: skip


@pytest.mark.parametrize(("part", "mode"), [key for key in GRIDS if key[1] not in ("short", "bridge")])
def test_sizes_lie_close_on_a_logarithmic_scale(part: str, mode: str) -> None:
    """No size lies further than a factor of two from one that is tried, and they are tried once: neighbours differ by no more
    than four, by no less than a twelfth, and by more the further they are off (a leak of a gate from 10 kΩ on is none)."""
    grid = sorted(
        GRIDS[part, mode],
        key=lambda size: abs(math.log(size)) if mode in ("high", "low", "shorted turns") else size,
    )
    assert list(GRIDS[part, mode]) == grid
    steps = [max(b / a, a / b) for a, b in pairwise(grid)]
    assert all(1.08 <= step <= 4.01 or (mode, step) == ("leaky gate", 10.0) for step in steps)
    if mode in ("leaky", "high resistance", "leaky gate"):
        assert all(2.99 <= step for step in steps)
    else:
        assert all(b >= 0.8 * a for a, b in pairwise(steps))


def test_where_the_grids_end() -> None:
    """A resistor 200 times its value is open to a meter's eye, one at a fiftieth shorted; a contact has 0.3 Ω to 100 kΩ, a leak
    10 Ω to 1 MΩ; a sound electrolytic has its capacitance within 25 %, a dried one less than a hundredth."""
    ends = {mode: (min(grid), max(grid)) for mode, grid in SIZES.items()}
    assert ends["high"] == (1.3, 200) and ends["low"] == (0.02, 0.75)
    assert (
        ends["high resistance"] == (0.3, 1e5)
        and ends["leaky"] == (10, 1e6)
        and ends["leaky gate"] == (100, 1e5)
    )
    assert min(sizes_of("electrolytic", "low")) < 0.01 and max(sizes_of("electrolytic", "low")) == 0.75  # type: ignore[type-var]
    assert ends["short"] == (0.03, 5) and ends["bridge"] == (0.1, 1e5)
    # a reference counts as failed before a resistor network does; a few percent are a failure of a 1 % resistor
    assert sizes_of("source", "low")[0] == pytest.approx(1 - 0.15) and sizes_of("source", "high")[
        0
    ] == pytest.approx(1 + 0.15)
    # a zener that was overheated conducts earlier; none was ever seen at one and a half times its volts (common practice, no source)
    assert min(sizes_of("zener", "low")) < 0.5 and max(sizes_of("zener", "high")) < 1.5  # type: ignore[type-var]
    assert sizes_of("resistor", "low")[0] == pytest.approx(1 - 0.12) and sizes_of("resistor", "high")[
        0
    ] == pytest.approx(1 + 0.12)
    assert sizes_of("transistor", "high")[0] == 2 and sizes_of("transistor", "low")[0] == 0.5
    assert sizes_of("cell", "high resistance")[0] == 0.3 and sizes_of("controller", "short") == (
        0.1,
        1,
        5,
        30,
    )
    assert sizes_of("resistor", "open") == (None,)


def test_the_steps_of_a_grid_share_the_weight_of_the_failure() -> None:
    """All sizes of a failure together are as likely as the failure; of shorts the lower ohms more, by the root."""
    for part, mode in (("resistor", "high"), ("diode", "leaky"), ("mosfet", "short"), ("transistor", "open")):
        found = changes_of(part, [mode], block="b", key="k", called="R1")
        assert sum(change.weight for change in found) == pytest.approx(WEIGHTS[part][mode])
        assert {(change.part_class, change.called, change.block, change.key) for change in found} == {
            (part, "R1", "b", "k")
        }
        assert len({change.group for change in found}) == 1 == len(by_failure(found))
    shorts = changes_of("mosfet", ["short"], block="b", key="k", called="Q1")
    assert [change.size for change in shorts] == [0.03, 0.5, 5.0]
    assert shorts[1].weight / shorts[2].weight == pytest.approx(math.sqrt(10))
    assert shorts[0].weight / shorts[1].weight == pytest.approx(math.sqrt(5))  # 0.1 Ω and less are alike
    legs = changes_of("transistor", ["open"], block="b", key="k", called="Q1")
    assert [change.leg for change in legs] == ["", "collector"] and legs[1].weight > legs[0].weight
    # of 100 Ω no more than 2 Ω are a short; of 1 Ω the least that is tried
    for ohms, sizes in ((100.0, [0.03, 0.5]), (1.0, [0.03]), (1e5, [0.03, 0.5, 5.0])):
        of = changes_of("resistor", ["short"], block="b", key="k", called="R1", ohms=ohms)
        assert [change.size for change in of] == sizes
    assert changes_of("resistor", ["stalled"], block="b", key="k", called="R1") == []
    assert (
        changes_of("what nobody knows", ["open"], block="b", key="k", called="X1")[0].weight
        == WEIGHTS["any"]["open"]
    )


def test_between_two_sizes_it_is_looked_at_more_closely() -> None:
    """A grid of tens: the stretch of 10 is √10 to √1000, cut into equal ratios, a size in the middle of each (by hand)."""
    assert between(10.0, (1.0, 10.0, 100.0), 2) == pytest.approx([10**0.75, 10**1.25])
    assert between(1.0, (1.0, 10.0, 100.0), 2) == pytest.approx([10**-0.25, 10**0.25])
    assert between(100.0, (1.0, 10.0, 100.0), 1) == pytest.approx([100.0])
    assert between(7.0, (7.0,), 3) == pytest.approx([7.0] * 3)


def test_what_makes_two_changes_one() -> None:
    one, other = changes_of("resistor", ["high"], block="b", key="k", called="R1")[:2]
    assert (
        not one.sound
        and hypotheses.HEALTH.sound
        and hypotheses.HEALTH.weight > max(map(max, (w.values() for w in WEIGHTS.values())))
    )
    assert (
        one.group == other.group == ("b", "k", "high")
        and one.identity != other.identity
        and one.alone != other.alone
    )


def test_what_lies_in_the_line_is_a_capacitor_of_the_mains() -> None:
    """The dropper of a capacitive dropper, and none that smooths behind it or holds a pin still."""
    text = """---
title: Night light is dim
date: 2026-03-14
device: {kind: night light, category: Lamp}
symptoms: [dim]
outcome: repairable
blocks:
  supply: {kind: capacitive-dropper, dropper: C1 330n X2 275V, series: R1 100 1W, discharge: R2 470k, output: 4.9 V,
           load: 7 mA, smoothing: C2 470u 16V, clamp: ZD1 5V6 1W}
readings: [{at: supply.plus, read: 4.7 V}]
---
Text.
"""
    _, judgement = judged_note(text)
    classes = {fit.change.called: fit.change.part_class for fit in judgement.fits}
    assert classes["C1"] == "mains capacitor" and classes["C2"] == "electrolytic"
