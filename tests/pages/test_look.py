"""The pages in a real browser: for everyone, on a phone, by keyboard, without scripts, on paper."""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser

NOTE = "notes/pedestal-fan-beeps/index.html"  # photos, both sides of a board, readings, two sheets
LONG_NOTE = "notes/egg-incubator-stays-cold/index.html"
KINDS = {
    "home": "index.html", "search": "index.html?q=dead", "note": NOTE, "symptoms": "symptoms/index.html",
    "symptom": "symptoms/dead.html", "devices": "devices/index.html", "parts": "parts/index.html", "kinds": "blocks/index.html",
    "kind": "blocks/thermistor-divider.html", "marking": "blocks/marking.html", "safety": "safety.html", "about": "about.html",
    "missing": "404.html",
}  # fmt: skip
THUMB = 44  # px; the size of a target in WCAG 2.2, 2.5.5, and more than 2.5.8 asks for


@contextmanager
def opened(
    browser: Any, site: Path, page: str, width: int = 1280, height: int = 900, **options: Any
) -> Iterator[Any]:
    """A page of the site in a window of its own."""
    tab = browser.new_page(viewport={"width": width, "height": height}, **options)
    try:
        troubles: list[str] = []
        tab.on("console", lambda message: troubles.append(message.text))
        tab.on("pageerror", lambda error: troubles.append(str(error)))
        tab.goto(f"{site.as_uri()}/{page}")
        yield tab
        assert troubles == []
    finally:
        tab.close()


# One element of every look there is (letters, and what lies below them): contrast is a matter of the look, and to judge
# it for each of three thousand elements takes seconds.
LOOKS = """() => {
  const looks = new Map(), below = new Map();
  const ground = e => {
    if (!e) return '';
    if (!below.has(e)) {
      const { backgroundColor, backgroundImage, opacity } = getComputedStyle(e), own = `${backgroundColor} ${backgroundImage} ${opacity}`;
      below.set(e, ground(e.parentElement) + (own === 'rgba(0, 0, 0, 0) none 1' ? '' : `/${own}`));
    }
    return below.get(e);
  };
  for (const e of document.querySelectorAll('body *')) {
    if (!e.matches('input, select, textarea') && ![...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())) continue;
    const { color, fontSize, fontWeight } = getComputedStyle(e);
    const look = [e.localName, e.getAttribute('class'), e.checkVisibility(), color, fontSize, fontWeight, ground(e)].join();
    if (!looks.has(look)) looks.set(look, e);
  }
  return [...looks.values()];
}"""
CONTRAST = "color-contrast"


def faults(tab: Any, structure: bool = True) -> list[str]:
    """What axe-core finds with all open, and the first element of each finding. structure: not in the contrast alone."""
    from axe_playwright_python.base import AXE_SCRIPT

    if not tab.evaluate("'axe' in window"):
        tab.evaluate(AXE_SCRIPT)
    runs = [
        f"axe.run({{include: ({LOOKS})()}}, {{runOnly: ['{CONTRAST}'], resultTypes: ['violations'], preload: false}})"
    ]
    if structure:
        runs.append(
            f"axe.run({{rules: {{'{CONTRAST}': {{enabled: false}}}}, resultTypes: ['violations'], preload: false}})"
        )
    with all_open(tab, "article details"):
        found = [violation for run in runs for violation in tab.evaluate(run)["violations"]]
    return [f"{v['id']}: {v['nodes'][0]['html'][:120]}" for v in found]


@contextmanager
def all_open(tab: Any, which: str = "details") -> Iterator[None]:
    """What is folded is open for a while, but for the bar, which lies over the page."""
    tab.evaluate(f"""window.folded = [...document.querySelectorAll('{which}')].filter(d => !d.open && !d.closest('.bar'));
        window.folded.forEach(d => {{ d.open = true }})""")
    yield
    tab.evaluate("window.folded.forEach(d => { d.open = false })")


# --- for everyone ---------------------------------------------------------------------------------------------------


def test_axe_would_find_something(browser: Any, site: Path) -> None:
    with opened(browser, site, "about.html") as tab:
        assert faults(tab) == []
        tab.evaluate("document.querySelector('main').append(Object.assign(document.createElement('button')))")
        tab.evaluate(
            "[...document.querySelectorAll('main p')].at(-1).style.color = '#bbb'"
        )  # as others but for its colour
        assert {fault.partition(":")[0] for fault in faults(tab)} == {"button-name", CONTRAST}


def test_at_400_percent_the_bar_covers_nothing(browser: Any, site: Path) -> None:
    with opened(browser, site, NOTE, 320, 256) as tab:
        assert tab.evaluate("getComputedStyle(document.querySelector('.bar')).position") == "static"


@pytest.mark.parametrize("motion", ["reduce", "no-preference"])
def test_nothing_moves_by_itself(browser: Any, site: Path, motion: str) -> None:
    moving = """[...document.querySelectorAll('*')].filter(e => { const s = getComputedStyle(e);
        return s.scrollBehavior !== 'auto' || s.animationName !== 'none' || parseFloat(s.transitionDuration) > 0 }).length"""
    with opened(browser, site, NOTE) as tab:
        tab.emulate_media(reduced_motion=motion)
        assert tab.evaluate(moving) == 0
        assert tab.evaluate("document.getAnimations().length") == 0


def test_what_a_thumb_has_to_hit_is_large(browser: Any, site: Path) -> None:
    small = f"""[...document.querySelectorAll('button, summary, select, input, .short-ways a, .index-nav a, .index a, .ways a')]
        .filter(e => e.getClientRects().length && e.getBoundingClientRect().height < {THUMB} - 0.5).map(e => e.outerHTML.slice(0, 90))"""
    with opened(browser, site, NOTE, 360, 640, has_touch=True) as tab:
        tab.locator(".bar summary").tap()
        assert tab.evaluate(small) == []
        for kind in ("home", "symptom", "kinds"):
            tab.goto(f"{site.as_uri()}/{KINDS[kind]}")
            assert tab.evaluate(small) == [], kind


# --- a note on a phone ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("page", [NOTE, LONG_NOTE])
def test_the_first_screen_of_a_phone_says_what_it_was(browser: Any, site: Path, page: str) -> None:
    with opened(browser, site, page, 360, 640) as tab:
        free = tab.locator(".bar").bounding_box()["y"]
        for part in ("h1", ".stamp", ".turned-out"):
            box = tab.locator(part).bounding_box()
            assert box["y"] >= 0 and box["y"] + box["height"] <= free, part


def test_the_order_of_a_note(browser: Any, site: Path) -> None:
    with opened(browser, site, NOTE, 820) as tab:
        order = [
            ".ticket",
            ".cautions",
            "#readings",
            "#diagram",
            "#differently",
            "#bench-notes",
            "#boards",
            "#found",
            "#fitted",
            "#proof",
            "#near",
        ]
        tops = [tab.locator(part).bounding_box()["y"] for part in order]
        assert tops == sorted(tops)
        assert tab.locator(".block-sheet").count() == 2


def test_the_bar_leads_to_the_open_sheets_without_scripts(browser: Any, site: Path) -> None:
    with opened(browser, site, LONG_NOTE, 360, 640, java_script_enabled=False) as tab:
        tab.locator(".bar summary").click()
        tab.locator(".ways").get_by_role("link", name="relay-drive", exact=False).click()
        assert tab.url.endswith("#block-relay-drive")
        top = tab.locator("#block-relay-drive").bounding_box()["y"]
        assert 0 <= top < 320
        assert (
            len(tab.locator(".ways a[href^='#block-']").all()) == tab.locator("section.block-sheet").count()
        )
        assert tab.locator(".blocks a").count() == tab.locator(".block-sheet").count() == 16


def test_the_bar_closes_once_it_has_led_somewhere(browser: Any, site: Path) -> None:
    with opened(browser, site, NOTE, 360, 640) as tab:
        tab.locator(".bar summary").click()
        tab.locator(".ways a[href='#proof']").click()
        assert not tab.locator(".ways").is_visible()
        tab.locator(".bar summary").press("Enter")
        assert tab.locator(".ways").is_visible()
        tab.keyboard.press("Escape")
        assert not tab.locator(".ways").is_visible()


def test_without_scripts_all_is_there(browser: Any, site: Path) -> None:
    with opened(browser, site, NOTE, java_script_enabled=False) as tab:
        sides = [tab.locator(f".board-{side} img").bounding_box() for side in ("top", "bottom")]
        assert sides[0]["x"] + sides[0]["width"] <= sides[1]["x"], "the sides of the board overlap"
        assert tab.locator("#differently noscript").count() == 1
        tab.locator("details.more summary").first.click()
        assert tab.locator("table.failures").first.is_visible()


# --- designators ----------------------------------------------------------------------------------------------------


def test_touching_a_designator_marks_it_everywhere(browser: Any, site: Path) -> None:
    with opened(browser, site, NOTE) as tab:
        tab.locator(".prose p .ref[data-ref='C1']").first.click()
        refs = tab.locator("main [data-ref='C1']")
        assert refs.count() > 8
        assert tab.locator("main [data-ref='C1'].on").count() == refs.count()
        for place in (
            "svg.sheet text",
            ".board-marks g",
            ".checks .ref",
            ".ticket .ref",
            "details.more .ref",
        ):
            assert tab.locator(f"{place}[data-ref='C1'].on").count() or tab.locator(f"{place}.on").count(), (
                place
            )
        assert tab.locator("[data-ref='R1'].on").count() == 0
        said = tab.locator("[data-marked-at]").inner_text()
        assert re.fullmatch(r"C1: place \d+ of \d+", said)


def test_touching_it_in_a_drawing_or_on_the_board_is_the_same(browser: Any, site: Path) -> None:
    with opened(browser, site, NOTE) as tab:
        for place in ("svg.sheet text[data-ref='R2']", ".board-top .ref[data-ref='ZD1']"):
            tab.locator(place).first.click()
            assert tab.locator(f"{place}.on").count() >= 1
            assert tab.locator(".checks .ref.on").count() >= 1


def test_designators_by_keyboard_from_place_to_place(browser: Any, site: Path) -> None:
    with opened(browser, site, NOTE, 360, 640) as tab:
        tab.locator("[data-ref][tabindex='0']").focus()
        ref = tab.locator(".prose p .ref[data-ref='C1']").first
        for _ in range(40):
            if ref.evaluate("e => e === document.activeElement"):
                break
            tab.keyboard.press("ArrowRight")
        tab.keyboard.press("Enter")
        assert ref.get_attribute("aria-pressed") == "true"
        assert ref.get_attribute("role") == "button"
        before = tab.evaluate("scrollY")
        tab.locator("[data-marked-next]").press("Enter")
        tab.wait_for_function(f"scrollY !== {before}")
        assert tab.locator(".here").count() == 1
        tab.keyboard.press("Escape")
        assert tab.locator(".on").count() == 0 and ref.get_attribute("aria-pressed") == "false"
        assert not tab.locator("[data-marked]").is_visible()


def test_designators_are_one_stop_of_the_tab_key(browser: Any, site: Path) -> None:
    with opened(browser, site, LONG_NOTE) as tab:
        assert tab.locator("[data-ref][tabindex='0']").count() == 1
        # in a picture nothing may have the focus, for it is one thing to a screen reader
        assert tab.locator("svg[role='img'] [tabindex]").count() == 0


# --- the board, the reading helper ----------------------------------------------------------------------------------


def test_the_board_fades_by_keyboard(browser: Any, site: Path) -> None:
    with opened(browser, site, NOTE) as tab:
        slider = tab.get_by_role("slider")
        slider.focus()
        for _ in range(20):
            tab.keyboard.press("ArrowRight")
        bottom = tab.locator(".board-bottom")
        assert tab.evaluate("getComputedStyle(document.querySelector('.board-bottom')).opacity") == "1"
        top, under = tab.evaluate(
            "[...document.querySelectorAll('.board-photo')].map(e => JSON.stringify(e.getBoundingClientRect()))"
        )
        assert top == under, "the bottom does not lie on the top"
        tab.locator(".board-bottom .ref[data-ref='R2']").click()
        assert bottom.locator(".ref.on").count() == 1


def test_the_reading_helper_by_keyboard(browser: Any, site: Path) -> None:
    with opened(browser, site, NOTE) as tab:
        tab.get_by_label("Place", exact=True).first.select_option(label="across R1, AC, running")
        tab.get_by_label("The meter shows").first.fill("1.1 V")
        left = tab.locator(".helper-left")
        assert left.is_visible()
        assert "C1 low" in left.inner_text()
        assert left.locator(".ref[role='button']").count() >= 1
        assert faults(tab) == []


# --- on paper -------------------------------------------------------------------------------------------------------

# what is left of a sheet within the margins of print.css, in CSS pixels: 12 mm at the sides, 12 and 14 mm above and below
PAPERS = {"A4": (703, 1023), "Letter": (725, 957)}


@pytest.mark.parametrize("paper", PAPERS)
def test_on_paper_no_sheet_is_cut(browser: Any, site: Path, paper: str) -> None:
    width, height = PAPERS[paper]
    with opened(browser, site, LONG_NOTE, width, height) as tab:
        tab.emulate_media(media="print", color_scheme="dark")
        sheets = tab.evaluate("""[...document.querySelectorAll('.block-sheet, .ticket')].map(sheet => [sheet.id,
            sheet.getBoundingClientRect().height, getComputedStyle(sheet).breakInside])""")
        assert len(sheets) == 17
        for name, tall, inside in sheets:
            assert inside == "avoid" and tall <= height, name
        wide = tab.evaluate(
            "Math.max(...[...document.querySelectorAll('svg')].map(s => s.getBoundingClientRect().right))"
        )
        assert wide <= width


def test_on_paper_black_on_white_without_navigation(browser: Any, site: Path) -> None:
    with opened(browser, site, NOTE, 703, 1023) as tab:
        tab.emulate_media(media="print", color_scheme="dark")
        for hidden in (
            ".tabs",
            ".bar",
            ".index-nav",
            ".near",
            ".reading-helper",
            ".board-slider",
            "details.more",
        ):
            assert not tab.locator(hidden).first.is_visible(), hidden
        for shown in (".ticket", ".cautions", ".block-sheet", "#proof"):
            assert tab.locator(shown).first.is_visible(), shown
        colours = tab.evaluate("""['body', '.ticket', '.block-sheet', 'svg.sheet', 'td'].map(s => {
            const style = getComputedStyle(document.querySelector(s)); return [style.color, style.backgroundColor] })""")
        for ink, paper in colours:
            assert ink in ("rgb(0, 0, 0)", "rgb(51, 51, 51)"), ink
            assert paper in ("rgb(255, 255, 255)", "rgba(0, 0, 0, 0)"), paper
        assert tab.locator(".ticket .address").is_visible() and tab.locator(".ticket .code").is_visible()
        assert tab.pdf(format="A4").startswith(b"%PDF")


# --- weight ---------------------------------------------------------------------------------------------------------


def weight(site: Path, page: str) -> tuple[int, int]:
    """(all, scripts) of a page without its photos, in bytes compressed as a server would."""
    html = (site / page).read_text()
    names = re.findall(r'(?:src|href)="((?:\.\./)*static/[^"]+)"', html)
    files = {name: (site / page).parent.joinpath(name).resolve().read_bytes() for name in names}
    sizes = {name: len(gzip.compress(data, 9)) for name, data in files.items()}
    scripts = sum(size for name, size in sizes.items() if name.endswith(".js"))
    return len(gzip.compress(html.encode(), 9)) + sum(sizes.values()), scripts


def test_a_note_is_light(site: Path) -> None:
    for page in sorted((site / "notes").glob("*/index.html")):
        total, scripts = weight(site, page.relative_to(site).as_posix())
        assert total <= 77_000 and scripts <= 16_000, page.parent.name


@pytest.mark.parametrize("width", [360, 1280])
def test_nothing_shifts_while_a_note_loads(browser: Any, site: Path, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 800})
    tab = context.new_page()
    tab.add_init_script("""window.shifted = 0; new PerformanceObserver(list => {
        for (const entry of list.getEntries()) window.shifted += entry.value;
    }).observe({type: 'layout-shift', buffered: true});""")
    tab.goto(f"{site.as_uri()}/{NOTE}")
    for _ in range(12):
        tab.mouse.wheel(0, 700)
        tab.wait_for_timeout(60)
    # 0.1 counts as good (web.dev, Cumulative Layout Shift); nothing here has a reason to move at all
    assert tab.evaluate("window.shifted") <= 0.005
    context.close()
