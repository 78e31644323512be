"""Every kind of page at every width, at twice the size, in forced colours and on paper.

A page is loaded once for all widths, for loading is what takes time.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from test_look import KINDS, LONG_NOTE, all_open, faults
from test_page_first import CUT, DOUBLED, OVER, WIDTHS

pytestmark = pytest.mark.browser

PAGES = {
    **KINDS, "long note": LONG_NOTE, "note with keys": "notes/desk-fan-will-not-stop/index.html",
    "pooled note": "notes/mill/night-light-goes-dim/index.html", "device": "devices/egg-incubator.html",
    "part": "parts/smoothing-capacitor.html", "network": "blocks/network.html", "many variants": "blocks/heater.html",
    "collections": "records/coffee-maker/index.html", "writing": "writing.html",
}  # fmt: skip
FITS = "document.documentElement.scrollWidth <= innerWidth"
LETTER = (725, 952)  # px; what its margins leave of the paper, which is wider than A4 and not as tall

# What does not fit into its place: cells wider than their column, and what reaches beyond the page.
SPILT = """() => [...document.querySelectorAll('td, th, dd, .figure, main *')].filter(e => e.checkVisibility() && !e.closest('svg, .unseen, .drawing, .scroll, pre, code')
    && getComputedStyle(e.closest('thead, th') ?? e).clipPath === 'none' && getComputedStyle(e.closest('thead') ?? e).clipPath === 'none')
  .filter(e => (/^T[DH]$/.test(e.tagName) && e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== 'inline')
    || e.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
  .map(e => `${e.tagName}.${e.className}: ${e.textContent.trim().slice(0, 30)}`).slice(0, 5)"""


@pytest.fixture(scope="module", params=PAGES)
def tab(request: pytest.FixtureRequest, browser: Any, site: Path) -> Iterator[Any]:
    opened = browser.new_page(viewport=dict(zip(("width", "height"), WIDTHS[0])))
    troubles: list[str] = []
    opened.on("console", lambda message: troubles.append(message.text))
    opened.on("pageerror", lambda error: troubles.append(str(error)))
    opened.goto(f"{site.as_uri()}/{PAGES[request.param]}")
    if request.param == "search":
        opened.locator("[data-find-results] li").first.wait_for()
    yield opened
    opened.close()
    assert troubles == []


def at(tab: Any, width: int, height: int) -> None:
    tab.set_viewport_size({"width": width, "height": height})


def test_nothing_overflows_meets_or_is_cut(tab: Any) -> None:
    for size in (*WIDTHS, DOUBLED):
        at(tab, *size)
        found = [tab.evaluate(look) for look in (OVER, CUT, SPILT)]
        assert [tab.evaluate(FITS), *found] == [True, [], [], []], size
    at(tab, 320, 256)  # 1280 pixels at 400 % zoom (WCAG 2.2, 1.4.10)
    with all_open(tab):
        assert tab.evaluate(FITS)


def test_head_page_and_foot_stand_one_below_the_other(tab: Any) -> None:
    at(tab, 1280, 900)
    boxes = [tab.locator(part).bounding_box() for part in (".site-head", "main", ".site-foot")]
    for above, below in pairwise(boxes):
        assert above["y"] + above["height"] <= below["y"] and above["x"] == below["x"]


def test_axe_finds_nothing(tab: Any) -> None:
    """Light on a large screen, dark on a phone; in forced colours, which change nothing but colours, its rule on contrast."""
    at(tab, 1280, 900)
    assert faults(tab) == []
    at(tab, 360, 900)
    tab.emulate_media(color_scheme="dark")
    assert faults(tab) == []
    at(tab, 1024, 768)
    tab.emulate_media(color_scheme="light", forced_colors="active")
    assert faults(tab, structure=False) == []
    tab.emulate_media(forced_colors="none")


def test_nothing_reaches_beyond_the_paper(tab: Any) -> None:
    """What is too wide makes a browser print the whole page smaller."""
    tab.emulate_media(media="print")
    for size in ((703, 1020), LETTER):
        at(tab, *size)
        assert tab.evaluate(FITS)
        assert tab.evaluate(SPILT) == []
    tab.emulate_media(media="screen")


@pytest.mark.slow
@pytest.mark.skipif(not shutil.which("pdftoppm"), reason="no pdftoppm here")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_no_page_of_paper_is_a_third_empty(browser: Any, site: Path, tmp_path: Path, paper: str) -> None:
    """But the last, as long as what is left over; and no paper is taken for a line or two."""
    context = browser.new_context()
    printed = context.new_page()
    for page in sorted((site / "notes").glob("**/index.html")):
        printed.goto(page.as_uri())
        file = tmp_path / "note.pdf"
        printed.pdf(path=str(file), format=paper)
        subprocess.run(["pdftoppm", "-r", "30", "-gray", "-png", str(file), str(tmp_path / "p")], check=True)
        sides = sorted(tmp_path.glob("p-*.png"))
        for side in sides[:-1]:
            assert empty_below(side) < 1 / 3, (page.parent.name, side.name)
        assert empty_below(sides[-1]) < 0.85, (page.parent.name, "the last")
        for side in sides:
            side.unlink()
    context.close()


def empty_below(side: Path) -> float:
    """The share of a page below its last ink, running head and foot left out."""
    with Image.open(side) as image:
        body = image.crop((0, 0, image.width, round(image.height * 0.94)))
        inked = body.point(lambda value: 255 if value < 200 else 0).getbbox()
    return 1 - (inked[3] if inked else 0) / body.height
