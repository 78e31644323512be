"""Which reading comes next: what a meter can tell apart, and the safe place before the dangerous one."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from generator.circuit.block import Value
from generator.diagnosis.fit import Fit
from generator.diagnosis.model import Hypothesis, Prediction, Spot
from generator.diagnosis.next_reading import best_next, separated

OPEN = (math.inf, math.inf)


@pytest.mark.parametrize(
    "one, other, apart",
    [
        ((1.0, 2.0), (1.9, 3.0), False), ((1.0, 2.0), (2.01, 3.0), False), ((1.0, 2.0), (2.1, 3.0), True),
        (None, (0.0, 1.0), True), (None, None, False),
        (OPEN, (30e6, 40e6), False), (OPEN, (9e3, 11e3), True), (OPEN, OPEN, False),
    ],
)  # fmt: skip
def test_what_a_meter_can_tell_apart(one: Any, other: Any, apart: bool) -> None:
    """Bands with a gap beyond the meter's 2 % or so; beyond the top range of 20 Mohm all shows as open (from memory)."""
    assert separated(one, other) is separated(other, one) is apart


def told_apart(*definitions: Value, read: dict[str, tuple[float, float]]) -> str:
    """The value that best tells two failures apart; read: what each value reads with the one and with the other."""
    failures = [Hypothesis("b", part, part, "open", mode="open") for part in ("R1", "R2")]

    def predict(hypothesis: Hypothesis, spots: list[Spot]) -> Prediction:
        which = 0 if hypothesis.key in ("", "R1") else 1
        return Prediction({spot: read[spot.value][which] for spot in spots}, {spot: {} for spot in spots})

    model: Any = SimpleNamespace(
        relevant=lambda: ["b"],
        predict=predict,
        circuit=SimpleNamespace(blocks={"b": SimpleNamespace(definitions=definitions)}),
    )
    found = best_next(model, [Fit(h, 0.5, 0.0, (), (), {}) for h in failures], [])
    return found.spot.value if found else ""


def volts(name: str, at: str = "across it", **more: Any) -> Value:
    return Value(name, "V", name, "", at=at, **more)


def test_a_safe_place_comes_first() -> None:
    """Where two readings tell the same, the one that is not at mains potential, or not at a charged part, is asked for."""
    both = {"live": (1.0, 2.0), "safe": (1.0, 2.0)}
    for hazard in ("mains", "charged"):
        assert told_apart(volts("live", hazard=hazard), volts("safe"), read=both) == "safe"
        assert told_apart(volts("safe"), volts("live", hazard=hazard), read=both) == "safe"
    assert told_apart(volts("live", hazard="mains"), volts("safe", hazard="charged"), read=both) == "safe"


def test_cold_before_live_and_two_probes_before_a_cut() -> None:
    """A reading with the plug out before one at work, and one that cuts nothing open before one in series."""
    both = {"one": (1.0, 2.0), "other": (1.0, 2.0)}
    assert told_apart(volts("one"), volts("other", cold=True), read=both) == "other"
    assert told_apart(volts("one", at="in series with the load"), volts("other"), read=both) == "other"


def test_a_dangerous_place_is_asked_for_where_no_other_tells() -> None:
    """A reading that tells nothing apart is never asked for, however safe."""
    assert (
        told_apart(
            volts("live", hazard="mains"), volts("safe"), read={"live": (1.0, 2.0), "safe": (1.0, 1.0)}
        )
        == "live"
    )
    assert told_apart(volts("safe"), read={"safe": (1.0, 1.0)}) == ""


def test_millivolts_are_not_asked_for_on_a_live_board() -> None:
    """A drop of 7 mV in the place of 0 V is twice what it should be, and yet no probe held by hand shows it for sure."""
    drop, rail = volts("drop"), volts("rail")
    assert told_apart(drop, rail, read={"drop": (0.0, 0.007), "rail": (11.0, 11.0)}) == ""
    assert told_apart(drop, rail, read={"drop": (0.0, 0.007), "rail": (11.0, 9.0)}) == "rail"
    assert told_apart(drop, read={"drop": (0.0, 0.05)}) == "drop"
