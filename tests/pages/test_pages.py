"""What stands on which page."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from generator.finding.entry import entry_of, symptom_key
from generator.finding.record import Cause, Record
from generator.finding.thesaurus import default
from generator.pages.groups import group_notes
from generator.pages.site_pages import number_bands, number_digits


def record(slug: str, *symptoms: str, part: str = "fuse") -> Record:
    return Record(
        slug,
        slug,
        date="2026-01-10",
        device_kind="lamp",
        symptoms=symptoms,
        outcome="fixed",
        causes=(Cause(part, "open"),),
    )


def test_numbers_as_iec_60062_has_them() -> None:
    # IEC 60062: 0 black, 1 brown, 2 red, 3 orange, 4 yellow, 5 green, 6 blue, 7 violet, 8 grey, 9 white
    assert number_digits(7) == "007" and number_bands(7) == ["black", "black", "violet"]
    assert number_bands(1234567890)[:9] == [
        "brown",
        "red",
        "orange",
        "yellow",
        "green",
        "blue",
        "violet",
        "grey",
        "white",
    ]


@pytest.mark.parametrize(
    "said, name",
    # which symptom a person means: the most specific thing said
    [
        ("stuck on full", "~stuck-on"),
        ("won't turn on", "~dead"),
        ("lamp blinks twice", "~blinks"),
        ("won't close at night", "~not-closing"),
    ],
)
def test_a_sentence_says_one_thing(said: str, name: str) -> None:
    assert symptom_key(said, default()) == name


def test_an_index_never_shows_a_wording_twice() -> None:
    said = [
        "stuck on full",
        "lamp blinks twice",
        "stuck",
        "jammed",
        "blinks",
        "flickers and hums",
        "dead",
        "dead and hums",
        "hums",
    ]
    groups = group_notes([entry_of(record(f"note-{n}", text)) for n, text in enumerate(said)]).symptoms
    titles = [group.title for group in groups]
    assert len(set(titles)) == len(titles)
    assert sum(len(group.entries) for group in groups) == len(said)


def test_the_indexes_of_the_library(site: Path) -> None:
    for index in ("symptoms", "devices", "parts"):
        page = (site / index / "index.html").read_text()
        listed = page[page.index('<ul class="index">') :]
        titles = re.findall(r'<li><a href="[^"]+">([^<]+)</a>', listed[: listed.index("</ul>")])
        assert titles and len(set(titles)) == len(titles), index


def test_scripts_only_where_they_do_something(site: Path) -> None:
    for page in ("about.html", "safety.html", "blocks/divider.html", "symptoms/index.html"):
        assert "<script" not in (site / page).read_text(), page


def test_numbers_of_a_plot_stand_in_the_table_beside_it(site: Path) -> None:
    page = (site / "notes" / "egg-incubator-stays-cold" / "index.html").read_text()
    sheet = page[page.index('id="block-supply"') : page.index("</section>", page.index('id="block-supply"'))]
    plot = sheet[
        sheet.index('<svg xmlns="http://www.w3.org/2000/svg" class="plot"') : sheet.index("</figure>")
    ]
    table = sheet[sheet.index('<table class="values"') :]
    for name in ("mean", "trough"):
        shown = re.search(rf"<text[^>]*>{name} ([^<]+)</text>", plot)
        assert shown and f">{shown[1]}</td>" in table


def words_of(page: str, pattern: str) -> str:
    """The text of the first part of a page that a pattern finds, without its markup."""
    found = re.search(pattern, page, re.DOTALL)
    assert found is not None
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", found[0])).split())


def test_the_chart_has_what_was_read_at_any_place_in_any_state(site: Path) -> None:
    """Readings at test points, at a bare terminal and in another state stand beside what should be there, each with its
    number: as the note's front matter lists them."""
    page = (site / "notes/desk-fan-will-not-stop/index.html").read_text("utf-8")
    chart = words_of(page, r"<table[^>]*chart.*")  # and what is closed under it
    for row in ("TP1 .{5,40} 11\\.4 V ⑤", "TP2 .{5,40} 11\\.4 V ⑥", "gate base .{5,40} 0 V ④"):
        assert re.search(row, chart), (row, chart)


def test_the_first_measurement_keeps_its_own_figures(site: Path) -> None:
    """Two readings without a named value in one block: the ticket has the ohms' own reading beside the ohms' own band."""
    page = (site / "notes/desk-fan-will-not-stop/index.html").read_text("utf-8")
    first = words_of(page, r"Measure first.*?Device")
    assert "ohms of Q2" in first and "0.2" in first and "11.4" not in first


def test_a_kind_at_mains_potential_says_so_on_its_page(site: Path) -> None:
    """Stored charge and mains on the page of a rectifier, lithium on that of a charger, nothing on that of a divider."""
    pages = {
        name: (site / f"blocks/{name}.html").read_text("utf-8")
        for name in ("mains-rectifier", "lithium-charger", "divider")
    }
    assert "caution-mains" in pages["mains-rectifier"] and "caution-charge" in pages["mains-rectifier"]
    assert "caution-lithium" in pages["lithium-charger"] and "caution-" not in pages["divider"]
