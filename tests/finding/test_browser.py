"""The search in a browser, from a folder opened as file://: as Python finds, and by keyboard alone."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from generator.finding.index import Index, build_index
from generator.finding.record import Cause, Record
from generator.finding.search import Found

sys.path.insert(0, str(Path(__file__).parent.parent / "benchmarks"))
pytestmark = pytest.mark.browser

NASTY = "<img src=x onerror=\"document.title='run'\">"


@pytest.fixture(scope="module")
def index() -> Index:
    import finding

    records = finding.library(400)[0] + finding.rows(60)
    records.append(
        Record(
            "nasty",
            NASTY,
            "2026-01-01",
            "theremin",
            symptoms=("wails </script>\u2028",),
            causes=(Cause(NASTY, "open"),),
        )
    )
    records.append(
        Record("scripts", "電源が入らない", "2026-01-01", "ラジオ", symptoms=("не включается", "لا يعمل"))
    )
    return build_index(records)


@pytest.fixture
def page(browser: Any, index: Index, tmp_path: Path) -> Iterator[Any]:
    import finding

    finding.write_page(tmp_path / "site", index)
    page = browser.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto((tmp_path / "site" / "index.html").as_uri())
    yield page
    page.close()
    assert wrong == []


def settle(page: Any, state: str = "done") -> None:
    page.wait_for_selector(f"form[data-find-state={state}]")


def test_browser_and_terminal_find_the_same(page: Any, index: Index) -> None:
    """One definition of the score: order, scores, causes, counts, filters, on what people type."""
    from finding_cases import slips
    from finding_data import QUERIES

    asked = [(words, kind, {}) for _, words, kind, _ in QUERIES]
    asked += [("", "kettle", {}), ("zzzz", "kettle", {}), ("dead", "nothing known", {}), ("flick", "", {}), ("thermostt fu", "", {}),
              ("dead", "", {"outcome": "fixed"}), ("no heat", "", {"cause": "thermal fuse open"}), ("", "", {"bench": "north"}),
              ("電源が入らない", "", {}), ("не включаеться", "", {}), ("لا يعمل", "", {}), ("4,7k", "", {}), ("İstanbul ſtuck ß", "", {}),
              ("a" * 10_000, "", {}), ("dead 🔥", "", {}), ("</script><b>", "", {}), ("  ", "", {}), ("turns on, but does not heat", "", {})]  # fmt: skip
    asked += [(text, "", {}) for _, _, _, text in slips()[::4]] + [
        (text, kind, {}) for kind, _, _, text in slips()[::5]
    ]
    for words, kind, filters in asked:
        same(page, index, words, kind, filters)


def same(page: Any, index: Index, words: str, kind: str, filters: dict[str, str]) -> Found:
    """Asks both; what they answer must be the same to the last digit that is shown. Gives the answer."""
    theirs = page.evaluate(
        "([words, kind, filters]) => BenchloreFind.open('find/').search(words, kind, filters)",
        [words, kind, filters],
    )
    ours = index.search(words, kind, filters)
    about = (words[:60], kind, filters)
    told = [(hit["slug"], hit["score"], hit["why"], hit["source"]) for hit in theirs["results"]]
    assert told == [(hit.slug, hit.score, list(hit.why), hit.source) for hit in ours.results], about
    causes = [(c["cause"], c["notes"], c["share"], c["foundBy"]) for c in theirs["causes"]]
    assert causes == [(c.cause, c.notes, c.share, c.found_by) for c in ours.causes], about
    for name in ("total", "known", "clear", "check", "relaxed"):
        assert theirs[name] == getattr(ours, name), (about, name)
    assert sorted(theirs["kinds"]) == sorted(ours.kinds), about
    facets = {name: [tuple(pair) for pair in pairs] for name, pairs in theirs["facets"].items() if pairs}
    assert facets == {name: list(pairs) for name, pairs in ours.facets.items() if pairs}, about
    return ours


def germans() -> list[Record]:
    """Repairs as a German library has them: umlauts, ß, compounds; parts and failures in German."""
    said = [
        ("Bügeleisen", "wird nicht heiß", "Thermosicherung", "unterbrochen"), ("Dampfbügeleisen", "heizt nicht", "Thermosicherung", "unterbrochen"),
        ("Bügeleisen", "Sohle bleibt kalt", "Heizstab", "unterbrochen"), ("Föhn", "fällt nach kurzer Zeit aus", "Bimetallschalter", "klemmt"),
        ("Haartrockner", "läuft nicht an", "Netzkabel", "gebrochen"), ("Plattenspieler", "läuft zu langsam", "Antriebsriemen", "ausgeleiert"),
        ("Küchenmaschine", "brummt, dreht aber nicht", "Zahnrad", "zerbröselt"), ("Küchenmaschine", "stößt Rauch aus", "Entstörkondensator", "geplatzt"),
        ("Radiowecker", "Anzeige spinnt, Größe der Ziffern", "Siebkondensator", "ausgetrocknet"), ("Straßenlampe", "flackert", "Vorschaltgerät", "defekt"),
    ]  # fmt: skip
    return [
        Record(f"r{n}", f"{kind}: {text}", "2026-02-01", kind, "Kleingerät", symptoms=(text,), outcome="fixed" if n % 3 else "end of life",
               causes=(Cause(part, failed, found_by="Durchgangsprüfer"),), part_names=(part,), bench="Süd" if n % 2 else "Größenwahn")
        for n, (kind, text, part, failed) in enumerate(said * 3)
    ]  # fmt: skip


def test_browser_and_terminal_find_the_same_in_german(browser: Any, tmp_path: Path) -> None:
    """Umlauts and ß composed, decomposed, in capitals, left out or spelt out; kinds, parts and benches as filters."""
    import finding

    index = build_index(germans())
    finding.write_page(tmp_path / "site", index)
    page = browser.new_page()
    page.goto((tmp_path / "site" / "index.html").as_uri())
    queries = ["wird nicht heiß", "WIRD NICHT HEISS", "wird nicht hei\u1e9e", "wird nicht heiss", "la\u0308uft nicht an", "lauft nicht", "läuft nicht anm",
               "Größe", "grosse", "Straßenlampe flackert", "strassenlampe", "Küchen", "kuchenmasch", "brummt aber dreht nicht", "Thermosicherung", "Sicherung",
               "🔥 raucht 🔥", "\u202eläuft nicht", "Föhn fällt aus ", "föhn" * 3000, "Antriebsriemn", "Ziffern, Größe!", "ﬂackert", "①②③", ""]  # fmt: skip
    kinds = [
        "",
        "Bügeleisen",
        "bugeleisen",
        "BU\u0308GELEISEN",
        "Buegeleisen",
        "Küchenmaschine",
        "Kuchenmaschiene",
        "Haartrockner",
        "iron",
        "Straßenlampe",
        "STRASSENLAMPE",
    ]
    filters = [
        {},
        {"part": "Thermosicherung"},
        {"kind": "Bügeleisen"},
        {"bench": "Größenwahn", "outcome": "fixed"},
        {"cause": "Heizstab unterbrochen"},
    ]
    found = 0
    for n, words in enumerate(queries):
        for kind in sorted({"", kinds[n % len(kinds)], kinds[(3 * n + 1) % len(kinds)]}):
            for chosen in (filters[0], filters[1 + n % 4]):
                ours = same(page, index, words, kind, chosen)
                found += bool(ours.total)
    page.close()
    assert found > 60
    for said in ("heiß", "HEISS", "hei\u1e9e", "heiss"):
        assert {hit.slug for hit in index.search(f"wird nicht {said}").results[:1]} <= {"r0", "r10", "r20"}, (
            said
        )
    for kind in ("Bügeleisen", "bugeleisen", "BU\u0308GELEISEN"):
        assert {hit.device_kind for hit in index.search("", kind).results} == {
            "Bügeleisen",
            "Dampfbügeleisen",
        }, kind


def test_typing_shows_results_and_says_so(page: Any) -> None:
    page.locator("[data-find-words]").press_sequentially("does not turn on")
    settle(page)
    assert page.locator("[data-find-results] > li").count() == 10
    assert page.locator("[data-find-causes] button").count() > 1
    page.wait_for_function(
        "() => document.querySelector('[data-find-status]').textContent.includes('notes match')"
    )
    assert page.get_attribute("[data-find-status]", "aria-live") == "polite"


def test_by_keyboard_alone(page: Any) -> None:
    page.locator("[data-find-words]").focus()
    page.keyboard.type("flickers")
    settle(page)
    focused = "document.activeElement.closest('li') ? [...document.querySelectorAll('[data-find-results] > li')].indexOf(document.activeElement.closest('li')) : -1"
    for key, place in (
        ("ArrowDown", 0),
        ("ArrowDown", 1),
        ("ArrowUp", 0),
        ("ArrowUp", -1),
        ("ArrowDown", 0),
        ("Escape", -1),
    ):
        page.keyboard.press(key)
        assert page.evaluate(focused) == place, key
    assert page.evaluate("document.activeElement.name") == "q"
    page.keyboard.press("ArrowDown")
    for key, place in (("End", 9), ("Home", 0)):
        page.keyboard.press(key)
        assert page.evaluate(focused) == place, key
    page.keyboard.press("/")
    assert page.evaluate("document.activeElement.name") == "q"
    assert page.locator("[data-find-words]").input_value() == "flickers"
    page.locator("[data-find-causes] button").first.focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("[data-find-causes] button[aria-pressed=true]")
    assert "cause=" in page.url


def test_a_row_stands_at_its_own_address(page: Any) -> None:
    """A row of a collection has no page: its words are its title, its collection is named, and it says why."""
    page.goto(page.url + "?source=Mill+street&q=flickers")
    settle(page)
    link = page.locator("[data-find-results] a").first
    assert (link.get_attribute("href") or "").startswith("./records/0.html#") and link.text_content()
    assert "flicker" in (page.locator("[data-put=why]").first.text_content() or "").lower()


def test_it_says_where_no_cause_stands_out(page: Any) -> None:
    page.locator("[data-find-words]").fill("intermittent")
    settle(page)
    page.wait_for_function(
        "() => document.querySelector('[data-find-status]').textContent.includes('No clear cause')"
    )


def test_address_can_be_shared_and_goes_back(page: Any) -> None:
    page.locator("[data-find-words]").fill("stays cold")
    settle(page)
    page.locator("[data-find-kind]").fill("Wasserkocher")
    page.keyboard.press("Enter")
    page.wait_for_function("() => location.search.includes('kind=Wasserkocher')")
    settle(page)
    shared = page.url
    first = page.locator("[data-find-results] > li").first.text_content()
    page.locator("[data-find-words]").fill("leaks")
    page.wait_for_function("() => location.search.includes('q=leaks')")
    page.go_back()
    page.wait_for_function("() => document.querySelector('[data-find-words]').value === 'stays cold'")
    assert page.locator("[data-find-kind]").input_value() == "Wasserkocher"
    page.goto(shared)
    settle(page)
    assert page.locator("[data-find-results] > li").first.text_content() == first


def test_data_is_text_and_never_markup(page: Any) -> None:
    page.locator("[data-find-words]").fill("wails")
    settle(page)
    assert page.locator("[data-find-results] a").first.text_content() == NASTY
    assert page.locator("[data-find-results] img, [data-find-causes] img").count() == 0
    page.locator("[data-find-words]").fill(NASTY)
    page.wait_for_timeout(100)
    assert page.title() == "Find"


def test_asking_for_nothing_shows_nothing(page: Any) -> None:
    page.locator("[data-find-words]").fill("dead")
    settle(page)
    page.locator("[data-find-words]").fill("")
    settle(page, "idle")
    assert page.locator("[data-find-results] > li").count() == 0
    assert "?" not in page.url


def test_a_missing_index_is_told(browser: Any, index: Index, tmp_path: Path) -> None:
    import finding

    finding.write_page(tmp_path / "site", index)
    (tmp_path / "site" / "find" / "core.js").unlink()
    page = browser.new_page()
    page.goto((tmp_path / "site" / "index.html").as_uri() + "?q=dead")
    settle(page, "failed")
    assert "cannot be read" in (page.text_content("[data-find-status]") or "")
    page.close()
