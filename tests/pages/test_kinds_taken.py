"""A kind's page says what a whole device's network takes for it that no note states. The figures are those of the table of spreads,
whose sources stand there: pins of controllers 15 to 120 ohm, contacts 0.01 to 0.2 ohm (data sheets, from memory)."""

from __future__ import annotations

import pytest

from generator.circuit import catalogue
from generator.pages.catalogue import kind_view


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("microcontroller", "output pin 15.0 to 120 Ω"), ("heater", "contact 0.0100 to 0.200 Ω"), ("dc-motor", "winding ±10 %"),
        ("comparator", "supply ±5 %"), ("series-pass", "saturation 0.0200 to 0.300 V"), ("audio-stage", "voice coil −25 to +0 %"),
    ],
)  # fmt: skip
def test_what_the_network_takes(kind: str, said: str) -> None:
    assert said in kind_view(catalogue.kind(kind))["beside"].replace("\u00a0", " ")


def test_what_the_sheet_says_is_not_said_twice() -> None:
    """A switch's hfe stands with its parameters already."""
    view = kind_view(catalogue.kind("transistor-switch"))
    assert "hfe" in view["spreads"] and "hfe" not in view["beside"]


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("audio-stage", "terminal out is the loudspeaker's side"),
        ("comparator", "a stated level is a typical one"),
        ("battery-pack", "while they are charged"),
        ("mains-inlet", "a fuse opens from four times its rating"),
    ],
)
def test_what_no_figure_says_stands_in_words(kind: str, said: str) -> None:
    assert said in kind_view(catalogue.kind(kind))["assumes"].replace("’", "'")
