"""Key ladder, held against nodal analysis and hand calculation."""

from __future__ import annotations

import math
from typing import Any

import pytest
from bench import after, made, said, told, value
from nodal import Network

from generator.circuit.kinds.key_ladder import level

SERIES = {
    "supply": "5 V",
    "pull_up": "R1 2k2 1%",
    "keys": {"menu": "0", "up": "R2 470 1%", "down": "R3 820 1%", "ok": "R4 1k8 1%"},
}
SEPARATE = {
    "supply": "5 V",
    "pull_up": "R1 2k2 1%",
    "keys": {"a": "R2 1k 1%", "b": "R3 3k3 1%", "c": "R4 10k 1%"},
    "ladder": "separate",
}


def pin(given: dict[str, Any], pressed: set[str], upper: bool = False, contact: float = 0.0) -> float:
    """Volts at the pin with some keys pressed. Source: modified nodal analysis."""
    ohms = {"menu": 0.0, "up": 470.0, "down": 820.0, "ok": 1800.0, "a": 1000.0, "b": 3300.0, "c": 10000.0}
    near, far = ("0", "supply") if upper else ("supply", "0")
    net = Network().voltage("supply", "supply", "0", 5.0).resistor(near, "pin", 2200.0)
    last = "pin"
    for name in given["keys"]:
        node = f"n_{name}"
        net.resistor(last if given.get("ladder") != "separate" else "pin", node, ohms[name] or 1e-6)
        net.resistor(node, far, max(contact, 1e-6) if name in pressed else math.inf)
        last = node
    return net.solve()[0]["pin"]


@pytest.mark.parametrize("given", [SERIES, SEPARATE])
@pytest.mark.parametrize("side", ["lower", "upper"])
def test_levels_against_nodal_analysis(given: dict[str, Any], side: str) -> None:
    block = made("key-ladder", **given, keys_side=side)
    for name in given["keys"]:
        expected = pin(given, {name}, side == "upper")
        assert value(block, f"{name}.output") == pytest.approx(expected, abs=1e-4)
        assert value(block, f"{name}.code") == pytest.approx(min(expected / 5 * 1024, 1023), abs=1.01)
    assert value(block, "idle_output") == pytest.approx(pin(given, set(), side == "upper"), abs=1e-3)


@pytest.mark.parametrize("given", [SERIES, SEPARATE])
@pytest.mark.parametrize("side", ["lower", "upper"])
def test_dirty_contact_against_nodal_analysis(given: dict[str, Any], side: str) -> None:
    """With contact_limit in its contact, a key's level lies half-way to the next towards rest."""
    block = made("key-ladder", **given, keys_side=side)
    levels = sorted(
        [pin(given, set(), side == "upper"), *(pin(given, {name}, side == "upper") for name in given["keys"])]
    )
    for name in given["keys"]:
        own = pin(given, {name}, side == "upper")
        towards = (
            min(v for v in levels if v > own + 1e-6)
            if side == "lower"
            else max(v for v in levels if v < own - 1e-6)
        )
        dirty = pin(given, {name}, side == "upper", contact=value(block, f"{name}.contact_limit"))
        assert dirty == pytest.approx((own + towards) / 2, rel=1e-4)


def test_by_hand() -> None:
    """down: 470 + 820 = 1290 Ω, 5·1290/3490 = 1.848 V, code 378; the closest two are menu and up, 0.880 V apart; idle 1023."""
    block = made("key-ladder", **SERIES)
    assert value(block, "down.resistance") == 1290 and value(block, "down.output") == pytest.approx(
        1.8481, abs=1e-4
    )
    assert value(block, "down.code") == 378 and value(block, "idle_code") == 1023
    assert value(block, "least_gap") == pytest.approx(5 * 470 / 2670)


def test_codes_that_meet() -> None:
    """10k and 10.5k of 20 % overlap; all of the example's stay apart."""
    assert not said(made("key-ladder", **SERIES), False)
    close = {**SEPARATE, "keys": {"a": "R2 10k 20%", "b": "R3 11k 20%"}}
    assert "mistaken" in said(made("key-ladder", **close), False)


def test_failures_against_nodal_analysis() -> None:
    """A resistor open in series kills its key and those beyond; a key stuck reads as itself at rest, and those beyond as it."""
    block = made("key-ladder", **SERIES)
    cut = after(block, "R3", "open")
    assert cut["up.output"] == value(block, "up.output") and cut["down.output"] == cut["ok.output"] == 5.0
    stuck = after(block, "key up", "short")
    assert stuck["idle_output"] == pytest.approx(pin(SERIES, {"up"}), abs=1e-4)
    for name in SERIES["keys"]:  # type: ignore[attr-defined]
        assert stuck[f"{name}.output"] == pytest.approx(pin(SERIES, {"up", name}), abs=1e-4)
    apart = after(made("key-ladder", **SEPARATE), "key b", "short")
    for name in SEPARATE["keys"]:  # type: ignore[attr-defined]
        assert apart[f"{name}.output"] == pytest.approx(pin(SEPARATE, {"b", name}), abs=1e-4)
    alone = after(made("key-ladder", **SEPARATE), "R3", "open")
    assert alone["b.output"] == 5.0 and alone["c.output"] == pytest.approx(pin(SEPARATE, {"c"}), abs=1e-4)


def test_bad_keys_are_told() -> None:
    assert "names" in told("key-ladder", supply="5 V", pull_up="R1 2k2", keys="R2 1k")
    assert "keys" in told("key-ladder", supply="5 V", pull_up="R1 2k2", keys={"a": "12 V"})


@pytest.mark.parametrize(
    ("side", "pull_up", "resistance", "volts"),
    [
        ("lower", 1e3, math.inf, 5.0), ("upper", 1e3, math.inf, 0.0), ("lower", math.inf, 1e3, 0.0), ("upper", math.inf, 1e3, 5.0),
        ("lower", math.inf, math.inf, 0.0), ("upper", math.inf, math.inf, 0.0), ("lower", 1e3, 4e3, 4.0), ("upper", 1e3, 4e3, 1.0),
    ],
)  # fmt: skip
def test_the_level_with_a_key_or_the_resistor_missing(
    side: str, pull_up: float, resistance: float, volts: float
) -> None:
    """By the voltage divider; a pin on which nothing holds hangs and is called 0 V."""
    assert level(supply=5.0, pull_up=pull_up, resistance=resistance, side=side) == pytest.approx(volts)
