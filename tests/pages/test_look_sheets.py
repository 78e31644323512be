"""Sheets, tickets and slips as people see them: nothing broken in the middle of a word, nothing half empty, in any script."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from test_look import LONG_NOTE, NOTE, opened

from generator.circuit import catalogue
from generator.drawing.frame import TitleBlock, framed
from generator.language import value_name
from generator.notation.printed import format_value
from generator.pages import typography

NO_BREAK = "\u00a0"


@pytest.mark.parametrize(
    "text, expected",
    [
        ("rated 275 V, 5 %", f"rated 275{NO_BREAK}V, 5{NO_BREAK}%"),
        ("4.26 to 5.20 kΩ at 25 °C", f"4.26 to 5.20{NO_BREAK}kΩ at 25{NO_BREAK}°C"),
        ("3 Vs and 10 kg", f"3{NO_BREAK}Vs and 10{NO_BREAK}kg"),
        ("in 2 Wochen, 3 as before, 5 months", "in 2 Wochen, 3 as before, 5 months"),  # words are no units
        ("R1 C2", "R1 C2"),
    ],
)
def test_a_number_keeps_its_unit(text: str, expected: str) -> None:
    """SI Brochure 5.4.3: a space between number and unit; that it does not end a line is typographers' practice."""
    assert typography.unbroken(text) == expected


def test_what_is_copied_stays_as_it_is() -> None:
    markup = "<p>5 V</p><pre><code>supply: 5 V</code></pre><p><code>5 V</code> or 6 V</p>"
    assert (
        typography.unbroken_html(markup)
        == f"<p>5{NO_BREAK}V</p><pre><code>supply: 5 V</code></pre><p><code>5 V</code> or 6{NO_BREAK}V</p>"
    )


@pytest.mark.parametrize(
    "read, unit, expected",
    [
        ("552 ohm", "ohm", "552 Ω"), ("200 Mohm", "", "200 MΩ"), ("10.1k", "ohm", "10.1 kΩ"), ("4k7", "ohm", "4k7"), ("open", "ohm", "open"),
        ("10.1k", "V", "10.1k"), ("0.000 mA", "A", "0.000 mA"), ("ran 1 h, all three speeds", "", "ran 1 h, all three speeds"),
    ],
)  # fmt: skip
def test_a_reading_has_the_signs_of_the_figures_beside_it(read: str, unit: str, expected: str) -> None:
    assert typography.with_signs(read, unit) == expected


def test_a_formula_breaks_after_an_operator_and_stays_harmless() -> None:
    assert str(typography.breakable("load/(a·b) <b>")) == "load/<wbr>(<wbr>a·<wbr>b) &lt;b&gt;"


def test_names_of_values_say_at_what() -> None:
    assert value_name("discharge_time_34v") == "discharge time to 34 V"
    assert value_name("plug_voltage_1s") == "plug voltage after 1 s"
    assert value_name("output_25") == "output at 25 °C"
    assert value_name("no_load_peak") == "no load peak"


def test_tenths_of_a_picofarad_are_printed() -> None:
    """IEC 60062 gives p68 as an example of a marking: 0,68 pF (from memory)."""
    assert format_value(0.68e-12, "F") == "0.680 pF"


def test_a_small_drawing_fits_a_phone() -> None:
    """360 px is the width of a common phone; common practice, no source. What is narrower is not held from shrinking."""
    drawing = framed("", (0, 0, 200, 100), TitleBlock(title="rail watch"))
    assert drawing.width <= 360 and 'class="sheet fit-220"' in drawing.svg
    style = (Path(__file__).resolve().parents[2] / "themes/bench/static/drawing.css").read_text()
    assert ".fit-220" not in style and ".fit-640" in style


@pytest.mark.browser
def test_drawings_shrink_to_their_place(browser: Any, site: Path) -> None:
    """Only the largest is moved sideways, on a phone: the block diagram of sixteen blocks; and then the fault is in view."""
    moved = """[...document.querySelectorAll('.drawing')].filter(e => e.scrollWidth > e.clientWidth + 1).map(e => {
        const frame = e.getBoundingClientRect(), failed = e.querySelector('.failed')?.getBoundingClientRect();
        return [e.querySelector('svg').getAttribute('aria-label') ?? 'sheet', !failed || failed.left >= frame.left && failed.right <= frame.right] })"""
    # a kind's page is that of another with another middle, which is sooner there than a page of its own
    middle = """html => document.querySelector('main').replaceWith(
        document.adoptNode(new DOMParser().parseFromString(html, 'text/html').querySelector('main')))"""
    widths, found, kinds = [390, 1024], {}, {site / "blocks" / f"{name}.html" for name in catalogue.names()}
    with opened(browser, site, "blocks/divider.html") as tab:
        for page in [
            *sorted(kinds),
            *sorted({*site.glob("blocks/*.html"), *site.glob("notes/**/index.html")} - kinds),
        ]:
            if page in kinds:
                tab.evaluate(middle, page.read_text("utf-8"))
            else:
                tab.goto(page.as_uri())
            tab.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
            widths.reverse()  # the first is that of the page before: to lay a page out anew is what takes time
            for width in widths:
                tab.set_viewport_size({"width": width, "height": 900})
                if told := tab.evaluate(moved):
                    found[page.parent.name, width] = told
    assert found == {("egg-incubator-stays-cold", 390): [["Block diagram", True]]}


@pytest.mark.browser
@pytest.mark.parametrize("width", [1024, 1280, 1600])
def test_ratings_and_values_stand_clear_of_each_other(browser: Any, site: Path, width: int) -> None:
    """Whatever plan a sheet has: its three parts do not meet, and none is narrower than its words."""
    with opened(browser, site, LONG_NOTE, width=width) as tab:
        tab.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
        bad = tab.evaluate("""() => [...document.querySelectorAll('.sheet-body')].flatMap(body => {
            const parts = [...body.children].map(e => e.getBoundingClientRect()), found = [];
            parts.forEach((a, i) => parts.slice(0, i).forEach(b => {
                if (a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1) found.push([body.className, a.x, a.y]);
            }));
            for (const table of body.querySelectorAll('table')) if (table.scrollWidth > table.parentElement.clientWidth + 1) found.push(table.className);
            return found; })""")
        assert bad == []


@pytest.mark.browser
@pytest.mark.parametrize("page", [NOTE, "blocks/offline-start.html", "symptoms/dead.html"])
def test_no_table_is_wider_than_a_tablet(browser: Any, site: Path, page: str) -> None:
    with opened(browser, site, page) as tab:
        for width in (320, 600, 740, 900, 1024, 1040):
            tab.set_viewport_size({"width": width, "height": 800})
            assert tab.evaluate(
                "document.documentElement.scrollWidth <= document.documentElement.clientWidth"
            ), width
            assert tab.evaluate(
                "[...document.querySelectorAll('table')].every(t => t.closest('.scroll') || t.scrollWidth <= t.parentElement.clientWidth + 1)"
            ), width


@pytest.mark.browser
@pytest.mark.parametrize("page", ["blocks/marking.html", "blocks/heater.html", NOTE, LONG_NOTE])
@pytest.mark.parametrize("width", [360, 1280])
def test_no_short_word_is_broken_in_a_table(browser: Any, site: Path, page: str, width: int) -> None:
    """A word of up to 12 letters in a cell stands on one line."""
    with opened(browser, site, page, width=width) as tab:
        tab.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
        broken = tab.evaluate("""() => {
            const found = [], range = document.createRange();
            for (const cell of document.querySelectorAll('td, th')) {
                if (!cell.getClientRects().length || getComputedStyle(cell.closest('thead') ?? cell).clipPath !== 'none') continue; // for the eye only
                const walk = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
                for (let node; (node = walk.nextNode());) for (const word of node.textContent.matchAll(/[\\p{L}\\d.]{2,12}/gu)) {
                    if (/[\\p{L}\\d._]/u.test(node.textContent[word.index + word[0].length] ?? '')) continue;
                    range.setStart(node, word.index); range.setEnd(node, word.index + word[0].length);
                    if (new Set([...range.getClientRects()].filter(r => r.width > 1).map(r => Math.round(r.top))).size > 1) found.push(word[0]);
                }
            }
            return found; }""")
        assert broken == []


@pytest.mark.browser
def test_the_hidden_side_of_a_board_is_not_reached_by_tab(browser: Any, site: Path) -> None:
    with opened(browser, site, NOTE) as tab:
        hidden = "[...document.querySelectorAll('.board-bottom a, .board-bottom [tabindex=\"0\"]')].filter(e => e.checkVisibility({visibilityProperty: true})).length"
        assert tab.evaluate(hidden) == 0
        tab.locator(".board-slider input").first.fill("60")
        assert tab.evaluate(hidden) > 0


@pytest.mark.browser
def test_where_nothing_is_found_the_indexes_stay(browser: Any, site: Path) -> None:
    with opened(browser, site, "index.html?q=zzzzqqq") as tab:
        tab.wait_for_selector("form[data-find-state=done]")
        assert tab.locator(".home-lists").is_visible()
        tab.fill("[data-find-words]", "dead")
        tab.wait_for_selector(".find-results .note-card")
        assert not tab.locator(".home-lists").is_visible()
        assert (
            tab.locator(".note-card[data-outcome]").count() == tab.locator(".find-results .note-card").count()
        )


@pytest.mark.browser
def test_causes_that_are_level_are_not_called_the_most_frequent(browser: Any, site: Path) -> None:
    """Causes that one note has each: none of them is "most often"."""
    with opened(browser, site, "index.html?q=dead") as tab:
        tab.locator("[data-find-status]", has_text="notes").wait_for()
        causes = tab.locator(".find-causes .cause")
        texts = [text for text in causes.all_inner_texts() if "notes" in text]
        assert len(texts) > 2 and all(re.search(r"\b1 of \d+ notes", text) for text in texts), texts
        assert "Most often" not in tab.inner_text("[data-find-status]")


@pytest.mark.browser
def test_a_long_name_leaves_the_ways_whole(browser: Any, tmp_path: Path) -> None:
    """And a note from right to left runs so, its figures from left to right within it."""
    from generator.build.build import build_site

    content = tmp_path / "content"
    (content / "notes").mkdir(parents=True)
    (content / "library.yaml").write_text(
        "name: The very long named Repair Workshop of Little Hampton-under-the-Water\n", "utf-8"
    )
    (content / "notes" / "n.md").write_text(
        "---\ntitle: المصباح لا يعمل\ndate: 2026-01-03\ndevice: {kind: مصباح}\nsymptoms: [لا يعمل]\noutcome: unknown\n"
        "blocks: {d: {kind: divider, supply: 5 V, upper: R1 10k, lower: R2 10k}}\n---\nالجهد {d.output} متوقع.\n", "utf-8",
    )  # fmt: skip
    built = tmp_path / "site"
    build_site(content, built)
    with opened(browser, built, "notes/n/index.html", width=360) as tab:
        for way in tab.locator(".short-ways a").all():
            assert len(way.evaluate("e => [...e.getClientRects()]")) == 1
            assert way.bounding_box()["height"] < 50
        words, figure = tab.locator(".prose p").bounding_box(), tab.locator(".prose .computed").bounding_box()
        start = tab.evaluate("""() => { const r = document.createRange(), p = document.querySelector('.prose p').firstChild;
            r.setStart(p, 0); r.setEnd(p, 1); return r.getBoundingClientRect().right; }""")
        assert start == pytest.approx(words["x"] + words["width"], abs=2), (
            "the first letter stands at the right"
        )
        assert figure["x"] < start
        assert tab.evaluate("getComputedStyle(document.querySelector('.prose .computed')).direction") == "ltr"
