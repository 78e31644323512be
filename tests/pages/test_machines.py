"""What machines read, held against the standards: Atom, sitemaps, JSON-LD with schema.org, robots.txt, note.json."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from xml.etree import ElementTree as xml

import pytest

from generator.build.build import build_site
from generator.finding.record import Cause, Record
from generator.notes.config import Config
from generator.pages import machines
from tests import spice

ATOM = "{http://www.w3.org/2005/Atom}"
SITEMAP = "{http://www.sitemaps.org/schemas/sitemap/0.9}"
ADDRESS = "https://example.org/net-loft/"
CONFIG = Config(name="Loft", address=ADDRESS, group="Loft group", licence="CC-BY-SA-4.0")


def record(slug: str, date: str = "2026-01-02", **more: Any) -> Record:
    return Record(
        slug=slug, title=more.pop("title", slug), date=date, device_kind="kettle", symptoms=("dead",), **more
    )


def published(site: Path, address: str) -> Path:
    """The file that is meant by an address of the published site."""
    assert address.startswith(ADDRESS)
    return site / (address.removeprefix(ADDRESS) or "index.html")


# --- the feed -------------------------------------------------------------------------------------------------------


def assert_atom(data: bytes) -> xml.Element:
    """RFC 4287, sections 4.1.1 and 4.1.2: what a feed and an entry must have, once; 3.3: dates as in RFC 3339; 4.2.6: ids."""
    root = xml.fromstring(data)
    assert root.tag == f"{ATOM}feed"
    for element in [root, *root.findall(f"{ATOM}entry")]:
        for name in ("id", "title", "updated"):
            assert len(element.findall(f"{ATOM}{name}")) == 1, (element.tag, name)
            assert (element.findtext(f"{ATOM}{name}") or "").strip()
        assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", element.findtext(f"{ATOM}updated") or "")
        assert urlsplit(element.findtext(f"{ATOM}id") or "").scheme in ("http", "https", "tag", "urn")
        links = [
            (link.get("rel", "alternate"), link.get("type"), link.get("hreflang"))
            for link in element.findall(f"{ATOM}link")
        ]
        alternate = [link for link in links if link[0] == "alternate"]
        assert alternate and len(set(alternate)) == len(alternate)  # no two of the same type and language
        assert all(
            urlsplit(link.get("href") or "").scheme == "https" for link in element.findall(f"{ATOM}link")
        )
    assert root.find(f"{ATOM}author/{ATOM}name") is not None  # so that entries need none
    assert [
        link.get("href") for link in root.findall(f"{ATOM}link") if link.get("rel") == "self"
    ]  # should, 4.1.1
    for category in root.iter(f"{ATOM}category"):
        assert category.get("term")  # 4.2.2
    ids = [entry.findtext(f"{ATOM}id") for entry in root.findall(f"{ATOM}entry")]
    assert len(set(ids)) == len(ids)
    return root


def test_the_feed_of_the_demonstration_library(site: Path) -> None:
    root = assert_atom((site / "feed.xml").read_bytes())
    entries = root.findall(f"{ATOM}entry")
    own = list((site / "notes").glob("*/note.json"))  # what a pool brings has a feed of its own
    assert len(entries) == len(own)
    times = [entry.findtext(f"{ATOM}updated") or "" for entry in entries]
    assert (
        times == sorted(times, reverse=True) and root.findtext(f"{ATOM}updated") == times[0]
    )  # newest first, no time of a build
    for entry in entries:
        link = entry.find(f"{ATOM}link")
        assert link is not None and published(site, link.get("href") or "").is_file()


def test_a_feed_holds_whatever_a_title_holds() -> None:
    """Markup is text; characters that XML 1.0 (production 2) does not have are left out; the feed has a limit."""
    titles = ["<b>&amp; ]]> \"'", "bell \x07 and \x0b", "\U0001f4a1 \ud7ff", "Größe µ Ω"]
    records = [record(f"n{n}", title=title) for n, title in enumerate(titles)]
    root = assert_atom(machines.feed(CONFIG, records))
    assert [entry.findtext(f"{ATOM}title") for entry in root.findall(f"{ATOM}entry")] == [
        titles[0], "bell   and  ", titles[2], titles[3],
    ]  # fmt: skip
    many = [record(f"n{n:04d}") for n in range(200)]
    files = {path: make() for path, _made_from, make in machines.machine_files(CONFIG, many, [])}
    assert len(assert_atom(files["feed.xml"]).findall(f"{ATOM}entry")) == machines.FEED_NOTES


def test_the_feed_says_what_it_turned_out_to_be() -> None:
    root = xml.fromstring(
        machines.feed(CONFIG, [record("n", causes=(Cause("TF1", "open", part_name="thermal fuse"),))])
    )
    assert root.findtext(f"{ATOM}entry/{ATOM}summary") == "dead. Turned out to be: thermal fuse open."


# --- the sitemap ----------------------------------------------------------------------------------------------------


def assert_sitemap(data: bytes) -> list[str]:
    """sitemaps.org, protocol: at most 50,000 addresses and 50 MB, full addresses under the sitemap's own folder, W3C dates."""
    assert len(data) <= 50 * 1024 * 1024
    root = xml.fromstring(data)
    assert root.tag == f"{SITEMAP}urlset"
    addresses = [entry.findtext(f"{SITEMAP}loc") or "" for entry in root]
    assert 0 < len(addresses) <= 50_000 and len(set(addresses)) == len(addresses)
    assert all(
        address.startswith(ADDRESS) and len(address) < 2048 and address.isascii() for address in addresses
    )
    for entry in root:
        day = entry.findtext(f"{SITEMAP}lastmod")
        assert day is None or re.fullmatch(r"\d{4}-\d\d-\d\d", day)
    return addresses


def test_the_sitemap_lists_every_page(site: Path) -> None:
    addresses = assert_sitemap((site / "sitemap.xml").read_bytes())
    pages = {path for path in site.rglob("*.html") if path.name != "404.html"}
    assert {published(site, address) for address in addresses} == pages


def test_a_large_library_has_an_index_of_sitemaps(monkeypatch: pytest.MonkeyPatch) -> None:
    """More than 50,000 pages: parts, and an index of them under the name that robots.txt gives; here more than 50."""
    assert machines.MOST_ADDRESSES == 50_000  # sitemaps.org
    monkeypatch.setattr(machines, "MOST_ADDRESSES", 50)
    listed = [(f"notes/größe {n}/index.html", "2026-01-01") for n in range(121)]
    files = dict(machines.sitemaps(CONFIG, listed))
    index = xml.fromstring(files["sitemap.xml"])
    assert index.tag == f"{SITEMAP}sitemapindex"
    parts = [(entry.findtext(f"{SITEMAP}loc") or "").removeprefix(ADDRESS) for entry in index]
    assert sorted(parts) == sorted(set(files) - {"sitemap.xml"}) and len(parts) == 3
    assert sum(len(assert_sitemap(files[part])) for part in parts) == len(listed)


def test_robots_may_read_everything(site: Path) -> None:
    """RFC 9309: a group with a user agent and its rules; an empty Disallow forbids nothing."""
    from urllib.robotparser import RobotFileParser

    lines = (site / "robots.txt").read_text("utf-8").splitlines()
    parser = RobotFileParser()
    parser.parse(lines)
    assert parser.can_fetch("anything", ADDRESS + "notes/a/index.html")
    assert parser.site_maps() == [ADDRESS + "sitemap.xml"]


# --- heads of pages -------------------------------------------------------------------------------------------------


class Head(HTMLParser):
    """Links, meta elements and data scripts of a page."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.links: list[dict[str, str]] = []
        self.meta: dict[str, str] = {}
        self.data: list[str] = []
        self._in_data = False
        self.feed(path.read_text("utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "link":
            self.links.append(given)
        elif tag == "meta":
            self.meta[given.get("property") or given.get("name") or ""] = given.get("content", "")
        elif tag == "script" and given.get("type") == "application/ld+json":
            self._in_data = True

    def handle_data(self, data: str) -> None:
        if self._in_data:
            self.data.append(data)

    def handle_endtag(self, tag: str) -> None:
        self._in_data = False


def test_every_page_says_where_it_is_published(site: Path) -> None:
    """RFC 6596: one canonical address. Open Graph protocol (ogp.me): title, type, url; image where there is a photo."""
    seen = set()
    for path in site.rglob("*.html"):
        head = Head(path)
        canonical = [link["href"] for link in head.links if link.get("rel") == "canonical"]
        if path.name == "404.html":
            assert canonical == [] and head.meta["robots"] == "noindex"
            continue
        assert len(canonical) == 1 and published(site, canonical[0]) == path
        seen.add(canonical[0])
        assert (
            head.meta["og:url"] == canonical[0]
            and head.meta["og:title"]
            and head.meta["og:type"] in ("website", "article")
        )
        if image := head.meta.get("og:image"):
            assert published(site, image).is_file()
        feeds = [link for link in head.links if link.get("type") == "application/atom+xml"]
        assert len(feeds) == 1 and (path.parent / feeds[0]["href"]).resolve() == (site / "feed.xml").resolve()
    assert len(seen) > 50
    assert any(Head(path).meta.get("og:image") for path in site.rglob("notes/*/index.html"))


def notes(site: Path) -> list[Path]:
    return sorted(site.glob("notes/*/index.html"))


def test_notes_are_described_in_the_words_of_schema_org(site: Path) -> None:
    """schema.org/TechArticle and schema.org/HowTo, from memory: properties by these names, of these types."""
    how_tos = 0
    for path in notes(site):
        head = Head(path)
        assert len(head.data) == 1, path
        data = json.loads(head.data[0])
        assert data["@context"] == "https://schema.org"
        kinds = {node["@type"]: node for node in data["@graph"]}
        article = kinds.pop("TechArticle")
        stored = json.loads((path.parent / "note.json").read_bytes())
        assert article["headline"] == stored["title"] and article["datePublished"] == stored["date"]
        assert article["inLanguage"] == "en" and published(site, article["url"]) == path
        assert article["author"]["@type"] in ("Person", "Organization") and article["author"]["name"]
        assert article["publisher"]["@type"] == "Organization" and article["about"]["@type"] == "Product"
        assert isinstance(article["keywords"], list) and all(
            isinstance(word, str) for word in article["keywords"]
        )
        mended = stored["outcome"] == "fixed" and any(fault["fix"] for fault in stored["faults"])
        assert set(kinds) == ({"HowTo"} if mended else set())
        if mended:
            how_tos += 1
            how_to = kinds["HowTo"]
            assert how_to["name"] and [step["@type"] for step in how_to["step"]] == ["HowToStep"] * len(
                how_to["step"]
            )
            assert all(step["text"] for step in how_to["step"])
            assert re.fullmatch(r"PT\d+M", how_to.get("totalTime", "PT1M"))  # ISO 8601, duration
        assert not any(entry in ("", [], None) for entry in article.values())
    assert 0 < how_tos < len(notes(site))


def test_no_text_gets_out_of_its_script_element() -> None:
    """HTML: a script element ends at </script; <!-- and <script change how it is read. None of these can be in it."""
    evil = "</script><script>alert(1)</script><!-- & \u2028 ]]>"
    text = machines.script_data({"name": evil})
    assert not set("<>&\u2028") & set(text)
    assert json.loads(text) == {"name": evil}


def test_a_time_as_iso_8601_has_it() -> None:
    data = {
        "outcome": "fixed",
        "faults": [{"part": "TF1", "failed": "open", "fix": "new one"}],
        "fitted": [],
        "title": "t",
        "time": "",
    }
    for said, duration in (("90 min", "PT90M"), ("2 h", "PT120M"), ("one evening", None), ("", None)):
        assert machines._how_to(CONFIG, {**data, "time": said}, "").get("totalTime") == duration


# --- note.json ------------------------------------------------------------------------------------------------------

KEYS = {
    "author", "barrier", "bench", "blocks", "date", "device", "faults", "fits", "fitted", "format", "language", "number", "outcome",
    "proof", "readings", "signals", "slug", "symptoms", "time", "title", "states", "nets",
    "licence", "origin", "doubted", "beyond", "next",
}  # fmt: skip


def test_a_note_as_data_has_stable_keys(site: Path) -> None:
    """The keys that README.md promises, in every note; numbers are numbers, or "inf" for what has no end."""
    for path in notes(site):
        data = json.loads((path.parent / "note.json").read_bytes())
        assert set(data) == KEYS and data["format"] == 2 and data["slug"] == path.parent.name
        assert re.fullmatch(r"\d{4}-\d\d-\d\d", data["date"]) and data["outcome"] in (
            "fixed",
            "repairable",
            "end of life",
            "unknown",
        )
        for block in data["blocks"].values():
            for value in block["values"].values():
                assert all(
                    isinstance(value[end], (int, float)) or value[end] == "inf" for end in ("low", "high")
                )
                assert value["unit"].isascii() or value["unit"] == "°C" or "·" in value["unit"]
        for reading in data["readings"]:
            assert reading["verdict"] in ("within", "low", "high", "open", "short", "")
            assert reading["block"] in data["blocks"]


def test_without_an_address_nothing_is_invented(content: Path, tmp_path: Path) -> None:
    """No feed, no sitemap, no canonical address where library.yaml gives none; the note's data and description stay."""
    (tmp_path / "content" / "notes").mkdir(parents=True)
    config = re.sub(r"(?m)^address: .*\n", "", (content / "library.yaml").read_text("utf-8"))
    (tmp_path / "content" / "library.yaml").write_text(config, encoding="utf-8")
    shutil.copy(content / "notes" / "desk-fan-will-not-stop.md", tmp_path / "content" / "notes")
    site = tmp_path / "site"
    assert build_site(tmp_path / "content", site).written and len(notes(site)) == 1
    assert not any((site / name).exists() for name in ("feed.xml", "sitemap.xml", "robots.txt"))
    for path in notes(site):
        head = Head(path)
        assert (
            not [link for link in head.links if link.get("rel") == "canonical"] and "og:url" not in head.meta
        )
        assert head.meta["description"] and "url" not in json.loads(head.data[0])["@graph"][0]


@pytest.mark.browser
def test_the_data_block_is_no_script_to_the_browser(browser: Any, site: Path) -> None:
    """The policy of the page says nothing against it, and it does not run."""
    tab = browser.new_page()
    said: list[str] = []
    tab.on("console", lambda message: said.append(message.text))
    tab.goto(notes(site)[0].as_uri())
    assert (
        tab.evaluate(
            "JSON.parse(document.querySelector('script[type=\"application/ld+json\"]').textContent)['@graph'].length"
        )
        >= 1
    )
    tab.close()
    assert said == []


def test_every_published_netlist_runs_as_it_is(site: Path, tmp_path: Path) -> None:
    """`ngspice -b device.cir` of every note of the demonstration: the operating point, and the transient where the mains
    are, without a word added, and done at once: ten periods of the mains are no work for so small a circuit."""
    spice.needed()
    files = sorted(site.glob("notes/*/device.cir"))
    assert len(files) >= 10
    for file in files:
        ran = subprocess.run(
            [str(spice.PROGRAM), "-b", str(file)], capture_output=True, text=True, cwd=tmp_path, timeout=20
        )
        assert ran.returncode == 0 and "singular" not in ran.stderr, (file.parent.name, ran.stderr[-500:])
