"""The page answers first, at every width and on paper. (What holds of every page: test_every_page.py.)

One page is loaded once for many widths, for loading is what takes time.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from few_notes import site_of

pytestmark = pytest.mark.browser

SIXTEEN = "notes/egg-incubator-stays-cold/index.html"  # sixteen blocks, eight readings, a board, two faults
WIDTHS = ((1440, 900), (1024, 768), (820, 1180), (390, 844), (320, 640))
DOUBLED = (720, 450)  # 1440 by 900 at 200 %
BAR = 48  # px; the bar at the foot of a small screen

# What stands over what: lines of text of different elements whose boxes meet, figures over pictures left out.
OVER = """() => {
  const lines = [], range = document.createRange(), out = [];
  const walk = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT);
  for (let node; (node = walk.nextNode());) {
    const holder = node.parentElement;
    if (!node.textContent.trim() || holder.closest('svg, script, .unseen, .bar, option, template')) continue;
    if (!holder.checkVisibility({ visibilityProperty: true, opacityProperty: true }) || getComputedStyle(holder.closest('thead') ?? holder).clipPath !== 'none') continue;
    range.selectNodeContents(node);
    for (const r of range.getClientRects()) if (r.width > 2) lines.push([r.left, r.top + 3, r.right, r.bottom - 3, node.textContent.trim().slice(0, 30)]);
  }
  lines.sort((a, b) => a[1] - b[1]);
  lines.forEach((a, i) => {
    for (let j = i + 1; j < lines.length && lines[j][1] < a[3]; j += 1) {
      const b = lines[j];
      if (a[0] < b[2] - 1 && b[0] < a[2] - 1 && a[1] < b[3] && b[1] < a[3]) out.push(`${a[4]} | ${b[4]}`);
    }
  });
  return out.slice(0, 5);
}"""

# Drawings that are cut (wider than a place that does not move), or shrunk below what can be read (px of a letter).
CUT = """() => [...document.querySelectorAll('svg.sheet, svg.blocks')].filter(s => s.checkVisibility()).flatMap(s => {
  const place = s.closest('.drawing'), box = s.getBoundingClientRect(), scale = box.width / s.viewBox.baseVal.width;
  const cut = box.width > place.clientWidth + 1 && getComputedStyle(place).overflowX !== 'auto';
  return [...(cut ? [`cut: ${s.textContent.slice(0, 20)}`] : []), ...(scale * 13.5 < 7.9 ? [`${(scale * 13.5).toFixed(1)} px: ${s.querySelector('title')?.textContent}`] : [])];
})"""


@pytest.fixture(scope="module")
def tab(browser: Any, site: Path) -> Iterator[Any]:
    opened = browser.new_page()
    opened.goto(f"{site.as_uri()}/{SIXTEEN}")
    yield opened
    opened.close()


def at(tab: Any, size: tuple[int, int]) -> None:
    tab.set_viewport_size({"width": size[0], "height": size[1]})
    tab.emulate_media(media="screen")
    tab.evaluate("window.scrollTo(0, 0)")


@pytest.mark.parametrize("size", [(1440, 900), (1024, 768), (390, 844)], ids=lambda size: str(size[0]))
def test_the_three_cells_stand_in_the_first_screen(tab: Any, size: tuple[int, int]) -> None:
    at(tab, size)
    free = size[1] - (BAR if size[0] < 1024 else 0)
    boxes = [tab.locator(cell).bounding_box() for cell in (".cell.does", ".cell.was", ".cell.first")]
    assert all(box["y"] + box["height"] <= free for box in boxes)
    assert "This one read" in tab.locator(".cell.first").inner_text()
    target = tab.locator(".cell.first a").get_attribute("href")
    assert tab.locator(target).count() == 1


def test_the_note_is_short(tab: Any) -> None:
    """Seven screens of 900 px at 1440, 14,000 px on a phone: the sheets that say nothing new are folded."""
    at(tab, (1440, 900))
    assert tab.evaluate("document.documentElement.scrollHeight") <= 7 * 900
    at(tab, (390, 844))
    assert tab.evaluate("document.documentElement.scrollHeight") <= 14_000


def test_sheets_are_numbered_as_they_stand(tab: Any) -> None:
    at(tab, (390, 844))
    numbers = tab.evaluate(
        "[...document.querySelectorAll('.block-sheet .sheet-no')].map(e => Number(e.textContent))"
    )
    assert numbers == list(range(1, 17))


def test_few_stops_of_the_tab_key(tab: Any) -> None:
    at(tab, (1440, 900))
    stops = tab.evaluate("""[...document.querySelectorAll('a[href], button, input, select, summary, [tabindex]')]
        .filter(e => e.tabIndex >= 0 && !e.disabled && e.checkVisibility({visibilityProperty: true})).length""")
    assert 20 < stops < 60


def test_sheets_without_a_reading_or_a_fault_are_folded(tab: Any) -> None:
    """Eight readings at supply, rail-watch, relay-drive, air and element; C3, which failed, is in supply."""
    opened = tab.evaluate("[...document.querySelectorAll('section.block-sheet')].map(e => e.id)")
    assert sorted(opened) == [
        f"block-{name}" for name in ("air", "element", "rail-watch", "relay-drive", "supply")
    ]
    assert tab.locator("details.folded:not([open]) svg.thumb use").count() == 11


def test_the_failed_part_is_struck_through_everywhere(tab: Any) -> None:
    at(tab, (1440, 900))
    assert tab.locator("#block-supply g.failed rect").count() == 1
    assert tab.locator(".blocks .box.failed .name").all_text_contents() == ["supply"]
    assert tab.locator(".board-marks .struck[data-ref='C3']").count() == 1
    assert tab.locator("g.failed").count() == 1, "and no other"


def test_the_rails_of_the_block_diagram_have_their_volts(tab: Any) -> None:
    """The regulator's rail is the 5 V that the note states; the inlet passes on 230 V (EN 60038)."""
    at(tab, (1440, 900))
    volts = tab.locator(".blocks text.volts").all_text_contents()
    assert "5.00 V" in volts and "230 V~" in volts and len(volts) == 3


def test_flags_tie_readings_to_places(tab: Any) -> None:
    at(tab, (1440, 900))
    flags = [text.strip() for text in tab.locator("table.readings .flag").all_inner_texts()]
    assert flags == list("①②③④⑤⑥⑦⑧")
    assert "③" in tab.locator("#block-supply svg.sheet").text_content()


def test_nothing_floats_over_the_text_of_a_large_screen(tab: Any) -> None:
    at(tab, (1024, 768))
    fixed = "[...document.querySelectorAll('body *')].filter(e => getComputedStyle(e).position === 'fixed' && e.checkVisibility()).length"
    assert tab.evaluate(fixed) == 0
    rail, told = tab.locator(".rail").bounding_box(), tab.locator(".story").bounding_box()
    assert rail["x"] >= told["x"] + told["width"]
    for part in (".deeper", ".to-sheet svg.thumb", "[data-helper-form] select"):
        assert tab.locator(f".rail {part}").first.is_visible(), part


def test_a_note_stands_once_among_those_near(tab: Any) -> None:
    near = tab.locator(".near .note-title").evaluate_all("links => links.map(link => link.href)")
    assert near and len(near) == len(set(near))


def test_the_bench_card_is_one_page_of_paper(tab: Any) -> None:
    """Within the margins of print.css, A4 is 703 by 1020 px and Letter 725 by 952: ticket, the fault's sheet, readings,
    voltage chart, address and its code."""
    for size in ((703, 1020), (725, 952)):
        at(tab, size)
        tab.emulate_media(media="print")
        card = [tab.locator(part).bounding_box() for part in (".ticket", "svg.chief", "#readings", "#chart")]
        assert card[-1]["y"] + card[-1]["height"] <= size[1]
    assert tab.locator("svg.chief use").get_attribute("href") == "#sheet-supply-g"
    for part in (".ticket .address", ".ticket .code", "svg.chief"):
        assert tab.locator(part).is_visible(), part
    above = tab.locator(".conclusion").bounding_box()
    assert above["y"] > card[-1]["y"], "what follows from the readings stands behind the card"
    tab.emulate_media(media="screen")


def test_the_code_holds_the_address(site: Path) -> None:
    """The squares of the code are those that segno, a library of its own, makes of the published address."""
    import segno

    page = (site / SIXTEEN).read_text()
    path = page[page.index('class="only-print code"') :]
    path = path[path.index('d="') + 3 : path.index('"/>')]
    address = "https://example.org/net-loft/notes/egg-incubator-stays-cold/index.html"
    matrix = segno.make(address, error="m", micro=False).matrix
    drawn = set()
    for x, y, run in re.findall(r"M(\d+),(\d+)h(\d+)v1h-\d+z", path):
        drawn |= {(int(x) - 2 + n, int(y) - 2) for n in range(int(run))}
    assert drawn == {(x, y) for y, row in enumerate(matrix) for x, dark in enumerate(row) if dark}


def test_the_notes_word_comes_before_what_the_readings_say(tmp_path: Path) -> None:
    """first_check as a place shows what is sound there; as words it stands as it was written."""
    notes = {
        name: (
            "---\ntitle: Lamp stays dark\ndate: 2026-01-10\ndevice: {kind: lamp}\nsymptoms: [dark]\noutcome: fixed\n"
            f"first_check: {first}\nblocks: {{d: {{kind: divider, supply: 10 V 0%, upper: R1 10k 0%, lower: R2 10k 0%}}}}\n"
            "faults: [{part: R1, failed: open}]\n---\nIt was dark.\n"
        )
        for name, first in (("place", "d.output"), ("words", "the lamp, by eye"))
    }
    built = site_of(tmp_path, **notes)
    cells = [(built / "notes" / name / "index.html").read_text() for name in ("place", "words")]
    first = [
        cell[cell.index('class="cell first"') : cell.index("</section>", cell.index('class="cell first"'))]
        for cell in cells
    ]
    assert "5.00" in first[0] and "output" in first[0]  # 10 V·10k/(10k + 10k), by hand
    assert "the lamp, by eye" in first[1]
