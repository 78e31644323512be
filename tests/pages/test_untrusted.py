"""Hostile notes: nothing runs, nothing is fetched, no element appears that we did not make."""

from __future__ import annotations

import html
import os
from contextlib import closing
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

import html5lib
import pytest
from untrusted_payloads import PAYLOADS

from generator.prose.markdown import render

CI = os.environ.get("CI") == "true"

# Where a hostile text may stand in prose.
PLACES = {
    "alone": "{}",
    "in words": "word {} word",
    "in emphasis": "**{}**",
    "in a link": "[{}](https://a.example)",
    "as an address": "[x]({})",
    "as an address in brackets": "[x](<{}>)",
    "as an autolink": "<{}>",
    "as a title": '[x](https://a.example "{}")',
    "as an image's words": "![{}](board.jpg)",
    "as an image's file": "![x](<{}>)",
    "as an image's title": "![x](board.jpg '{}')",
    "in a cell": "| a | b |\n|---|---|\n| {} | C3 {} |",
    "as a heading": "# {}",
    "in a list": "- {}\n- C3 {}",
    "in a quotation": "> {}",
    "as the word after a fence": "```{}\nx\n```",
    "in code": "`{}`",
    "as a definition": "[a]: <{}> '{}'\n\n[a] ![a]",
    "as a block": "{{{}}}",
    "as a value": "{{supply.{}}}",
}

# Every element that prose may become, with its attributes.
MADE = {
    "p": set(), "br": set(), "hr": set(), "em": set(), "strong": set(), "blockquote": set(), "ul": set(), "li": set(),
    "ol": {"start"}, "pre": set(), "code": {"class"}, "a": {"href", "title", "rel"}, "span": {"class", "data-ref"},
    "table": set(), "thead": set(), "tbody": set(), "tr": set(), "th": {"class"}, "td": {"class"},
    "div": {"class", "tabindex"}, "h2": {"id"}, "h3": {"id"}, "h4": {"id"}, "h5": {"id"}, "h6": {"id"},
    "figure": set(), "img": {"alt", "title"}, "b": {"data-value"},
}  # fmt: skip


class Bench:
    """A note among whose designators is what is written there. Makes its HTML as a page does: escaped."""

    def __init__(self, payload: str) -> None:
        self.payload = payload

    def value(self, block: str, value: str, form: str) -> str | None:
        return f'<b data-value="{html.escape(value)}">17.0 V</b>'

    def sheet(self, block: str) -> str | None:
        return "<figure></figure>"

    def image(self, src: str, alt: str, title: str) -> str | None:
        if src != "board.jpg":
            return None
        return f'<figure><img alt="{html.escape(alt)}" title="{html.escape(title)}"></figure>'

    def names(self) -> dict[str, list[str]]:
        return {"supply": ["peak", *PAYLOADS], **{payload: ["peak"] for payload in PAYLOADS[:50]}}

    def designators(self) -> set[str]:
        return {"C3", "R9", self.payload}


@cache
def rendered(payload: str, place: str) -> str:
    body = (
        place.replace("{{", "\0")
        .replace("}}", "\1")
        .replace("{}", payload)
        .replace("\0", "{")
        .replace("\1", "}")
    )
    no_such_file = render(
        body, file="note.md", body_line=1, expand=Bench(payload), link=lambda path: None
    ).html
    any_file = render(
        body, file="note.md", body_line=1, expand=Bench(payload), link=lambda path: "./" + quote(path)
    ).html
    return no_such_file + any_file


def check(fragment: str) -> None:
    for element in html5lib.parseFragment(fragment, treebuilder="etree", namespaceHTMLElements=False).iter():
        if element.tag == "DOCUMENT_FRAGMENT":
            continue
        assert element.tag in MADE, f"made a {element.tag}: {fragment}"
        assert set(element.attrib) <= MADE[element.tag], f"gave it {dict(element.attrib)}: {fragment}"
        address = urlsplit(element.attrib.get("href", ""))
        assert address.scheme in ("", "http", "https", "mailto"), fragment
        assert address.scheme or not address.netloc, fragment  # //elsewhere
        assert not element.attrib.get("id", "h-").partition("h-")[0], fragment


def test_there_are_enough_of_them() -> None:
    assert len(set(PAYLOADS)) == len(PAYLOADS) >= 150


def test_the_check_would_see_it() -> None:
    for hostile in (
        "<script>x</script>",
        "<p onclick=x>",
        "<a href=javascript:x>",
        "<a href=//x>",
        "<h2 id=x>",
    ):
        with pytest.raises(AssertionError):
            check(hostile)


@pytest.mark.parametrize("number, place", list(enumerate(PLACES.values())), ids=PLACES)
def test_prose_makes_only_elements_of_ours(number: int, place: str) -> None:
    """Outside CI each payload stands in every third place, others in the next."""
    for payload in PAYLOADS if CI else PAYLOADS[number % 3 :: 3]:
        check(rendered(payload, place))


@pytest.mark.browser
def test_nothing_runs_or_is_fetched_even_without_a_policy(tmp_path: Path, browser: Any) -> None:
    """All of it on pages without a Content-Security-Policy: the escaping alone must hold."""
    with closing(browser.new_context()) as context:
        page = context.new_page()
        ran: list[str] = []
        page.on("dialog", lambda dialog: (ran.append(dialog.message), dialog.dismiss()))
        page.on("pageerror", lambda error: ran.append(str(error)))
        page.on("console", lambda message: ran.append(message.text))
        asked: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        for number, place in enumerate(PLACES.values()):
            file = tmp_path / f"{number}.html"
            pieces = "".join(f"<section>{rendered(payload, place)}</section>" for payload in PAYLOADS)
            file.write_text(
                f"<!doctype html><meta charset=utf-8><title>t</title><body>{pieces}", encoding="utf-8"
            )
            page.goto(file.as_uri())
            tags = set(page.evaluate("[...document.body.querySelectorAll('*')].map(e => e.localName)"))
            assert tags <= {*MADE, "section"}
            names = set(
                page.evaluate("[...document.body.querySelectorAll('*')].flatMap(e => e.getAttributeNames())")
            )
            assert names <= set().union(*MADE.values())
            for link in page.evaluate("[...document.links].map(a => a.protocol)"):
                assert link in ("http:", "https:", "mailto:", "file:")
        assert page.evaluate("[...document.body.querySelectorAll('section')].length") == len(PAYLOADS)
    assert ran == []
    assert asked == [(tmp_path / f"{number}.html").as_uri() for number in range(len(PLACES))]
