"""Every rating that a note states for a resistor is held against what the resistor gets: by Ohm's and Joule's laws, by hand."""

from __future__ import annotations

import pytest
from bench import PLAIN, made

CASES = [
    # kind, its parameters, the part, what it is rated for, and what it gets
    ("linear-regulator", {"input": "10 V", "output": "5 V 0%", "load": "R7 50 0%"}, "load", "1W", 5 * 5 / 50),
    ("linear-regulator", {"input": "10 V", "output": "5 V 0%", "load": "R7 50 0%"}, "load", "10V", 5.0),
    ("linear-regulator", {"input": "10 V", "output": "5 V 0%", "quiescent": "5 mA 0%", "load": "95 mA 0%", "series": "R2 20 0%"}, "series", "5V", 2.0),
    ("zener-regulator", {"supply": "12 V", "series": "R2 100", "zener": "ZD1 5V 0%", "load": "R7 100 0%"}, "load", "1W", 0.25),
    ("zener-regulator", {"supply": "12 V", "series": "R2 100", "zener": "ZD1 5V 0%"}, "series", "10V", 7.0),
    ("divider", {"supply": "12 V", "upper": "R1 100 0%", "lower": "R2 200 0%", "load": "R7 200 0%"}, "load", "1W", 6 * 6 / 200),
    ("capacitive-dropper", {"dropper": "C1 330n X2", "series": "R1 100", "output": "5 V 0%", "load": "R7 1k 0%"}, "load", "1W", 0.025),
    ("feedback-divider", {"reference": "2.5 V 0%", "upper": "R1 3k 0%", "lower": "R2 1k 0%"}, "upper", "10V", 7.5),
    ("feedback-divider", {"reference": "2.5 V 0%", "upper": "R1 3k 0%", "lower": "R2 1k 0%"}, "lower", "10V", 2.5),
    ("feedback-divider", {"reference": "1.25 V 0%", "upper": "R1 1k 0%", "lower": "R2 3k 0%", "reference_across": "upper"}, "lower",
     "10V", 3.75),
    ("charge-resistor", {"supply": "6 V", "battery": "2.8 V", "resistor": "R1 22"}, "resistor", "10V", 3.2),
    ("thermistor-divider", {"supply": "5 V", "fixed": "R9 10k", "thermistor": "TH1 10k B3950"}, "thermistor", "10V", 5.0),
    ("thermistor-divider", {"supply": "5 V", "fixed": "R9 10k", "thermistor": "TH1 10k B3950"}, "fixed", "10V", 5.0),
    ("light-divider", {"supply": "6 V", "fixed": "R1 33k", "sensor": "LDR1 10k gamma0.7"}, "fixed", "10V", 6.0),
]  # fmt: skip


@pytest.mark.parametrize("kind, given, name, rated, gets", CASES)
def test_a_stated_rating_is_checked(
    kind: str, given: dict[str, str], name: str, rated: str, gets: float
) -> None:
    """The margin is the share of the rating left over; a rating that is stated is checked once."""
    block = made(kind, PLAIN, **{**given, name: f"{given[name]} {rated}"})
    part = given[name].split()[0]
    margins = [
        check.margin
        for check in block.checks
        if check.part == part and f"rated {rated[:-1]} {rated[-1]}" in check.what
    ]
    assert margins == [pytest.approx(1 - gets / float(rated[:-1]), abs=1e-9)]
