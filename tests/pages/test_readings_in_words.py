"""A reading at a place that is no value of a block: said in words, first on the ticket, and flagged nowhere else."""

from __future__ import annotations

import re

import pytest
from few_notes import site_of

NOTE = """---
title: Alarm eats its cells
date: 2026-02-03
device: {kind: alarm}
symptoms: [flat after two weeks]
outcome: fixed
blocks:
  cells: {kind: battery-pack, cells: 4, chemistry: alkaline, capacity: 2 Ah, load: 10 mA}
  gauge: {kind: divider, supply: cells, upper: R1 1M 1%, lower: R2 1M 1%}
test_points: {TP1: gauge.tap}
readings:
  - {at: TP1, read: 3.0 V}
  - {ohms: [cells.plus, cells.common], read: 950}
faults: [{part: R1, failed: leaky}]
---
It was flat.
"""


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> str:
    site = site_of(tmp_path_factory.mktemp("words"), alarm=NOTE)
    return (site / "notes" / "alarm" / "index.html").read_text().replace("\u00a0", " ")


def test_the_place_is_said_in_words_and_bare_figures_get_their_unit(page: str) -> None:
    assert "cells.plus " not in page[: page.index("data-helper-data")]
    row = page[page.index("ohms, plus of cells") :]
    assert re.match(r"ohms, plus of cells \([^)]*R1[^)]*\) to 0 V", row)
    assert "950 Ω" in row[:900]


def test_the_ticket_names_the_place_to_measure_first(page: str) -> None:
    cell = page[page.index('class="cell first"') :]
    cell = cell[: cell.index("</section>")]
    assert "ohms, plus of cells" in cell and "950 Ω" in cell


def test_the_flag_of_such_a_reading_stands_at_no_label_of_a_drawing(page: str) -> None:
    drawn = re.findall(r"<svg[^>]*class=\"sheet.*?</svg>", page, re.DOTALL)
    assert len(drawn) == 2 and not any(flag in svg for svg in drawn for flag in "①②")


def test_a_reading_that_nothing_can_be_held_against_is_shown_unjudged(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """AC volts at a cell's own divider: nothing here says what that should be. What somebody wrote down is shown with
    the reason, neither good nor bad, and the other reading is judged as ever."""
    text = NOTE.replace("{ohms: [cells.plus, cells.common], read: 950}", "{at: gauge.tap, read: 0.3 V AC}")
    site = site_of(tmp_path_factory.mktemp("unjudged"), alarm=text)
    page = (site / "notes" / "alarm" / "index.html").read_text().replace("\u00a0", " ")
    (row,) = re.findall(r'<tr role="row" class="unjudged">.*?</tr>', page, re.DOTALL)
    assert "②" in row and "0.3 V AC" in row and "not judged" in row and "not worked out" in row
    assert page.count('class="within"><th role="rowheader"><span class="flag">①') == 1
