"""What machines read: the feed, the list of addresses, what a page says of itself in its head.

No file says when it was built: the same content gives the same bytes.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from typing import Any
from urllib.parse import quote
from xml.etree import ElementTree as xml

from generator.finding.record import Record
from generator.language import _
from generator.notation.quantity import QuantityError, parse
from generator.notes.config import Config

ATOM = "http://www.w3.org/2005/Atom"  # RFC 4287
SITEMAP = "http://www.sitemaps.org/schemas/sitemap/0.9"
FEED_PATH, SITEMAP_PATH = "feed.xml", "sitemap.xml"
FEED_NOTES = 50
MOST_ADDRESSES = 50_000  # in one sitemap, and sitemaps in one index (sitemaps.org)
UNLISTED = ("404.html",)
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # XML 1.0, production 2


def address_of(config: Config, path: str) -> str:
    """The published address of a file of the site; "" where library.yaml gives none. The home page is the site itself."""
    return config.address + quote("" if path == "index.html" else path) if config.address else ""


# --- files of the site ----------------------------------------------------------------------------------------------


def machine_files(
    config: Config, records: Sequence[Record], paths: Iterable[str]
) -> Iterator[tuple[str, Any, partial[bytes]]]:
    """(path, what it is made from, how it is made) of the feed, the sitemaps and robots.txt. paths: all pages.

    All of these need full addresses, so there are none without an address in library.yaml.
    """
    if not config.address:
        return
    # others have their own
    newest = _newest([record for record in records if "/" not in record.slug])[:FEED_NOTES]
    yield FEED_PATH, ["feed", [_entry_facts(record) for record in newest]], partial(feed, config, newest)
    dates = {f"notes/{record.slug}/index.html": record.date for record in records}
    listed = [(path, dates.get(path, "")) for path in sorted(paths) if path not in UNLISTED]
    for path, data in sitemaps(config, listed):
        yield path, ["sitemap", listed], partial(bytes, data)
    yield "robots.txt", "robots", partial(robots, config)


def _newest(records: Sequence[Record]) -> list[Record]:
    return sorted(sorted(records, key=lambda r: r.slug), key=lambda r: r.date, reverse=True)


def _entry_facts(record: Record) -> list[str]:
    return [
        record.slug,
        record.title,
        record.date,
        record.device_kind,
        *record.symptoms,
        *record.cause_labels(),
    ]


def feed(config: Config, newest: Sequence[Record]) -> bytes:
    """The newest notes as an Atom feed (RFC 4287). A note's date is the only time there is."""
    root = xml.Element("feed", {"xmlns": ATOM, "xml:lang": config.language})
    _add(root, "id", address_of(config, FEED_PATH))
    _add(root, "title", config.name)
    _add(root, "updated", _time(newest[0].date if newest else "1970-01-01"))
    xml.SubElement(
        root, "link", {"rel": "self", "type": "application/atom+xml", "href": address_of(config, FEED_PATH)}
    )
    xml.SubElement(
        root,
        "link",
        {"rel": "alternate", "type": "text/html", "hreflang": config.language, "href": config.address},
    )
    _add(xml.SubElement(root, "author"), "name", config.group or config.name)
    if config.licence:
        _add(root, "rights", config.licence)
    for record in newest:
        entry = xml.SubElement(root, "entry")
        address = address_of(config, f"notes/{record.slug}/index.html")
        _add(entry, "id", address)
        _add(entry, "title", record.title)
        _add(entry, "updated", _time(record.date))
        xml.SubElement(
            entry,
            "link",
            {"rel": "alternate", "type": "text/html", "hreflang": config.language, "href": address},
        )
        xml.SubElement(entry, "category", {"term": _clean(record.device_kind)})
        _add(entry, "summary", summary(record.symptoms, record.cause_labels()))
    return _document(root)


def summary(symptoms: Iterable[str], causes: Iterable[str]) -> str:
    """A note in a sentence or two: what it did, and what it turned out to be."""
    said, found = "; ".join(symptoms), "; ".join(causes)
    return f"{said}. {_('Turned out to be')}: {found}." if found else f"{said}."


def sitemaps(config: Config, listed: Sequence[tuple[str, str]]) -> Iterator[tuple[str, bytes]]:
    """(path, bytes) of the sitemap, or of its index and parts where there are more addresses than one may hold.

    listed: (path, ISO date or "") of each page. Source of the limits and names: sitemaps.org, protocol.
    """
    parts = [listed[start : start + MOST_ADDRESSES] for start in range(0, len(listed), MOST_ADDRESSES)] or [
        []
    ]
    if len(parts) == 1:
        yield SITEMAP_PATH, _addresses(config, parts[0])
        return
    index = xml.Element("sitemapindex", {"xmlns": SITEMAP})
    for number, part in enumerate(parts, start=1):
        path = f"sitemap-{number}.xml"
        _add(xml.SubElement(index, "sitemap"), "loc", address_of(config, path))
        yield path, _addresses(config, part)
    yield SITEMAP_PATH, _document(index)


def _addresses(config: Config, listed: Sequence[tuple[str, str]]) -> bytes:
    root = xml.Element("urlset", {"xmlns": SITEMAP})
    for path, day in listed:
        entry = xml.SubElement(root, "url")
        _add(entry, "loc", address_of(config, path))
        if day:
            _add(entry, "lastmod", day)
    return _document(root)


def robots(config: Config) -> bytes:
    """Everything may be read (RFC 9309), and where the list of addresses is."""
    return f"User-agent: *\nDisallow:\n\nSitemap: {address_of(config, SITEMAP_PATH)}\n".encode()


def _add(parent: xml.Element, name: str, text: str) -> None:
    xml.SubElement(parent, name).text = _clean(text)


def _clean(text: str) -> str:
    """Without characters that XML cannot hold."""
    return _NOT_XML.sub(" ", text)


def _time(day: str) -> str:
    return f"{day}T00:00:00Z"


def _document(root: xml.Element) -> bytes:
    xml.indent(root, " ")
    return f'<?xml version="1.0" encoding="utf-8"?>\n{xml.tostring(root, "unicode")}\n'.encode()


# --- the head of a page ---------------------------------------------------------------------------------------------


def head(config: Config, path: str, note: dict[str, Any] | None) -> dict[str, Any]:
    """What a page's head says to machines. note: the pieces of a note's page, None on others.

    address: canonical, "" without a published site; structured: JSON-LD, ready to stand in a script element.
    """
    view = {
        "address": "" if path in UNLISTED else address_of(config, path), "feed": address_of(config, FEED_PATH) and FEED_PATH, "hidden": path in UNLISTED,
        "sort": "article" if note else "website", "description": "", "image": "", "structured": "",
    }  # fmt: skip
    if note is not None:
        data = note["data"]
        view["description"] = summary(data["symptoms"], _causes(data))
        view["image"] = address_of(config, f"photos/{note['picture']}") if note["picture"] else ""
        view["structured"] = script_data(structured(config, data, str(view["address"]), str(view["image"])))
    return view


def script_data(data: Any) -> str:
    """JSON that can stand in a script element, whatever it holds: no character of markup is left in it."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text


def structured(config: Config, data: dict[str, Any], address: str, image: str) -> dict[str, Any]:
    """A note in the vocabulary of schema.org: a TechArticle, and a HowTo where it was mended and the note says how."""
    publisher = {"@type": "Organization", "name": config.group or config.name}
    device = data["device"]
    about = {"@type": "Product", "name": device["kind"], "model": device["model"]}
    if device["make"]:
        about["brand"] = {"@type": "Brand", "name": device["make"]}
    article: dict[str, Any] = {
        "@type": "TechArticle", "headline": data["title"], "datePublished": data["date"], "inLanguage": config.language,
        "author": {"@type": "Person", "name": data["author"]} if data["author"] else publisher, "publisher": publisher,
        "about": _without_blanks(about), "keywords": data["symptoms"], "description": summary(data["symptoms"], _causes(data)),
        "url": address, "mainEntityOfPage": address, "image": image,
    }  # fmt: skip
    if config.licence:
        article["license"] = {"@type": "CreativeWork", "name": config.licence}
    found = [_without_blanks(article)]
    if how_to := _how_to(config, data, address):
        found.append(how_to)
    return {"@context": "https://schema.org", "@graph": found}


def _how_to(config: Config, data: dict[str, Any], address: str) -> dict[str, Any]:
    """How it was mended; {} where the note does not say."""
    mended = [fault for fault in data["faults"] if fault["fix"]]
    if data["outcome"] != "fixed" or not mended:
        return {}
    return _without_blanks({
        "@type": "HowTo", "name": data["title"], "inLanguage": config.language, "url": address, "totalTime": _duration(data["time"]),
        "supply": [
            {"@type": "HowToSupply", "name": f"{part['part']} {part['with']}".strip()} for part in data["fitted"]
        ],
        "step": [
            _without_blanks({"@type": "HowToStep", "name": f"{fault['part']} {fault['failed']}".strip(), "text": fault["fix"]})
            for fault in mended
        ],
    })  # fmt: skip


def _causes(data: dict[str, Any]) -> list[str]:
    return [f"{fault['part']} {fault['failed']}".strip() for fault in data["faults"]]


def _duration(time: str) -> str:
    """A time as ISO 8601 has it: "90 min" -> "PT90M"; "" for what is none."""
    try:
        seconds = parse(time, "s").middle if time else 0.0
    except QuantityError:
        return ""
    return f"PT{round(seconds / 60)}M" if seconds >= 30 else ""


def _without_blanks(data: dict[str, Any]) -> dict[str, Any]:
    return {key: entry for key, entry in data.items() if entry not in ("", [], None)}
