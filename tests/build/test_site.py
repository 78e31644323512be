"""The built site as a whole: links lead somewhere, HTML is valid, nothing comes from elsewhere, no scripts needed."""

from __future__ import annotations

import re
import warnings
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # html5lib's own imports are older than this Python
    import html5lib

OWN_SCHEMES = {"", "http", "https", "mailto"}


class Page(HTMLParser):
    """The links, ids and sources of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.sources: list[str] = []
        self.ids: list[str] = []
        self.tags: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        given = {k: v or "" for k, v in attrs}
        if "id" in given:
            self.ids.append(given["id"])
        if "href" in given:
            self.links.append(given["href"])
        if tag in ("img", "script", "source") and "src" in given:
            self.sources.append(given["src"])
        if tag in ("img", "source") and "srcset" in given:
            self.sources += [part.strip().split(" ")[0] for part in given["srcset"].split(",")]
        if tag == "link" and given.get("rel") in ("stylesheet", "icon"):
            self.sources.append(given["href"])


@cache
def pages(site: Path) -> dict[Path, Page]:
    return {path: Page(path.read_text("utf-8")) for path in sorted(site.rglob("*.html"))}


def test_every_kind_of_page_is_there(site: Path, content: Path) -> None:
    """Home, notes, symptoms, devices, failed parts, kinds of block, markings, about, safety."""
    for name in ("index.html", "about.html", "safety.html", "404.html", "symptoms/index.html", "devices/index.html",
                 "parts/index.html", "blocks/index.html", "blocks/marking.html", "blocks/transformer-supply.html"):  # fmt: skip
        assert (site / name).is_file(), name
    written = [path.name.removesuffix(".md") for path in (content / "notes").iterdir()]
    pooled = [f"mill/{path.stem}" for path in (content / "pooled/mill-street/notes").iterdir()]
    notes = site / "notes"
    assert sorted(path.parent.relative_to(notes).as_posix() for path in notes.rglob("index.html")) == sorted(
        [*written, *pooled]
    )


def test_links_lead_somewhere(site: Path) -> None:
    """Every relative link, source and fragment of every page leads to a file and an id of the site itself."""
    found = pages(site)
    assert len(found) > 60
    for path, page in found.items():
        for address in page.links + page.sources:
            parts = urlsplit(address)
            assert parts.scheme in OWN_SCHEMES, address
            if parts.scheme or parts.netloc:
                assert address not in page.sources, f"{path}: {address} would be fetched from elsewhere"
                continue
            target = (path.parent / unquote(parts.path)).resolve() if parts.path else path
            assert target.is_file(), f"{path.relative_to(site)}: {address}"
            assert site.resolve() in target.parents
            if parts.fragment and target.suffix == ".html":
                assert unquote(parts.fragment) in found[site / target.relative_to(site.resolve())].ids, (
                    f"{path.relative_to(site)}: {address}"
                )


def test_ids_are_unique(site: Path) -> None:
    """No two elements of a page share an id."""
    for path, page in pages(site).items():
        assert len(page.ids) == len(set(page.ids)), path


def test_html_is_valid(site: Path) -> None:
    """html5lib, which follows the HTML standard's parsing rules, reports no parse error on any page."""
    for path in sorted(site.rglob("*.html")):
        parser = html5lib.HTMLParser(strict=False)
        parser.parse(path.read_text("utf-8"))
        assert [f"{path.name}:{position}: {code}" for position, code, _ in parser.errors] == []


def test_the_policy_forbids_what_is_not_ours(site: Path) -> None:
    """Every page carries a strict Content-Security-Policy; no inline script, style or event handler."""
    for path in sorted(site.rglob("*.html")):
        text = path.read_text("utf-8")
        assert 'http-equiv="Content-Security-Policy"' in text and "default-src 'none'" in text
        assert "unsafe" not in text.split("Content-Security-Policy", 1)[1].split(">", 1)[0]
        assert not re.search(r"<[^>]+\son[a-z]+\s*=", text), path
        assert not re.search(r"<[^>]+\sstyle\s*=|<style", text), path
        for script in re.findall(r"<script([^>]*)>", text):
            assert "src=" in script or "application/" in script, path


def test_every_page_defers_to_local_codes(site: Path) -> None:
    """At the foot of each page, and beside the cautions of a note, where they are read."""
    words = "Local codes and licensed practice come before anything written here."
    for path in sorted(site.rglob("*.html")):
        text = path.read_text("utf-8")
        assert words in text[text.index("<footer") :], path
    with_cautions = 0
    for path in sorted((site / "notes").glob("*/index.html")):
        for cautions in re.findall(
            r'<section class="cautions".*?</section>', path.read_text("utf-8"), re.DOTALL
        ):
            assert words in cautions, path
            with_cautions += 1
    assert with_cautions


def test_sheets_stand_where_the_author_put_them(site: Path) -> None:
    """{supply} alone in a paragraph places the sheet between the words around it; the rest follows in order."""
    text = (site / "notes" / "egg-incubator-stays-cold" / "index.html").read_text("utf-8")
    assert text.index("Here is the trap") < text.index('id="block-supply"') < text.index("Ripple that large")
    assert text.count('<svg xmlns="http://www.w3.org/2000/svg" class="sheet') == 16


def test_terminal_and_browser_share_one_index(
    site: Path, content: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What `lookup` searches is, to the byte, what the pages load: notes, those of the pool, rows."""
    from generator import lookup as command
    from generator.cache import Cache, cache_folder

    monkeypatch.setenv("BENCHLORE_CACHE", str(tmp_path))
    assert command.lookup("dead", "", content, as_json=True, out=lambda _: None, say=lambda _: None) == 0
    cache = Cache(cache_folder(content))
    ((scope,),) = cache._db.execute("select distinct scope from shards")
    shards = cache.all("shards", scope)
    files = {path.name: path.read_bytes() for path in (site / "find").iterdir()}
    assert {name: shards.get(name) for name in files} == files and len(files) > 5


@pytest.mark.browser
def test_works_from_a_folder(browser: Any, site: Path) -> None:
    """Opened as file://, every kind of page loads without an error, and the search answers a typo."""
    tab = browser.new_page()
    said: list[str] = []
    tab.on("console", lambda message: said.append(message.text))
    tab.on("pageerror", lambda error: said.append(str(error)))
    left = "net::ERR_ABORTED"  # the page was left before the tab's picture was there
    tab.on(
        "requestfailed",
        lambda request: request.failure == left or said.append(f"{request.failure} {request.url}"),
    )
    for name in (
        "index.html",
        "notes/egg-incubator-stays-cold/index.html",
        "symptoms/index.html",
        "blocks/index.html",
        "safety.html",
    ):
        tab.goto((site / name).as_uri())
        tab.wait_for_load_state()
    tab.goto((site / "index.html").as_uri() + "?q=stayz%20clod")
    tab.wait_for_selector("[data-find-results] li")
    assert "Egg incubator" in tab.inner_text("[data-find-results]")
    tab.click("[data-find-results] a")
    tab.wait_for_load_state()
    assert tab.title().startswith("Egg incubator")
    tab.close()
    assert said == []


@pytest.mark.browser
def test_the_reading_helper_narrows(browser: Any, site: Path) -> None:
    """A ripple far too large puts the worn capacitor first; the address carries the reading."""
    tab = browser.new_page()
    tab.goto(
        (site / "notes" / "egg-incubator-stays-cold" / "index.html").as_uri()
        + "#read=supply.ripple:7.3%20V&supply.plus:9.3%20V"
    )
    tab.wait_for_selector("[data-helper] tbody tr")
    left = tab.locator("[data-helper] tbody th").all_inner_texts()
    assert left[0].split("\n")[0] == "C3 low"
    shares = [
        int(re.sub(r"\D", "", text))
        for text in tab.locator("[data-helper] tbody td:nth-child(2)").all_inner_texts()
    ]
    assert shares == sorted(shares, reverse=True)
    tab.locator("[data-helper] input").first.fill("1.5 V")
    assert "1.5%20V" in tab.evaluate("location.hash")
    tab.close()


@pytest.mark.browser
def test_the_reading_helper_takes_no_other_unit(browser: Any, site: Path) -> None:
    """10 kohm in whatever way it is written is one reading, but for what its last digit leaves of the share; volts are no resistance
    and say so."""
    tab = browser.new_page()
    tab.goto((site / "notes" / "egg-incubator-stays-cold" / "index.html").as_uri())
    tab.select_option("[data-helper] select", label="TH1, plug out")
    answers = set()
    for text in ("10k", "10 kohm", "10K", "10000", "10 kΩ"):
        tab.locator("[data-helper] input").first.fill(text)
        answers.add(re.sub(r"\d+", "", tab.inner_text("[data-helper] .helper-status")))
    assert len(answers) == 1 and "Likeliest" in answers.pop()
    tab.locator("[data-helper] input").first.fill("10 V")
    assert "This is not a value." in tab.inner_text("[data-helper-form]")
    assert tab.inner_text("[data-helper] .helper-status") == ""
    tab.close()
