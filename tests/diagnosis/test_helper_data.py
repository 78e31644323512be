"""The data that the reading helper of a page works on."""

from __future__ import annotations

import gzip
import json
import math
from typing import Any

import pytest

from generator.circuit import catalogue
from generator.circuit.circuit import Circuit, Mains, build
from generator.diagnosis.helper import helper_data

SUPPLY = {
    "kind": "transformer-supply",
    "secondary": "12 V",
    "smoothing": "C3 1000u 35V 20%",
    "bleeder": "R4 22k",
    "load": "120 mA",
}
RAIL = {"kind": "linear-regulator", "input": "supply.trough", "output": "5 V", "load": "100 mA"}


def data_of(**blocks: dict[str, Any]) -> dict[str, Any]:
    circuit = build(blocks, Mains())
    assert circuit.blocks.keys() == blocks.keys(), circuit.troubles
    return helper_data(circuit)


def spot(data: dict[str, Any], block: str, value: str) -> int:
    return next(n for n, s in enumerate(data["spots"]) if (s["block"], s["value"]) == (block, value))


def failure(data: dict[str, Any], part: str, failed: str) -> dict[str, Any]:
    return next(f for f in data["failures"] if (f["part"], f["failed"]) == (part, failed))


def test_each_failure_carries_what_it_changes() -> None:
    """A bridge with one diode open: ripple at 50 Hz where 100 Hz is sound (rectifier handbooks)."""
    data = data_of(supply=SUPPLY)
    at = spot(data, "supply", "ripple_frequency")
    assert data["spots"][at]["band"] == [100.0, 100.0]
    assert failure(data, "rectifier diode", "open")["bands"][str(at)] == [50.0, 50.0]
    assert str(at) not in failure(data, "R4", "open")["bands"]


def test_a_failure_upstream_moves_what_it_feeds() -> None:
    data = data_of(supply=SUPPLY, rail=RAIL)
    at = str(spot(data, "rail", "output_voltage"))
    assert failure(data, "transformer winding", "open")["bands"][at] == [0.0, 0.0]
    assert at not in failure(data, "R4", "open")["bands"]


def test_what_has_no_known_end_is_open_upwards() -> None:
    data = data_of(
        f={"kind": "feedback-divider", "reference": "2.5 V", "upper": "R14 18k 1%", "lower": "R15 4k7 1%"}
    )
    low, high = failure(data, "R14", "open")["bands"][str(spot(data, "f", "output"))]
    assert low == pytest.approx(2.5 * (1 + 18 / 4.7), rel=0.01) and high > 1e9


def test_bands_are_with_the_meter_s_load() -> None:
    """1 MΩ over 1 MΩ at 10 V under 10 MΩ: 4.76 V (Thévenin); with the lower one open 10·10/11 = 9.09 V."""
    data = data_of(d={"kind": "divider", "supply": "10 V", "upper": "R1 1M 0.1%", "lower": "R2 1M 0.1%"})
    at = spot(data, "d", "output")
    assert sum(data["spots"][at]["band"]) / 2 == pytest.approx(100 / 21, rel=1e-3)
    assert sum(failure(data, "R2", "open")["bands"][str(at)]) / 2 == pytest.approx(100 / 11, rel=1e-3)


def test_every_place_to_measure_says_where_and_how_dangerous() -> None:
    for name in catalogue.names():
        for entry in data_of(x={"kind": name, **catalogue.kind(name).example}).get("spots", []):
            assert entry["at"] and entry["unit"] is not None
    spots = data_of(h={"kind": "heater", "power": "95 W", "rated_voltage": "230 V"})["spots"]
    assert next(s for s in spots if s["value"] == "current")["hazard"] == "mains"
    assert next(s for s in spots if s["value"] == "resistance")["cold"] is True


def test_it_is_plain_data_without_nonsense() -> None:
    """JSON without NaN and Infinity, for every kind; bands in order; keys that exist."""
    for name in catalogue.names():
        data = data_of(x={"kind": name, **catalogue.kind(name).example})
        text = json.dumps(data, allow_nan=False)
        assert json.loads(text) == data
        for entry in data.get("failures", []):
            for key, band in entry["bands"].items():
                assert 0 <= int(key) < len(data["spots"])
                assert band is None or band == "open" or band[0] <= band[1] and math.isfinite(band[1])


def test_nothing_to_measure_gives_nothing() -> None:
    assert helper_data(Circuit()) == {}


def test_nine_blocks_stay_small() -> None:
    """A page of nine blocks carries less than 15 kB of it, compressed."""
    names = [n for n in catalogue.names() if catalogue.kind(n).values][:9]
    data = data_of(
        **{f"b{n}": {"kind": name, **catalogue.kind(name).example} for n, name in enumerate(names)}
    )
    assert len(gzip.compress(json.dumps(data, separators=(",", ":")).encode())) < 15_000
