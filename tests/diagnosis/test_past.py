"""What failed in a library before, apart from what readings say."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from generator.build.build import build_site
from generator.circuit.device import work_out
from generator.circuit.point import Mains
from generator.diagnosis.past import Rates, Shared, past_of, sharpened
from generator.notes.record import Fault
from generator.pages.pastview import moved


def test_rates_are_the_posterior_of_a_poisson_rate() -> None:
    """Gamma(5, 5) beforehand, 19 contacts failed where 7 were to be expected: (5 + 19)/(5 + 7) = 2; resistors 1 for 7:
    6/12 = 1/2; a class as usual says nothing (conjugate prior of the Poisson model, Gelman et al., 2013, section 2.6)."""
    notes = [{"contact": (1, 7 / 19), "resistor": (0, 7 / 19), "led": (0, 0.01)} for _ in range(18)]
    found = Rates.of([*notes, {"contact": (1, 7 / 19), "resistor": (1, 7 / 19), "led": (0, 0.01)}])
    assert found.rates == {"contact": 2.0, "resistor": 0.5} and found.faults == 20


def test_shares_follow_the_past_and_what_is_not_listed_keeps_its_own() -> None:
    """Bayes: shares times rates, over their sum: 0.4·2, 0.4·0.5, 0.1 and a rest of 0.1 add up to 1.2."""
    fits = [
        Shared("RL1 open", ("contact",), 0.4),
        Shared("R3 open", ("resistor",), 0.4),
        Shared("none", (), 0.1),
    ]
    assert sharpened(fits, {"contact": 2.0, "resistor": 0.5}) == pytest.approx(
        [0.8 / 1.2, 0.2 / 1.2, 0.1 / 1.2]
    )
    told = [(own.name, own.alone, own.both) for own in moved(fits, {"contact": 2.0, "resistor": 0.5})]
    assert told == [("RL1 open", 40, 67), ("R3 open", 40, 17)]
    assert moved(fits, {}) == []


def test_a_note_tells_which_class_failed_and_what_was_to_be_expected() -> None:
    """One fault in all, so that what was to be expected of all classes adds up to one."""
    device = work_out(
        {"key": {"kind": "button-input", "button": "S1", "supply": "5 V", "pull_up": "R3 10k"}}, Mains()
    )
    past = past_of(device, [Fault("S1", "open"), Fault("the lid", "cracked")])
    assert {name: failed for name, (failed, _usual) in past.items() if failed} == {"contact": 1}
    assert sum(usual for _failed, usual in past.values()) == pytest.approx(1.0)


NOTE = """---
title: Room thermostat {n}
date: 2026-03-{n:02}
symptoms: [stays cold]
outcome: unknown
device: {{kind: thermostat}}
blocks:
  air: {{kind: thermistor-divider, supply: 5 V, fixed: R9 10k 1%, thermistor: TH1 10k B3950 1%}}
{more}---
"""


def test_pages_say_by_how_much_the_past_of_a_library_moves_a_share(tmp_path: Path) -> None:
    """0 V on a tap leaves R9 open or TH1 short; in the eight other notes it was R9, so that it is likelier here."""
    notes = tmp_path / "content" / "notes"
    notes.mkdir(parents=True)
    (tmp_path / "content" / "library.yaml").write_text("name: Past\nlanguage: en\n", "utf-8")
    for n in range(1, 10):
        found = (
            "faults:\n  - {part: R9, failed: open}\n"
            if n < 9
            else "readings:\n  - {at: air.tap, read: 0 V}\n"
        )
        (notes / f"thermostat-{n}.md").write_text(NOTE.format(n=n, more=found), "utf-8")
    assert build_site(tmp_path / "content", tmp_path / "site").written
    page = (tmp_path / "site" / "notes" / "thermostat-9" / "index.html").read_text("utf-8")
    told = re.search(
        r'class="past">By what failed in this library before as well \(8 faults\): R9 open (\d+) % in place of (\d+) %',
        page,
    )
    assert told and int(told[1]) > int(told[2])
    assert 'class="past"' not in (tmp_path / "site" / "notes" / "thermostat-1" / "index.html").read_text(
        "utf-8"
    )
