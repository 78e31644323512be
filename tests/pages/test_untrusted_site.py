"""A library of hostile notes, built and opened: nothing runs, nothing is fetched, no element that is not ours."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from PIL import Image
from untrusted_payloads import HOST, PAYLOADS

from generator.build.build import build_site
from generator.problems import ERROR
from generator.prose.markdown import render

# Characters that no note may hold are refused, with a problem; what is left of these texts must do no harm either.
TEXTS = ["".join(c for c in payload if c.isprintable() or c == "\n") for payload in PAYLOADS]


class Plain:
    """A note with a block and a photo, to find out which texts are no problem in prose."""

    def value(self, block: str, value: str, form: str) -> str:
        return "1 V"

    def sheet(self, block: str) -> str:
        return ""

    def image(self, src: str, alt: str, title: str) -> str | None:
        return "" if src == "board.jpg" else None

    def names(self) -> dict[str, list[str]]:
        return {"supply": ["peak"]}

    def designators(self) -> set[str]:
        return set()


def is_prose(text: str) -> bool:
    return not render(text, file="", body_line=1, expand=Plain(), link=lambda path: None).problems


def note(texts: Iterator[str], prose: str, blocks: bool) -> str:
    """A note with a hostile text in every field that takes any text. Each field takes the next one."""

    def text(limit: int = 200) -> str:
        return next(texts)[:limit].strip() or "word"

    front = {
        "title": text(120),
        "date": "2026-03-14",
        "device": {"kind": text(80), "category": text(80), "make": text(80), "model": text(80), "plate": {
            "supply": f"230 V {text(60)}", "power": f"180 W {text(60)}", "current": f"1 A {text(60)}", "class": "II"}},
        "symptoms": [text(), text()],
        "outcome": "fixed",
        "faults": [{"part": text(80), "failed": text(), "because": text(), "found_by": text(), "fix": text()}],
        "signals": [{"shows": text(), "means": text(), "clears": text()}],
        "fitted": [{"part": text(80), "with": text(), "cost": 1.2}],
        "proof": [{"test": text(), "read": text(), "note": text()}],
        "author": text(80),
        "bench": text(80),
        "boards": [{"top": "board.jpg", "bottom": "board.jpg", "caption": text(), "marks": [
            {"part": text(80), "side": "top", "x": 10, "y": 20}, {"part": text(80), "side": "bottom", "x": 10, "y": 20}]}],
    }  # fmt: skip
    if blocks:
        front["blocks"] = {
            "supply": {"kind": "transformer-supply", "secondary": "12 V", "smoothing": "C3 1000u 35V 20%"},
            "sensor": {"kind": "thermistor-divider", "supply": "5 V", "fixed": "R9 47k 1%",
                       "thermistor": "TH1 100k B3950 5%", "cut_points": {"heat off": {"temperature": "38 C"}}},
            "brain": {"kind": "microcontroller", "designator": "U1", "supply": "5 V", "pins": [f"1 {text(30)}"]},
        }  # fmt: skip
        front["readings"] = [{"at": "supply.peak", "read": "16 V", "with": text(), "note": text()}]
    return f"---\n{json.dumps(front, ensure_ascii=True)}\n---\n\n{prose}\n"


def library(folder: Path, texts: list[str]) -> Path:
    """A library in which every text comes into every field once."""
    content = folder / "content"
    library = {
        "name": texts[0],
        "group": texts[20],
        "licence": texts[3],
        "about": texts[21],
        "address": "https://a.example/",
    }
    for number in range(len(texts)):
        own = content / "notes" / f"note-{number}"
        own.mkdir(parents=True)
        Image.new("RGB", (60, 40)).save(own / "board.jpg")
        turned = iter(texts[number:] + texts[:number])
        prose = texts[number] if is_prose(texts[number]) else "word"
        (own / "note.md").write_text(
            note(turned, prose, blocks=number % 12 == 0 or "{supply" in prose), encoding="utf-8"
        )
    (content / "library.yaml").write_text(json.dumps(library), encoding="utf-8")
    return content


class Opened:
    """A browser that notes whatever runs, whatever is asked for, and what the pages are made of."""

    FOUND = """() => {
      const found = new Set();
      for (const element of document.querySelectorAll("*")) {
        found.add(element.localName);
        for (const name of element.getAttributeNames()) found.add(`${element.localName} ${name}`);
      }
      const links = [...document.querySelectorAll("[href], [src], [action], [data], [srcset], [poster], [formaction]")];
      const bad = links.flatMap(e => [e.href, e.src, e.action, e.formAction])
        .map(address => address?.baseVal ?? address)
        .filter(address => typeof address === "string" && address && !/^(https?|mailto|file):|^#[a-z0-9-]+$/i.test(address));
      return [[...found], bad];
    }"""

    def __init__(self, browser: object):
        self.ran: list[str] = []
        self.asked: list[str] = []
        self.made: set[str] = set()
        self.page = browser.new_page()
        self.page.on("dialog", lambda dialog: (self.ran.append(dialog.message), dialog.dismiss()))
        self.page.on("pageerror", lambda error: self.ran.append(str(error)))
        self.page.on("console", lambda message: self.ran.append(message.text))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("popup", lambda popup: self.ran.append(f"opened {popup.url}"))

    def open(self, file: Path) -> None:
        self.page.goto(file.as_uri())
        made, bad = self.page.evaluate(self.FOUND)
        assert bad == [], file
        self.made.update(made)

    def strange(self, site: Path) -> list[str]:
        """What was asked for that is not a file of the site."""
        return [address for address in self.asked if not address.startswith(site.as_uri() + "/")]


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A site of hostile notes, and its twin of harmless ones: what that is made of, pages may be made of."""
    built = []
    harmless = ["word", "two words"] * 12 + [
        "*a* **b** `c` {supply.peak}",
        "- a\n\n1. b\n\n> c\n\n# d\n\n---\n\n```x\ny\n```",
    ]
    harmless += [
        "| a | b |\n|---|--:|\n| C3 | d |",
        "[a](https://a.example 'b') <https://a.example>\\\n<a@a.example>",
    ]
    harmless += ["    code", "![words](board.jpg 'title')", "{supply}", "2. x"]
    for name, texts in (("hostile", TEXTS), ("harmless", harmless)):
        folder = tmp_path_factory.mktemp(name)
        result = build_site(library(folder, texts), folder / "site")
        assert [str(problem) for problem in result.problems if problem.severity == ERROR] == []
        built.append(folder / "site")
    return built[0], built[1]


@pytest.fixture(scope="module")
def opened(sites: tuple[Path, Path], browser: Any) -> Iterator[tuple[Opened, Opened]]:
    """Both sites: every note, every list, and a part of the pages that show no more than a title and a list."""
    with closing(browser.new_context()) as context:
        both = Opened(context), Opened(context)
        for which, site, step in zip(both, sites, (12, 1), strict=True):
            for folder in ("", "notes", "symptoms", "devices", "parts", "blocks"):
                pages = sorted((site / folder).glob("*/index.html" if folder == "notes" else "*.html"))
                for file in (
                    pages if folder in ("", "notes") else {site / folder / "index.html", *pages[::step]}
                ):
                    which.open(file)
        yield both
        # The net must hold fish: a page that does harm is seen to.
        harm = sites[0].parent / "harm.html"
        harm.write_text(
            f"<title>t</title><img src=x onerror=alert(1)><a href=javascript:x>x</a><img src={HOST}/x.png>"
        )
        caught = Opened(context)
        with pytest.raises(AssertionError):
            caught.open(harm)
        assert "1" in caught.ran and f"{HOST}/x.png" in caught.strange(sites[0])


@pytest.mark.slow
@pytest.mark.browser
def test_nothing_runs_and_nothing_is_fetched(sites: tuple[Path, Path], opened: tuple[Opened, Opened]) -> None:
    assert opened[0].ran == []
    assert opened[0].strange(sites[0]) == []


@pytest.mark.slow
@pytest.mark.browser
def test_no_element_or_attribute_that_harmless_notes_do_not_make(opened: tuple[Opened, Opened]) -> None:
    hostile, harmless = opened
    assert sorted(hostile.made - harmless.made) == []


@pytest.mark.slow
@pytest.mark.browser
def test_every_page_has_the_policy(sites: tuple[Path, Path]) -> None:
    for file in sites[0].rglob("*.html"):
        page = file.read_text(encoding="utf-8")
        assert page.count('http-equiv="Content-Security-Policy"') == 1, file
        assert "unsafe-" not in page.partition("</head>")[0], file


SEARCH = """async (texts) => {
  const box = document.querySelector("input[type=search]");
  const made = new Set();
  for (const text of texts) {
    box.value = text;
    box.dispatchEvent(new Event("input", { bubbles: true }));
    box.form.requestSubmit();
    const until = Date.now() + (made.size ? 20 : 10000);  // the index comes with the first words, which find
    while (Date.now() < until && (made.size || !document.querySelector("a[data-put-link]")))
      await new Promise(done => setTimeout(done, 5));
    for (const one of (FOUND)()[0]) made.add(one);
  }
  return [...made];
}"""


@pytest.mark.slow
@pytest.mark.browser
def test_hostile_words_in_the_search(sites: tuple[Path, Path], opened: tuple[Opened, Opened]) -> None:
    search = SEARCH.replace("FOUND", Opened.FOUND)
    hostile, harmless = opened
    for which, site, words in (
        (harmless, sites[1], ["word", "two words", "nothing like it"]),
        (hostile, sites[0], ["alert", *TEXTS]),
    ):
        which.open(site / "index.html")
        which.made.update(which.page.evaluate(search, words))
        assert "a data-put-link" in which.made  # there were results
    for text in TEXTS[::12]:
        hostile.page.goto(f"{(sites[0] / 'index.html').as_uri()}?q={quote(text)}#{quote(text)}")
        hostile.made.update(hostile.page.evaluate(Opened.FOUND)[0])
    assert hostile.ran == []
    assert hostile.strange(sites[0]) == []
    assert sorted(hostile.made - harmless.made) == []


@pytest.mark.slow
def test_machine_readable_files_are_whole(sites: tuple[Path, Path]) -> None:
    files = list(sites[0].rglob("*.json"))
    assert files
    for file in files:
        json.loads(file.read_text(encoding="utf-8"))
